"""Captures of every driver fault of the example drive: what is named right, and what belief says.

    python -m benchmarks.evidence [--every 8] [--seed 1]

The transient engine plays the exercise for each fault; what it plays is sampled as an instrument
would. The truth is read off the clean waveforms at the known times. `line` is the finding of every
stage right, `stage` the first bad stage (or none) right. Belief starts from what an owner says.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from halfsplit.board.reader import read_board
from halfsplit.board.source import find_source
from halfsplit.build.cache import compile_kept
from halfsplit.build.compiled import Compiled
from halfsplit.build.transient import Waveforms, run
from halfsplit.build.transient_schedule import Schedule, read_schedule
from halfsplit.capture.record import Analog, Record
from halfsplit.checks._recorded import Stage, stages
from halfsplit.checks.kind import Check, Meter
from halfsplit.checks.registry import CHECKS
from halfsplit.diagnose.captured import Captured, read_capture
from halfsplit.diagnose.catalogue import Catalogue
from halfsplit.diagnose.rehearsal import complaint
from halfsplit.diagnose.session import Session
from halfsplit.errors import HalfsplitError
from halfsplit.parts.vocabulary import PartsVocabulary

Array = npt.NDArray[np.float64]

EXERCISE = "rest 10ms, hold-A/hold-B/hold-C/hold-D x8 10ms, rest 10ms"
WORD = "PQDEC"


@dataclass(frozen=True, kw_only=True)
class Instrument:
    """``noise`` V and share of the swing, ``jitter`` of a step, ``bits`` of a range of 2.2 swings,
    ``samples`` a step, ``dropped`` channels a stage, ``pace`` of the exercise."""

    noise: float = 0.0
    share: float = 0.0
    jitter: float = 0.0
    bits: int = 0
    samples: int = 40
    dropped: int = 0
    pace: float = 1.0


INSTRUMENTS = {
    "clean": Instrument(),
    "noise 20 mV and 3 %": Instrument(noise=0.02, share=0.03),
    "jitter 8 %": Instrument(jitter=0.08),
    "8 bits, noise 1 %": Instrument(bits=8, share=0.01),
    "12 samples a step": Instrument(samples=12),
    "a channel a stage not recorded": Instrument(dropped=1),
    "7 % slower than told": Instrument(pace=1.07),
    "all of these": Instrument(
        noise=0.02, share=0.03, jitter=0.08, bits=8, samples=12, dropped=1, pace=1.07
    ),
}  # fmt: skip


def main() -> None:
    """Play, read, count."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=_PLAIN)
    parser.add_argument("--every", type=int, default=8, help="one fault in so many")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--misses", action="store_true", help="say what was named wrong")
    args = parser.parse_args()
    rng = np.random.default_rng(args.seed)
    source = find_source("plotter-drive")
    world = compile_kept(read_board(source.text, PartsVocabulary(), source=source.where))
    known = [stage for stage in stages(world) if stage.nets[0][0] in WORD and len(stage.nets) == 4]
    known.sort(key=lambda stage: WORD.index(stage.nets[0][0]))
    faults = _driver_faults(world, known)[:: args.every]
    schedule = read_schedule(EXERCISE)
    places = [place for stage in known for place in stage.places]
    began = time.perf_counter()
    played = run(world, schedule, faults=["healthy", *faults], places=places)
    print(f"{len(faults)} faults played in {time.perf_counter() - began:.0f} s")
    line, stage_right, count = Counter[str](), Counter[str](), Counter[str]()
    before, after = [], []
    catalogue = Catalogue(world, Meter())
    for row, fault in enumerate(played.faults):
        if played.unresolved[row]:
            print(f"{fault} could not be played to the end")
            continue
        whole = [_truth(stage, played, row, schedule, -1) for stage in known]
        shows = any(text != "right" for text in whole)
        for name, instrument in INSTRUMENTS.items():
            record, absent = recorded(known, played, row, schedule, instrument, rng)
            nets = {one.name: one.name for one in record.channels}
            try:
                said = read_capture(record, nets, world, schedule)
            except HalfsplitError as error:
                said = Captured(stages=(), first_bad=None, left_out=(str(error),), remarks=())
            got = _by_stage(said, known)
            expected = [
                _truth(stage, played, row, schedule, lost)
                for stage, lost in zip(known, absent, strict=True)
            ]
            seen = next((k for k, text in enumerate(expected) if text != "right"), -1)
            found = next((k for k, text in enumerate(got) if text != "right"), -1)
            shown = "a fault that shows" if shows else "a fault that does not show"
            for key in (name, "all", shown if row else "healthy"):
                count[key] += 1
                line[key] += got == expected
                stage_right[key] += found == seen
            if args.misses and got != expected:
                print(f"{name}: {fault}: {expected} was called {got}")
            if name == "8 bits, noise 1 %" and row and shows:
                moved = belief_ranks(
                    catalogue, fault, [(one.check, one.text) for one in said.stages]
                )
                before.append(moved[0])
                after.append(moved[1])
    for key, n in count.items():
        print(f"{key:34s} line {line[key] / n:6.1%}   stage {stage_right[key] / n:6.1%}   of {n}")
    told_ranks("as the owner says", before)
    told_ranks("after the capture", after)


