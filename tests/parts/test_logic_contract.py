"""What the solver and the fault list may rely on, for every logic chip and any wiring."""

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.parts.logic_bench import one_of_each_row

from halfsplit.board.model import Part
from halfsplit.parts._logic_chips import listed
from halfsplit.parts.joints import lead_of
from halfsplit.parts.logic import KINDS, LogicChip
from halfsplit.solve.kernel_layout import _tapes
from halfsplit.solve.laws.logic import LogicOutput, TtlInput


def wired(kind: LogicChip, pins: list[str] | None = None) -> Part:
    chosen = [pin.name for pin in kind.word.pins] if pins is None else pins
    return Part(designator="U1", kind=kind.name, pins={pin: f"N{pin}" for pin in chosen})


def check(kind: LogicChip, part: Part) -> None:
    elements = {element.name: element for element in kind.elements(part)}
    assert len(elements) == len(kind.elements(part))
    for element in elements.values():
        assert set(element.params) == set(element.law.parameters)
        assert len(element.terminals) == element.law.terminals
        for terminal in element.terminals:
            assert terminal in part.pins or terminal.startswith("~")
        assert set(element.spread) <= set(element.params)
    modes = kind.modes(part)
    assert len({mode.name for mode in modes}) == len(modes)
    assert sum(mode.share for mode in modes) <= 1.0
    for mode in modes:
        assert mode.share > 0.0
        assert mode.changes
        assert mode.source
        assert not mode.pin or mode.pin in part.pins
        touched = [(change.element, change.param) for change in mode.changes]
        assert len(touched) == len(set(touched))
        for change in mode.changes:
            if lead_of(change):
                assert lead_of(change) in part.pins
            else:
                assert change.param in elements[change.element].params


@pytest.mark.parametrize("key", listed())
def test_whole_chip_in_every_family(key: str) -> None:
    for kind in (kind for kind in KINDS if kind.key == key):
        check(kind, wired(kind))
        assert sum(mode.share for mode in kind.modes(wired(kind))) > 0.95


@given(data=st.data())
def test_any_wiring(data: st.DataObject) -> None:
    kind = data.draw(st.sampled_from(KINDS))
    names = [pin.name for pin in kind.word.pins]
    pins = data.draw(st.lists(st.sampled_from(names), unique=True))
    check(kind, wired(kind, pins))


def chip(name: str) -> LogicChip:
    return next(kind for kind in KINDS if kind.name == name)


def test_nothing_connected_is_nothing() -> None:
    empty = Part(designator="U1", kind="7400")
    assert chip("7400").elements(empty) == ()
    assert chip("7400").modes(empty) == ()


def test_unit_without_output_still_loads_its_nets() -> None:
    part = wired(chip("74LS00"), ["1", "7", "14"])
    names = {element.name for element in chip("74LS00").elements(part)}
    assert names == {"icc", "vcc", "in1", "clamp1"}


def test_open_input_of_a_used_unit_has_a_node_of_its_own() -> None:
    part = wired(chip("74LS00"), ["1", "3", "7", "14"])
    elements = {element.name: element for element in chip("74LS00").elements(part)}
    assert elements["out3"].terminals == ("3", "14", "7", "1", "~2")
    assert isinstance(elements["in2"].law, TtlInput)
    assert elements["in2"].terminals == ("~2", "14", "7")


def test_like_gates_share_a_law_so_that_the_solver_can_group_them() -> None:
    laws = Counter(
        element.law
        for name in ("7400", "74LS00", "74LS37", "7426")
        for element in chip(name).elements(wired(chip(name)))
        if isinstance(element.law, LogicOutput)
    )
    assert sorted(laws.values()) == [4, 4, 8]  # open collector, totem pole, Darlington


OPEN_COLLECTOR = frozenset({
    "01", "03", "05", "06", "07", "09", "12", "15", "16", "17", "22", "26", "33", "38", "45",
    "46", "47", "49", "65", "136", "145", "156", "159", "170", "247", "266", "289", "641",
    "642",
})  # fmt: skip
"""Numbers whose data sheets say open-collector outputs, from memory."""


def test_open_collector_never_pulls_up() -> None:
    for kind in KINDS:
        highs = {
            element.law.high
            for element in kind.elements(wired(kind))
            if isinstance(element.law, LogicOutput) and element.name.startswith("out")
        }
        mixed = {"48", "181", "248"}  # A=B and the blanking pin only
        if kind.chip.number not in mixed:
            assert (highs == {"none"}) == (kind.chip.number in OPEN_COLLECTOR), kind.name
        else:
            assert len(highs) == 2


def test_kernel_has_room_for_every_chip() -> None:
    for kind in one_of_each_row():
        for element in kind.elements(wired(kind)):
            assert _tapes(element.law) is not None, (kind.name, element.name)


def test_shares_of_a_gate_follow_the_handbook() -> None:
    """MIL-HDBK-338B table 7.2-1, digital bipolar: stuck high 28 %, stuck low 28 %, input open
    22 %, output open 22 %; the same proportions stay among the ways that the table lists."""
    shares: dict[str, float] = {}
    for mode in chip("74LS00").modes(wired(chip("74LS00"))):
        what = mode.name.partition(" ")[2]
        is_input = mode.pin in {"1", "2", "4", "5", "9", "10", "12", "13"}
        if mode.pin and what in ("stuck high", "stuck low", "open"):
            row = "input open" if is_input else what
            shares[row] = shares.get(row, 0.0) + mode.share
    total = sum(shares.values())
    got = {what: share / total for what, share in shares.items()}
    want = {"stuck high": 0.28, "stuck low": 0.28, "open": 0.22, "input open": 0.22}
    assert got == pytest.approx(want)


def test_stuck_three_state_output_fights_the_bus() -> None:
    mode = next(
        m for m in chip("74LS244").modes(wired(chip("74LS244"))) if m.name == "18 stuck low"
    )
    changes = {(change.element, change.param): change.value for change in mode.changes}
    assert changes == {
        ("out18", "a0"): 0.0, ("out18", "a1"): 0.0, ("out18", "e0"): 1.0, ("out18", "e1"): 0.0,
    }  # fmt: skip


def test_open_input_is_seen_by_every_output_behind_it() -> None:
    mode = next(m for m in chip("74LS138").modes(wired(chip("74LS138"))) if m.name == "1 open")
    seen = {c.element for c in mode.changes if c.param[0] == "w"}
    assert seen == {f"out{pin}" for pin in (7, 9, 10, 11, 12, 13, 14, 15)}
