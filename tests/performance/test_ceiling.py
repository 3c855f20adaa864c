"""Ceilings, each from a property that defines it."""

import numpy as np
import pytest
from aeroplanes import make_pack, shipped
from conditions import POUND

from sortiewright.air import standard_air
from sortiewright.pack import OutsideTable, make_table
from sortiewright.performance.ceiling import COMBAT_RATE, SERVICE_RATE, climb_ceiling, mach_grid
from sortiewright.performance.level_flight import flight_point, flight_setup, make_flight_cases

CASES = make_flight_cases(np.array([34_000.0, 38_000.0, 46_000.0]) * POUND, drag_index=[0.0, 20.0, 40.0])


def ceiling(rate, power="military", **how):
    pack = shipped("dotterel")
    return climb_ceiling(pack, flight_setup(pack), CASES, power, rate, **how)


def best_excess(height, power):
    pack = shipped("dotterel")
    speeds = mach_grid(pack, flight_setup(pack), pack.engine.settings[power].thrust)
    point = flight_point(
        pack,
        flight_setup(pack),
        CASES,
        power,
        mass=CASES.mass[:, None],
        pressure_altitude=height[:, None],
        mach=speeds[None, :],
    )
    return np.nanmax(point.energy_rate, axis=1)


# The definitions: 100 and 500 ft/min left, and nothing left at the absolute ceiling.
@pytest.mark.parametrize("power", ["military", "maximum"])
@pytest.mark.parametrize("rate", [0.0, SERVICE_RATE, COMBAT_RATE])
def test_excess_power_at_the_ceiling_is_the_rate_that_defines_it(power, rate):
    found = ceiling(rate, power)

    assert best_excess(found.pressure_altitude, power) == pytest.approx(np.full(3, rate), abs=0.01)


def test_rates_of_the_two_ceilings():
    rates = np.array([SERVICE_RATE, COMBAT_RATE])

    assert rates == pytest.approx([0.508, 2.54], rel=1e-12)


def test_ceilings_lie_in_order_and_fall_with_load():
    combat, service = (ceiling(rate).pressure_altitude for rate in (COMBAT_RATE, SERVICE_RATE))

    assert (combat < service).all()
    assert (np.diff(service) < 0.0).all()


def test_ceiling_along_a_schedule_is_no_higher_than_at_the_best_speed():
    free = ceiling(SERVICE_RATE).pressure_altitude
    bound = ceiling(SERVICE_RATE, cas=180.0, mach=0.8).pressure_altitude

    assert (bound <= free + 1.0).all()


# Closed form: constant L/D of 10 and thrust falling with pressure. Rate is nought where T = W/10.
def test_absolute_ceiling_in_closed_form():
    heights = np.linspace(0.0, 12_000.0, 1201)
    pack = make_pack(
        wing_area=60.0,
        lift=lambda alpha: 400.0 * alpha,
        drag=lambda alpha: 40.0 * abs(alpha),
        maximum_lift=2.0,
        thrust=0.0,
        engines=1,
        alphas=np.linspace(-0.001, 0.005, 61),
    )
    axes = {"mach": [0.0, 0.6], "pressure_altitude": heights}
    setting = pack.engine.settings["military"].model_copy(
        update={
            "thrust": make_table("thrust", axes, np.tile(0.25 * standard_air(heights).pressure, (2, 1))),
            "fuel_flow": make_table("fuel_flow", axes, np.zeros((2, len(heights)))),
        }
    )
    pack = pack.model_copy(
        update={"engine": pack.engine.model_copy(update={"settings": {"military": setting}})}
    )
    mass = 10_000.0
    found = climb_ceiling(pack, flight_setup(pack), make_flight_cases(mass), "military", 0.0)

    assert standard_air(found.pressure_altitude).pressure == pytest.approx(
        mass * 9.80665 / 10.0 / 0.25, rel=2e-3
    )


def test_ceiling_above_the_tables_is_refused():
    pack = shipped("dotterel")
    with pytest.raises(OutsideTable, match="pressure_altitude"):
        climb_ceiling(pack, flight_setup(pack), make_flight_cases(14_000.0, thrust_factor=5.0), "maximum")


def test_ceiling_is_not_a_number_where_nothing_climbs():
    pack = shipped("dotterel")
    found = climb_ceiling(pack, flight_setup(pack), make_flight_cases(20_000.0), "idle")

    assert np.isnan(found.pressure_altitude).all()
