"""Readings that share their errors: what counts once, and what another one still tells."""

from pathlib import Path

import numpy as np
import pytest
from tests.build.worlds import world

import halfsplit.examples
from halfsplit.belief.gain import group_gains
from halfsplit.belief.posterior import Array, Indices
from halfsplit.belief.tables import Tables
from halfsplit.build.strands import strands
from halfsplit.checks.kind import Check, Limits, Meter
from halfsplit.diagnose.catalogue import Catalogue
from halfsplit.diagnose.forecast import Forecast, about
from halfsplit.diagnose.kin import gain_left
from halfsplit.diagnose.outlook import look_ahead
from halfsplit.diagnose.session import Session

EXAMPLE = Path(halfsplit.examples.__path__[0]) / "panel-display.board"
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
    assert {about(check, "place", board, {}) for check in checks} == {("voltage", "MID")}
    ohms = Check(kind="ohms", places=("R1.2", "R2.2"), state="")
    assert about(ohms, "pair", board, {}) == ("ohms",)
    diode = Check(kind="diode", places=("R1.2", "R2.2"), state="")
    assert about(diode, "pair", board, {}) == ("diode", "", "MID", "GND")
    look = Check(kind="look", places=("R1",), state="")
    assert about(look, "part", board, {}) == (look.id,)


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
    far = next(k for k, offer in enumerate(out.offers) if offer.check.id == "volts C1.1 @on")
    assert seen.bits[at] < 0.005, "with the joint of R2 open R1.2 would have read 5 V"
    assert seen.bits[far] > 5.0 * seen.bits[at], "the joint of C1 may still be the one"


def predicted(*volts: float, net: str = "A") -> Forecast:
    yes = np.ones(len(volts), dtype=np.bool_)
    return Forecast(nets=(net,), state="on", mean=np.array(volts), shared=yes, firm=yes)


def test_kin_tell_nothing_where_all_predict_the_same_and_all_where_none_does() -> None:
    tables = Tables.pack([TABLE], 4)
    same, apart, some = (
        predicted(2.0, 2.0, 2.0),
        predicted(5.0, 6.0, 7.0),
        predicted(2.0, 6.0, 2.0, net="B"),
    )
    whole = gain_left(P, GROUP, tables, 0, same, [])
    assert whole > 0.2
    assert gain_left(P, GROUP, tables, 0, same, [apart]) == pytest.approx(whole)
    rest = gain_left(P, GROUP, tables, 0, same, [same])
    assert rest == pytest.approx(0.0, abs=1e-6), "nor does something else, on the same net"
    half = gain_left(P, GROUP, tables, 0, same, [some])
    assert half == pytest.approx(whole, abs=1e-6), "rows 0 and 2 of the table are alike anyway"


def test_the_reading_that_repeats_for_all_counts_before_those_that_repeat_for_some() -> None:
    """A leg that reads the same in two states tells nothing the second time, though for one fault
    it is one thing with a leg read before, and for the others with another."""
    tables = Tables.pack([TABLE], 4)
    leg, near, far = predicted(5.0, 5.0, 0.0), predicted(5.0, 5.0, 5.0), predicted(0.0, 0.0, 0.0)
    assert gain_left(P, GROUP, tables, 0, leg, [far, near]) > 0.1
    assert gain_left(P, GROUP, tables, 0, leg, [far, near, leg]) == pytest.approx(0.0, abs=1e-6)


FUSED = """board "fused"
rail RAW 18V 15% ohms=0.8
F1 fuse 1A RAW IN
C1 electrolytic 2200uF IN GND
R1 47 5% IN GND
R2 10k 5% RAW OTHER
R3 10k 5% OTHER GND
state on
output load current R1 above 200mA
"""


def test_a_fuse_makes_one_thing_of_two_nets_and_a_resistor_does_not() -> None:
    assert strands(world(FUSED).board) == {"RAW": "IN"}


def test_a_drop_along_a_fuse_is_current_whatever_the_supply() -> None:
    """Ohm's law: 12.15 V before a fuse of 0.1 ohm and 11.39 V behind it are 8 A. A supply that is
    low explains either reading, and not the two; a short behind the fuse explains them."""
    board = world(FUSED)
    session = Session.start(board, Meter(), Limits())
    names = [fault.id for fault in board.faults]
    low, short = names.index("RAW low"), names.index("C1 short")
    ratios = []
    for place, said in (("F1.1", "12.15"), ("F1.2", "11.39")):
        check = Check(kind="volts", places=(place,), state="on")
        session = session.enter(check, session.catalogue.kind("volts").read(check, said, board))
        ratios.append(session.p[short] / session.p[low])
    assert ratios[1] > 8.0 * ratios[0]


def test_paths_through_unpowered_chips_are_wrong_together_and_resistors_each_on_its_own() -> None:
    """What the dies of unpowered chips leak is in every reading through them (common practice, no
    source): a second one says what the first said. Resistors are drawn one by one."""
    catalogue = Catalogue(world(EXAMPLE.read_text(encoding="utf-8")), Meter())
    pairs = [("U1.5", "net GND"), ("Q3.c", "net GND"), ("R1.1", "R1.2"), ("R2.1", "R2.2")]
    read = [catalogue.forecast(Check(kind="ohms", places=pair, state="")) for pair in pairs]
    chip, other_chip, resistor, other_resistor = [one for one in read if one is not None]
    assert chip.same(other_chip)[0]
    assert resistor.mean[0] == pytest.approx(other_resistor.mean[0], abs=0.02)
    assert not resistor.same(other_resistor)[0]
    assert resistor.same(resistor)[0]


def test_a_slip_between_readings_of_one_place_is_a_slip_for_every_cause() -> None:
    """Four readings of 1.9 V and one of 4.4 V at one net in one state: the one is the meter's,
    whatever is wrong, so it does not bring in something that nobody has listed."""
    with_slip = [
        ("R1.2", "1.9"),
        ("R2.1", "1.9"),
        ("R1.2", "1.9"),
        ("R2.1", "4.4"),
        ("R2.1", "1.9"),
    ]
    slipped = entered(*((place, "on", said) for place, said in with_slip))
    plain = entered(*((place, "on", said) for place, said in with_slip if said == "1.9"))
    assert slipped.p[-1] < 3.0 * plain.p[-1] < 0.2
