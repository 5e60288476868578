"""How long a run must be before the claim that is wanted may be made, for one case or for none."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict

from halfsplit.belief.acceptance import Sequential, hours_needed, trials_needed
from halfsplit.diagnose.counted import passes_of, quiet_needed, seen_before
from halfsplit.diagnose.session import Session
from halfsplit.frozen import dataclass
from halfsplit.units import format_quantity

__all__ = ["Claim", "Proof", "proof"]

_ATTEMPTS = 3
"""Cold starts of any run; more when the fault came and went."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """What is to be shown: a share ``reliability`` of passes right, ``hours`` between failures,
    with ``confidence``, ``failures`` allowed."""

    reliability: float = 0.99
    confidence: float = 0.95
    failures: int = 0
    hours: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What the run needs: ``passes`` by the fixed plan; by the sequential plan ``sequential``
    passes without a failure; ``quiet`` passes for an intermittent of the rate that was seen, or
    ``None``; ``hours`` of running; ``conditions`` in words; ``so_far`` the claim that has been
    earned, and ``stands`` how the sequential test stands."""

    claim: Claim
    passes: int
    sequential: int
    quiet: int | None
    hours: float
    conditions: tuple[str, ...]
    so_far: str = ""
    stands: str = ""

    def to_json(self) -> dict[str, object]:
        """Names and values for JSON."""
        return asdict(self)


def proof(claim: Claim, session: Session | None = None) -> Proof:
    """The run for a claim; with a ``session`` its own counts, supplies and repairs. Raises
    ValueError for shares that are not between 0 and 1, and hours that are not above 0."""
    if not 0.0 < claim.hours < 1e9:
        raise ValueError(f"hours must be above 0, got {claim.hours:g}")
    fixed = trials_needed(claim.reliability, claim.confidence, claim.failures)
    bad = 1.0 - claim.reliability
    test = Sequential(good=bad / 10.0, bad=bad, alpha=0.05, beta=1.0 - claim.confidence)
    counted = passes_of(session) if session is not None else None
    return Proof(
        claim=claim,
        passes=fixed,
        sequential=test.passes_at(0),
        quiet=None if session is None else quiet_needed(session, claim.confidence),
        hours=hours_needed(claim.hours, claim.confidence, claim.failures),
        conditions=tuple(_conditions(session)),
        so_far=counted.words if counted else "",
        stands=counted.stands(test) if counted and counted.of else "",
    )


def _conditions(session: Session | None) -> Iterator[str]:
    yield "Both ways, and all distances: one step, a few, the whole way, and back to the start."
    warm = f"Cold and warm: a third from cold ({_ATTEMPTS} cold starts and more), a third warm"
    if session is not None and seen_before(session)[1]:
        yield f"{warm}; it came and went, so each cold start counts as one more trial."
    else:
        yield f"{warm}."
    if session is None:
        yield "The supplies at their upper and at their lower limit, a sixth of the passes at each."
    else:
        for rail in session.world.board.rails:
            low, high = (
                format_quantity(rail.volts * (1.0 + sign * rail.tolerance), "V")
                for sign in (-1.0, 1.0)
            )
            yield f"{rail.net} at {low} and at {high}, a sixth of the passes at each."
    yield (
        "See where it stands by a mark, a dial or a known medium of your own: a controller that "
        "counts blindly believes what it ordered."
    )
    yield "Reading before writing, on a medium you can lose; what cannot be had again comes last."
    yield "The part taken out is tested, or put back once to see the fault return; no rare one is."
