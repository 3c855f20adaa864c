"""Climb gradient, trim, and control at low speed, each by a second road."""

import csv

import numpy as np
import pytest
from aeroplanes import balance_arm, make_pack, shipped
from conditions import FOOT, POUND
from reference_takeoff import Aeroplane, reference_takeoff
from scipy.optimize import root

from sortiewright.air import Air, standard_air
from sortiewright.pack import pack_folder
from sortiewright.performance import (
    climb_gradient,
    fly_takeoff,
    fuel_flow_per_engine,
    make_cases,
    minimum_control_ground_speed,
    nosewheel_lift_off_speed,
    roll_control_speed,
    takeoff_setup,
    takeoff_trim,
    thrust_per_engine,
)

SEA_LEVEL = Air(101325.0, 288.15)
MASS, AREA = 15_000.0, 40.0
WEIGHT = MASS * 9.80665


# Anderson, Aircraft Performance and Design, eq. 5.77: at an angle of attack of nought with the thrust along
# the body, T = W (sin g + CD/CL cos g) and V^2 = 2 W cos g/(rho S CL) give the angle exactly.
@pytest.mark.parametrize("angle", [0.1, 0.02, -0.03])
def test_steady_climb_angle(angle):
    lift, drag = 0.8, 0.09
    pack = make_pack(
        wing_area=AREA,
        lift=lambda alpha: lift + 4.0 * alpha,
        drag=lambda alpha: drag,
        maximum_lift=1.6,
        engines=1,
        thrust=WEIGHT * (np.sin(angle) + drag / lift * np.cos(angle)),
    )
    cases = make_cases(MASS, 11.0, SEA_LEVEL)
    speed = np.sqrt(2.0 * WEIGHT * np.cos(angle) / (cases.density * AREA * lift))
    climb = climb_gradient(pack, cases, pack.aero.configurations["only"], speed, "military")

    assert climb.angle[0] == pytest.approx(angle, abs=1e-6)
    assert climb.angle_of_attack[0] == pytest.approx(0.0, abs=1e-6)
    assert climb.rate[0] == pytest.approx(speed[0] * np.sin(angle), rel=1e-4)
    # Plain geometry: height over the ground passed, the air carrying the aircraft back by the wind.
    assert climb.over_ground(speed, 10.0)[0] == pytest.approx(
        speed[0] * np.sin(angle) / (speed[0] * np.cos(angle) - 10.0), rel=1e-4
    )


def steady_flight(plane, configuration, speed, power, failed):
    """Return path angle and angle of attack: both force balances in Cartesian components, solved by scipy."""
    pack, polar = plane.pack, plane.polar(configuration)
    pressure = 0.5 * plane.density * speed**2
    each = plane.thrust_of[power](speed)
    dead = plane.failed_drag(pressure, each) if failed else 0.0
    thrust = (pack.engine.count - failed) * each

    def unbalanced(unknown):
        path, alpha = unknown
        lift, parasite, due = polar(alpha, speed)
        lift = pressure * pack.airframe.wing_area * lift
        drag = pressure * pack.airframe.wing_area * (parasite + due) + dead
        nose = path + alpha + pack.airframe.thrust_inclination
        along = thrust * np.cos(nose) - drag * np.cos(path) - lift * np.sin(path)
        up = thrust * np.sin(nose) - drag * np.sin(path) + lift * np.cos(path) - plane.weight
        return [along / plane.weight, up / plane.weight]

    found = root(unbalanced, [0.05, 0.12], tol=1e-12)
    assert found.success
    return found.x


@pytest.mark.parametrize("failed", [0, 1])
@pytest.mark.parametrize("mass_lb", [32_000.0, 46_000.0])
def test_climb_of_the_demo_jet_by_another_road(failed, mass_lb):
    pack, air, speed = shipped("dotterel"), standard_air(600.0, 10.0), 95.0
    configuration = pack.aero.configurations["takeoff"]
    path, alpha = steady_flight(
        Aeroplane(pack, mass_lb * POUND, air), configuration, speed, "maximum", failed
    )
    cases = make_cases(mass_lb * POUND, 9.0, air)
    climb = climb_gradient(pack, cases, configuration, speed, "maximum", failed_engines=failed)

    assert climb.angle[0] == pytest.approx(path, abs=1e-5)
    assert climb.angle_of_attack[0] == pytest.approx(alpha, abs=1e-5)


