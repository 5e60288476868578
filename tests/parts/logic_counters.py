"""Counters, by the function tables of the data sheets (from memory but for those that
``logic_steps.py`` names).
"""

from collections.abc import Callable

from tests.parts.logic_model import Rule, State, fell, rose
from tests.parts.logic_words import Answer, Bits, number, one_of, spread

QUAD = "QD QC QB QA"


def ripple_pair(kind: int, preload: str = "") -> Rule:
    """90, 92, 93, 290, 293 (two reset inputs, for 90 also two for nine), 196, 197."""
    order = {5: (0, 1, 2, 3, 4), 6: (0, 1, 2, 4, 5, 6), 8: tuple(range(8))}[kind]

    def rule(s: State, o: Bits, n: Bits) -> Answer:
        if fell(o, n, "CKA"):
            s["a"] ^= 1
        if fell(o, n, "CKB"):
            s["v"] = order[(order.index(s["v"]) + 1) % kind]
        if preload:
            if not n["nCLR"]:
                s["a"] = s["v"] = 0
            elif not n["nLOAD"]:
                s["a"], s["v"] = n["A"], number(n, "D C B")
        elif kind == 5 and n["R91"] and n["R92"]:
            s["a"], s["v"] = 1, 4
        elif n["R01"] and n["R02"]:
            s["a"] = s["v"] = 0
        return spread(2 * s["v"] + s["a"], QUAD)

    return rule


def synchronous(modulus: int, clear_waits: bool) -> Rule:
    """160 to 163."""

    def rule(s: State, o: Bits, n: Bits) -> Answer:
        if rose(o, n, "CLK"):
            if clear_waits and not o["nCLR"]:
                s["v"] = 0
            elif not o["nLOAD"]:
                s["v"] = number(o, "D C B A")
            elif o["ENP"] and o["ENT"]:
                s["v"] = (s["v"] + 1) % modulus
        if not clear_waits and not n["nCLR"]:
            s["v"] = 0
        return spread(s["v"], QUAD) | {"RCO": int(n["ENT"] == 1 and s["v"] == modulus - 1)}

    return rule


def up_down_168(modulus: int) -> Rule:
    def rule(s: State, o: Bits, n: Bits) -> Answer:
        if rose(o, n, "CLK"):
            if not o["nLOAD"]:
                s["v"] = number(o, "D C B A")
            elif o["nENP"] + o["nENT"] == 0:
                s["v"] = (s["v"] + (1 if o["UD"] else -1)) % modulus
        end = s["v"] == (modulus - 1 if n["UD"] else 0)
        return spread(s["v"], QUAD) | {"nRCO": int(not (end and n["nENT"] == 0))}

    return rule


def up_down_190(modulus: int) -> Rule:
    def rule(s: State, o: Bits, n: Bits) -> Answer:
        if rose(o, n, "CLK") and not o["nCTEN"]:
            s["v"] = (s["v"] + (-1 if o["DU"] else 1)) % modulus
        if not n["nLOAD"]:
            s["v"] = number(n, "D C B A")
        end = s["v"] == (0 if n["DU"] else modulus - 1)
        ripple = end and not n["CLK"] and not n["nCTEN"]
        return spread(s["v"], QUAD) | {"MAXMIN": int(end), "nRCO": int(not ripple)}

    return rule


def two_clocks(modulus: int) -> Rule:
    """192, 193."""

    def rule(s: State, o: Bits, n: Bits) -> Answer:
        if rose(o, n, "UP"):
            s["v"] = (s["v"] + 1) % modulus
        if rose(o, n, "DOWN"):
            s["v"] = (s["v"] - 1) % modulus
        if n["CLR"]:
            s["v"] = 0
        elif not n["nLOAD"]:
            s["v"] = number(n, "D C B A")
        return spread(s["v"], QUAD) | {
            "nCO": int(not (s["v"] == modulus - 1 and not n["UP"])),
            "nBO": int(not (s["v"] == 0 and not n["DOWN"])),
        }

    return rule


def one_clock_at_a_time(o: Bits, n: Bits) -> bool:
    """192, 193: the clock that does not count must be high."""
    return (n["UP"], n["DOWN"]) == (0, 0) or (o["UP"] != n["UP"] and o["DOWN"] != n["DOWN"])


def over_nine(names: str = "D C B A", most: int = 9) -> Callable[[Bits, Bits], bool]:
    """Presets that a decade counter is not made for: what it does from there differs by maker."""
    return lambda o, n: number(n, names) > most


