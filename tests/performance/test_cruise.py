"""Cruise: Breguet's range and endurance, and what wind, drag and engines do. Group H names its sources."""

import numpy as np
import pytest
from aeroplanes import make_pack, shipped
from conditions import FOOT, POUND
from external_checks import check, expected, value
from scipy.integrate import quad

from sortiewright.air import speed_of_sound, standard_air
from sortiewright.pack import OutsideTable, make_table, to_si
from sortiewright.performance.cruise import best_cruise, cruise_distance, cruise_fuel
from sortiewright.performance.level_flight import (
    flight_point,
    flight_setup,
    make_flight_cases,
    steady_level_flight,
)

KNOT, MILE, HOUR, GRAVITY = 1852.0 / 3600.0, 1852.0, 3600.0, 9.80665
MASS = 38_000.0 * POUND


def breguet_pack(glide, consumption):
    """Return a pack of constant lift over drag and constant fuel flow over thrust (lb/h/lbf), at any Mach."""
    machs, heights = [0.0, 0.9], [-600.0, 15_000.0]
    axis = np.linspace(-0.001, 0.006, 141)
    pack = make_pack(
        wing_area=60.0, lift=lambda a: a, drag=lambda a: 0.0, maximum_lift=2.0, thrust=0.0, engines=1
    )
    aero = {"angle_of_attack": axis, "mach": machs}
    # An angle of attack of a thousandth: thrust has no part across the path.
    lift = np.repeat(1_000.0 * axis[:, None], 2, axis=1)
    configuration = pack.aero.configurations["only"].model_copy(
        update={
            "lift": make_table("lift", aero, lift),
            "drag": make_table("drag", aero, np.abs(lift) / glide),
        }
    )

    def setting(thrust):
        engine = {"mach": machs, "pressure_altitude": heights}
        flow = thrust / GRAVITY * consumption / HOUR
        return pack.engine.settings["idle"].model_copy(
            update={
                "thrust": make_table("thrust", engine, np.full((2, 2), thrust)),
                "fuel_flow": make_table("fuel_flow", engine, np.full((2, 2), flow)),
            }
        )

    settings = {"idle": setting(0.0), "military": setting(200e3)}
    return pack.model_copy(
        update={
            "aero": pack.aero.model_copy(update={"configurations": {"only": configuration}}),
            "engine": pack.engine.model_copy(update={"settings": settings}),
        }
    )


def breguet(one):
    pack = breguet_pack(value(one, "L_over_D"), value(one, "TSFC"))
    altitude = 9_000.0
    mach = value(one, "TAS", KNOT) / float(speed_of_sound(standard_air(altitude).temperature))
    return pack, flight_setup(pack), {"altitude": altitude, "mach": mach}


@pytest.mark.parametrize("identity", ["X-H01", "X-H02"])
def test_breguet_range_and_endurance(identity):
    one = check(identity)
    pack, setup, how = breguet(one)
    ratio, mass = value(one, "W_initial_over_W_final"), 20_000.0
    leg = cruise_fuel(pack, setup, make_flight_cases(mass), mass * (1.0 - 1.0 / ratio), **how)

    assert leg.air_distance[0] == expected(one, "range", MILE)
    assert leg.time[0] == expected(one, "endurance", HOUR)


def test_breguet_fuel_for_a_range():
    one = check("X-H03")
    pack, setup, how = breguet(one)
    # The source fixes the weight at the end: the start is that and the fuel, so fuel is a fixed point.
    fuel = 0.0
    for _ in range(6):
        cases = make_flight_cases(value(one, "final_weight", POUND) + fuel)
        leg = cruise_distance(pack, setup, cases, value(one, "range", MILE), **how)
        fuel = leg.fuel[0]

    assert fuel == expected(one, "fuel", POUND)


