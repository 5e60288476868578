"""What a meter's display shows."""

from __future__ import annotations

__all__ = ["ohms_digits", "small_digits", "volts_digits"]


def volts_digits(volts: float) -> str:
    """3½ digits: steps of 1 mV below 2 V, 10 mV below 20 V, 0.1 V above."""
    size = abs(volts)
    places = 3 if size < 1.9995 else 2 if size < 19.995 else 1
    shown = f"{volts:.{places}f}"
    return shown.removeprefix("-") if float(shown) == 0.0 else shown


def ohms_digits(ohms: float) -> str:
    """3½ digits with the prefix of the range."""
    for full, unit, places in (
        (200.0, "", 1), (2e3, "", 0), (20e3, "k", 2), (200e3, "k", 1), (2e6, "k", 0),
        (20e6, "M", 2),
    ):  # fmt: skip
        if ohms < full * 0.99975:
            scale = {"": 1.0, "k": 1e3, "M": 1e6}[unit]
            return f"{max(ohms, 0.0) / scale:.{places}f}{unit}"
    return "OL"


def small_digits(value: float, unit: str) -> str:
    """Three digits; farads in nanofarads."""
    return f"{value * 1e9:.3g}n{unit}" if unit == "F" else f"{value:.3g}"