def either_bars(*rules: Callable[[Bits, Bits], bool]) -> Callable[[Bits, Bits], bool]:
    return lambda o, n: any(rule(o, n) for rule in rules)


def dual_390(s: State, o: Bits, n: Bits) -> Answer:
    found: Answer = {}
    for u in "12":
        if fell(o, n, f"CK{u}_A"):
            s[f"a{u}"] ^= 1
        if fell(o, n, f"CK{u}_B"):
            s[f"v{u}"] = (s[f"v{u}"] + 1) % 5
        if n[f"CLR{u}"]:
            s[f"a{u}"] = s[f"v{u}"] = 0
        found |= spread(2 * s[f"v{u}"] + s[f"a{u}"], f"Q{u}_D Q{u}_C Q{u}_B Q{u}_A")
    return found


def dual_393(s: State, o: Bits, n: Bits) -> Answer:
    found: Answer = {}
    for u in "12":
        if fell(o, n, f"CK{u}"):
            s[u] = (s[u] + 1) % 16
        if n[f"CLR{u}"]:
            s[u] = 0
        found |= spread(s[u], f"Q{u}_D Q{u}_C Q{u}_B Q{u}_A")
    return found


def dual_4518(modulus: int) -> Rule:
    def rule(s: State, o: Bits, n: Bits) -> Answer:
        found: Answer = {}
        for u in "12":
            was, now = o[f"CLK{u}"] or not o[f"EN{u}"], n[f"CLK{u}"] or not n[f"EN{u}"]
            if now and not was:
                s[u] = (s[u] + 1) % modulus
            if n[f"R{u}"]:
                s[u] = 0
            found |= spread(s[u], f"Q{u}_4 Q{u}_3 Q{u}_2 Q{u}_1")
        return found

    return rule


def up_down_40(modulus: int | None, reset: bool) -> Rule:
    """4029 (binary or decade), 4510, 4516."""

    def rule(s: State, o: Bits, n: Bits) -> Answer:
        of = {x: modulus or (16 if pins["BD"] else 10) for x, pins in (("o", o), ("n", n))}
        if rose(o, n, "CLK") and not o["nCI"]:
            s["v"] = (s["v"] + (1 if o["UD"] else -1)) % of["o"]
        if reset and n["R"]:
            s["v"] = 0
        elif n["PE"]:
            s["v"] = number(n, "P4 P3 P2 P1")
        end = s["v"] == (of["n"] - 1 if n["UD"] else 0)
        return spread(s["v"], "Q4 Q3 Q2 Q1") | {"nCO": int(not (end and not n["nCI"]))}

    return rule


def decoded(count: int) -> Rule:
    """4017, 4022."""

    def rule(s: State, o: Bits, n: Bits) -> Answer:
        if not (o["CLK"] and not o["EN"]) and n["CLK"] and not n["EN"]:
            s["v"] = (s["v"] + 1) % count
        if n["R"]:
            s["v"] = 0
        return one_of(count, s["v"], "Q{}", low=False) | {"CO": int(s["v"] < count // 2)}

    return rule


def binary(stages: int, shown: list[int]) -> Rule:
    """4020, 4024, 4040, 4060."""

    def rule(s: State, o: Bits, n: Bits) -> Answer:
        if fell(o, n, "CLK"):
            s["v"] = (s["v"] + 1) % 2**stages
        if n["R"]:
            s["v"] = 0
        return {f"Q{k}": (s["v"] >> (k - 1)) & 1 for k in shown}

    return rule


def counter_590(s: State, o: Bits, n: Bits) -> Answer:
    """Hitachi HD74HC590, function table (read): with both clocks at once the register is one
    count behind."""
    if rose(o, n, "RCLK"):
        s["r"] = s["v"]
    if rose(o, n, "CCLK") and not o["nCCKEN"]:
        s["v"] = (s["v"] + 1) % 256
    if not n["nCCLR"]:
        s["v"] = 0
    found: Answer = {
        f"Q{x}": None if n["nG"] else s["r"] >> k & 1 for k, x in enumerate("ABCDEFGH")
    }
    return found | {"nRCO": int(not (s["v"] == 255 and not n["nCCKEN"]))}


def counter_4060(s: State, o: Bits, n: Bits) -> Answer:
    running = not n["R"] and n["CLK"]
    return binary(14, [*range(4, 11), 12, 13, 14])(s, o, n) | {
        "CTC": int(running), "RTC": int(not running),
    }  # fmt: skip
