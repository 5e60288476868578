"""Quickly made frozen classes, side by side with the ones of the standard library."""

from __future__ import annotations

import copy
import dataclasses
import inspect
import pickle
import sys
from collections.abc import Callable, Mapping
from types import ModuleType
from typing import Any

import pytest

from halfsplit.frozen import dataclass

TEXT = '''
from __future__ import annotations
from dataclasses import field
from functools import cached_property
from typing import ClassVar


@dataclass(frozen=True, slots=True, kw_only=True)
class Pin:
    """A pin."""

    name: str
    role: str = "passive"
    others: list[str] = field(default_factory=list, hash=False)
    note: str = field(default="", compare=False, repr=False)
    most: ClassVar[int] = 64

    def shout(self):
        return self.name.upper()


@dataclass(frozen=True, slots=True, kw_only=True)
class Lead(Pin):
    ohms: float


@dataclass(frozen=True, slots=True)
class Pair:
    a: int
    b: int = 2


@dataclass(frozen=True, slots=True)
class One:
    only: float


@dataclass(frozen=True)
class None_:
    pass


@dataclass(frozen=True, kw_only=True)
class Loose:
    name: str

    @cached_property
    def long(self):
        return self.name * 2


@dataclass(frozen=True, slots=True, eq=False, weakref_slot=True)
class Alone:
    name: str


@dataclass(frozen=True, slots=True)
class Checked:
    volts: float

    def __post_init__(self):
        if self.volts < 0:
            raise ValueError("below zero")


@dataclass(frozen=True, slots=True)
class Own:
    name: str

    def __repr__(self):
        return "mine"

    def __eq__(self, other):
        return isinstance(other, Own)

    def __hash__(self):
        return 7


@dataclass(slots=True)
class Open:
    count: int = 0


@dataclass(frozen=True, order=True)
class Ranked:
    rank: int
'''


def made_by(name: str, decorator: Callable[..., Any]) -> ModuleType:
    module = ModuleType(name)
    vars(module)["dataclass"] = decorator
    sys.modules[name] = module
    exec(TEXT, vars(module))  # noqa: S102  # the same text for both decorators
    return module


OURS = made_by("frozen_ours", dataclass)
THEIRS = made_by("frozen_theirs", dataclasses.dataclass)

GIVEN: Mapping[str, tuple[Mapping[str, Any], ...]] = {
    "Pin": (
        {"name": "b"}, {"name": "b", "note": "x"}, {"name": "b", "role": "in"},
        {"name": "b", "others": ["B"]},
    ),
    "Lead": ({"name": "b", "ohms": 1.0}, {"name": "b", "ohms": 2.0}),
    "Pair": ({"a": 1}, {"a": 1, "b": 2}, {"a": 2}),
    "One": ({"only": 1.0}, {"only": 2.0}),
    "None_": ({},),
    "Loose": ({"name": "x"}, {"name": "y"}),
    "Alone": ({"name": "x"}, {"name": "x"}),
    "Checked": ({"volts": 1.0},),
    "Own": ({"name": "x"}, {"name": "y"}),
    "Open": ({}, {"count": 3}),
    "Ranked": ({"rank": 1}, {"rank": 2}),
}  # fmt: skip


def told(of: ModuleType, name: str) -> list[object]:
    """What can be seen of a class and its objects, without what differs by the module's name."""
    cls = getattr(of, name)
    made = [cls(**given) for given in GIVEN[name]]
    return [
        str(inspect.signature(cls)),
        [(f.name, f.type, f.kw_only, f.compare) for f in dataclasses.fields(cls)],
        cls.__match_args__,
        getattr(cls, "__slots__", "none"),
        [repr(one) if name != "Alone" else type(one).__name__ for one in made],
        [[one == other for other in made] for one in made],
        [[hash(one) == hash(other) for other in made] for one in made if name != "Open"],
        [dataclasses.asdict(one) for one in made],
        [hasattr(one, "__dict__") for one in made],
    ]


@pytest.mark.parametrize("name", GIVEN)
def test_a_class_shows_what_the_standard_one_shows(name: str) -> None:
    assert told(OURS, name) == told(THEIRS, name)


@pytest.mark.parametrize("name", [name for name in GIVEN if name != "Alone"])
def test_copies_and_pickles_are_equal(name: str) -> None:
    for given in GIVEN[name]:
        one = getattr(OURS, name)(**given)
        assert copy.copy(one) == one
        assert copy.deepcopy(one) == one
        assert pickle.loads(pickle.dumps(one)) == one  # noqa: S301  # just made here
        assert dataclasses.replace(one) == one


def refusals(of: ModuleType) -> list[str]:
    """What is said to each wrong use."""
    pin, lead = of.Pin(name="b"), of.Lead(name="b", ohms=1.0)
    wrong: list[Callable[[], object]] = [
        lambda: of.Pin(),
        lambda: of.Pin("b"),
        lambda: of.Pin(name="b", colour="red"),
        lambda: of.Pair(),
        lambda: of.Pair(1, 2, 3),
        lambda: of.Checked(-1.0),
        lambda: setattr(pin, "name", "c"),
        lambda: setattr(lead, "name", "c"),
        lambda: setattr(of.Loose(name="x"), "other", 1),
        lambda: delattr(pin, "role"),
        lambda: dataclasses.replace(pin, colour="red"),
    ]
    said = []
    for use in wrong:
        with pytest.raises((TypeError, ValueError, AttributeError)) as caught:
            use()
        said.append(f"{type(caught.value).__name__}: {caught.value}")
    return said


def test_wrong_uses_are_refused_in_the_same_words() -> None:
    assert refusals(OURS) == refusals(THEIRS)


def test_a_default_that_is_made_is_made_for_each() -> None:
    assert OURS.Pin(name="a").others is not OURS.Pin(name="a").others


def test_a_class_of_another_sort_is_not_equal() -> None:
    assert OURS.One(only=1.0) != OURS.Pair(1)
    assert OURS.Lead(name="b", ohms=1.0) != OURS.Pin(name="b")


def test_a_cached_property_works_in_a_class_without_slots() -> None:
    assert OURS.Loose(name="ab").long == "abab"


def test_a_field_that_is_not_given_is_refused() -> None:
    with pytest.raises(TypeError, match=r"Late\.x: a frozen class is given all its fields"):

        @dataclass(frozen=True)
        class Late:
            x: int = dataclasses.field(default=0, init=False)
