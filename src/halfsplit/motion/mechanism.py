"""A stepping motor and what it moves: a handful of numbers, SI, seen from the motor's shaft.

Each phase pulls towards its own angle psi of the electrical cycle: T = -h (i/I) sin(phi - psi) for
a rotor with magnets, -h (i/I)^2 sin(phi - psi) for one of bare iron (first harmonic of the torque
curve; D. W. Jones, Stepping Motor Physics; P. Acarnley, Stepping Motors, from memory).
"""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
import numpy.typing as npt

from halfsplit.errors import MotionError
from halfsplit.frozen import dataclass

__all__ = ["FAMILIES", "Array", "Family", "Mechanism"]

Array = npt.NDArray[np.float64]
Family = Literal["variable-reluctance", "permanent-magnet", "hybrid"]
FAMILIES: tuple[Family, ...] = ("variable-reluctance", "permanent-magnet", "hybrid")


@dataclass(frozen=True, slots=True, kw_only=True)
class Mechanism:
    """``phases`` that are switched: the halves of centre-tapped windings count one each; with
    ``bipolar`` drive they are windings whose current goes both ways. ``steps_per_turn`` full steps.

    ``holding`` N m of one phase at ``rated`` A; ``inertia`` kg m2 of rotor and load; ``friction``
    N m that always opposes motion; ``viscous`` N m s; ``detent`` N m without current; ``load`` N m
    that pulls towards lower positions. Positions are full steps: ``stops`` lowest and highest
    (None: it turns for ever), ``rebound`` the share of speed kept there, ``home`` the position at
    and below which the sensor sees it, ``per_track`` steps to a track, ``travel`` metres a turn.
    """

    family: Family = "hybrid"
    phases: int = 4
    bipolar: bool = False
    steps_per_turn: float = 200.0
    holding: float = 0.1
    rated: float = 0.4
    inertia: float = 1e-5
    friction: float = 0.01
    viscous: float = 0.0
    detent: float = 0.0
    load: float = 0.0
    stops: tuple[float, float] | None = None
    rebound: float = 0.3
    home: float = 0.0
    per_track: float = 1.0
    travel: float | None = None

    def __post_init__(self) -> None:
        """Raises :class:`MotionError` for a mechanism that cannot be."""
        least = 2 if self.bipolar else 3
        if not least <= self.phases <= 5:
            raise MotionError(f"expected {least} to 5 phases, got {self.phases}")
        if self.family not in FAMILIES:
            raise MotionError(f"expected one of {', '.join(FAMILIES)}, got {self.family!r}")
        if self.family == "variable-reluctance" and self.bipolar:
            raise MotionError(
                "a variable-reluctance motor does not feel which way its current goes; "
                "leave out bipolar"
            )
        for name in ("steps_per_turn", "holding", "rated", "inertia", "per_track"):
            if not 0.0 < getattr(self, name) < math.inf:
                raise MotionError(f"expected {name} above 0, got {getattr(self, name):g}")
        for name in ("friction", "viscous", "detent", "rebound"):
            if not 0.0 <= getattr(self, name) < math.inf:
                raise MotionError(f"expected {name} of 0 or more, got {getattr(self, name):g}")
        if self.stops is not None and not self.stops[0] < self.stops[1]:
            raise MotionError(f"expected the lower stop first, got {self.stops}")

    @property
    def magnets(self) -> bool:
        """Whether the rotor is a magnet: then it has detents, and current has a sign."""
        return self.family != "variable-reluctance"

    @property
    def cycle(self) -> int:
        """Full steps of one electrical cycle: as many as phases switched one way, twice as many as
        windings switched both ways (table of torque periods in Jones)."""
        return 2 * self.phases if self.bipolar else self.phases

    @property
    def teeth(self) -> float:
        """Electrical cycles of one turn."""
        return self.steps_per_turn / self.cycle

    @property
    def step_angle(self) -> float:
        """Radians of the shaft."""
        return 2.0 * math.pi / self.steps_per_turn

    @property
    def angles(self) -> Array:
        """Electrical angle [P] to which each phase pulls, radians. Windings in bipolar drive stand
        half a cycle over their number apart when even, a whole cycle when odd."""
        even = self.bipolar and self.phases % 2 == 0
        whole = math.pi if even else 2.0 * math.pi
        return np.arange(self.phases, dtype=np.float64) * (whole / self.phases)

    def pull(self, currents: Array) -> tuple[Array, Array]:
        """Where currents [P, ...] pull to, in steps from phase 0 within a cycle, and how hard, as
        a share of one phase's holding torque: [...] each. Detent not counted."""
        share = np.asarray(currents, float) / self.rated
        weight = share if self.magnets else share * np.abs(share)
        sums = np.tensordot(np.exp(1j * self.angles), weight, axes=(0, 0))
        return np.angle(sums) % (2.0 * np.pi) * self.cycle / (2.0 * np.pi), np.abs(sums)

    def stiffness(self, pull: float = 1.0) -> float:
        """N m a radian at rest, under ``pull`` times one phase's torque: teeth times holding."""
        return self.teeth * self.holding * pull

    def hertz(self, pull: float = 1.0) -> float:
        """Natural frequency of small swings: sqrt(stiffness / inertia) / 2 pi."""
        return math.sqrt(self.stiffness(pull) / self.inertia) / (2.0 * math.pi)

    def sag(self, torque: float, pull: float = 1.0) -> float:
        """Steps that a steady torque in N m pushes it off: asin(T / holding) / teeth (Acarnley,
        from memory). Raises :class:`MotionError` when that is more than it holds."""
        share = torque / (self.holding * pull)
        if abs(share) >= 1.0:
            raise MotionError(f"{torque:g} N m is more than the {self.holding * pull:g} it holds")
        return math.asin(share) / self.teeth / self.step_angle
