"""Block: a stage with inputs and outputs, and nothing known of its inside.

It is right when all its inputs are; what it does to them may be known (``does``) or not.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from halfsplit.board.equation import EquationError, read_equation
from halfsplit.board.lexer import Word
from halfsplit.board.model import BLOCK, Part
from halfsplit.board.vocabulary import FieldWord, KindWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import BaseKind, changed, refuse
from halfsplit.parts._families import FAMILIES, family, input_elements
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.kind import Change, Mode, Rate
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.stage import StageDrive, StageTrouble

__all__ = [
    "FED",
    "FINE",
    "KIND",
    "PULSES",
    "Block",
    "block_inputs",
    "block_outputs",
    "does",
    "drives",
]

PULSES, FED = "pulses", "good"
"""Words of a state for a net that a block's output is on: it changes all the time; a good signal
is fed in there from elsewhere."""
_OUTPUTS = frozenset({"out", "oc", "tri", "io"})
_INPUTS = frozenset({"in", "supply"})
_DEAD, _STUCK, _WRONG = 0.4, 0.12, 0.36
_SOURCE = "assumed: nothing is known of what is inside"
_ONE_PART = "Capacitor ceramic"
"""What a part inside is taken for when only their number is known."""
FINE = 0.5
"""An input is never judged more finely than this, V."""
_WIDE = 1e6
"""Volts within which an input is right before anybody said what it should be."""
_VARY = Spread(absolute=0.4)
_LOGIC_SWING = 5.0
"""Volts that level 1 of :meth:`Block.drive` stands for."""


@dataclass(frozen=True, kw_only=True)
class Block(BaseKind):
    """Outputs pass on the trouble of the inputs; where a state says their level or voltage, they
    drive their nets too."""

    def elements(self, part: Part) -> Sequence[Element]:
        does(part)
        inputs, tolerance = block_inputs(part), self.number(part, "within") / 100.0
        seen = [end for pin in inputs for end in (f"?{pin}", pin)]
        own = {"low": 0.0, "high": 0.0, "wrong": 0.0, "is_low": 0.0, "is_high": 0.0, "most": 1.0}
        each = {"u": 1.0, "s": 0.0, "want": 0.0, "width": _WIDE, "least": FINE}
        params = {f"{what}{k + 1}": to for k in range(len(inputs)) for what, to in each.items()}
        found: list[Element] = []
        for pin in block_outputs(part):
            found += [
                Element(name=f"does {pin}", law=StageTrouble(len(inputs)),
                        terminals=(f"?{pin}", "0", *seen),
                        params={**own, "tol": tolerance, **params}),
                Element(name=f"drives {pin}", law=StageDrive(), terminals=(pin, "0", f"?{pin}"),
                        params={"stiff": 0.0, "good": 0.0, "other": 0.0, "vary": 0.0, "off": 0.5},
                        spread={"off": _VARY}),
            ]  # fmt: skip
        return (*found, *self._loads(part))

    def modes(self, part: Part) -> Sequence[Mode]:
        outputs = block_outputs(part)
        if not outputs:
            return ()
        low, high = self.levels(part)
        dead = tuple(change for pin in outputs for change in _stuck(pin, "low", low))
        found = [_mode("dead", "dead: it gives nothing", _DEAD, dead)]
        for pin in outputs:
            at = f" at {pin}" if len(outputs) > 1 else ""
            ways = (
                ("stuck low", f"stuck low{at}", _STUCK, _stuck(pin, "low", low)),
                ("stuck high", f"stuck high{at}", _STUCK, _stuck(pin, "high", high)),
                ("wrong", f"giving something wrong{at}", _WRONG, changed(f"does {pin}", wrong=1.0)),
            )
            found += [
                _mode(f"{pin} {name}", words, share / len(outputs), changes, pin)
                for name, words, share, changes in ways
            ]
        return found

    def rate(self, part: Part) -> Rate:
        count = self.number(part, "parts")
        one = part_count_rate(_ONE_PART, count)
        return Rate(per_million_hours=one.per_million_hours,
                    source=f"assumed: {count:g} parts inside, each as {one.source}")  # fmt: skip

    def drive(self, part: Part, pin: str, level: float | None) -> Sequence[Change]:
        if pin not in block_outputs(part):
            return ()
        return drives(part, pin, None if level is None else level * _LOGIC_SWING)

    def levels(self, part: Part) -> tuple[float, float]:
        """Volts of a low and of a high output."""
        high = self.number(part, "high")
        name = self.family(part)
        return (
            (family(name).drive("standard").off, high - family(name).drop) if name else (0.0, high)
        )

    def ohms(self, part: Part, *, high: bool) -> float:
        """What an output is behind."""
        name = self.family(part)
        if not name:
            return self.number(part, "ohms")
        drive = family(name).drive("standard")
        return drive.rh if high else drive.rl

    def family(self, part: Part) -> str:
        """The family named, empty for none. Raises :class:`BoardError`."""
        name = self.text(part, "family")
        if name and name not in FAMILIES:
            raise refuse(part, f"expected a logic family such as 74LS, got {name!r}")
        return name

    def _loads(self, part: Part) -> Sequence[Element]:
        """Inputs of a family take what it takes when there is a supply pin; else nothing."""
        name = self.family(part)
        supply = next((pin for pin in part.pins if part.roles.get(pin) == "supply"), "")
        if not name or not supply:
            return ()
        pins = [pin for pin in block_inputs(part) if part.roles[pin] == "in"]
        return [
            element
            for pin in pins
            for element in input_elements(f"in {pin}", name, pin, supply, "0")
        ]


def block_outputs(part: Part) -> tuple[str, ...]:
    """Its connected outputs."""
    return tuple(pin for pin in part.pins if part.roles.get(pin) in _OUTPUTS)


def block_inputs(part: Part) -> tuple[str, ...]:
    """Its connected inputs, supplies included."""
    return tuple(pin for pin in part.pins if part.roles.get(pin) in _INPUTS)


def does(part: Part) -> tuple[str, Mapping[str, str]]:
    """What its outputs give, as a logic expression (empty: not known), and the pin of each name in
    it. Raises :class:`BoardError`."""
    typed = part.fields.get("does", "").strip()
    pins = [pin for pin in block_inputs(part) if part.roles[pin] == "in"]
    if not typed:
        return "", {}
    if typed in ("copies", "inverts"):
        if len(pins) > 1:
            raise refuse(part, f"expected one input for does={typed}, got {', '.join(pins)}; type "
                         'an equation such as does="A & B" with pins named A and B')  # fmt: skip
        return ("x" if typed == "copies" else "!x", {"x": pins[0]}) if pins else ("", {})
    words = [Word(text=word, spot=part.spot) for word in typed.split()]
    try:
        return read_equation(words, pins, part.spot), {pin: pin for pin in pins}
    except EquationError as error:
        wanted = "copies, inverts, or an equation over input pins named by letters"
        raise refuse(part, f"does={typed}: {error}; expected {wanted}") from error


def drives(part: Part, pin: str, volts: float | None) -> tuple[Change, ...]:
    """Changes that make an output drive so many volts when right, or nothing (``None``)."""
    if volts is None:
        return (*changed(f"drives {pin}", stiff=0.0),
                *changed(f"does {pin}", is_low=0.0, is_high=0.0))  # fmt: skip
    low, high = KIND.levels(part)
    is_low, is_high = float(volts <= low), float(volts >= high)
    level = bool(is_low or is_high)
    other = (high if is_low else low) if level else 0.0
    stiff = 1.0 / KIND.ohms(part, high=not is_low)
    return (
        *changed(f"drives {pin}", stiff=stiff, good=volts, other=other,
                 vary=0.0 if level else volts),
        *changed(f"does {pin}", is_low=is_low, is_high=is_high),
    )  # fmt: skip


def _stuck(pin: str, way: str, volts: float) -> tuple[Change, ...]:
    return (*changed(f"does {pin}", **{way: 1.0}),
            *changed(f"drives {pin}", good=volts, other=volts, vary=0.0))  # fmt: skip


def _mode(
    name: str, words: str, share: float, changes: tuple[Change, ...], pin: str = ""
) -> Mode:  # fmt: skip
    return Mode(name=name, words=words, share=share, changes=changes, source=_SOURCE, pin=pin,
                test_out=0.0)  # fmt: skip


KIND = Block(
    word=KindWord(
        name=BLOCK,
        title="Block (a stage with nothing said of its inside)",
        free_pins=True,
        fields=(
            FieldWord(name="title", help="what it is called; or in quotes after `block`"),
            FieldWord(name="does", help="what its outputs give: copies, inverts, or an equation "
                      "over inputs named by letters; left out, nobody knows"),
            FieldWord(name="parts", unit="1", default="10", help="about how many parts are inside; "
                      "sets how likely it is to fail"),
            FieldWord(name="within", unit="1", default="10", help="how far an input's voltage may "
                      "be out, per cent"),
            FieldWord(name="tolerance", unit="1", default="10", help="how far the voltage it gives "
                      "may be out, per cent"),
            FieldWord(name="high", unit="V", default="5V", help="an output that is high"),
            FieldWord(name="ohms", unit="Ω", default="1", help="what an output is behind"),
            FieldWord(name="family", help="its pins are as those of this logic family"),
        ),
        on_nets=(PULSES, FED),
        help="A board may begin as blocks: each is right when all its inputs are right, and dead, "
        "stuck or wrong else. Roles (in, out, supply) stand before the pins they go for. A state "
        "may say that an output is low, high, so many volts, or `pulses`; `good` feeds a good "
        "signal in there. A block is opened by typing its parts in place of its line.",
        example='B2 block "divider" in 1=CLK out 2=DIV',
    ),
)  # fmt: skip
