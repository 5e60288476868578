"""Device models of the independent simulator, with numbers of its own.

None of these numbers is shared with the parts that the diagnosis computes with. They are
typical of the classes named (from memory); tests hold the circuits built of them to datasheet
limits. Draws come from the sheet, so that every board is made of slightly other devices.
"""

from __future__ import annotations

from halfsplit.trial.sheet import Sheet

__all__ = ["diode", "led", "mosfet", "npn", "pnp", "schottky", "switching", "zener"]


def npn(
    sheet: Sheet, *, is_: float = 5e-15, bf: float = 150.0, br: float = 2.0, vaf: float = 80.0,
    ikf: float = 0.08, rb: float = 10.0, rc: float = 1.0, re: float = 0.1, kind: str = "npn",
    spread: float = 0.25, mismatch: float = 0.2,
) -> str:  # fmt: skip
    """A Gummel-Poon transistor drawn around typical numbers, its gain within ``spread`` and its
    saturation current within ``mismatch``; returns the model's name. A resistance of 0 saves the
    simulator a node."""
    bf, is_, rc = bf * sheet.factor(spread), is_ * sheet.factor(mismatch), rc * sheet.factor(0.15)
    name = f"{kind}{len(sheet.models)}"
    ohms = "".join(f" {key}={value:.4g}" for key, value in (("rb", rb), ("rc", rc), ("re", re))
                   if value)  # fmt: skip
    return sheet.model(
        name,
        f"{kind}(is={is_:.4g} bf={bf:.4g} br={br:.4g} vaf={vaf:.4g} ikf={ikf:.4g} nf=1.0 "
        f"ise={is_ * 3:.4g} ne=1.6{ohms})",
    )


def pnp(
    sheet: Sheet, *, is_: float = 3e-15, bf: float = 120.0, br: float = 4.0, vaf: float = 40.0,
    ikf: float = 0.08, rb: float = 12.0, rc: float = 1.2, re: float = 0.12, spread: float = 0.25,
) -> str:  # fmt: skip
    """The complement of :func:`npn`."""
    return npn(
        sheet, is_=is_, bf=bf, br=br, vaf=vaf, ikf=ikf, rb=rb, rc=rc, re=re, kind="pnp",
        spread=spread,
    )  # fmt: skip


def diode(
    sheet: Sheet, *, is_: float = 4e-9, n: float = 1.8, rs: float = 0.05, bv: float = 400.0
) -> str:
    """A junction diode drawn around typical numbers."""
    is_ = is_ * sheet.factor(0.3)
    name = f"d{len(sheet.models)}"
    ohms = f" rs={rs:.4g}" if rs else ""
    return sheet.model(name, f"d(is={is_:.4g} n={n:.4g}{ohms} bv={bv:.5g} ibv=1e-4)")


def switching(sheet: Sheet, bv: float = 100.0) -> str:
    """A small switching diode: about 0.62 V at 1 mA, 0.75 V at 10 mA."""
    return diode(sheet, is_=2.6e-9, n=1.85, rs=0.6, bv=bv)


def schottky(sheet: Sheet, *, is_: float = 1e-8, rs: float = 20.0) -> str:
    """A small Schottky diode of a logic chip."""
    return diode(sheet, is_=is_, n=1.05, rs=rs, bv=30.0)


def zener(
    sheet: Sheet, volts: float, tolerance: float = 0.05, *, amps: float = 5e-3, ohms: float = 10.0
) -> str:
    """A breakdown diode of the stated voltage and slope resistance at its test current; half of
    the slope is bulk, half the soft knee of the breakdown."""
    bv = sheet.near(volts, tolerance) - 0.5 * ohms * amps
    knee = max(0.5 * ohms * amps / 0.025852, 1.0)
    name = f"d{len(sheet.models)}"
    return sheet.model(
        name, f"d(is=2e-14 n=1.1 rs={0.5 * ohms:.4g} bv={bv:.5g} ibv={amps:.4g} nbv={knee:.4g})"
    )


def led(sheet: Sheet, volts: float = 1.8) -> str:
    """A light-emitting diode of the stated forward voltage at 10 mA."""
    rs, n = 3.0, 2.0
    emission = n * 0.025852
    is_ = 10e-3 / 2.718281828 ** ((volts - 10e-3 * rs) / emission)
    return diode(sheet, is_=is_, n=n, rs=rs, bv=8.0)


def mosfet(sheet: Sheet, *, ohms: float, vto: float, at: float, p: bool = False) -> str:
    """A level 1 MOSFET that has about ``ohms`` when driven with ``at`` volts, threshold ``vto``."""
    vto = vto * sheet.factor(0.05)
    kp = 1.0 / (ohms * sheet.factor(0.15) * max(at - vto, 0.3))
    name = f"m{len(sheet.models)}"
    sign = -1.0 if p else 1.0
    return sheet.model(
        name,
        f"{'pmos' if p else 'nmos'}(level=1 vto={sign * vto:.4g} kp={kp:.4g} lambda=0.01 "
        f"rd={0.05 * ohms:.4g})",
    )
