"""The table of kinds for the manual; ``python -m halfsplit.checks._manual`` prints it."""

from __future__ import annotations

from halfsplit.checks.kind import CheckKind
from halfsplit.checks.registry import CHECKS

__all__ = ["manual"]

HEAD = """\
# Kinds of check

Made from the kinds themselves; do not edit. To make it again:
`python -m halfsplit.checks._manual > docs/checks.md`.

A check is named by its kind, its places, and its state where it has one: `volts U3.6 @hold-A`,
`ohms R7.1 : R7.2`, `parttest Q3`, `symptom coil A @hold-A`. A place is a leg `U3.6`, the pad
under it `U3.6/pad`, the tail of its socket on the solder side `U3.6/tail`, a test point `TP1`,
or anywhere on a net `net DRA`. Ohms, diode and continuity from one place alone are to ground.

A number may be typed as `0.68`, `680m`, `0,68 V`; vaguely as `about 5`, `under 1`, `>4`,
`0.6-0.8`, `2 or 3`, `4.something`, `10k or more`, `a few k`, `tiny`, `a diode drop`, `dead short`,
`low-ish`; as `OL` on ohms and diode. What is unsure (`probably 12`, `2?`) is taken more widely.
`?`, `skip`, `flickers`, `toggling` and `could not reach` are answers too: they move nothing.

"""

TAKES = {"place": "a place", "pair": "two places", "part": "a part", "output": "an output"}


def manual() -> str:
    """Markdown: a table, then a section for each kind."""
    rows = ["| kind | what it is | takes | in a state | answers |", "|---|---|---|---|---|"]
    rows += [_row(kind) for kind in CHECKS]
    return HEAD + "\n".join(rows) + "\n" + "".join(_section(kind) for kind in CHECKS)


def _row(kind: CheckKind) -> str:
    words = ", ".join(kind.words)
    answers = ", ".join(filter(None, [f"a number in {kind.unit}" if kind.unit else "", words]))
    state = "yes" if kind.stateful else "no"
    return f"| `{kind.name}` | {kind.title} | {TAKES[kind.takes]} | {state} | {answers} |"


def _section(kind: CheckKind) -> str:
    words = "".join(f"- {word}: {meaning}\n" for word, meaning in kind.words.items())
    return f"\n## {kind.name}\n\n{kind.help}\n" + (f"\n{words}" if words else "")


if __name__ == "__main__":
    print(manual(), end="")
