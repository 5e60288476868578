"""Shift registers, by the function tables of the data sheets (from memory)."""

from collections.abc import Callable, Mapping

from tests.parts.logic_model import Rule, State, fell, rose
from tests.parts.logic_words import Answer, Bits

Shifter = Callable[[list[int], Bits], list[int]]


def shift_register(
    length: int, out: Mapping[str, int], move: Shifter, *,
    clocked: Callable[[Bits, Bits], bool] = lambda o, n: rose(o, n, "CLK"),
    settle: Callable[[list[int], Bits], list[int]] = lambda bits, n: bits,
    complement: str = "", off: Callable[[str, Bits], bool] = lambda name, n: False,
) -> Rule:  # fmt: skip
    """Bits by place; ``move`` by the pins before the clock, ``settle`` what acts at once."""

    def rule(s: State, o: Bits, n: Bits) -> Answer:
        bits = [s[str(k)] for k in range(length)]
        if clocked(o, n):
            bits = move(bits, o)
        bits = settle(bits, n)
        for k, bit in enumerate(bits):
            s[str(k)] = bit
        found: Answer = {name: None if off(name, n) else bits[k] for name, k in out.items()}
        if complement:
            found[f"n{complement}"] = 1 - bits[out[complement]]
        return found

    return rule


LETTERS = "ABCDEFGH"


def parallel(count: int) -> dict[str, int]:
    return {f"Q{x}": k for k, x in enumerate(LETTERS[:count])}


def clear_low(bits: list[int], n: Bits) -> list[int]:
    return bits if n["nCLR"] else [0] * len(bits)


def along(first: Callable[[Bits], int]) -> Shifter:
    return lambda bits, o: [first(o), *bits[:-1]]


def load_or_shift(pin: str, level: int, names: list[str], first: Callable[[Bits], int]) -> Shifter:
    def move(bits: list[int], o: Bits) -> list[int]:
        if o[pin] == level:
            return [o[name] for name in names]
        return along(first)(bits, o)

    return move


def jk_first(load: tuple[str, int], names: list[str]) -> Shifter:
    """195, 4035: the first stage has J and an inverted K."""

    def move(bits: list[int], o: Bits) -> list[int]:
        if o[load[0]] == load[1]:
            return [o[name] for name in names]
        first = {(0, 0): 0, (1, 1): 1, (0, 1): bits[0], (1, 0): 1 - bits[0]}[o["J"], o["nK"]]
        return [first, *bits[:-1]]

    return move


def universal(names: list[str], clear_waits: bool = False) -> Shifter:
    def move(bits: list[int], o: Bits) -> list[int]:
        if clear_waits and not o["nCLR"]:
            return [0] * len(bits)
        mode = (o["S1"], o["S0"])
        if mode == (1, 1):
            return [o[name] for name in names]
        if mode == (0, 1):
            return [o["SR"], *bits[:-1]]
        return [*bits[1:], o["SL"]] if mode == (1, 0) else bits

    return move


OCTAL = {f"IO{x}": k for k, x in enumerate(LETTERS)} | {"QA": 0, "QH": 7}


def off_299(name: str, n: Bits) -> bool:
    return name.startswith("IO") and bool(n["nG1"] or n["nG2"] or (n["S0"] and n["S1"]))


def register_95(s: State, o: Bits, n: Bits) -> Answer:
    if o["MODE"] and fell(o, n, "CLK2"):
        bits = [o[x] for x in "ABCD"]
    elif not o["MODE"] and fell(o, n, "CLK1"):
        bits = [o["SER"], s["A"], s["B"], s["C"]]
    else:
        bits = [s[x] for x in "ABCD"]
    for x, bit in zip("ABCD", bits, strict=True):
        s[x] = bit
    return {f"Q{x}": s[x] for x in "ABCD"}


