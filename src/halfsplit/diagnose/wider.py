"""What else it may be when no single fault that is always there explains the readings.

Two faults at once, a fault that comes and goes, one that burnt another part, a board that is not
as the file draws it. A wider session holds the likeliest of each beside the likeliest single
faults, and is used like any other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from halfsplit.belief.posterior import Array, Indices, normalise
from halfsplit.belief.shapes import SILENT
from halfsplit.build.fault import Fault, Suspect
from halfsplit.build.together import both
from halfsplit.build.world import World
from halfsplit.checks.constancy import CONSTANCY, FITFUL
from halfsplit.diagnose.acceptance import acceptance
from halfsplit.diagnose.candidates import candidates, comes_and_goes
from halfsplit.diagnose.catalogue import SYMPTOM
from halfsplit.diagnose.contradiction import contradiction
from halfsplit.diagnose.cures import AND, DRAWING
from halfsplit.diagnose.entry import Entry
from halfsplit.diagnose.session import Session
from halfsplit.diagnose.watching import asked, presence, said, to_watch, watched
from halfsplit.diagnose.widened import (
    Columns,
    Shape,
    WideCatalogue,
    WideWorld,
    likelihood_row,
    nets_of,
    wide_forecast,
)

__all__ = ["ask_whether_always", "considered", "is_wider", "widen"]

WONDER = 0.2
"""Share of something else from which other shapes are looked into."""
WORTH_ASKING = 0.12
"""Probability that it comes and goes from which that is asked: half a minute, against readings that
clear what was not there just then."""
QUESTION = 0.5
"""Minutes that asking it takes."""
RIGHT = 0.5
"""A reading that a good board explains so well, against the best of the faults, is right."""
LOOKS = 4
"""Most times that one symptom is looked at for what comes and goes."""
SEEN = 0.95
"""Whoever used it has seen it come and go (judgement, no source)."""
KNOWN = 0.8
"""Share of what may be wrong beside a net that is not as drawn from which it is known (judgement,
no source)."""
TOGETHER = 24
"""Most pairs that are solved together, where both halves move a reading."""


@lru_cache(maxsize=8)
def considered(session: Session) -> Session:
    """The session, or a wider one when single faults do not explain its readings."""
    if is_wider(session) or not session.entries:
        return session
    if (
        session.p[-1] >= WONDER
        or contradiction(session) is not None
        or _still_wrong(session)
        or said(session.entries) == FITFUL
    ):
        return widen(session)
    return session


def ask_whether_always(session: Session, at_stake: float = 0.0, setup: float = 0.0) -> bool:
    """Whether it matters that the trouble may come and go: an output was looked at, and it is
    likely enough, or readings disagree, or an output is still wrong after a repair. ``at_stake``
    are the minutes of a repair that is about to be done, lost if it is for nothing; ``setup`` those
    that the question takes beside its own."""
    if asked(session.entries):
        return False
    if session.done:
        return _still_wrong(session)
    if all(entry.check.kind != SYMPTOM for entry in session.entries):
        return False
    share = comes_and_goes(session)
    worth = share >= WORTH_ASKING or share * at_stake >= QUESTION + setup
    return worth or contradiction(session) is not None


def _still_wrong(session: Session) -> bool:
    """Whether an output has been seen wrong since the last repair."""
    run = acceptance(session)
    return run is not None and bool(run.wrong)


def is_wider(session: Session) -> bool:
    """Whether other shapes than single faults have been let in."""
    return isinstance(session.world, WideWorld)


def widen(session: Session) -> Session:
    """The session with other shapes beside the likeliest single faults."""
    found = candidates(session)
    shapes = [shape for shape, _ in found]
    wide = _world(session, shapes, [weight for _, weight in found])
    told = _bare(session, wide).told(_entries(session, wide))
    return _led(session, told, wide)


def _bare(session: Session, wide: WideWorld) -> Session:
    """Nothing read yet, the repairs done."""
    shapes = wide.shapes
    return Session(
        world=wide,
        meter=session.meter,
        limits=session.limits,
        catalogue=WideCatalogue(wide, session.catalogue, session.p),
        group=_groups(wide),
        entries=(),
        cause=wide.prior,
        p=wide.prior,
        done=session.done,
        cured_at=_cured_at(shapes, session),
        tries=np.array(
            [0, *(1 if one.how == "pair" else session.tries[one.first] for one in shapes), 0],
            dtype=np.int64,
        ),
    )


def _led(session: Session, told: Session, wide: WideWorld) -> Session:
    """The session with every shape under the suspect of it that is likeliest to be wrong: two
    faults are put right one after the other, and the surer one first; a fault on a board that is
    not as drawn is put right like any other, and the net is compared while no fault is known to be
    most of what is wrong beside it."""
    index = {suspect.id: at for at, suspect in enumerate(wide.suspects)}
    ends = [[index[name] for name in _suspects(shape, wide.inner)] for shape in wide.left]
    share = np.zeros(len(wide.suspects))
    for at, each in enumerate(ends, 1):
        share[each] += told.p[at]
    for net in {shape.net for shape in wide.left if shape.how == "drawing"}:
        share[index[f"{DRAWING}{net}"]] *= KNOWN
    leader = [max(each, key=share.__getitem__) for each in ends]
    faults = tuple(
        fault if fault.suspect == wide.suspects[at].id
        else replace(fault, suspect=wide.suspects[at].id)
        for fault, at in zip(wide.faults[1:], leader, strict=True)
    )  # fmt: skip
    final = replace(
        wide,
        faults=(wide.faults[0], *faults),
        suspect_of=np.array([-1, *leader], dtype=np.int64),
    )
    inner = _as_inner(told.p, wide.columns, len(session.p))
    catalogue = WideCatalogue(final, session.catalogue, inner, _again(session))
    return replace(told, world=final, catalogue=catalogue, group=_groups(final))


def _as_inner(p: Array, columns: Columns, size: int) -> Array:
    """[size] belief in the inner world's rows, from that in the shapes ``p`` [S + 2]: a pair counts
    for both its halves."""
    found = np.zeros(size)
    np.add.at(found, columns.first, p[1:-1])
    np.add.at(found, columns.second[columns.pair], p[1 + columns.pair])
    found[0] += p[0]
    found[-1] = p[-1]
    return normalise(found)


def _again(session: Session) -> frozenset[str]:
    """What has read as on a good board and may be looked at once more: symptoms, and whatever has
    not been watched yet where the trouble comes and goes."""
    fitful = said(session.entries) == FITFUL
    waited = watched(session.entries)
    answers: dict[str, list[bool]] = {}
    done = set()
    for entry in session.entries:
        if entry.epoch < len(session.done):
            continue
        kind = session.catalogue.kind(entry.check.kind)
        if entry.number in waited:
            done.add(entry.check.id)
        elif to_watch(kind) if fitful else kind.name == SYMPTOM:
            answers.setdefault(entry.check.id, []).append(_right(entry))
    return frozenset(
        name for name, each in answers.items()
        if any(each) and len(each) < LOOKS and name not in done
    )  # fmt: skip


def _right(entry: Entry) -> bool:
    """Whether a good board explains a reading about as well as any fault."""
    return bool(entry.raw[0][0] >= RIGHT * entry.raw[0][:-1].max())


def _groups(wide: WideWorld) -> Indices:
    """[F' + 1] index into the suspects; one past its end for healthy."""
    count = len(wide.suspects)
    group = np.where(wide.suspect_of < 0, count, wide.suspect_of)
    return np.append(group, count - 1).astype(np.int64)


def _suspects(shape: Shape, inner: World) -> tuple[str, ...]:
    """Ids of the suspects, each of which puts a part of the shape right."""
    if shape.how == "drawing":
        return f"{DRAWING}{shape.net}", inner.faults[shape.first].suspect
    rows = (shape.first, shape.second) if shape.how == "pair" else (shape.first,)
    return tuple(inner.faults[row].suspect for row in rows)


def _cured_at(shapes: Sequence[Shape], session: Session) -> Indices:
    """[F' + 1] the repair after which nothing is left of each shape, 0 for none."""
    at = session.cured_at
    found = [0]
    for shape in shapes:
        ends = [int(at[shape.first])]
        if shape.how == "pair":
            ends.append(int(at[shape.second]))
        found.append(max(ends) if all(ends) else 0)
    return np.array([*found, 0], dtype=np.int64)


def _left(shape: Shape, session: Session, epoch: int) -> Shape:
    """What is left of a shape after some repairs."""
    if shape.how != "pair":
        return shape
    first, second = (0 < session.cured_at[row] <= epoch for row in (shape.first, shape.second))
    if first == second:
        return shape
    return Shape(how="alone", first=shape.second if first else shape.first)


def _world(session: Session, shapes: Sequence[Shape], weights: Sequence[float]) -> WideWorld:
    inner = session.world
    left = tuple(_left(shape, session, len(session.done)) for shape in shapes)
    nets = dict.fromkeys(shape.net for shape in shapes if shape.how == "drawing")
    *listed, other = inner.suspects
    suspects = (*listed, *map(_redraw, nets), other)
    index = {suspect.id: at for at, suspect in enumerate(suspects)}
    share = float(session.catalogue.prior()[-1])
    whole = float(session.catalogue.prior()[1:-1].sum())
    each = normalise(np.array([*weights, 0.0]))[:-1] if sum(weights) > 0.0 else np.zeros(0)
    scale = sum(weights) / whole if whole > 0.0 else 1.0
    return WideWorld(
        inner=inner,
        faults=(inner.faults[0], *(_fault(shape, inner) for shape in left)),
        suspects=suspects,
        suspect_of=np.array(
            [-1, *(index[_suspects(shape, inner)[0]] for shape in left)], dtype=np.int64
        ),
        prior=normalise(np.array([0.0, *(each * scale * (1.0 - share)), share])),
        shapes=tuple(shapes),
        left=left,
        columns=Columns.of(left),
        watched=said(session.entries) == FITFUL,
    )


def _redraw(net: str) -> Suspect:
    return Suspect(
        id=f"{DRAWING}{net}", minutes=10.0,
        repair=f"compare net {net} with the board itself, pin by pin",
    )  # fmt: skip


def _fault(shape: Shape, world: World) -> Fault:
    """A shape in words."""
    fault = world.faults[shape.first]
    if shape.how == "alone":
        return fault
    if shape.how == "now and then":
        share = round(100.0 * shape.fraction)
        return replace(
            fault,
            id=f"{fault.id}, now and then",
            words=f"{fault.words}, now and then (at about {share} % of readings)",
        )
    if shape.how == "drawing":
        return replace(
            fault, id=f"{fault.id}; {shape.net} is not as drawn", suspect=f"{DRAWING}{shape.net}",
            where="none", designator="", pins=(), touch=0.0, reseat=0.0,
            words=f"the board differs from its file at net {shape.net}, and {fault.words}",
        )  # fmt: skip
    other = world.faults[shape.second]
    return replace(
        fault, id=f"{fault.id}{AND}{other.id}", designator="",
        pins=fault.pins + other.pins, words=f"{fault.words} and {other.words}",
    )  # fmt: skip


def _entries(session: Session, wide: WideWorld) -> tuple[Entry, ...]:
    """The readings under the wider world's rows; pairs of which both halves move a reading are
    solved together, the likeliest of them."""
    world = session.world
    moves = {entry.number: _moved(entry) for entry in session.entries}
    epochs = [
        tuple(_left(shape, session, epoch) for shape in wide.shapes)
        for epoch in range(len(session.done) + 1)
    ]
    pairs = [
        (at, shape.first, shape.second)
        for at, shape in enumerate(wide.shapes, 1)
        if shape.how == "pair"
        and any(moved[shape.first] and moved[shape.second] for moved in moves.values())
    ][:TOGETHER]
    pairs.sort(key=lambda pair: pair[1:])  # whatever their ranks, the same pairs are kept solved
    solved = both(world, [(a, b) for _, a, b in pairs]) if pairs else None
    columns = [Columns.of(shapes) for shapes in epochs]
    made, waited = [], watched(session.entries)
    for entry in session.entries:
        nets = nets_of(entry.check, world)
        mine, moved = columns[entry.epoch], moves[entry.number]
        kind = session.catalogue.kind(entry.check.kind)
        there = presence(kind, entry.number in waited)
        row, one, other = (likelihood_row(mine, raw, nets, there) for raw in entry.raw)
        if entry.check.kind == CONSTANCY and not entry.reading.nothing:
            is_so = SEEN if entry.reading.word == FITFUL else 1.0 - SEEN
            for each in (row, one, other):
                each[1 + mine.fitful] = is_so
        joint = [
            k for k, (at, a, b) in enumerate(pairs)
            if moved[a] and moved[b] and epochs[entry.epoch][at - 1].how == "pair"
        ]  # fmt: skip
        if joint and solved is not None and kind.takes != "part":
            truly = kind.likelihood(entry.check, entry.reading, solved, session.meter)
            for k in joint:
                for each in (row, one, other):
                    each[pairs[k][0]] = truly[1 + k]
        made.append(
            replace(
                entry,
                likelihood=row,
                sides=(one, other),
                raw=(row, one, other),
                expects=entry.expects and wide_forecast(mine, entry.expects),
            )
        )
    return tuple(made)


def _moved(entry: Entry) -> npt.NDArray[np.bool_]:
    """[F + 1] which faults move a reading."""
    logs = np.log2(np.maximum(entry.raw[0], 1e-300))
    return np.asarray(np.abs(logs - logs[0]) > SILENT, dtype=np.bool_)
