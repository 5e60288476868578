"""`halfsplit meter`: the owner's meter, measured with three resistors and a diode."""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from typing import TYPE_CHECKING

from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

if TYPE_CHECKING:
    from halfsplit.checks.kind import Meter

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument(
        "--resistor",
        nargs=3,
        action="append",
        default=[],
        metavar=("VALUE", "OHMS", "DIODE"),
        help="a good resistor: its value, what the ohms range shows, what the diode test shows "
        "(volts, or OL); three times or more",
    )
    parser.add_argument(
        "--diode",
        nargs=2,
        metavar=("DIODE", "OHMS"),
        help="a small silicon diode, red on its anode: what the diode test and the ohms range show",
    )
    parser.add_argument("--beeps-below", metavar="OHMS", help="where the continuity beeper stops")
    parser.add_argument("--capacitance", metavar="HERTZ", help="it has a capacitance range; or 0")
    parser.add_argument("--esr", metavar="HERTZ", help="it has a range for ESR; or 0")
    parser.add_argument("--case", metavar="CASE", help="use it in this case from now on as well")
    parser.add_argument("--forget", action="store_true", help="forget it, and take a usual one")


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Measure, keep and show the meter."""
    from dataclasses import asdict

    from halfsplit.checks.kind import Meter
    from halfsplit.cli.cases import open_case
    from halfsplit.diagnose.told import meter_of
    from halfsplit.report.wording import meter_lines
    from halfsplit.store import own_meter

    if args.forget:
        own_meter.forget()
    kept = own_meter.load()
    old = meter_of(kept) if kept else Meter()
    meter = _told(old, args)
    if meter != old:
        own_meter.save(asdict(meter))
    if args.case:
        with open_case(args.case) as bench:
            bench.set_meter(meter)

    def lines(screen: Screen) -> Iterable[str]:
        yield screen.strong("Calibrated" if meter.calibrated else "A usual meter, not calibrated")
        yield from (f"  {line}" for line in meter_lines(meter))
        yield (
            f"New cases use what is in {own_meter.meter_path()}"
            if kept or meter != old
            else ("Nothing is kept: new cases take it for a usual one")
        )

    return Answer(data={"path": str(own_meter.meter_path()), "meter": asdict(meter)}, lines=lines)


def _told(meter: Meter, args: argparse.Namespace) -> Meter:
    """The meter with all that was given."""
    from dataclasses import replace

    from halfsplit.checks._calibrate import calibrated_as_typed
    from halfsplit.errors import ReadingError

    if args.resistor or args.diode:
        meter = calibrated_as_typed(meter, args.resistor, args.diode)
    given = {
        "continuity_ohms": (args.beeps_below, "Ω"),
        "capacitance_hertz": (args.capacitance, "Hz"),
        "esr_hertz": (args.esr, "Hz"),
    }
    told = {name: _number(text, unit) for name, (text, unit) in given.items() if text is not None}
    if any(value < 0.0 for value in told.values()):
        raise ReadingError("expected ohms and hertz from 0 up, got less")
    return replace(meter, **told)


def _number(text: str, unit: str) -> float:
    from halfsplit import units

    return units.parse(text, unit)


KIND = Command(
    name="meter",
    order=58,
    help="say what your meter is, measured with three resistors and a diode",
    arguments=arguments,
    run=run,
    more="New cases begin with it. Without arguments it is shown.",
)
