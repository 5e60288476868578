"""What drives a board from outside: rails, controllers, and nets that leave the sheet."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import field, replace

from halfsplit.board.model import Board, OffSheet, Part, Rail
from halfsplit.errors import TrialError
from halfsplit.frozen import dataclass
from halfsplit.trial import spice_stages as stages
from halfsplit.trial import typed
from halfsplit.trial.sheet import OFF, Sheet, Wrong

__all__ = ["RENDERERS", "WORLD", "Driver", "Drivers", "rail_knobs", "write_offsheet", "write_rail"]

WORLD = "r_world"
"""Plug of the supply of what is off the sheet, where the board has no rail for logic."""
_OUTPUTS = ("out", "oc", "tri", "io")
_INPUTS = ("in", "io")


@dataclass(frozen=True, slots=True, kw_only=True)
class Driver:
    """Knobs of one pin that a state drives: level and enable (0..1), and a plain voltage behind
    a resistance for levels in between. ``level`` is empty where there is no output stage."""

    level: str
    enable: str
    volts: str
    ohms: str
    through: float = 470.0

    def settings(self, level: float | None, volts: float | None = None) -> dict[str, float]:
        """Knob values that drive low (0), high (1), let go (``None``), or give a voltage."""
        if not self.level:
            told = volts if volts is not None or level is None else 5.0 * level
            return {self.ohms: OFF} if told is None else {self.volts: told, self.ohms: self.through}
        if volts is not None:
            return {self.enable: 0.0, self.volts: volts, self.ohms: self.through}
        if level is None:
            return {self.enable: 0.0, self.ohms: OFF}
        return {self.level: level, self.enable: 1.0, self.ohms: OFF}


@dataclass(slots=True)
class Drivers:
    """Net -> the drivers on it."""

    by_net: dict[str, list[Driver]] = field(default_factory=dict)

    def put(self, net: str, driver: Driver) -> None:
        self.by_net.setdefault(net, []).append(driver)


def write_rail(sheet: Sheet, rail: Rail, index: int) -> None:
    """A supply behind its resistance; the hidden fault may have lost it or lowered it."""
    with sheet.drawing(f"rail {rail.net}"):
        volts = sheet.near(rail.volts, min(rail.tolerance, 0.03) * 0.7)
        low, bleed = float(sheet.rng.uniform(0.5, 0.7)), float(sheet.rng.uniform(300.0, 3e3))
    ohms = max(rail.ohms, 1e-2)
    feed = ohms
    for fault in sheet.faults:
        if fault.where != "rail" or not fault.id.startswith(f"{rail.net} "):
            continue
        if fault.mode == "missing":
            feed = 1e9
        elif fault.mode == "low":
            volts *= low
        else:
            raise TrialError(
                f"expected a rail that is missing or low, got {fault.id!r} (mode {fault.mode!r})"
            )
    source, plug = rail_knobs(index)
    node, socket = f"rail{index}", f"rail{index}s"
    sheet.volts(source, node, "0", volts, knob=True)
    sheet.ohms(f"r_feed{index}", node, socket, feed)
    if feed > ohms:
        sheet.ohms(f"r_bleed{index}", socket, "0", bleed)
    sheet.ohms(plug, socket, sheet.net(rail.net), 0.005, knob=True)


def rail_knobs(index: int) -> tuple[str, str]:
    """Names of a rail's source and of its plug."""
    return f"v_rail{index}", f"r_rail{index}"


def write_offsheet(sheet: Sheet, leaving: OffSheet, index: int, drivers: Drivers) -> None:
    """The rest of the world on one net."""
    part = Part(designator=f"offsheet{index}", kind="offsheet")
    node = sheet.net(leaving.net)
    with sheet.drawing(f"offsheet {leaving.net}"):
        if leaving.what == "unknown":
            drivers.put(leaving.net, _unknown(sheet, part, "x", node))
        elif leaving.what == "load" and leaving.ohms is not None:
            other = sheet.net(leaving.net_to) if leaving.net_to else "0"
            sheet.ohms(sheet.name("r", part, "load"), node, other, sheet.near(leaving.ohms, 0.1))
        else:
            family = stages.family(leaving.family or "74LS")
            chip = stages.Chip(
                part=part, family=family, vcc=_logic_rail(sheet), gnd="0",
                ohms=sheet.near(1.0, 0.15),
            )  # fmt: skip
            if leaving.what == "drive":
                drivers.put(leaving.net, _driven(sheet, chip, "x", node, pulls_up=True))
            else:
                stages.input_stage(sheet, chip, "x", node, loads=float(leaving.count))


