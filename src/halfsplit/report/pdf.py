"""The record as PDF, by the extra ``halfsplit[pdf]``. All that was typed goes in as data."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path

from halfsplit.diagnose.session import percent
from halfsplit.errors import CaseError
from halfsplit.finding import drawn
from halfsplit.packaged import packaged
from halfsplit.report.drawing import drawing
from halfsplit.report.model import Record

__all__ = ["pdf"]

_ENDINGS = {"image/jpeg": "jpg", "image/png": "png"}


def pdf(record: Record, bytes_of: Callable[[str], bytes]) -> bytes:
    """The record as a PDF file; ``bytes_of`` gives attached bytes by their SHA-256. Raises
    CaseError when the extra is not installed or a photo cannot be set."""
    try:
        import typst
    except ImportError as error:
        raise CaseError(
            "a PDF needs the extra that is not installed: pip install 'halfsplit[pdf]'; or print "
            "the page to a file from the browser"
        ) from error
    with tempfile.TemporaryDirectory(prefix="halfsplit-record-") as name:
        folder = Path(name)
        photos = []
        for photo in record.photos:
            file = f"{photo.sha256}.{_ENDINGS.get(photo.media, 'jpg')}"
            (folder / file).write_bytes(bytes_of(photo.sha256))
            photos.append(photo.to_json() | {"file": file})
        for finding in record.findings:
            picture = drawn(bytes_of(finding.sha256))
            (folder / f"finding-{finding.number}.svg").write_text(picture, encoding="utf-8")
        if record.board is not None:
            (folder / "board.svg").write_text(drawing(record.board), encoding="utf-8")
        (folder / "record.json").write_text(json.dumps(_data(record, photos)), encoding="utf-8")
        source = packaged("report/record.typ")
        (folder / "record.typ").write_bytes(source.read_bytes())
        try:
            made = typst.compile(str(folder / "record.typ"), root=name, format="pdf")
        except RuntimeError as error:
            raise CaseError(f"the PDF cannot be set: {error}; save the page instead") from error
    if not isinstance(made, bytes):
        raise CaseError("the PDF cannot be set; save the page instead")
    return made


def _data(record: Record, photos: list[dict[str, object]]) -> dict[str, object]:
    data = record.to_json() | {"photos": photos, "drawn": record.board is not None}
    data["complaint"] = [asdict(line) for line in record.complaint]
    for name in ("complaint", "readings", "repairs"):
        data[name] = [
            line | {"percent": percent(line["share"])}
            for line in data[name]  # type: ignore[attr-defined]  # lists of mappings, just made
        ]
    data["measured"] = [line for line in data["readings"] if line["kind"] != "symptom"]  # type: ignore[attr-defined]  # as above
    data["reasons"] = [
        reason | {"percent": percent(reason["probability"])}
        for reason in data["reasons"]  # type: ignore[attr-defined]  # as above
    ]
    return data
