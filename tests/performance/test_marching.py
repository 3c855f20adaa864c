"""Integration over time until an event, against closed forms."""

import numpy as np
import pytest

from sortiewright.performance.marching import march_to_event


def steps(length, count, cases=1):
    return [np.full(cases, length)] * count


# A stone falls h in sqrt(2 h/g); the method is exact for polynomials of degree four.
def test_falling_stone_meets_the_ground_at_the_exact_time():
    heights = np.array([5.0, 20.0, 45.0])
    found = march_to_event(
        lambda time, state: np.stack([state[1], np.full(3, -9.80665)]),
        np.zeros(3),
        np.stack([heights, np.zeros(3)]),
        steps(0.5, 10, 3),
        lambda time, state: state[0],
    )

    assert found.happened.all()
    assert found.time == pytest.approx(np.sqrt(2.0 * heights / 9.80665), rel=1e-6)


# An oscillator passes nought after a quarter of its period; fourth order: half the step, a sixteenth of the
# error.
def test_event_keeps_the_order_of_the_integration():
    def quarter(step):
        found = march_to_event(
            lambda time, state: np.stack([state[1], -state[0]]),
            np.zeros(1),
            np.array([[1.0], [0.0]]),
            steps(step, 20),
            lambda time, state: state[0],
        )
        return abs(found.time[0] - np.pi / 2.0)

    assert 10.0 < quarter(0.4) / quarter(0.2) < 24.0


def test_event_that_never_comes_is_told_apart():
    found = march_to_event(
        lambda time, state: np.ones_like(state),
        np.zeros(2),
        np.array([[0.0, 0.0]]),
        steps(0.1, 5, 2),
        lambda time, state: np.array([0.25, 10.0]) - state[0],
    )

    assert found.happened.tolist() == [True, False]
    assert found.time == pytest.approx([0.25, np.nan], nan_ok=True)


def test_case_given_up_as_hopeless_never_arrives():
    found = march_to_event(
        lambda time, state: np.array([[1.0, -1.0]]),
        np.zeros(2),
        np.array([[0.0, 0.0]]),
        steps(1.0, 5, 2),
        lambda time, state: 3.0 - np.abs(state[0]),
        hopeless=lambda state, slope: slope[0] < 0.0,
    )

    assert found.happened.tolist() == [True, False]


def test_lowest_value_on_the_way_is_kept():
    found = march_to_event(
        lambda time, state: np.array([2.0 * (time - 1.0)]),
        np.zeros(1),
        np.array([[1.0]]),
        steps(0.25, 20),
        lambda time, state: 4.0 - state[0],
    )

    assert found.lowest[0, 0] == pytest.approx(0.0, abs=1e-12)
    assert found.time[0] == pytest.approx(3.0, rel=1e-9)
