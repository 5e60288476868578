"""The demo from symptom to a signed-off record, and the page that shows it."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from scipy import stats
from tests.repair.first_repair import FAULT, RECORD, Walk, walked

pytestmark = [pytest.mark.spice, pytest.mark.usefixtures("libngspice")]

PAGE = Path(__file__).parents[2] / "docs" / "first-repair.md"
DATE = re.compile(r"\d{4}-\d\d-\d\d \d\d:\d\d")
NUMBER = re.compile(r"\d+(?:\.\d+)?")
BLOCKS = re.compile(r"[█▏▎▍▌▋▊▉·#.]{10}")


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Walk, Path]]:
    folder = tmp_path_factory.mktemp("bench")
    with walked(folder) as walk:
        yield walk, folder


def test_the_right_part_is_found_proven_and_counted(made: tuple[Walk, Path]) -> None:
    walk, _ = made
    run = walk.bench.acceptance()
    assert run is not None
    assert run.closed
    assert run.cause is not None
    assert run.cause.plain_id == FAULT
    assert run.probability > 0.9
    assert [entry.words for entry in walk.bench.log() if entry.kind == "repaired"] == ["Q2"]
    closed = walk.bench.log()[-1]
    assert closed.kind == "closed"
    assert closed.data == {"cause": FAULT, "proven": True}


def test_the_record_carries_all_of_it(made: tuple[Walk, Path]) -> None:
    walk, folder = made
    record = walk.bench.record()
    # power-up: the plan with its limits, and what was read on the way
    assert any("current limit" in line for line in record.power_up)
    assert any("Ohms to ground before power: +5" in words for _, words in record.notes)
    # reasoning: the part leads, and readings say why
    assert record.reasons[0].suspect == "Q2"
    assert record.reasons[0].why
    assert record.course[-1][record.leaders.index("Q2")] > 0.9
    # protection and worth, as they stood before the iron
    assert any(line.startswith("U1 cannot be had again") for line in record.protected)
    written = next(line for line in record.protected if line.startswith("Write to it"))
    before, now = map(float, NUMBER.findall(written))
    assert before > 10.0 * now
    assert "minutes to a proven repair" in record.weighed[0]
    # replacement and its justification
    assert any("what serves in its place" in line and "2N2222A" in line for line in record.changed)
    assert any("may have killed it" in line for line in record.changed)
    # acceptance with its statistics: Clopper and Pearson's limit, no failure in 299
    bound = 100.0 * stats.beta.ppf(0.95, 1, 299)
    assert f"less than {bound:.2g} % fail, at 95% confidence" in record.proof
    assert record.missing == ()
    assert any("Q2, the part taken out" in line for line in record.acceptance)
    page = (folder / RECORD).read_text(encoding="utf-8")
    for said in (*record.protected, "Was it worth it", "Power-up after the repair", "299 of 299"):
        assert said in page


def test_the_page_shows_what_the_commands_answer_now(made: tuple[Walk, Path]) -> None:
    """Words must agree; figures may differ by rounding between machines."""
    walk, _ = made
    now, shown = "\n".join(walk.page) + "\n", PAGE.read_text(encoding="utf-8")
    stale = "stale: python -m tests.repair.first_repair > docs/first-repair.md"
    assert _words(shown) == _words(now), stale
    old, new = (list(map(float, NUMBER.findall(DATE.sub("", text)))) for text in (shown, now))
    assert new == pytest.approx(old, rel=0.1, abs=0.051), stale


def _words(text: str) -> list[str]:
    """Without figures, dates, bars and the way lines are broken."""
    return NUMBER.sub("0", BLOCKS.sub("", DATE.sub("", text))).split()