def register_595(s: State, o: Bits, n: Bits) -> Answer:
    held = [s[f"s{k}"] for k in range(8)]
    if rose(o, n, "RCLK"):
        for k in range(8):
            s[f"r{k}"] = held[k]
    if rose(o, n, "SRCLK"):
        held = [o["SER"], *held[:-1]]
    if not n["nSRCLR"]:
        held = [0] * 8
    for k in range(8):
        s[f"s{k}"] = held[k]
    found: Answer = {f"Q{x}": None if n["nG"] else s[f"r{k}"] for k, x in enumerate(LETTERS)}
    return found | {"QS": held[7]}


def register_597(s: State, o: Bits, n: Bits) -> Answer:
    held = [s[f"s{k}"] for k in range(8)]
    if rose(o, n, "SRCLK"):
        held = [o["SER"], *held[:-1]]
    if rose(o, n, "RCLK"):
        for k, x in enumerate(LETTERS):
            s[f"r{k}"] = o[x]
    if not n["nSRCLR"]:
        held = [0] * 8
    elif not n["nSRLD"]:
        held = [s[f"r{k}"] for k in range(8)]
    for k in range(8):
        s[f"s{k}"] = held[k]
    return {"QS": held[7]}


def register_4006(s: State, o: Bits, n: Bits) -> Answer:
    taps = {"1": (4,), "2": (4, 5), "3": (4,), "4": (4, 5)}
    found: Answer = {}
    for u, out in taps.items():
        if fell(o, n, "CLK"):
            for k in range(5, 1, -1):
                s[f"{u}{k}"] = s[f"{u}{k - 1}"]
            s[f"{u}1"] = o[f"D{u}"]
        found |= {f"Q{u}_{k}": s[f"{u}{k}"] for k in out}
    return found


def register_4015(s: State, o: Bits, n: Bits) -> Answer:
    found: Answer = {}
    for u in "12":
        if rose(o, n, f"CLK{u}"):
            for k in range(4, 1, -1):
                s[f"{u}{k}"] = s[f"{u}{k - 1}"]
            s[f"{u}1"] = o[f"D{u}"]
        for k in range(1, 5):
            s[f"{u}{k}"] *= 1 - n[f"R{u}"]
            found[f"Q{u}_{k}"] = s[f"{u}{k}"]
    return found


def register_4094(s: State, o: Bits, n: Bits) -> Answer:
    if fell(o, n, "CLK"):
        s["t"] = s["s8"]
    if rose(o, n, "CLK"):
        for k in range(8, 1, -1):
            s[f"s{k}"] = s[f"s{k - 1}"]
        s["s1"] = o["D"]
    for k in range(1, 9):
        s[f"l{k}"] = s[f"s{k}"] if n["STR"] else s[f"l{k}"]
    found: Answer = {f"Q{k}": s[f"l{k}"] if n["OE"] else None for k in range(1, 9)}
    return found | {"QS": s["s8"], "QT": s["t"]}


def divider_4018(s: State, o: Bits, n: Bits) -> Answer:
    bits = [s[str(k)] for k in range(5)]
    if rose(o, n, "CLK"):
        bits = [o["D"], *bits[:-1]]
    if n["R"]:
        bits = [0] * 5
    elif n["PE"]:
        bits = [n[f"J{k}"] for k in range(1, 6)]
    for k in range(5):
        s[str(k)] = bits[k]
    return {f"nQ{k + 1}": 1 - bits[k] for k in range(5)}


def complement_4035(rule: Rule) -> Rule:
    def changed(s: State, o: Bits, n: Bits) -> Answer:
        return {name: q if n["TC"] else 1 - q for name, q in rule(s, o, n).items() if q is not None}

    return changed


def mode_waits_for_clocks(o: Bits, n: Bits) -> bool:
    """95: the mode changes with both clocks low."""
    return o["MODE"] != n["MODE"] and any((o["CLK1"], o["CLK2"], n["CLK1"], n["CLK2"]))
