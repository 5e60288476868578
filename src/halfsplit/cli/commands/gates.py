"""`halfsplit gates`: cards of pure logic, thousands of gates at once."""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from typing import TYPE_CHECKING

from halfsplit.cli.arguments import whole_number
from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

if TYPE_CHECKING:
    from halfsplit.build.gates import NamedGates
    from halfsplit.diagnose.gates import GateCase, Probe

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument(
        "netlist", metavar="NETLIST", help="a .bench netlist, a board file, or an example's name"
    )
    parser.add_argument(
        "--test",
        metavar="IN:OUT",
        action="append",
        default=[],
        help="levels at the inputs and what the outputs gave: 101:0x, or A=1,B=0,C=1:Y=0",
    )
    parser.add_argument(
        "--read",
        metavar="NET=LEVEL",
        action="append",
        default=[],
        help="what a net reads during the first test, or NET=LEVEL@2 during the second",
    )
    parser.add_argument(
        "--model",
        choices=("stuck", "inverted", "both"),
        default="stuck",
        help="faults looked for: stuck lines, gates that give the opposite, or both",
    )
    parser.add_argument(
        "--offer",
        metavar="N",
        type=whole_number,
        default=0,
        help="N further inputs may be applied too, taken at random, when that tells more",
    )
    parser.add_argument("--ask", action="store_true", help="ask for one reading after another")
    parser.add_argument(
        "--vectors",
        metavar="N",
        type=whole_number,
        default=1000,
        help="without a test: how many random vectors to try on the faults; else 1000",
    )


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Say what explains the tests and where to probe, or, without a test, what is there."""
    from halfsplit.diagnose.gates import GateCase
    from halfsplit.diagnose.gates_typed import typed_reading, typed_test
    from halfsplit.errors import ReadingError

    named = _named(args)
    if not args.test:
        if args.read or args.ask:
            raise ReadingError("expected a failing test before readings: --test INPUTS:OUTPUTS")
        return _overview(named, args.vectors)
    tests = [typed_test(named, text) for text in args.test]
    case = GateCase.start(named, tests, model=args.model, offer=args.offer)
    for text in args.read:
        case = case.read(typed_reading(named, text, len(case.tests)))
    if args.ask and not args.json:
        case = _asked(case, screen)
    return Answer(data=_data(case), lines=lambda screen: _lines(case, screen))


def _named(args: argparse.Namespace) -> NamedGates:
    from halfsplit.board.reader import read_board
    from halfsplit.board.source import find_source
    from halfsplit.build.gates import read_bench
    from halfsplit.build.gates_board import board_gates
    from halfsplit.parts.vocabulary import PartsVocabulary

    source = find_source(args.netlist)
    if args.netlist.endswith(".bench"):
        return read_bench(source.text, source=source.where)
    return board_gates(read_board(source.text, PartsVocabulary(), source=source.where))


def _overview(named: NamedGates, vectors: int) -> Answer:
    from halfsplit.diagnose.gates_cover import cover
    from halfsplit.diagnose.gates_typed import order_of_levels

    found = cover(named, vectors)

    def lines(screen: Screen) -> Iterable[str]:
        yield screen.strong(named.title)
        yield from screen.wrap(found.sentence)
        yield from screen.wrap(
            f"Levels of a test in this order: {order_of_levels(named)}", hang="  "
        )

    data = {
        "title": named.title,
        "inputs": list(named.inputs),
        "outputs": list(named.outputs),
        "nets": len(named.names),
        "faults": found.faults,
        "classes": found.classes,
        "shown": found.shown,
        "vectors": found.vectors,
        "all_vectors": found.all_vectors,
        "sentence": found.sentence,
    }
    return Answer(data=data, lines=lines)


def _data(case: GateCase) -> dict[str, object]:
    return {
        "title": case.named.title,
        "explain": len(case.changes.net),
        "bits_left": case.bits_left(),
        "pairs": list(_pairs(case)),
        "suspects": [
            {"fault": one.fault, "probability": one.probability} for one in case.suspects()
        ],
        "probes": [
            {
                "net": one.net,
                "test": one.test + 1,
                "inputs": one.inputs,
                "bits": one.bits,
                "good": int(one.good),
                "good_chance": one.good_chance,
            }
            for one in case.probes()
        ],
    }


def _lines(case: GateCase, screen: Screen) -> Iterable[str]:
    yield screen.strong(case.named.title)
    many = len(case.changes.net)
    yield f"{many or 'no'} single {'fault explains' if many == 1 else 'faults explain'} the tests."
    if pairs := _pairs(case):
        yield from screen.wrap(f"Two gates that would explain them together: {'; '.join(pairs)}.")
    probes = case.probes()
    yield from (_probe_words(one, case) for one in probes[:1])
    rows = [(f"{one.bits:.2f} bit", _place(one, case)) for one in probes[1:]]
    yield from screen.columns(rows)
    if not probes:
        yield "No further probe tells anything worth the walk."
    yield ""
    yield screen.strong("Suspects")
    yield from screen.columns(
        [
            (screen.bar(one.probability), f"{100 * one.probability:.0f} %", one.fault)
            for one in case.suspects()
        ],
        right=(1,),
    )


def _pairs(case: GateCase) -> tuple[str, ...]:
    return () if len(case.changes.net) else case.pairs()


def _asked(case: GateCase, screen: Screen) -> GateCase:
    """Readings typed one after another; an empty line or the end of the input stops."""
    from halfsplit.diagnose.gates import Level
    from halfsplit.diagnose.gates_typed import typed_level
    from halfsplit.errors import ReadingError

    while probes := case.probes(1):
        print(_probe_words(probes[0], case))
        try:
            typed = input("0 or 1, empty to stop> ").strip()
        except EOFError:
            break
        if not typed:
            break
        try:
            high = typed_level(typed)
        except ReadingError as error:
            print("\n".join(screen.wrap(str(error), "! ", "  ")))
            continue
        case = case.read(Level(net=case.named.net(probes[0].net), test=probes[0].test, high=high))
    return case


def _probe_words(probe: Probe, case: GateCase) -> str:
    good = "high" if probe.good else "low"
    likely = f"{100 * probe.good_chance:.0f} % likely here"
    return (
        f"Probe {_place(probe, case)}: a good card reads {good}, which is {likely}; "
        f"it tells {probe.bits:.2f} bit."
    )


def _place(probe: Probe, case: GateCase) -> str:
    if len(case.tests) == 1:
        return probe.net
    return f"{probe.net} during test {probe.test + 1} (inputs {probe.inputs})"


KIND = Command(
    name="gates",
    order=87,
    help="on cards of pure logic: which faults explain failing tests, and which net to probe next",
    arguments=arguments,
    run=run,
    more="Chips with memory count as the world around the card. Without a test: the faults there "
    "are, and how many of them random tests show.",
)
