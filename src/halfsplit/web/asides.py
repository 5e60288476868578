"""What a person at the page asks beside the next check, each where its step needs it: how to switch
on, what may take a part's place, a wire for a track, whether to go on, how long a run proves, what
the mechanism would do. Plain values, told as paragraphs and tables."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path

from halfsplit import units
from halfsplit.bench import Bench
from halfsplit.build.motion import steppers
from halfsplit.build.motion_file import described
from halfsplit.diagnose.power_up import power_up
from halfsplit.diagnose.proof import Claim, proof
from halfsplit.diagnose.protect import advice
from halfsplit.diagnose.wider import considered
from halfsplit.diagnose.worth import worth
from halfsplit.errors import ReadingError, UnknownName
from halfsplit.motion.judge import RUNS, WORDS
from halfsplit.replacement.advice import Replacer
from halfsplit.replacement.copper import Track
from halfsplit.replacement.jumper import choose, jumpers
from halfsplit.replacement.net import net_current
from halfsplit.replacement.operating import operate
from halfsplit.replacement.tables import table

__all__ = ["aside", "heard"]

Data = dict[str, object]
Query = Mapping[str, str]
MOST_MOVED = 12
"""Faults whose motion is told."""
STEPS = 24
"""Steps there, and as many back, of which a recording is taken."""


def aside(name: str, bench: Bench, query: Query) -> Data:
    """``parts``: a list of ``head``, ``words`` (paragraphs), ``heads`` and ``rows`` (a table).
    Raises UnknownName for what cannot be asked, ReadingError for a number that is none."""
    if name not in _ASKED:
        raise UnknownName("question", name, _ASKED)
    return {"parts": list(_ASKED[name](bench, query))}


def _part(
    head: str = "",
    words: Iterable[str] = (),
    heads: Sequence[str] = (),
    rows: Iterable[Sequence[str]] = (),
) -> Data:
    return {
        "head": head,
        "words": list(words),
        "heads": list(heads),
        "rows": [list(row) for row in rows],
    }


def _power_up(bench: Bench, query: Query) -> Iterable[Data]:
    plan = power_up(bench.world)
    yield _part("Caution", plan.cautions)
    yield _part(rows=((f"{at}.", step) for at, step in enumerate(plan.steps, 1)))
    yield _part("Watch", plan.watch)
    yield _part("Stop when", plan.stop)


def _replacement(bench: Bench, query: Query) -> Iterable[Data]:
    found = Replacer(operate(bench.world)).of(query.get("part", "").strip())
    yield _part(f"{found.part.designator}: {found.part.kind} {found.part.type}".rstrip(),
                (f"Stop: {one}" for one in found.stops))  # fmt: skip
    yield _part("What it stands here", (one.words for one in found.stress))
    yield _part("May have killed it", found.causes)
    yield _part(
        "What may take its place", (), ("", "type", ""),
        ((one.verdict, one.name, "; ".join(filter(None, ("tried" if one.tried else "", one.why))))
         for one in found.candidates),
    )  # fmt: skip
    yield _part("", found.remarks)
    yield _part("", ("Limits are those of the types; another maker’s sheet comes first.",))


def _wire(bench: Bench, query: Query) -> Iterable[Data]:
    net = query.get("net", "").strip()
    given, length = query.get("amps", "").strip(), _number(query, "mm", 100.0)
    amps, where = (units.parse(given, "A"), "") if given else net_current(operate(bench.world), net)
    if amps <= 0.0:
        raise ReadingError(f"no current is predicted in {net}; type the amperes, such as 400mA")
    track = Track(width=_number(query, "width", 1.0) * 1e-3)
    found = jumpers(amps, length * 1e-3, track=track if query.get("width") else None)
    best = choose(found)
    yield _part(
        f"{units.format_quantity(amps, 'A')} over {length:g} mm" + (f" ({where})" if where else ""),
        (f"Take gauge {best.wire.gauge}." if best else "None of these: use two in parallel.",),
        ("gauge", "diameter", "drop", "heat", ""),
        ((str(one.wire.gauge), f"{one.wire.diameter * 1e3:.2f} mm", f"{one.drop * 1e3:.3g} mV",
          units.format_quantity(one.watts, "W"), "; ".join(one.why_not) or "will do")
         for one in found),
    )  # fmt: skip
    for each in table("mending")["advice"]:
        yield _part(each["what"], each["words"])


def _worth(bench: Bench, query: Query) -> Iterable[Data]:
    found = worth(bench.session)
    changes = (one for one in found.changes if "halfsplit " not in one)  # nothing to be typed here
    yield _part("", (found.sentence, *changes))
    careful = ((f"{one.risk:.0f}", one.what, one.why) for one in advice(bench.session))
    yield _part("What risks least, first", (), ("minutes at risk", "", ""), careful)


def _proof(bench: Bench, query: Query) -> Iterable[Data]:
    claim = Claim(
        reliability=_number(query, "right", 99.0) / 100.0,
        confidence=_number(query, "sure", 95.0) / 100.0,
        failures=int(_number(query, "failures", 0.0)),
        hours=_number(query, "hours", 1.0),
    )
    try:
        found = proof(claim, bench.session)
    except ValueError as error:
        raise ReadingError(str(error)) from error
    rows = [
        (str(found.passes), f"passes, {claim.failures} of them wrong at most"),
        (str(found.sequential), "passes by the sequential plan when none is wrong"),
        (f"{found.hours:.3g} h", f"of running, for {claim.hours:g} h between failures"),
    ]
    if found.quiet is not None:
        rows.append((str(found.quiet), "quiet passes, for a fault that came as often as yours"))
    yield _part("It takes", rows=rows)
    said = (f"{found.so_far} Sequential plan: {found.stands}.",) if found.so_far else ()
    yield _part("", (*found.conditions, *said, "Enter what was counted as the check “many passes "
                     "in a row, counted”. The claim is about this unit under these "
                     "conditions."))  # fmt: skip


def _motion(bench: Bench, query: Query) -> Iterable[Data]:
    world = bench.world
    stepper = next(iter(steppers(world)), None)
    if stepper is None:
        yield _part("", (_NO_MOTOR,))
        return
    found = described(world.board, stepper).symptoms(world, stepper)
    likely = considered(bench.session).suspects()
    shares = {fault.plain_id: share for one in likely for fault, share in one.faults}
    rows = []
    for at, fault in enumerate(world.faults):
        words = found.words[at]
        if fault.version_of or fault.plain_id not in shares or words[0] != words[0]:
            continue
        best = int(words.argmax())
        if best != RUNS:
            warm = (
                f"; fades when warm in {100 * found.fades[at]:.0f} %"
                if found.fades[at] > 0.0
                else ""
            )
            row = (fault.id, WORDS[best], f"in {100 * words[best]:.0f} % of loads and rates{warm}")
            rows.append((shares[fault.plain_id], row))
    rows.sort(key=lambda row: -row[0])
    yield _part(
        f"Motor {', '.join(stepper.windings)}, stepped by {', '.join(stepper.states)}",
        (f"What the likeliest faults would make of it, over {found.conditions} loads and rates in "
         "which a healthy unit runs. Load and rate decide much: take it as a hint. “What the "
         "mechanism does” is a check that can be entered under “I measured something else”.",),
        ("fault", "the mechanism", ""), (row for _, row in rows[:MOST_MOVED]),
    )  # fmt: skip


def heard(bench: Bench, recording: Path, query: Query) -> Data:
    """As `aside`: which faults would sound like a recording of the mechanism stepping."""
    from halfsplit.build.motion_heard import matches, recorded

    world = bench.world
    stepper = next(iter(steppers(world)), None)
    if stepper is None:
        raise ReadingError(_NO_MOTOR)
    rate = _number(query, "rate", 100.0)
    if not 0.5 <= rate <= 5000.0:
        raise ReadingError(f"expected a rate from 0.5 to 5000 steps a second, got {rate:g}")
    said = recorded(recording, query.get("recording", "the recording"))
    found = matches(world, stepper, described(world.board, stepper), rate, said, STEPS)
    rows = [(f"{100 * like:.0f} %", fault) for fault, like in found[:MOST_MOVED]]
    told = (f"Recorded: {said.words}", f"Nearest at {rate:g} steps a second, {STEPS} there and "
            "back. Several faults sound the same, so take it as a hint.")  # fmt: skip
    return {"parts": [_part("What it sounds like", told, ("alike", "fault"), rows)]}


def _gates(bench: Bench, query: Query) -> Iterable[Data]:
    from halfsplit.build.gates_board import board_gates
    from halfsplit.diagnose.gates import MODELS, GateCase
    from halfsplit.diagnose.gates_typed import order_of_levels, typed_reading, typed_test

    named = board_gates(bench.board)
    yield _part("Levels of a test, in this order", (order_of_levels(named),))
    tests = [typed_test(named, line) for line in query.get("tests", "").split()]
    if not tests:
        return
    model = next((one for one in MODELS if one == query.get("model")), MODELS[0])
    case = GateCase.start(named, tests, model=model)
    for line in query.get("reads", "").split():
        case = case.read(typed_reading(named, line, len(case.tests)))
    many = len(case.changes.net)
    pairs = () if many else case.pairs()
    yield _part(
        f"{many or 'No'} single {'fault explains' if many == 1 else 'faults explain'} the tests",
        (f"Two gates that would explain them together: {'; '.join(pairs)}.",) if pairs else (),
        ("", "fault"), ((f"{100 * one.probability:.0f} %", one.fault) for one in case.suspects()),
    )  # fmt: skip
    yield _part(
        "Probe next", (), ("net", "during test", "a good card", "tells"),
        ((one.net, f"{one.test + 1}: {one.inputs}", "high" if one.good else "low",
          f"{one.bits:.2f} bit") for one in case.probes()),
    )  # fmt: skip


def _number(query: Query, name: str, usual: float) -> float:
    text = query.get(name, "").strip().replace(",", ".")
    if not text:
        return usual
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0.0 <= value < 1e5:
        raise ReadingError(f"expected a number from 0 up as {name}, got {text!r}")
    return value


_NO_MOTOR = (
    "No stepping motor is found on this board: three windings or more that share a net, and a "
    "state for each step."
)
_ASKED: Mapping[str, Callable[[Bench, Query], Iterable[Data]]] = {
    "power-up": _power_up,
    "replacement": _replacement,
    "wire": _wire,
    "worth": _worth,
    "proof": _proof,
    "motion": _motion,
    "gates": _gates,
}
