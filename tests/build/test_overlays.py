"""Overlays laid over a batch at once, against laying them one by one."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.build.overlays import Overlays
from halfsplit.build.parameters import Overlay, lay, take_columns

SHAPES = ((3, 2), (1, 4))
SETTING = st.integers(0, 1).flatmap(
    lambda group: st.tuples(
        st.just(group),
        st.integers(0, SHAPES[group][0] - 1),
        st.integers(0, SHAPES[group][1] - 1),
        st.floats(-4.0, 4.0),
        st.booleans(),
    )
)
OVERLAYS = st.lists(st.lists(SETTING, max_size=5).map(tuple), min_size=1, max_size=6)


@given(overlays=OVERLAYS, data=st.data())
def test_as_one_by_one_in_the_order_in_which_they_stand(
    overlays: list[Overlay], data: st.DataObject
) -> None:
    drawn = data.draw(st.lists(st.integers(0, len(overlays) - 1), min_size=1, max_size=9))
    cases = np.asarray(drawn, dtype=np.intp)
    rng = np.random.default_rng(7)
    start = [rng.uniform(1.0, 2.0, (*shape, cases.size)) for shape in SHAPES]
    wanted = [p.copy() for p in start]
    for column, case in enumerate(drawn):
        lay(wanted, overlays[case], slice(column, column + 1))
    Overlays(overlays).lay(start, cases)
    for got, want in zip(start, wanted, strict=True):
        np.testing.assert_array_equal(got, want)


def test_no_case_changes_nothing() -> None:
    params = [np.ones((2, 2, 3))]
    Overlays([(), ()]).lay(params, np.zeros(3, dtype=np.intp))
    np.testing.assert_array_equal(params[0], 1.0)


def test_columns_taken_are_copies() -> None:
    params = [np.arange(8.0).reshape(1, 2, 4)]
    (taken,) = take_columns(params, np.asarray([3, 0, 3], dtype=np.intp))
    np.testing.assert_array_equal(taken, params[0][:, :, [3, 0, 3]])
    taken[:] = -1.0
    assert params[0].min() == 0.0
