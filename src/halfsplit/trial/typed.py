"""What was typed about a part: its value and fields, with the presets of its type number."""

from __future__ import annotations

from halfsplit import units
from halfsplit.board.model import Part
from halfsplit.board.vocabulary import TypeWord
from halfsplit.parts.registry import KINDS

__all__ = ["number", "text", "value"]


def value(part: Part, unknown: float) -> float:
    """The value typed, or the type number's, or ``unknown``; SI."""
    if part.value is not None:
        return part.value
    preset = _preset(part)
    return unknown if preset is None or preset.value is None else preset.value


def text(part: Part, name: str, unknown: str = "") -> str:
    """A field as typed, else as the type number presets it, else the kind's default."""
    if name in part.fields:
        return part.fields[name]
    preset = _preset(part)
    if preset is not None and name in preset.fields:
        return preset.fields[name]
    fields = KINDS.get(part.kind).word.fields
    return next((field.default for field in fields if field.name == name), "") or unknown


def number(part: Part, name: str, unknown: float) -> float:
    """A field as an SI number; ``unknown`` when the kind has no such field or it is empty."""
    typed = text(part, name)
    if not typed:
        return unknown
    fields = KINDS.get(part.kind).word.fields
    unit = next((field.unit for field in fields if field.name == name), "")
    return units.parse(typed, "" if unit == "1" else unit)


def _preset(part: Part) -> TypeWord | None:
    listed: tuple[TypeWord, ...] = getattr(KINDS.get(part.kind), "types", ())
    return next((word for word in listed if word.name == part.type), None)