def _driver_faults(world: Compiled, known: Sequence[Stage]) -> list[str]:
    """Ids of faults at the lines, and in the parts on them."""
    nets = {net for stage in known for net in stage.nets} - {"PA", "PB", "PC", "PD"}
    at = {(p.designator, pin): net for p in world.board.parts for pin, net in p.pins.items()}
    parts = {p.designator for p in world.board.parts if set(p.pins.values()) & nets}
    return [
        fault.id
        for fault in world.faults[1:]
        if fault.designator in parts
        or any(at.get((pin.designator, pin.pin)) in nets for pin in fault.pins)
    ]


def _truth(stage: Stage, played: Waveforms, row: int, schedule: Schedule, lost: int) -> str:
    """What a stage does in the clean waveforms, near the end of each state; of the
    lines but ``lost``."""
    ends = np.cumsum([phase.seconds for phase in schedule.phases]) - 1e-3
    turns = [phase.state for phase in schedule.phases]
    on_in: list[frozenset[str]] = []
    unclear = []
    for i, place in enumerate(stage.places):
        volts = np.interp(ends, played.time, played.volts[place][row])
        shown = defaultdict[str, set[int]](set)
        for state, v in zip(turns, volts.tolist(), strict=True):
            side = -1 if stage.below[i] <= v <= stage.above[i] else int(v > stage.above[i])
            shown[state].add(side)
        unclear.append(any(-1 in sides for sides in shown.values()))
        on = int(stage.on[i])
        on_in.append(frozenset(state for state, sides in shown.items() if sides == {on}))
    due = [
        frozenset(s for s, yes in zip(stage.states, stage.active[:, i], strict=True) if yes)
        for i in range(len(stage.nets))
    ]
    here = [i for i in range(len(stage.nets)) if i != lost]
    return _words(stage.nets, here, on_in, due, unclear, frozenset(turns))


def _words(
    nets: Sequence[str],
    here: Sequence[int],
    on: Sequence[frozenset[str]],
    due: Sequence[frozenset[str]],
    unclear: Sequence[bool],
    every: frozenset[str],
) -> str:
    odd = [i for i in here if unclear[i] or on[i] != due[i]]
    if all(not on[i] and not unclear[i] for i in odd) and len(odd) == len(here):
        return "all stuck off"
    if all(on[i] == every for i in odd) and len(odd) == len(here):
        return "all stuck on"
    if len(odd) == 2 and not any(unclear[i] for i in odd):
        i, j = odd
        if on[i] == on[j] and on[i] in (due[i] | due[j], due[i] & due[j]):
            return f"{nets[i]} and {nets[j]} shorted"
        if on[i] == due[j] and on[j] == due[i]:
            return f"{nets[i]} and {nets[j]} swapped"
    said = [f"{nets[i]} {_word(on[i], due[i], unclear[i], every)}" for i in odd]
    return ", ".join(said) or "right"


