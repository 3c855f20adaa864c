"""Columns worked out for the rows that are asked for, against the same worked out whole."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from sortiewright.recording.hysteresis import median_of_three, unwrapped
from sortiewright.recording.signal_columns import (
    Greatest,
    Lowered,
    Share,
    Smoothed,
    at_least,
    mask_of,
    most,
)

values = arrays.arrays(np.float64, st.integers(1, 40), elements=st.floats(-1e3, 1e3))


@given(values, st.data())
def test_smoothed_rows_are_those_of_the_whole_smoothed(column, data):
    whole = median_of_three(column)
    begin = data.draw(st.integers(0, len(column) - 1))
    end = data.draw(st.integers(begin, len(column)))
    rows = np.array(data.draw(st.lists(st.integers(0, len(column) - 1), max_size=5)), np.intp)
    smoothed = Smoothed(column)

    np.testing.assert_array_equal(smoothed[begin:end], whole[begin:end])
    np.testing.assert_array_equal(smoothed[rows], whole[rows])
    assert smoothed[begin] == whole[begin]


# The median of three is that of the statistics module.
@given(values)
def test_each_sample_is_the_median_of_itself_and_its_neighbours(column):
    from statistics import median

    wanted = [median(column[row - 1 : row + 2]) for row in range(1, len(column) - 1)]

    np.testing.assert_array_equal(median_of_three(column)[1:-1], wanted)


def test_the_greatest_share_of_lowered_columns_is_that_of_plain_arithmetic():
    one, other = np.array([1.0, 4.0, 2.0]), np.array([3.0, 0.0, 5.0])
    column = Greatest((Share(Lowered(one, 1.0), 0.0, 2.0), other))

    assert column[0:3].tolist() == [3.0, 1.5, 5.0]
    assert column[1] == 1.5
    assert most(column, 3) == 5.0


@pytest.mark.parametrize("rows", [5, 40_000])
def test_a_mask_made_block_by_block_is_that_of_the_column(rows):
    column = np.sin(np.arange(rows) / 7.0)

    np.testing.assert_array_equal(mask_of(at_least(column, 0.5), 2, rows), column[2:] >= 0.5)


# NumPy's unwrap is the reference; headings come in any turns, half turns among them.
@given(arrays.arrays(np.float64, st.integers(1, 60), elements=st.integers(0, 71).map(lambda one: 5.0 * one)))
def test_angles_without_jumps_are_those_of_numpy(angles):
    np.testing.assert_array_equal(unwrapped(angles, 360.0), np.unwrap(angles, period=360.0))
