"""Readings that share their errors: what counts once, and what another one still tells."""

import numpy as np
import pytest
from tests.build.worlds import world

from halfsplit.belief.gain import group_gains
from halfsplit.belief.posterior import Array, Indices
from halfsplit.belief.tables import Tables
from halfsplit.checks.kind import Check, Limits, Meter
from halfsplit.diagnose.kin import about, gain_left
from halfsplit.diagnose.outlook import look_ahead
from halfsplit.diagnose.session import Session

DIVIDER = """board "divider"
rail +5 5V 1%
R1 1k 1% +5 MID
R2 1k 1% MID GND
C1 electrolytic 10u MID GND
state on
state again
output middle volts MID above 2V
"""
P: Array = np.array([0.25, 0.25, 0.25, 0.25])
GROUP: Indices = np.array([0, 1, 2, 3])
TABLE = np.array([[0.9, 0.1], [0.1, 0.9], [0.9, 0.1], [0.5, 0.5]])


def entered(*readings: tuple[str, str, str]) -> Session:
    board = world(DIVIDER)
    session = Session.start(board, Meter(), Limits())
    for place, state, said in readings:
        check = Check(kind="volts", places=(place,), state=state)
        session = session.enter(check, session.catalogue.kind("volts").read(check, said, board))
    return session


def test_a_net_is_one_thing_in_every_state_for_volts_and_level() -> None:
    board = world(DIVIDER)
    checks = [
        Check(kind=kind, places=(place,), state=state)
        for kind in ("volts", "level")
        for place in ("R1.2", "R2.1", "net MID")
        for state in ("on", "again")
    ]
    assert {about(check, "place", board) for check in checks} == {("voltage", "MID")}
    ohms = Check(kind="ohms", places=("R1.2", "R2.2"), state="")
    assert about(ohms, "pair", board) == ("ohms", "", "MID", "GND")
    look = Check(kind="look", places=("R1",), state="")
    assert about(look, "part", board) == (look.id,)


def test_the_legs_of_a_net_say_the_same_once() -> None:
    """A leak and an open resistor both lower nothing between the legs of a good net: the second
    leg's reading moves only what the joints would do."""
    once = entered(("R1.2", "on", "1.9"))
    twice = entered(("R1.2", "on", "1.9"), ("C1.1", "on", "1.9"), ("R2.1", "again", "1.9"))
    names = [fault.id for fault in once.world.faults]
    leaky, low = names.index("C1 leaky, slightly"), names.index("R2 drifted low")
    before, after = once.p[leaky] / once.p[low], twice.p[leaky] / twice.p[low]
    assert after == pytest.approx(before, rel=0.02)
    cut = names.index("C1.1 joint open")
    assert twice.p[cut] < once.p[cut] + 1e-9


def test_a_leg_of_a_net_that_was_read_tells_joints_and_nothing_else() -> None:
    session = entered(("R1.2", "on", "1.9"))
    out = look_ahead(session)
    at = next(k for k, offer in enumerate(out.offers) if offer.check.id == "volts R2.1 @on")
    blind = group_gains(session.p, session.group, out.tables.take(np.array([at])))[0]
    assert out.bits[at] < 0.5 * blind, "the table alone takes the new reading for news"
    healthy = entered(("R1.2", "on", "2.5"))
    seen = look_ahead(healthy)
    assert seen.bits[at] > 0.05, "every joint of the net may still be the one"


def test_kin_tell_nothing_where_all_predict_the_same_and_all_where_none_does() -> None:
    tables = Tables.pack([TABLE], 4)
    same = np.array([2.0, 2.0, 2.0])
    apart = np.array([5.0, 6.0, 7.0])
    whole = gain_left(P, GROUP, tables, 0, same, [])
    assert whole > 0.2
    assert gain_left(P, GROUP, tables, 0, same, [apart]) == pytest.approx(whole)
    rest = gain_left(P, GROUP, tables, 0, same, [same])
    assert rest < 0.05, "only something else reads otherwise"
    half = gain_left(P, GROUP, tables, 0, same, [np.array([2.0, 6.0, 2.0])])
    assert half == pytest.approx(whole, abs=1e-6), "rows 0 and 2 of the table are alike anyway"
