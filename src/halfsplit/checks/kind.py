"""What a kind of check tells about itself. One kind is one module in this folder.

A *check* is one measurement or action at some places in some state; a *reading* is what came of
it. Fault axes have **F** rows as in :class:`halfsplit.build.world.World` (row 0 healthy); where a
last row for "something else" is wanted, :mod:`halfsplit.checks._vague` makes it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field
from typing import Literal, Protocol

import numpy as np
import numpy.typing as npt

from halfsplit.build.world import USUAL, MeterSource, World
from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array

__all__ = [
    "ADDED",
    "Check",
    "CheckKind",
    "Limits",
    "Meaning",
    "Meter",
    "Outcomes",
    "Reading",
    "Setup",
    "Takes",
]

Setup = Literal["powered", "off", "pin lifted", "part out", "watching", "touching"]
"""What must be true of the bench."""

Takes = Literal["place", "pair", "part", "output"]
"""What ``Check.places`` holds: one place, two places (red, black), a designator, an output."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One measurement or action.

    ``places`` are place names (volts: one; ohms and diode: red, black) or designators (part
    test, swap, look, reseat) or output names (symptom). ``state`` is empty when it does not
    matter. ``id`` is made of these and is stable.
    """

    kind: str
    places: tuple[str, ...]
    state: str = ""

    @property
    def id(self) -> str:
        """``volts U3.6 @hold-A``; spaces inside names are kept."""
        at = f" @{self.state}" if self.state else ""
        return f"{self.kind} {' : '.join(self.places)}{at}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What came of a check.

    ``value`` is a number in the kind's unit (inf for OL), or ``None``; ``word`` an outcome word
    of the kind (``low``, ``passed``, ``right``), or empty; ``low``/``high`` bound a vague answer
    ("under 1 V"), beside a ``value`` they say how far it was rounded. ``nothing`` is True for
    "could not tell": it moves nothing. ``text`` is what was typed.
    """

    text: str
    value: float | None = None
    word: str = ""
    low: float | None = None
    high: float | None = None
    nothing: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcomes:
    """For gain: ``labels`` of the O possible outcomes of one check, ``p`` [F, O] their
    probabilities under each fault (rows sum to 1). ``edges`` are the O + 1 borders of the bins
    of a numeric kind in its SI unit, outermost -inf and inf (above the last: OL where the kind
    has it); empty for words."""

    labels: tuple[str, ...]
    p: Array
    edges: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Meaning:
    """What a span of outcomes would mean, in words: ``span`` ("0.1 to 0.3 V"), ``faults`` the
    [F + 1] posterior given it, ``probability`` of landing there under the present belief,
    ``right`` that a good board reads there."""

    span: str
    probability: float
    faults: Array
    right: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Meter:
    """The owner's meter: input ohms on volts, relative and absolute error; what it puts on a board
    without power, and whether that was measured (``calibrated`` 1); the frequencies at which it
    tells capacitance and series resistance, 0 when it does not."""

    input_ohms: float = 10e6
    volts_relative: float = 0.005
    volts_absolute: float = 0.01
    ohms_relative: float = 0.01
    ohms_absolute: float = 0.3
    continuity_ohms: float = 50.0
    diode_limit: float = 2.0
    misread: float = 0.01
    ohms_volts: float = USUAL.ohms_volts
    diode_volts: float = USUAL.diode_volts
    diode_ohms: float = USUAL.diode_ohms
    calibrated: float = 0.0
    capacitance_hertz: float = 0.0
    esr_hertz: float = 0.0

    def volts_error(self, volts: npt.ArrayLike) -> Array:
        """One standard deviation of a reading of ``volts``, of any shape."""
        error: Array = self.volts_absolute + self.volts_relative * np.abs(volts)
        return error

    @property
    def source(self) -> MeterSource:
        """What it puts on a board without power."""
        return MeterSource(
            ohms_volts=self.ohms_volts,
            diode_volts=self.diode_volts,
            diode_ohms=self.diode_ohms,
            diode_limit=self.diode_limit,
            known=bool(self.calibrated),
        )

    @property
    def lacks(self) -> frozenset[str]:
        """Kinds of check that it cannot do."""
        ranges = {"capacitance": self.capacitance_hertz, "esr": self.esr_hertz}
        return frozenset(kind for kind, hertz in ranges.items() if not hertz)


ADDED = frozenset({"ohms_volts", "diode_volts", "diode_ohms", "calibrated", "capacitance_hertz",
                   "esr_hertz"})  # fmt: skip
"""Fields of a meter that cases of older versions do not have."""


class CheckKind(Protocol):
    """One kind of check. Implementations are stateless."""

    @property
    def name(self) -> str: ...

    @property
    def title(self) -> str: ...

    @property
    def unit(self) -> str:
        """Unit of a numeric answer, "" for words only."""
        ...

    @property
    def takes(self) -> Takes: ...

    @property
    def stateful(self) -> bool:
        """True when a check of this kind names a state."""
        ...

    @property
    def help(self) -> str:
        """Two or three sentences for the manual: what it tells, what it cannot."""
        ...

    @property
    def words(self) -> Mapping[str, str]:
        """Outcome word -> what it means; empty for purely numeric kinds."""
        ...

    def offers(self, world: World) -> Sequence[Check]:
        """Every check of this kind that makes sense on this board."""
        ...

    def setup(self, check: Check, world: World) -> Setup: ...

    def minutes(self, check: Check, world: World) -> float:
        """Time of the check itself, its setup not counted."""
        ...

    def risk(self, check: Check, world: World) -> float:
        """Expected harm in minutes-equivalent (a slip of the probe, a lifted pad)."""
        ...

    def cautions(self, check: Check, world: World) -> Sequence[str]: ...

    def sentence(self, check: Check, world: World) -> str:
        """What to do, one sentence for a person."""
        ...

    def read(self, check: Check, text: str, world: World) -> Reading:
        """Understand a typed answer. Raises ReadingError saying what is understood."""
        ...

    def outcomes(self, checks: Sequence[Check], world: World, meter: Meter) -> list[Outcomes]:
        """Outcome tables of many checks of this kind at once, one each, in order."""
        ...

    def likelihood(self, check: Check, reading: Reading, world: World, meter: Meter) -> Array:
        """[F + 1] likelihood of the reading under each fault, the last row for something else.
        All ones for ``nothing``. Robust: a misread has a floor, never exactly zero."""
        ...

    def expected(self, check: Check, world: World, meter: Meter) -> str:
        """What a good board reads, in words: ``0.64 to 0.78 V``."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What the person will not or cannot do now: kinds of check and setups left out."""

    without_kinds: frozenset[str] = field(default_factory=frozenset)
    without_setups: frozenset[str] = field(default_factory=frozenset)
    give_up: float | None = None
    """Price of a substitute unit: what it costs to stop. ``None`` when nobody said."""
