"""Value changes of a VCD body in numpy: IEEE 1364-2005, 18.2.1. vcd.c does the same.

No loop over the words of the file: where they begin, what they are by their first letter, then the
numbers of all times at once, eight digits in one machine word.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from halfsplit.capture.formats._vcd_changes import (
    BACKWARDS,
    BAD_TIME,
    BAD_TOKEN,
    BAD_VALUE,
    NO_ID,
    UNKNOWN_ID,
    WRONG_KIND,
    Changes,
    Codes,
)

__all__ = ["parse"]

_PAD = 24
"""Blank bytes before the text, so that three machine words before any byte may be read."""

_TIME, _SCALAR, _VECTOR, _REAL, _TEXT, _WORD, _OTHER, _CODE = range(8)
_NONE = 255
_WORDS = (b"$end", b"$dumpvars", b"$dumpall", b"$dumpon", b"$dumpoff")
_MOST_TICKS = 1 << 62

_VALUE = np.full(256, _NONE, dtype=np.uint8)
for _signs, _level in ((b"0lL", 0), (b"1hH", 1), (b"xXuUwW-", 2), (b"zZ", 3)):
    _VALUE[list(_signs)] = _level
_LEAD = np.full(256, _OTHER, dtype=np.uint8)
_LEAD[_VALUE != _NONE] = _SCALAR
_OPENERS = ((b"#", _TIME), (b"bB", _VECTOR), (b"rR", _REAL), (b"sS", _TEXT), (b"$", _WORD))
for _signs, _level in _OPENERS:
    _LEAD[list(_signs)] = _level
_LAST = np.array([(-1 << (8 * (8 - n))) & (2**64 - 1) for n in range(9)], dtype=np.uint64)
"""Masks that keep the last n bytes of a little-endian word."""


class _Stop(Exception):  # noqa: N818 - never leaves this module
    def __init__(self, problem: int, at: int) -> None:
        self.problem, self.at = problem, at


def parse(text: bytes, codes: Codes, now: int) -> Changes:
    """The changes in a whole block that begins and ends between words, after time ``now``.

    When a word is wrong, what stands before it is given, with the problem.
    """
    stops: list[_Stop] = []
    upto = len(text)
    while True:
        try:
            found = _Block(text[:upto], codes, now).changes()
        except _Stop as stop:
            stops.append(stop)
            upto = max(0, min(stop.at, upto - 1))
            continue
        if not stops:
            return found
        return replace(found, problem=stops[-1].problem, at=stops[-1].at)


class _Block:
    """One block: where its words begin and end, and what they are."""

    def __init__(self, text: bytes, codes: Codes, now: int) -> None:
        self.codes, self.now = codes, now
        self._split(text)
        if self.start.size and self.kind.max() > _SCALAR:
            while comment := self._comment(self._sort_out()):
                self._split(text := text[: comment[0]].ljust(comment[1]) + text[comment[1] :])
            self._check_words()

    def _split(self, text: bytes) -> None:
        self.text = np.frombuffer(b" " * _PAD + text + b" ", dtype=np.uint8)
        self.words = np.ndarray(
            shape=(self.text.size - 7,), dtype="<u8", buffer=self.text, strides=(1,)
        )
        gaps = np.flatnonzero(self.text <= 32)[_PAD - 1 :]
        start, end = gaps[:-1] + 1, gaps[1:]
        filled = start < end
        if not filled.all():
            start, end = start[filled], end[filled]
        self.start, self.end = start, end
        self.kind = _LEAD[self.text[start]]

    def changes(self) -> Changes:
        is_time = self.kind == _TIME
        times = self._times(np.flatnonzero(is_time))
        ticks = np.concatenate(([self.now], times))
        scalars = np.flatnonzero(self.kind == _SCALAR)
        # Words that are neither change which time is the latest as little as values do.
        latest = np.cumsum(is_time)
        slot, value, order = self._bits(scalars, self.start[scalars], one=True)
        vectors = np.flatnonzero(self.kind == _VECTOR)
        if vectors.size:
            more = self._bits(vectors, self.start[vectors] + 1, one=False)
            order = np.concatenate((order, more[2]))
            by_place = np.argsort(order, kind="stable")
            slot = np.concatenate((slot, more[0]))[by_place]
            value, order = np.concatenate((value, more[1]))[by_place], order[by_place]
        reals = np.flatnonzero(self.kind == _REAL)
        raw = self.text.tobytes() if reals.size else b""
        return Changes(
            slot=slot,
            tick=ticks[latest[order]],
            value=value,
            real_slot=self.codes.slot[self._variables(reals, reals + 1, 1)],
            real_tick=ticks[latest[reals]],
            real=[raw[self.start[k] + 1 : self.end[k]] for k in reals],
            first=int(times[0]) if times.size else -1,
            now=int(ticks[-1]),
        )

    def _stop(self, problem: int, token: int) -> _Stop:
        return _Stop(problem, int(self.start[token]) - _PAD)

    def _sort_out(self) -> NDArray[np.intp]:
        """Words that follow a vector, a real or a text are codes, whatever they look like.

        Gives the words that are keywords.
        """
        kind = self.kind
        where = np.flatnonzero((kind >= _VECTOR) & (kind <= _TEXT))
        if where.size:
            # In a run of words that might all open one, every second is the code of the first.
            fresh = np.concatenate(([True], np.diff(where) > 1))
            run_start = np.maximum.accumulate(np.where(fresh, where, 0))
            truly = where[(where - run_start) % 2 == 0]
            kind[truly[truly < kind.size - 1] + 1] = _CODE
        return np.flatnonzero(kind == _WORD)

    def _comment(self, words: NDArray[np.intp]) -> tuple[int, int] | None:
        """From where to where the first comment goes, in bytes."""
        first = next((k for k in words.tolist() if self._word(k) == b"$comment"), None)
        if first is None:
            return None
        closing = (k for k in range(first + 1, self.start.size) if self._word(k) == b"$end")
        last = next(closing, None)
        if last is None:
            raise self._stop(BAD_TOKEN, first)
        return int(self.start[first]) - _PAD, int(self.end[last]) - _PAD

    def _word(self, token: int) -> bytes:
        return self.text[self.start[token] : self.end[token]].tobytes()

    def _check_words(self) -> None:
        kind = self.kind
        if kind.size and _VECTOR <= kind[-1] <= _TEXT:
            raise self._stop(NO_ID, kind.size - 1)
        texts = np.flatnonzero(kind == _TEXT)
        self._variables(texts, texts + 1, 2)
        words = np.flatnonzero(kind == _WORD).tolist()
        strange = [k for k in words if self._word(k) not in _WORDS]
        wrong = np.append(np.flatnonzero(kind == _OTHER), strange)
        if wrong.size:
            raise self._stop(BAD_TOKEN, int(wrong.min()))

    def _times(self, tokens: NDArray[np.intp]) -> NDArray[np.int64]:
        end, size = self.end[tokens], self.end[tokens] - self.start[tokens] - 1
        bad = (size < 1) | (size > 19)
        if bad.any():
            raise self._stop(BAD_TIME, int(tokens[bad.argmax()]))
        total = np.zeros(tokens.size, dtype=np.uint64)
        longest = int(size.max(initial=0))
        for part in range((longest + 7) // 8):
            mask = _LAST[np.clip(size - 8 * part, 0, 8)]
            word = self.words[end - 8 * (part + 1)]
            word ^= np.uint64(0x3030303030303030)
            word &= mask
            # Of a byte that is no digit the upper half is not 0, or is not when 6 is added.
            wrong = word + np.uint64(0x0606060606060606)
            wrong |= word
            wrong &= np.uint64(0xF0F0F0F0F0F0F0F0)
            if wrong.any():
                raise self._stop(BAD_TIME, int(tokens[(wrong != 0).argmax()]))
            value = _eight_digits(word)
            if part:
                value *= np.uint64(10 ** (8 * part))
            total += value
        big = total >= _MOST_TICKS
        if big.any():
            raise self._stop(BAD_TIME, int(tokens[big.argmax()]))
        times = total.astype(np.int64)
        back = np.diff(times, prepend=self.now) < 0
        if back.any():
            raise self._stop(BACKWARDS, int(tokens[back.argmax()]))
        return times

    def _bits(
        self, tokens: NDArray[np.intp], digits: NDArray[np.intp], *, one: bool
    ) -> tuple[NDArray[np.int32], NDArray[np.uint8], NDArray[np.intp]]:
        """Slot, value and word of every bit that changes; ``digits``: where the value begins."""
        variable = self._variables(tokens, tokens if one else tokens + 1, 0, skip=int(one))
        if one and (self.codes.width == 1).all():
            return self.codes.slot[variable], _VALUE[self.text[digits]], tokens
        stop = digits + 1 if one else self.end[tokens]
        if (stop <= digits).any():
            raise self._stop(BAD_VALUE, int(tokens[(stop <= digits).argmax()]))
        fill = _VALUE[self.text[digits]]
        fill[fill == 1] = 0
        slots, values, order = [], [], []
        widest = int(self.codes.width[variable].max(initial=0))
        for bit in range(widest):
            has = self.codes.width[variable] > bit
            at = stop[has] - 1 - bit
            inside = at >= digits[has]
            level = np.where(inside, _VALUE[self.text[at * inside]], fill[has])
            slots.append(self.codes.slot[variable[has]] + np.int32(bit))
            values.append(level)
            order.append(tokens[has])
        self._all_levels(tokens, digits, stop)
        if not slots:
            return np.empty(0, np.int32), np.empty(0, np.uint8), np.empty(0, np.intp)
        return np.concatenate(slots), np.concatenate(values), np.concatenate(order)

    def _all_levels(
        self, tokens: NDArray[np.intp], digits: NDArray[np.intp], stop: NDArray[np.intp]
    ) -> None:
        bad_before = np.concatenate(([0], np.cumsum(_VALUE[self.text] == _NONE)))
        bad = bad_before[stop] > bad_before[digits]
        if bad.any():
            raise self._stop(BAD_VALUE, int(tokens[bad.argmax()]))

    def _variables(
        self, tokens: NDArray[np.intp], at: NDArray[np.intp], kind: int, skip: int = 0
    ) -> NDArray[np.intp]:
        """Number of the variable whose code is word ``at`` without its first ``skip`` letters."""
        if not tokens.size:
            return np.empty(0, dtype=np.intp)
        end, size = self.end[at], self.end[at] - self.start[at] - skip
        if self.codes.longest > 8:
            raw = self.text.tobytes()
            found = np.array(
                [self.codes.by_code.get(raw[e - n : e], -1) for e, n in zip(end, size, strict=True)]
            )
        else:
            found = _look_up(self.words, self.codes, end, size)
        unknown = found < 0
        if unknown.any():
            first = int(unknown.argmax())
            raise self._stop(NO_ID if size[first] == 0 else UNKNOWN_ID, int(tokens[first]))
        wrong = self.codes.kind[found] != kind
        if wrong.any():
            raise self._stop(WRONG_KIND, int(tokens[wrong.argmax()]))
        return found


def _look_up(
    words: NDArray[np.uint64], codes: Codes, end: NDArray[np.intp], size: NDArray[np.intp]
) -> NDArray[np.intp]:
    longest = codes.longest
    fits = (size - 1).view(np.uint64) < longest  # what is below 1 wraps to very large
    keys = words[end - 8] & _LAST[np.minimum(size, 8)]
    if longest <= 2:
        found = codes.pairs[(keys >> np.uint64(48)).view(np.intp)]
    else:
        place = np.minimum(np.searchsorted(codes.keys, keys), codes.keys.size - 1)
        found = np.where(codes.keys[place] == keys, codes.numbers[place], -1)
    return found if fits.all() else np.where(fits, found, -1)


def _eight_digits(word: NDArray[np.uint64]) -> NDArray[np.uint64]:
    """The number whose digits are the low halves of eight bytes, first digit in the lowest byte.

    ``word`` is used up.
    """
    word &= np.uint64(0x0F0F0F0F0F0F0F0F)
    word *= np.uint64(2561)
    word >>= np.uint64(8)
    word &= np.uint64(0x00FF00FF00FF00FF)
    word *= np.uint64(6553601)
    word >>= np.uint64(16)
    word &= np.uint64(0x0000FFFF0000FFFF)
    word *= np.uint64(42949672960001)
    word >>= np.uint64(32)
    return word
