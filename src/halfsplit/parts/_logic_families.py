"""Electrical behaviour of the logic families; a new family is one more row of :data:`FAMILIES`.

Typical values at 25 degC and 5 V. Limits they must keep are in ``tests/truth/logic_levels.csv``
with their sources (standard TTL, LS and HCT levels read; typical values from memory of the
datasheets of the 00, 04, 06, 38, 125, 240, 244, 365, 373). Thresholds: standard TTL two
base-emitter drops, 1.3 V; LS two drops less a Schottky, 1.1 V (from memory); HC half the supply.
4000B outputs are those at 5 V (0.88 mA at 0.4 V typical, data sheet of the CD4011BC, read; the law
adds 1 mS to each side); at 10 and 15 V real ones are two to three times as strong.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field

from halfsplit.frozen import dataclass
from halfsplit.solve.laws.logic import Pull

__all__ = ["FAMILIES", "Drive", "Family", "Junction"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drive:
    """One kind of output.

    Low side ``il`` A, ``rl`` ohm, ``off`` V; high side ``ih`` A, ``rh`` ohm (parameters of
    :class:`halfsplit.solve.laws.logic.LogicOutput`). ``iol``, ``ioh`` A: what the datasheet
    rates it for; ``volts_off`` V the most it may stand when off; ``breaks_at`` V where it
    conducts by force.
    """

    il: float
    rl: float
    off: float = 0.0
    ih: float = 0.0
    rh: float = 1e3
    iol: float
    ioh: float = 0.0
    volts_off: float = 5.5
    breaks_at: float = 1e3


@dataclass(frozen=True, slots=True, kw_only=True)
class Junction:
    """Clamp diode: saturation current A, emission coefficient, breakdown V."""

    is_: float
    n: float = 1.0
    bv: float = 1e3


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """One family.

    ``vth`` V, or a fraction of the supply with ``rel`` 1. Bipolar inputs: ``r`` ohm from
    ``in_drop`` V below the supply, switched off above ``off_at`` V, ``leak`` S to ground; an
    open input floats about 0.45 V above ``off_at``. MOS inputs (``r`` 0) leak to both supplies
    alike, so that an open one reads undefined. ``drop`` V is lost by a high output.
    ``drives`` has at least ``"standard"``; a drive that is missing there is the standard one.
    ``schmitt`` are the thresholds of Schmitt inputs on the way up and down, like ``vth``
    (data sheets of the 14, 132 and 40106, typical, from memory); ``rail`` V is what implied supply
    pins take; ``before`` comes before a chip's number in its name.
    """

    name: str
    title: str
    vth: float
    rel: float = 0.0
    vth_spread: float = 0.1
    r: float = 0.0
    in_drop: float = 0.0
    off_at: float = 0.0
    leak: float = 1e-9
    clamp: Junction
    clamp_high: bool = False
    high: Pull = "follower"
    drop: float = 0.0
    on_at: float = 2.5
    oc_leak: float = 1e-6
    icc: float = 1e-3
    supply: tuple[float, float] = (4.75, 5.25)
    pnp_r: float = 0.0
    mos: bool = False
    drives: Mapping[str, Drive] = field(default_factory=dict, hash=False)
    schmitt: tuple[float, float] = (1.7, 0.9)
    rail: tuple[float, float] = (4.5, 5.5)
    before: str | None = None

    @property
    def prefix(self) -> str:
        """What a chip's name has before its number."""
        return self.name if self.before is None else self.before

    def threshold(self, vth: float, supply: float = 5.0) -> float:
        """A threshold of the family in volts."""
        return vth * (supply if self.rel else 1.0)

    def drive(self, name: str) -> Drive:
        """The output of that name, or the family's standard one."""
        return self.drives.get(name, self.drives["standard"])


_SILICON = Junction(is_=1e-14, bv=8.0)
_SCHOTTKY = Junction(is_=1e-9, n=1.05, bv=18.0)
_MOS = Junction(is_=1e-14)
_MOS_DRIVES = {
    "standard": Drive(il=0.05, rl=42.0, ih=0.05, rh=50.0, iol=0.004, ioh=0.004),
    "tri": Drive(il=0.08, rl=28.0, ih=0.08, rh=33.0, iol=0.006, ioh=0.006),
    "bus": Drive(il=0.08, rl=28.0, ih=0.08, rh=33.0, iol=0.006, ioh=0.006),
}

