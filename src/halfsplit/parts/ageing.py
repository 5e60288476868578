"""How much more often old contacts and capacitors fail than the handbooks' constant rates say.

The handbooks give no such factor: the numbers here are an assumption, stated in one place so
that it can be changed. They follow what repairers of forty-year-old boards report (sockets,
edge contacts and joints, wet electrolytics and tantalums lead their lists), not a measurement.
The handbook's rate for wet electrolytics is high already, so their factor is small; its rates
for joints and contacts are those of new, inspected assemblies, so theirs is large.
"""

from __future__ import annotations

from halfsplit.frozen import dataclass
from halfsplit.parts.kind import Mode

__all__ = ["Ageing"]

_FULL = 40.0
"""Years for which the factors are stated."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ageing:
    """Multipliers of the rates of modes that name an age factor, at forty years.

    At another age a factor grows exponentially: ``factor ** (years / 40)``; a new board has 1.
    """

    years: float = 40.0
    contact: float = 60.0
    electrolytic: float = 2.0
    tantalum: float = 4.0

    def factor(self, name: str) -> float:
        """Multiplier for the age factor of that name; 1 for ``""``. Raises KeyError."""
        full = {
            "": 1.0,
            "contact": self.contact,
            "electrolytic": self.electrolytic,
            "tantalum": self.tantalum,
        }[name]
        return float(full ** (self.years / _FULL))

    def rate(self, mode: Mode, per_million_hours: float) -> float:
        """Rate of one mode of a part of that rate, failures per million hours."""
        return per_million_hours * mode.share * self.factor(mode.ageing)
