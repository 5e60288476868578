"""Bus drivers, by the function tables of the data sheets (from memory; 125, 126, 240 read)."""

from collections.abc import Callable

from tests.parts.logic_words import Answer, Bits, Function


def buffer_quad(enable: str, level: int) -> Function:
    def answer(i: Bits) -> Answer:
        return {f"Y{u}": i[f"A{u}"] if i[f"{enable}{u}"] == level else None for u in "1234"}

    return answer


def octal(second: str, second_level: int, inverted: bool) -> Function:
    """240, 241, 244: four buffers on each enable."""

    def answer(i: Bits) -> Answer:
        on = {"1": i["nG1"] == 0, "2": i[second] == second_level}
        return {
            f"Y{u}_{n}": ((i[f"A{u}_{n}"] + inverted) % 2 if on[u] else None)
            for u in "12"
            for n in "1234"
        }

    return answer


def octal_540(inverted: int) -> Function:
    def answer(i: Bits) -> Answer:
        on = i["nG1"] + i["nG2"] == 0
        return {f"Y{n}": i[f"A{n}"] ^ inverted if on else None for n in range(1, 9)}

    return answer


def transceiver(to_a: Callable[[Bits], bool], to_b: Callable[[Bits], bool], inverted: int = 0,
                units: int = 8, off: int | None = None) -> Function:  # fmt: skip
    """Buses A and B: which way data goes."""

    def answer(i: Bits) -> Answer:
        found: Answer = {}
        for n in range(1, units + 1):
            found[f"A{n}"] = i[f"B{n}"] ^ inverted if to_a(i) else off
            found[f"B{n}"] = i[f"A{n}"] ^ inverted if to_b(i) else off
        return found

    return answer


def directed(inverted: int = 0, off: int | None = None) -> Function:
    """245, 640 to 645: a direction and an enable."""
    return transceiver(
        lambda i: (i["nG"], i["DIR"]) == (0, 0), lambda i: (i["nG"], i["DIR"]) == (0, 1),
        inverted, off=off,
    )  # fmt: skip


def two_enables(
    to_a: tuple[str, int], to_b: tuple[str, int], inverted: int, units: int
) -> Function:
    """242, 243, 620, 623."""
    return transceiver(
        lambda i: i[to_a[0]] == to_a[1], lambda i: i[to_b[0]] == to_b[1], inverted, units
    )


def hex_bus(split: bool, inverted: bool, names: str = "nG") -> Function:
    """365 and 366 (two enables together), 367, 368 and 4503 (four and two)."""

    def answer(i: Bits) -> Answer:
        found: Answer = {}
        for n in range(1, 7):
            one, two = i[f"{names}1"], i[f"{names}2"]
            on = not (one if n <= 4 else two) if split else one + two == 0
            found[f"Y{n}"] = (i[f"A{n}"] + inverted) % 2 if on else None
        return found

    return answer


def hex_4502(i: Bits) -> Answer:
    return {f"Q{n}": None if i["DIS"] else 0 if i["INH"] else 1 - i[f"D{n}"] for n in range(1, 7)}
