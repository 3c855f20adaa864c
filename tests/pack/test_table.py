"""Tables read between their points, refused outside them."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import RegularGridInterpolator

from sortiewright.pack import AxisPoints, OutsideTable, make_table

MACH = [0.0, 0.3, 0.8, 1.2]
HEIGHT = [0.0, 3000.0, 10000.0]


def table_of(function, name="military.thrust"):
    mach, height = np.meshgrid(MACH, HEIGHT, indexing="ij")
    axes = {"mach": MACH, "pressure_altitude": HEIGHT}
    return make_table(name, axes, function(mach, height), units=["", "m"], unit="N")


# A bilinear interpolation returns any function a + bx + cy + dxy exactly; the tolerance is rounding.
@given(
    st.tuples(*[st.floats(-10, 10)] * 4),
    st.lists(st.tuples(st.floats(0, 1.2), st.floats(0, 10000)), min_size=1, max_size=8),
)
def test_a_bilinear_function_comes_back_exactly(coefficients, points):
    a, b, c, d = coefficients

    def plane(x, y):
        return a + b * x + c * y / 1e4 + d * x * y / 1e4

    mach, height = np.array(points).T

    assert table_of(plane)(mach, height) == pytest.approx(plane(mach, height), rel=1e-12, abs=1e-11)


# scipy.interpolate.RegularGridInterpolator, method "linear", is the independent implementation.
@given(st.integers(0, 2**32 - 1), st.integers(1, 3))
def test_values_agree_with_scipy(seed, dimensions):
    random = np.random.default_rng(seed)
    axes = [np.cumsum(random.uniform(0.1, 2.0, random.integers(2, 6))) for _ in range(dimensions)]
    values = random.normal(size=[len(axis) for axis in axes])
    points = [random.uniform(axis[0], axis[-1], 20) for axis in axes]
    table = make_table("random", {f"axis_{i}": axis for i, axis in enumerate(axes)}, values)

    expected = RegularGridInterpolator(axes, values)(np.transpose(points))

    assert table(*points) == pytest.approx(expected, rel=1e-9, abs=1e-12)


def test_a_batch_equals_its_single_cases():
    table = table_of(lambda m, h: np.sin(3 * m) * np.exp(-h / 8000))
    mach = np.linspace(0, 1.2, 7)[:, None]
    height = np.linspace(0, 10000, 5)

    batch = table(mach, height)
    singles = [[float(table(m, h)) for h in height] for m in mach[:, 0]]

    assert batch.shape == (7, 5)
    assert batch.tolist() == singles


def test_points_of_the_grid_come_back_as_written():
    table = table_of(lambda m, h: 1000 + 7 * m - h / 3)

    assert table(np.array(MACH)[:, None], HEIGHT).tolist() == table.values.tolist()


@pytest.mark.parametrize(
    ("point", "said"),
    [
        ((1.32, 0.0), "table military.thrust, axis mach: 1.32 is outside 0 to 1.2."),
        ((0.5, -10.0), "table military.thrust, axis pressure_altitude: -10 is outside 0 to 10000 m."),
        ((np.nan, 0.0), "table military.thrust, axis mach: nan is outside 0 to 1.2."),
    ],
)
def test_outside_its_data_a_table_names_axis_value_and_range(point, said):
    with pytest.raises(OutsideTable) as refusal:
        table_of(lambda m, h: m + h)(*point)

    assert str(refusal.value).startswith(said)


def test_one_point_of_a_batch_outside_refuses_the_batch():
    with pytest.raises(OutsideTable, match=r"1\.5 is outside"):
        table_of(lambda m, h: m + h)([0.1, 1.5], 0.0)


def test_a_single_step_holds_for_that_step_only():
    table = make_table("constant", {"mach": [0.2]}, [5.0])

    assert float(table(0.2)) == 5.0
    with pytest.raises(OutsideTable):
        table(0.3)


@pytest.mark.parametrize("steps", [[0.0, 0.0, 1.0], [1.0, 0.5], [0.0, np.nan]])
def test_steps_that_do_not_rise_are_refused(steps):
    with pytest.raises(ValueError, match="must increase strictly"):
        make_table("broken", {"mach": steps}, np.zeros(len(steps)))


def test_a_value_that_is_not_finite_is_refused():
    with pytest.raises(ValueError, match="not finite"):
        make_table("broken", {"mach": [0.0, 1.0]}, [1.0, np.nan])


# Both axes of a table are those of the one before, or one of them, or none.
@given(st.integers(0, 2**32 - 1))
def test_values_read_in_several_tables_are_placed_in_each(seed):
    random = np.random.default_rng(seed)
    some, others = (np.array([0.0, *np.sort(random.uniform(0.01, 0.99, count)), 1.0]) for count in (3, 5))
    tables = [
        make_table("random", {"x": x, "y": y}, random.normal(size=(len(x), len(y))))
        for x, y in ((some, some), (some, some), (others, some), (some, others))
    ]
    x, y = random.uniform(0.0, 1.0, (4, 1)), random.uniform(0.0, 1.0, 9)
    along_x, along_y = AxisPoints(x), AxisPoints(y)

    for table in tables:
        assert table(along_x, along_y).tolist() == table(x, y).tolist()


def test_a_table_that_does_not_reach_refuses_values_that_another_has_placed():
    low, high = (
        make_table(name, {"x": [0.0, end]}, [1.0, 2.0]) for name, end in (("low", 1.0), ("high", 2.0))
    )
    at = AxisPoints([0.5, 1.5])

    assert high(at).tolist() == [1.25, 1.75]
    with pytest.raises(OutsideTable, match=r"table low, axis x: 1\.5 is outside 0 to 1"):
        low(at)


@given(st.integers(0, 2**32 - 1), st.integers(1, 4), st.integers(1, 4))
def test_lines_of_a_table_are_its_values_at_every_point_of_the_first_axis(seed, rows, columns):
    random = np.random.default_rng(seed)
    x, y = np.cumsum(random.uniform(0.1, 2.0, rows)), np.cumsum(random.uniform(0.1, 2.0, columns))
    table = make_table("random", {"x": x, "y": y}, random.normal(size=(rows, columns)))
    at = random.uniform(y[0], y[-1], (2, 3))

    for point in (at, AxisPoints(at)):
        np.testing.assert_allclose(table.lines(point), table(x[:, None, None], at), rtol=1e-12, atol=1e-12)
    assert table.lines(float(at[0, 0])).tolist() == pytest.approx(table.lines(at)[:, 0, 0].tolist())
    with pytest.raises(OutsideTable, match="axis y"):
        table.lines(y[-1] + 1.0)
