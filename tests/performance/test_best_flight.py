"""Ceilings and best level flight of one grid against the searches that look for each of them alone."""

import numpy as np
import pytest
from aeroplanes import shipped

from sortiewright.performance import (
    COMBAT_RATE,
    SERVICE_RATE,
    best_cruise,
    climb_ceiling,
    flight_setup,
    flight_summary,
    make_flight_cases,
)

MASSES = {"dotterel": [13_000.0, 16_500.0, 21_000.0], "whinchat": [2_700.0, 3_100.0]}
CASES = [("dotterel", 0), ("dotterel", 1), ("whinchat", 0)]


def parts(name, failed):
    pack = shipped(name)
    cases = make_flight_cases(np.array(MASSES[name]), drag_index=15.0, isa_deviation=4.0)
    return pack, flight_setup(pack, failed_engines=failed), cases, pack.engine.military


# ``climb_ceiling`` looks at heights 20 m apart and Mach numbers 0.02 apart.
@pytest.mark.parametrize(("name", "failed"), CASES)
def test_ceilings_are_those_of_the_closer_search(name, failed):
    pack, setup, cases, power = parts(name, failed)
    found = flight_summary(pack, setup, cases, power)

    for rate, ceilings in ((SERVICE_RATE, found.service_ceiling), (COMBAT_RATE, found.combat_ceiling)):
        for row, ceiling in enumerate(ceilings):
            sought = climb_ceiling(pack, setup, cases.take(slice(row, row + 1)), power, rate)
            assert ceiling == pytest.approx(float(sought.pressure_altitude[0]), abs=50.0)
    assert (found.combat_ceiling < found.service_ceiling).all()


# ``best_cruise`` searches a grid of 500 m and 0.02 Mach and sets a parabola through its best point: either of
# the two may be the better by what a grid misses.
@pytest.mark.parametrize(("name", "failed"), CASES)
def test_best_level_flight_is_as_good_as_that_of_the_closer_search(name, failed):
    pack, setup, cases, power = parts(name, failed)
    found = flight_summary(pack, setup, cases, power)

    for aim, best in (("range", found.range), ("endurance", found.endurance)):
        other = best_cruise(pack, setup, cases, aim)
        np.testing.assert_allclose(best.value, other.value, rtol=0.015)
        gained = best.tas / best.fuel_flow if aim == "range" else 1.0 / best.fuel_flow
        np.testing.assert_allclose(best.value, gained, rtol=1e-9)


def test_a_heavier_aircraft_has_the_lower_ceilings_and_the_shorter_range():
    pack, setup, cases, power = parts("dotterel", 0)
    found = flight_summary(pack, setup, cases, power)

    assert (np.diff(found.service_ceiling) < 0.0).all()
    assert (np.diff(found.range.value) < 0.0).all()


def test_too_heavy_to_fly_level_has_no_ceiling_and_no_range():
    pack = shipped("dotterel")
    found = flight_summary(
        pack, flight_setup(pack, failed_engines=1), make_flight_cases(60_000.0), pack.engine.military
    )

    assert np.isnan(found.service_ceiling).all()
    assert np.isnan(found.range.value).all()
