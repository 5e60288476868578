"""Gates, by the function tables of the data sheets (from memory)."""

from collections.abc import Callable

from tests.parts.logic_words import Answer, Bits, Function


def each_unit(units: int, inputs: str, rule: Callable[[list[int]], int]) -> Function:
    """Like gates A1 B1 -> Y1, A2 B2 -> Y2, ..."""

    def answer(i: Bits) -> Answer:
        return {f"Y{u}": rule([i[f"{name}{u}"] for name in inputs]) for u in range(1, units + 1)}

    return answer


def nand(bits: list[int]) -> int:
    return 0 if min(bits) == 1 else 1


def nor(bits: list[int]) -> int:
    return 1 if sum(bits) == 0 else 0


def both(bits: list[int]) -> int:
    return 1 if sum(bits) == len(bits) else 0


def either(bits: list[int]) -> int:
    return 1 if sum(bits) > 0 else 0


def odd(bits: list[int]) -> int:
    return sum(bits) % 2


def even(bits: list[int]) -> int:
    return 1 - sum(bits) % 2


def same(bits: list[int]) -> int:
    return bits[0]


def inverse(bits: list[int]) -> int:
    return 1 - bits[0]


def invert_51_standard(i: Bits) -> Answer:
    return {
        f"Y{u}": 0 if i[f"A{u}"] + i[f"B{u}"] == 2 or i[f"C{u}"] + i[f"D{u}"] == 2 else 1
        for u in "12"
    }


def and_or_invert(*groups: str, name: str = "Y") -> Function:
    """Low when all of some group are high."""
    return lambda i: {name: int(not any(all(i[x] for x in group.split()) for group in groups))}


def invert_51_low_power(i: Bits) -> Answer:
    first, second = and_or_invert("A1 B1 C1", "D1 E1 F1"), and_or_invert("A2 B2", "C2 D2")
    return {"Y1": first(i)["Y"], "Y2": second(i)["Y"]}


def strobed_nor_25(i: Bits) -> Answer:
    return {f"Y{u}": int(not (i[f"G{u}"] and max(i[f"{x}{u}"] for x in "ABCD") == 1)) for u in "12"}


def nand_134(i: Bits) -> Answer:
    return {"Y": None if i["nOC"] else nand([i[name] for name in "ABCDEFGHIJKL"])}


def both_ways(rule: Callable[[list[int]], int]) -> Function:
    """4068, 4078: a gate and its complement."""

    def answer(i: Bits) -> Answer:
        y = rule([i[name] for name in "ABCDEFGH"])
        return {"Y": y, "nY": 1 - y}

    return answer


def gates_4000(i: Bits) -> Answer:
    found: Answer = {f"Y{u}": nor([i[f"{x}{u}"] for x in "ABC"]) for u in "12"}
    return found | {"Y3": 1 - i["A3"]}


def complements_4041(i: Bits) -> Answer:
    return {f"{n}Q{u}": i[f"A{u}"] ^ (n == "n") for u in "1234" for n in ("", "n")}


def at_rest(units: tuple[str, ...]) -> Function:
    """One-shots."""
    return lambda i: {f"{n}Q{u}": int(n == "n") for u in units for n in ("", "n")}
