"""The table of logic chips, read from the files ``_logic_*.toml`` beside this one.

A row is found by its heading and parsed when somebody asks for it: a board has a few dozen of
the hundreds of numbers.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import field, replace
from functools import cache
from typing import Any, Literal

from halfsplit.errors import RegistryError
from halfsplit.frozen import dataclass
from halfsplit.packaged import packaged
from halfsplit.solve import expression
from halfsplit.solve.law import Clocked

__all__ = ["Chip", "ChipOutput", "ChipPin", "chip", "chips", "listed", "rename"]

_TABLES = (
    "gates", "gates_wide", "decoders", "selectors", "arithmetic", "flip_flops", "latches",
    "counters", "shift_registers", "timing", "bus", "cmos", "cmos_counters", "cmos_storage",
    "cmos_decoders",
)  # fmt: skip
_FIELDS = frozenset({
    "title", "families", "pins", "units", "unit_pins", "at", "out", "enable", "output", "drive",
    "clocked", "core", "store", "inputs", "loads", "icc", "schmitt", "note",
})  # fmt: skip
_NAME = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")
_ROW = re.compile(r'^\[(\w+)\]\n(?=(?:[^\[\n].*\n)*?families = "([^"]*)")', re.MULTILINE)
_ROLES = {"VCC": "supply", "VDD": "supply", "GND": "ground", "VSS": "ground", "NC": "nc",
          "OVCC": "supply", "OGND": "ground"}  # fmt: skip
_TIMING = re.compile(r"(CEXT|REXT|RINT|RCC|CX|CY|FC|RNG)\d?")
"""Pins for resistors, capacitors and control voltages."""
_NEVER = Clocked(clock="0", data="0")
"""Of a bit that nothing known here writes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChipPin:
    """A pin: its number from 1, function name, role (as in the vocabulary), unit letter."""

    number: str
    name: str
    role: str
    unit: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChipOutput:
    """One output, or one gate or stored bit inside (a *core*).

    ``level``, ``enable`` and ``clocked`` are expressions over function names and names of cores.
    ``kind`` is ``totem`` (also push-pull), ``tri`` or ``oc``.
    """

    name: str
    level: str
    enable: str = ""
    clocked: Clocked | None = None
    kind: str = "totem"

    @property
    def pulls_up(self) -> bool:
        """Whether it drives high."""
        return self.kind != "oc"

    def inputs(self) -> tuple[str, ...]:
        """Names that it looks at, in order of first mention; ``q`` left out."""
        texts = [self.level, self.enable]
        if self.clocked:
            spec = self.clocked
            texts += [spec.clock, spec.data, spec.force_high, spec.force_low]
        found = (name for text in texts if text for name in expression.names(text))
        return tuple(dict.fromkeys(name for name in found if name != "q"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Chip:
    """One row of the table."""

    number: str
    title: str
    families: tuple[str, ...]
    pins: tuple[ChipPin, ...]
    outputs: tuple[ChipOutput, ...]
    cores: tuple[ChipOutput, ...] = ()
    output: str = "totem"
    drive: str = "standard"
    drives: Mapping[str, str] = field(default_factory=dict)
    inputs: str = ""
    loads: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    icc: Mapping[str, float] = field(default_factory=dict)
    schmitt: bool = False
    note: str = ""

    def pin(self, name: str) -> ChipPin:
        """The pin of a function name (not ``NC``)."""
        return next(pin for pin in self.pins if pin.name == name)

    def power(self, role: Literal["supply", "ground"]) -> ChipPin:
        """Its supply or ground pin."""
        return next(pin for pin in self.pins if pin.role == role)

    def drive_of(self, family: str) -> str:
        """Name of the family's output row."""
        return self.drives.get(family, self.drive)

    def load(self, family: str, name: str) -> float:
        """How many standard inputs that pin counts for."""
        return self.loads.get(family, {}).get(name, 1.0)


@cache
def listed() -> Mapping[str, tuple[str, ...]]:
    """Key of every row -> its families, without parsing the rows."""
    found: dict[str, tuple[str, ...]] = {}
    for table in _TABLES:
        for key, families in _ROW.findall(_text(table)):
            if key in found:
                raise RegistryError(f"logic chip {key}: two rows of that name")
            found[key] = tuple(families.split())
    return found


@cache
def chip(key: str) -> Chip:
    """The row of that key. Raises :class:`RegistryError` for one that contradicts itself."""
    row = _row(key)
    return _chip(key, _as_cmos(row) if "like" in row else row)


def chips() -> tuple[Chip, ...]:
    """Every row. Raises :class:`RegistryError` for a row that contradicts itself."""
    return tuple(chip(key) for key in listed())


def rename(text: str, names: Mapping[str, str]) -> str:
    """The expression with its names replaced; names not in the mapping stay."""
    return _NAME.sub(lambda match: names.get(match[0], match[0]), text)


@cache
def _text(table: str) -> str:
    return packaged(f"parts/_logic_{table}.toml").read_text(encoding="utf-8")


@cache
def _rows() -> Mapping[str, str]:
    """Key -> the text of its row."""
    found: dict[str, str] = {}
    for table in _TABLES:
        text = _text(table)
        starts = list(_ROW.finditer(text))
        ends = [match.start() for match in starts[1:]] + [len(text)]
        found |= {
            match[1]: text[match.start() : end] for match, end in zip(starts, ends, strict=True)
        }
    return found


def _row(key: str) -> Mapping[str, Any]:
    import tomllib

    found: Mapping[str, Any] = tomllib.loads(_rows()[key])[key]
    return found


def _as_cmos(row: Mapping[str, Any]) -> Mapping[str, Any]:
    """A row of the 4000 series that has function and pins of a row of the 74 series, ``like``."""
    other = _row(row["like"])
    named = {"GND": "VSS", "VCC": "VDD"}
    pins = " ".join(named.get(name, name) for name in other["pins"].split())
    kept = {what: told for what, told in other.items() if what not in ("icc", "loads")}
    return {**kept, "pins": pins, "families": row["families"]}


def _chip(key: str, row: Mapping[str, Any]) -> Chip:
    unknown = sorted(name for name in row if name not in _FIELDS and not name.startswith("drive_"))
    if unknown:
        raise RegistryError(f"logic chip {key}: unknown field {', '.join(unknown)}")
    fill = _Filler(int(row.get("units", 0)), tuple(str(row.get("at", "")).split()))
    outputs, cores = tuple(_outputs(row, fill)), tuple(_cores(row, fill))
    if row.get("schmitt"):
        outputs = tuple(_swung(output) for output in outputs)
    names = str(row["pins"]).split()
    inside = {core.name for core in cores}
    driven = {output.name: output.kind for output in outputs}
    looked_at = {name for each in (*outputs, *cores) for name in each.inputs()}
    missing = (driven.keys() | looked_at) - set(names) - inside
    if missing or inside & set(names):
        wrong = ", ".join(sorted(missing or inside & set(names)))
        raise RegistryError(f"logic chip {key}: no pin, or pin and core alike: {wrong}")
    unit = dict(fill.units(str(row.get("unit_pins", "")).split()))
    pins = []
    for number, name in enumerate(names, start=1):
        if name in driven:
            role = "io" if name in looked_at else {"totem": "out"}.get(driven[name], driven[name])
        else:
            role = _ROLES.get(name, "passive" if _TIMING.fullmatch(name) else "in")
        pins.append(ChipPin(number=str(number), name=name, role=role, unit=unit.get(name, "")))
    return Chip(
        number=key.rstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ"),
        title=str(row["title"]),
        families=tuple(str(row["families"]).split()),
        pins=tuple(pins),
        outputs=outputs,
        cores=cores,
        output=str(row.get("output", "totem")),
        drive=str(row.get("drive", "standard")),
        drives={name[6:]: value for name, value in row.items() if name.startswith("drive_")},
        inputs=str(row.get("inputs", "")),
        loads={family: dict(fill.all(loads)) for family, loads in row.get("loads", {}).items()},
        icc=row.get("icc", {}),
        schmitt=bool(row.get("schmitt", False)),
        note=str(row.get("note", "")),
    )


def _outputs(row: Mapping[str, Any], fill: _Filler) -> Iterator[ChipOutput]:
    spec: Mapping[str, Any] = row.get("clocked", {})
    for template, given in row["out"].items():
        told = given if isinstance(given, Mapping) else {"level": given}
        for k in fill.places(template):
            level = fill.one(told["level"], k)
            stored = _clocked(spec, fill, k) if spec else None
            yield ChipOutput(
                name=fill.one(template, k),
                level=level,
                enable=fill.one(told.get("enable", row.get("enable", "")), k),
                clocked=stored or (_NEVER if level == "q" else None),
                kind=told.get("output", row.get("output", "totem")),
            )


def _cores(row: Mapping[str, Any], fill: _Filler) -> Iterator[ChipOutput]:
    for template, level in row.get("core", {}).items():
        for k in fill.places(template):
            yield ChipOutput(name=fill.one(template, k), level=fill.one(level, k))
    for spec in row.get("store", ()):
        for template in spec["data"]:
            for k in fill.places(template):
                of_bit = {
                    what: told[template] if isinstance(told, Mapping) else told
                    for what, told in spec.items()
                }
                stored = _clocked(of_bit, fill, k)
                level = fill.one(of_bit.get("level", "q"), k)
                yield ChipOutput(name=fill.one(template, k), level=level, clocked=stored)


def _clocked(spec: Mapping[str, Any], fill: _Filler, k: int) -> Clocked:
    return Clocked(
        clock=fill.one(spec.get("clock", "0"), k),
        data=fill.one(spec["data"], k),
        edge=bool(spec.get("edge", True)),
        force_high=fill.one(spec.get("force_high", ""), k),
        force_low=fill.one(spec.get("force_low", ""), k),
    )


def _swung(output: ChipOutput) -> ChipOutput:
    """A Schmitt gate: its bit says whether all its inputs are seen high."""
    seen = " & ".join(output.inputs())
    return replace(output, clocked=Clocked(clock="1", data=seen, edge=False))


@dataclass(frozen=True, slots=True)
class _Filler:
    """Puts unit numbers for ``#`` and the words of ``at`` for ``@``."""

    count: int
    at: tuple[str, ...]

    def places(self, template: str) -> range:
        """Unit numbers that a template stands for; 0 alone for one without ``#`` or ``@``."""
        return range(1, self.count + 1) if "#" in template or "@" in template else range(1)

    def one(self, template: str, k: int) -> str:
        text = " ".join(template.split())
        if not k:
            return text
        return text.replace("#", str(k)).replace("@", self.at[k - 1] if self.at else "")

    def all(self, given: Mapping[str, float]) -> Iterator[tuple[str, float]]:
        for template, value in given.items():
            for k in self.places(template):
                yield self.one(template, k), float(value)

    def units(self, templates: list[str]) -> Iterator[tuple[str, str]]:
        """Pin name -> unit letter."""
        for template in templates:
            for k in self.places(template):
                yield self.one(template, k), chr(ord("a") + k - 1) if k else ""
