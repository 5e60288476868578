"""Failure fractions and failure rates of the handbooks, with their sources.

Fractions: MIL-HDBK-338B (1 Oct 1998, public domain), table 7.2-1. Rates: MIL-HDBK-217F (1991,
public domain), appendix A, parts count, ground benign, times the quality factor of commercial
parts. A split that the handbook does not give is marked "split assumed" by :func:`mode_source`.
"""

from __future__ import annotations

from collections.abc import Mapping

from halfsplit.parts.kind import Rate

__all__ = ["FRACTIONS", "RATES", "fraction", "mode_source", "part_count_rate"]

_MEMORY = frozenset({
    "Microcircuit interface", "Microcircuit digital MOS", "Diode zener regulator",
    "Motor electric", "Printed wiring assembly", "Diode rectifier", "Crystal quartz", "Cable",
    "Solenoid",
})  # fmt: skip

FRACTIONS: Mapping[str, Mapping[str, float]] = {
    "Microcircuit digital bipolar": {
        "output stuck high": 0.28, "output stuck low": 0.28, "input open": 0.22,
        "output open": 0.22,
    },
    "Microcircuit digital MOS": {
        "input open": 0.36, "output open": 0.36, "supply open": 0.12,
        "output stuck low": 0.09, "output stuck high": 0.08,
    },
    "Microcircuit interface": {
        "output stuck low": 0.58, "output open": 0.16, "input open": 0.16, "supply open": 0.10,
    },
    "Microcircuit linear": {"improper output": 0.77, "no output": 0.23},
    "Microcircuit memory MOS": {
        "data bit loss": 0.34, "short": 0.26, "open": 0.23, "slow transfer of data": 0.17,
    },
    "Diode rectifier": {"short": 0.51, "open": 0.29, "parameter change": 0.20},
    "Diode general": {"short": 0.49, "open": 0.36, "parameter change": 0.15},
    "Diode zener regulator": {"open": 0.45, "parameter change": 0.35, "short": 0.20},
    "Transistor bipolar": {"short": 0.73, "open": 0.27},
    "Transistor FET": {
        "short": 0.51, "output low": 0.22, "parameter change": 0.17, "open": 0.05,
        "output high": 0.05,
    },
    "Optoelectronic LED": {"open": 0.70, "short": 0.30},
    "Optoelectronic sensor": {"short": 0.50, "open": 0.50},
    "Resistor composition": {"parameter change": 0.66, "open": 0.31, "short": 0.03},
    "Resistor film": {"open": 0.59, "parameter change": 0.36, "short": 0.05},
    "Resistor wirewound": {"open": 0.65, "parameter change": 0.26, "short": 0.09},
    "Resistor network": {"open": 0.92, "short": 0.08},
    "Resistor variable": {"open": 0.53, "erratic output": 0.40, "short": 0.07},
    "Capacitor ceramic": {"short": 0.49, "change in value": 0.29, "open": 0.22},
    "Capacitor plastic film": {"open": 0.42, "short": 0.40, "change in value": 0.18},
    "Capacitor tantalum electrolytic": {"short": 0.69, "open": 0.17, "change in value": 0.14},
    "Capacitor aluminium electrolytic": {
        "short": 0.53, "open": 0.35, "electrolyte leak": 0.10, "decrease in capacitance": 0.02,
    },
    "Coil": {"short": 0.42, "open": 0.42, "change in value": 0.16},
    "Transformer": {"open": 0.42, "short": 0.42, "parameter change": 0.16},
    "Relay": {"fails to trip": 0.55, "spurious trip": 0.26, "short": 0.19},
    "Solenoid": {"short": 0.52, "slow movement": 0.43, "open": 0.05},
    "Crystal quartz": {"open": 0.89, "no oscillation": 0.11},
    "Cable": {"short": 0.45, "excessive wear": 0.36, "open": 0.19},
    "Motor electric": {
        "winding failure": 0.31, "bearing failure": 0.28, "fails to run after start": 0.23,
        "fails to start": 0.18,
    },
    "Switch toggle": {"open": 0.65, "sticking": 0.19, "short": 0.16},
    "Connector/connection": {"open": 0.61, "poor contact/intermittent": 0.23, "short": 0.16},
    "Fuse": {"fails to open": 0.49, "slow to open": 0.43, "premature open": 0.08},
    "Printed wiring assembly": {"open": 0.76, "short": 0.24},
}  # fmt: skip
"""Part kind of table 7.2-1 -> failure mode -> fraction."""

