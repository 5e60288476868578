"""How logic chips fail.

Shares: MIL-HDBK-338B table 7.2-1, times :data:`HANDBOOK`; the rest for ways that the table does
not list but service notes name (inputs shorted to ground or leaky, weak outputs, supply and ground
leads, a chip that shorts the supply, steering circuits, a bit inside), in proportions assumed here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from halfsplit.parts._base import OPEN, changed
from halfsplit.parts._handbook import FRACTIONS, mode_source
from halfsplit.parts._logic_chips import ChipOutput, ChipPin
from halfsplit.parts._logic_elements import Wiring
from halfsplit.parts.joints import lead_open
from halfsplit.parts.kind import Change, Mode

__all__ = ["HANDBOOK", "modes"]

Names = tuple[str, ...]
"""Names of the chip's elements."""
HANDBOOK = 0.9
"""Part of the failures left to the ways that the handbook lists (assumed)."""
ASSUMED: Mapping[str, float] = {
    "input short": 0.019,
    "input leaky": 0.01,
    "weak output": 0.03,
    "stuck bit": 0.01,
    "supply open": 0.015,
    "ground open": 0.005,
    "supply short": 0.01,
    "always enabled": 0.01,
}
_SHORT_INSIDE = 0.2
"""A pin shorted inside through its bond wire and a molten junction, S (assumed)."""
_LEAKY = 1e-3
"""A leak of an input to ground that a pull-up or a weak driver cannot make up for, S (assumed)."""
_SUPPLY_SHORT = 2.0
_WEAK = 0.15
_NO_JUNCTION = 1e-30
_NO_BREAKDOWN = 1e3
_NOTE = "the way is named in service notes on digital chips; share assumed, no source"


def modes(wiring: Wiring) -> tuple[Mode, ...]:
    """Every way of failing that the board can notice; the shares of unconnected pins are left
    out."""
    if not wiring.part.pins:
        return ()
    row = f"Microcircuit digital {'MOS' if wiring.family.mos else 'bipolar'}"
    names = tuple(element.name for element in wiring.elements())
    return (
        *_outputs(wiring, row, names),
        *_inner(wiring),
        *_inputs(wiring, row, names),
        *_whole(wiring, row),
    )


def _share(row: str, mode: str) -> float:
    return HANDBOOK * FRACTIONS[row][mode] / sum(FRACTIONS[row].values())


def _outputs(wiring: Wiring, row: str, names: Names) -> Iterator[Mode]:
    outputs = [(output, wiring.chip.pin(output.name)) for output in wiring.outputs()]
    count = max(len(outputs), 1)
    for output, pin in outputs:
        at = _at(pin)
        yield _mode(pin, "stuck high", f"stuck high at {at}" + _released(output),
                    _stuck(output, pin, 1.0), _share(row, "output stuck high") / count,
                    mode_source(row, "output stuck high", split=count > 1))  # fmt: skip
        yield _mode(pin, "stuck low", f"stuck low at {at}", _stuck(output, pin, 0.0),
                    _share(row, "output stuck low") / count,
                    mode_source(row, "output stuck low", split=count > 1))  # fmt: skip
        yield _mode(pin, "open", f"open inside at {at}", _open(wiring, names, pin),
                    _open_share(wiring, row, pin, count),
                    mode_source(row, "output open", split=count > 1))  # fmt: skip
        sides = (("low", "kl"), ("high", "kh")) if output.pulls_up else (("low", "kl"),)
        weakness = ASSUMED["weak output"] - (ASSUMED["stuck bit"] if _bits(wiring) else 0.0)
        share = weakness / count / len(sides)
        for side, param in sides:
            weak = changed(f"out{pin.number}", **{param: _WEAK})
            words = f"too weak to pull {at} {side}"
            yield _mode(pin, f"weak {side}", words, weak, share, _NOTE, test_out=0.3)


def _bits(wiring: Wiring) -> list[ChipOutput]:
    """Stored bits inside: a count or a register goes wrong though every pin works."""
    return [core for core in wiring.cores() if core.clocked]


def _inner(wiring: Wiring) -> Iterator[Mode]:
    bits = _bits(wiring)
    for bit in bits:
        for level, word in ((1.0, "high"), (0.0, "low")):
            yield Mode(
                name=f"bit {bit.name} stuck {word}",
                words=f"stuck {word} inside at its bit {bit.name}",
                share=ASSUMED["stuck bit"] / len(bits) / 2,
                changes=changed(wiring.element_of(bit), a0=level, a1=0.0),
                source=_NOTE,
                test_out=0.9,
            )


