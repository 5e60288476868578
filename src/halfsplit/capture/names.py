"""Which net a channel was probably clipped to, from the names alone."""

from __future__ import annotations

import difflib
import re
from collections.abc import Sequence

from halfsplit.frozen import dataclass

__all__ = ["Match", "match_names"]

_INSTRUMENT = re.compile(
    r"(?:d|a|ch|chan|channel|kanal|dio|din|digital|analog|analogue|ain|in|input|logic|probe|column"
    r"|bit)"
    r"[\s_.-]*[0-9]{1,3}(?:~[0-9]+)?"
)
"""What instruments call a channel that nobody named (common practice, no source)."""

_LIKE = 0.6
_MOST = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """``net`` is the net of the same name, but for how it is written, or None; ``suggestions`` are
    other nets, likeliest first, for a person to choose from."""

    channel: str
    net: str | None
    suggestions: tuple[str, ...]


def match_names(channels: Sequence[str], nets: Sequence[str]) -> tuple[Match, ...]:
    """One match for each channel; no net is given to two of them.

    Letters' case, scopes, brackets, blanks and the marks of a low-active line count for nothing,
    unless two nets differ by nothing else. D0 is an instrument's channel 0 and no name, unless a
    net is called just that.
    """
    folded: dict[str, list[str]] = {}
    for net in nets:
        folded.setdefault(_fold(net), []).append(net)
    given: dict[str, str] = {}
    for exact in (True, False):
        for channel in channels:
            same = _same(channel, folded, nets, exact)
            if same is not None and channel not in given and same not in given.values():
                given[channel] = same
    return tuple(
        Match(
            channel=channel,
            net=given.get(channel),
            suggestions=() if channel in given else _suggested(channel, nets, given),
        )
        for channel in channels
    )


def _same(
    channel: str, folded: dict[str, list[str]], nets: Sequence[str], exact: bool
) -> str | None:
    if exact:
        return channel if channel in nets else None
    found = folded.get(_fold(channel), []) or folded.get(_fold(channel.rpartition(".")[2]), [])
    if len(found) != 1:
        return None
    unnamed = _INSTRUMENT.fullmatch(channel.casefold()) is not None
    return None if unnamed and found[0].casefold() != channel.casefold() else found[0]


def _suggested(channel: str, nets: Sequence[str], given: dict[str, str]) -> tuple[str, ...]:
    if _INSTRUMENT.fullmatch(channel.casefold()):
        return ()
    free = [net for net in nets if net not in given.values()]
    own = _fold(channel.rpartition(".")[2])
    likeness = {net: difflib.SequenceMatcher(None, own, _fold(net)).ratio() for net in free}
    likely = sorted((net for net in free if likeness[net] >= _LIKE), key=lambda net: -likeness[net])
    return tuple(likely[:_MOST])


def _fold(name: str) -> str:
    """Without case, brackets, blanks and marks: ``/Reset [3]`` and ``RESET3_N`` are reset3."""
    plain = re.sub(r"[~±/\\!#*\s_.\-<>\[\](){}:]+", " ", name.casefold()).split()
    words = [word for word in plain if word not in ("n", "b", "l", "bar", "not")] or plain
    return "".join(words)
