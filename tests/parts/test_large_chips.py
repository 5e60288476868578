"""Large chips as black boxes: their pinouts against second statements, their pins on a board."""

import tomllib
from pathlib import Path

import pytest
from tests.parts.bench import Bench

from halfsplit.parts.large_chip import KINDS, LargeChip

TRUTH = tomllib.loads((Path(__file__).parents[1] / "truth" / "large_chips.toml").read_text("utf-8"))
ALONE = TRUTH.pop("none")["pins"].split()
BY_NAME = {kind.name: kind for kind in KINDS}
POWER = {"VSS": "GND", "VDD": "VCC", "+5V": "VCC", "VS": "VCC", "GND2": "GND"}


def plain(name: str) -> str:
    """A name without what only marks the active level."""
    name = name.upper().replace("+", "P").replace("-", "M") if name != "+5V" else name
    bare = "".join(letter for letter in name if letter not in "~_/*")
    return POWER.get(bare, bare)


def ours(kind: LargeChip) -> list[str]:
    return [
        "NC" if pin.role == "nc" else plain(pin.title.replace("n", "")) for pin in kind.word.pins
    ]


@pytest.mark.parametrize("name", TRUTH)
def test_a_second_statement_says_the_same_of_its_pins(name: str) -> None:
    row = TRUTH[name]
    told = [row.get("same", {}).get(word, word) for word in row["pins"].split()]
    assert ours(BY_NAME[name]) == [plain(word.removeprefix("n")) for word in told]


def test_every_chip_has_a_second_statement_or_is_named_as_without() -> None:
    assert sorted(BY_NAME) == sorted([*TRUTH, *ALONE])


@pytest.mark.parametrize("name", BY_NAME)
def test_a_package_has_an_even_number_of_pins_and_one_supply(name: str) -> None:
    pins = BY_NAME[name].word.pins
    assert len(pins) in (8, 14, 16, 18, 20, 24, 28, 40)
    assert [pin.role for pin in pins].count("supply") == 1
    assert [pin.role for pin in pins].count("ground") == 1
    titles = [pin.title for pin in pins if pin.role != "nc"]
    assert len(titles) == len(set(titles))


def test_a_port_drives_what_a_state_says_and_loads_what_it_reads() -> None:
    """NMOS ports: 0.45 V at most at 1.7 mA, 2.4 V at least (data sheet of the 8255A, from
    memory)."""
    bench = Bench("""
rail +5 5V
offsheet SENSE drive 74LS
U1 8255A 18=P0 19=P1 20=SENSE
R1 2.9k +5 P0
R2 10k P1 GND
state on P0=low P1=high SENSE=low
state idle SENSE=high
""")
    assert bench("on", "P0") < 0.45
    assert bench("on", "P1") > 2.4
    assert bench("on", "SENSE") < 0.5
    assert bench("idle", "P0") > 4.5
    assert bench("on", "P1", "U1 19 stuck low") < 0.45
    assert bench("on", "P0", "U1 dead") > 4.5


def test_an_analog_pin_stands_where_a_state_says() -> None:
    bench = Bench("""
rail +5 5V
U1 DAC0808 4=IO 5=+5
R1 10k +5 IO
state on IO=low
state off
""")
    assert bench("on", "IO") == pytest.approx(5.0 / 11.0, abs=0.05)
    assert bench("off", "IO") > 3.0
