"""Every fault of a board, how likely it is, and which repair would put it right.

Rates come from the handbooks by way of each kind of part; interconnect and some capacitors are
multiplied by an age factor that is a stated assumption (:mod:`halfsplit.parts.ageing`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import chain

import numpy as np
import numpy.typing as npt

from halfsplit.board.model import BLOCK, Part
from halfsplit.build.assemble import BOARD, Assembly
from halfsplit.build.fault import ELSE, HEALTHY, Fault, PinRef, Suspect
from halfsplit.build.mechanics import mechanical_faults
from halfsplit.build.parameters import overlay
from halfsplit.build.settings import OFF
from halfsplit.build.severity import GRADES, graded, versions
from halfsplit.frozen import dataclass
from halfsplit.parts.ageing import Ageing
from halfsplit.parts.joints import WITH_HAIRLINE, joint_modes, package_pins
from halfsplit.parts.kind import Change, Mode
from halfsplit.parts.socket import contact_modes
from halfsplit.solve.law import Array

__all__ = ["ELSE_SHARE", "FaultList", "list_faults"]

Nets = Mapping[str, Sequence[tuple[str, str]]]

ELSE_SHARE = 0.03
"""Prior share of "something else": what no list holds (common practice, no source)."""
_ELSE_OF_BLOCKS = 0.005
"""The same on a board of blocks alone, which hold whatever may be wrong inside them (judgement)."""

_RAIL_MISSING, _RAIL_LOW = 0.1, 0.1
"""Rate of a supply that is missing or low as seen by this board, per million hours: assumed, of
the order of a regulator with its reservoirs and connector (all off this board)."""
_BREAK, _HAIRLINE = (0.25, 0.2), (0.1, 0.6)
"""Of a broken and of a cracked track: chance that a good look shows it, and that flexing the board
changes it (judgement)."""
_BLOCK_MINUTES = 10.0
"""To type what is inside a block, assumed."""
_RAIL_SAG = 0.6
"""A low rail is at this share of its volts, assumed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultList:
    """Faults (row 0 healthy), suspects (last "something else"), whose is whose, and priors.

    ``suspect_of`` [F], -1 for healthy; ``prior`` [F + 1], 0 for healthy, last something else.
    """

    faults: tuple[Fault, ...]
    suspects: tuple[Suspect, ...]
    suspect_of: npt.NDArray[np.int64]
    prior: Array


def list_faults(assembly: Assembly, *, years: float) -> FaultList:
    """All faults of all parts, joints, contacts, tracks, neighbours and rails."""
    ageing = Ageing(years=years)
    faults = [
        Fault(
            id=HEALTHY,
            suspect="",
            where="none",
            mode="healthy",
            words="nothing wrong",
            rate=0.0,
            source="",
        )
    ]
    suspects: dict[str, Suspect] = {}
    nets = assembly.board.nets()
    parts = (_of_part(assembly, part, ageing, nets) for part in assembly.board.parts)
    for fault, suspect in chain(*parts, _of_rails(assembly), mechanical_faults(assembly)):
        faults += _in_degrees(assembly, fault)
        suspects.setdefault(suspect.id, suspect)
    suspects[ELSE] = Suspect(
        id=ELSE, repair="look further: none of the listed faults", minutes=120.0
    )
    order = {name: k for k, name in enumerate(suspects)}
    rates = np.asarray([fault.rate for fault in faults])
    total = float(rates.sum()) or 1.0
    boxed = {part.designator for part in assembly.board.parts if part.kind == BLOCK}
    in_blocks = sum(fault.rate for fault in faults if fault.designator in boxed) / total
    unlisted = ELSE_SHARE + (_ELSE_OF_BLOCKS - ELSE_SHARE) * in_blocks
    return FaultList(
        faults=tuple(faults),
        suspects=tuple(suspects.values()),
        suspect_of=np.asarray([order.get(fault.suspect, -1) for fault in faults], dtype=np.int64),
        prior=np.append(rates / total * (1.0 - unlisted), unlisted),
    )


