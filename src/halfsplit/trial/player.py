"""Somebody at the bench with a cheap meter: answers checks about a board with a hidden fault.

Electrical answers come from the stand (the independent simulator); answers about a part (test,
look, swap, press, reseat) are drawn from what the fault says of itself. Everything drawn comes
from the seed, check by check, so that asking in another order gives the same answers.
"""

from __future__ import annotations

import math
import zlib
from collections import Counter
from collections.abc import Callable, Collection
from dataclasses import field

import numpy as np

from halfsplit.board.model import Board, Output
from halfsplit.build.fault import Fault
from halfsplit.build.world import World
from halfsplit.checks.capacitance import USUAL_HERTZ as CAPACITANCE_HERTZ
from halfsplit.checks.esr import USUAL_HERTZ as ESR_HERTZ
from halfsplit.checks.kind import Check, Meter
from halfsplit.checks.sisters import ALIKE, APART, ORDINALS, SEVERAL, SHARE, sister_places
from halfsplit.errors import TrialError, UnknownName
from halfsplit.frozen import dataclass
from halfsplit.trial.changed import goes_unplugged, let_go
from halfsplit.trial.digits import ohms_digits, small_digits, volts_digits
from halfsplit.trial.sheet import Sheet
from halfsplit.trial.spice_stages import FAMILIES
from halfsplit.trial.stand import Bench, Stand

__all__ = ["PLAYED", "STEADY", "Hand", "Player"]

