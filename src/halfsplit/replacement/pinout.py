"""Pinouts compared pin by pin."""

from __future__ import annotations

from collections.abc import Mapping

from halfsplit.board.vocabulary import KindWord

__all__ = ["differences", "functions", "leads_differ"]


def functions(word: KindWord) -> dict[str, str]:
    """Pin number -> what it does, for a kind whose pins are numbered."""
    return {
        pin.name: "not connected" if pin.role == "nc" else (pin.other_names or (pin.title,))[0]
        for pin in word.pins
    }


def differences(
    old: Mapping[str, str], new: Mapping[str, str], used: Mapping[str, str]
) -> tuple[str, ...]:
    """Each pin that does something else in the new part, in words; ``used`` maps the pins that
    the board connects to their nets. Empty: every pin does the same."""
    if len(old) != len(new):
        return (f"{len(new)} pins in place of {len(old)}",)
    found = []
    for pin in old:
        if old[pin] == new.get(pin):
            continue
        there = f", the board has {used[pin]} there" if pin in used else ""
        found.append(f"pin {pin}: {new.get(pin, 'none')} in place of {old[pin]}{there}")
    return tuple(found)


def leads_differ(old: tuple[str, str], new: tuple[str, str]) -> str:
    """What is to be done about another case or order of leads, or nothing; each is (case,
    leads in order)."""
    if old[1] != new[1]:
        return f"leads in another order: {new[0]} {new[1]} in place of {old[0]} {old[1]}"
    return f"case {new[0]} in place of {old[0]}, leads in the same order" * (old[0] != new[0])
