"""Our words, each with its one meaning, for the pages, the record and the manual."""

from __future__ import annotations

from collections.abc import Mapping

__all__ = ["WORDS"]

WORDS: Mapping[str, str] = {
    "acceptance run": "The equipment run as its owner runs it, after the repair, until nothing "
    "of the old complaint is left. Only that ends a case, not a part that was changed.",
    "belief": "How likely each suspect is, worked out anew from all readings that count.",
    "bit": "The unit of certainty: a check that brings one bit halves what is open.",
    "block": "A stage of which only inputs and outputs are known. Its parts can be typed in its "
    "place later.",
    "board": "What the schematic says: parts, nets, rails, states.",
    "case": "One repair: the board, the log of all that was done, photos and captures. One file.",
    "channel": "One of several like paths on the board, so that one can be compared with its "
    "sisters.",
    "check": "One measurement, or one thing to do, that tells faults apart.",
    "cleared": "Never read itself, but readings elsewhere have made it at least twenty times less "
    "likely than it was.",
    "continuity": "The meter's beeper: it beeps when two places are joined by a few ohms or less.",
    "could not tell": "A reading too: it moves nothing, and the next check comes.",
    "designator": "The name of a part on the drawing and the board, such as R7 or U3.",
    "expected": "What a reading should be on a good board, with tolerances and the meter's own "
    "error; and what it would be with each fault.",
    "fault": "One way in which one part, joint, socket or track can be wrong.",
    "log": "Everything that was done in a case, in order. Any entry can be taken back, and brought "
    "back.",
    "net": "All pins that a schematic joins by lines.",
    "next check": "The check that buys the most certainty about what to repair for the least time "
    "and risk.",
    "odd": "A reading that a good board would hardly give.",
    "off-sheet": "Where a net leaves what was typed: what drives or loads it there is said, or "
    "honestly unknown.",
    "output": "Something the owner sees the equipment do: a motor pulls, a lamp is lit.",
    "pin": "One leg of a part, such as U3.6: part U3, pin 6.",
    "place": "Where a probe goes: a pin's leg, a pad, a test point. Places on one net read alike "
    "only while every joint between them is good.",
    "rail": "A supply of the board, such as +5.",
    "reading": "What came of a check: a number, a word, or could not tell.",
    "setup": "What must be true of the bench for a check: off and discharged, powered, running, a "
    "pin lifted, a part out.",
    "stage": "A part of the path a signal takes. The fault lies between the last good stage and "
    "the first bad one.",
    "state": "A named condition of the board: what drives its inputs, which rails are up, what is "
    "plugged in.",
    "suspect": "What one repair would put right. Its probability is the sum over its faults.",
    "suspicion": "The probability of a suspect, drawn in six steps and always with its number.",
    "symptom": "What an output does that it should not, or does not do that it should.",
    "test point": "A place made for the probe, named on the board.",
}
"""Word -> what it means, in one or two sentences."""
