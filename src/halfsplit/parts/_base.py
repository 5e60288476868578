"""What the analog kinds share: fields as numbers, shares out of the handbook, common values."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from halfsplit import units
from halfsplit.board.model import Part
from halfsplit.board.vocabulary import KindWord, PinWord, TypeWord
from halfsplit.errors import BoardError, Problem, UnitError
from halfsplit.frozen import dataclass
from halfsplit.parts._handbook import fraction, mode_source
from halfsplit.parts.kind import Change, Defaults, Mode, Rating
from halfsplit.solve.law import Spread

__all__ = [
    "JUNCTION_SHORT", "OPEN", "SHORT", "TWO_ENDS", "BaseKind", "changed", "connected", "failing",
    "refuse", "scaled", "terminal", "tolerance_of", "types_of",
]  # fmt: skip

OPEN = 1e-12
"""What is left of a broken path, S: a teraohm, so that nothing floats without end."""
SHORT = 10.0
"""A dead short of a passive part, S."""
JUNCTION_SHORT = 2.0
"""A shorted junction, S: half an ohm of molten silicon and bond wire."""
TWO_ENDS = (PinWord(name="1", title="one end"), PinWord(name="2", title="other end"))
"""Pins of a part that may be fitted either way round."""


@dataclass(frozen=True, kw_only=True)
class BaseKind(Defaults):
    """A kind with its grammar and its type numbers."""

    word: KindWord
    types: tuple[TypeWord, ...] = ()

    @property
    def name(self) -> str:
        return self.word.name

    def text(self, part: Part, name: str) -> str:
        """A field as typed, else as preset by the type number, else the kind's default."""
        if name in part.fields:
            return part.fields[name]
        preset = self._preset(part)
        if preset and name in preset.fields:
            return preset.fields[name]
        return next(field.default for field in self.word.fields if field.name == name)

    def number(self, part: Part, name: str) -> float:
        """A field as a positive SI number. Raises :class:`BoardError`."""
        unit = next(field.unit for field in self.word.fields if field.name == name)
        typed = self.text(part, name)
        try:
            number = units.parse(typed, "" if unit == "1" else unit)
        except UnitError as error:
            raise refuse(part, f"{name}: {error}") from error
        if number <= 0.0:
            raise refuse(part, f"{name} must be above 0, got {typed!r}")
        return number

    def value(self, part: Part, unknown: float) -> float:
        """The value typed, else the type number's, else ``unknown``. Raises BoardError."""
        preset = self._preset(part)
        value = part.value
        if value is None and preset:
            value = preset.value
        if value is None:
            return unknown
        if value <= 0.0:
            raise refuse(part, f"the value must be above 0, got {value:g}")
        return value

    def limits(self, part: Part, source: str, **rows: str) -> tuple[Rating, ...]:
        """Ratings that stand in the part's fields: ``field="what it is"``; the unit is the
        field's."""
        unit = {field.name: field.unit for field in self.word.fields}
        return tuple(
            Rating(name=what, value=self.number(part, field), unit=unit[field], source=source)
            for field, what in rows.items()
        )

    def value_known(self, part: Part) -> bool:
        """Whether the value was typed or comes with the type number."""
        preset = self._preset(part)
        return part.value is not None or (preset is not None and preset.value is not None)

    def _preset(self, part: Part) -> TypeWord | None:
        return next((word for word in self.types if word.name == part.type), None)


def refuse(part: Part, why: str) -> BoardError:
    """An error at the part's line."""
    problem = Problem(
        line=part.spot.line,
        column=part.spot.column,
        severity="error",
        message=f"{part.designator} ({part.kind}): {why}",
    )
    return BoardError([problem])


def terminal(part: Part, pin: str) -> str:
    """The pin when it is connected, else an inner node in its place."""
    return pin if pin in part.pins else f"~{pin}"


def tolerance_of(part: Part, default: float, known: bool = True) -> Spread:
    """Flat spread of the tolerance typed; a wide one for a value that nobody knows."""
    if not known:
        return Spread(relative=1.5, shape="log")
    return Spread(relative=part.tolerance if part.tolerance is not None else default)


def connected(part: Part, modes: Iterable[Mode]) -> tuple[Mode, ...]:
    """The modes that are of no pin, or of a connected one."""
    return tuple(mode for mode in modes if not mode.pin or mode.pin in part.pins)


def changed(element: str, **params: float) -> tuple[Change, ...]:
    """Parameters of one element set to values."""
    return tuple(Change(element=element, param=name, value=to) for name, to in params.items())


def scaled(element: str, **params: float) -> tuple[Change, ...]:
    """Parameters of one element multiplied by numbers."""
    return tuple(
        Change(element=element, param=name, value=by, scale=True) for name, by in params.items()
    )


def types_of(
    kind: str, columns: Sequence[str], table: Iterable[Sequence[str]]
) -> tuple[TypeWord, ...]:
    """Type numbers with their preset fields: rows of a name and a text for each column."""
    return tuple(
        TypeWord(name=name, kind=kind, fields=dict(zip(columns, numbers, strict=True)))
        for name, *numbers in table
    )


def failing(
    name: str,
    words: str,
    changes: Sequence[Change],
    *,
    row: tuple[str, str],
    of: float = 1.0,
    pin: str = "",
    test_out: float = 0.95,
    ageing: str = "",
    stored: Sequence[Change] = (),
) -> Mode:
    """A mode that has the fraction ``of`` of a row (kind, mode) of the handbook's table."""
    return Mode(
        name=name,
        words=words,
        share=fraction(*row) * of,
        changes=tuple(changes),
        source=mode_source(*row, split=of != 1.0),
        pin=pin,
        test_out=test_out,
        ageing=ageing,
        stored=tuple(stored),
    )
