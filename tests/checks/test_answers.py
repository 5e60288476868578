"""Typed answers: what people write beside a meter. Common practice, no source."""

import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from halfsplit.checks._answers import read_number
from halfsplit.errors import ReadingError


def volts(text: str) -> tuple[float | None, float | None, float | None]:
    reading = read_number(text, "V", over=False, what="volts at U3.6")
    assert reading.text == text
    return reading.value, reading.low, reading.high


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("0.68", 0.68), ("680m", 0.68), ("0,68 V", 0.68), ("-0.1", -0.1), ("5V", 5.0),
        ("reads 0.68 V", 0.68), ("it's 4.9", 4.9), ("= 2.4 V dc", 2.4), ("680 mV steady", 0.68),
        ("a volt", 1.0), ("half a volt", 0.5), ("five volts", 5.0), ("no volts", 0.0),
        ("minus 0.4", -0.4), ("zero", 0.0), ("1e-3", 1e-3), ("2V4", 2.4),
    ],
)  # fmt: skip
def test_a_number(text: str, value: float) -> None:
    got, low, high = volts(text)
    assert got == pytest.approx(value, abs=1e-12)
    assert low is not None
    assert high is not None
    assert low <= value <= high


@pytest.mark.parametrize(
    ("text", "half"),
    [("0.68", 0.005), ("0.7", 0.05), ("5", 0.5), ("680m", 0.0005), ("4.99", 0.005), ("2V4", 0.05)],
)
def test_a_number_knows_how_far_it_was_rounded(text: str, half: float) -> None:
    """Half of the last digit typed, either way: the meaning of rounding."""
    value, low, high = volts(text)
    assert value is not None
    assert low == pytest.approx(value - half, abs=1e-9)
    assert high == pytest.approx(value + half, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("under 1", None, 1.0), ("somewhere under a volt", None, 1.0), ("< 0.5 V", None, 0.5),
        ("less than 200 mV", None, 0.2), ("at most 3", None, 3.0), (">4", 4.0, None),
        ("above 4 V", 4.0, None), ("well over 12", 12.0, None), ("0.6-0.8", 0.6, 0.8),
        ("0.6 to 0.8 V", 0.6, 0.8), ("between 0.6 and 0.8", 0.6, 0.8), ("0.6..0.8", 0.6, 0.8),
        ("0.6 V – 0.8 V", 0.6, 0.8), ("100-200 mV", 0.1, 0.2), ("0.8-0.6", 0.6, 0.8),
        ("-0.2 to 0.1", -0.2, 0.1), ("500m-1", 0.5, 1.0),
    ],
)  # fmt: skip
def test_a_vague_answer_is_a_span(text: str, low: float | None, high: float | None) -> None:
    value, *got = volts(text)
    assert value is None
    assert got == [x if x is None else pytest.approx(x) for x in (low, high)]


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("2 or 3", 2.0, 3.0), ("4.something", 4.0, 5.0), ("4 or more", 4.0, None),
        ("4+", 4.0, None), ("4 or less", None, 4.0), ("1v max", None, 1.0), ("< 1v", None, 1.0),
        ("a few volts", 2.0, 7.0), ("a few millivolts", 0.002, 0.007), ("tiny", -0.2, 0.3),
        ("next to nothing?", -0.2, 0.3), ("near ground", -0.2, 0.3), ("a diode drop", 0.5, 0.8),
        ("less than a diode drop", None, 0.5), ("2 to 3, jumping", 2.0, 3.0),
        ("probably under 1", None, 1.0),
    ],
)  # fmt: skip
def test_a_loose_answer_is_a_span(text: str, low: float | None, high: float | None) -> None:
    value, *got = volts(text)
    assert value is None
    assert got == [x if x is None else pytest.approx(x) for x in (low, high)]


@pytest.mark.parametrize(
    ("text", "value", "half"),
    [
        ("2?", 2.0, 0.5), ("probably 12", 12.0, 1.2), ("12, I think", 12.0, 1.2),
        ("24ish volts", 24.0, 2.4), ("drops to 2.0", 2.0, 0.05), ("sits at 4.9", 4.9, 0.05),
        ("hovers around 3.0", 3.0, 0.3), ("3v3", 3.3, 0.05), ("twenty four", 24.0, 0.5),
    ],
)  # fmt: skip
def test_an_unsure_number_is_a_wide_one(text: str, value: float, half: float) -> None:
    assert list(volts(text)) == pytest.approx([value, value - half, value + half])


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("more than 10k", 10e3, None), ("10k or more", 10e3, None), ("a few ohms", 2.0, 7.0),
        ("tens of k", 10e3, 100e3), ("several megohms", 3e6, 9e6), ("megohms", 1e6, 100e6),
        ("dead short", 0.0, 5.0), ("beeps", 0.0, 5.0), ("low-ish", None, 1e3),
        ("very high", 1e6, None), ("under an ohm", None, 1.0),
    ],
)  # fmt: skip
def test_loose_ohms(text: str, low: float | None, high: float | None) -> None:
    reading = read_number(text, "Ω", over=True, what="ohms")
    assert reading.value is None
    assert [reading.low, reading.high] == [
        end if end is None else pytest.approx(end) for end in (low, high)
    ]


