"""What every kind of part owes to the rest of the program, for parts drawn by Hypothesis."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.parts.circuit import elements_of, evaluate
from tests.parts.strategies import ANALOG, DIFFERENT, parts

from halfsplit.board.model import Part, Spot
from halfsplit.errors import BoardError
from halfsplit.parts.joints import lead_of
from halfsplit.parts.kind import Change, PartKind
from halfsplit.parts.reference import sample
from halfsplit.parts.registry import KINDS
from halfsplit.solve.law import TROUBLE, Element
from halfsplit.solve.laws.amplifier import Amplifier
from halfsplit.solve.laws.analog import Comparator, PhotoTransistor, Regulator
from halfsplit.solve.laws.linear import Source
from halfsplit.solve.laws.logic import LogicOutput, TtlInput
from halfsplit.solve.laws.stage import StageDrive, StageTrouble

AGEING = {"", "electrolytic", "tantalum", "contact"}
SOURCES = (
    Amplifier,
    Comparator,
    LogicOutput,
    PhotoTransistor,
    Regulator,
    Source,
    StageDrive,
    StageTrouble,
    TtlInput,
)
"""Laws that give what a supply, a light or the rest of the world puts in."""
PASSIVE = tuple(
    kind
    for kind in DIFFERENT
    if not any(isinstance(element.law, SOURCES) for element in kind.elements(sample(kind)))
)

by_name = pytest.mark.parametrize("kind", DIFFERENT, ids=lambda kind: kind.name)


def check_elements(kind: PartKind, part: Part) -> dict[str, Element]:
    elements = {element.name: element for element in kind.elements(part)}
    assert len(elements) == len(kind.elements(part)), "an element's name is taken twice"
    for element in elements.values():
        assert len(element.terminals) == element.law.terminals
        for terminal in element.terminals:
            pin = terminal.removeprefix(TROUBLE)
            assert terminal == "0" or pin in part.pins or terminal.startswith("~")
        assert set(element.params) == set(element.law.parameters)
        assert all(math.isfinite(value) for value in element.params.values())
        assert set(element.spread) <= set(element.params)
    return elements


def check_changes(elements: dict[str, Element], changes: tuple[Change, ...]) -> None:
    for change in changes:
        assert change.element in elements
        assert change.param in elements[change.element].params
        assert math.isfinite(change.value)


def check_modes(kind: PartKind, part: Part) -> None:
    elements, modes = check_elements(kind, part), kind.modes(part)
    names = [mode.name for mode in modes]
    assert len(set(names)) == len(names)
    for mode in modes:
        assert mode.share > 0.0
        assert mode.changes, f"{mode.name} changes nothing"
        assert mode.source
        assert mode.words
        assert 0.0 <= mode.test_out <= 1.0
        assert mode.ageing in AGEING
        assert not mode.pin or mode.pin in part.pins
        leads = [lead_of(change) for change in mode.changes]
        assert {lead for lead in leads if lead} <= part.pins.keys()
        check_changes(elements, tuple(c for c in mode.changes if not lead_of(c)))
    assert sum(mode.share for mode in modes) <= 1.0 + 1e-9
    for setting in kind.settings(part):
        assert setting.word in kind.word.settings
        check_changes(elements, tuple(setting.changes))
    reading = kind.current(part)
    assert reading is None or reading.element in elements
    for pin in part.pins:
        for level in (None, 0.0, 1.0):
            check_changes(elements, tuple(kind.drive(part, pin, level)))


@by_name
@settings(max_examples=30)
@given(data=st.data())
def test_elements_modes_and_settings_fit_together(kind: PartKind, data: st.DataObject) -> None:
    part = data.draw(parts(kind))
    check_modes(kind, part)
    rate = kind.rate(part)
    assert rate.per_million_hours > 0.0
    assert rate.source
    assert all(limit.source and limit.value > 0.0 for limit in kind.ratings(part))


@pytest.mark.parametrize("name", sorted(KINDS.all()))
def test_a_fully_connected_part_works_and_can_fail(name: str) -> None:
    kind = KINDS.get(name)
    part = sample(kind)
    assert check_elements(kind, part)
    assert kind.modes(part)
    check_modes(kind, part)


def test_every_setting_of_the_grammar_does_something() -> None:
    for kind in ANALOG:
        words = [setting.word for setting in kind.settings(sample(kind))]
        assert words == list(kind.word.settings), kind.name


@by_name
@settings(max_examples=15)
@given(data=st.data())
def test_slopes_are_the_derivatives_of_the_currents(kind: PartKind, data: st.DataObject) -> None:
    part = data.draw(parts(kind))
    modes = [(), *(mode.changes for mode in kind.modes(part))]
    changes = data.draw(st.sampled_from(modes))
    for element in elements_of(part, changes):
        if isinstance(element.law, Amplifier):  # at its own gain no step is small enough
            element = replace(element, params={**element.params, "steep": 1.0})
        size = element.law.terminals
        volts = np.array(data.draw(st.lists(st.floats(-3.0, 3.0), min_size=size, max_size=size)))
        i, g = evaluate(element, volts)
        numeric, step = np.empty((size, size)), 1e-6
        for column in range(size):
            shift = np.zeros(size)
            shift[column] = step
            numeric[:, column] = (
                evaluate(element, volts + shift)[0] - evaluate(element, volts - shift)[0]
            ) / (2.0 * step)
        scale = max(float(np.abs(g).max()), float(np.abs(i).max()), 1e-9)
        noise = 1e-14 / step  # rounding of currents of some tens of ampere
        assert np.allclose(g, numeric, atol=2e-6 * scale + noise, rtol=0.0), element.name
        assert abs(i.sum()) <= 1e-12 * max(1.0, float(np.abs(i).max()))
        assert np.abs(g.sum(axis=0)).max() <= 1e-9 * scale
        assert np.abs(g.sum(axis=1)).max() <= 1e-9 * scale


@pytest.mark.parametrize("kind", PASSIVE, ids=lambda kind: kind.name)
@settings(max_examples=20)
@given(data=st.data())
def test_a_passive_part_makes_no_power(kind: PartKind, data: st.DataObject) -> None:
    part = data.draw(parts(kind))
    modes = [(), *(mode.changes for mode in kind.modes(part))]
    for element in elements_of(part, data.draw(st.sampled_from(modes))):
        size = element.law.terminals
        volts = np.array(data.draw(st.lists(st.floats(-25.0, 25.0), min_size=size, max_size=size)))
        i, _ = evaluate(element, volts)
        largest = float(np.abs(i * volts).max())
        assert float(i @ volts) >= -1e-9 - 1e-12 * largest, element.name


def test_what_only_loads_and_switches_is_among_the_passive() -> None:
    names = {kind.name for kind in PASSIVE}
    assert {"resistor", "capacitor", "coil", "relay", "scr", "bridge", "connector",
            "cable", "crystal", "npn", "ULN2001A", "CA3045"} <= names  # fmt: skip
    assert not names & {"regulator", "op-amp", "555", "controller", "hall-switch", "2716"}


@pytest.mark.parametrize("name", ["resistor", "diode", "npn", "nmos"])
def test_a_field_that_makes_no_sense_is_refused_with_its_place(name: str) -> None:
    kind = KINDS.get(name)
    field = next(word for word in kind.word.fields if word.unit not in ("", "1"))
    for typed in ("-3", "nonsense"):
        part = replace(sample(kind), fields={field.name: typed}, spot=Spot(line=7, column=3))
        with pytest.raises(BoardError, match=f"7:3.*{field.name}"):
            (kind.elements(part), kind.ratings(part))


def test_a_controller_without_a_supply_is_refused() -> None:
    kind = KINDS.get("controller")
    whole = sample(kind)
    with pytest.raises(BoardError, match="role supply"):
        kind.elements(replace(whole, roles={"4": "out"}))