CANNOT = "?"
"""The answer when the simulator did not converge, or a meter of capacitance finds none."""
LOOKS = 8
"""Looks in the minutes that a probe stays on: one in a quarter of a minute (assumed)."""
_WEAK = 1.0 / 3.0
_FALSE = 0.015
"""A false alarm of a test, a look, a press."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hand:
    """How well this person and meter measure: gain error and offset of the meter, and the share
    of readings that are plainly wrong (another pin, another range, a slip of the pen)."""

    gain: float = 0.005
    offset: float = 0.010
    ohms: float = 0.01
    continuity_ohms: float = 50.0
    misread: float = 0.01


STEADY = Hand(gain=0.0, offset=0.0, ohms=0.0, misread=0.0)
"""Without any error: what is truly there."""


@dataclass(slots=True)
class Player:
    """Answers checks in the words that a person would type.

    ``seed`` draws the board's tolerances, ``luck`` the meter and the slips, new ones each time that
    a check is done again. ``also`` are faults beside the first; a fault that comes and goes is
    ``present`` in that share of looks, and ``good`` is the board without it; once it was said to
    come and go the person is ``watching``, :data:`LOOKS` times at each reading. ``world`` tells
    which places are sisters. ``unresolved``
    counts readings that the simulator could not find (answered ``?``), ``misread`` the slips.
    """

    board: Board
    fault: Fault
    seed: int
    bench: Bench
    hand: Hand = field(default_factory=Hand)
    luck: int = 0
    also: tuple[Fault, ...] = ()
    present: float = 1.0
    good: Stand | None = None
    world: World | None = None
    meter: Meter = field(default_factory=Meter)
    stand: Stand = field(init=False)
    unresolved: int = 0
    misread: int = 0
    watching: bool = False
    _bad: Stand = field(init=False)
    _times: Counter[str] = field(default_factory=Counter)

    def __post_init__(self) -> None:
        self.stand = self._bad = Stand(self.board, self.fault, self.seed, self.bench, self.also)
        if self.present < 1.0 and self.good is None:
            raise TrialError("expected a good stand for a fault that comes and goes, got none")

    def mended(self, left: Collection[str]) -> None:
        """From now on only the faults of the suspects ``left`` are there."""
        still = [fault for fault in (self.fault, *self.also) if fault.suspect in left]
        if still and len(still) <= len(self.also):
            self.fault, self.also = still[0], tuple(still[1:])
            self.stand = self._bad = Stand(self.board, self.fault, self.seed, self.bench, self.also)

    def answer(self, check: Check) -> str:
        """What is typed. Raises :class:`TrialError` for a kind of check it cannot do."""
        way = _WAYS.get(check.kind)
        if way is None:
            raise TrialError(
                f"expected a check that the player can do ({', '.join(_WAYS)}), got {check.kind!r}"
            )
        times = self._times[check.id]
        self._times[check.id] += 1
        rng = np.random.default_rng([self.seed, self.luck, zlib.crc32(check.id.encode()), times])
        looks = LOOKS if self.watching else 1
        there = self.present >= 1.0 or bool((rng.random(looks) < self.present).any())
        self.stand = self._bad if there or self.good is None else self.good
        said = way(self, check, rng)
        self.stand = self._bad
        return said

    def outputs(self, output: Output, state: str) -> str | None:
        """What an output truly does: off, weak, on; low, undefined, high; ``None`` unresolved."""
        if output.measure == "current":
            amperes = self.stand.amperes(output.target, state)
            return (
                None
                if amperes is None
                else _three(
                    abs(amperes), _WEAK * abs(output.threshold), abs(output.threshold), _LOADS
                )
            )
        volts = self.stand.volts(f"net {output.target}", state)
        if volts is None:
            return None
        if output.measure == "level":
            return _three(volts, *self.levels(output.target), _LEVELS)
        low, high = sorted((_WEAK * output.threshold, output.threshold))
        return _three(volts, low, high, _LOADS)

    def levels(self, net: str) -> tuple[float, float]:
        """Where this person's probe lights low and high on a net: CMOS or TTL thresholds."""
        families = {
            _family(part.kind)
            for part in self.board.parts
            for on in part.pins.values()
            if on == net
        }
        mos = families & {name for name, each in FAMILIES.items() if each.mos and each.relative}
        return (1.5, 3.5) if mos else (0.8, 2.0)

    def _volts(self, check: Check, rng: np.random.Generator) -> str:
        true = self.stand.volts(check.places[0], check.state)
        if true is None:
            return self._cannot()
        if self._slips(rng):
            most = max([abs(rail.volts) for rail in self.board.rails] or [5.0])
            true = float(rng.uniform(0.0, most))
        shown = true * (1.0 + self._gain()) + self.hand.offset * float(rng.uniform(-1.0, 1.0))
        return volts_digits(shown)

    def _sisters(self, check: Check, rng: np.random.Generator) -> str:
        """The odd one out of what the meter shows at each place."""
        if self.world is None:
            raise TrialError("expected the world of the board for a comparison, got none")
        shown = []
        for place in sister_places(check, self.world):
            true = self.stand.volts(place, check.state)
            if true is None:
                return self._cannot()
            if self._slips(rng):
                true = float(rng.uniform(0.0, 5.0))
            shown.append(true + self.hand.offset * float(rng.uniform(-1.0, 1.0)))
        middle = float(np.median(shown))
        limit = APART + SHARE * abs(middle)
        odd = [at for at, volts in enumerate(shown) if abs(volts - middle) > limit]
        return ALIKE if not odd else ORDINALS[odd[0]] if len(odd) == 1 else SEVERAL

    def _ohms(self, check: Check, rng: np.random.Generator) -> str:
        true = self.stand.ohms(*_pair(check))
        if true is None:
            return self._cannot()
        if self._slips(rng):
            true = float(np.exp(rng.uniform(0.0, np.log(2e6))))
        if math.isinf(true):
            return "OL"
        shown = true * (1.0 + self.hand.ohms * float(rng.uniform(-1.0, 1.0)))
        if self.hand.ohms:
            shown += float(rng.uniform(0.0, 0.4))
        return ohms_digits(shown)

    def _diode(self, check: Check, rng: np.random.Generator) -> str:
        true = self.stand.diode(*_pair(check))
        if true is None:
            return self._cannot()
        if self._slips(rng):
            true = float(rng.uniform(0.0, 2.0))
        if math.isinf(true):
            return "OL"
        shown = true * (1.0 + self._gain()) + 0.2 * self.hand.offset * float(rng.uniform(-1, 1))
        return f"{shown:.3f}"

    def _continuity(self, check: Check, rng: np.random.Generator) -> str:
        true = self.stand.ohms(*_pair(check))
        if true is None:
            return self._cannot()
        beeps = true < self.hand.continuity_ohms
        return "beeps" if beeps != self._slips(rng) else "silent"

    def _level(self, check: Check, rng: np.random.Generator) -> str:
        low, high = self.levels(self._net(check.places[0]))
        true = self.stand.probed(check.places[0], check.state, 0.5 * (low + high))
        if true is None:
            return self._cannot()
        if self._slips(rng):
            return str(rng.choice(_LEVELS))
        return _three(true, low, high, _LEVELS)

    def _symptom(self, check: Check, rng: np.random.Generator) -> str:
        output = next((one for one in self.board.outputs if one.name == check.places[0]), None)
        if output is None:
            raise UnknownName("output", check.places[0], [one.name for one in self.board.outputs])
        true = self.outputs(output, check.state)
        if true is None:
            return self._cannot()
        if self._slips(rng):
            return str(rng.choice(_LEVELS if output.measure == "level" else _LOADS))
        return true

    def _parttest(self, check: Check, rng: np.random.Generator) -> str:
        chance = max(
            (
                fault.test_out
                for fault in self._at(check)
                if fault.where == "part" and fault.designator == check.places[0]
            ),
            default=0.0,
        )
        return "failed" if self._happens(chance, rng) else "passed"

    def _look(self, check: Check, rng: np.random.Generator) -> str:
        for fault in self._at(check):
            if rng.random() < fault.visible:
                return "damage" if fault.where == "part" else "bad joint"
        if self.hand.misread and rng.random() < 2.0 * _FALSE:
            return str(rng.choice(("damage", "bad joint")))
        return "nothing"

    def _touch(self, check: Check, rng: np.random.Generator) -> str:
        chance = max((fault.touch for fault in self._at(check)), default=0.0)
        return "changes" if self._happens(chance, rng) else "no change"

    def _reseat(self, check: Check, rng: np.random.Generator) -> str:
        chance = max((fault.reseat for fault in self._at(check)), default=0.0)
        return "cured" if self._happens(chance, rng) else "no change"

    def _turn(self, check: Check, rng: np.random.Generator) -> str:
        """The faults played are the board's: what it moves is sound."""
        return "stiff" if self._happens(0.0, rng) else "free"

    def _swap(self, check: Check, rng: np.random.Generator) -> str:
        chance = 0.0
        here = self._at(check)
        if here and len(here) == len(self.also) + 1:  # else the others still show
            part = self.board.part(check.places[0])
            socketed = part is not None and part.remarks.socketed
            chance = min(_swap_cures(fault, socketed) for fault in here)
        return "cured" if self._happens(chance, rng) else "no change"

    def _constancy(self, check: Check, rng: np.random.Generator) -> str:
        self.watching = self._happens(float(self.present < 1.0), rng)
        return "comes and goes" if self.watching else "always"

    def _capacitance(self, check: Check, rng: np.random.Generator) -> str:
        true = self.stand.farads(*_pair(check), self.meter.capacitance_hertz or CAPACITANCE_HERTZ)
        if true is None:
            return self._cannot()
        return CANNOT if math.isnan(true) else self._shown(true, "F", rng)

    def _esr(self, check: Check, rng: np.random.Generator) -> str:
        z = self.stand.impedance(*_pair(check), self.meter.esr_hertz or ESR_HERTZ)
        return self._cannot() if z is None else self._shown(max(z.real, 0.0), "", rng)

    def _shown(self, true: float, unit: str, rng: np.random.Generator) -> str:
        """Three digits of a meter that is off by a few per cent (hand-held meters: 1 to 5)."""
        if self._slips(rng):
            true *= float(np.exp(rng.uniform(-3.0, 3.0)))
        shown = true * (1.0 + 3.0 * self.hand.ohms * float(rng.uniform(-1.0, 1.0)))
        return small_digits(shown, unit)

    def _lifted(self, check: Check, rng: np.random.Generator) -> str:
        free = let_go(self.stand, self.good, check.places[0])
        if free is None:
            return self._cannot()
        return "let go" if free != self._slips(rng) else "still held"

    def _unplugged(self, check: Check, rng: np.random.Generator) -> str:
        goes = goes_unplugged(self.stand, self.good, check.places[0])
        if goes is None:
            return self._cannot()
        return "changes" if self._happens(float(goes), rng) else "no change"

    def _at(self, check: Check) -> list[Fault]:
        """The faults at the part that is checked."""
        return [
            fault
            for fault in (self.fault, *self.also)
            if check.places[0] in {pin.designator for pin in fault.pins} | {fault.designator} - {""}
        ]

    def _happens(self, chance: float, rng: np.random.Generator) -> bool:
        false = _FALSE if self.hand.misread else 0.0
        return bool(rng.random() < chance + (1.0 - chance) * false)

    def _slips(self, rng: np.random.Generator) -> bool:
        slip = bool(rng.random() < self.hand.misread)
        self.misread += slip
        return slip

    def _gain(self) -> float:
        rng = np.random.default_rng([self.seed, self.luck, 7])
        return self.hand.gain * float(rng.uniform(-1.0, 1.0))

    def _cannot(self) -> str:
        self.unresolved += 1
        return CANNOT

    def _net(self, place: str) -> str:
        sheet: Sheet = self.stand.netlist.sheet
        node = self.stand.node(place)
        return next((net for net, each in sheet.nodes().items() if each == node), "")