RATES: Mapping[str, tuple[float, float]] = {
    "IC digital bipolar 1-100 gates": (0.0036, 10.0),
    "IC digital bipolar 101-1000 gates": (0.006, 10.0),
    "IC digital MOS 1-100 gates": (0.0057, 10.0),
    "IC digital MOS 101-1000 gates": (0.01, 10.0),
    "IC linear 1-100 transistors": (0.0095, 10.0),
    "IC MOS microprocessor to 8 bit": (0.048, 10.0),
    "IC MOS ROM to 16 Kbit": (0.0047, 10.0),
    "IC MOS EPROM to 16 Kbit": (0.0049, 10.0),
    "IC MOS SRAM to 16 Kbit": (0.0079, 10.0),
    "IC MOS DRAM to 16 Kbit": (0.004, 10.0),
    "Diode general purpose": (0.0036, 5.5),
    "Diode switching": (0.00094, 5.5),
    "Diode power rectifier or Schottky": (0.0028, 5.5),
    "Diode zener": (0.0033, 5.5),
    "Transistor bipolar small signal": (0.00015, 8.0),
    "Transistor bipolar power": (0.0057, 8.0),
    "Transistor Si FET": (0.014, 8.0),
    "Photodetector": (0.011, 8.0),
    "Opto isolator": (0.027, 8.0),
    "Emitter (LED)": (0.00047, 8.0),
    "Resistor composition": (0.0005, 10.0),
    "Resistor film": (0.0012, 10.0),
    "Resistor network": (0.0023, 10.0),
    "Resistor wirewound": (0.014, 10.0),
    "Resistor variable": (0.043, 10.0),
    "Capacitor ceramic": (0.0036, 10.0),
    "Capacitor plastic film": (0.0021, 10.0),
    "Capacitor tantalum solid": (0.0018, 10.0),
    "Capacitor aluminium dry electrolytic": (0.029, 10.0),
    "Coil fixed": (0.0017, 3.0),
    "Thyristor": (0.0022, 8.0),
    "Transformer power": (0.023, 3.0),
    "Relay general purpose": (0.13, 9.0),
    "Quartz crystal": (0.032, 3.4),
    "Switch toggle or pushbutton": (0.001, 20.0),
    "Connector PCB edge": (0.0054, 2.0),
    "IC socket": (0.0019, 2.0),
    "Fuse": (0.01, 1.0),
}
"""Part class -> (lambda_g ground benign per million hours, quality factor pi_Q of commercial
parts). The quality factors of microcircuits (10), coils and transformers (3), and the rates of
thyristors and transformers are from memory."""


def fraction(kind: str, mode: str) -> float:
    """Fraction of the failures of a kind of table 7.2-1 that are of that mode."""
    return FRACTIONS[kind][mode]


def mode_source(kind: str, mode: str = "", *, split: bool = False) -> str:
    """The source text of a mode's share."""
    row = f"{kind}, {mode}" if mode else kind
    tail = " (from memory)" if kind in _MEMORY else ""
    return f"MIL-HDBK-338B table 7.2-1: {row}{tail}{'; split assumed' if split else ''}"


def part_count_rate(name: str, factor: float = 1.0) -> Rate:
    """Rate of a part class of :data:`RATES`, times ``factor``."""
    base, quality = RATES[name]
    return Rate(
        per_million_hours=base * quality * factor,
        source=f"MIL-HDBK-217F appendix A parts count, ground benign: {name} "
        f"{base:g}, pi_Q {quality:g}",
    )
