"""Takeoff, engine failure and rejected takeoff against worked examples: group E names the source of each."""

from types import SimpleNamespace

import numpy as np
import pytest
from aeroplanes import constant_power, make_pack, shipped
from dymos_aeroplane import FOOT, KNOT, POUND_FORCE, dymos_cases, dymos_pack, technique
from external_checks import check, expected, value
from scipy.optimize import root

from sortiewright.air import Air, standard_air
from sortiewright.pack import RejectedTakeoff, TakeoffTechnique
from sortiewright.performance import (
    StopMeans,
    accelerate_to,
    field_lengths,
    fly_takeoff,
    make_cases,
    reject,
    release,
    speed_at_distance,
    stall_speed,
    stop_from,
    takeoff_and_curves,
    takeoff_setup,
)
from sortiewright.performance.liftoff import Attitude, NearRotation, climb_to_screen, rotate_and_lift_off
from sortiewright.performance.power import power_history

SEA_LEVEL = Air(101325.0, 288.15)
SLUG_PER_CUBIC_FOOT = 14.593903 / FOOT**3


@pytest.fixture(scope="module")
def dymos():
    pack, cases = dymos_pack(), dymos_cases()
    return SimpleNamespace(
        pack=pack, cases=cases, setup=takeoff_setup(pack, cases), only=pack.aero.configurations["only"]
    )


def at(dymos, knots):
    return accelerate_to(dymos.setup, release(dymos.setup), np.array([knots * KNOT]))


# X-E01. In the source the whole rotation and the climb's angle of attack are optimised; what binds at the
# optimum is 35 ft passed at 1.25 times the stalling speed on a path of 5 deg. Here pitch is prescribed:
# rotation at a steady rate on the wheels, then a pull, all but at once, to a new attitude. The rate on the
# wheels and that attitude are set to meet the source's two conditions, and the failure speed to make stop and
# go equal.
def test_balanced_field_length(dymos):
    one = check("X-E01")
    pull = np.radians([40.0])

    def fly(rate_deg, attitude_deg, failure_speed):
        setup = takeoff_setup(dymos.pack, dymos.cases, technique(rate_deg))
        failure = accelerate_to(setup, release(setup), np.array([failure_speed]))
        rotation = accelerate_to(setup, failure, setup.rotation_speed, failure.time)
        forces = NearRotation(
            dymos.pack,
            dymos.cases,
            power_history(setup.power, failure.time, 1),
            dymos.only,
            rotation.speed,
            setup.attitude.target,
        )
        lift_off = rotate_and_lift_off(
            forces, rotation, setup.attitude, rolling_friction=setup.rolling_friction
        )
        climb = Attitude(pull, np.radians([attitude_deg]))
        return setup, failure, lift_off, climb_to_screen(forces, lift_off, climb, screen_height=35.0 * FOOT)

    def missed(unknown):
        setup, failure, _, screen = fly(*unknown)
        return [
            screen.speed[0] / dymos.setup.stall_speed[0] - 1.25,
            np.degrees(screen.climb_angle[0]) - 5.0,
            (reject(setup, failure).distance[0] - screen.distance[0]) / 1000.0,
        ]

    found = root(missed, [1.7, 11.0, 76.0], tol=1e-6)
    setup, failure, lift_off, screen = fly(*found.x)

    assert found.success
    assert screen.distance[0] == expected(one, "balanced_field_length")
    assert failure.speed[0] == expected(one, "V1", KNOT)
    assert setup.rotation_speed[0] == expected(one, "VR", KNOT)
    assert lift_off.speed[0] == expected(one, "liftoff_speed", KNOT)
    assert lift_off.distance[0] == expected(one, "distance_to_liftoff")


# X-E02
def test_stalling_speed(dymos):
    one, cases = check("X-E02"), dymos.cases
    speed = stall_speed(dymos.pack, dymos.only, cases.weight, cases.density, cases.speed_of_sound)

    assert speed[0] == expected(one, "Vs", KNOT)
    assert dymos.setup.rotation_speed[0] == expected(one, "1.2 Vs", KNOT)


# X-E03
def test_ground_roll_to_a_speed(dymos):
    one = check("X-E03")
    reached = at(dymos, value(one, "V1"))

    assert reached.distance[0] == expected(one, "distance")
    assert reached.time[0] == expected(one, "time")


# X-E04
def test_stop_from_a_speed_without_thrust(dymos):
    one = check("X-E04")
    start = at(dymos, value(one, "V1"))
    stop = reject(dymos.setup, start)

    assert stop.distance[0] - start.distance[0] == expected(one, "distance")
    assert stop.distance[0] == expected(one, "accelerate_stop_total")


