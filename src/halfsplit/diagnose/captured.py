"""From a record to readings: what the lines of each stage did, and the first stage that is bad."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from halfsplit.build.paths import paths
from halfsplit.build.transient_schedule import Schedule
from halfsplit.build.world import World
from halfsplit.capture.names import match_names
from halfsplit.capture.record import Record
from halfsplit.checks._line_words import PAIR_WORDS, RIGHT, WHOLE_WORDS, Finding
from halfsplit.checks._recorded import Stage, stages
from halfsplit.checks.kind import Check
from halfsplit.diagnose.laid_over import Trace, lay_over, traces
from halfsplit.diagnose.shown import finding_of
from halfsplit.diagnose.switched_off import Measured, coils_switched
from halfsplit.errors import WaveError
from halfsplit.frozen import dataclass
from halfsplit.waves.account import account
from halfsplit.waves.explain import Explanation
from halfsplit.waves.line import Line
from halfsplit.waves.plot import Picture, telling_picture

__all__ = ["Captured", "StageFinding", "nets_of_channels", "read_capture"]

FITS = 0.8
"""Part of the time for which lines should agree with a good board's, or it is remarked."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StageFinding:
    """``text`` answers ``check``; ``words`` say more; ``bad`` that it is not right. ``picture``
    shows lines that were read as phases."""

    check: Check
    nets: tuple[str, ...]
    text: str
    words: str
    picture: Picture | None = None

    @property
    def bad(self) -> bool:
        return not self.text.startswith(RIGHT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Captured:
    """Stages in the order of the signal's way; ``first_bad`` among them, or None; ``measured`` the
    readings of coils that were switched off; ``left_out`` says why a channel or stage gave
    nothing; ``remarks`` what is doubtful."""

    stages: tuple[StageFinding, ...]
    first_bad: StageFinding | None
    left_out: tuple[str, ...]
    remarks: tuple[str, ...]
    measured: tuple[Measured, ...] = ()

    def to_json(self) -> dict[str, object]:
        """For programs."""
        return {
            "stages": [
                {
                    "check": one.check.id,
                    "nets": list(one.nets),
                    "reading": one.text,
                    "sentence": one.words,
                    "bad": one.bad,
                }
                for one in self.stages
            ],
            "measured": [
                {"check": one.check.id, "net": one.net, "reading": one.text}
                for one in self.measured
            ],
            "first_bad": list(self.first_bad.nets) if self.first_bad else None,
            "left_out": list(self.left_out),
            "remarks": list(self.remarks),
        }


def nets_of_channels(
    record: Record, world: World, given: Mapping[str, str] | None = None
) -> dict[str, str]:
    """Channel -> net: as ``given`` (channel -> net or place), else by its name. Raises
    UnknownName for a channel that is not there, PlaceError for no place of the board."""
    given = given or {}
    found = {}
    for channel, place in given.items():
        record.channel(channel)
        found[channel] = world.place(place).net
    nets = [net for net in world.board.nets() if net not in found.values()]
    free = [name for name in record.names if name not in found]
    found |= {one.channel: one.net for one in match_names(free, nets) if one.net is not None}
    return found


def read_capture(
    record: Record, nets: Mapping[str, str], world: World, schedule: Schedule | None = None
) -> Captured:
    """What a record says about every stage of which it has a line.

    ``schedule`` is what was played meanwhile: the levels in each of its states are read, wherever
    in the record it begins and a tenth faster or slower than told. Without one, the lines of a
    stage are read as the phases of a motor that was being stepped. Raises WaveError when no stage
    is there or nothing of any can be read, what :meth:`Schedule.moments` raises.
    """
    if not record.end > record.begin:
        raise WaveError(
            f"{record.source}: expected a record that lasts, got one moment; record longer, or "
            "look at the column of times"
        )
    by_net = {net: channel for channel, net in nets.items()}
    known = [stage for stage in stages(world) if set(stage.nets) & set(by_net)]
    if not known:
        raise WaveError(
            f"expected channels on nets that change, got {', '.join(record.names)}; say which "
            "channel is which net by --lines CH1=NET"
        )
    seen, left_out = traces(record, by_net, known)
    remarks = list(record.remarks)
    found: list[StageFinding] = []
    if schedule is not None:
        schedule.moments(world.board)
        laid = lay_over(seen, known, schedule)
        if laid.agreement < FITS:
            remarks.append(
                f"the lines agree with a good board's for {round(100 * laid.agreement)} % of the "
                "time: a bad fault, or another exercise than was told"
            )
    for stage in known:
        own = [seen.get(net) for net in stage.nets]
        if not any(own):
            continue
        words, picture = "", None
        try:
            if schedule is not None:
                finding = finding_of(stage, own, laid)
            else:
                finding, words, picture = _as_phases(stage, own)
        except WaveError as error:
            left_out.append(f"{' '.join(stage.nets)}: {error}")
            continue
        text = finding.text(stage.nets)
        found.append(
            StageFinding(
                check=Check(kind="capture", places=stage.places[:1]),
                nets=stage.nets,
                text=text,
                words=words or f"{' '.join(stage.nets)}: {text}.",
                picture=picture,
            )
        )
    if not found:
        raise WaveError("; ".join(left_out))
    rank = _ranks(world)
    found.sort(key=lambda one: max(rank.get(net, len(rank)) for net in one.nets))
    shapes = () if schedule is None else coils_switched(seen, known, laid, world)
    return Captured(
        stages=tuple(found),
        measured=tuple(shapes),
        first_bad=next((one for one in found if one.bad), None),
        left_out=tuple(left_out),
        remarks=tuple(remarks),
    )


def _as_phases(stage: Stage, own: Sequence[Trace | None]) -> tuple[Finding, str, Picture | None]:
    """Of lines stepped at times that nobody told. Raises WaveError."""
    lines = [trace.line for trace in own if trace is not None and trace.line is not None]
    here = [i for i, trace in enumerate(own) if trace is not None and trace.line is not None]
    absent = frozenset(range(len(own))) - frozenset(here)
    if not any(len(line.edges) for line in lines):
        return replace(_still(stage, lines, here), absent=absent), "", None
    on = {bool(stage.on[i]) for i in here}
    told = account(
        lines, active_low=not on.pop() if len(on) == 1 else None, order_known=_in_order(stage)
    )
    said = told.explanation
    return replace(_explained(said, stage), absent=absent), said.words, telling_picture(told)


def _still(stage: Stage, lines: Sequence[Line], here: Sequence[int]) -> Finding:
    """Of lines that never change."""
    stuck = {
        i: "stuck on" if line.first == stage.on[i] else "stuck off"
        for i, line in zip(here, lines, strict=True)
    }
    if len(stage.nets) > 1 and len(set(stuck.values())) == 1:
        return Finding(whole=f"all {next(iter(stuck.values()))}")
    return Finding(odd=tuple(stuck.items()))


def _explained(said: Explanation, stage: Stage) -> Finding:
    """Raises WaveError where it says too little."""
    lines = [stage.nets.index(name) for name in said.lines]
    if said.kind in PAIR_WORDS:
        return Finding(pair=(said.kind, min(lines), max(lines)))
    if said.kind in WHOLE_WORDS:
        return Finding(whole=said.kind)
    if said.kind == "too few":
        raise WaveError(said.words)
    if said.kind == "irregular":
        return Finding(whole="several")
    return Finding(odd=tuple((i, said.kind) for i in lines))


def _in_order(stage: Stage) -> bool:
    """Whether the states come in the order of the lines, one line on in each."""
    active = stage.active
    turns = active[active.sum(axis=1) == 1].argmax(axis=1)
    return bool(len(turns) == len(stage.nets) and (np.diff(turns) > 0).all())


def _ranks(world: World) -> dict[str, int]:
    """Net -> how many stages lie before it on the longest way to it."""
    ranks: dict[str, int] = {}
    for path in paths(world.board):
        for at, net in enumerate(path.nets):
            ranks[net] = max(ranks.get(net, 0), at)
    return ranks
