"""The compiled steps of time against the same in numpy, fault by fault."""

from pathlib import Path

import hatch_build
import numpy as np
import pytest
from tests.build.worlds import world

from halfsplit.build.transient import Waveforms, run
from halfsplit.build.transient_schedule import read_schedule
from halfsplit.solve import transient_compiled
from halfsplit.solve.transient_compiled import Stepper

DRIVER = (Path(__file__).parent / "boards" / "driver.board").read_text("utf-8")
RC = """board "RC"
rail +5 5V
R1 10k +5 OUT
C1 film-capacitor 100nF OUT GND
state off rails=off
state on
"""


@pytest.fixture(scope="module", autouse=True)
def compiled_now() -> None:
    """The library, compiled now if its source is newer."""
    library = hatch_build.transient_path(hatch_build.FOLDER)
    problem = hatch_build.compile_transient(library)
    assert problem == "" or not hatch_build.find_compiler()
    transient_compiled._load.cache_clear()


def played(text: str, schedule: str, every: int) -> Waveforms:
    compiled = world(text)
    faults = [fault.id for fault in compiled.faults[::every]]
    currents = ["L1"] if "L1" in compiled.watched else []
    net = "net C1" if currents else "net OUT"
    return run(compiled, read_schedule(schedule), places=[net], currents=currents, faults=faults)


@pytest.mark.parametrize(
    ("text", "schedule", "every"),
    [(DRIVER, "off 0.5ms, one 2ms, off 1.5ms", 6), (RC, "off 1ms, on 5ms, off 3ms", 1)],
    ids=["driver", "rc"],
)
def test_both_see_the_same(
    text: str, schedule: str, every: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    used: list[int] = []
    step = Stepper.step

    def counted(self: Stepper, *args: object, **more: object) -> object:
        used.append(1)
        return step(self, *args, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(Stepper, "step", counted)
    monkeypatch.delenv("HALFSPLIT_ENGINE", raising=False)
    compiled = played(text, schedule, every)
    assert used or not hatch_build.find_compiler(), "the compiled steps were not used"
    monkeypatch.setattr(Stepper, "make", classmethod(lambda cls, stores: None))
    used.clear()
    plain = played(text, schedule, every)
    assert not used
    assert not compiled.unresolved.any()
    assert not plain.unresolved.any()
    name = next(iter(plain.currents), "") or "net OUT"
    here = (compiled.currents or compiled.volts)[name]
    there = (plain.currents or plain.volts)[name]
    again = np.stack([np.interp(plain.time, compiled.time, row) for row in here])
    common = np.isin(plain.time, compiled.time)
    assert common.sum() > 10
    # each keeps to 3e-3 a step; compiled, a finer step goes for a whole block
    assert np.abs(again - there)[:, common].max() < 0.003 * np.abs(there).max()


def test_a_repeated_drive_goes_as_it_does_without_its_memory(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Where a step begins must not show in where it ends; with the memory of the last turn the
    devices are at rest sooner."""
    schedule = "off 0.5ms, one/off x8 500Hz"
    kept: list[int] = []
    remember = Stepper.remember

    def counted(self: Stepper, slots: int) -> None:
        kept.append(slots)
        remember(self, slots)

    monkeypatch.setattr(Stepper, "remember", counted)
    with_memory = played(DRIVER, schedule, 12)
    monkeypatch.setattr(Stepper, "remember", lambda self, slots: None)
    without = played(DRIVER, schedule, 12)
    assert not hatch_build.find_compiler() or 0 < max(kept) < 0.7 * with_memory.time.size
    assert with_memory.time.size == without.time.size
    most = np.abs(without.currents["L1"]).max()
    assert np.abs(with_memory.currents["L1"] - without.currents["L1"]).max() < 1e-3 * most
