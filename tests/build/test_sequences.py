"""Clocked chips over time against Icarus Verilog.

``tests/truth/sequences/sequences.v`` says the same circuits as a textbook does, and
``expected.txt`` is what that program made of it (how, its first lines say); it is not needed here.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

import pytest
from tests.build.worlds import world

from halfsplit.build.events import play
from halfsplit.build.transient_schedule import read_schedule

EXPECTED = Path(__file__).parents[1] / "truth" / "sequences" / "expected.txt"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sequence:
    """Chips; the lines that drive them in half period k; the nets that are read; a fault."""

    chips: str
    drive: Callable[[int], Mapping[str, bool | int]]
    nets: str
    fault: str = "healthy"


FEEDBACK = """U1 74LS175 1=CLR 9=CLK 4=D 2=Q0 5=Q0 7=Q1 12=Q1 10=Q2 13=Q2 15=Q3
U2 74LS86 1=Q2 2=Q3 3=X
U3 74LS04 1=X 2=D"""


def _after_clear(k: int) -> Mapping[str, bool | int]:
    return {"CLR": k > 1, "CLK": k > 1 and k % 2}


SEQUENCES = {
    "ripple": Sequence(
        chips="""U1 74LS74 2=B0 3=CLK 1=CLR 4=+5 5=A0 6=B0 12=B1 11=B0 13=CLR 10=+5 9=A1 8=B1
U2 74LS74 2=B2 3=B1 1=CLR 4=+5 5=A2 6=B2 12=B3 11=B2 13=CLR 10=+5 9=A3 8=B3""",
        drive=lambda k: {"CLR": k not in (4, 21), "CLK": k % 2 and k != 21},
        nets="A0 A1 A2 A3",
    ),
    "feedback": Sequence(chips=FEEDBACK, drive=_after_clear, nets="Q0 Q1 Q3"),
    "stuck": Sequence(
        chips=FEEDBACK, drive=_after_clear, nets="Q0 Q1 Q3", fault="U1 10 stuck low"
    ),
    "shift": Sequence(
        chips="U1 74LS175 1=+5 9=CLK 4=D 2=Q0 5=Q0 7=Q1 12=Q1 10=Q2 13=Q2 15=Q3",
        drive=lambda k: {"CLK": k % 2, "D": k // 2 % 3 == 0},
        nets="Q0 Q1 Q2 Q3",
    ),
    "count": Sequence(
        chips="""U1 74LS161 1=CLR 2=CLK 3=+5 4=GND 5=+5 6=+5 7=EN 9=LOAD 10=EN \\
  14=Q0 13=Q1 12=Q2 11=Q3 15=C
U2 74LS138 1=Q0 2=Q1 3=Q2 4=GND 5=GND 6=+5 15=Y0 7=Y7""",
        drive=lambda k: {
            **_after_clear(k), "LOAD": k not in (8, 9), "EN": k not in (18, 19),
        },
        nets="Q0 Q1 Q2 Q3 C Y0 Y7",
    ),
    "bus": Sequence(
        chips="U1 74LS125 1=NA 2=GND 3=Y 4=NB 5=+5 6=Y\nR1 10k +5 Y",
        drive=lambda k: {"NA": k % 3 != 0, "NB": k % 3 != 1},
        nets="Y",
    ),
}  # fmt: skip


def expected(name: str) -> list[str]:
    rows = [line.split() for line in EXPECTED.read_text(encoding="utf-8").splitlines()]
    return [levels.upper() for sequence, _, levels in rows if sequence == name]


@pytest.mark.parametrize("name", SEQUENCES)
def test_every_half_period_is_as_the_simulator_of_logic_has_it(name: str) -> None:
    sequence, wanted = SEQUENCES[name], expected(name)
    lines = [f"offsheet {net} drive 74LS" for net in sequence.drive(0)]
    text = "\n".join((f'board "{name}"', "rail +5 5V", sequence.chips, *lines, "state on", ""))
    phases = [
        " ".join(["on", *(f"{net}={'high' if up else 'low'}" for net, up in
                          sequence.drive(k).items()), "1us"])
        for k in range(len(wanted))
    ]  # fmt: skip
    places = [f"net {net}" for net in sequence.nets.split()]
    done = play(world(text), read_schedule(", ".join(phases)), places=places,
                faults=[sequence.fault])  # fmt: skip
    assert len(wanted) >= 6
    shown = [
        "".join(done.at(place, (k + 0.9) * 1e-6) for place in places) for k in range(len(wanted))
    ]
    assert shown == wanted
