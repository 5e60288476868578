"""What is said of recorded lines: a finding, from words and in words."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import combinations

from halfsplit.checks._words import shorten
from halfsplit.errors import ReadingError, nearest
from halfsplit.frozen import dataclass

__all__ = [
    "LINE_WORDS",
    "PAIR_WORDS",
    "RIGHT",
    "SEVERAL",
    "WHOLE_WORDS",
    "Finding",
    "labels",
    "line_word",
]

RIGHT, SEVERAL = "right", "several"
LINE_WORDS = {
    "stuck on": "on all the time",
    "stuck off": "never on",
    "missing": "not always on when it should be",
    "extra": "on at other times too",
    "inverted": "on and off exchanged",
    "late": "comes off too late",
    "glitching": "far shorter pulses besides",
    "undefined": "neither high nor low, some of the time",
    "irregular": "anything else that is clearly two levels",
}
PAIR_WORDS = {
    "shorted": "two lines follow each other",
    "swapped": "two lines are exchanged",
}
WHOLE_WORDS = {
    "all stuck on": "every line is on all the time",
    "all stuck off": "no line is ever on",
    "reset": "the pattern is right but begins again and again",
}
_SAME = {
    **dict.fromkeys(("ok", "okay", "good", "fine", "correct", "as expected"), RIGHT),
    **dict.fromkeys(("always on", "on all the time"), "stuck on"),
    **dict.fromkeys(("never on", "off", "dead", "never comes on", "nothing"), "stuck off"),
    **dict.fromkeys(("late to release", "slow", "overlaps"), "late"),
    **dict.fromkeys(("glitches", "noisy"), "glitching"),
    **dict.fromkeys(("between", "no level", "floating"), "undefined"),
    **dict.fromkeys(("short", "together", "shorted together"), "shorted"),
    **dict.fromkeys(("exchanged", "crossed"), "swapped"),
    **dict.fromkeys(("resets", "restarts", "resetting"), "reset"),
    **dict.fromkeys(("more", "others", "wrong", "many"), SEVERAL),
}
_ABSENT = "not recorded"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """``odd`` lines by number with their word; a ``pair`` as word and two numbers; or ``whole``, a
    word for all lines. All other lines are right, but for ``absent`` ones, which nobody saw."""

    odd: tuple[tuple[int, str], ...] = ()
    pair: tuple[str, int, int] | None = None
    whole: str = ""
    absent: frozenset[int] = frozenset()

    def text(self, nets: Sequence[str]) -> str:
        """``DA stuck off, DC late, DD not recorded``."""
        said = [f"{nets[i]} {word}" for i, word in self.odd]
        if self.pair is not None:
            word, i, j = self.pair
            said.append(f"{nets[i]} and {nets[j]} {word}")
        if self.whole:
            said.append(self.whole)
        said = said or [RIGHT]
        return ", ".join([*said, *(f"{nets[i]} {_ABSENT}" for i in sorted(self.absent))])

    @classmethod
    def read(cls, text: str, nets: Sequence[str], on: Sequence[bool]) -> Finding:
        """Of what was typed; ``on`` [n] are the levels at which lines are on, high or not. Raises
        :class:`ReadingError` saying what is understood."""
        finding = cls()
        for item in re.split(r"[,;]", text):
            said = " ".join(item.split()).strip(" .!").casefold()
            if not said:
                raise _refused(text, text, nets)
            finding = finding._with(said, text, nets, on)
        return finding

    def _with(self, said: str, text: str, nets: Sequence[str], on: Sequence[bool]) -> Finding:
        fold = [net.casefold() for net in nets]
        words = said.split()
        lines = [fold.index(word) for word in words if word in fold]
        rest = " ".join(word for word in words if word not in fold and word not in _FILLERS)
        if not lines and len(nets) == 1 and rest not in (RIGHT, *WHOLE_WORDS):
            lines = [0]
        rest = _SAME.get(rest, rest)
        if rest in ("stuck high", "stuck low", "always high", "always low") and len(lines) == 1:
            rest = "stuck on" if rest.endswith("high") == bool(on[lines[0]]) else "stuck off"
        odd, taken = list(self.odd), {i for i, _ in self.odd} | self.absent
        if taken & set(lines) or (self.whole and rest != _ABSENT):
            raise _refused(text, said, nets)
        if rest == RIGHT:
            return self
        if rest == _ABSENT and lines and len(self.absent | set(lines)) < len(nets):
            return Finding(
                odd=self.odd, pair=self.pair, whole=self.whole, absent=self.absent | set(lines)
            )
        if rest in LINE_WORDS and lines:
            odd += [(i, rest) for i in lines]
            return Finding(odd=tuple(sorted(odd)), pair=self.pair, absent=self.absent)
        if rest in PAIR_WORDS and len(set(lines)) == 2 and self.pair is None:
            i, j = sorted(lines)
            return Finding(odd=self.odd, pair=(rest, i, j), absent=self.absent)
        if rest in (*WHOLE_WORDS, SEVERAL) and not lines and not odd and self.pair is None:
            return Finding(whole=rest, absent=self.absent)
        raise _refused(text, said, nets)


def line_word(shown: Sequence[float], active: Sequence[bool]) -> str:
    """The word for a line that is on (1), off (0), or on in that part
    of the times that the state came; ``active`` is when it should be on."""
    sure_of = [not 0.2 < value < 0.8 for value in shown]
    pairs = list(zip([value > 0.5 for value in shown], active, strict=True))
    if not all(sure_of):
        clean = [pair for pair, sure in zip(pairs, sure_of, strict=True) if sure]
        due = [yes for yes, sure in zip(active, sure_of, strict=True) if not sure]
        if all(on == yes for on, yes in clean) and len(set(due)) == 1:
            return "missing" if due[0] else "extra"
        return "irregular"
    if all(on == yes for on, yes in pairs):
        return RIGHT
    if all(on for on, _ in pairs):
        return "stuck on"
    if not any(on for on, _ in pairs):
        return "stuck off"
    if all(on != yes for on, yes in pairs):
        return "inverted"
    if all(yes for on, yes in pairs if on):
        return "missing"
    return "extra" if all(on for on, yes in pairs if yes) else "irregular"


def labels(nets: Sequence[str]) -> list[Finding]:
    """Findings that are outcomes, in order; :data:`SEVERAL` last stands for all the others."""
    found = [Finding()]
    found += [Finding(odd=((i, word),)) for i in range(len(nets)) for word in LINE_WORDS]
    pairs = combinations(range(len(nets)), 2)
    found += [Finding(pair=(word, i, j)) for i, j in pairs for word in PAIR_WORDS]
    if len(nets) > 1:
        found += [Finding(whole=word) for word in WHOLE_WORDS]
        found.append(Finding(whole=SEVERAL))
    return found


_FILLERS = frozenset({"and", "is", "are", "the", "line", "net", "&", "with", "to", "was"})


def _refused(text: str, said: str, nets: Sequence[str]) -> ReadingError:
    known = (RIGHT, *LINE_WORDS, *PAIR_WORDS, *WHOLE_WORDS, SEVERAL)
    near = nearest(said[:60], known)
    hint = f"; did you mean {near}?" if near else ""
    return ReadingError(
        f"cannot read {shorten(text)} as what the lines did{hint} Expected {RIGHT}, or a line and "
        f"a word, such as {nets[0]} stuck off (words: {', '.join(known)}), or ? when you could not "
        "tell"
    )
