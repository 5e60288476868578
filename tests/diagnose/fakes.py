"""A tiny world of tables: every check is a table of outcome words, nothing is computed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from halfsplit.board.model import Board
from halfsplit.build.fault import ELSE, HEALTHY, Fault, PinRef, Place, Suspect
from halfsplit.build.world import USUAL, MeterSource, Numbers, Storage
from halfsplit.checks.kind import Check, CheckKind, Limits, Meter, Outcomes, Reading, Setup, Takes
from halfsplit.diagnose.catalogue import Catalogue
from halfsplit.diagnose.session import Session
from halfsplit.errors import PlaceError
from halfsplit.solve.law import Array

ANYTHING = 0.4
"""As the real kinds do: something else reads as a good board does, or anything."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FakeWorld:
    faults: tuple[Fault, ...]
    suspects: tuple[Suspect, ...]
    suspect_of: npt.NDArray[np.int64]
    prior: Array
    places: Mapping[str, Place] = field(default_factory=dict)
    board: Board = field(default_factory=lambda: Board(title="fake"))
    supply_pin_nets: frozenset[str] = frozenset()

    def place(self, name: str) -> Place:
        if name not in self.places:
            raise PlaceError(name)
        return self.places[name]

    def volts(self, state: str, places: Sequence[str]) -> Numbers:
        raise NotImplementedError

    def current(self, state: str, designators: Sequence[str]) -> Numbers:
        raise NotImplementedError

    def ohms(self, pairs: Sequence[tuple[str, str]], source: MeterSource = USUAL) -> Numbers:
        raise NotImplementedError

    def diode(self, pairs: Sequence[tuple[str, str]], source: MeterSource = USUAL) -> Numbers:
        raise NotImplementedError

    def storage(self, pairs: Sequence[tuple[str, str]], hertz: float) -> Storage:
        raise NotImplementedError

    def thresholds(self, net: str) -> tuple[float, float]:
        return (0.8, 2.0)


def world(
    faults: Mapping[str, float],
    *,
    suspects: Mapping[str, str] | None = None,
    repairs: Mapping[str, Suspect] | None = None,
    something_else: float = 0.03,
    board: Board | None = None,
    places: Mapping[str, Place] | None = None,
) -> FakeWorld:
    """``faults``: id -> weight; ``suspects``: fault id -> suspect id, itself unless given. A
    fault ``joint U3.6 open`` is a joint of U3, else it is in a part named by its first word."""
    mine = [(suspects or {}).get(name, name) for name in faults]
    names = list(dict.fromkeys(mine))
    weights = np.array([0.0, *faults.values(), 0.0])
    prior = weights / weights.sum() * (1.0 - something_else)
    prior[-1] = something_else
    known = repairs or {}
    return FakeWorld(
        faults=(
            Fault(
                id=HEALTHY, suspect="", where="none", mode="", words="good", rate=0.0, source="fake"
            ),
            *(_fault(name, suspect) for name, suspect in zip(faults, mine, strict=True)),
        ),
        suspects=(
            *(known.get(name) or _suspect(name) for name in names),
            Suspect(id=ELSE, repair="look further"),
        ),
        suspect_of=np.array([-1, *(names.index(name) for name in mine)], dtype=np.int64),
        prior=prior,
        board=board or Board(title="fake"),
        places=places or {},
    )


def _suspect(name: str) -> Suspect:
    designator = name.split()[-1].split(".")[0] if " " in name else name
    return Suspect(id=name, repair=f"repair {name}", designator=designator)


def _fault(name: str, suspect: str) -> Fault:
    first, *rest = name.split()
    if first in ("joint", "contact"):
        designator, pin = rest[0].split(".")
        pins = (PinRef(designator=designator, pin=pin),)
        return Fault(
            id=name, suspect=suspect, where="joint" if first == "joint" else "contact",
            mode="open", words=name, rate=1.0, source="fake", pins=pins,
        )  # fmt: skip
    return Fault(
        id=name, suspect=suspect, where="part", mode=" ".join(rest), words=name, rate=1.0,
        source="fake", designator=first,
    )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TableKind:
    """``tables``: check -> (outcome words, [F, O])."""

    name: str
    tables: Mapping[Check, tuple[tuple[str, ...], Array]]
    bench: Setup = "powered"
    cost: float = 1.0
    risks: float = 0.0
    means: Mapping[str, str] = field(default_factory=dict)
    title: str = "fake"
    help: str = "fake"
    unit: str = ""
    takes: Takes = "place"
    stateful: bool = True

    @property
    def words(self) -> Mapping[str, str]:
        labels = {label: label for table, _ in self.tables.values() for label in table}
        return {**labels, **self.means}

    def offers(self, world: object) -> Sequence[Check]:
        return list(self.tables)

    def setup(self, check: Check, world: object) -> Setup:
        return self.bench

    def minutes(self, check: Check, world: object) -> float:
        return self.cost

    def risk(self, check: Check, world: object) -> float:
        return self.risks

    def cautions(self, check: Check, world: object) -> Sequence[str]:
        return ["mind the probe"]

    def sentence(self, check: Check, world: object) -> str:
        return f"Do {check.id}."

    def read(self, check: Check, text: str, world: object) -> Reading:
        return Reading(text=text, word=text)

    def outcomes(self, checks: Sequence[Check], world: object, meter: Meter) -> list[Outcomes]:
        return [Outcomes(labels=self.tables[c][0], p=self.tables[c][1]) for c in checks]

    def likelihood(self, check: Check, reading: Reading, world: object, meter: Meter) -> Array:
        labels, p = self.tables[check]
        if reading.nothing:
            return np.ones(len(p) + 1)
        at = labels.index(reading.word)
        last = (1.0 - ANYTHING) * p[0, at] + ANYTHING / len(labels)
        return np.append(p[:, at], last)

    def expected(self, check: Check, world: object, meter: Meter) -> str:
        labels, p = self.tables[check]
        return labels[int(np.argmax(p[0]))]


def check(kind: str, place: str, state: str = "") -> Check:
    return Check(kind=kind, places=(place,), state=state)


def table(labels: Sequence[str], rows: Sequence[str], floor: float = 0.02) -> Array:
    """[F, O] from the outcome word of every fault, healthy first; ``floor`` spread evenly.
    A row ``a|b`` gives either with equal chance."""
    p = np.full((len(rows), len(labels)), floor / len(labels))
    for at, row in enumerate(rows):
        words = row.split("|")
        for word in words:
            p[at, list(labels).index(word)] += (1.0 - floor) / len(words)
    return p


def kind(
    name: str,
    checks: Mapping[Check, tuple[Sequence[str], Sequence[str]]],
    *,
    floor: float = 0.02,
    bench: Setup = "powered",
    cost: float = 1.0,
    risks: float = 0.0,
    means: Mapping[str, str] | None = None,
) -> TableKind:
    """``checks``: check -> (outcome words, outcome of every fault, healthy first)."""
    tables = {
        one: (tuple(labels), table(labels, rows, floor)) for one, (labels, rows) in checks.items()
    }
    return TableKind(
        name=name, tables=tables, bench=bench, cost=cost, risks=risks, means=means or {}
    )


def start(world: FakeWorld, *kinds: CheckKind, limits: Limits | None = None) -> Session:
    """A session on a fake world with fake kinds."""
    meter = Meter()
    return Session.start(world, meter, limits, catalogue=Catalogue(world, meter, kinds))


def word(text: str) -> Reading:
    return Reading(text=text, word=text)


def shares(session: Session) -> dict[str, float]:
    """Suspect id -> probability."""
    return {one.suspect.id: one.probability for one in session.suspects()}