def test_specific_range_in_still_air_and_with_wind():
    one = check("X-H04")
    tas, flow = value(one, "TAS", KNOT), value(one, "fuel_flow", POUND / HOUR)
    altitude, mass, consumption = 9_000.0, 20_000.0, 0.9
    # Lift over drag that makes the stated fuel flow.
    pack = breguet_pack(mass * consumption / HOUR / flow, consumption)
    mach = tas / float(speed_of_sound(standard_air(altitude).temperature))
    level = steady_level_flight(
        pack,
        flight_setup(pack),
        make_flight_cases(mass, headwind=value(one, "headwind", KNOT)),
        mass=mass,
        pressure_altitude=altitude,
        mach=mach,
    )

    assert level.fuel_flow[0] == pytest.approx(flow, rel=1e-3)
    unit = MILE / (1_000.0 * POUND)
    assert level.specific_range[0] == expected(one, "air_nm_per_1000lb", unit)
    assert level.specific_range_over_ground[0] == expected(one, "ground_nm_per_1000lb", unit)
    assert level.specific_endurance[0] == pytest.approx(1.0 / level.fuel_flow[0])


def test_weight_of_a_volume_of_fuel():
    one = check("X-H05")
    volume = to_si(f"{value(one, 'volume')} gal", "m3")
    density = to_si(f"{value(one, 'fuel_density')} kg/l", "kg/m3")

    assert volume * density == expected(one, "weight", POUND)


# Anderson, Aircraft Performance and Design, section 5.14 (from memory): a jet with a parabolic polar flies
# longest at best lift over drag, where CD0 = k CL^2, and farthest at one altitude where CD0 = 3 k CL^2.
@pytest.mark.parametrize(("aim", "part"), [("endurance", 1.0), ("range", 3.0)])
def test_best_speeds_of_a_parabolic_polar(aim, part):
    least, factor, mass, altitude = 0.02, 0.08, 20_000.0, 6_000.0
    pack = breguet_pack(10.0, 0.9)
    axis = np.linspace(-0.001, 0.006, 1401)
    lift = np.repeat(1_000.0 * axis[:, None], 2, axis=1)
    aero = {"angle_of_attack": axis, "mach": [0.0, 0.9]}
    configuration = pack.aero.configurations["only"].model_copy(
        update={
            "lift": make_table("lift", aero, lift),
            "drag": make_table("drag", aero, least + factor * lift**2),
        }
    )
    pack = pack.model_copy(
        update={"aero": pack.aero.model_copy(update={"configurations": {"only": configuration}})}
    )
    found = best_cruise(pack, flight_setup(pack), make_flight_cases(mass), aim, altitude=altitude)
    air = standard_air(altitude)
    coefficient = np.sqrt(least / (part * factor))
    speed = np.sqrt(2.0 * mass * GRAVITY / (air.density * pack.airframe.wing_area * coefficient))

    assert found.tas[0] == pytest.approx(float(speed), rel=5e-3)


def airliner():
    """Return the airliner of X-H06 to X-H08: a parabola through two of the three drags the source gives, and
    the mean of its three fuel flows over thrust. Wing area 122.6 m2, from memory."""
    checks, area, points = [check(f"X-H0{number}") for number in (6, 7, 8)], 122.6, []
    for one in checks[:2]:
        density = standard_air(value(one, "pressure_altitude", FOOT)).density
        q_s = 0.5 * density * value(one, "TAS", KNOT) ** 2 * area
        points.append((value(one, "mass") * GRAVITY / q_s, one["expected"]["clean_drag"]["value"] / q_s))
    (low, low_drag), (high, high_drag) = points
    factor = (high_drag - low_drag) / (high**2 - low**2)
    least = low_drag - factor * low**2
    pack = breguet_pack(16.0, np.mean([one["expected"]["TSFC_implied"]["value"] for one in checks]))
    axis = np.linspace(-0.001, 0.006, 1401)
    aero = {"angle_of_attack": axis, "mach": [0.0, 0.9]}
    lift = np.repeat(1_000.0 * axis[:, None], 2, axis=1)
    configuration = pack.aero.configurations["only"].model_copy(
        update={
            "lift": make_table("lift", aero, lift),
            "drag": make_table("drag", aero, least + factor * lift**2),
        }
    )
    return pack.model_copy(
        update={
            "airframe": pack.airframe.model_copy(update={"wing_area": area}),
            "aero": pack.aero.model_copy(update={"configurations": {"only": configuration}}),
        }
    )