def _in_degrees(assembly: Assembly, fault: Fault) -> list[Fault]:
    """The fault, with a slight and a severe version where it comes in degrees."""
    circuit = assembly.circuit
    what = overlay(circuit, fault.changes)
    if not graded(fault.mode) or versions(circuit, what) is None:
        return [fault]
    found = []
    for word, sigmas, share in GRADES:
        one = replace(fault, rate=fault.rate * share, grades=len(GRADES))
        if word:
            moved = versions(circuit, what, sigmas)
            assert moved is not None
            one = replace(
                one,
                id=f"{fault.id}, {word}",
                words=f"{fault.words}, {word}",
                changes=tuple(
                    (owner, replace(change, value=to[3]))
                    for (owner, change), to in zip(fault.changes, moved[1], strict=True)
                ),
                version_of=fault.id,
            )
        found.append(one)
    return found


def _of_part(
    assembly: Assembly, part: Part, ageing: Ageing, nets: Nets
) -> Iterable[tuple[Fault, Suspect]]:
    kind = assembly.kinds[part.designator]
    rate = kind.rate(part)
    replace = Suspect(
        id=part.designator,
        repair=_replacement(part),
        designator=part.designator,
        minutes=_minutes(part),
        price=part.remarks.price or (0.0 if part.remarks.spare else 1.0),
    )
    seen: dict[str, int] = {}
    for mode in kind.modes(part):
        seen[mode.name] = seen.get(mode.name, 0) + 1
        yield (
            Fault(
                id=f"{part.designator} {mode.name}",
                suspect=part.designator,
                where="part",
                mode=mode.name,
                words=f"{part.designator} {mode.words}",
                rate=ageing.rate(mode, rate.per_million_hours),
                source=f"{mode.source}; {rate.source}",
                designator=part.designator,
                pins=(PinRef(designator=part.designator, pin=mode.pin),) if mode.pin else (),
                changes=_owned(part.designator, mode.changes),
                stored=_owned(part.designator, mode.stored),
                test_out=mode.test_out,
                visible=0.15 if mode.name == "short" else 0.03,
                touch=0.5 if "contact" in mode.name else 0.02,
                reseat=0.7 if "contact" in mode.name else 0.0,
            ),
            replace,
        )
    yield from _of_pins(assembly, part, ageing, nets)


def _of_pins(
    assembly: Assembly, part: Part, ageing: Ageing, nets: Nets
) -> Iterable[tuple[Fault, Suspect]]:
    if part.kind == BLOCK:  # what joins blocks is inside one of them
        return
    kind = assembly.kinds[part.designator]
    package = package_pins(kind.word, part)
    joints = joint_modes(part, package)
    for mode in joints.modes:
        rate = ageing.rate(mode, joints.rate.per_million_hours)
        source = f"{mode.source}; {joints.rate.source}"
        if mode.name.endswith("bridged"):
            yield _bridge(part, mode, rate, source)
            continue
        ends = nets[part.pins[mode.pin]]
        one_track = len(ends) == 2
        if mode.name.endswith(("track broken", "track resistive")):
            hairline = mode.name.endswith("resistive")
            if one_track and ends[0] != (part.designator, mode.pin):
                continue  # it is the other pin's
            if hairline and not one_track:
                continue  # held to be a poor joint
            rate *= 2.0 if one_track else 1.0
            visible, touch = _HAIRLINE if hairline else _BREAK
            yield _at_pin(part, mode, "track", rate, source, visible=visible, touch=touch)
        else:
            if mode.name.endswith("joint resistive") and not one_track:
                rate *= WITH_HAIRLINE
            yield _at_pin(part, mode, "joint", rate, source, visible=0.3, touch=0.7)
    if part.remarks.socketed:
        contacts = contact_modes(part)
        for mode in contacts.modes:
            rate = ageing.rate(mode, contacts.rate.per_million_hours)
            source = f"{mode.source}; {contacts.rate.source}"
            yield _at_pin(part, mode, "contact", rate, source, visible=0.1, touch=0.6)


