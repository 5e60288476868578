"""The reference of all kinds of part as Markdown, made from what each kind says of itself.

``python -m halfsplit.parts.reference`` prints it; ``docs/parts.md`` holds it.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterable, Iterator

from halfsplit.board.model import DESCRIBED, DescribedPin, Description, Gives, Part
from halfsplit.parts.connector import FAR
from halfsplit.parts.kind import Mode, PartKind
from halfsplit.parts.registry import KINDS

__all__ = ["render", "sample"]

_FREE = {
    "1": "supply", "2": "ground", "3": "in", "4": "out", "5": "oc", "6": "io",
}  # fmt: skip
_GATE = Description(
    name="MINE", family="74LS",
    pins=tuple(
        DescribedPin(name=name, title=title, role=role)
        for name, title, role in (("1", "A", "in"), ("2", "B", "in"), ("3", "Y", "out"),
                                  ("14", "VCC", "supply"), ("7", "GND", "ground"))
    ),
    gives=(Gives(output="Y", level="!(A & B)"),),
)  # fmt: skip
_LISTED = 14
_NAMED = 60
_BIT = re.compile(r"(?<=at its bit )\w+")
_PIN = re.compile(r"(?<![\d.])\d+(?![\d.])'?")
_FUNCTION = re.compile(r" \(n?[A-Z][A-Za-z0-9_]*\)")
_SEVERAL = re.compile(r"\bn(?:, n)+\b")


def sample(kind: PartKind) -> Part:
    """A part of that kind with every pin on a net of its own."""
    word = kind.word
    if word.name == DESCRIBED:
        return _described()
    if word.free_pins:
        names = [*_FREE, *(pin + FAR for pin in _FREE)]
        roles = _FREE
    else:
        names, roles = [pin.name for pin in word.pins if pin.role != "nc"], {}
    return Part(
        designator="X1",
        kind=word.name,
        pins={name: f"N{k}" for k, name in enumerate(names)},
        roles=roles,
    )


def _described() -> Part:
    roles = {pin.name: pin.role for pin in _GATE.pins}
    return Part(designator="X1", kind=DESCRIBED, type=_GATE.name, description=_GATE, roles=roles,
                pins={name: f"N{name}" for name in roles})  # fmt: skip


def render(kinds: Iterable[PartKind] = KINDS) -> str:
    """Markdown: one section a kind, with pins, fields, modes, shares and sources."""
    lines = [
        "# Kinds of part",
        "",
        "Made from the program by `python -m halfsplit.parts.reference`; do not edit by hand.",
        "Shares are fractions of the part's failures, shown for a part with every pin connected.",
        "Each way of failing names its source; where pins and values come from stands beside them "
        "in the file of the family, and for logic chips in `tests/truth/logic_pins.toml` and "
        "`tests/truth/logic_levels.csv`.",
        "",
    ]
    ordered = sorted(kinds, key=lambda each: each.name)
    lines += _families(ordered)
    for kind in ordered:
        if not kind.word.family:
            lines += _section(kind)
    chips = [kind for kind in ordered if kind.word.family]
    if chips:
        lines += _chips(chips)
    return "\n".join(lines).rstrip() + "\n"


def _families(kinds: list[PartKind]) -> list[str]:
    """One row a file of kinds: what they are, their names, how many type numbers they answer to."""
    lines = ["| family | file | kinds | type numbers |", "|---|---|---|---|"]
    for name, title in _files():
        module = sys.modules[name]
        own = getattr(module, "KINDS", None) or (module.KIND,)
        listed = [kind for kind in kinds if any(kind is each for each in own)]
        if listed:
            types = sum(len(getattr(kind, "types", ())) for kind in listed)
            names = ", ".join(kind.name for kind in listed)
            told = names if len(listed) <= _NAMED else f"{len(listed)}, see the end of this page"
            short = name.rpartition(".")[2]
            lines.append(f"| {title} | `{short}.py` | {told} | {types or ''} |")
    return [*lines, ""]


def _files() -> Iterator[tuple[str, str]]:
    """Modules of kinds and the first sentence that each says of itself, in the order of names."""
    KINDS.all()
    package = "halfsplit.parts"
    for name, module in sorted(sys.modules.items()):
        if name.startswith(f"{package}.") and (
            hasattr(module, "KIND") or isinstance(getattr(module, "KINDS", None), tuple)
        ):
            said = " ".join((module.__doc__ or "").split("\n\n")[0].split())
            yield name, said.rstrip(".")


def _section(kind: PartKind) -> list[str]:
    word, part = kind.word, sample(kind)
    rate = kind.rate(part)
    lines = [f"## {word.name}: {word.title}", ""]
    if word.help:
        lines += [word.help, ""]
    if word.example:
        lines += [*(f"    {line}" for line in word.example.split("\n")), ""]
    if word.value_unit:
        lines += [f"- Value in {word.value_unit}"]
    if word.free_pins:
        lines += ["- Pins: named in the board file"]
    else:
        lines += ["- Pins: " + ", ".join(_pin(pin.name, pin.title) for pin in word.pins)]
    for field in word.fields:
        default = f" (default {field.default})" if field.default else ""
        lines += [f"- `{field.name}`: {field.help}{default}"]
    if word.settings:
        lines += [f"- States may set it to: {', '.join(word.settings)}"]
    types = [each.name for each in getattr(kind, "types", ())]
    if types:
        lines += [f"- Type numbers: {', '.join(types)}"]
    lines += [
        f"- Failures: {rate.per_million_hours:.3g} per million hours ({rate.source})",
        "",
        "| way of failing | share | source |",
        "|---|---|---|",
    ]
    return [*lines, *_mode_rows(kind.modes(part)), ""]


def _chips(chips: list[PartKind]) -> list[str]:
    """Logic chips: one table of pins, a row for all families of a chip; one of the ways of failing
    with the span of their shares."""
    lines = [
        "## Logic chips",
        "",
        "Each is a kind of its own, typed by its number.",
        "",
        "| kinds | what it is | pins in order |",
        "|---|---|---|",
    ]
    rows: dict[tuple[str, str], list[str]] = {}
    spans: dict[tuple[str, str], list[float]] = {}
    for kind in chips:
        pins = ", ".join(f"{pin.name} {pin.title}".strip() for pin in kind.word.pins)
        what, _, _ = kind.word.title.rpartition(", ")
        rows.setdefault((what, pins), []).append(kind.name)
        for (like, source), members in _alike(kind.modes(sample(kind))).items():
            total = sum(mode.share for mode in members)
            spans.setdefault((like, source), []).append(total)
    lines += [f"| {', '.join(names)} | {what} | {pins} |" for (what, pins), names in rows.items()]
    lines += ["", "| way of failing | share, all pins together | source |", "|---|---|---|"]
    for (like, source), totals in spans.items():
        low, high = f"{min(totals):.3f}", f"{max(totals):.3f}"
        lines.append(f"| {like} | {low if low == high else f'{low} to {high}'} | {source} |")
    return [*lines, ""]


def _pin(name: str, title: str) -> str:
    return f"`{name}` {title}" if title and title != name else f"`{name}`"


def _mode_rows(modes: Iterable[Mode]) -> list[str]:
    """One row a mode; the modes of many like pins together in one row by source."""
    listed = list(modes)
    if len(listed) <= _LISTED:
        return [f"| {mode.words} | {mode.share:.3f} | {mode.source} |" for mode in listed]
    rows = []
    for (like, source), members in _alike(listed).items():
        count = f" ({len(members)} of them)" if len(members) > 1 else ""
        total = sum(mode.share for mode in members)
        rows.append(f"| {like}{count} | {total:.3f} | {source} |")
    return rows


def _alike(modes: Iterable[Mode]) -> dict[tuple[str, str], list[Mode]]:
    """Modes by words (pin numbers as n, functions left out) and source."""
    groups: dict[tuple[str, str], list[Mode]] = {}
    for mode in modes:
        like = _SEVERAL.sub("n", _PIN.sub("n", _FUNCTION.sub("", _BIT.sub("n", mode.words))))
        groups.setdefault((like, mode.source), []).append(mode)
    return groups


if __name__ == "__main__":
    sys.stdout.write(render())
