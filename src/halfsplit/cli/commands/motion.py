"""`halfsplit motion`: what faults make of the mechanism that the board drives."""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from halfsplit.cli.arguments import add_board, whole_number
from halfsplit.cli.command import Answer, Command, UsageError
from halfsplit.cli.screen import Screen

if TYPE_CHECKING:
    from halfsplit.build.compiled import Compiled
    from halfsplit.build.motion import Stepper
    from halfsplit.build.motion_file import Described
    from halfsplit.build.motion_run import Played
    from halfsplit.motion.sound import Heard

__all__ = ["KIND"]

_MOST_FAULTS = 5
_RATES = (20.0, 40.0, 80.0, 120.0, 160.0, 240.0, 320.0, 480.0, 640.0)
_NAMED = 6
"""Faults shown in one row of the survey, the likeliest first."""


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_board(parser)
    parser.add_argument(
        "--fault", action="append", default=[], metavar="ID",
        help="a fault beside the healthy board, such as 'D1 open'; may be given again; left out, "
        "all faults in a survey",
    )  # fmt: skip
    parser.add_argument(
        "--mechanism", metavar="FILE", help="what is known of it beyond the board, in TOML"
    )
    parser.add_argument("--motor", metavar="L1", help="one of its windings; else the first motor")
    parser.add_argument("--rate", metavar="HZ", help="steps a second; else 100Hz")
    parser.add_argument("--steps", type=whole_number, default=24, metavar="N",
                        help="steps there, and as many back; else 24")  # fmt: skip
    parser.add_argument(
        "--sound", metavar="WAV", help="a recording of it stepping, compared with what is predicted"
    )
    parser.add_argument("--svg", metavar="FILE", help="draw position against steps asked for")


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Survey all faults, or play the ones asked for."""
    from halfsplit.build.motion_file import read_mechanism
    from halfsplit.build.motion_heard import recorded
    from halfsplit.cli.boards import world_of
    from halfsplit.units import parse

    rate = parse(args.rate, "Hz") if args.rate else 100.0
    if not 0.5 <= rate <= 5000.0:
        raise UsageError(f"expected a rate from 0.5 to 5000 steps a second, got {args.rate}")
    if len(args.fault) > _MOST_FAULTS:
        raise UsageError(f"expected at most {_MOST_FAULTS} faults, got {len(args.fault)}")
    if args.steps > 400:
        raise UsageError(f"expected at most 400 steps, got {args.steps}")
    if args.svg and not args.fault:
        raise UsageError("expected --fault with --svg: whose motion is to be drawn?")
    heard = recorded(args.sound) if args.sound else None
    world = world_of(args)
    stepper = _motor(world, args.motor)
    described = read_mechanism(args.mechanism, world.board, stepper)
    stepper = _in_order(world, stepper, described.order)
    if args.fault:
        return _played(world, stepper, described, rate, heard, args)
    return _survey(world, stepper, described, rate, heard, args.steps)


def _survey(
    world: Compiled, stepper: Stepper, described: Described, rate: float, heard: Heard | None,
    steps: int,
) -> Answer:  # fmt: skip
    import numpy as np

    from halfsplit.build.motion import follows_home
    from halfsplit.build.motion_heard import matches
    from halfsplit.motion.judge import WORDS

    found = described.symptoms(world, stepper)
    home = follows_home(world)
    ids = [fault.id for fault in world.faults]
    best = np.nan_to_num(found.words, nan=-1.0).argmax(axis=1)
    by_word: dict[str, list[str]] = {word: [] for word in WORDS}
    for row in np.argsort(-world.prior[:-1], kind="stable").tolist():
        if row and not world.faults[row].version_of and np.isfinite(found.words[row, 0]):
            by_word[WORDS[best[row]]].append(ids[row])
    lost = (
        []
        if home is None
        else [ids[k] for k in np.flatnonzero(~home[1]).tolist() if not world.faults[k].version_of]
    )
    like = matches(world, stepper, described, rate, heard, steps) if heard else []
    data: dict[str, object] = {
        **_common(world, stepper, described, heard),
        "conditions": found.conditions,
        "faults": {
            name: dict(zip(WORDS, (round(x, 4) for x in row), strict=True))
            for name, row in zip(ids, found.words.tolist(), strict=True)
            if row[0] == row[0]
        },
        "fades_when_warm": {
            name: round(x, 4) for name, x in zip(ids, found.fades.tolist(), strict=True) if x > 0.0
        },
        "home_not_followed": lost,
        "sounds_like": [{"fault": name, "likeness": round(x, 4)} for name, x in like],
    }

    def lines(screen: Screen) -> Iterable[str]:
        yield from _head(screen, stepper, described)
        yield f"Most often, over {found.conditions} loads and rates in which a healthy unit runs:"
        for word, names in by_word.items():
            if names:
                yield screen.strong(f"{word}: {len(names)} faults")
                yield from screen.wrap(_some(names), "  ", "  ")
        if lost:
            yield screen.strong(f"{home[0] if home else ''} is not followed: {len(lost)} faults")
            yield from screen.wrap(_some(lost), "  ", "  ")
        if heard:
            yield f"Recorded: {heard.words}"
            close = [f"{name} ({x:.0%})" for name, x in like[:_NAMED]]
            yield from screen.wrap(f"nearest at {rate:g} steps a second: {', '.join(close)}", "  ")

    return Answer(data=data, lines=lines)


def _played(
    world: Compiled, stepper: Stepper, described: Described, rate: float, heard: Heard | None,
    args: argparse.Namespace,
) -> Answer:  # fmt: skip
    from halfsplit.build.fault import HEALTHY
    from halfsplit.build.motion_run import play, powered_up, rates_run
    from halfsplit.motion.judge import WORDS, Errand
    from halfsplit.motion.sound import alike

    faults = list(dict.fromkeys((HEALTHY, *args.fault)))
    errand = Errand.make(args.steps, len(stepper.states), rate)
    done = play(world, stepper, described.mechanism, errand, faults)
    at_power_up = powered_up(world, stepper, described.mechanism, faults, rate)
    rates = rates_run(world, stepper, described.mechanism, faults, _RATES)
    if args.svg:
        _draw(args.svg, done, stepper)
    rows: list[dict[str, object]] = []
    for k, name in enumerate(faults):
        lost = bool(done.unresolved[k])
        sound = done.heard[k]
        rows.append({
            "fault": name,
            "does": "unresolved" if lost else WORDS[done.judged.word[k]],
            "power_up": "unresolved" if lost else at_power_up[k],
            "up": None if lost else round(float(done.judged.up[k]), 3),
            "down": None if lost else round(float(done.judged.down[k]), 3),
            "lands_off": None if lost else round(float(done.judged.off[k]), 3),
            "tracks_off": None if lost else
            round(float(done.judged.off[k]) * stepper.size / described.mechanism.per_track),
            "repeats_hertz": _number(sound.repeats),
            "tone_hertz": _number(sound.tone),
            "loudness": round(sound.loudness / max(done.heard[0].loudness, 1e-12), 3),
            "runs_at": [r for r, runs in zip(_RATES, rates[k].tolist(), strict=True) if runs],
            "likeness": round(alike(heard.repeats, sound.repeats), 4) if heard else None,
        })  # fmt: skip
    data = {**_common(world, stepper, described, heard), "rate": rate, "steps": args.steps,
            "motion": rows, "picture": args.svg}  # fmt: skip

    def lines(screen: Screen) -> Iterable[str]:
        yield from _head(screen, stepper, described)
        yield f"{args.steps} steps there and back, {rate:g} a second:"
        for row in rows:
            yield screen.strong(f"{row['fault']}: {row['does']}")
            if row["up"] is not None:
                yield from screen.wrap(_told(row), "  ", "  ")
        if heard:
            yield f"Recorded: {heard.words}"
        if args.svg:
            yield f"drawn in {args.svg}"

    return Answer(data=data, lines=lines)


def _told(row: Mapping[str, object]) -> str:
    at = row["runs_at"]
    assert isinstance(at, list)
    runs = ", ".join(f"{rate:g}" for rate in at) or "none"
    repeats = f"repeats at {row['repeats_hertz']} Hz" if row["repeats_hertz"] else "no pattern"
    like = f"; {row['likeness']:.0%} like the recording" if row["likeness"] is not None else ""
    return (
        f"{row['up']:g} steps up, {row['down']:g} down, {row['lands_off']:g} beside its place "
        f"({row['tracks_off']} tracks); "
        f"heard: {repeats}, strongest at {row['tone_hertz']} Hz, {row['loudness']:g} times as loud "
        f"as healthy{like}; at power-up: {row['power_up']}; runs from standstill at {runs} steps "
        "a second"
    )


def _motor(world: Compiled, named: str | None) -> Stepper:
    from halfsplit.build.motion import steppers
    from halfsplit.errors import UnknownName

    found = list(steppers(world))
    if not found:
        raise UsageError(
            "expected a stepping motor: three windings or more that share a net, and a state of "
            "the board for each of its steps; this board has none"
        )
    by_winding = {winding.casefold(): one for one in found for winding in one.windings}
    if named is None:
        return found[0]
    if named.casefold() not in by_winding:
        raise UnknownName("winding of a stepping motor", named, [*by_winding])
    return by_winding[named.casefold()]


def _in_order(world: Compiled, stepper: Stepper, order: Sequence[str]) -> Stepper:
    from halfsplit.build.motion import stepper_of

    if not order:
        return stepper
    found = stepper_of(world, stepper.windings, order=order)
    if found is None:
        raise UsageError(
            f"in the order {', '.join(order)} no states of the board step it evenly; "
            "set order right in the mechanism's file"
        )
    return found


def _draw(path: str, done: Played, stepper: Stepper) -> None:
    import numpy as np

    from halfsplit.build.motion_run import commanded
    from halfsplit.draw.traces import Strip, traces_svg

    asked = commanded(done, stepper)
    moved = (done.done.position - done.done.landings[0]).T
    strips = [
        Strip(title="position, full steps", unit="", values=np.vstack([asked, moved])),
        Strip(
            title="beside what was asked", unit="", values=np.vstack([0.0 * asked, moved - asked])
        ),
    ]
    text = traces_svg(done.done.grid.time, ["asked for", *done.faults], strips)
    try:
        Path(path).write_text(text, encoding="utf-8")
    except OSError as error:
        raise UsageError(f"cannot write the picture {path}: {error.strerror}") from error


def _common(
    world: Compiled, stepper: Stepper, described: Described, heard: Heard | None
) -> dict[str, object]:
    return {
        "title": world.board.title,
        "windings": list(stepper.windings),
        "states": list(stepper.states),
        "full_steps_per_state": stepper.size,
        "natural_hertz": round(described.mechanism.hertz(), 2),
        "assumed": list(described.assumed),
        "recorded": None if heard is None else
        {"repeats_hertz": _number(heard.repeats), "tone_hertz": _number(heard.tone)},
    }  # fmt: skip


def _head(screen: Screen, stepper: Stepper, described: Described) -> Iterable[str]:
    names = ", ".join(stepper.windings)
    states = ", ".join(stepper.states)
    yield from screen.wrap(f"Motor {names}, stepped by {states}; it swings at "
                           f"{described.mechanism.hertz():.0f} Hz")  # fmt: skip
    if described.assumed:
        text = f"nobody gave its {', '.join(described.assumed)}: usual ones are assumed"
        yield from screen.wrap(text, "! ", "  ")


def _some(names: Sequence[str]) -> str:
    more = len(names) - _NAMED
    return ", ".join(names[:_NAMED]) + (f" and {more} more" if more > 0 else "")


def _number(hertz: float) -> float | None:
    return round(hertz, 2) if hertz == hertz else None


KIND = Command(
    name="motion",
    order=43,
    help="say what faults make of the stepping mechanism: runs, buzzes, loses steps, and how it "
    "sounds",
    arguments=arguments,
    run=run,
    more="The motor's steps are found among the board's states. What is known of the mechanism "
    "goes into a small TOML file (docs/motion.md says which measurements tell it without a "
    "datasheet). What is heard and seen depends on load and rate, so take it as a hint.",
)
