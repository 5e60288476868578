"""Which check is meant by what was typed: the number of a suggestion, or a check's own words."""

from __future__ import annotations

from halfsplit.bench import Bench
from halfsplit.checks.kind import Check
from halfsplit.diagnose.choose import Suggestion
from halfsplit.errors import HalfsplitError, ReadingError

__all__ = ["check_of", "check_of_suggestion"]


def check_of(words: list[str], bench: Bench) -> tuple[Check, str]:
    """The check that the first words name, and the rest of the words as the reading.

    A check in several words (``volts U3.6 @run 0.7``) need not be quoted: as many words as make
    a check are taken, one at least being left to read. Raises what `Bench.check` raises.
    """
    if words[0].isascii() and words[0].isdigit():
        return check_of_suggestion(bench.suggestion(int(words[0])), bench), " ".join(words[1:])
    failed: dict[int, HalfsplitError] = {}
    for count in range(len(words) - 1, 0, -1):
        try:
            return bench.check(" ".join(words[:count])), " ".join(words[count:])
        except HalfsplitError as error:
            failed[count] = error
    raise failed[min(_likely_end(words), max(failed))]


def _likely_end(words: list[str]) -> int:
    """How many words were meant as the check: up to the state, else the kind and one place."""
    states = [at for at, word in enumerate(words, 1) if word.startswith("@") and len(word) > 1]
    return states[0] if states else 2


def check_of_suggestion(suggestion: Suggestion, bench: Bench) -> Check:
    """The check of a suggestion; of a repair that changes a part, the swap of that part.

    Raises :class:`ReadingError` for a repair that no check tells about.
    """
    if suggestion.check is not None:
        return suggestion.check
    place = suggestion.places[0]
    if bench.board.part(place) is None or suggestion.id.split()[-1] != place:
        raise ReadingError(
            f"{suggestion.id} is a repair, and there is no reading of it; when it is done, look "
            "what the board does now and begin a new case if it is not cured"
        )
    return bench.check(f"swap {place}")
