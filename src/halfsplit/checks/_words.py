"""Typed answers in words, and the answers that say "could not tell"."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

import numpy as np

from halfsplit.checks._loosely import sure
from halfsplit.checks.kind import Reading
from halfsplit.errors import ReadingError, UnknownName, nearest
from halfsplit.solve.law import Array

__all__ = ["is_nothing", "read_word", "said_column", "shorten"]

_NOTHING = re.compile(
    r"^(?:\?+|-+|skip(?:ped)?|pass on|n/?a|dunno|(?:i )?(?:do not|don'?t) know|no idea|unknown"
    r"|un ?sure|not sure|unclear|(?:i )?(?:could|can)(?: ?not|n'?t|'t)\b.*|unable\b.*"
    r"|un ?reachable|no access|(?:it )?(?:flickers?|flickering|jumps?|jumping|wanders?|wandering"
    r"|drifts?|drifting|rising|climbing|creeping|pulses?|pulsing|toggles|toggling"
    r"|blinks?|blinking|both lights?|unstable|unsteady)\b.*"
    r"|not measured|not done|not tried|did ?n[o']?t\b.*)"
    r"[.!]?$",
    re.IGNORECASE,
)


def is_nothing(text: str) -> bool:
    """True for ``?``, ``skip``, ``could not reach``, ``flickers``: it moves nothing."""
    return bool(_NOTHING.match(text.strip()))


def shorten(text: str, most: int = 60) -> str:
    """The text quoted for a message."""
    return repr(text if len(text) <= most else text[: most - 3] + "...")


def read_word(text: str, synonyms: Mapping[str, str], *, what: str) -> Reading:
    """Understand an answer in words: ``synonyms`` maps every known spelling to an outcome word.

    Raises :class:`ReadingError` with the nearest word and all outcome words.
    """
    said = " ".join(text.split()).strip(" .!;").casefold()
    if is_nothing(text):
        return Reading(text=text, nothing=True)
    said = sure(said)[0]
    for lead in (
        "",
        "it is ",
        "it's ",
        "it ",
        "they ",
        "is ",
        "was ",
        "stays ",
        "always ",
        "stuck ",
    ):
        if said.startswith(lead) and said[len(lead) :] in synonyms:
            return Reading(text=text, word=synonyms[said[len(lead) :]])
    words = ", ".join(dict.fromkeys(synonyms.values()))
    near = nearest(said[:60], synonyms) if said else None
    hint = f"; did you mean {near}?" if near else ""
    raise ReadingError(
        f"cannot read {shorten(text)} as the answer to {what}{hint} "
        f"(expected one of: {words}, or ? when you could not tell)"
    )


def said_column(p: Array, reading: Reading, words: Iterable[str]) -> Array:
    """[F + 1] of the table ``p`` [F + 1, O] with a column for each of ``words``: what was said, or
    ones when it was nothing. Raises :class:`UnknownName` for another word."""
    if reading.nothing:
        return np.ones(len(p))
    labels = tuple(words)
    if reading.word not in labels:
        raise UnknownName("answer", reading.word, labels)
    column: Array = p[:, labels.index(reading.word)]
    return column
