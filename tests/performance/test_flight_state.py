"""Many points and many aircraft in one batch against each of them alone."""

import numpy as np
import pytest
from aeroplanes import shipped

from sortiewright.performance import FlightSetup, flight_point, flight_setup, make_flight_cases
from sortiewright.performance.flight_state import AT_ONCE, engines_at, flight_state, lift_lines
from sortiewright.performance.forces import Devices
from sortiewright.performance.level_flight import point_at, steady_level_flight

PACK = shipped("dotterel")
SETUP = flight_setup(PACK)
NAMES = ("tas", "angle_of_attack", "thrust", "drag", "fuel_flow", "energy_rate")


def cases_of(count, seed=3):
    random = np.random.default_rng(seed)
    return make_flight_cases(
        random.uniform(13_000.0, 21_000.0, count),
        drag_index=random.uniform(0.0, 60.0, count),
        isa_deviation=random.uniform(-15.0, 15.0, count),
    )


# Points that nothing carries and points that are carried are in it, more than are looked at in one go.
@pytest.mark.parametrize("failed", [0, 1])
def test_a_point_of_a_large_grid_is_that_point_alone(failed):
    cases, setup = cases_of(3), flight_setup(PACK, failed_engines=failed)
    heights, numbers = np.linspace(0.0, 15_000.0, 24), np.linspace(0.15, 1.2, 30)
    assert 3 * 24 * 30 * len(SETUP.configuration.lift.axes[0]) > 3 * AT_ONCE
    grid = {"pressure_altitude": heights[None, :, None], "mach": numbers[None, None, :]}
    mass = cases.mass[:, None, None]
    point = flight_point(PACK, setup, cases, "military", mass=mass, load_factor=1.5, **grid)
    level = steady_level_flight(PACK, setup, cases, mass=mass, **grid)

    assert 100 < np.isnan(point.drag).sum() < point.drag.size - 100
    for row, up, across in np.random.default_rng(5).integers(0, [3, 24, 30], (40, 3)):
        one = cases.take(slice(row, row + 1))
        at = {"mass": one.mass, "pressure_altitude": heights[up], "mach": numbers[across]}
        alone = flight_point(PACK, setup, one, "military", load_factor=1.5, **at)
        held = steady_level_flight(PACK, setup, one, **at)
        for name in NAMES:
            assert getattr(point, name)[row, up, across] == pytest.approx(
                getattr(alone, name)[0], rel=1e-12, nan_ok=True
            )
        assert level.fuel_flow[row, up, across] == pytest.approx(held.fuel_flow[0], rel=1e-12, nan_ok=True)


def test_gear_speedbrake_and_dead_engines_may_differ_from_case_to_case():
    cases = cases_of(4)
    gear, brake, dead = np.array([0.0, 1.0, 0.0, 1.0]), np.array([0.0, 0.0, 1.0, 0.5]), np.array([0, 1, 1, 0])
    mixed = FlightSetup(SETUP.configuration, Devices(gear, brake), dead)
    at = {"pressure_altitude": np.full(4, 3_000.0), "mach": np.full(4, 0.5)}
    point = flight_point(PACK, mixed, cases, "military", mass=cases.mass, **at)
    level = steady_level_flight(PACK, mixed, cases, mass=cases.mass, power="maximum", **at)

    for row in range(4):
        one, rows = cases.take(slice(row, row + 1)), slice(row, row + 1)
        setup = flight_setup(PACK, gear=gear[row], speedbrake=brake[row], failed_engines=int(dead[row]))
        each = {name: values[rows] for name, values in at.items()}
        alone = flight_point(PACK, setup, one, "military", mass=one.mass, **each)
        held = steady_level_flight(PACK, setup, one, mass=one.mass, power="maximum", **each)
        for name in NAMES:
            assert getattr(point, name)[row] == pytest.approx(getattr(alone, name)[0], rel=1e-12)
        assert level.fuel_flow[row] == pytest.approx(held.fuel_flow[0], rel=1e-12)


def test_a_state_is_flown_again_with_another_mass_and_drag_index():
    light, heavy = cases_of(6, seed=1), cases_of(6, seed=2)
    heavy = make_flight_cases(heavy.mass, drag_index=heavy.drag_index, isa_deviation=light.isa_deviation)
    height, mach = np.linspace(500.0, 9_000.0, 6), np.linspace(0.4, 0.9, 6)
    at = flight_state(PACK, SETUP, light, height, mach, light.mass)
    engines = engines_at(at, PACK.engine.settings["military"], light)
    again = point_at(at, heavy, engines, lift_lines(at), heavy.mass)
    anew = flight_point(PACK, SETUP, heavy, "military", mass=heavy.mass, pressure_altitude=height, mach=mach)

    for name in NAMES:
        np.testing.assert_allclose(getattr(again, name), getattr(anew, name), rtol=1e-14)
