"""Frozen dataclasses whose class is made in a quarter of the time.

The standard decorator compiles six functions for a frozen class, each from its own text, and a
program of several hundred small classes waits for that at every start. Here only ``__init__`` is
compiled; the other methods are closures over the names of the fields. Such a class behaves as the
standard one does, and ``fields``, ``replace`` and ``asdict`` know it. Two rules: a frozen class
inherits from no class that the standard decorator froze, and all its fields are given to
``__init__``.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable, Sequence
from operator import attrgetter
from reprlib import recursive_repr
from types import MemberDescriptorType
from typing import TYPE_CHECKING, Any

__all__ = ["dataclass"]

if TYPE_CHECKING:
    from dataclasses import dataclass
else:

    def dataclass(*, frozen=False, order=False, eq=True, **options):
        """As :func:`dataclasses.dataclass`; what is not frozen, or is ordered, is just that."""
        if order or not frozen:
            return dataclasses.dataclass(frozen=frozen, order=order, eq=eq, **options)
        return lambda cls: _frozen(cls, eq, options)


Method = Callable[..., Any]
Fields = Sequence["dataclasses.Field[Any]"]


class _Later:
    """In place of a default that is made for each object."""

    def __repr__(self) -> str:
        return "<factory>"


_LATER = _Later()


def _frozen(cls: type, eq: bool, options: dict[str, bool]) -> type:
    kept = {name for name in vars(cls) if name != "__hash__" or cls.__hash__ is not None}
    if not cls.__doc__:
        # The standard decorator would take the signature apart for one.
        cls.__doc__ = cls.__name__
    made: type = dataclasses.dataclass(init=False, repr=False, eq=False, **options)(cls)
    fields = dataclasses.fields(made)
    methods: dict[str, Method] = {"__init__": _init(made, fields), "__repr__": _repr(fields)}
    methods |= _guards(made, frozenset(field.name for field in fields))
    if eq:
        methods |= _comparison(fields)
    if options.get("slots"):
        methods |= _pickling([field.name for field in fields])
    for name, method in methods.items():
        if name not in kept:
            method.__qualname__ = f"{made.__qualname__}.{name}"
            setattr(made, name, method)
    return made


def _init(cls: type, fields: Fields) -> Method:
    """Compiled, since nothing sorts out arguments as fast as the interpreter."""
    given: dict[str, Any] = {"_later": _LATER}
    plain: list[str] = ["self"]
    named: list[str] = []
    body: list[str] = []
    for field in fields:
        if not field.init:
            raise TypeError(f"{cls.__name__}.{field.name}: a frozen class is given all its fields")
        name = value = argument = field.name
        if field.default_factory is not dataclasses.MISSING:
            given[f"_make_{name}"] = field.default_factory
            argument, value = f"{name}=_later", f"_make_{name}() if {name} is _later else {name}"
        elif field.default is not dataclasses.MISSING:
            given[f"_start_{name}"] = field.default
            argument = f"{name}=_start_{name}"
        (named if field.kw_only else plain).append(argument)
        given[f"_set_{name}"] = _setter(cls, name)
        body.append(f"_set_{name}(self, {value})")
    if hasattr(cls, "__post_init__"):
        body.append("self.__post_init__()")
    arguments = ", ".join([*plain, *(["*", *named] if named else [])])
    lines = [f"def make({', '.join(given)}):", f" def __init__({arguments}):"]
    lines += [f"  {line}" for line in body or ["pass"]]
    found: dict[str, Any] = {}
    exec("\n".join([*lines, " return __init__"]), {"__name__": cls.__module__}, found)
    init: Method = found["make"](**given)
    init.__annotations__ = {field.name: field.type for field in fields} | {"return": None}
    return init


def _setter(cls: type, name: str) -> Method:
    """What sets a field of an object in spite of ``__setattr__``."""
    slot = getattr(cls, name, None)
    if isinstance(slot, MemberDescriptorType):
        return slot.__set__
    return lambda self, value: object.__setattr__(self, name, value)


def _repr(fields: Fields) -> Method:
    shown = [field.name for field in fields if field.repr]

    @recursive_repr()
    def __repr__(self: object) -> str:
        values = ", ".join(f"{name}={getattr(self, name)!r}" for name in shown)
        return f"{type(self).__qualname__}({values})"

    return __repr__


def _guards(cls: type[object], names: frozenset[str]) -> dict[str, Method]:
    def __setattr__(self: object, name: str, value: object) -> None:
        if type(self) is cls or name in names:
            raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")
        super(cls, self).__setattr__(name, value)  # type: ignore[misc]  # the base is not known

    def __delattr__(self: object, name: str) -> None:
        if type(self) is cls or name in names:
            raise dataclasses.FrozenInstanceError(f"cannot delete field {name!r}")
        super(cls, self).__delattr__(name)  # type: ignore[misc]  # the base is not known

    return {"__setattr__": __setattr__, "__delattr__": __delattr__}


def _comparison(fields: Fields) -> dict[str, Method]:
    compared = _values(field.name for field in fields if field.compare)
    hashed = _values(
        field.name for field in fields if (field.compare if field.hash is None else field.hash)
    )

    def __eq__(self: object, other: object) -> bool:
        if type(self) is type(other):
            return compared(self) == compared(other)
        return NotImplemented

    def __hash__(self: object) -> int:
        return hash(hashed(self))

    return {"__eq__": __eq__, "__hash__": __hash__}


def _values(names: Iterable[str]) -> Callable[[object], tuple[Any, ...]]:
    """What gives the tuple of those attributes of an object."""
    wanted = tuple(names)
    if len(wanted) > 1:
        return attrgetter(*wanted)
    return lambda self: tuple(getattr(self, name) for name in wanted)


def _pickling(names: Sequence[str]) -> dict[str, Method]:
    def __getstate__(self: object) -> list[Any]:
        return [getattr(self, name) for name in names]

    def __setstate__(self: object, state: Sequence[Any]) -> None:
        for name, value in zip(names, state, strict=True):
            object.__setattr__(self, name, value)

    return {"__getstate__": __getstate__, "__setstate__": __setstate__}
