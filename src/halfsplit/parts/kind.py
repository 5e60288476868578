"""What a kind of part tells about itself; grammar, help, tables and tests come from this.

One family of parts is one module in this folder, binding ``KIND`` or ``KINDS`` (see
``halfsplit.registry``). Modules beginning with an underscore are helpers.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, Protocol

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import KindWord
from halfsplit.frozen import dataclass
from halfsplit.solve.law import Element

__all__ = [
    "Change", "Defaults", "Mode", "PartKind", "Rate", "Rating", "Reading", "Setting", "Store",
]  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A parameter of one element set to a value (``scale=False``) or multiplied by it."""

    element: str
    param: str
    value: float
    scale: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Mode:
    """One way of failing.

    ``name`` is unique within the part (``"open"``, ``"b short to e"``, ``"3 stuck low"``);
    ``words`` completes "R7 is ..." ; ``share`` is the fraction of the part's failure rate (all
    shares of a kind sum to 1 or less); ``pin`` the pin it belongs to, when it does; ``test_out``
    the chance that a usual test out of circuit shows it (1 for a plain open, 0.3 for a fault
    that needs load or warmth); ``ageing`` names the age factor that multiplies it (``""``,
    ``"electrolytic"``, ``"tantalum"``, ``"contact"``); ``stored`` what becomes of the part's
    stores (parameters ``value`` and ``ohms``), which only a changing voltage shows.
    """

    name: str
    words: str
    share: float
    changes: tuple[Change, ...]
    source: str
    pin: str = ""
    test_out: float = 0.95
    ageing: str = ""
    stored: tuple[Change, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Store:
    """What a part stores: charge in ``value`` farads behind ``ohms``, or a current in ``value``
    henries.

    ``beside`` is the element whose current it adds to. A coil takes the place of that element,
    whose conductance is the copper's; a capacitor stands in parallel with it. ``known``: somebody
    gave the value.
    """

    name: str
    what: Literal["capacitor", "coil"]
    terminals: tuple[str, str]
    value: float
    beside: str
    ohms: float = 0.0
    known: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate:
    """Failure rate, failures per million hours, ground benign, and where it comes from."""

    per_million_hours: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Rating:
    """A limit of the part, e.g. ``Rating(name="dissipation", value=0.25, unit="W")``."""

    name: str
    value: float
    unit: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What a state's word does to a part: ``closed`` -> changes."""

    word: str
    changes: tuple[Change, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """How the part's own current is read for an output line: the element, and a sign."""

    element: str
    sign: float = 1.0


class PartKind(Protocol):
    """One kind of part. Implementations are small frozen classes or dataclasses.

    Pin names in elements, modes and vocabulary are the same strings. All methods are pure and
    raise :class:`halfsplit.errors.BoardError` for a part whose fields make no sense.
    """

    @property
    def name(self) -> str: ...

    @property
    def word(self) -> KindWord:
        """Grammar and help."""
        ...

    def elements(self, part: Part) -> Sequence[Element]:
        """How it behaves: only elements whose terminals are connected pins, ``"0"`` or inner
        nodes. A unit none of whose pins is connected is left out."""
        ...

    def modes(self, part: Part) -> Sequence[Mode]:
        """How it fails. Every change names an element and a parameter that ``elements`` gives, or
        is one of ``joints.lead_open`` at a connected pin."""
        ...

    def rate(self, part: Part) -> Rate: ...

    def ratings(self, part: Part) -> Sequence[Rating]: ...

    def settings(self, part: Part) -> Sequence[Setting]:
        """Words a state may set it to; for a driven pin see ``drive``."""
        ...

    def drive(self, part: Part, pin: str, level: float | None) -> Sequence[Change]:
        """Changes that make the part drive ``pin`` to a logic level (0 low, 1 high, between: a
        fraction of the swing) or let it go (``None``). Kinds that no state drives return ()."""
        ...

    def stores(self, part: Part) -> Sequence[Store]:
        """What it stores when voltages change; DC does not ask."""
        ...

    def current(self, part: Part) -> Reading | None:
        """The element whose current an ``output ... current`` line means, or ``None``."""
        ...


class Defaults:
    """Answers that most kinds share; subclass and override."""

    def ratings(self, part: Part) -> Sequence[Rating]:
        return ()

    def settings(self, part: Part) -> Sequence[Setting]:
        return ()

    def drive(self, part: Part, pin: str, level: float | None) -> Sequence[Change]:
        return ()

    def stores(self, part: Part) -> Sequence[Store]:
        return ()

    def current(self, part: Part) -> Reading | None:
        return None
