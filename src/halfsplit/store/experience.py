"""The owner's own library of proven cases: counts by kind of part and way of failing, no more.

A JSON file in the folder of the user's data (XDG Base Directory Specification). It holds no board,
no case, no name, place or date, so it can be handed on and merged.
"""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from halfsplit.errors import CaseError
from halfsplit.store.folders import data_folder

__all__ = [
    "SCHEMA",
    "Counts",
    "add",
    "dumped",
    "experience_path",
    "load",
    "merged",
    "parsed",
    "save",
]

SCHEMA = "halfsplit-experience/1"
Counts = Mapping[tuple[str, str], int]
"""(kind of part or joint, way of failing) -> proven cases."""


def experience_path() -> Path:
    """Where the library is kept."""
    return data_folder() / "experience.json"


def load(path: Path | None = None) -> Counts:
    """The counts, none where there is no file. Raises :class:`CaseError` for one that cannot be
    read."""
    path = path or experience_path()
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return {}
    except (OSError, UnicodeDecodeError) as error:
        raise CaseError(f"{path}: expected a library of proven cases: {error}") from error
    return parsed(text, str(path))


def parsed(text: str, where: str) -> Counts:
    """Counts from their JSON. Raises :class:`CaseError`."""
    try:
        data = json.loads(text)
        if data["schema"] != SCHEMA:
            raise ValueError(f"schema {data['schema']!r}")
        found = {(str(one["kind"]), str(one["mode"])): int(one["cases"]) for one in data["proven"]}
        if any(count < 0 for count in found.values()):
            raise ValueError("a count below zero")
    except (KeyError, TypeError, ValueError) as error:
        raise CaseError(
            f"{where}: expected a library of proven cases ({SCHEMA}), got something else ({error})"
        ) from error
    return found


def dumped(counts: Counts) -> str:
    """JSON of counts, in one order."""
    proven = [
        {"kind": kind, "mode": mode, "cases": count}
        for (kind, mode), count in sorted(counts.items())
        if count
    ]
    return json.dumps({"schema": SCHEMA, "proven": proven}, indent=1) + "\n"


def merged(one: Counts, other: Counts) -> Counts:
    """Both together."""
    return {key: one.get(key, 0) + other.get(key, 0) for key in {**one, **other}}


def save(counts: Counts, path: Path | None = None) -> None:
    """Write the library, whole or not at all. Raises :class:`CaseError`."""
    path = path or experience_path()
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(
            "w", encoding="utf-8", dir=path.parent, delete=False
        ) as file:
            file.write(dumped(counts))
        os.replace(file.name, path)
    except OSError as error:
        raise CaseError(f"{path}: cannot keep the library of proven cases: {error}") from error


def add(kind: str, mode: str, path: Path | None = None) -> None:
    """One more proven case."""
    save(merged(load(path), {(kind, mode): 1}), path)