# X-E05
def test_ground_roll_on_one_engine(dymos):
    one = check("X-E05")
    failure = at(dymos, value(one, "V1"))
    rotation = accelerate_to(dymos.setup, failure, dymos.setup.rotation_speed, failure.time)

    assert rotation.distance[0] - failure.distance[0] == expected(one, "distance")


# X-E06
def test_accelerate_and_stop(dymos):
    one = check("X-E06")
    start = at(dymos, value(one, "abort_speed"))
    stop = reject(dymos.setup, start)

    assert start.distance[0] == expected(one, "accelerate")
    assert stop.distance[0] - start.distance[0] == expected(one, "stop")
    assert stop.distance[0] == expected(one, "total")


# X-E07
def test_refusal_speed(dymos):
    one = check("X-E07")
    all_engines, curves = takeoff_and_curves(dymos.setup)
    lengths = field_lengths(dymos.setup, all_engines, curves, value(one, "runway"), 2500.0)

    assert lengths.refusal_speed[0] == expected(one, "refusal_speed", KNOT)


def uniform_pack(acceleration, deceleration, *, delay=0.0, lift_off_tas=72.0, mass=10_000.0):
    """Return an aeroplane without drag or rolling friction that lifts off as its nose comes up.

    The engines go to idle at once, and idle is no thrust: until the brakes bite, the speed is constant.
    """
    lift = 2.0 * mass * 9.80665 / (1.225 * 30.0 * lift_off_tas**2)
    return make_pack(
        wing_area=30.0,
        lift=lambda alpha: 1.001 * lift if alpha > np.radians(5.0) else 0.0,
        drag=lambda alpha: 0.0,
        maximum_lift=2.0,
        thrust=mass * acceleration,
        engines=1,
        rolling_friction=0.0,
        braking_friction=deceleration / 9.80665,
        takeoff=TakeoffTechnique(
            configuration="only",
            power="military",
            release_power="military",
            rotation_speed_over_stall=1.0,
            pitch_rate=np.radians(1e9),
            takeoff_attitude=np.radians(6.0),
            rejected=RejectedTakeoff(recognition=0.0, brakes_on=delay),
        ),
    )


# X-E08
def test_uniform_acceleration_delay_and_stop():
    one = check("X-E08")
    pack = uniform_pack(
        value(one, "acceleration", FOOT), value(one, "deceleration", FOOT), delay=value(one, "delay")
    )
    setup = takeoff_setup(pack, make_cases(10_000.0, 11.0, SEA_LEVEL))
    start = accelerate_to(setup, release(setup), np.array([value(one, "abort_speed", KNOT)]))
    at_once = StopMeans(setup.configuration, brakes_on=0.0)
    braked = stop_from(pack, setup.cases, setup.power, start, at_once)
    stop = reject(setup, start)

    assert start.distance[0] == expected(one, "accelerate", FOOT)
    assert stop.distance[0] - braked.distance[0] == expected(one, "delay", FOOT)
    assert braked.distance[0] - start.distance[0] == expected(one, "stop", FOOT)
    assert stop.distance[0] == expected(one, "total", FOOT)


# X-E09
def test_refusal_speed_under_uniform_acceleration():
    one = check("X-E09")
    pack = uniform_pack(
        value(one, "acceleration", FOOT),
        value(one, "deceleration", FOOT),
        delay=value(one, "delay"),
        lift_off_tas=95.0,
    )
    setup = takeoff_setup(pack, make_cases(10_000.0, 11.0, SEA_LEVEL), rotation_cas=95.0)
    all_engines, curves = takeoff_and_curves(setup)
    lengths = field_lengths(setup, all_engines, curves, value(one, "runway", FOOT), 1e5)

    assert lengths.refusal_speed[0] == expected(one, "refusal_speed", KNOT)


# X-E10
def test_line_speeds_under_uniform_acceleration():
    one = check("X-E10")
    lift_off = value(one, "liftoff_speed", KNOT)
    pack = uniform_pack(lift_off**2 / 2.0 / value(one, "ground_run", FOOT), 3.0, lift_off_tas=lift_off)
    setup = takeoff_setup(pack, make_cases(10_000.0, 11.0, SEA_LEVEL), rotation_cas=lift_off)
    _, curves = takeoff_and_curves(setup)
    markers = np.array([one["inputs"]["marker"]]) * FOOT
    tolerance = one["tol"]["speed_at_marker_kt"]["abs"]

    assert speed_at_distance(curves, markers)[0] / KNOT == pytest.approx(
        one["expected"]["speed_at_marker_kt"], abs=tolerance
    )


