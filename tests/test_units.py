"""Quantities as typed and as printed."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.errors import UnitError
from halfsplit.units import (
    UNITS,
    format_percent,
    format_quantity,
    format_span,
    format_typed,
    parse,
    parse_percent,
)

# IEC 60062, clause 3 (letter and digit code): resistance and capacitance, from memory.
IEC_60062 = [
    ("R10", "Ω", 0.1),
    ("R332", "Ω", 0.332),
    ("1R0", "Ω", 1.0),
    ("3R32", "Ω", 3.32),
    ("33R2", "Ω", 33.2),
    ("1K0", "Ω", 1e3),
    ("33K2", "Ω", 33.2e3),
    ("332K", "Ω", 332e3),
    ("1M0", "Ω", 1e6),
    ("1G0", "Ω", 1e9),
    ("1T0", "Ω", 1e12),
    ("p10", "F", 0.1e-12),
    ("3p32", "F", 3.32e-12),
    ("1n0", "F", 1e-9),
    ("332n", "F", 332e-9),
    ("1µ0", "F", 1e-6),
    ("33µ2", "F", 33.2e-6),
    ("1m0", "F", 1e-3),
]

# SI brochure (9th edition), table 7: prefixes.
SI_PREFIXES = [
    ("f", "1e-15"),
    ("p", "1e-12"),
    ("n", "1e-9"),
    ("µ", "1e-6"),
    ("m", "1e-3"),
    ("k", "1e3"),
    ("M", "1e6"),
    ("G", "1e9"),
    ("T", "1e12"),
]


@pytest.mark.parametrize(("text", "unit", "value"), IEC_60062)
def test_letter_and_digit_code(text: str, unit: str, value: float) -> None:
    assert parse(text, unit) == pytest.approx(value, rel=1e-15)


@pytest.mark.parametrize(("prefix", "factor"), SI_PREFIXES)
def test_prefixes(prefix: str, factor: str) -> None:
    assert parse(f"1{prefix}V", "V") == float(factor)
    assert parse(f"1 {prefix}", "V") == float(factor)
    assert format_quantity(float(factor), "V") == f"1 {prefix}V"


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("4k7", "Ω", 4700.0),
        ("4.7k", "Ω", 4700.0),
        ("4,7 kΩ", "Ω", 4700.0),
        ("47R", "Ω", 47.0),
        ("4k7 ohms", "Ω", 4700.0),
        ("2.2meg", "Ω", 2.2e6),
        ("1MEG", "", 1e6),
        ("100n", "F", 100e-9),
        ("100 nF", "F", 100e-9),
        ("0,047u", "F", 47e-9),
        ("5V1", "V", 5.1),
        ("680 mV", "V", 0.68),
        ("-12", "V", -12.0),
        (".5", "W", 0.5),
        ("1e3", "", 1000.0),
        ("1e3k", "", 1e6),
        ("4 MHz", "Hz", 4e6),
        ("5 min", "min", 5.0),
        ("25 degC", "°C", 25.0),
    ],
)
def test_parse(text: str, unit: str, value: float) -> None:
    assert parse(text, unit) == value


def test_decimal_exactness() -> None:
    assert parse("100n") == float("100e-9")
    assert parse("4u7") == float("4.7e-6")
    assert parse("0.1m") == float("0.1e-3")


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("", ""),
        ("k", ""),
        ("4k7x", "Ω"),
        ("4k7V", "Ω"),
        ("4R7", "V"),
        ("5V", "Ω"),
        ("5V", ""),
        ("1,000", "Ω"),
        ("10,000,000", ""),
        ("4.7.1", ""),
        ("nan", ""),
        ("inf", "V"),
        ("1e999", ""),
        ("1e99999", ""),
        ("1e" + "9" * 5000, ""),
        ("٣", ""),
        ("--5", ""),
    ],
)
def test_refused(text: str, unit: str) -> None:
    with pytest.raises(UnitError, match="expected a quantity"):
        parse(text, unit)


@given(st.text(max_size=12), st.sampled_from(["", *UNITS]))
def test_arbitrary_text_gives_a_finite_number_or_a_unit_error(text: str, unit: str) -> None:
    try:
        value = parse(text, unit)
    except UnitError:
        value = 0.0
    assert math.isfinite(value)


@pytest.mark.parametrize(
    ("text", "value"),
    [("5%", 0.05), ("+-5 %", 0.05), ("±0.1%", 0.001), ("2,5%", 0.025), ("0%", 0.0), ("20 %", 0.2)],
)
def test_percent(text: str, value: float) -> None:
    assert parse_percent(text) == value


@pytest.mark.parametrize("text", ["5", "%", "5e%", "-5%", "1000%", "x%", "nan%", "5%%"])
def test_percent_refused(text: str) -> None:
    with pytest.raises(UnitError, match="expected a percentage"):
        parse_percent(text)


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (4700.0, "Ω", "4.7 kΩ"),
        (0.68, "V", "680 mV"),
        (5.0, "V", "5 V"),
        (-12.04, "V", "-12 V"),
        (100e-9, "F", "100 nF"),
        (4.7e-6, "F", "4.7 µF"),
        (999.6, "Ω", "1 kΩ"),
        (12345.0, "Hz", "12.3 kHz"),
        (0.0, "V", "0 V"),
        (-0.0, "V", "0 V"),
        (1e-20, "A", "1e-20 A"),
        (1e20, "Ω", "1e+20 Ω"),
        (0.5, "", "0.5"),
        (2500.0, "", "2500"),
        (0.25, "min", "0.25 min"),
        (1500.0, "min", "1500 min"),
        (0.5, "°C", "0.5 °C"),
        (math.nan, "V", "unresolved"),
        (math.inf, "Ω", "open"),
        (-math.inf, "V", "-∞ V"),
    ],
)
def test_format(value: float, unit: str, text: str) -> None:
    assert format_quantity(value, unit) == text


@pytest.mark.parametrize(
    ("low", "high", "unit", "text"),
    [
        (0.1, 0.3, "V", "0.1 to 0.3 V"),
        (2.4, 5.0, "V", "2.4 to 5.0 V"),
        (0.002, 0.004, "V", "2 to 4 mV"),
        (-12.6, -11.4, "V", "-12.6 to -11.4 V"),
        (-0.001, 0.4, "V", "-0.001 to 0.400 V"),
        (-0.0001, 0.4, "V", "0.0 to 0.4 V"),
        (950.0, 1050.0, "Ω", "0.95 to 1.05 kΩ"),
        (1.0, 1.0001, "V", "1 V"),
        (0.0, 0.0, "V", "0 V"),
        (10e6, math.inf, "Ω", "above 10 MΩ"),
        (-math.inf, 0.5, "V", "below 500 mV"),
        (math.inf, math.inf, "Ω", "open"),
        (-math.inf, math.inf, "V", "anything"),
        (math.nan, 1.0, "V", "unresolved"),
        (2.0, 9.0, "min", "2 to 9 min"),
    ],
)
def test_span(low: float, high: float, unit: str, text: str) -> None:
    assert format_span(low, high, unit) == text


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (4700.0, "Ω", "4k7"),
        (220.0, "Ω", "220"),
        (0.47, "Ω", "0R47"),
        (2.2e6, "Ω", "2M2"),
        (100e-9, "F", "100n"),
        (4.7e-6, "F", "4u7"),
        (0.04, "H", "40mH"),
        (5.0, "V", "5V"),
        (-12.5, "V", "-12.5V"),
        (1e-20, "Ω", "1e-20"),
    ],
)
def test_typed(value: float, unit: str, text: str) -> None:
    assert format_typed(value, unit) == text


@given(st.floats(allow_nan=False, allow_infinity=False), st.sampled_from(["", *UNITS]))
def test_typed_reads_back_to_the_last_bit(value: float, unit: str) -> None:
    assert parse(format_typed(value, unit), unit) == value


def test_typed_refuses_what_cannot_be_typed() -> None:
    with pytest.raises(UnitError, match="expected a finite value"):
        format_typed(math.inf, "V")


@given(st.floats(min_value=0, max_value=9.99))
def test_percent_reads_back_to_the_last_bit(fraction: float) -> None:
    assert parse_percent(format_percent(fraction)) == fraction


@given(
    st.floats(allow_nan=False, allow_infinity=False, min_value=-1e14, max_value=1e14),
    st.sampled_from(["V", "Ω", "A"]),
)
def test_printed_is_within_three_digits(value: float, unit: str) -> None:
    printed = parse(format_quantity(value, unit), unit)
    assert printed == pytest.approx(value, rel=0.0051, abs=0)


@given(st.floats(-1e9, 1e9), st.floats(0, 1e9), st.sampled_from(["V", "Ω", "", "min"]))
def test_span_is_always_text_with_one_unit(low: float, width: float, unit: str) -> None:
    text = format_span(low, low + width, unit)
    assert text.endswith(unit)
    assert text.count(" to ") <= 1