def _at_pin(
    part: Part, mode: Mode, where: str, rate: float, source: str, *, visible: float, touch: float
) -> tuple[Fault, Suspect]:
    ref = PinRef(designator=part.designator, pin=mode.pin)
    changes = tuple((part.designator, _on_joint(change)) for change in mode.changes)
    repairs = {
        "joint": f"resolder {ref}",
        "track": f"mend the track at {ref} with a wire",
        "contact": f"clean the socket contact of {ref} and reseat {part.designator}",
    }
    minutes = {"joint": 2.0, "track": 6.0, "contact": 3.0}
    assert where in ("joint", "track", "contact")
    return (
        Fault(
            id=f"{ref} {mode.name.removeprefix(mode.pin).strip()}",
            suspect=f"{where} {ref}",
            where=where,  # type: ignore[arg-type]
            mode=mode.name.removeprefix(mode.pin).strip(),
            words=f"{part.designator} {mode.words}",
            rate=rate,
            source=source,
            designator=part.designator,
            pins=(ref,),
            changes=changes,
            visible=visible,
            touch=touch,
            reseat=0.8 if where == "contact" else 0.0,
        ),
        Suspect(id=f"{where} {ref}", repair=repairs[where], designator=part.designator,
                minutes=minutes[where]),
    )  # fmt: skip


def _bridge(part: Part, mode: Mode, rate: float, source: str) -> tuple[Fault, Suspect]:
    first, second = mode.name.removesuffix(" bridged").split("-")
    refs = (
        PinRef(designator=part.designator, pin=first),
        PinRef(designator=part.designator, pin=second),
    )
    name = f"{refs[0]}-{refs[1]}"
    change = Change(element=f"bridge:{name}", param="g", value=mode.changes[0].value)
    return (
        Fault(
            id=f"{name} bridged",
            suspect=f"bridge {name}",
            where="bridge",
            mode="bridged",
            words=f"{part.designator} {mode.words}",
            rate=rate,
            source=source,
            designator=part.designator,
            pins=refs,
            changes=((BOARD, change),),
            visible=0.6,
            touch=0.05,
        ),
        Suspect(
            id=f"bridge {name}",
            repair=f"clear the bridge between {refs[0]} and {refs[1]}",
            designator=part.designator,
            minutes=2.0,
        ),
    )


def _of_rails(assembly: Assembly) -> Iterable[tuple[Fault, Suspect]]:
    for rail in assembly.board.rails:
        element = f"rail:{rail.net}"
        suspect = Suspect(
            id=f"rail {rail.net}",
            repair=f"find out why {rail.net} does not reach this board",
            minutes=20.0,
        )
        settings = (
            ("missing", _RAIL_MISSING, (Change(element=element, param="volts", value=0.0),
                                        Change(element=element, param="g", value=OFF))),
            ("low", _RAIL_LOW,
             (Change(element=element, param="volts", value=_RAIL_SAG, scale=True),)),
        )  # fmt: skip
        for mode, rate, changes in settings:
            yield (
                Fault(
                    id=f"{rail.net} {mode}",
                    suspect=suspect.id,
                    where="rail",
                    mode=mode,
                    words=f"{rail.net} {mode}",
                    rate=rate,
                    source="assumed, of the order of a regulator with its reservoirs",
                    changes=_owned(BOARD, changes),
                    visible=0.02,
                ),
                suspect,
            )


def _owned(owner: str, changes: Sequence[Change]) -> tuple[tuple[str, Change], ...]:
    return tuple((owner, change) for change in changes)


def _on_joint(change: Change) -> Change:
    """A broken track and an open joint cut the same path; they differ in what the pad reads."""
    if change.element.startswith("track:"):
        return Change(
            element="joint:" + change.element.removeprefix("track:"),
            param=change.param,
            value=change.value,
        )
    return change


def _minutes(part: Part) -> float:
    if part.kind == BLOCK:
        return _BLOCK_MINUTES
    return 2.0 if part.remarks.socketed else 8.0 + 0.5 * len(part.pins)


def _replacement(part: Part) -> str:
    if part.kind == BLOCK:
        title = f" ({part.fields['title']})" if part.fields.get("title") else ""
        return f"open {part.designator}{title}: type its parts in its place, or change it whole"
    if part.remarks.irreplaceable:
        return f"{part.designator} cannot be had again: prove it before anything else"
    typed = f" ({part.type or part.kind})" if part.description else f" ({part.kind})"
    return f"replace {part.designator}{typed}"
