"""The line of a part: designator, what it is, value, nets."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from halfsplit.board.draft import Draft
from halfsplit.board.lexer import Token, Word
from halfsplit.board.model import DESCRIBED, Part, Remarks, Spot
from halfsplit.board.names import KEYWORDS, ROLES, is_designator, net_fault, pin_fault
from halfsplit.board.vocabulary import FieldWord, KindWord, PinWord, TypeWord
from halfsplit.errors import UnitError, nearest
from halfsplit.units import parse, parse_percent

__all__ = ["pin_named", "read_part"]

_EXAMPLES = {"Ω": "4k7", "F": "100n", "H": "40mH", "V": "5V1", "Hz": "4MHz", "s": "10ms"}
_TITLE = FieldWord(name="title")
_CLEAR_UNITS = ("H", "F", "W", "Hz", "Ω", "s")
"""Units which, written out after a value, are surely no net (12V and 1A may well be nets)."""


def read_part(tokens: Sequence[Token], remarks: Remarks, draft: Draft) -> None:
    """Read one part (brackets already expanded) into ``draft``, or say what is wrong."""
    problems, before = draft.problems, draft.problems.errors
    designator = tokens[0].word
    if tokens[0].value is not None or designator.quoted or not is_designator(designator.text):
        message = f"expected a designator such as R1, or a line word, got {tokens[0].text!r}"
        problems.error(designator.spot, message, name=designator.text, known=KEYWORDS)
        return
    earlier = draft.parts.get(designator.text)
    if earlier is not None:
        message = f"{designator.text} is already on line {earlier.spot.line}"
        problems.error(designator.spot, message)
    line = _Line(draft=draft, designator=designator, rest=list(tokens[1:]))
    if line.take_kind() and line.is_described_first():
        line.take_value()
        line.take_pins()
    if problems.errors == before:
        draft.parts[designator.text] = line.part(remarks)
        draft.left_open[designator.text] = frozenset(line.left_open)


def pin_named(kind: KindWord, name: str) -> PinWord | None:
    """The pin of that name or other name, letters' case folded when it must be."""
    fold = name.casefold()
    exact = (pin for pin in kind.pins if pin.name == name)
    other = (pin for pin in kind.pins if name in pin.other_names)
    loose = (
        pin for pin in kind.pins if fold in (n.casefold() for n in (pin.name, *pin.other_names))
    )
    return next(exact, None) or next(other, None) or next(loose, None)


