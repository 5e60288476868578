"""What chips with memory do, step by step, written from the function tables of the data sheets.

The models count, shift and index; they share no formula with the package's table. Source: function
tables of the data sheets, from memory, except 7474, 7475, 7490, 7493, 74174 and others beside the
pin lists N of ``tests/truth/logic_pins.toml`` and 273 in SDLS090, read.
"""

from tests.parts.logic_counters import (
    binary,
    counter_590,
    counter_4060,
    decoded,
    dual_390,
    dual_393,
    dual_4518,
    either_bars,
    one_clock_at_a_time,
    over_nine,
    ripple_pair,
    synchronous,
    two_clocks,
    up_down_40,
    up_down_168,
    up_down_190,
)
from tests.parts.logic_model import Steps, fell, resting, rose
from tests.parts.logic_registers import (
    LETTERS,
    OCTAL,
    along,
    clear_low,
    complement_4035,
    divider_4018,
    jk_first,
    load_or_shift,
    mode_waits_for_clocks,
    off_299,
    parallel,
    register_95,
    register_595,
    register_597,
    register_4006,
    register_4015,
    register_4094,
    shift_register,
    universal,
)
from tests.parts.logic_storage import (
    addressable,
    chosen_word,
    decoder_4514,
    display_4511,
    flip_flops,
    gated,
    latches,
    register_file,
    renamed,
    set_reset_40,
    set_reset_279,
    two_gates,
)

EIGHT, CLEAR = "12345678", {"nCLR": 1}


D_74 = flip_flops("12")


JK_76 = flip_flops("12", data="JK", edge=fell)


PINS_76 = resting("nCLR1 nCLR2 nPRE1 nPRE2")


JK_73 = Steps(flip_flops("12", data="JK", edge=fell, preset=""), resting("nCLR1 nCLR2"))


D_8 = flip_flops(EIGHT, clock="CLK", preset="", clear="", complement=False, off=("nOC",))


D_8_INVERTED = renamed(D_8, str, invert=True)


LATCH_8 = latches(EIGHT, lambda n, u: bool(n["LE"]), off="nOC")


LATCH_8_INVERTED = latches(EIGHT, lambda n, u: bool(n["LE"]), off="nOC", inverted=True)


RESET_90, RESET_93 = resting("!R01 !R91"), resting("!R01")


LOAD = resting("nLOAD nCLR ENP ENT")


QUAD_JK = [f"P{k}" for k in (1, 2, 3, 4)]


PARALLEL_8 = [f"P{k}" for k in range(1, 9)]


LAST_THREE = {"Q6": 5, "Q7": 6, "Q8": 7}


