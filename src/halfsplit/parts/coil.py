"""Coil and motor winding: at DC the copper's resistance."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord
from halfsplit.frozen import dataclass
from halfsplit.motion.keys import KEYS, ORDER
from halfsplit.parts._base import OPEN, TWO_ENDS, BaseKind, changed, failing, scaled, tolerance_of
from halfsplit.parts._handbook import fraction, part_count_rate
from halfsplit.parts.kind import Change, Mode, Rate, Reading, Store
from halfsplit.solve.law import Element
from halfsplit.solve.laws.linear import Conductance

__all__ = ["KINDS", "Coil"]

_STEPPER_RATE = 0.3086
"""A stepping motor at 40 degC over 20 000 h, per million hours: MIL-HDBK-217F notice 2, 12.1,
computed with constants from memory."""
_WINDINGS = 4
_STORE = "l"


@dataclass(frozen=True, kw_only=True)
class Coil(BaseKind):
    """Two ends; ``motor`` for a winding, whose value is its resistance."""

    motor: bool

    def elements(self, part: Part) -> Sequence[Element]:
        if len(part.pins) < 2:
            return ()
        return (
            Element(
                name="r",
                law=Conductance(),
                terminals=("1", "2"),
                params={"g": 1.0 / self.ohms(part)},
                spread={"g": tolerance_of(part, 0.1, self.ohms_known(part))},
            ),
        )

    def modes(self, part: Part) -> Sequence[Mode]:
        if len(part.pins) < 2:
            return ()
        row = "Coil"
        what = "winding" if self.motor else "coil"
        return (
            failing("open", f"an open {what}", changed("r", g=OPEN), row=(row, "open"),
                    test_out=1.0),
            failing("short", f"a {what} shorted from end to end", scaled("r", g=50.0),
                    row=(row, "short"), of=0.3, test_out=1.0, stored=_turns(1.0 / 50.0)),
            failing("half the turns", f"a {what} with half its turns shorted", scaled("r", g=2.0),
                    row=(row, "short"), of=0.7, stored=_turns(0.5)),
            failing("some turns", f"a {what} with a fifth of its turns shorted",
                    scaled("r", g=1.25), row=(row, "change in value"), of=0.7, test_out=0.7,
                    stored=_turns(0.8)),
            failing("high resistance", f"a {what} of three times its resistance (bad joint inside)",
                    scaled("r", g=1.0 / 3.0), row=(row, "change in value"), of=0.3),
        )  # fmt: skip

    def rate(self, part: Part) -> Rate:
        if not self.motor:
            return part_count_rate("Coil fixed")
        return Rate(
            per_million_hours=_STEPPER_RATE
            * fraction("Motor electric", "winding failure")
            / _WINDINGS,
            source="MIL-HDBK-217F notice 2 section 12.1, stepping motor 0.309 (constants from "
            "memory), times winding failures 0.31 of MIL-HDBK-338B, one of four windings",
        )

    def stores(self, part: Part) -> Sequence[Store]:
        if len(part.pins) < 2:
            return ()
        known = "inductance" in part.fields if self.motor else self.value_known(part)
        return (
            Store(name=_STORE, what="coil", terminals=("1", "2"), value=self.henries(part),
                  beside="r", known=known),
        )  # fmt: skip

    def current(self, part: Part) -> Reading | None:
        return Reading(element="r") if len(part.pins) == 2 else None

    def ohms(self, part: Part) -> float:
        """Resistance of the copper, ohm."""
        return self.value(part, 50.0) if self.motor else self.number(part, "ohms")

    def ohms_known(self, part: Part) -> bool:
        """Whether somebody gave the resistance."""
        return self.value_known(part) if self.motor else "ohms" in part.fields

    def henries(self, part: Part) -> float:
        """Inductance, henry."""
        return self.number(part, "inductance") if self.motor else self.value(part, 1e-3)


def _turns(left: float) -> tuple[Change, ...]:
    """Inductance goes with the square of the turns that are left."""
    return scaled(_STORE, value=left * left)


KINDS = (
    Coil(
        motor=False,
        word=KindWord(
            name="coil", title="Coil, choke or solenoid", value_unit="H", pins=TWO_ENDS,
            fields=(FieldWord(name="ohms", unit="Ω", default="1", help="DC resistance"),),
            help="Two ends, either way round.",
            example="L1 coil 100u ohms=0.5 +12 FILTERED",
        ),
    ),
    Coil(
        motor=True,
        word=KindWord(
            name="winding", title="Motor winding", value_unit="Ω", pins=TWO_ENDS,
            fields=(
                FieldWord(name="inductance", unit="H", default="20m", help="inductance"),
                *(FieldWord(name=name, unit=unit, help=words)
                  for name, (unit, words) in KEYS.items() if name != ORDER),
            ),
            help="One phase, or one half of a centre-tapped phase: value is its DC resistance. "
            "What is known of the mechanism stands at one winding of the motor, or at all.",
            example="M1A winding 75 inductance=60m +24 PHA",
        ),
    ),
)  # fmt: skip
