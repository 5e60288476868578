"""Decoders and selectors, by the function tables of the data sheets (from memory; 42, 48, 138,
139, 151, 153, 155, 157 read).
"""

from tests.parts.logic_words import SEGMENTS, Answer, Bits, Function, number, one_of


def decoder_42(i: Bits) -> Answer:
    return one_of(10, number(i, "D C B A"))


def decoder_138(low: bool) -> Function:
    def answer(i: Bits) -> Answer:
        enabled = (i["G1"], i["nG2A"], i["nG2B"]) == (1, 0, 0)
        return one_of(8, number(i, "C B A") if enabled else None, low=low)

    return answer


def decoder_139(low: bool) -> Function:
    def answer(i: Bits) -> Answer:
        found: Answer = {}
        for u in "12":
            chosen = number(i, f"B{u} A{u}") if i[f"nG{u}"] == 0 else None
            found |= one_of(4, chosen, f"Y{u}_{{}}", low)
        return found

    return answer


def decoder_154(i: Bits) -> Answer:
    return one_of(16, number(i, "D C B A") if i["nG1"] + i["nG2"] == 0 else None)


def decoder_155(i: Bits) -> Answer:
    chosen = number(i, "B A")
    first = chosen if (i["C1"], i["nG1"]) == (1, 0) else None
    second = chosen if (i["nC2"], i["nG2"]) == (0, 0) else None
    return one_of(4, first, "Y1_{}") | one_of(4, second, "Y2_{}")


def segments(low: bool, tails: bool = False, test: bool = True) -> Function:
    """46 to 49, 247, 248."""

    def answer(i: Bits) -> Answer:
        value = number(i, "D C B A")
        lit = SEGMENTS[value]
        if tails:
            lit += {6: "a", 9: "d"}.get(value, "")
        if test and not i["nLT"]:
            lit = "abcdefg"
        if not i["nBI"]:
            lit = ""
        found: Answer = {f"S{s}": int((s in lit) != low) for s in "abcdefg"}
        if test:
            found["nBI"] = 0 if value == 0 and i["nLT"] and not i["nRBI"] else 1
        return found

    return answer


def selector_150(i: Bits) -> Answer:
    return {"W": 1 if i["nG"] else 1 - i[f"E{number(i, 'D C B A')}"]}


def selector_151(off: int | None) -> Function:
    """151 and 251: ``off`` is what Y does with G high, None for both outputs let go."""

    def answer(i: Bits) -> Answer:
        if i["nG"]:
            return {"Y": off, "W": None if off is None else 1 - off}
        chosen = i[f"D{number(i, 'C B A')}"]
        return {"Y": chosen, "W": 1 - chosen}

    return answer


def selector_153(off: int | None, inverted: int = 0) -> Function:
    """153, 253, 352, 353, 4539."""

    def answer(i: Bits) -> Answer:
        return {
            f"Y{u}": off if i[f"nG{u}"] else i[f"C{u}_{number(i, 'B A')}"] ^ inverted for u in "12"
        }

    return answer


def selector(off: int | None, inverted: bool) -> Function:
    """157, 158, 257 and 258: ``off`` is what the outputs do with G high."""

    def answer(i: Bits) -> Answer:
        found: Answer = {}
        for u in "1234":
            chosen = i[("AB"[i["S"]]) + u]
            found[f"Y{u}"] = off if i["nG"] else (1 - chosen if inverted else chosen)
        return found

    return answer


def selector_4512(i: Bits) -> Answer:
    if i["DIS"]:
        return {"Z": None}
    return {"Z": 0 if i["INH"] else i[f"X{number(i, 'C B A')}"]}


def selector_4019(i: Bits) -> Answer:
    return {
        f"Y{u}": int((i["KA"] == 1 and i[f"A{u}"] == 1) or (i["KB"] == 1 and i[f"B{u}"] == 1))
        for u in "1234"
    }
