"""Switches and runs against the same said plainly, sample by sample."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sortiewright.recording.hysteresis import (
    clock_of,
    crossing,
    filled,
    first_row,
    joined_rows,
    last_row,
    median_of_three,
    runs,
    switched,
    without_short,
)

values = st.lists(st.one_of(st.floats(-5.0, 5.0), st.just(float("nan"))), min_size=1, max_size=60)
masks = st.lists(st.booleans(), min_size=1, max_size=60)


@given(values, st.booleans())
def test_a_switch_with_two_levels_does_what_its_definition_says(samples, initially):
    state, wanted = initially, []
    for value in samples:
        state = True if value > 1.0 else False if value < -1.0 else state
        wanted.append(state)

    assert switched(np.array(samples), above=1.0, below=-1.0, initially=initially).tolist() == wanted


def test_levels_the_wrong_way_round_are_refused():
    with pytest.raises(ValueError, match="lies above"):
        switched(np.zeros(3), above=1.0, below=2.0)


@given(masks)
def test_runs_are_all_the_true_samples_and_none_else(mask):
    begins, ends = runs(np.array(mask))
    inside = np.zeros(len(mask), dtype=bool)
    for begin, end in zip(begins, ends, strict=True):
        assert begin < end
        inside[begin:end] = True

    assert inside.tolist() == mask


@given(masks, st.integers(1, 5))
def test_no_inner_true_stretch_is_left_shorter_than_asked(mask, least):
    clock = np.arange(float(len(mask)))
    begins, ends = runs(without_short(np.array(mask), clock, least_true=float(least)))
    inner = (begins > 0) & (ends < len(mask))

    assert ((ends - begins)[inner] >= least).all()


@given(masks, st.integers(0, 60), st.integers(0, 60))
def test_first_and_last_rows_are_those_of_a_search(mask, begin, end):
    rows = [row for row in range(begin, min(end, len(mask))) if mask[row]]

    assert first_row(np.array(mask), begin, end) == (rows[0] if rows else None)
    assert last_row(np.array(mask), begin, end) == (rows[-1] if rows else None)


@given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=40))
def test_the_median_of_three_is_the_middle_of_the_three(samples):
    found = median_of_three(np.array(samples))
    wanted = [
        samples[row] if row in (0, len(samples) - 1) else sorted(samples[row - 1 : row + 2])[1]
        for row in range(len(samples))
    ]

    assert found.tolist() == wanted


def test_durations_do_not_count_what_lies_in_a_gap():
    time = np.array([0.0, 1.0, 2.0, 100.0, 101.0])
    joined = joined_rows(5, [3])

    assert joined.tolist() == [False, True, True, False, True]
    assert clock_of(time, joined).tolist() == [0.0, 1.0, 2.0, 2.0, 3.0]


def test_nothing_is_interpolated_across_a_gap():
    time, speed = np.array([0.0, 1.0, 9.0]), np.array([0.0, 2.0, 10.0])

    assert crossing(time, speed, 0, 1.0, joined_rows(3, [2])) == 0.5
    assert crossing(time, speed, 1, 6.0, joined_rows(3, [2])) == 9.0
    assert crossing(time, speed, 1, 6.0, joined_rows(3, [])) == 5.0


def test_missing_samples_are_filled_on_a_straight_line_and_no_sample_is_none():
    nan = float("nan")

    assert filled(np.array([nan, 1.0, nan, 3.0]), np.arange(4.0)).tolist() == [1.0, 1.0, 2.0, 3.0]
    assert filled(np.array([nan, nan]), np.arange(2.0)) is None
