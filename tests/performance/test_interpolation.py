"""Roots on computed curves, against functions whose roots are known."""

import numpy as np
import pytest

from sortiewright.performance.interpolation import curve_at, false_position, first_crossing, value_at

GRID = np.linspace(1.0, 5.0, 21)[None, :]


# A cubic goes through four points of itself: no error but rounding.
def test_curve_at_reproduces_a_root_of_a_cubic():
    cubic = np.cbrt(GRID)
    at = np.array([2.345])

    assert curve_at(cubic**3, cubic, at) == pytest.approx(np.cbrt(at), rel=1e-4)
    assert curve_at(GRID, GRID**3, at) == pytest.approx(at**3, rel=1e-12)


def test_value_at_inverts_a_curve():
    target = np.array([8.0])
    cell, exists = first_crossing(GRID**2 - 8.0)

    assert exists.all()
    assert value_at(GRID, GRID**2, cell, target) == pytest.approx(np.sqrt(8.0), rel=1e-5)


def test_first_crossing_passes_over_what_is_not_known():
    values = np.array(
        [[np.nan, -2.0, -1.0, 1.0, 2.0], [1.0, 2.0, 3.0, 4.0, 5.0], [-1.0, 1.0, -1.0, 1.0, 2.0]]
    )
    cell, exists = first_crossing(values)

    assert exists.tolist() == [True, False, True]
    assert cell[[0, 2]].tolist() == [2, 0]


def test_false_position_finds_known_roots():
    known = np.array([1.2, 2.0, 2.4])
    square = false_position(lambda x: x**2 - known**2, np.ones(3), np.full(3, 3.0))
    sine = false_position(lambda x: np.sin(x - 1.0), np.zeros(1), np.full(1, 2.5))

    assert square == pytest.approx(known, abs=1e-8)
    assert sine == pytest.approx(1.0, abs=1e-8)


def test_false_position_ends_at_an_end_where_there_is_no_root():
    assert false_position(lambda x: x + 1.0, np.zeros(1), np.ones(1)) == pytest.approx(0.0)
    assert false_position(lambda x: x - 2.0, np.zeros(1), np.ones(1)) == pytest.approx(1.0)