# The third drag is foretold by the other two; fuel flow over thrust differs by 1 % between the three.
@pytest.mark.parametrize("identity", ["X-H06", "X-H07", "X-H08"])
def test_level_flight_of_an_airliner(identity):
    one, pack = check(identity), airliner()
    altitude, mass = value(one, "pressure_altitude", FOOT), value(one, "mass")
    level = steady_level_flight(
        pack,
        flight_setup(pack),
        make_flight_cases(mass),
        mass=mass,
        pressure_altitude=altitude,
        mach=value(one, "TAS", KNOT) / float(speed_of_sound(standard_air(altitude).temperature)),
    )

    assert level.thrust[0] == expected(one, "clean_drag")
    assert level.fuel_flow[0] == expected(one, "fuel_flow")


def dotterel(**how):
    pack = shipped("dotterel")
    return pack, flight_setup(pack, **how)


def test_best_cruise_is_better_than_its_surroundings():
    pack, setup = dotterel()
    cases = make_flight_cases([MASS, 1.2 * MASS], drag_index=[0.0, 40.0])
    found = best_cruise(pack, setup, cases)
    around = [(dh, dm) for dh in (-600.0, 0.0, 600.0) for dm in (-0.03, 0.0, 0.03)]
    for height, mach in around:
        level = steady_level_flight(
            pack,
            setup,
            cases,
            mass=cases.mass,
            pressure_altitude=found.pressure_altitude + height,
            mach=found.mach + mach,
        )

        assert not (level.specific_range > found.value * (1.0 + 1e-3)).any()
    assert not found.at_edge.any()


# Level and unaccelerated means no excess power: at the setting whose thrust is just what is needed.
def test_full_power_in_level_flight_leaves_no_excess_power():
    pack, setup = dotterel()
    cases, altitude = make_flight_cases(MASS), 9_000.0
    speeds = np.linspace(0.6, 1.05, 91)
    point = flight_point(
        pack, setup, cases, "military", mass=MASS, pressure_altitude=altitude, mach=speeds[None, :]
    )
    fastest = speeds[np.flatnonzero(point.energy_rate[0] > 0.0)[-1]]
    level = steady_level_flight(pack, setup, cases, mass=MASS, pressure_altitude=altitude, mach=fastest)
    faster = steady_level_flight(
        pack, setup, cases, mass=MASS, pressure_altitude=altitude, mach=fastest + 0.005
    )

    assert 0.97 < level.power_share[0] <= 1.0
    assert np.isnan(faster.fuel_flow[0])


def test_more_drag_and_more_weight_burn_more():
    pack, setup = dotterel()
    index = make_flight_cases(MASS, drag_index=np.linspace(0.0, 80.0, 5))
    weight = make_flight_cases(np.linspace(0.85, 1.3, 5) * MASS)
    for cases in (index, weight):
        level = steady_level_flight(pack, setup, cases, mass=cases.mass, pressure_altitude=7_000.0, mach=0.75)

        assert (np.diff(level.fuel_flow) > 0.0).all()


def test_one_engine_out_flies_lower_and_less_far():
    pack, both = dotterel()
    _, one = dotterel(failed_engines=1)
    cases = make_flight_cases(MASS)
    best, left = best_cruise(pack, both, cases), best_cruise(pack, one, cases)

    assert left.value[0] < best.value[0]
    assert left.pressure_altitude[0] < best.pressure_altitude[0]


