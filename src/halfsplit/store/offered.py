"""What was last offered in a terminal for a case, so that a number typed means what was seen.

A JSON file in the folder of the user's data; without it the numbers mean the first few suggestions.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

from halfsplit.errors import CaseError
from halfsplit.store.folders import data_folder
from halfsplit.store.own_meter import write_settings

__all__ = ["offered", "remember"]

_MOST_CASES = 50


def offered(case: Path, made: str) -> tuple[str, ...]:
    """Ids of the suggestions last shown for a case ``made`` at that time, the first first; empty
    when nothing is known."""
    known = _all().get(_key(case, made), [])
    return tuple(str(name) for name in known) if isinstance(known, list) else ()


def remember(case: Path, made: str, ids: Sequence[str]) -> None:
    """Keep what was shown. Where nothing can be written nothing is kept: it is no evidence."""
    known = _all()
    known.pop(_key(case, made), None)
    kept = {**dict(list(known.items())[-_MOST_CASES:]), _key(case, made): list(ids)}
    with suppress(CaseError):
        write_settings(_path(), kept, "what was offered")


def _path() -> Path:
    return data_folder() / "offered.json"


def _key(case: Path, made: str) -> str:
    return f"{case.absolute()} {made}"


def _all() -> dict[str, object]:
    try:
        found = json.loads(_path().read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}