def test_climb_is_not_a_number_below_flying_speed():
    pack = shipped("whinchat")
    cases = make_cases([3_000.0, 3_500.0], 4.8, SEA_LEVEL)
    climb = climb_gradient(pack, cases, pack.aero.configurations["takeoff"], [60.0, 25.0], "takeoff_power")

    assert np.isnan(climb.angle).tolist() == [False, True]


def trimmed(plane, configuration, arm, speed, power):
    """Return trim units: forces and moments about the centre of gravity in body axes, by cross products."""
    pack, polar = plane.pack, plane.polar(configuration)
    frame, control = pack.airframe, pack.aero.pitch_control
    q_s = 0.5 * plane.density * speed**2 * frame.wing_area
    thrust = pack.engine.count * plane.thrust_of[power](speed)
    gravity = np.array([arm, frame.centre_of_gravity_height])
    centre = np.array([frame.moment_reference_arm, frame.moment_reference_height])

    def unbalanced(unknown):
        alpha, units = unknown
        lift, parasite, due = polar(alpha, speed)
        lift, drag = q_s * (lift + pack.aero.gear.lift), q_s * (parasite + due + pack.aero.gear.drag)
        # Arms grow backwards, heights upwards, along the body.
        air = np.array(
            [drag * np.cos(alpha) - lift * np.sin(alpha), lift * np.cos(alpha) + drag * np.sin(alpha)]
        )
        surface = control.trim_zero_angle + units * control.trim_unit_angle
        couple = configuration.pitching_moment_zero + configuration.pitching_moment_slope * alpha
        couple = (
            q_s
            * frame.mean_chord
            * (couple + pack.aero.gear.pitching_moment + control.moment_per_angle * surface)
        )
        lever = centre - gravity
        # A force up, ahead of the centre, and a force backwards, above it, raise the nose.
        moment = couple - lever[0] * air[1] + lever[1] * air[0]
        moment -= thrust * (frame.thrust_line_height - gravity[1])
        across = lift + thrust * np.sin(alpha + frame.thrust_inclination) - plane.weight
        return [across / plane.weight, moment / (plane.weight * frame.mean_chord)]

    found = root(unbalanced, [0.1, 3.0], tol=1e-12)
    assert found.success
    return found.x[1]


@pytest.mark.parametrize(
    ("name", "mass", "share", "speed"),
    [
        ("dotterel", 17_300.0, 0.295, 92.0),
        ("dotterel", 22_000.0, 0.27, 100.0),
        ("whinchat", 3_300.0, 0.26, 60.0),
    ],
)
def test_takeoff_trim_by_another_road(name, mass, share, speed):
    pack, air = shipped(name), standard_air(300.0, 5.0)
    configuration = pack.aero.configurations["takeoff"]
    arm, power = balance_arm(pack, share), pack.technique.takeoff.power
    units = takeoff_trim(pack, make_cases(mass, arm, air), configuration, speed, power)

    assert units[0] == pytest.approx(
        trimmed(Aeroplane(pack, mass, air), configuration, arm, speed, power), abs=1e-3
    )


# A tail-heavy aircraft needs less nose-up trim: statics.
@pytest.mark.parametrize("name", ["dotterel", "whinchat"])
def test_balance_aft_needs_less_nose_up_trim(name):
    pack = shipped(name)
    arms = balance_arm(pack, np.array([0.24, 0.28, 0.32]))
    mass, speed = (17_300.0, 92.0) if name == "dotterel" else (3_300.0, 60.0)
    power = pack.technique.takeoff.power
    units = takeoff_trim(
        pack, make_cases(mass, arms, SEA_LEVEL), pack.aero.configurations["takeoff"], speed, power
    )

    assert (np.diff(units) < 0.0).all()


# 14 CFR 25.149(e), no nosewheel steering: q S b Cn = (T + D) y, both engines alike and thrust constant.
def test_minimum_control_ground_speed():
    pack = make_pack(
        wing_area=AREA,
        lift=lambda a: 0.2,
        drag=lambda a: 0.05,
        maximum_lift=1.4,
        thrust=70e3,
        windmilling=0.2,
    )
    frame = pack.airframe.model_copy(update={"engine_side_arm": 0.7})
    pack = pack.model_copy(update={"airframe": frame})
    speed = minimum_control_ground_speed(pack, make_cases(MASS, 11.0, SEA_LEVEL), "military")[0]
    pressure = 0.5 * 1.225 * speed**2
    rudder = pressure * AREA * frame.span * pack.aero.directional_control.rudder_yawing_moment

    assert rudder == pytest.approx((70e3 + 0.2 * pressure) * 0.7, rel=1e-5)