def _swap_cures(fault: Fault, socketed: bool) -> float:
    if fault.where == "part":
        return 0.98
    if fault.where == "contact":
        return fault.reseat
    if fault.where in ("joint", "bridge"):
        return 0.05 if socketed else 0.7
    return 0.0


_LOADS = ("off", "weak", "on")
_LEVELS = ("low", "undefined", "high")
_WAYS: dict[str, Callable[[Player, Check, np.random.Generator], str]] = {
    "volts": Player._volts,
    "sisters": Player._sisters,
    "ohms": Player._ohms,
    "diode": Player._diode,
    "continuity": Player._continuity,
    "level": Player._level,
    "symptom": Player._symptom,
    "parttest": Player._parttest,
    "look": Player._look,
    "touch": Player._touch,
    "reseat": Player._reseat,
    "swap": Player._swap,
    "turn": Player._turn,
    "constancy": Player._constancy,
    "capacitance": Player._capacitance,
    "esr": Player._esr,
    "lifted": Player._lifted,
    "unplugged": Player._unplugged,
}
"""Kind of check -> how it is done."""
PLAYED = frozenset(_WAYS)
"""Kinds of check that the player can do."""


def _pair(check: Check) -> tuple[str, str]:
    red, black = check.places
    return red, black


def _three(value: float, low: float, high: float, words: tuple[str, str, str]) -> str:
    return words[0] if value < low else words[2] if value > high else words[1]


def _family(kind: str) -> str:
    """Family by the front of a logic chip's name: ``74HC04`` -> ``74HC``."""
    fits = [name for name in FAMILIES if kind.startswith(name) and kind[len(name) :].isdecimal()]
    return max(fits, key=len, default="")
