"""Which readings raised or lowered a suspect, and by how much."""

from __future__ import annotations

import math

from halfsplit.belief.posterior import Array
from halfsplit.diagnose.entry import Entry
from halfsplit.diagnose.session import Ranked, Session, percent
from halfsplit.frozen import dataclass

__all__ = ["Explanation", "Weight", "explain"]

SLIGHT = 0.3
"""Bits below which a reading is said to say nothing about a suspect."""
SURELY = 40.0
"""Bits are clipped here; a reading that excludes would be infinite."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Weight:
    """What one entry says about one suspect: log2 of how many times likelier the reading is if
    it is the suspect than if it is any other, these weighed by all the other readings."""

    number: int
    bits: float
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Explanation:
    """``raised`` and ``lowered`` strongest first, ``silent`` the numbers of entries that say
    nothing about it; ``summary`` in one sentence."""

    suspect: str
    probability: float
    start: float
    raised: tuple[Weight, ...]
    lowered: tuple[Weight, ...]
    silent: tuple[int, ...]
    summary: str


def explain(session: Session, count: int = 5) -> list[Explanation]:
    """The likeliest ``count`` suspects, likeliest first."""
    ranked = [one for one in session.suspects() if one.probability > 0.0][:count]
    index = {suspect.id: at for at, suspect in enumerate(session.world.suspects)}
    whole = session.by_suspect()
    rest = [
        (entry, session.by_suspect(session.p_without(entry.number))) for entry in session.entries
    ]
    first = session.by_suspect(session.catalogue.prior())
    return [_of(one, index[one.suspect.id], whole, rest, first) for one in ranked]


def _of(
    one: Ranked, at: int, whole: Array, rest: list[tuple[Entry, Array]], first: Array
) -> Explanation:
    name = one.suspect.id
    weights = []
    for entry, without in rest:
        bits = _odds(float(whole[at])) - _odds(float(without[at]))
        bits = max(-SURELY, min(SURELY, bits))
        weights.append(Weight(number=entry.number, bits=bits, sentence=_say(entry, name, bits)))
    strongest = sorted(weights, key=lambda weight: -abs(weight.bits))
    raised = tuple(weight for weight in strongest if weight.bits >= SLIGHT)
    lowered = tuple(weight for weight in strongest if weight.bits <= -SLIGHT)
    silent = tuple(weight.number for weight in weights if abs(weight.bits) < SLIGHT)
    start = float(first[at] / first.sum())
    return Explanation(
        suspect=name,
        probability=one.probability,
        start=start,
        raised=raised,
        lowered=lowered,
        silent=silent,
        summary=_summary(one, start, raised, lowered),
    )


def _odds(probability: float) -> float:
    p = min(max(probability, 1e-12), 1.0 - 1e-12)
    return math.log2(p / (1.0 - p))


def _say(entry: Entry, name: str, bits: float) -> str:
    if entry.reading.nothing:
        return f"{entry} could not be told, so it says nothing about {name}."
    if abs(bits) < SLIGHT:
        return f"{entry} says nothing about {name}."
    word = "likelier" if bits > 0.0 else "less likely"
    return f"{entry} is {_times(abs(bits))} {word} if it is {name} than if it is not."


def _times(bits: float) -> str:
    times = 2.0**bits
    if times >= 1000.0:
        return "over 1000 times"
    return f"{times:.0f} times" if times >= 3.0 else f"{times:.1f} times"


def _summary(
    one: Ranked, start: float, raised: tuple[Weight, ...], lowered: tuple[Weight, ...]
) -> str:
    said = f"{one.suspect.id} stands at {percent(one.probability)}, {percent(start)} at the start"
    if raised:
        said += f"; raised by {_numbers(raised)}"
    if lowered:
        said += f"; lowered by {_numbers(lowered)}"
    if one.faults and one.probability > 0.0:
        fault, probability = one.faults[0]
        said += f". Likeliest fault: {fault.words} ({percent(probability)})"
    return said + "."


def _numbers(weights: tuple[Weight, ...]) -> str:
    return ", ".join(f"#{weight.number}" for weight in weights)
