"""An SVG text as a PNG, by the same extra that sets the record as PDF."""

from __future__ import annotations

import tempfile
from pathlib import Path

from halfsplit.errors import CaseError

__all__ = ["png_of"]

_PAGE = '#set page(width: auto, height: auto, margin: 0pt)\n#image("picture.svg")\n'
DOTS_PER_INCH = 144.0
"""Of the PNG; twice what a screen shows at, so that print looks well too."""


def png_of(svg: str) -> bytes:
    """The picture as PNG. Raises CaseError when the extra is not installed or cannot set it."""
    try:
        import typst
    except ImportError as error:
        raise CaseError(
            "a PNG needs the extra that is not installed: pip install 'halfsplit[pdf]'; "
            "an SVG needs nothing"
        ) from error
    with tempfile.TemporaryDirectory(prefix="halfsplit-picture-") as name:
        folder = Path(name)
        (folder / "picture.svg").write_text(svg, encoding="utf-8")
        (folder / "picture.typ").write_text(_PAGE, encoding="utf-8")
        try:
            made = typst.compile(
                str(folder / "picture.typ"), root=name, format="png", ppi=DOTS_PER_INCH
            )
        except RuntimeError as error:
            raise CaseError(f"the PNG cannot be made: {error}; take the SVG instead") from error
    if not isinstance(made, bytes):
        raise CaseError("the PNG cannot be made; take the SVG instead")
    return made