@dataclass(slots=True, kw_only=True)
class _Line:
    draft: Draft
    designator: Word
    rest: list[Token]
    kind: KindWord = field(default_factory=lambda: KindWord(name="", title=""))
    typed_kind: bool = False
    type: str = ""
    preset: TypeWord | None = None
    value: float | None = None
    tolerance: float | None = None
    fields: dict[str, str] = field(default_factory=dict)
    nets: dict[str, str] = field(default_factory=dict)
    left_open: set[str] = field(default_factory=set)
    roles: dict[str, str] = field(default_factory=dict)

    def part(self, remarks: Remarks) -> Part:
        presets = self.preset.fields if self.preset else {}
        value = self.value
        if value is None and self.preset is not None:
            value = self.preset.value
        described = self.draft.descriptions.get(self.kind.name)
        roles = self.roles
        if described is not None:
            roles = {pin.name: pin.role for pin in described.pins if pin.name in self.nets}
        return Part(
            designator=self.designator.text,
            kind=self.kind.name if described is None else DESCRIBED,
            type=self.type if described is None else described.name,
            description=described,
            value=value,
            tolerance=self.tolerance,
            fields={**presets, **self.fields},
            pins=self.nets,
            roles=roles,
            remarks=remarks,
            spot=self.designator.spot,
        )

    def error(self, spot: Spot, message: str, name: str = "", known: Sequence[str] = ()) -> None:
        self.draft.problems.error(spot, message, name=name, known=known)

    def take_kind(self) -> bool:
        """Kind, type number, or what the designator implies; in that order."""
        lexicon = self.draft.lexicon
        first = self.rest[0] if self.rest else None
        implied = lexicon.implied(self.designator.text)
        bare = first.text if first is not None and first.value is None else ""
        if implied is not None and implied.value_unit is not None and _is_value(bare, implied):
            self.kind = implied
            return True
        kind, number = lexicon.kind(bare), lexicon.type(bare)
        if kind is not None:
            self.kind, self.typed_kind = kind, True
            self.rest.pop(0)
            self._take_second_word()
            return True
        if number is not None:
            self.kind, self.typed_kind = lexicon.kinds[number.kind], True
            self.rest.pop(0)
            self._set_type(number)
            return True
        if implied is not None and (implied.value_unit is None or not bare):
            self.kind = implied
            return True
        if bare in self.draft.undescribed:  # its describe line has been told of
            self.draft.problems.errors += 1
            return False
        expected = "a kind of part or a type number"
        if implied is not None and implied.value_unit:
            expected = f"a value in {implied.value_unit}, a kind of part or a type number"
        came = f", got {first.text!r}" if first is not None else ""
        spot = first.spot if first is not None else self.designator.spot
        message = f"expected {expected} after {self.designator.text}{came}"
        if bare[:1].isdigit() and implied is not None and implied.value_unit:
            self.error(spot, message)  # a slip in a value; no type is meant
            return False
        if any(sign.isdigit() for sign in bare):
            message += f"; a type that is not known goes behind its kind, as type={bare}"
        self.error(spot, message, bare, lexicon.names())
        return False

    def is_described_first(self) -> bool:
        """The word ``described`` alone says nothing."""
        if self.kind.name != DESCRIBED:
            return True
        message = "expected the name of a part that a describe line describes, got described"
        self.error(self.designator.spot, message)
        return False

    def _take_second_word(self) -> None:
        """A type number may follow its kind: ``npn 2N3904``, and goes before a value of the same
        figures (``regulator 7812`` is no regulator for 7812 V)."""
        if not self.rest or self.rest[0].value is not None:
            return
        word = self.rest[0].text
        number = self.draft.lexicon.type(word)
        if number is not None and number.kind == self.kind.name:
            self.rest.pop(0)
            self._set_type(number)

    def _set_type(self, number: TypeWord) -> None:
        self.type, self.preset = number.name, number

    def take_value(self) -> None:
        """The value, when the kind takes one and the type number has not set it."""
        unit = self.kind.value_unit
        if unit is None or (self.preset is not None and self.preset.value is not None):
            return
        example = _EXAMPLES.get(unit, f"1{unit}")
        wanted = f"expected a value{f' in {unit}' if unit else ''} such as {example}, or ?"
        if not self.rest:
            self.error(self.designator.spot, f"{wanted}, got nothing after {self.kind.name}")
            return
        token = self.rest[0]
        if token.value is not None or not _is_value(token.text, self.kind):
            self.error(token.spot, f"{wanted}, got {token.text!r}")
            return
        self.rest.pop(0)
        if token.text == "?":
            return
        value = parse(token.text, unit)
        if value <= 0 and unit != "°C":
            self.error(token.spot, f"{wanted}, got {token.text!r}, which no {self.kind.name} has")
        self.value = value

    def take_pins(self) -> None:
        """Everything after the value: tolerance, fields, pins, nets."""
        bare: list[Word] = []
        role = ""
        after_value = True
        for token in self.rest:
            if token.value is not None:
                self._take_named(token.word, token.value, role)
                after_value = False
            elif token.text.endswith("%") and not token.word.quoted:
                self._take_tolerance(token.word)
            elif self.kind.free_pins:
                if token.text.casefold() in ROLES and not token.word.quoted:
                    role = token.text.casefold()
                elif token.word.quoted and any(f.name == _TITLE.name for f in self.kind.fields):
                    self._take_field(_TITLE, token.word, token.word)
                else:
                    self._refuse_bare(token.word)
            elif after_value and self._take_quantity(token.word, _CLEAR_UNITS):
                pass
            else:
                after_value = False
                bare.append(token.word)
        if not self.kind.free_pins:
            self._take_nets(bare)

    def _refuse_bare(self, word: Word) -> None:
        message = (
            f"expected pin=net or {', '.join(ROLES)}, got {word.text!r}; "
            f"the pins of a {self.kind.name} are typed as 5=NET, a type number as type={word.text}"
        )
        self.error(word.spot, message, word.text, ROLES)

    def _take_tolerance(self, word: Word) -> None:
        if self.kind.value_unit is None:
            self.error(word.spot, f"a {self.kind.name} has no value, so no tolerance")
        elif self.tolerance is not None:
            self.error(word.spot, "the tolerance is typed twice")
        else:
            try:
                self.tolerance = parse_percent(word.text)
            except UnitError as error:
                self.error(word.spot, str(error))

    def _take_quantity(self, word: Word, units: Sequence[str]) -> bool:
        """``40mH`` after the value sets the one field whose unit is henry."""
        if not re.match(r"[0-9.,]", word.text) or _parses(word.text, ""):
            return False
        for unit in units:
            fields = [known.name for known in self.kind.fields if known.unit == unit]
            if len(fields) == 1 and fields[0] not in self.fields and _parses(word.text, unit):
                self.fields[fields[0]] = word.text
                return True
        return False

    def _take_named(self, name: Word, value: Word, role: str) -> None:
        fold = name.text.casefold()
        known = next((f for f in self.kind.fields if f.name.casefold() == fold), None)
        pin = None if self.kind.free_pins else pin_named(self.kind, name.text)
        if known is not None and (pin is None or pin.name.casefold() != fold):
            self._take_field(known, name, value)
        elif fold == "type" and pin is None:
            self._take_type(value)
        elif pin is not None:
            self._connect(pin.name, name, value)
        elif not self.kind.free_pins:
            pins = [p.name for p in self.kind.pins]
            fields = [f.name for f in self.kind.fields]
            what = f"pin or field {name.text!r}" if fields else f"pin {name.text!r}"
            message = f"{self.kind.name} has no {what}; {_pin_list(pins)}"
            known_names = [] if name.text.isdigit() else [*pins, *fields]
            self.error(name.spot, message, name.text, known_names)
        elif fault := pin_fault(name.text):
            self.error(name.spot, fault)
        else:
            if not any(sign.isdigit() for sign in name.text):
                hint = nearest(name.text, [f.name for f in self.kind.fields])
                if hint:
                    message = f"taken as a pin named {name.text!r} on the net {value.text!r}"
                    self.draft.problems.warning(name.spot, message, hint=hint)
            self._connect(name.text, name, value)
            if role:
                self.roles[name.text] = role

    def _take_field(self, known: FieldWord, name: Word, value: Word) -> None:
        if known.name in self.fields:
            self.error(name.spot, f"{known.name} is typed twice")
        try:
            if known.unit == "%":
                parse_percent(value.text)
            elif known.unit:
                parse(value.text, "" if known.unit == "1" else known.unit)
        except UnitError as error:
            self.error(value.spot, f"{known.name}: {error}")
        self.fields[known.name] = value.text

    def _take_type(self, value: Word) -> None:
        number = self.draft.lexicon.type(value.text)
        if self.type:
            self.error(value.spot, f"the type number is typed twice: {self.type}, {value.text}")
        elif number is None:
            self.type = value.text
        elif number.kind != self.kind.name:
            message = (
                f"{number.name} is a {number.kind}; expected the type number of a {self.kind.name}"
            )
            self.error(value.spot, message)
        else:
            self._set_type(number)

    def _connect(self, pin: str, name: Word, value: Word) -> None:
        if pin in self.nets or pin in self.left_open:
            self.error(name.spot, f"pin {pin} is typed twice")
        elif value.text == "-" and not value.quoted:
            self.left_open.add(pin)
        elif fault := net_fault(value.text, self.draft.ground):
            self.error(value.spot, fault)
        else:
            self.nets[pin] = value.text

    def _take_nets(self, bare: list[Word]) -> None:
        """Bare nets go to the pins not named on the line, in order."""
        taken = self.nets.keys() | self.left_open
        free = [pin for pin in self.kind.pins if pin.name not in taken]
        if len(bare) > len(free) and self._take_quantity(bare[0], ("V", "A", "°C", *_CLEAR_UNITS)):
            bare = bare[1:]
        if len(bare) > len(free):
            self._too_many(bare, len(free))
            return
        for pin, word in zip(free, bare, strict=False):
            self._connect(pin.name, word, word)
        missing = [p for p in free[len(bare) :] if p.role not in ("supply", "ground", "nc")]
        small = len(self.kind.pins) <= 4 and all(pin.role == "passive" for pin in missing)
        if missing and (bare or small):
            names = ", ".join(pin.name for pin in missing)
            last = self.rest[-1].spot if self.rest else self.designator.spot
            hint = "" if small else "; to leave pins out, type the others as pin=net"
            message = (
                f"expected a net (or -) for pin {names} of {self.kind.name}, "
                f"which has {len(self.kind.pins)} pins; got {len(bare)} nets{hint}"
            )
            self.error(last, message)

    def _too_many(self, bare: list[Word], free: int) -> None:
        """One net too many is most often something else."""
        first, extra = bare[0], bare[free]
        unit, lexicon = self.kind.value_unit, self.draft.lexicon
        if unit and self.value is not None and _is_value(f"1{first.text}", self.kind):
            self.error(first.spot, f"expected the value in one piece, such as 100{first.text}")
        elif not self.typed_kind and nearest(first.text, lexicon.names()):
            message = f"expected a kind of part or a type number, got {first.text!r}"
            self.error(first.spot, message, first.text, lexicon.names())
        else:
            message = (
                f"expected {free} nets for the pins of {self.kind.name}, got {len(bare)}; "
                f"{extra.text!r} is one too many"
            )
            self.error(extra.spot, message)


def _is_value(text: str, kind: KindWord) -> bool:
    return text == "?" or _parses(text, kind.value_unit or "")


def _parses(text: str, unit: str) -> bool:
    try:
        parse(text, unit)
    except UnitError:
        return False
    return True


def _pin_list(pins: Sequence[str]) -> str:
    if len(pins) > 4 and list(pins) == [str(number) for number in range(1, len(pins) + 1)]:
        return f"its pins are 1 to {len(pins)}"
    shown = ", ".join(pins[:20]) + (", ..." if len(pins) > 20 else "")
    return f"its pins are {shown or 'none'}"
