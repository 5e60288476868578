"""Scripts and styles of the pages, at addresses that change when one of them does, so that a
browser keeps them for good and asks once."""

from __future__ import annotations

import hashlib
import os
import re
from functools import cache
from pathlib import Path

from starlette.responses import Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

__all__ = ["ADDRESS", "Assets", "needed_by"]

FOLDER = Path(__file__).parent / "static"
_IMPORT = re.compile(r'^import .*?"\./([\w-]+\.js)";', re.MULTILINE | re.DOTALL)


def _mark() -> str:
    found = hashlib.sha256()
    for file in sorted(FOLDER.iterdir()):
        found.update(file.name.encode() + b"\0" + file.read_bytes() + b"\0")
    return found.hexdigest()[:12]


ADDRESS = f"/static/{_mark()}"
"""Where they are."""


class Assets(StaticFiles):
    """The files of `FOLDER`, to be kept by the browser."""

    def __init__(self) -> None:
        super().__init__(directory=FOLDER)

    def file_response(
        self,
        full_path: str | os.PathLike[str],
        stat_result: os.stat_result,
        scope: Scope,
        status_code: int = 200,
    ) -> Response:
        """A file that will never be another under this address."""
        answer = super().file_response(full_path, stat_result, scope, status_code)
        answer.headers["cache-control"] = "public, max-age=31536000, immutable"
        return answer


@cache
def needed_by(script: str) -> tuple[str, ...]:
    """Names of the modules that a script imports, and those import, for the browser to fetch
    together and not one after another."""
    found: dict[str, None] = {}
    waiting = [script]
    while waiting:
        text = (FOLDER / waiting.pop()).read_text(encoding="utf-8")
        new = [name for name in _IMPORT.findall(text) if name not in found and name != script]
        found |= dict.fromkeys(new)
        waiting += new
    return tuple(found)
