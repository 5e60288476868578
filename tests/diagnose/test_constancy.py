"""A fault that comes and goes: asked for when nothing wrong was seen, and then looked for."""

from tests.diagnose import boards
from tests.diagnose.boards import case, fault_shares, more
from tests.diagnose.test_lessons_repair import DEAD, OPEN

from halfsplit.checks.constancy import CONSTANCY
from halfsplit.diagnose.choose import suggest
from halfsplit.diagnose.session import Session
from halfsplit.diagnose.verdict import verdict
from halfsplit.diagnose.watching import WATCH, WATCHING
from halfsplit.diagnose.wider import considered, is_wider, widen


def all_right() -> Session:
    """Every output seen to do in every state what a good board does."""
    session = case(boards.CHANNEL)
    kind = session.catalogue.kind("symptom")
    return more(session, *((check.id, "right") for check in kind.offers(session.world)))


def asked(session: Session) -> str:
    return suggest(session, 1)[0].kind


def test_it_is_asked_whether_the_trouble_is_always_there_when_nothing_wrong_was_seen() -> None:
    session = all_right()
    assert asked(session) == CONSTANCY
    question = suggest(session, 1)[0].id
    assert asked(more(session, (question, "every time"))) != CONSTANCY
    assert asked(case(boards.CHANNEL, ("symptom phase A pulls @hold", "off"))) != CONSTANCY


def test_what_comes_and_goes_is_weighed_when_somebody_has_seen_it() -> None:
    session = all_right()
    question = suggest(session, 1)[0].id
    always, fitful = (more(session, (question, word)) for word in ("always", "now and then"))
    assert not is_wider(considered(always))
    wide = considered(fitful)
    assert is_wider(wide)
    share = sum(
        float(p) for fault, p in zip(wide.world.faults, wide.p, strict=False)
        if "now and then" in fault.id
    )  # fmt: skip
    assert share > 0.5
    assert any(name.startswith("symptom") for name in wide.catalogue.again)


def test_what_was_waited_for_clears_a_fault_that_comes_and_goes_and_a_quick_reading_does_not() -> (
    None
):
    session = all_right()
    question = suggest(session, 1)[0].id
    good = ("volts R1.2 @idle", "0.74")  # as on a good board; 0.0 with R1 open
    quick, waited = (
        considered(more(session, *readings))
        for readings in ((good, (question, "now and then")), ((question, "now and then"), good))
    )
    fault = "R1 open, now and then"
    before = fault_shares(considered(more(session, (question, "now and then"))))[fault]
    assert before > 0.001
    assert fault_shares(quick)[fault] > 0.3 * before
    assert fault_shares(waited)[fault] < 0.15 * before
    assert "volts R1.2 @idle" in quick.catalogue.again
    assert "volts R1.2 @idle" not in waited.catalogue.again


def test_a_reading_that_waits_says_so_and_takes_its_minutes() -> None:
    session = all_right()
    question = suggest(session, 1)[0].id
    wait = more(session, (question, "now and then"))
    found = [one for one in suggest(wait, 10) if one.kind in ("volts", "ohms", "symptom")]
    assert found
    for one in found:
        usual = session.catalogue.kind(one.kind)
        assert one.check is not None
        assert one.minutes == usual.minutes(one.check, session.world) + WATCH
        assert WATCHING in one.sentence
        assert WATCHING not in usual.sentence(one.check, session.world)


def test_who_cannot_tell_is_not_asked_again() -> None:
    session = all_right()
    question = suggest(session, 1)[0].id
    assert asked(more(session, (question, "?"))) != CONSTANCY


def test_what_no_output_shows_is_not_what_was_seen_to_come_and_go() -> None:
    """D1 open shows at no output, R1 open does: their odds before and after it was said."""
    session = all_right()
    question = suggest(session, 1)[0].id
    unsaid = fault_shares(widen(session))
    said = fault_shares(considered(more(session, (question, "now and then"))))
    one, other = (f"{fault} open, now and then" for fault in ("D1", "R1"))
    assert said[one] / said[other] < 0.4 * unsaid[one] / unsaid[other]


def test_it_is_asked_before_a_part_is_taken_out() -> None:
    """R2 is found open and fails its test; an hour is lost if a good part was taken out, so half a
    minute is worth while, and after a repair that left the output wrong it is as well."""
    tested = (DEAD, ("parttest R2", "failed"), *OPEN[-1:], *OPEN[1:-1])
    sure = case(boards.CHANNEL, *tested)  # the last reading with power on
    assert verdict(sure).kind == "repair"
    assert asked(sure) == CONSTANCY
    question = suggest(sure, 1)[0].id
    assert asked(more(sure, (question, "always"))) == "repair"
    assert asked(more(sure, (question, "?"))) == "repair"
    still = more(sure.repaired("R2"), DEAD)
    assert asked(still) == CONSTANCY