def _word(on: frozenset[str], due: frozenset[str], unclear: bool, every: frozenset[str]) -> str:
    if unclear:
        return "undefined"
    if on == every:
        return "stuck on"
    if not on:
        return "stuck off"
    if on == every - due:
        return "inverted"
    return "missing" if on < due else "extra" if on > due else "irregular"


def recorded(
    known: Sequence[Stage],
    played: Waveforms,
    row: int,
    schedule: Schedule,
    how: Instrument,
    rng: np.random.Generator,
) -> tuple[Record, list[int]]:
    """What an instrument has of it, from somewhere before the exercise on; and the line of each
    stage that it lacks, -1 for none."""
    spans = np.array([phase.seconds for phase in schedule.phases])
    moved = how.pace * spans * (1.0 + how.jitter * rng.uniform(-1.0, 1.0, spans.size))
    edges, seen = (np.concatenate(([0.0], np.cumsum(s))) for s in (spans, moved))
    interval = spans.min() / how.samples
    lead = float(rng.uniform(0.0, 5e-3))
    moments = np.arange(-lead, seen[-1] + 3e-3, interval)
    true = np.interp(moments, seen, edges)
    channels, absent = [], []
    for stage in known:
        lost = int(rng.integers(4)) if how.dropped else -1
        absent.append(lost)
        for i, (net, place) in enumerate(zip(stage.nets, stage.places, strict=True)):
            if i == lost:
                continue
            low, high = stage.swings[:, i].tolist()
            swing = high - low
            volts = np.interp(true, played.time, played.volts[place][row])
            volts = volts + rng.normal(0.0, 1.0, volts.size) * (how.noise * min(swing, 1.0)
                                                                + how.share * swing)  # fmt: skip
            if how.bits:
                bottom, step = low - 0.6 * swing, 2.2 * swing / 2**how.bits
                volts = bottom + step * np.clip(
                    np.round((volts - bottom) / step), 0, 2**how.bits - 1
                )
            channels.append(
                Analog(
                    name=net, unit="V", start=0.1, step=interval, samples=volts.astype(np.float32)
                )
            )
    end = 0.1 + interval * moments.size
    return Record(source="played", begin=0.1, end=end, channels=tuple(channels)), absent


def _by_stage(said: Captured, known: Sequence[Stage]) -> list[str]:
    """The readings, as far as they are about lines that were recorded."""
    texts = {one.nets: one.text.split(", ") for one in said.stages}
    found = [texts.get(stage.nets, ["nothing"]) for stage in known]
    return [", ".join(one for one in items if "not recorded" not in one) for items in found]


def belief_ranks(
    catalogue: Catalogue, fault: str, readings: Sequence[tuple[Check, str]]
) -> tuple[tuple[int, float], ...]:
    """Rank and probability of the right suspect before and after the readings of a capture."""
    world = catalogue.world
    at = next(row for row, one in enumerate(world.faults) if one.id == fault)
    suspect = world.faults[at].suspect
    session = Session.start(world, catalogue=catalogue)
    told = complaint(world.faults[at], catalogue)
    if told is not None:
        session = _entered(session, *told)
    found = [_rank(session, suspect)]
    for check, text in readings:
        session = _entered(session, check, text)
    return (*found, _rank(session, suspect))


def _entered(session: Session, check: Check, text: str) -> Session:
    return session.enter(check, CHECKS.get(check.kind).read(check, text, session.world))


def _rank(session: Session, suspect: str) -> tuple[int, float]:
    ranked = [(one.suspect.id, one.probability) for one in session.suspects()]
    at = [name for name, _ in ranked].index(suspect)
    return at + 1, ranked[at][1]


def told_ranks(when: str, all_of: Sequence[tuple[int, float]]) -> None:
    ranks = np.array([rank for rank, _ in all_of])
    p = np.array([one for _, one in all_of])
    print(
        f"{when}: right suspect first {np.mean(ranks == 1):.0%}, in the first five "
        f"{np.mean(ranks <= 5):.0%}, median rank {np.median(ranks):.0f}, its probability "
        f"{np.median(p):.1%} (median)"
    )


_PLAIN = argparse.RawDescriptionHelpFormatter

if __name__ == "__main__":
    main()
