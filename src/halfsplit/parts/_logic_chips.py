"""The table of logic chips, read from ``_logic_gates.toml`` and ``_logic_msi.toml``."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from importlib.resources import files
from typing import Any

from halfsplit.errors import RegistryError
from halfsplit.solve import expression
from halfsplit.solve.law import Clocked

__all__ = ["Chip", "ChipOutput", "ChipPin", "chips", "rename"]

_TABLES = ("_logic_gates.toml", "_logic_msi.toml")
_FIELDS = frozenset({
    "number", "title", "families", "pins", "units", "unit_pins", "at", "out", "enable", "output",
    "drive", "clocked", "inputs", "loads", "icc", "schmitt",
})  # fmt: skip
_NAME = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")


@dataclass(frozen=True, slots=True, kw_only=True)
class ChipPin:
    """A pin: its number from 1, function name, role (as in the vocabulary), unit letter."""

    number: str
    name: str
    role: str
    unit: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChipOutput:
    """One output: ``level``, ``enable`` and ``clocked`` are expressions over function names."""

    name: str
    level: str
    enable: str = ""
    clocked: Clocked | None = None

    def inputs(self) -> tuple[str, ...]:
        """Function names that it looks at, in order of first mention; ``q`` left out."""
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
    output: str = "totem"
    drive: str = "standard"
    drives: Mapping[str, str] = field(default_factory=dict)
    inputs: str = ""
    loads: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    icc: Mapping[str, float] = field(default_factory=dict)
    schmitt: bool = False

    def pin(self, name: str) -> ChipPin:
        """The pin of a function name (not ``NC``)."""
        return next(pin for pin in self.pins if pin.name == name)

    def drive_of(self, family: str) -> str:
        """Name of the family's output row."""
        return self.drives.get(family, self.drive)

    def load(self, family: str, name: str) -> float:
        """How many standard inputs that pin counts for."""
        return self.loads.get(family, {}).get(name, 1.0)


def chips() -> tuple[Chip, ...]:
    """Every row. Raises :class:`RegistryError` for a row that contradicts itself."""
    folder = files("halfsplit.parts")
    rows: list[Chip] = []
    for table in _TABLES:
        content = tomllib.loads((folder / table).read_text(encoding="utf-8"))
        rows.extend(_chip(key, row) for key, row in content.items())
    return tuple(rows)


def rename(text: str, names: Mapping[str, str]) -> str:
    """The expression with its names replaced; names not in the mapping stay."""
    return _NAME.sub(lambda match: names.get(match[0], match[0]), text)


def _chip(key: str, row: Mapping[str, Any]) -> Chip:
    unknown = sorted(name for name in row if name not in _FIELDS and not name.startswith("drive_"))
    if unknown:
        raise RegistryError(f"logic chip {key}: unknown field {', '.join(unknown)}")
    fill = _Filler(int(row.get("units", 0)), tuple(str(row.get("at", "")).split()))
    outputs = tuple(_outputs(row, fill))
    names = str(row["pins"]).split()
    driven = {output.name for output in outputs}
    looked_at = {name for output in outputs for name in output.inputs()}
    missing = (driven | looked_at) - set(names)
    if missing:
        raise RegistryError(f"logic chip {key}: no pin {', '.join(sorted(missing))}")
    kind = str(row.get("output", "totem"))
    unit = dict(fill.units(str(row.get("unit_pins", "")).split()))
    roles = {"VCC": "supply", "GND": "ground", "NC": "nc"}
    pins = []
    for number, name in enumerate(names, start=1):
        if name in driven:
            role = "io" if name in looked_at else {"totem": "out"}.get(kind, kind)
        else:
            role = roles.get(name, "in")
        pins.append(ChipPin(number=str(number), name=name, role=role, unit=unit.get(name, "")))
    return Chip(
        number=str(row.get("number", key)),
        title=str(row["title"]),
        families=tuple(str(row["families"]).split()),
        pins=tuple(pins),
        outputs=outputs,
        output=kind,
        drive=str(row.get("drive", "standard")),
        drives={name[6:]: value for name, value in row.items() if name.startswith("drive_")},
        inputs=str(row.get("inputs", "")),
        loads={family: dict(fill.all(loads)) for family, loads in row.get("loads", {}).items()},
        icc=row.get("icc", {}),
        schmitt=bool(row.get("schmitt", False)),
    )


def _outputs(row: Mapping[str, Any], fill: _Filler) -> Iterator[ChipOutput]:
    spec: Mapping[str, Any] = row.get("clocked", {})
    for template, given in row["out"].items():
        told = given if isinstance(given, Mapping) else {"level": given}
        for k in fill.places(template):
            yield ChipOutput(
                name=fill.one(template, k),
                level=fill.one(told["level"], k),
                enable=fill.one(told.get("enable", row.get("enable", "")), k),
                clocked=_clocked(spec, fill, k) if spec else None,
            )


def _clocked(spec: Mapping[str, Any], fill: _Filler, k: int) -> Clocked:
    return Clocked(
        clock=fill.one(spec["clock"], k),
        data=fill.one(spec["data"], k),
        edge=bool(spec.get("edge", True)),
        force_high=fill.one(spec.get("force_high", ""), k),
        force_low=fill.one(spec.get("force_low", ""), k),
    )


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
