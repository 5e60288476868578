"""WAV as Python's own wave module and scipy write it, arrays as numpy writes them, and damage."""

from __future__ import annotations

import contextlib
import io
import wave
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scipy.io import wavfile

from halfsplit.capture.read import read
from halfsplit.errors import CaptureError, HalfsplitError

RAMP = np.array([0.0, 0.25, -0.5, 0.75, -1.0])


def integers(bits: int) -> bytes:
    """The ramp as integers of so many bits, little end first; 8 bits are offset."""
    whole = (RAMP * (1 << (bits - 1))).astype(int).tolist()
    if bits == 8:
        return bytes(value + 128 for value in whole)
    return b"".join(value.to_bytes(bits // 8, "little", signed=True) for value in whole)


@pytest.mark.parametrize("bits", [8, 16, 24, 32])
def test_integers(tmp_path: Path, bits: int) -> None:
    path = tmp_path / "a.wav"
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(bits // 8)
        file.setframerate(8000)
        file.writeframes(integers(bits))
    record = read(path)
    assert record.analog[0].samples == pytest.approx(RAMP)
    assert record.analog[0].step == pytest.approx(1 / 8000)
    assert record.end == pytest.approx(RAMP.size / 8000)
    volts = read(path, choices={"full-scale": "2V"}).analog[0]
    assert volts.unit == "V"
    assert volts.samples == pytest.approx(2 * RAMP)


@pytest.mark.parametrize("dtype", [np.float32, np.float64])
def test_floating_point_of_two_channels(tmp_path: Path, dtype: type) -> None:
    path = tmp_path / "a.wav"
    wavfile.write(path, 48000, np.stack((RAMP, -RAMP), axis=1).astype(dtype))
    record = read(path)
    assert record.names == ("channel 1", "channel 2")
    assert record.analog[1].samples == pytest.approx(-RAMP)


def test_a_cut_recording(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    wavfile.write(path, 8000, np.arange(100, dtype=np.int16))
    path.write_bytes(path.read_bytes()[:-51])
    with pytest.raises(CaptureError, match="100 samples of each channel, got 74"):
        read(path)
    assert read(path, keep_readable=True).analog[0].samples.size == 74


@pytest.mark.parametrize(
    ("raw", "said"),
    [(b"RIFF", "RIFF and WAVE"), (b"RIFF0000WAVEdata0000", "format chunk before"),
     (b"RIFF0000WAVEfmt \x02\0\0\0ab", "cut")],
)  # fmt: skip
def test_no_sound_at_all(tmp_path: Path, raw: bytes, said: str) -> None:
    path = tmp_path / "a.wav"
    path.write_bytes(raw)
    with pytest.raises(CaptureError, match=said):
        read(path)


def test_one_array(tmp_path: Path) -> None:
    path = tmp_path / "a.npy"
    np.save(path, np.stack((RAMP, 2 * RAMP)))
    record = read(path, choices={"interval": "1ms"})
    assert record.names == ("channel 1", "channel 2")
    assert record.analog[1].samples == pytest.approx(2 * RAMP)
    assert record.end == pytest.approx(5e-3)
    assert "1 s apart" in read(path).remarks[0]


def test_named_arrays(tmp_path: Path) -> None:
    path = tmp_path / "a.npz"
    times = np.array([0.0, 1e-3, 2e-3, 5e-3, 9e-3])
    np.savez_compressed(path, time=times, A=RAMP, D=np.array([0, 1, 1, 0, 0], dtype=bool))
    record = read(path)
    assert record.analog[0].seconds == pytest.approx(times)
    assert record.digital[0].times == pytest.approx([0.0, 1e-3, 5e-3])
    assert record.digital[0].values.tolist() == [0, 1, 0]


@pytest.mark.parametrize(
    ("arrays", "said"),
    [
        ({"a": np.zeros(3), "b": np.zeros(4)}, "one length"),
        ({"a": np.array(["x"])}, "expected numbers"),
        ({"a": np.zeros((2, 2, 2))}, "shape"),
        ({"a": np.zeros(3), "t": np.array([0.0, 2.0, 1.0])}, "backwards.* after sample 2"),
        ({"a": np.array([{}], dtype=object)}, "expected numpy arrays"),
    ],
)
def test_arrays_that_are_no_capture(
    tmp_path: Path, arrays: dict[str, np.ndarray[tuple[int, ...], np.dtype[np.generic]]], said: str
) -> None:
    path = tmp_path / "a.npz"
    np.savez(path, allow_pickle=True, **arrays)
    with pytest.raises(CaptureError, match=said):
        read(path)


def samples() -> list[tuple[str, bytes]]:
    """A small good file of each kind."""
    found = []
    for name in ("a.wav", "a.npy", "a.npz"):
        raw = io.BytesIO()
        if name == "a.wav":
            wavfile.write(raw, 8000, np.arange(20, dtype=np.int16))
        elif name == "a.npy":
            np.save(raw, RAMP)
        else:
            np.savez_compressed(raw, a=RAMP)
        found.append((name, raw.getvalue()))
    return found


@settings(
    max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.sampled_from(samples()), st.binary(max_size=12), st.integers(0, 260), st.integers(0, 12))
def test_nothing_but_our_own_error(
    tmp_path: Path, good: tuple[str, bytes], junk: bytes, at: int, gone: int
) -> None:
    name, raw = good
    path = tmp_path / name
    path.write_bytes(raw[:at] + junk + raw[at + gone :])
    with contextlib.suppress(HalfsplitError):
        assert read(path, keep_readable=True).channels
