"""A small made-up board with fixed predicted readings, in place of the real solver.

One driver channel: U3 (open collector inverters) pulls DRA, R7 pulls it up and feeds Q3's base,
Q3 switches the coil L1 from +24. In ``hold-A`` the coil is on, in ``idle`` it is off.
"""

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.board.model import Board, Output, Part, Rail, Remarks, State, Step
from halfsplit.build.fault import Fault, PinRef, Place, Suspect
from halfsplit.build.world import USUAL, MeterSource, Numbers, Storage
from halfsplit.errors import PlaceError, UnknownName, nearest
from halfsplit.solve.law import Array

BOARD = Board(
    title="one driver channel",
    rails=(Rail(net="+5", volts=5.0), Rail(net="+24", volts=24.0)),
    parts=(
        Part(
            designator="U3", kind="7406",
            pins={"5": "INA", "6": "DRA", "7": "GND", "14": "+5"},
            implied=frozenset({"7", "14"}), remarks=Remarks(socketed=True, price=2.0),
        ),
        Part(designator="R7", kind="resistor", value=1e3, pins={"1": "+5", "2": "DRA"}),
        Part(
            designator="Q3", kind="npn", pins={"b": "DRA", "c": "COIL", "e": "GND"},
            remarks=Remarks(spare=True),
        ),
        Part(designator="L1", kind="coil", pins={"1": "+24", "2": "COIL"}),
        Part(designator="D1", kind="diode", pins={"a": "COIL", "k": "+24"}),
        Part(designator="C1", kind="electrolytic", value=470e-6, pins={"p": "+24", "n": "GND"}),
        Part(
            designator="J1", kind="connector", pins={"1": "COIL", "2": "+24"},
        ),
        *(
            Part(designator=name, kind="resistor", value=330.0, pins={"1": "+5", "2": net})
            for name, net in (("R21", "LA"), ("R22", "LB"), ("R23", "LC"))
        ),
        Part(
            designator="U9", kind="controller", pins={"1": "INA"}, implied=frozenset(),
            remarks=Remarks(irreplaceable=True, socketed=True),
        ),
    ),
    states=(
        State(name="hold-A", steps=(Step(drives=()),)),
        State(name="idle", steps=(Step(drives=()),)),
        State(name="unplugged", steps=(Step(drives=()),), powered=False),
    ),
    outputs=(
        Output(name="coil A", measure="current", target="L1", threshold=0.15),
        Output(name="drive A", measure="level", target="DRA"),
    ),
    testpoints={"TP1": "DRA"},
)  # fmt: skip

FAULTS = (
    Fault(
        id="healthy", suspect="", where="none", mode="", words="healthy", rate=0.0, source="test",
        visible=0.0,
    ),
    Fault(
        id="R7 open", suspect="R7", where="part", mode="open", words="R7 is open", rate=1.0,
        source="test", designator="R7", test_out=1.0, visible=0.2,
    ),
    Fault(
        id="Q3 c short e", suspect="Q3", where="part", mode="c short e",
        words="Q3 is shorted from collector to emitter", rate=3.0, source="test",
        designator="Q3", test_out=0.95, visible=0.3,
    ),
    Fault(
        id="U3 6 stuck low", suspect="U3", where="part", mode="6 stuck low",
        words="U3 output 6 is stuck low", rate=2.0, source="test", designator="U3",
        test_out=0.7, visible=0.05,
    ),
    Fault(
        id="Q3.b joint open", suspect="joint Q3.b", where="joint", mode="open",
        words="the joint of Q3 b is open", rate=1.0, source="test",
        pins=(PinRef(designator="Q3", pin="b"),), visible=0.5, touch=0.4,
    ),
    Fault(
        id="U3.6 contact open", suspect="contact U3.6", where="contact", mode="open",
        words="the socket of U3 pin 6 makes no contact", rate=1.0, source="test",
        pins=(PinRef(designator="U3", pin="6"),), visible=0.05, touch=0.5, reseat=0.8,
    ),
    Fault(
        id="U3.5-U3.6 bridged", suspect="bridge U3.5-U3.6", where="bridge", mode="bridged",
        words="U3 pins 5 and 6 are bridged", rate=0.5, source="test",
        pins=(PinRef(designator="U3", pin="5"), PinRef(designator="U3", pin="6")), visible=0.6,
    ),
    Fault(
        id="+24 missing", suspect="rail +24", where="rail", mode="missing",
        words="+24 does not arrive", rate=1.0, source="test",
    ),
)  # fmt: skip

F = len(FAULTS)
HEALTHY, R7, Q3, U3, JOINT, CONTACT, BRIDGE, RAIL = range(F)

#           healthy  R7    Q3    U3   joint contact bridge rail
VOLTS: Mapping[tuple[str, str], tuple[float, ...]] = {
    ("hold-A", "DRA"): (0.70, 0.0, 0.70, 0.15, 5.0, 0.70, 0.20, 0.70),
    ("idle", "DRA"): (0.15, 0.05, 0.15, 0.15, 0.15, 0.70, 0.70, 0.15),
    ("hold-A", "COIL"): (0.2, 24.0, 0.0, 24.0, 24.0, 0.2, 24.0, 0.0),
    ("idle", "COIL"): (24.0, 24.0, 0.0, 24.0, 24.0, 0.2, 0.2, 0.0),
    ("hold-A", "INA"): (0.3, 0.3, 0.3, 0.3, 0.3, 0.3, 0.25, 0.3),
    ("idle", "INA"): (3.5, 3.5, 3.5, 3.5, 3.5, 3.5, 0.7, 3.5),
}
AMPERES = {
    "hold-A": (0.3, 0.0, 0.3, 0.0, 0.0, 0.3, 0.0, 0.0),
    "idle": (0.0, 0.0, 0.3, 0.0, 0.0, 0.3, 0.3, 0.0),
}
OHMS: Mapping[frozenset[str], tuple[float, ...]] = {
    frozenset({"+5", "DRA"}): (1e3, np.inf, 1e3, 1e3, 1e3, 1e3, 1e3, 1e3),
    frozenset({"COIL", "GND"}): (8e3, 8e3, 0.5, 8e3, 8e3, 8e3, 8e3, 8e3),
    frozenset({"+24", "COIL"}): (80.0,) * F,
    frozenset({"INA", "DRA"}): (50e3, 50e3, 50e3, 50e3, 50e3, 50e3, 0.1, 50e3),
}
DIODE: Mapping[tuple[str, str], tuple[float, ...]] = {
    ("DRA", "GND"): (0.65, 0.65, 0.65, 0.05, np.inf, 0.65, 0.65, 0.65),
}