def _inputs(wiring: Wiring, row: str, names: Names) -> Iterator[Mode]:
    pins = [pin for pin in wiring.inputs() if pin.number in wiring.part.pins]
    count = max(len(pins), 1)
    share = _share(row, "input open") / count
    source = mode_source(row, "input open", split=count > 1)
    driven = {output.name for output in wiring.outputs()}
    for pin in pins:
        if pin.name not in driven:
            if wiring.family.mos:
                for level, word in ((1.0, "high"), (0.0, "low")):
                    yield _mode(pin, f"open, read {word}",
                                f"open inside at {_at(pin)} and takes it for {word}",
                                _open(wiring, names, pin, level), share / 2, source)  # fmt: skip
            else:
                yield _mode(pin, "open", f"open inside at {_at(pin)}, which it takes for high",
                            _open(wiring, names, pin), share, source)  # fmt: skip
        yield _mode(pin, "shorted to ground", f"shorted to ground inside at {_at(pin)}",
                    changed(f"clamp{pin.number}", gp=_SHORT_INSIDE),
                    ASSUMED["input short"] / count, _NOTE)  # fmt: skip
        yield _mode(pin, "leaky", f"leaking to ground inside at {_at(pin)}",
                    changed(f"clamp{pin.number}", gp=_LEAKY),
                    ASSUMED["input leaky"] / count, _NOTE, test_out=0.6)  # fmt: skip


def _whole(wiring: Wiring, row: str) -> Iterator[Mode]:
    listed = "supply open" in FRACTIONS[row]
    for role in ("supply", "ground"):
        pin, name = wiring.chip.power(role).number, f"{role} open"
        if pin not in wiring.part.pins:
            continue
        in_row = role == "supply" and listed
        yield Mode(
            name=name,
            words=f"open inside at its {role} lead",
            share=_share(row, name) if in_row else ASSUMED[name],
            changes=lead_open(pin),
            source=mode_source(row, name) if in_row else _NOTE,
        )
    yield Mode(
        name="supply short",
        words="shorted inside between supply and ground",
        share=ASSUMED["supply short"],
        changes=changed("vcc", g=_SUPPLY_SHORT),
        source=_NOTE,
    )
    groups: dict[str, list[ChipPin]] = {}
    for output in wiring.outputs():
        if output.enable:
            groups.setdefault(output.enable, []).append(wiring.chip.pin(output.name))
    for pins in groups.values():
        numbers = ", ".join(pin.number for pin in pins)
        yield Mode(
            name=f"{numbers} always enabled",
            words=f"always enabled at {'pin' if len(pins) == 1 else 'pins'} {numbers}",
            share=ASSUMED["always enabled"] / len(groups),
            changes=_all(changed(f"out{pin.number}", e0=1.0, e1=0.0) for pin in pins),
            source=_NOTE,
        )


def _mode(
    pin: ChipPin, what: str, words: str, changes: tuple[Change, ...], share: float, source: str,
    test_out: float = 0.9,
) -> Mode:  # fmt: skip
    return Mode(
        name=f"{pin.number} {what}", words=words, share=share, changes=changes, source=source,
        pin=pin.number, test_out=test_out,
    )  # fmt: skip


def _at(pin: ChipPin) -> str:
    return f"pin {pin.number} ({pin.name})"


def _released(output: ChipOutput) -> str:
    return "" if output.pulls_up else " (never pulls low)"


def _stuck(output: ChipOutput, pin: ChipPin, level: float) -> tuple[Change, ...]:
    enabled = {"e0": 1.0, "e1": 0.0} if output.enable else {}
    return changed(f"out{pin.number}", a0=level, a1=0.0, **enabled)


def _open_share(wiring: Wiring, row: str, pin: ChipPin, outputs: int) -> float:
    """Share of a bond that is open; a pin that is input and output has both shares."""
    share = _share(row, "output open") / outputs
    if pin.role == "io":
        share += _share(row, "input open") / sum(
            each.number in wiring.part.pins for each in wiring.inputs()
        )
    return share


def _open(wiring: Wiring, names: Names, pin: ChipPin, read: float = 1.0) -> tuple[Change, ...]:
    """The bond wire is open: the pin loses its diodes, loads and drive; the gates behind see
    ``read``."""
    found: list[Change] = []
    if f"out{pin.number}" in names:
        found += changed(f"out{pin.number}", kl=0.0, kh=0.0, leak=OPEN)
    if f"in{pin.number}" in names:
        found += changed(f"in{pin.number}", k=0.0, g=OPEN)
    for junction in (f"clamp{pin.number}", f"top{pin.number}"):
        if junction in names:
            found += changed(junction, is_=_NO_JUNCTION, gp=OPEN, bv=_NO_BREAKDOWN)
    for behind, k in wiring.looking_at(pin):
        found += changed(behind, **{f"o{k}": read, f"w{k}": 0.0})
    return tuple(found)


def _all(parts: Iterable[tuple[Change, ...]]) -> tuple[Change, ...]:
    return tuple(change for changes in parts for change in changes)