# Headwind: less far over the ground, the same time in the air for the same fuel; the leg takes longer.
def test_headwind_in_cruise():
    pack, setup = dotterel()
    cases = make_flight_cases(MASS, headwind=[0.0, 25.0])
    leg = cruise_distance(pack, setup, cases, 200.0 * MILE, altitude=9_000.0, mach=0.8)
    lasting = cruise_fuel(pack, setup, cases, 500.0, altitude=9_000.0, mach=0.8)

    assert leg.fuel[1] > leg.fuel[0]
    assert leg.air_distance - leg.time * [0.0, 25.0] == pytest.approx(np.full(2, 200.0 * MILE))
    assert lasting.time[0] == lasting.time[1]
    assert lasting.ground_distance[1] == pytest.approx(lasting.air_distance[1] - 25.0 * lasting.time[1])


# As near as straight lines between the points of a table let a quadrature come.
def test_leg_by_distance_and_leg_by_fuel_agree():
    pack, setup = dotterel()
    cases = make_flight_cases([MASS, 1.1 * MASS], headwind=[10.0, -10.0], drag_index=[0.0, 50.0])
    by_distance = cruise_distance(pack, setup, cases, 300.0 * MILE, altitude=9_000.0, mach=0.8)
    by_fuel = cruise_fuel(pack, setup, cases, by_distance.fuel, altitude=9_000.0, mach=0.8)

    assert by_fuel.ground_distance == pytest.approx(by_distance.ground_distance, rel=2e-4)
    assert by_fuel.time == pytest.approx(by_distance.time, rel=2e-4)


# Second road: dt = dm / fuel flow by scipy's adaptive quadrature.
def test_endurance_by_another_quadrature():
    pack, setup = dotterel()
    cases = make_flight_cases(MASS)

    def slowness(mass):
        level = steady_level_flight(pack, setup, cases, mass=mass, pressure_altitude=9_000.0, mach=0.8)
        return 1.0 / float(level.fuel_flow[0])

    time, _ = quad(slowness, MASS - 1_500.0, MASS, epsrel=1e-7, limit=200)

    assert cruise_fuel(pack, setup, cases, 1_500.0, altitude=9_000.0, mach=0.8).time[0] == pytest.approx(
        time, rel=1e-4
    )


def test_headwind_as_fast_as_the_aircraft_gets_nowhere():
    pack, setup = dotterel()
    leg = cruise_distance(
        pack, setup, make_flight_cases(MASS, headwind=300.0), 1e5, altitude=9_000.0, mach=0.8
    )

    assert np.isnan(leg.fuel).all()
    with pytest.raises(ValueError, match="of fuel in an aircraft"):
        cruise_fuel(pack, setup, make_flight_cases(MASS), MASS, altitude=9_000.0, mach=0.8)


def test_bad_input_is_refused_in_words():
    pack, setup = dotterel()
    with pytest.raises(ValueError, match="mass must be positive"):
        make_flight_cases([MASS, -1.0])
    with pytest.raises(ValueError, match="drag_index must be finite"):
        make_flight_cases(MASS, drag_index=np.nan)
    with pytest.raises(ValueError, match="failed engines"):
        flight_setup(pack, failed_engines=2)
    with pytest.raises(ValueError, match="Known: clean"):
        flight_setup(pack, "cleen")
    with pytest.raises(OutsideTable, match="mach"):
        steady_level_flight(
            pack, setup, make_flight_cases(MASS), mass=MASS, pressure_altitude=9_000.0, mach=2.5
        )


# No setting of the ground only may put a step into fuel flow where its table ends.
def test_fuel_flow_has_no_step_over_mach():
    pack, setup = dotterel()
    level = steady_level_flight(
        pack,
        setup,
        make_flight_cases(MASS),
        mass=MASS,
        pressure_altitude=3_000.0 * FOOT,
        mach=np.arange(0.4, 0.8, 0.002)[None, :],
    )

    assert np.abs(np.diff(level.fuel_flow[0])).max() < 0.02 * level.fuel_flow[0].max()
