"""Pure logic by name: netlist text in the open ``.bench`` form of the ISCAS circuits, to arrays.

::

    # a comment
    INPUT(A)
    INPUT(B)
    OUTPUT(Y)
    N1 = NAND(A, B)
    Y = NOT(N1)

Lines come in any order; a gate is AND, NAND, OR, NOR, XOR, XNOR, NOT, BUF (or BUFF).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from graphlib import CycleError, TopologicalSorter
from typing import TypeAlias

import numpy as np

from halfsplit.errors import BoardError, Problem, UnknownName, nearest
from halfsplit.frozen import dataclass
from halfsplit.solve.gates import Gates, Indices, Kind, gates
from halfsplit.solve.gates_faults import Stuck

__all__ = ["Fed", "NamedGates", "named_gates", "read_bench"]

Fed: TypeAlias = tuple[Kind, tuple[str, ...]]
"""What feeds a net: a kind of gate and the nets it looks at."""

_LINE = re.compile(r"(?:([^\s=(),#]+)\s*=\s*)?([A-Za-z]+)\s*\(([^()]*)\)")
_GATES = {kind.name: kind for kind in Kind if kind > Kind.ONE} | {"BUFF": Kind.BUF}
_MOST = 20


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NamedGates:
    """``names`` [N] of the nets of ``network``; ``unread``: where no probe goes; ``inside``: where
    no fault is listed, for it is inside a chip or a supply."""

    title: str
    names: tuple[str, ...]
    network: Gates
    unread: frozenset[int] = frozenset()
    inside: frozenset[int] = frozenset()

    def net(self, name: str) -> int:
        """Its number. Raises :class:`UnknownName`."""
        if name not in self.names:
            raise UnknownName("net", name, self.names)
        return self.names.index(name)

    def lines(self, stuck: Stuck) -> Indices:
        """The faults that are listed: not inside a chip, and of a chip's pin only once."""
        beyond = sorted(self.inside | self.unread)
        inside = np.isin(stuck.net, sorted(self.inside)) | np.isin(stuck.reader, beyond)
        return np.flatnonzero(~inside)

    @property
    def inputs(self) -> tuple[str, ...]:
        """Names [I] of what is fed from outside."""
        return tuple(self.names[net] for net in self.network.inputs)

    @property
    def outputs(self) -> tuple[str, ...]:
        """Names [O] of what is seen from outside."""
        return tuple(self.names[net] for net in self.network.outputs)


def read_bench(text: str, *, source: str = "netlist") -> NamedGates:
    """A netlist. Raises :class:`BoardError`, which lists all that is wrong with it."""
    fed: dict[str, Fed] = {}
    spots: dict[str, int] = {}
    outputs: dict[str, int] = {}
    problems: list[Problem] = []
    for number, line in enumerate(text.splitlines(), start=1):
        words = line.partition("#")[0].strip()
        if not words:
            continue
        try:
            name, feeding = _statement(words)
            if feeding is None:
                outputs.setdefault(name, number)
                continue
            if name in fed:
                raise ValueError(f"expected one gate or INPUT for {name}, got a second one; the "
                                 f"first is in line {spots[name]}")  # fmt: skip
            fed[name], spots[name] = feeding, number
        except ValueError as error:
            problems.append(_problem(number, str(error)))
    if not outputs and not problems:
        problems.append(_problem(0, "expected at least one OUTPUT(...), got none"))
    problems = problems or _unfed(fed, spots, outputs)
    if problems:
        raise BoardError(problems[:_MOST], source=source)
    return named_gates(fed, outputs, title=source, spots=spots)


def named_gates(
    fed: Mapping[str, Fed],
    outputs: Iterable[str],
    *,
    title: str,
    spots: Mapping[str, int],
    unread: Iterable[str] = (),
    inside: Iterable[str] = (),
) -> NamedGates:
    """Gates put in order; every net looked at must be in ``fed``. ``spots``: line of each net.

    Raises :class:`BoardError` for a loop: that is memory, and this is for logic without any.
    """
    looks_at = {name: feeding for name, (_, feeding) in fed.items()}
    try:
        order = list(TopologicalSorter(looks_at).static_order())
    except CycleError as error:
        loop: Sequence[str] = error.args[1]
        shown = " -> ".join(loop[:8]) + (" -> ..." if len(loop) > 8 else "")
        message = f"expected logic without memory, got a loop: {shown}; break it at a feedback net"
        raise BoardError([_problem(spots.get(loop[0], 0), message)], source=title) from error
    given = [name for name in fed if fed[name][0] == Kind.INPUT]
    names = given + [name for name in order if fed[name][0] != Kind.INPUT]
    number = {name: at for at, name in enumerate(names)}
    return NamedGates(
        title=title,
        names=tuple(names),
        network=gates(
            [fed[name][0] for name in names],
            [[number[each] for each in fed[name][1]] for name in names],
            [number[name] for name in outputs],
        ),
        unread=frozenset(number[name] for name in unread),
        inside=frozenset(number[name] for name in inside),
    )


def _statement(words: str) -> tuple[str, Fed | None]:
    """A net and what feeds it; nothing feeds it in the line that makes it an output."""
    found = _LINE.fullmatch(words)
    if found is None:
        raise ValueError(f"expected INPUT(A), OUTPUT(Y) or Y = NAND(A, B), got {words!r}")
    net, word, inside = found[1], found[2].upper(), found[3]
    fed = tuple(name.strip() for name in inside.split(","))
    if not all(re.fullmatch(r"[^\s=#]+", name) for name in fed):
        raise ValueError(f"expected names of nets with commas between, got {inside!r}")
    if net is None:
        if word not in ("INPUT", "OUTPUT") or len(fed) != 1:
            raise ValueError(f"expected INPUT(A) or OUTPUT(Y), got {words!r}")
        return fed[0], (Kind.INPUT, ()) if word == "INPUT" else None
    if word == "DFF":
        raise ValueError("expected logic without memory, got a DFF; make its output an INPUT and "
                         "its input an OUTPUT")  # fmt: skip
    if word not in _GATES:
        hint = nearest(word, _GATES)
        raise ValueError(f"expected one of {', '.join(_GATES)}, got {word}"
                         + (f" (did you mean {hint}?)" if hint else ""))  # fmt: skip
    kind = _GATES[word]
    if kind in (Kind.BUF, Kind.NOT) and len(fed) != 1:
        raise ValueError(f"expected one input of {word}, got {len(fed)}")
    return net, (kind, fed)


def _unfed(
    fed: Mapping[str, Fed], spots: Mapping[str, int], outputs: Mapping[str, int]
) -> list[Problem]:
    looked = [(each, spots[name]) for name, (_, feeding) in fed.items() for each in feeding]
    missing = {name: line for name, line in [*looked, *outputs.items()] if name not in fed}
    return [
        _problem(line, f"expected a gate or INPUT that feeds {name}, got none", nearest(name, fed))
        for name, line in missing.items()
    ]


def _problem(line: int, message: str, hint: str | None = None) -> Problem:
    return Problem(line=line, column=min(line, 1), severity="error", message=message, nearest=hint)
