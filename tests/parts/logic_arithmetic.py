"""Adders, comparators, parity, encoders: by counting and adding, after the data sheets (from
memory; 85 read but for its cascade rows).
"""

from tests.parts.logic_words import Answer, Bits, number, spread


def adder(i: Bits) -> Answer:
    total = number(i, "A4 A3 A2 A1") + number(i, "B4 B3 B2 B1") + i["C0"]
    return spread(total, "C4 S4 S3 S2 S1")


def comparator_85(i: Bits) -> Answer:
    a, b = number(i, "A3 A2 A1 A0"), number(i, "B3 B2 B1 B0")
    if a != b:
        more, less, equal = int(a > b), int(a < b), 0
    elif i["IEQ"]:
        more, less, equal = 0, 0, 1
    else:
        rows = {(1, 0): (1, 0), (0, 1): (0, 1), (1, 1): (0, 0), (0, 0): (1, 1)}
        (more, less), equal = rows[i["IGT"], i["ILT"]], 0
    return {"OGT": more, "OLT": less, "OEQ": equal}


def identity_688(i: Bits) -> Answer:
    alike = all(i[f"P{k}"] == i[f"Q{k}"] for k in range(8))
    return {"nEQ": 0 if alike and not i["nG"] else 1}


def encoder_147(i: Bits) -> Answer:
    highest = max((k for k in range(1, 10) if not i[f"nI{k}"]), default=0)
    return spread(15 - highest, "nD nC nB nA")


def encoder_148(i: Bits) -> Answer:
    called = [k for k in range(8) if not i[f"nI{k}"]]
    if i["nEI"]:
        return spread(7, "nA2 nA1 nA0") | {"nGS": 1, "nEO": 1}
    code = 7 - max(called) if called else 7
    return spread(code, "nA2 nA1 nA0") | {"nGS": int(not called), "nEO": int(bool(called))}


def encoder_4532(i: Bits) -> Answer:
    called = [k for k in range(8) if i[f"D{k}"]]
    if not i["EI"]:
        return spread(0, "Q2 Q1 Q0") | {"GS": 0, "EO": 0}
    return spread(max(called, default=0), "Q2 Q1 Q0") | {
        "GS": int(bool(called)), "EO": int(not called),
    }  # fmt: skip


def parity_180(i: Bits) -> Answer:
    ones = sum(i[name] for name in "ABCDEFGH")
    if i["EVEN"] == i["ODD"]:
        return {"SE": 1 - i["EVEN"], "SO": 1 - i["EVEN"]}
    as_even = (ones % 2 == 0) == bool(i["EVEN"])
    return {"SE": int(as_even), "SO": int(not as_even)}


def parity_280(i: Bits) -> Answer:
    ones = sum(i[name] for name in "ABCDEFGHI")
    return {"SE": int(ones % 2 == 0), "SO": int(ones % 2 == 1)}


def alu_181(i: Bits) -> Answer:
    """High-level data: the arithmetic and logic columns of the data sheet's table."""
    a, b, s = number(i, "A3 A2 A1 A0"), number(i, "B3 B2 B1 B0"), number(i, "S3 S2 S1 S0")
    na, nb = 15 - a, 15 - b
    logic = (
        na, 15 - (a | b), na & b, 0, 15 - (a & b), nb, a ^ b, a & nb,
        na | b, 15 - (a ^ b), b, a & b, 15, a | nb, a | b, a,
    )[s]  # fmt: skip
    one, two = (
        (a, 0), (a | b, 0), (a | nb, 0), (15, 0), (a, a & nb), (a | b, a & nb), (a, nb),
        (a & nb, 15), (a, a & b), (a, b), (a | nb, a & b), (a & b, 15), (a, a), (a | b, a),
        (a | nb, a), (a, 15),
    )[s]  # fmt: skip
    total = one + two + (1 - i["CN"])
    f = logic if i["M"] else total & 15
    sums = [(one >> k & 1) + (two >> k & 1) for k in range(4)]
    return spread(f, "F3 F2 F1 F0") | {
        "AEQB": int(f == 15),
        "C4": int(total < 16),
        "P": int(any(x == 0 for x in sums)),
        "G": int(one + two < 16),
    }


def carry_182(i: Bits) -> Answer:
    makes, passes = [not i[f"nG{k}"] for k in range(4)], [not i[f"nP{k}"] for k in range(4)]
    carry, carries = bool(i["CN"]), []
    group = False
    for k in range(4):
        carry = makes[k] or (passes[k] and carry)
        group = makes[k] or (passes[k] and group)
        carries.append(int(carry))
    x, y, z = carries[:3]
    return {"CNX": x, "CNY": y, "CNZ": z, "nP": int(not all(passes)), "nG": int(not group)}
