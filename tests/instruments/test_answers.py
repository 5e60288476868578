"""Numbers, blocks, names and errors as the standards write them.

Forms and values are those of IEEE 488.2-1992 and SCPI-1999; their sections are cited from memory.
"""

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.errors import AnswerError, LinkError
from halfsplit.instruments.address import is_stream, tidy
from halfsplit.instruments.answers import block_size, error_entry, identity, number, numbers

AT = "TCPIP::192.0.2.7::5025::SOCKET"


@pytest.mark.parametrize(
    ("text", "value"),
    [
        # IEEE 488.2-1992, 8.7.2: NR1, digits with an optional sign.
        ("0", 0.0), ("123", 123.0), ("+12", 12.0), ("-345", -345.0),
        # 8.7.3: NR2, a point between digits.
        ("12.3", 12.3), ("+1.2345", 1.2345), ("-0.123", -0.123),
        # 8.7.4: NR3, a mantissa and an exponent with its sign.
        ("1.23E+5", 1.23e5), ("-4.7E-9", -4.7e-9), ("+6.82130000E-01", 0.68213),
    ],
)  # fmt: skip
def test_the_three_forms_of_numbers(text: str, value: float) -> None:
    assert number(text, AT) == value


@pytest.mark.parametrize(
    ("text", "value"),
    [
        # SCPI-1999, volume 1: 9.9E37 is infinity, -9.9E37 its negative (7.2.1.4), 9.91E37 no
        # number (7.2.1.5).
        ("9.9E37", math.inf), ("+9.90000000E+37", math.inf), ("-9.9E37", -math.inf),
        ("9.91E37", math.nan), ("9.9E+37", math.inf), ("+9.91000000E+37", math.nan),
        # The same in single precision (IEEE 754): 9.9e37 and 9.91e37 to 24 bits.
        ("9.8999999933704E+37", math.inf), ("9.9100000024E+37", math.nan),
    ],
)  # fmt: skip
def test_overload_and_no_number(text: str, value: float) -> None:
    found = number(text, AT)
    assert found == value or (math.isnan(found) and math.isnan(value))


@pytest.mark.parametrize(
    "text", ["", "fish", "1,2", "0x10", "nan", "inf", "1_000", "1e400", "5E36", "1.0 V", "\uff11"]
)
def test_what_is_no_number_is_refused_with_what_came(text: str) -> None:
    with pytest.raises(AnswerError, match="expected a number") as refused:
        number(text, AT)
    assert refused.value.at == AT
    assert str(refused.value).startswith(f"{AT}: expected")


@given(st.floats(allow_nan=False, allow_infinity=False, min_value=-1e30, max_value=1e30))
def test_any_number_comes_back(value: float) -> None:
    assert number(f"{value:+.16E}", AT) == value


def outcome(read: Callable[[], object]) -> object:
    """What came of it; any error but our own goes on."""
    try:
        return read()
    except AnswerError as error:
        return error


@given(st.text(max_size=200))
def test_any_text_is_a_number_or_our_own_error(text: str) -> None:
    assert isinstance(outcome(lambda: number(text, AT)), float | AnswerError)
    three = outcome(lambda: numbers(text, AT, count=3, what="three"))
    assert isinstance(three, tuple | AnswerError)
    assert isinstance(outcome(lambda: identity(text, AT)), str | AnswerError)
    assert isinstance(error_entry(text), tuple | None)


@given(st.binary(max_size=4), st.binary(max_size=12), st.integers(0, 10**9))
def test_any_head_of_a_block_is_a_size_or_our_own_error(
    head: bytes, digits: bytes, most: int
) -> None:
    found = outcome(lambda: block_size(head, digits, AT, most=most))
    assert isinstance(found, AnswerError) or 0 <= int(str(found)) <= most


def test_the_head_of_a_block() -> None:
    # IEEE 488.2-1992, 8.7.9: #, how many digits follow, the digits, the bytes.
    assert block_size(b"#1", b"5", AT, most=10) == 5
    assert block_size(b"#3", b"025", AT, most=100) == 25
    assert block_size(b"#9", b"000001000", AT, most=1000) == 1000


@pytest.mark.parametrize(
    ("head", "digits"),
    [(b"#0", b""), (b"#A", b"10"), (b"12", b"5"), (b"#3", b"25"), (b"#2", b"+5"), (b"#1", b"9")],
)
def test_heads_that_are_none(head: bytes, digits: bytes) -> None:
    with pytest.raises(AnswerError):
        block_size(head, digits, AT, most=8)


def test_names_and_errors() -> None:
    # IEEE 488.2-1992, 10.14: four fields between commas, 0 where there is none.
    assert identity("Bench Works, Invented 1 ,0,1.0", AT) == "Bench Works,Invented 1,0,1.0"
    with pytest.raises(AnswerError, match="its name"):
        identity("+1.234E-01", AT)
    # SCPI-1999, volume 2, 21.8: number, comma, words between quotes.
    assert error_entry('-113,"Undefined header"') == (-113, "Undefined header")
    assert error_entry('0,"No error"') == (0, "No error")
    assert error_entry('+0,"No error"') == (0, "No error")
    assert error_entry("+1.234E-01") is None


@pytest.mark.parametrize(
    ("typed", "address"),
    [
        # Port 5025 is scpi-raw in the IANA service name registry; 192.0.2.0/24 is RFC 5737's.
        ("192.0.2.7", "TCPIP::192.0.2.7::5025::SOCKET"),
        (" meter.local:5555 ", "TCPIP::meter.local::5555::SOCKET"),
        ("COM3", "ASRLCOM3::INSTR"),
        ("/dev/ttyUSB0", "ASRL/dev/ttyUSB0::INSTR"),
        # VPP-4.3, 4.3.1: resource names.
        ("USB0::0x1234::0x5678::A1::INSTR", "USB0::0x1234::0x5678::A1::INSTR"),
        ("ASRL1::INSTR", "ASRL1::INSTR"),
    ],
)
def test_addresses_as_people_type_them(typed: str, address: str) -> None:
    assert tidy(typed) == address
    assert is_stream(address) == ("SOCKET" in address or "ASRL" in address)


@pytest.mark.parametrize("typed", ["", "a b", "host:0", "host:70000", "http://x/", "-x"])
def test_what_is_no_address(typed: str) -> None:
    with pytest.raises(LinkError, match="expected a host"):
        tidy(typed)
