"""The owner's meter, kept for new cases: a JSON file in the folder of the owner's settings."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from pathlib import Path

from halfsplit.errors import CaseError
from halfsplit.store.folders import settings_folder

__all__ = ["SCHEMA", "forget", "load", "meter_path", "save", "write_settings"]

SCHEMA = "halfsplit-meter/1"


def meter_path() -> Path:
    """Where it is kept."""
    return settings_folder() / "meter.json"


def load(path: Path | None = None) -> Mapping[str, float]:
    """Fields by name, none where there is no file. Raises :class:`CaseError` for one that cannot
    be read."""
    path = path or meter_path()
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        if data["schema"] != SCHEMA:
            raise ValueError(f"schema {data['schema']!r}")
        found = {str(name): float(value) for name, value in data["meter"].items()}
        if not all(math.isfinite(value) for value in found.values()):
            raise ValueError("a number that is none")
    except FileNotFoundError:
        return {}
    except (OSError, AttributeError, KeyError, TypeError, ValueError) as error:
        raise CaseError(
            f"{path}: expected a meter ({SCHEMA}), got something else ({error}); "
            "halfsplit meter --forget takes it away"
        ) from error
    return found


def save(values: Mapping[str, float], path: Path | None = None) -> None:
    """Write the fields. Raises :class:`CaseError`."""
    write_settings(path or meter_path(), {"schema": SCHEMA, "meter": dict(values)}, "the meter")


def write_settings(path: Path, data: Mapping[str, object], what: str) -> None:
    """Write a file of settings, whole or not at all. Raises :class:`CaseError`."""
    part = path.with_suffix(".part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        part.write_text(json.dumps(data, indent=1) + "\n", encoding="utf-8")
        part.replace(path)
    except OSError as error:
        raise CaseError(f"{path}: cannot keep {what}: {error}") from error


def forget(path: Path | None = None) -> None:
    """Take the file away, if there is one."""
    (path or meter_path()).unlink(missing_ok=True)