@pytest.mark.parametrize("text", ["rising", "climbing", "toggling", "pulses", "blinking"])
def test_what_does_not_stand_still_says_nothing(text: str) -> None:
    assert read_number(text, "Ω", over=True, what="ohms").nothing


@pytest.mark.parametrize("text", ["about 5", "~5", "5ish", "5 V or so", "roughly 5", "around 5 V"])
def test_about_widens_the_rounding(text: str) -> None:
    assert list(volts(text)) == pytest.approx([5.0, 4.5, 5.5])


def test_plus_minus() -> None:
    assert list(volts("5 ± 0.2 V")) == pytest.approx([5.0, 4.8, 5.2])


@pytest.mark.parametrize(
    "text",
    ["?", "skip", "dunno", "could not reach it", "can't", "flickers", "jumps about", "n/a",
     "not sure", "couldn't get at it", " ?? ", "I don't know"],
)  # fmt: skip
def test_could_not_tell_is_a_reading_that_says_nothing(text: str) -> None:
    reading = read_number(text, "V", over=False, what="volts")
    assert reading.nothing
    assert reading.value is None


@pytest.mark.parametrize("text", ["OL", "ol", "O.L", "open", "inf", "overload", "reads OL"])
def test_open_on_ohms_is_infinite_and_on_volts_a_wrong_range(text: str) -> None:
    assert read_number(text, "Ω", over=True, what="ohms").value == math.inf
    with pytest.raises(ReadingError, match="higher range"):
        read_number(text, "V", over=False, what="volts")


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("100-200", 100.0, 200.0), ("1-2k", 1e3, 2e3), ("500-1k", 500.0, 1e3),
        ("1k to 2k2", 1e3, 2.2e3),
    ],
)  # fmt: skip
def test_spans_of_ohms(text: str, low: float, high: float) -> None:
    reading = read_number(text, "Ω", over=True, what="ohms")
    assert [reading.low, reading.high] == pytest.approx([low, high])


@pytest.mark.parametrize("text", ["", "low", "4k7x", "5 A", "abc", "0.6-", "1.2.3", "5 5"])
def test_an_error_says_what_is_understood(text: str) -> None:
    with pytest.raises(ReadingError, match=r"0\.68.*could not tell"):
        volts(text)


@given(st.text(max_size=40), st.sampled_from(["V", "Ω"]))
@example("1e" + "9" * 5000, "V")
@example("9" * 6000, "Ω")
@example("under", "V")
@example("1e400", "V")
@example("٣", "V")
@example("0.6-0.6-0.6", "V")
@example("²", "V")
def test_anything_typed_is_read_or_refused(text: str, unit: str) -> None:
    try:
        reading = read_number(text, unit, over=unit == "Ω", what="it")
    except ReadingError:
        return
    numbers = [x for x in (reading.value, reading.low, reading.high) if x is not None]
    assert reading.nothing or numbers
    assert not any(math.isnan(x) for x in numbers)


SHAPED = st.builds(
    "{}{}{}{}{}".format,
    st.sampled_from(["", "about ", "under ", ">", "between ", "-", "it reads "]),
    st.from_regex(r"\A[0-9]{0,3}[.,]?[0-9]{0,3}(e-?[0-9]{1,3})?\Z"),
    st.sampled_from(["", "-", " to ", " and ", "±", "k", " "]),
    st.from_regex(r"\A[0-9]{0,3}[.,]?[0-9]{0,3}\Z"),
    st.sampled_from(["", " V", "mV", "k", "ish", "Ω", " dc", "!"]),
)


@given(SHAPED, st.sampled_from(["V", "Ω"]))
def test_almost_numbers_are_read_or_refused(text: str, unit: str) -> None:
    try:
        reading = read_number(text, unit, over=True, what="it")
    except ReadingError:
        return
    if reading.low is not None and reading.high is not None:
        assert reading.low <= reading.high