MODELS: dict[str, Steps] = {
    "73": JK_73,
    "74": Steps(D_74, PINS_76),
    "75": Steps(latches("1234", two_gates, complement=True)),
    "76": Steps(JK_76, PINS_76),
    "77": Steps(latches("1234", two_gates)),
    "90": Steps(ripple_pair(5), RESET_90),
    "91": Steps(
        shift_register(8, {"QH": 7}, along(lambda o: o["A"] & o["B"]), complement="QH")
    ),
    "92": Steps(ripple_pair(6), RESET_93),
    "93": Steps(ripple_pair(8), RESET_93),
    "95": Steps(register_95, resting("!MODE"), mode_waits_for_clocks),
    "107": JK_73,
    "109": Steps(flip_flops("12", data="JnK"), PINS_76),
    "112": Steps(JK_76, PINS_76),
    "113": Steps(flip_flops("12", data="JK", edge=fell, clear=""), resting("nPRE1 nPRE2")),
    "114": Steps(
        flip_flops("12", data="JK", edge=fell, clock="CLK", clear="nCLR"),
        resting("nCLR nPRE1 nPRE2"),
    ),
    "160": Steps(synchronous(10, False), LOAD, over_nine()),
    "161": Steps(synchronous(16, False), LOAD),
    "162": Steps(synchronous(10, True), LOAD, over_nine()),
    "163": Steps(synchronous(16, True), LOAD),
    "164": Steps(
        shift_register(8, parallel(8), along(lambda o: o["A"] & o["B"]), settle=clear_low), CLEAR
    ),
    "165": Steps(
        shift_register(
            8, {"QH": 7}, along(lambda o: o["SER"]), complement="QH",
            clocked=lambda o, n: not (o["CLK"] or o["INH"]) and bool(n["CLK"] or n["INH"]),
            settle=lambda bits, n: bits if n["SHLD"] else [n[x] for x in LETTERS],
        ),
        resting("SHLD !INH"),
    ),
    "166": Steps(
        shift_register(
            8, {"QH": 7}, load_or_shift("SHLD", 0, list(LETTERS), lambda o: o["SER"]),
            clocked=lambda o, n: not (o["CLK"] or o["INH"]) and bool(n["CLK"] or n["INH"]),
            settle=clear_low,
        ),
        resting("SHLD !INH nCLR"),
    ),
    "168": Steps(up_down_168(10), resting("nLOAD !nENP !nENT"), over_nine()),
    "169": Steps(up_down_168(16), resting("nLOAD !nENP !nENT")),
    "170": Steps(register_file(1), resting("!nGR")),
    "173": Steps(
        flip_flops("1234", clock="CLK", preset="", clear="CLR", low=False, complement=False,
                   hold=("nG1", "nG2"), off=("M", "N")),
        resting("!CLR !M !N"),
    ),
    "174": Steps(
        flip_flops("123456", clock="CLK", preset="", clear="nCLR", complement=False), CLEAR
    ),
    "175": Steps(flip_flops("1234", clock="CLK", preset="", clear="nCLR"), CLEAR),
    "190": Steps(up_down_190(10), resting("nLOAD !nCTEN"), over_nine()),
    "191": Steps(up_down_190(16), resting("nLOAD !nCTEN")),
    "192": Steps(
        two_clocks(10), resting("nLOAD !CLR UP DOWN"),
        either_bars(over_nine(), one_clock_at_a_time),
    ),
    "193": Steps(two_clocks(16), resting("nLOAD !CLR UP DOWN"), one_clock_at_a_time),
    "194": Steps(shift_register(4, parallel(4), universal(list("ABCD")), settle=clear_low), CLEAR),
    "195": Steps(
        shift_register(
            4, parallel(4), jk_first(("SHLD", 0), list("ABCD")), settle=clear_low, complement="QD"
        ),
        resting("SHLD nCLR"),
    ),
    "196": Steps(
        ripple_pair(5, "direct"), resting("nLOAD nCLR"), over_nine("D C B", 4)
    ),
    "197": Steps(ripple_pair(8, "direct"), resting("nLOAD nCLR")),
    "198": Steps(shift_register(8, parallel(8), universal(list(LETTERS)), settle=clear_low), CLEAR),
    "259": Steps(
        addressable("C B A", lambda n: not n["nG"], lambda n: not n["nCLR"], "D"), CLEAR
    ),
    "273": Steps(flip_flops(EIGHT, clock="CLK", preset="", clear="nCLR", complement=False), CLEAR),
    "279": Steps(set_reset_279),
    "290": Steps(ripple_pair(5), RESET_90),
    "293": Steps(ripple_pair(8), RESET_93),
    "298": Steps(chosen_word(fell)),
    "299": Steps(
        shift_register(
            8, OCTAL, universal([f"IO{x}" for x in LETTERS]), settle=clear_low, off=off_299
        ),
        CLEAR,
    ),
    "323": Steps(
        shift_register(8, OCTAL, universal([f"IO{x}" for x in LETTERS], True), off=off_299), CLEAR
    ),
    "373": Steps(LATCH_8, resting("!nOC")),
    "374": Steps(D_8, resting("!nOC")),
    "375": Steps(latches("1234", two_gates, complement=True)),
    "377": Steps(gated(EIGHT)),
    "378": Steps(gated("123456")),
    "379": Steps(gated("1234", complement=True)),
    "390": Steps(dual_390, resting("!CLR1 !CLR2")),
    "393": Steps(dual_393, resting("!CLR1 !CLR2")),
    "399": Steps(chosen_word(rose)),
    "533": Steps(LATCH_8_INVERTED, resting("!nOC")),
    "534": Steps(D_8_INVERTED, resting("!nOC")),
    "563": Steps(LATCH_8_INVERTED, resting("!nOC")),
    "564": Steps(D_8_INVERTED, resting("!nOC")),
    "573": Steps(LATCH_8, resting("!nOC")),
    "574": Steps(D_8, resting("!nOC")),
    "590": Steps(counter_590, resting("nCCLR !nG")),
    "595": Steps(register_595, resting("nSRCLR !nG")),
    "597": Steps(register_597, resting("nSRCLR nSRLD")),
    "670": Steps(register_file(None), resting("!nGR")),
    "4006": Steps(register_4006),
    "4013": Steps(
        flip_flops("12", preset="S#", clear="R#", low=False), resting("!S1 !S2 !R1 !R2")
    ),
    "4014": Steps(
        shift_register(8, LAST_THREE, load_or_shift("PS", 1, PARALLEL_8, lambda o: o["SER"])),
        resting("!PS"),
    ),
    "4015": Steps(register_4015, resting("!R1 !R2")),
    "4017": Steps(decoded(10), resting("!R !EN")),
    "4018": Steps(divider_4018, resting("!R !PE")),
    "4020": Steps(binary(14, [1, *range(4, 15)]), resting("!R")),
    "4021": Steps(
        shift_register(
            8, LAST_THREE, along(lambda o: o["SER"]),
            settle=lambda bits, n: [n[p] for p in PARALLEL_8] if n["PS"] else bits,
        ),
        resting("!PS"),
    ),
    "4022": Steps(decoded(8), resting("!R !EN")),
    "4024": Steps(binary(7, list(range(1, 8))), resting("!R")),
    "4027": Steps(
        flip_flops("12", data="JK", preset="S#", clear="R#", low=False),
        resting("!S1 !S2 !R1 !R2"),
    ),
    "4029": Steps(
        up_down_40(None, False), resting("!PE !nCI BD"),
        either_bars(over_nine("P4 P3 P2 P1"), lambda o, n: o["BD"] != n["BD"] and not n["PE"]),
    ),
    "4035": Steps(
        complement_4035(
            shift_register(
                4, {f"Q{k + 1}": k for k in range(4)}, jk_first(("PS", 1), QUAD_JK),
                settle=lambda bits, n: [0] * 4 if n["R"] else bits,
            )
        ),
        resting("!R !PS"),
    ),
    "4040": Steps(binary(12, list(range(1, 13))), resting("!R")),
    "4042": Steps(latches("1234", lambda n, u: n["CLK"] == n["POL"], complement=True)),
    "4043": Steps(set_reset_40("", "S"), resting("EN")),
    "4044": Steps(set_reset_40("n", "R"), resting("EN")),
    "4060": Steps(counter_4060, resting("!R")),
    "4076": Steps(
        flip_flops("1234", clock="CLK", preset="", clear="R", low=False, complement=False,
                   hold=("nG1", "nG2"), off=("M", "N")),
        resting("!R !M !N"),
    ),
    "4094": Steps(register_4094, resting("OE")),
    "4099": Steps(
        addressable("A2 A1 A0", lambda n: not n["WD"], lambda n: bool(n["R"]), "D"), resting("!R")
    ),
    "4510": Steps(up_down_40(10, True), resting("!PE !nCI !R"), over_nine("P4 P3 P2 P1")),
    "4511": Steps(display_4511, resting("nLT nBI")),
    "4514": Steps(decoder_4514(False), resting("!INH")),
    "4515": Steps(decoder_4514(True), resting("!INH")),
    "4516": Steps(up_down_40(16, True), resting("!PE !nCI !R")),
    "4518": Steps(dual_4518(10), resting("!R1 !R2")),
    "4520": Steps(dual_4518(16), resting("!R1 !R2")),
}  # fmt: skip
MODELS |= {
    f"40{number}": MODELS[number]
    for number in ("160", "161", "162", "163", "174", "175", "192", "193", "194")
}  # functionally as their sisters of the 74 series (CMOS data book, from memory)