# n g sum(m y) = q S b Cl, half of the roll control kept for manoeuvre (common practice, no source).
def test_roll_control_speed():
    pack = shipped("dotterel")
    speed = roll_control_speed(pack, make_cases(MASS, 9.0, SEA_LEVEL), -1500.0, load_factor=1.5)[0]
    frame, control = pack.airframe, pack.aero.directional_control
    available = 0.5 * 1.225 * speed**2 * frame.wing_area * frame.span * control.roll_control_rolling_moment

    assert 0.5 * available == pytest.approx(1500.0 * 9.80665 * 1.5, rel=1e-5)


def test_one_engine_on_the_centre_line_needs_no_rudder():
    pack = shipped("whinchat")

    assert minimum_control_ground_speed(pack, make_cases(3_300.0, 4.8, SEA_LEVEL), "takeoff_power")[0] == 0.0


def test_control_is_not_a_number_where_the_pack_does_not_give_it():
    pack = shipped("dotterel")
    pack = pack.model_copy(update={"aero": pack.aero.model_copy(update={"directional_control": None})})
    cases = make_cases(MASS, 9.0, SEA_LEVEL)

    assert np.isnan(minimum_control_ground_speed(pack, cases, "maximum")).all()
    assert np.isnan(roll_control_speed(pack, cases, 500.0)).all()


# Less stick or a lower tail needs more speed, and trim only counts where it moves the stick's full travel.
def test_nosewheel_lift_off_by_stick_and_trim():
    pack = shipped("dotterel")
    cases = make_cases(17_300.0, balance_arm(pack, 0.295), SEA_LEVEL)

    def speed(pack, **how):
        return nosewheel_lift_off_speed(pack, cases, pack.aero.configurations["takeoff"], "maximum", **how)[0]

    control = pack.aero.pitch_control.model_copy(update={"trim_moves_full_travel": True})
    moving = pack.model_copy(update={"aero": pack.aero.model_copy(update={"pitch_control": control})})

    assert speed(pack, stick_aft=0.8) > speed(pack)
    assert speed(pack, trim_units=6.0) == pytest.approx(speed(pack), rel=1e-12)
    assert speed(moving, trim_units=6.0) < speed(moving)


# The file's own numbers at its own points: reading a table is no place for a model.
def test_thrust_at_the_points_of_the_file():
    with (pack_folder("dotterel") / "tables" / "maximum_thrust.csv").open(encoding="utf-8") as file:
        (_, *altitudes), *rows = list(csv.reader(line for line in file if not line.startswith("#")))
    pounds = np.array([row[1:4] for row in rows[:4]], dtype=float)
    mach = np.array([[float(row[0])] for row in rows[:4]])
    altitude = np.array([float(text) for text in altitudes[:3]]) * FOOT
    setting = shipped("dotterel").engine.settings["maximum"]
    factor = setting.thrust_temperature_factor(-10.0)

    assert thrust_per_engine(setting, mach, altitude, -10.0) == pytest.approx(
        pounds * POUND * 9.80665 * factor, rel=1e-9
    )
    assert fuel_flow_per_engine(setting, 0.2, 0.0, 20.0) == pytest.approx(
        setting.fuel_flow(0.2, 0.0) * setting.fuel_flow_temperature_factor(20.0)
    )


# The pack may say that the balance of the tail decides: the run grows by as much as the nose comes up late.
def test_late_nosewheel_lengthens_the_run():
    pack, air = shipped("dotterel"), SEA_LEVEL
    early, late = balance_arm(pack, 0.33), balance_arm(pack, 0.25)
    runs = fly_takeoff(takeoff_setup(pack, make_cases(14_500.0, [early, late], air))).ground_run
    reference = [reference_takeoff(pack, 14_500.0, arm, air).ground_run for arm in (early, late)]

    assert runs[1] > runs[0]
    assert runs == pytest.approx(reference, rel=2e-3)