def _controller(sheet: Sheet, part: Part, wrong: Wrong, drivers: Drivers) -> None:
    vcc, gnd = _role(sheet, part, "supply"), _role(sheet, part, "ground")
    chip = stages.Chip(
        part=part,
        family=stages.family(typed.text(part, "family", "nmos")),
        vcc=vcc or sheet.inner(part, "nosupply"),
        gnd=gnd or "0",
        ohms=sheet.near(1.0, 0.18),
    )
    if not vcc:
        sheet.ohms(sheet.name("r", part, "nosupply"), chip.vcc, chip.gnd, 1e6)
    taken = 0.03 if chip.family.name == "nmos" else 1e-3
    stages.supply_current(sheet, part, chip.vcc, chip.gnd, taken)
    dead = wrong.is_("dead")
    for pin in part.pins:
        role, node = part.roles.get(pin, ""), sheet.pin(part, pin)
        if role in _INPUTS:
            fate = ""
            if wrong.is_(f"{pin} input open"):
                fate = "open"
            elif wrong.is_(f"{pin} input short"):
                fate = "to ground"
            elif wrong.is_(f"{pin} input leaky"):
                fate = "leaky"
            inside = stages.bond(sheet, chip, f"in{pin}", node, fate)
            stages.input_stage(sheet, chip, f"in{pin}", inside)
        if role in _OUTPUTS:
            fate = "open" if wrong.is_(f"{pin} output open") else ""
            inside = stages.bond(sheet, chip, f"out{pin}", node, fate)
            stuck = None
            if wrong.is_(f"{pin} stuck low", f"{pin} stuck high"):
                stuck = 1.0 if wrong.mode.endswith("high") else 0.0
            drivers.put(
                part.pins[pin],
                _driven(sheet, chip, pin, inside, pulls_up=role != "oc", stuck=stuck, dead=dead),
            )


def _unknown_part(sheet: Sheet, part: Part, wrong: Wrong, drivers: Drivers) -> None:
    for pin in part.pins:
        if pin.endswith("'"):
            continue
        node = sheet.pin(part, pin)
        drivers.put(part.pins[pin], _unknown(sheet, part, pin, node))
        if wrong.is_(f"{pin} short to ground"):
            sheet.ohms(sheet.name("r", part, f"short{pin}"), node, "0", 4.0)


def _driven(
    sheet: Sheet, chip: stages.Chip, key: str, node: str, *, pulls_up: bool,
    stuck: float | None = None, dead: bool = False,
) -> Driver:  # fmt: skip
    """An output stage whose level and enable are knobs, or fixed by a fault."""
    part = chip.part
    driver = _knobs(sheet, part, key, node)
    level, enable = sheet.inner(part, f"lv{key}"), sheet.inner(part, f"en{key}")
    sheet.volts(driver.level, level, "0", 0.0, knob=True)
    sheet.volts(driver.enable, enable, "0", 0.0, knob=True)
    told = (f"v({level})", f"v({enable})")
    if stuck is not None:
        told = (f"{stuck:g}", "1")
    elif dead:
        told = ("0", "0")
    stages.output_stage(sheet, chip, f"o{key}", node, pulls_up=pulls_up, level=told[0],
                        enable=told[1])  # fmt: skip
    return driver


def _unknown(sheet: Sheet, part: Part, key: str, node: str) -> Driver:
    """A load that nobody knows, and a source that is not there until a state drives it."""
    driver = _knobs(sheet, part, key, node)
    sheet.ohms(sheet.name("r", part, f"load{key}"), node, "0", 1e5 * sheet.factor(1.5))
    return replace(driver, level="", enable="", through=1000.0)


def _knobs(sheet: Sheet, part: Part, key: str, node: str) -> Driver:
    driver = Driver(
        level=sheet.name("v", part, f"lv{key}"),
        enable=sheet.name("v", part, f"en{key}"),
        volts=sheet.name("v", part, f"dv{key}"),
        ohms=sheet.name("r", part, f"dr{key}"),
    )
    source = sheet.inner(part, f"dv{key}")
    sheet.volts(driver.volts, source, "0", 0.0, knob=True)
    sheet.ohms(driver.ohms, source, node, OFF, knob=True)
    return driver


def _role(sheet: Sheet, part: Part, role: str) -> str:
    found = (pin for pin in part.pins if part.roles.get(pin) == role)
    pin = next(found, None)
    return sheet.pin(part, pin) if pin is not None else ""


def _logic_rail(sheet: Sheet) -> str:
    board: Board = sheet.board
    found = next((rail.net for rail in board.rails if 4.5 <= rail.volts <= 5.5), None)
    if found is not None:
        return sheet.net(found)
    if WORLD not in sheet.knobs:
        sheet.volts("v_world", "worldp", "0", 5.0)
        sheet.ohms(WORLD, "worldp", "world", 0.05, knob=True)
    return "world"


RENDERERS: Mapping[str, Callable[[Sheet, Part, Wrong, Drivers], None]] = {
    "controller": _controller,
    "unknown": _unknown_part,
}
"""Kind -> how it is written, with the drivers that states turn."""
