"""A record on the command line becomes evidence: kept with the case, a reading for every stage."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from halfsplit.cli.command import Answer
from halfsplit.cli.screen import Screen

if TYPE_CHECKING:
    from halfsplit.bench import Bench
    from halfsplit.build.transient_schedule import Schedule
    from halfsplit.capture.record import Record

__all__ = ["enter_record", "keep_record", "kept_words"]


def enter_record(
    record: Record,
    bench: Bench,
    given: Mapping[str, str],
    schedule: Schedule | None,
    *,
    look: bool,
) -> Answer:
    """Keep the record and enter a reading for every stage, or only tell with ``look``. Raises as
    `enter_capture`, with nothing kept."""
    from halfsplit.cli.show import next_lines
    from halfsplit.cli.suggested import offer
    from halfsplit.diagnose.captured import nets_of_channels, read_capture
    from halfsplit.evidence import enter_capture

    nets = nets_of_channels(record, bench.world, given)
    if look:
        found, done, after = read_capture(record, nets, bench.world, schedule), None, None
    else:
        done = enter_capture(bench, record, nets, schedule, keep=lambda: keep_record(record, bench))
        found, after = done.captured, offer(bench, bench.next())
    data = {
        "source": record.source,
        "nets": nets,
        **found.to_json(),
        "kept": done.kept if done else None,
        "entered": list(done.readings) if done else [],
        "picture": done.picture if done else None,
        "next": after.to_json() if after else None,
    }

    def lines(screen: Screen) -> Iterable[str]:
        bad = found.first_bad
        yield screen.strong(
            f"The first bad stage is {' '.join(bad.nets)}." if bad else "Every stage is right."
        )
        for one in found.stages:
            yield from screen.wrap(one.words, hang="  ")
        for coil in found.measured:
            yield f"{coil.check.id}: {coil.text}"
        for remark in (*found.left_out, *found.remarks):
            yield from screen.wrap(remark, "! ", "  ")
        if done and done.kept:
            yield kept_words(done.kept)
        if after is not None:
            yield ""
            yield from next_lines(after, screen)

    return Answer(data=data, lines=lines)


def keep_record(record: Record, bench: Bench) -> str:
    """Keep the record among the captures of the case; the name it got there."""
    from halfsplit.recordings import Recordings

    return Recordings(bench.path).add_parts(record.source, [record])


def kept_words(name: str) -> str:
    """Where it is."""
    return f"kept as {name!r} in the captures of the case"
