"""A board with a hidden fault as a circuit for the independent simulator."""

from __future__ import annotations

from halfsplit import units
from halfsplit.board.model import Board, Drive, Part, State, Step
from halfsplit.build.fault import Fault
from halfsplit.errors import TrialError, UnitError
from halfsplit.frozen import dataclass
from halfsplit.parts.logic import LogicChip
from halfsplit.parts.registry import KINDS
from halfsplit.trial import (
    spice_amplifier,
    spice_analog,
    spice_array,
    spice_driver,
    spice_junction,
    spice_line,
    spice_passive,
    spice_relay,
    spice_source,
)
from halfsplit.trial.sheet import OFF, Sheet, Wrong
from halfsplit.trial.spice_chip import Bit, render_chip
from halfsplit.trial.spice_source import Driver, Drivers
from halfsplit.trial.spice_timer import STORING

__all__ = ["Netlist", "played_kinds", "write_netlist"]

_PLAIN = {
    **spice_passive.RENDERERS,
    **spice_junction.RENDERERS,
    **spice_driver.RENDERERS,
    **spice_analog.RENDERERS,
    **spice_amplifier.RENDERERS,
    **spice_array.RENDERERS,
    **spice_line.RENDERERS,
    **spice_relay.RENDERERS,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Netlist:
    """The circuit, what may be altered in it, and where its nets and pins are.

    ``sheet`` answers for nodes and gives the text; ``bits`` are the stored bits; ``drivers`` the
    pins that a state drives, by net.
    """

    sheet: Sheet
    bits: tuple[Bit, ...]
    drivers: dict[str, list[Driver]]
    extra: dict[tuple[str, str], dict[str, float]]
    """(part, word of a state) -> knobs, for parts that a state sets."""

    def settings(self, state: State, step: Step) -> dict[str, float]:
        """Every knob with its value in one step of a state. Raises :class:`TrialError`."""
        knobs = dict(self.sheet.knobs)
        if not state.powered:
            knobs |= self.unplugged()
        for drive in step.drives:
            knobs |= self._drive(drive)
        return knobs

    def unplugged(self) -> dict[str, float]:
        """Knobs of all supplies taken away."""
        plugs = [spice_source.rail_knobs(k)[1] for k in range(len(self.sheet.board.rails))]
        return {name: OFF for name in (*plugs, spice_source.WORLD) if name in self.sheet.knobs}

    def taken_out(self, designator: str) -> dict[str, float]:
        """Knobs of a plug that is pulled, or of a part out of its socket; none for others."""
        part = self.sheet.board.part(designator)
        return {} if part is None else self._plug(part, out=True)

    def _plug(self, part: Part, *, out: bool) -> dict[str, float]:
        names = (self.sheet.name("r", part, f"plug{pin}") for pin in part.pins)
        return {name: OFF if out else 0.005 for name in names if name in self.sheet.knobs}

    def _drive(self, drive: Drive) -> dict[str, float]:
        board = self.sheet.board
        if drive.target == "rails":
            return self.unplugged() if drive.value == "off" else {}
        for k, rail in enumerate(board.rails):
            if rail.net == drive.target:
                return self._rail(k, drive.value)
        part = board.part(drive.target)
        if part is not None:
            return self._part(part, drive.value)
        drivers = self.drivers.get(drive.target)
        if not drivers:
            raise TrialError(
                f"state sets net {drive.target} to {drive.value}, and nothing on it can drive it: "
                "expected a controller output or an offsheet drive there"
            )
        level = {"low": 0.0, "high": 1.0}.get(drive.value)
        known = drive.value in ("low", "high", "open")
        found: dict[str, float] = {}
        for driver in drivers:
            found |= driver.settings(level, None if known else _volts(drive))
        return found

    def _rail(self, index: int, value: str) -> dict[str, float]:
        source, plug = spice_source.rail_knobs(index)
        if value == "off":
            return {plug: 1000.0, source: 0.0}
        if value == "on":
            return {}
        return {source: units.parse(value, "V")}

    def _part(self, part: Part, value: str) -> dict[str, float]:
        if part.kind == "switch":
            return {self.sheet.name("r", part, "contact"): 0.05 if value == "closed" else OFF}
        if value in ("out", "in"):
            return self._plug(part, out=value == "out")
        knobs = self.extra.get((part.designator, value))
        if knobs is None:
            raise TrialError(
                f"the independent simulator cannot set {part.designator} ({part.kind}) to {value!r}"
            )
        return knobs


def write_netlist(board: Board, fault: Fault, seed: int, also: tuple[Fault, ...] = ()) -> Netlist:
    """The circuit of a board with a fault, and ``also`` others in other parts; tolerances are drawn
    from the seed, part by part.

    Raises :class:`TrialError` for a kind or a way of failing that has no model here.
    """
    sheet = Sheet(board=board, fault=fault, seed=seed, also=also)
    drivers, bits = Drivers(), list[Bit]()
    extra: dict[tuple[str, str], dict[str, float]] = {}
    for k, rail in enumerate(board.rails):
        spice_source.write_rail(sheet, rail, k)
    for part in board.parts:
        wrong = sheet.wrong(part)
        with sheet.drawing(part.designator):
            bits += _write_part(sheet, part, wrong, drivers, extra)
        if not wrong.understood:
            raise TrialError(
                f"expected a way of failing that the independent simulator can play, got "
                f"{wrong.mode!r} of {part.designator} ({part.kind}): add it to halfsplit.trial"
            )
    for k, leaving in enumerate(board.offsheet):
        spice_source.write_offsheet(sheet, leaving, k, drivers)
    return Netlist(sheet=sheet, bits=tuple(bits), drivers=drivers.by_net, extra=extra)


def played_kinds() -> frozenset[str]:
    """Kinds of part that have a model here, the logic chips left out (they all have)."""
    return frozenset({*_PLAIN, *spice_source.RENDERERS, *spice_analog.SETTABLE, *STORING})


def _write_part(
    sheet: Sheet, part: Part, wrong: Wrong, drivers: Drivers,
    extra: dict[tuple[str, str], dict[str, float]],
) -> list[Bit]:  # fmt: skip
    if part.kind in _PLAIN:
        _PLAIN[part.kind](sheet, part, wrong)
        return []
    if part.kind in STORING:
        return STORING[part.kind](sheet, part, wrong)
    if part.kind in spice_source.RENDERERS:
        spice_source.RENDERERS[part.kind](sheet, part, wrong, drivers)
        return []
    if part.kind in spice_analog.SETTABLE:
        for word, knobs in spice_analog.SETTABLE[part.kind](sheet, part, wrong).items():
            extra[part.designator, word] = knobs
        return []
    kind = KINDS.get(part.kind)
    if isinstance(kind, LogicChip):
        return render_chip(sheet, part, kind, wrong)
    raise TrialError(
        f"expected a kind of part that the independent simulator can play, got "
        f"{part.kind!r} ({part.designator}): add it to halfsplit.trial"
    )


def _volts(drive: Drive) -> float:
    try:
        return units.parse(drive.value, "V")
    except UnitError as error:
        raise TrialError(
            f"expected low, high, open or a voltage for {drive.target}, got {drive.value!r}"
        ) from error
