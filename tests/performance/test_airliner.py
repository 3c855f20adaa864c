"""An airliner whose drag, thrust and fuel flow are an open model's, against that model's own numbers.

Source of every value here: functions of the library openap 2.6.2 (A320 with CFM56-5B4), run by
``tools/make_airliner_references.py``, which uses nothing of ours. See tests/data/airliner_references.
"""

import csv
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from conditions import FOOT
from external_checks import check, expected, value

from sortiewright.air import mach_from_cas, speed_of_sound, standard_air
from sortiewright.pack import load_pack
from sortiewright.performance import (
    DescentSchedule,
    best_cruise,
    climb_ceiling,
    cruise_distance,
    flight_point,
    flight_setup,
    fly_descent,
    fly_schedule,
    make_flight_cases,
    steady_level_flight,
)
from sortiewright.performance.climb_schedule import SpeedChange, SteadySpeed

DATA = Path(__file__).parents[1] / "data"
KNOT = 1852.0 / 3600.0
BOTTOM, START_CAS = 1_500.0 * FOOT, 250.0 * KNOT  # of the climbs


@cache
def airliner():
    pack = load_pack(DATA / "packs" / "airliner_sampled").pack
    return pack, flight_setup(pack)


def rows(name, **wanted):
    """Return the columns of a file as arrays, of the rows in which text columns are as wanted."""
    with (DATA / "airliner_references" / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        kept = [row for row in csv.DictReader(file) if all(row[key] == one for key, one in wanted.items())]
    return {key: np.array([float(row[key]) for row in kept]) for key in kept[0] if key not in wanted}


def error(ours, theirs):
    """Return the largest relative difference."""
    return float(np.max(np.abs(np.asarray(ours) / theirs - 1.0)))


def level(at):
    pack, setup = airliner()
    return steady_level_flight(
        pack,
        setup,
        make_flight_cases(at["mass_kg"]),
        mass=at["mass_kg"],
        pressure_altitude=at["altitude_ft"] * FOOT,
        mach=at["mach"],
    )


def test_drag_and_fuel_flow_of_level_flight_over_the_envelope_are_the_models_within_a_percent():
    at = rows("level")
    found = level(at)

    assert len(at["mass_kg"]) > 100
    assert error(found.thrust, at["drag_N"]) < 0.01
    assert error(found.fuel_flow, at["fuel_flow_kg_s"]) < 0.01


# The three points of the external checks are the same model's, written down before this pack was made.
@pytest.mark.parametrize("identity", ["X-H06", "X-H07", "X-H08"])
def test_level_flight_at_the_points_of_the_external_checks(identity):
    one = check(identity)
    altitude = value(one, "pressure_altitude", FOOT)
    mach = value(one, "TAS", KNOT) / float(speed_of_sound(standard_air(altitude).temperature))
    mass = np.array([value(one, "mass")])
    found = level({"mass_kg": mass, "altitude_ft": altitude / FOOT, "mach": mach})

    assert found.thrust[0] == expected(one, "clean_drag")
    assert found.fuel_flow[0] == expected(one, "fuel_flow")
    consumption = found.fuel_flow[0] / found.thrust[0] * 3600.0 * 9.80665
    assert consumption == expected(one, "TSFC_implied")


def rated(setting, at):
    pack, setup = airliner()
    return flight_point(
        pack,
        setup,
        make_flight_cases(at["mass_kg"]),
        setting,
        mass=at["mass_kg"],
        pressure_altitude=at["altitude_ft"] * FOOT,
        mach=at["mach"],
    )


@pytest.mark.parametrize("setting", ["idle", "cruise"])
def test_thrust_and_fuel_flow_of_a_rating_are_the_models_within_a_percent(setting):
    at = rows("power", setting=setting)
    point = rated(setting, at)

    assert error(point.thrust, at["thrust_N"]) < 0.01
    assert error(point.fuel_flow, at["fuel_flow_kg_s"]) < 0.01


# The model's climb thrust grows with the rate of climb, which a table cannot hold: it is that of 65 t. Other
# masses climb at other rates, so their thrust differs, and is bounded where it is not the table's own.
def test_climb_thrust_and_fuel_flow_are_the_models_where_the_rate_of_climb_is_the_tables():
    at = rows("power", setting="climb")
    point, own = rated("climb", at), at["mass_kg"] == 65_000.0

    assert error(point.thrust[own], at["thrust_N"][own]) < 0.005
    assert error(point.fuel_flow[own], at["fuel_flow_kg_s"][own]) < 0.005
    assert error(point.thrust, at["thrust_N"]) < 0.02
    assert error(point.fuel_flow, at["fuel_flow_kg_s"]) < 0.015
    # Excess power, at 65 t: a difference of two forces.
    assert point.energy_rate[own] == pytest.approx(at["rate_m_s"][own], rel=0.01)


def climb_errors(name, **how):
    """Return the largest errors of time, fuel and distance over the climbs of a file."""
    pack, setup = airliner()
    at, found = rows(name), []
    for row in range(len(at["mass_kg"])):
        cas, mach = at["cas_m_s"][row], at["mach"][row]
        flown = fly_schedule(
            pack,
            setup,
            make_flight_cases(at["mass_kg"][row]),
            (SpeedChange("cruise", cas=cas), SteadySpeed("climb", cas, mach)),
            altitude=BOTTOM,
            mach=float(mach_from_cas(START_CAS, standard_air(BOTTOM).pressure)),
            to_altitude=at["top_m"][row],
            **how,
        )
        pairs = ((flown.time, "time_s"), (flown.fuel, "fuel_kg"), (flown.air_distance, "distance_m"))
        found.append([error(ours[0, -1], at[key][row]) for ours, key in pairs])
    return np.max(found, axis=0)


def test_climb_time_fuel_and_distance_are_the_models_within_three_percent():
    assert (climb_errors("climbs") < 0.03).all()


# With the thrust of the table in both, only the integrator, lines between nodes and invented angles of
# attack differ. The model's thrust has a step of a twentieth at 30,000 ft: cells of 500 m step over it.
@pytest.mark.parametrize(("how", "bound"), [({}, 0.006), ({"cell_height": 50.0}, 0.003)])
def test_integrator_alone_climbs_as_the_model_stepped_through_time_does(how, bound):
    assert (climb_errors("table_climbs", **how) < bound).all()


def test_descent_time_fuel_and_distance_are_the_models_within_three_percent():
    pack, setup = airliner()
    at = rows("descents")
    cas, mach, top = at["cas_m_s"][0], at["mach"][0], at["top_m"][0]
    flown = fly_descent(
        pack,
        setup,
        make_flight_cases(at["mass_kg"]),
        DescentSchedule(cas, mach),
        altitude=top,
        mach=mach,
        to_altitude=BOTTOM,
    )

    assert error(flown.time[:, -1], at["time_s"]) < 0.03
    assert error(flown.fuel[:, -1], at["fuel_kg"]) < 0.03
    assert error(flown.air_distance[:, -1], at["distance_m"]) < 0.03


def test_cruise_legs_take_the_models_time_and_fuel():
    pack, setup = airliner()
    at = rows("legs")
    leg = cruise_distance(
        pack,
        setup,
        make_flight_cases(at["mass_kg"]),
        at["distance_m"],
        altitude=at["altitude_ft"] * FOOT,
        mach=at["mach"],
    )

    assert error(leg.time, at["time_s"]) < 1e-4
    assert error(leg.fuel, at["fuel_kg"]) < 0.01


def test_farthest_range_at_an_altitude_is_at_the_models_speed():
    pack, setup = airliner()
    at = rows("best_range")
    best = best_cruise(
        pack, setup, make_flight_cases(at["mass_kg"]), "range", altitude=at["altitude_ft"] * FOOT
    )

    assert error(best.value, at["specific_range_m_kg"]) < 0.01
    assert best.mach == pytest.approx(at["mach"], abs=0.01)


def test_ceilings_are_where_the_models_thrust_leaves_the_rate():
    pack, setup = airliner()
    at = rows("ceilings")
    for rate in (100.0, 500.0):
        of_rate = at["rate_ft_min"] == rate
        found = climb_ceiling(
            pack, setup, make_flight_cases(at["mass_kg"][of_rate]), "climb", rate * FOOT / 60.0
        )

        assert found.pressure_altitude / FOOT == pytest.approx(at["altitude_ft"][of_rate], abs=60.0)
