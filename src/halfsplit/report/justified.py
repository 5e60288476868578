"""What the record says of parts that were changed, and of switching on afterwards."""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.build.compiled import Compiled
from halfsplit.diagnose.cures import AND
from halfsplit.diagnose.power_up import power_up
from halfsplit.diagnose.session import Session
from halfsplit.replacement.advice import Replacement, Replacer
from halfsplit.replacement.operating import operate

__all__ = ["parts_changed", "switching_on"]

_NAMED = 4
"""Types that serve which are named."""


def parts_changed(session: Session) -> tuple[str, ...]:
    """For every part that was changed: what it stands, which types serve, what may have killed
    the old one."""
    board, world = session.world.board, session.world
    names = [name for done in session.done for name in done.split(AND) if board.part(name)]
    if not names or not isinstance(world, Compiled):
        return ()
    replacer = Replacer(operate(world))
    return tuple(sentence for name in dict.fromkeys(names) for sentence in _part(replacer.of(name)))


def _part(one: Replacement) -> Iterator[str]:
    name = one.part.designator
    for stress in one.stress:
        if stress.limit is not None:
            yield f"{name}: {stress.words}."
    serve = [each.name for each in one.candidates if each.verdict == "serves"]
    if serve:
        yield f"{name}: what serves in its place: {', '.join(serve[:_NAMED])}."
    for text in (*one.stops, *(f"may have killed it: {cause}" for cause in one.causes)):
        yield f"{name}: {text}"


def switching_on(session: Session) -> tuple[str, ...]:
    """The plan for the power-up after a repair; nothing before the first."""
    if not session.done or not isinstance(session.world, Compiled):
        return ()
    plan = power_up(session.world)
    return (*plan.steps, *(f"Stop: {line}" for line in plan.stop))
