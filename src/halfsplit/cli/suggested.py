"""Which check is meant by what was typed: the number of a suggestion, or a check's own words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from halfsplit.bench import Bench
from halfsplit.checks.kind import Check
from halfsplit.diagnose.choose import Suggestion
from halfsplit.diagnose.views import NextView, SuggestionView
from halfsplit.errors import HalfsplitError, ReadingError
from halfsplit.store.offered import offered, remember

__all__ = ["USUALLY", "check_of", "check_of_number", "offer", "offered_before"]

USUALLY = 5
"""Suggestions that are offered unless another number is asked for."""
_MOST_DIGITS = 6


def offer(bench: Bench, view: NextView) -> NextView:
    """Keep in mind which suggestions a person is shown under which number; the same view."""
    remember(bench.path, bench.made, _ids(view.suggestions))
    return view


def offered_before(bench: Bench) -> tuple[str, ...]:
    """Ids of the suggestions that were last shown for this case."""
    return offered(bench.path, bench.made)


def check_of(words: list[str], bench: Bench, seen: Sequence[str]) -> tuple[Check, str]:
    """The check that the first words name, and the rest of the words as the reading. ``seen`` are
    the ids of the suggestions that were shown, in order.

    A check in several words (``volts U3.6 @run 0.7``) need not be quoted: as many words as make
    a check are taken, one at least being left to read. Raises what `Bench.check` raises, and
    ReadingError as :func:`check_of_number`.
    """
    if words[0].isascii() and words[0].isdigit():
        number = int(words[0][:_MOST_DIGITS])
        return check_of_number(number, bench, seen), " ".join(words[1:])
    failed: dict[int, HalfsplitError] = {}
    for count in range(len(words) - 1, 0, -1):
        try:
            return bench.check(" ".join(words[:count])), " ".join(words[count:])
        except HalfsplitError as error:
            failed[count] = error
    raise failed[min(_likely_end(words), max(failed))]


def check_of_number(number: int, bench: Bench, seen: Sequence[str]) -> Check:
    """The check of the suggestion shown under a number; of a repair that changes a part, the swap
    of that part.

    Raises :class:`ReadingError` for a number that was not offered, for one that means something
    else now, and for a repair that no check tells about.
    """
    now = bench.next(len(seen) or USUALLY).suggestions
    names = tuple(seen) or _ids(now)
    if not 1 <= number <= len(names):
        raise ReadingError(
            f"expected the number of a suggestion, {_offered(len(names))}, got {number}; "
            "`halfsplit next` lists them; or name the check itself, such as: volts U3.6 @run"
        )
    meant = names[number - 1]
    suggestion = next((one.suggestion for one in now[number - 1 : number]), None)
    if suggestion is None or suggestion.id != meant:
        raise ReadingError(
            f"suggestion {number} was {meant} when it was offered and is "
            f"{suggestion.id if suggestion else 'none'} now, since the case has moved on; look at "
            f"`halfsplit next` again, or name the check itself: {meant}"
        )
    return _check_of_suggestion(suggestion, bench)


def _ids(views: Iterable[SuggestionView]) -> tuple[str, ...]:
    return tuple(one.suggestion.id for one in views)


def _offered(count: int) -> str:
    if not count:
        return "of which none was offered"
    return "1, the only one offered" if count == 1 else f"1 to {count} as offered"


def _likely_end(words: list[str]) -> int:
    """How many words were meant as the check: up to the state, else the kind and one place."""
    states = [at for at, word in enumerate(words, 1) if word.startswith("@") and len(word) > 1]
    return states[0] if states else 2


def _check_of_suggestion(suggestion: Suggestion, bench: Bench) -> Check:
    if suggestion.check is not None:
        return suggestion.check
    place = suggestion.places[0]
    if bench.board.part(place) is None or suggestion.id.split()[-1] != place:
        raise ReadingError(
            f"{suggestion.id} is a repair, and there is no reading of it; when it is done, say so "
            f'with: halfsplit mended "{suggestion.id}"'
        )
    return bench.check(f"swap {place}")