# X-E11: with thrust far above drag and friction the printed effects of a tenth more weight are those of
# constant thrust over mass; lift-off speed goes with the root of weight.
def test_a_tenth_more_weight():
    one = check("X-E11")
    pack = uniform_pack(8.0, 3.0)
    more = 1.0 + value(one, "weight_increase") / 100.0
    cases = make_cases([10_000.0, 10_000.0 * more], 11.0, SEA_LEVEL)
    setup = takeoff_setup(pack, cases, rotation_cas=1.3 * np.array([55.0, 55.0 * np.sqrt(more)]))
    done = fly_takeoff(setup)
    speed_ratio = setup.stall_speed[1] / setup.stall_speed[0]
    mean = done.lift_off_ground_speed**2 / 2.0 / done.ground_run

    assert 100.0 * (speed_ratio - 1.0) == expected(one, "takeoff_speed_increase")
    assert 100.0 * (1.0 - mean[1] / mean[0]) == expected(one, "acceleration_decrease")
    assert 100.0 * (done.ground_run[1] / done.ground_run[0] - 1.0) == expected(
        one, "distance_increase_at_least"
    )


# X-E12
def test_wind_of_a_tenth_of_lift_off_speed():
    one, lift_off = check("X-E12"), 72.0
    wind = value(one, "wind") / 100.0 * lift_off
    cases = make_cases(10_000.0, 11.0, SEA_LEVEL, headwind=[0.0, wind, -wind])
    done = fly_takeoff(takeoff_setup(uniform_pack(3.0, 3.0), cases, rotation_cas=lift_off))
    still, head, tail = done.ground_run

    assert head / still == expected(one, "headwind_distance_factor")
    assert tail / still == expected(one, "tailwind_distance_factor")


# X-E16
def test_ground_run_of_a_twin_jet():
    one = check("X-E16")
    points = np.array(one["inputs"]["thrust_points_lbf_at_ft_s"])
    curve = np.polynomial.Polynomial.fit(points[:, 1] * FOOT, points[:, 0] * POUND_FORCE, 2)
    air = Air(101325.0, 288.15)
    lift, drag = value(one, "CL_ground"), value(one, "CD_ground")
    pack = make_pack(
        wing_area=value(one, "S", FOOT**2),
        lift=lambda alpha: lift,
        drag=lambda alpha: drag,
        maximum_lift=value(one, "CLmax"),
        thrust=0.0,
        engines=1,
        rolling_friction=value(one, "mu_roll"),
    )
    power = constant_power(lambda mach: curve(mach * air.speed_of_sound), mach=np.linspace(0.0, 0.6, 401))
    settings = pack.engine.settings | {"military": power}
    pack = pack.model_copy(update={"engine": pack.engine.model_copy(update={"settings": settings})})
    mass = value(one, "W", POUND_FORCE) / 9.80665
    setup = takeoff_setup(pack, make_cases(mass, 11.0, air))
    lift_off = 1.1 * setup.stall_speed
    reached = accelerate_to(setup, release(setup), lift_off)

    assert value(one, "rho", SLUG_PER_CUBIC_FOOT) == pytest.approx(float(air.density), rel=1e-4)
    assert lift_off[0] == expected(one, "liftoff_speed", FOOT)
    assert reached.distance[0] == expected(one, "ground_run", FOOT)
    assert reached.time[0] == expected(one, "time")


# X-E17, indicative: rolling on dry concrete 0.02 and on hard turf 0.04, braking on a dry hard surface 0.20 to
# 0.40.
@pytest.mark.parametrize("name", ["dotterel", "whinchat"])
def test_packs_have_ordinary_ground_friction(name):
    concrete, turf, _ = check("X-E17")["expected"]["mu"]
    wheels = shipped(name).wheels

    assert concrete <= wheels.rolling_friction <= turf
    assert 0.20 <= wheels.braking_friction(23.0) <= 0.40


# X-E18 corrects a test roll for wind by (1 + wind / lift-off ground speed) ** 1.85, from flight test; the
# exponent is from memory. Its value is arithmetic that no function here does, and the tolerance of a foot
# belongs to that. What can be held against it is the exponent: uniform acceleration gives 2, thrust that
# falls with speed and a rotation of fixed duration give less.
@pytest.mark.parametrize("name", ["dotterel", "whinchat"])
def test_wind_shortens_the_ground_run_as_flight_tests_find(name):
    pack, wind = shipped(name), value(check("X-E18"), "headwind", KNOT)
    mass = 17_200.0 if name == "dotterel" else 3_300.0
    cases = make_cases(mass, pack.mass.basic_arm - 0.1, standard_air(0.0), headwind=[0.0, wind])
    done = fly_takeoff(takeoff_setup(pack, cases))
    ratio = done.ground_run[0] / done.ground_run[1]
    exponent = np.log(ratio) / np.log(1.0 + wind / done.lift_off_ground_speed[1])

    assert 1.7 <= exponent <= 2.0
