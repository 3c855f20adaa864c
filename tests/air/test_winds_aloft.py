import numpy as np
import pytest
from external_checks import check, expected, value

from sortiewright.air import WindLevel, WindsMissing, winds_over

KNOT = 1852.0 / 3600.0
LOW = WindLevel(1_000.0, 270.0, 10.0, isa_deviation=4.0)
HIGH = WindLevel(3_000.0, 360.0, 30.0, isa_deviation=-2.0)
FIELD = WindLevel(200.0, 180.0, 6.0, isa_deviation=7.0)


# By hand: half of 10 m/s from the west and half of 30 m/s from the north.
def test_between_two_levels_the_wind_is_the_mean_of_the_vectors():
    north, east = winds_over([LOW, HIGH]).blowing_from(2_000.0)

    assert north == pytest.approx(15.0)
    assert east == pytest.approx(-5.0)


def test_levels_may_be_given_in_any_order():
    assert winds_over([HIGH, LOW]).blowing_from(1_400.0) == winds_over([LOW, HIGH]).blowing_from(1_400.0)


# By hand: 6 m/s from the south at the field, 10 m/s from the west 800 m above it; a quarter of the way up.
def test_below_the_lowest_level_the_wind_goes_over_into_the_field_s():
    air = winds_over([LOW, HIGH], FIELD)

    assert air.blowing_from(400.0) == (pytest.approx(-4.5), pytest.approx(-2.5))
    assert air.blowing_from(-50.0) == (pytest.approx(-6.0), pytest.approx(0.0, abs=1e-12))
    assert air.isa_deviation(600.0) == pytest.approx(5.5)


def test_above_the_highest_level_there_is_no_wind_to_be_had():
    air = winds_over([LOW, HIGH], FIELD)

    with pytest.raises(WindsMissing) as caught:
        air.along(10.0, np.array([2_000.0, 3_500.0]))
    assert (caught.value.asked, caught.value.highest) == (3_500.0, 3_000.0)
    assert air.blowing_from(3_000.5) == air.blowing_from(3_000.0)


def test_without_levels_the_air_is_still_at_every_height():
    air = winds_over([], FIELD, isa_deviation=3.0)

    assert air.along(77.0, 12_000.0) == (0.0, 0.0)
    assert air.isa_deviation(9_000.0) == 7.0
    assert winds_over([], isa_deviation=3.0).isa_deviation(9_000.0) == 3.0


def test_a_level_without_temperature_leaves_that_of_its_neighbours():
    middle = WindLevel(2_000.0, 0.0, 0.0)

    assert winds_over([LOW, middle, HIGH]).isa_deviation(2_000.0) == pytest.approx(1.0)
    assert winds_over([middle], isa_deviation=6.0).isa_deviation(5_000.0) == 6.0


def test_two_levels_at_one_height_are_refused():
    with pytest.raises(ValueError, match="one height"):
        winds_over([LOW, WindLevel(1_000.2, 0.0, 5.0)])


# FAA-H-8083-25, crosswind component chart, as the file says for each.
@pytest.mark.parametrize("name", ["X-C01", "X-C03"])
def test_the_wind_along_a_course_is_that_of_the_published_components(name):
    one = check(name)
    level = WindLevel(500.0, value(one, "wind_from"), value(one, "wind_speed", KNOT))

    headwind, crosswind = winds_over([level]).along(value(one, "runway_heading"), 500.0)

    assert headwind == expected(one, "headwind", KNOT)
    assert crosswind == expected(one, "crosswind_from_right", KNOT)
