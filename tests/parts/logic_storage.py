"""Flip-flops and latches, by the function tables of the data sheets (from memory but for those
that ``logic_steps.py`` names).
"""

from collections.abc import Callable

from tests.parts.logic_model import Rule, State, rose
from tests.parts.logic_words import SEGMENTS, Answer, Bits, number, one_of


def flip_flops(
    units: str, *, clock: str = "CLK#", edge: Callable[[Bits, Bits, str], bool] = rose,
    data: str = "D", low: bool = True, preset: str = "nPRE#", clear: str = "nCLR#",
    complement: bool = True, hold: tuple[str, ...] = (), off: tuple[str, ...] = (),
) -> Rule:  # fmt: skip
    """D (``data`` D) and J-K (``data`` JK, or JnK) flip-flops. ``low``: preset and clear act low;
    ``hold``: pins that stop the clock when high; ``off``: pins that let the outputs go."""

    def rule(s: State, o: Bits, n: Bits) -> Answer:
        found: Answer = {}
        for u in units:
            q = s[u]
            if edge(o, n, clock.replace("#", u)) and not any(o[pin] for pin in hold):
                if data == "D":
                    q = o[f"D{u}"]
                else:
                    k = o[f"K{u}"] if data == "JK" else 1 - o[f"nK{u}"]
                    q = {(0, 0): q, (0, 1): 0, (1, 0): 1, (1, 1): 1 - q}[o[f"J{u}"], k]
            up = bool(preset) and n[preset.replace("#", u)] != low
            down = bool(clear) and n[clear.replace("#", u)] != low
            s[u] = 0 if down else 1 if up else q
            let_go = any(n[pin] for pin in off)
            found[f"Q{u}"] = None if let_go else 1 if up else s[u]
            if complement:
                found[f"nQ{u}"] = None if let_go else 1 if down else 1 - s[u]
        return found

    return rule


def gated(units: str, complement: bool = False) -> Rule:
    """377, 378, 379: a clock that an enable lets in."""
    return flip_flops(units, clock="CLK", preset="", clear="", complement=complement, hold=("nG",))


def renamed(rule: Rule, names: Callable[[str], str], invert: bool = False) -> Rule:
    """The same chip with other names of its outputs, or inverted ones."""

    def changed(s: State, o: Bits, n: Bits) -> Answer:
        answers = rule(s, o, n)
        return {
            names(name): 1 - q if invert and q is not None else q for name, q in answers.items()
        }

    return changed


def latches(units: str, gate: Callable[[Bits, str], bool], *, complement: bool = False,
            inverted: bool = False, off: str = "") -> Rule:  # fmt: skip
    def rule(s: State, o: Bits, n: Bits) -> Answer:
        found: Answer = {}
        for u in units:
            s[u] = n[f"D{u}"] if gate(n, u) else s[u]
            q = s[u] ^ inverted
            found[f"Q{u}"] = None if off and n[off] else q
            if complement:
                found[f"nQ{u}"] = 1 - q
        return found

    return rule


def two_gates(n: Bits, u: str) -> bool:
    return bool(n["C12" if u in "12" else "C34"])


def set_reset_279(s: State, o: Bits, n: Bits) -> Answer:
    found: Answer = {}
    for u in "1234":
        sets = [n[f"nS{u}"], n.get(f"nT{u}", 1)]
        low_set, low_reset = min(sets) == 0, n[f"nR{u}"] == 0
        s[u] = 1 if low_set else 0 if low_reset else s[u]
        found[f"Q{u}"] = s[u]
    return found


def set_reset_40(prefix: str, stronger: str) -> Rule:
    def rule(s: State, o: Bits, n: Bits) -> Answer:
        found: Answer = {}
        for u in "1234":
            active = int(not prefix)
            on, off = n[f"{prefix}S{u}"] == active, n[f"{prefix}R{u}"] == active
            if on and off:
                s[u] = int(stronger == "S")
            elif on or off:
                s[u] = int(on)
            found[f"Q{u}"] = s[u] if n["EN"] else None
        return found

    return rule


def addressable(address: str, writes: Callable[[Bits], bool], clears: Callable[[Bits], bool],
                data: str) -> Rule:  # fmt: skip
    """259, 4099."""

    def rule(s: State, o: Bits, n: Bits) -> Answer:
        chosen = number(n, address)
        for k in range(8):
            if writes(n) and k == chosen:
                s[f"{k}"] = n[data]
            elif clears(n):
                s[f"{k}"] = 0
        return {f"Q{k}": s[f"{k}"] for k in range(8)}

    return rule


def chosen_word(edge: Callable[[Bits, Bits, str], bool]) -> Rule:
    """298, 399."""

    def rule(s: State, o: Bits, n: Bits) -> Answer:
        if edge(o, n, "CLK"):
            for x in "ABCD":
                s[x] = o[f"{x}{2 if o['WS'] else 1}"]
        return {f"Q{x}": s[x] for x in "ABCD"}

    return rule


def register_file(off: int | None) -> Rule:
    """170, 670."""

    def rule(s: State, o: Bits, n: Bits) -> Answer:
        if not n["nGW"]:
            for u in "1234":
                s[f"{number(n, 'WB WA')}{u}"] = n[f"D{u}"]
        word = number(n, "RB RA")
        return {f"Q{u}": off if n["nGR"] else s[f"{word}{u}"] for u in "1234"}

    return rule


def latched_code(s: State, n: Bits, follows: bool) -> int:
    if follows:
        s["v"] = number(n, "D C B A")
    return s["v"]


def display_4511(s: State, o: Bits, n: Bits) -> Answer:
    value = latched_code(s, n, not n["LE"])
    lit = SEGMENTS[value] if value <= 9 and n["nBI"] else ""
    if not n["nLT"]:
        lit = "abcdefg"
    return {f"S{x}": int(x in lit) for x in "abcdefg"}


def decoder_4514(low: bool) -> Rule:
    def rule(s: State, o: Bits, n: Bits) -> Answer:
        value = latched_code(s, n, bool(n["ST"]))
        return one_of(16, None if n["INH"] else value, low=low)

    return rule