_ALL = (
    Family(
        name="74",
        on_at=3.2,
        title="standard TTL",
        vth=1.3,
        vth_spread=0.15,
        r=4000.0,
        in_drop=0.7,
        off_at=1.1,
        leak=2e-6,
        clamp=_SILICON,
        drop=1.4,
        icc=10e-3,
        drives={
            "standard": Drive(il=0.06, rl=6.2, off=0.1, ih=0.045, rh=110.0, iol=0.016, ioh=0.4e-3),
            "buffer": Drive(il=0.15, rl=2.1, off=0.1, ih=0.045, rh=110.0, iol=0.048, ioh=1.2e-3),
            "tri": Drive(il=0.06, rl=6.2, off=0.1, ih=0.06, rh=70.0, iol=0.016, ioh=5.2e-3),
            "bus": Drive(il=0.1, rl=3.1, off=0.1, ih=0.09, rh=45.0, iol=0.032, ioh=5.2e-3),
            "high voltage": Drive(
                il=0.1, rl=5.0, off=0.15, iol=0.04, volts_off=30.0, breaks_at=40.0
            ),
            "high voltage 15 V": Drive(
                il=0.1, rl=5.0, off=0.15, iol=0.04, volts_off=15.0, breaks_at=22.0
            ),
            "high voltage 80 mA": Drive(
                il=0.2, rl=4.5, off=0.15, iol=0.08, volts_off=30.0, breaks_at=40.0
            ),
            "high voltage 80 mA 15 V": Drive(
                il=0.2, rl=4.5, off=0.15, iol=0.08, volts_off=15.0, breaks_at=22.0
            ),
            "15 V": Drive(il=0.06, rl=6.2, off=0.1, iol=0.016, volts_off=15.0, breaks_at=22.0),
        },
    ),
    Family(
        name="74LS",
        on_at=2.8,
        title="low-power Schottky TTL",
        vth=1.1,
        r=20000.0,
        in_drop=0.4,
        off_at=1.0,
        leak=4e-7,
        clamp=_SCHOTTKY,
        high="darlington",
        drop=1.44,
        icc=2e-3,
        pnp_r=100e3,
        schmitt=(1.6, 0.8),
        drives={
            "standard": Drive(
                il=0.03, rl=25.0, off=0.14, ih=0.029, rh=62.0, iol=8e-3, ioh=0.4e-3, volts_off=7.0
            ),
            "buffer": Drive(
                il=0.1, rl=8.3, off=0.15, ih=0.03, rh=58.0, iol=0.024, ioh=1.2e-3, volts_off=7.0
            ),
            "tri": Drive(
                il=0.1, rl=8.3, off=0.15, ih=0.043, rh=40.0, iol=0.024, ioh=2.6e-3, volts_off=7.0
            ),
            "bus": Drive(
                il=0.1, rl=8.3, off=0.15, ih=0.08, rh=22.0, iol=0.024, ioh=15e-3, volts_off=7.0
            ),
            "high voltage": Drive(
                il=0.1, rl=5.0, off=0.15, iol=0.04, volts_off=30.0, breaks_at=40.0
            ),
            "high voltage 15 V": Drive(
                il=0.05, rl=10.0, off=0.14, iol=0.024, volts_off=15.0, breaks_at=22.0
            ),
            "high voltage 80 mA 15 V": Drive(
                il=0.2, rl=6.0, off=0.15, iol=0.08, volts_off=15.0, breaks_at=22.0
            ),
            "15 V": Drive(il=0.03, rl=25.0, off=0.14, iol=8e-3, volts_off=15.0, breaks_at=22.0),
        },
    ),
    Family(
        name="74HC",
        title="high-speed CMOS",
        vth=0.5,
        rel=1.0,
        vth_spread=0.03,
        clamp=_MOS,
        clamp_high=True,
        high="mos",
        on_at=1.5,
        oc_leak=1e-8,
        icc=2e-6,
        supply=(2.0, 6.0),
        mos=True,
        schmitt=(0.53, 0.35),
        drives=_MOS_DRIVES,
    ),
    Family(
        name="74HCT",
        title="high-speed CMOS with TTL input levels",
        vth=1.4,
        clamp=_MOS,
        clamp_high=True,
        high="mos",
        on_at=1.5,
        oc_leak=1e-8,
        icc=2e-6,
        supply=(4.5, 5.5),
        mos=True,
        schmitt=(1.4, 0.85),
        drives=_MOS_DRIVES,
    ),
    Family(
        name="74S",
        title="Schottky TTL",
        vth=1.3,
        r=2800.0,
        in_drop=0.7,
        off_at=1.1,
        leak=2e-6,
        clamp=_SCHOTTKY,
        high="darlington",
        drop=1.46,
        icc=15e-3,
        schmitt=(1.77, 1.22),
        drives={
            "standard": Drive(il=0.08, rl=12.0, off=0.2, ih=0.06, rh=20.0, iol=0.02, ioh=1e-3),
            "buffer": Drive(il=0.18, rl=4.5, off=0.15, ih=0.12, rh=23.0, iol=0.06, ioh=3e-3),
            "tri": Drive(il=0.08, rl=12.0, off=0.2, ih=0.08, rh=18.0, iol=0.02, ioh=6.5e-3),
            "bus": Drive(il=0.2, rl=4.5, off=0.15, ih=0.16, rh=9.5, iol=0.064, ioh=15e-3),
        },
    ),
    Family(
        name="74ALS",
        title="advanced low-power Schottky TTL",
        vth=1.4,
        r=60e3,
        in_drop=0.4,
        off_at=1.3,
        leak=4e-7,
        clamp=_SCHOTTKY,
        high="darlington",
        drop=1.4,
        icc=1.5e-3,
        drives={
            "standard": Drive(il=0.05, rl=22.0, off=0.14, ih=0.06, rh=60.0, iol=8e-3, ioh=0.4e-3),
            "buffer": Drive(il=0.12, rl=8.0, off=0.14, ih=0.08, rh=40.0, iol=0.024, ioh=2.6e-3),
            "tri": Drive(il=0.12, rl=8.0, off=0.14, ih=0.08, rh=40.0, iol=0.024, ioh=2.6e-3),
            "bus": Drive(il=0.12, rl=8.0, off=0.14, ih=0.12, rh=25.0, iol=0.024, ioh=15e-3),
        },
    ),
    Family(
        name="74F",
        title="fast TTL",
        vth=1.4,
        r=10e3,
        in_drop=0.5,
        off_at=1.2,
        leak=1e-6,
        clamp=_SCHOTTKY,
        high="darlington",
        drop=1.3,
        icc=5e-3,
        drives={
            "standard": Drive(il=0.08, rl=9.0, off=0.18, ih=0.11, rh=35.0, iol=0.02, ioh=1e-3),
            "buffer": Drive(il=0.2, rl=4.0, off=0.16, ih=0.15, rh=22.0, iol=0.064, ioh=15e-3),
            "tri": Drive(il=0.1, rl=7.5, off=0.18, ih=0.11, rh=30.0, iol=0.024, ioh=3e-3),
            "bus": Drive(il=0.2, rl=4.0, off=0.16, ih=0.15, rh=22.0, iol=0.064, ioh=15e-3),
        },
    ),
    Family(
        name="cmos",
        title="4000B CMOS",
        vth=0.5,
        rel=1.0,
        vth_spread=0.15,
        clamp=_MOS,
        clamp_high=True,
        high="mos",
        on_at=2.0,
        oc_leak=1e-8,
        icc=1e-6,
        supply=(3.0, 15.0),
        mos=True,
        schmitt=(0.58, 0.38),
        rail=(3.0, 15.0),
        before="",
        drives={
            "standard": Drive(il=2.2e-3, rl=760.0, ih=0.6e-3, rh=900.0, iol=0.5e-3, ioh=0.5e-3),
            "buffer": Drive(il=0.02, rl=70.0, ih=6e-3, rh=300.0, iol=3e-3, ioh=0.8e-3),
            "display": Drive(il=2.2e-3, rl=760.0, ih=0.06, rh=57.0, iol=0.5e-3, ioh=0.025),
        },
    ),
)

FAMILIES: Mapping[str, Family] = {family.name: family for family in _ALL}
"""Family name -> behaviour."""
