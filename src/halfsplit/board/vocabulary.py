"""What the reader of board files must be told about the kinds of part.

The board floor knows no part. Whoever reads a file hands in a :class:`Vocabulary`; the parts
floor provides the real one (``halfsplit.parts.vocabulary``), tests may hand in a small one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import Protocol

from halfsplit.frozen import dataclass

__all__ = ["FieldWord", "KindWord", "PinWord", "TypeWord", "Vocabulary"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PinWord:
    """A pin as the file may name it.

    ``role`` is one of ``passive``, ``in``, ``out`` (totem pole or push-pull), ``oc`` (open
    collector or drain), ``tri`` (three-state), ``io``, ``supply``, ``ground``, ``nc``.
    ``unit`` groups the pins of one unit of a chip (``"a"``, ``"b"``); empty for common pins.
    """

    name: str
    role: str = "passive"
    title: str = ""
    unit: str = ""
    other_names: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldWord:
    """A further field ``name=value`` of a kind.

    ``unit`` "" means a word, "1" a pure number, "%" a percentage, else a quantity in that unit.
    A word in quotes among the pins of a kind that has a field ``title`` is that.
    """

    name: str
    unit: str = ""
    default: str = ""
    help: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class KindWord:
    """The grammar of one kind of part."""

    name: str
    title: str
    value_unit: str | None = None
    """Unit of the value that follows the kind (``"Ω"``), or ``None`` when it takes no value."""
    pins: tuple[PinWord, ...] = ()
    """In the order in which bare nets are taken; empty with ``free_pins``."""
    free_pins: bool = False
    """The file names the pins itself (connector, controller): ``5=NET``, roles by ``in``."""
    fields: tuple[FieldWord, ...] = ()
    family: str = ""
    supply_volts: tuple[float, float] | None = None
    """Range of the rail that the implied power pins take; ``None`` when nothing is implied."""
    settings: tuple[str, ...] = ()
    """Words a state may set this part to (``closed``, ``open``)."""
    on_nets: tuple[str, ...] = ()
    """Words a state may set the nets on its outputs to, besides levels (``pulses``)."""
    help: str = ""
    example: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TypeWord:
    """A type number (``2N3904``) that stands for a kind with fields preset."""

    name: str
    kind: str
    value: float | None = None
    fields: Mapping[str, str] = field(default_factory=dict)


class Vocabulary(Protocol):
    """All kinds and type numbers, and the designator letters that imply a kind."""

    def kinds(self) -> Mapping[str, KindWord]:
        """Kind name -> grammar."""
        ...

    def types(self) -> Mapping[str, TypeWord]:
        """Type number -> kind and preset fields."""
        ...

    def letters(self) -> Mapping[str, str]:
        """Designator letters -> kind implied when none is typed (``R`` -> ``resistor``)."""
        ...

    def families(self) -> frozenset[str]:
        """Logic families an off-sheet net may name (``74LS``)."""
        ...