class FakeWorld:
    """A World with tables instead of arithmetic. One leg with an open joint reads otherwise."""

    def __init__(self, floating: bool = False, two: bool = False, unresolved: bool = False) -> None:
        self._marks = floating, two, unresolved
        self._places = {place.name: place for place in _places()}

    board = BOARD
    faults = FAULTS

    @property
    def suspects(self) -> tuple[Suspect, ...]:
        ids = dict.fromkeys(fault.suspect for fault in FAULTS[1:])
        return tuple(Suspect(id=name, repair=f"see to {name}") for name in (*ids, "something-else"))

    @property
    def suspect_of(self) -> npt.NDArray[np.int64]:
        ids = [suspect.id for suspect in self.suspects]
        return np.array([-1] + [ids.index(fault.suspect) for fault in FAULTS[1:]])

    @property
    def prior(self) -> Array:
        rates = np.array([fault.rate for fault in FAULTS] + [0.5])
        result: Array = rates / rates.sum()
        return result

    @property
    def places(self) -> Mapping[str, Place]:
        return self._places

    @property
    def supply_pin_nets(self) -> frozenset[str]:
        return frozenset({"+5", "+24", "GND"})

    def place(self, name: str) -> Place:
        fold = {known.casefold(): place for known, place in self._places.items()}
        if name.casefold() not in fold:
            raise PlaceError(f"no place {name!r}; did you mean {nearest(name, self._places)}?")
        return fold[name.casefold()]

    def volts(self, state: str, places: Sequence[str]) -> Numbers:
        if BOARD.state(state) is None:
            raise UnknownName("state", state, [known.name for known in BOARD.states])
        columns = []
        for name in places:
            place = self.place(name)
            rail = {"+5": 5.0, "+24": 24.0}.get(place.net, 0.0)
            column = np.array(VOLTS.get((state, place.net), (rail,) * F), dtype=np.float64)
            if place.net == "+24":
                column[RAIL] = 0.0
            if name == "Q3.b" and state == "hold-A":
                column[JOINT] = 0.0
            columns.append(column)
        return self._numbers(np.array(columns).T, 0.03)

    def current(self, state: str, designators: Sequence[str]) -> Numbers:
        return self._numbers(np.array([AMPERES[state]] * len(designators)).T, 0.02)

    def ohms(self, pairs: Sequence[tuple[str, str]], source: MeterSource = USUAL) -> Numbers:
        columns = []
        for red, black in pairs:
            one, two = self.place(red), self.place(black)
            default = (0.1,) * F if one.net == two.net else (1e4,) * F
            column = np.array(OHMS.get(frozenset({one.net, two.net}), default))
            if "Q3.b" in (red, black) and one.net == two.net:
                column[JOINT] = np.inf
            columns.append(column)
        return self._numbers(np.array(columns).T, 0.05)

    def diode(self, pairs: Sequence[tuple[str, str]], source: MeterSource = USUAL) -> Numbers:
        nets = [(self.place(red).net, self.place(black).net) for red, black in pairs]
        return self._numbers(np.array([DIODE.get(pair, (np.inf,) * F) for pair in nets]).T, 0.02)

    def storage(self, pairs: Sequence[tuple[str, str]], hertz: float) -> Storage:
        farads, ohms = (np.full((F, len(pairs)), value) for value in (470e-6, 0.2))
        farads[Q3], ohms[Q3] = 100e-6, 5.0
        return Storage(farads=self._numbers(farads, 0.2), ohms=self._numbers(ohms, 0.5))

    def thresholds(self, net: str) -> tuple[float, float]:
        return (0.8, 2.0)

    def _numbers(self, mean: Array, spread: float) -> Numbers:
        floating, two, unresolved = self._marks
        other = np.full(mean.shape, np.nan)
        flags = np.zeros(mean.shape, dtype=np.bool_)
        if two:
            other[:] = np.where(np.isfinite(mean), mean + 2.0, np.nan)
        return Numbers(
            mean=np.where(unresolved, np.nan, mean),
            spread=np.full(mean.shape, spread),
            other=other,
            other_spread=np.where(np.isfinite(other), spread, np.nan),
            floating=flags | floating,
            unresolved=flags | unresolved,
        )


def _places() -> list[Place]:
    found = [Place(name=name, net=net, kind="testpoint") for name, net in BOARD.testpoints.items()]
    for part in BOARD.parts:
        for pin, net in part.pins.items():
            ref = PinRef(designator=part.designator, pin=pin)
            found.append(Place(name=str(ref), net=net, kind="leg", pin=ref))
            found.append(Place(name=f"{ref}/pad", net=net, kind="pad", pin=ref))
    found += [Place(name=f"net {net}", net=net, kind="net") for net in BOARD.nets()]
    return found
