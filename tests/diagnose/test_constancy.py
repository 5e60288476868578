"""A fault that comes and goes: asked for when nothing wrong was seen, and then looked for."""

from tests.diagnose import boards
from tests.diagnose.boards import case, more

from halfsplit.checks.constancy import CONSTANCY
from halfsplit.diagnose.choose import suggest
from halfsplit.diagnose.session import Session
from halfsplit.diagnose.wider import considered, is_wider


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
