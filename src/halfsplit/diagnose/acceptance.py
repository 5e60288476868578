"""What must be seen before a case is closed: a part that was changed proves nothing by itself."""

from __future__ import annotations

from halfsplit.board.model import BLOCK
from halfsplit.build.fault import Fault
from halfsplit.checks.passes import ALL_RIGHT, NEEDED, PASSES
from halfsplit.checks.soak import SOAK
from halfsplit.diagnose.catalogue import SYMPTOM
from halfsplit.diagnose.counted import passes_of
from halfsplit.diagnose.cures import AND
from halfsplit.diagnose.session import Session, percent
from halfsplit.frozen import dataclass

__all__ = ["CURED", "PROVEN", "Acceptance", "acceptance"]

CURED = 0.9
"""Probability that nothing is wrong any more from which only the acceptance run is left."""
PROVEN = 0.8
"""Probability of what was wrong from which a closed case counts as proven."""
PARTTEST = "parttest"
_RUN = (
    (SYMPTOM, "", "seen right"),
    (PASSES, ALL_RIGHT, f"{NEEDED} passes, each right"),
    (SOAK, "steady", "run warm for an hour"),
)
"""Kind of check, the word for a good one (empty: what a good board shows), what it is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Acceptance:
    """``met`` and ``missing`` in words; ``checks`` ids of the checks that are missing; ``wrong``
    outputs seen wrong since the last repair; ``cause`` what was wrong, as far as it is known, and
    its probability; ``claim`` what the passes since then show, in words."""

    met: tuple[str, ...]
    missing: tuple[str, ...]
    checks: tuple[str, ...]
    wrong: tuple[str, ...]
    cause: Fault | None
    probability: float
    sentence: str
    claim: str = ""

    @property
    def closed(self) -> bool:
        """Whether the case may be closed as proven."""
        return not self.missing and not self.wrong

    def to_json(self) -> dict[str, object]:
        """Names and values for JSON."""
        return {
            "complete": self.closed,
            "met": list(self.met),
            "missing": list(self.missing),
            "checks": list(self.checks),
            "wrong": list(self.wrong),
            "cause": self.cause.id if self.cause else None,
            "cause_probability": self.probability,
            "sentence": self.sentence,
            "claim": self.claim,
        }


def acceptance(session: Session) -> Acceptance | None:
    """What the case still needs after its last repair; ``None`` before the first."""
    if not session.done:
        return None
    said = {
        entry.check.id: entry.reading.word
        for entry in session.entries
        if entry.epoch == len(session.done)
    }
    met: list[str] = []
    missing: list[tuple[str, str]] = []
    wrong: list[str] = []
    counted = passes_of(session)
    for kind, right, what in _RUN:
        known = session.catalogue.kinds.get(kind)
        for check in known.offers(session.world) if known else ():
            good = right or known.expected(check, session.world, session.meter)  # type: ignore[union-attr]  # offers come from it
            word = said.get(check.id, "")
            where = f"{check.places[0]} in {check.state}" if check.state else check.places[0]
            if kind == PASSES and word == right and counted.right < NEEDED:
                missing.append((f"{where}: {what}, {counted.right} so far", check.id))
            elif not word:
                missing.append((f"{where}: {what}", check.id))
            elif word in (good, "right"):
                met.append(f"{where}: {what}")
            else:
                wrong.append(f"{where}: {word}")
    tested = {entry.check.places[0] for entry in session.entries if entry.check.kind == PARTTEST}
    for name in _removed(session):
        words = f"{name}, the part taken out: tested, or put back once"
        if name in tested:
            met.append(words)
        elif PARTTEST in session.catalogue.kinds:
            missing.append((words, f"{PARTTEST} {name}"))
    cause, probability = _cause(session)
    return Acceptance(
        met=tuple(met),
        missing=tuple(words for words, _ in missing),
        checks=tuple(check for _, check in missing),
        wrong=tuple(wrong),
        cause=cause,
        probability=probability,
        sentence=_sentence(session, wrong, [words for words, _ in missing]),
        claim=counted.words,
    )


def _cause(session: Session) -> tuple[Fault | None, float]:
    """The likeliest fault to begin with, its degrees taken together, and its probability."""
    shares: dict[str, float] = {}
    for fault, p in zip(session.world.faults, session.cause.tolist(), strict=False):
        shares[fault.plain_id] = shares.get(fault.plain_id, 0.0) + p
    name = max(shares, key=shares.__getitem__)
    known = {fault.id: fault for fault in session.world.faults[1:]}
    return known.get(name), shares[name]


def _removed(session: Session) -> list[str]:
    """Designators of parts that were changed; what was changed inside a block is not known."""
    names = [name for done in session.done for name in done.split(AND)]
    parts = {part.designator for part in session.world.board.parts if part.kind != BLOCK}
    return [name for name in dict.fromkeys(names) if name in parts]


def _sentence(session: Session, wrong: list[str], missing: list[str]) -> str:
    if wrong:
        return (
            f"Not cured: {wrong[0]} since the repair of {session.done[-1]}. There is a second "
            "fault, the repair did not take, or the work made a new one."
        )
    good = f"A good board explains all readings since the repair ({percent(float(session.p[0]))})."
    if not missing:
        return f"{good} The acceptance run is complete: the case may be closed."
    more = f" and {len(missing) - 2} more" if len(missing) > 2 else ""
    return f"{good} Before the case is closed: {'; '.join(missing[:2])}{more}."
