"""`halfsplit stages`: does each stage do what its inputs ask, and which is the first bad one."""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from halfsplit.cli.command import Answer, Command, UsageError
from halfsplit.cli.records import add_file, add_window, names, record_of
from halfsplit.cli.screen import Screen

if TYPE_CHECKING:
    from halfsplit.waves.align import Alignment
    from halfsplit.waves.line import Line
    from halfsplit.waves.stage import StageResult

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_file(parser)
    parser.add_argument(
        "--outputs", metavar="FILE", help="a second capture of the same exercise, with the outputs"
    )
    parser.add_argument(
        "--stage",
        action="append",
        required=True,
        metavar="S",
        help="inputs>output=function along the path, once for each stage: QA,RUN>DA=nand; a truth "
        "table such as 1101 will do for a function",
    )
    parser.add_argument("--delay", metavar="T", help="the longest delay that is right, 1us")
    parser.add_argument("--family", metavar="F", default="ttl", help="as for halfsplit steps")
    add_window(parser)


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Check every stage and name the first bad one."""
    from halfsplit.units import parse
    from halfsplit.waves.channels import lines_of
    from halfsplit.waves.stage import first_bad

    record = record_of(args.file, args)
    known = {line.name: line for line in lines_of(record, family=args.family)[0]}
    stages = [_stage(text) for text in args.stage]
    alignment = None
    if args.outputs:
        other = record_of(args.outputs, args)
        seen = {line.name: line for line in lines_of(other, family=args.family)[0]}
        alignment, moved = _aligned(stages, known, seen)
        known |= moved
    longest = None if args.delay is None else parse(args.delay, "s")
    results = [_check(stage, known, longest) for stage in stages]
    bad = first_bad(results)
    data = {
        "source": record.source,
        "stages": [_data(one) for one in results],
        "first_bad": bad.name if bad else None,
        "alignment": None
        if alignment is None
        else {
            "shift": alignment.shift,
            "agreement": alignment.agreement,
            "rivals": list(alignment.rivals),
        },
    }

    def lines(screen: Screen) -> Iterable[str]:
        yield screen.strong(
            f"The first bad stage is {bad.name}." if bad else "No stage was seen to be bad."
        )
        for one in results:
            yield from screen.wrap(one.words, hang="  ")
        if alignment and alignment.rivals:
            yield from screen.wrap(
                f"The two captures fit together in {len(alignment.rivals) + 1} ways: the sequence "
                "repeats. An exercise with a pause or another rate in it would settle it."
            )

    return Answer(data=data, lines=lines)


def _stage(text: str) -> tuple[list[str], str, str]:
    inputs, arrow, rest = text.partition(">")
    output, equals, function = rest.partition("=")
    found = names(inputs)
    if not (arrow and equals and found and output.strip()):
        raise UsageError(f"expected a stage such as QA,RUN>DA=nand, got {text!r}")
    return found, output.strip(), function.strip().lower()


def _line(known: dict[str, Line], name: str) -> Line:
    from halfsplit.errors import UnknownName

    if name not in known:
        raise UnknownName("channel", name, known)
    return known[name]


def _check(
    stage: tuple[list[str], str, str], known: dict[str, Line], longest: float | None
) -> StageResult:
    from halfsplit.waves.function import function_named
    from halfsplit.waves.stage import check_stage

    inputs, output, function = stage
    lines = [_line(known, name) for name in inputs]
    return check_stage(
        output, lines, _line(known, output), function_named(function, len(inputs)), longest
    )


def _aligned(
    stages: Sequence[tuple[list[str], str, str]], known: dict[str, Line], seen: dict[str, Line]
) -> tuple[Alignment, dict[str, Line]]:
    """Lay the second record over the first by a line that both have, or by what the first
    record's inputs ask of the second's outputs."""
    from halfsplit.waves.align import align, shifted
    from halfsplit.waves.function import apply, function_named

    pairs = [(known[name], seen[name]) for name in known if name in seen]
    if not pairs:
        pairs = [
            (
                apply(
                    function_named(function, len(inputs)), [known[n] for n in inputs], f"{output}?"
                ),
                seen[output],
            )
            for inputs, output, function in stages
            if output in seen and all(name in known for name in inputs)
        ]
    if not pairs:
        raise UsageError(
            "expected a stage with its inputs in the first capture and its output in the second, "
            "or a channel that both have"
        )
    found = align([one for one, _ in pairs], [other for _, other in pairs])
    return found, {name: shifted(line, found.shift) for name, line in seen.items()}


def _data(one: StageResult) -> dict[str, object]:
    return {
        "name": one.name,
        "verdict": one.verdict,
        "sentence": one.words,
        "edges": one.edges,
        "rise": one.rise if one.rise == one.rise else None,
        "fall": one.fall if one.fall == one.fall else None,
        "violations": [
            {"time": v.time, "span": v.span, "level": int(v.level), "after": v.after}
            for v in one.violations
        ],
    }


KIND = Command(
    name="stages",
    order=103,
    help="say whether each stage does what its inputs ask, and which is the first bad one",
    arguments=arguments,
    run=run,
    more="Inputs and outputs may come from two captures of the same exercise: they are laid over "
    "each other by the sequence itself.",
)
