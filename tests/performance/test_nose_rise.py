"""The start of a rotation: the stick's travel and the inertia, against an integration step by step."""

import numpy as np
import pytest
from aeroplanes import shipped
from scipy.integrate import solve_ivp

from sortiewright.air import Air, tas_from_cas
from sortiewright.performance import accelerate_to, fly_takeoff, make_cases, release, takeoff_setup
from sortiewright.performance.forces import case_thrust
from sortiewright.performance.liftoff import Attitude, _pitch, _raising_time
from sortiewright.performance.nosewheel import nosewheel_balance

KNOT = 1852.0 / 3600.0
RADIUS = 4.0  # m
SEA_LEVEL = Air(101_325.0, 288.15)  # ICAO Doc 7488


def with_inertia(radius, stick_time=0.0, *, name="dotterel"):
    pack = shipped(name)
    frame = pack.airframe.model_copy(update={"pitch_radius_of_gyration": radius})
    takeoff = pack.technique.takeoff.model_copy(update={"stick_travel_time": stick_time})
    technique = pack.technique.model_copy(update={"takeoff": takeoff})
    return pack.model_copy(update={"airframe": frame, "technique": technique})


def setup_of(pack, **changes):
    mass = np.array([17_000.0, 19_500.0, 21_000.0])
    return takeoff_setup(pack, make_cases(mass, pack.mass.basic_arm, SEA_LEVEL), **changes)


def step_by_step(setup, row, stick_time, acceleration):
    """Integrate pitch rate, pitch and speed from planned rotation until the rate is there."""
    pack, cases = setup.pack, setup.cases.take(np.array([row]))
    frame, technique = pack.airframe, setup.technique
    setting = pack.engine.settings[technique.power]
    rate = float(setup.attitude.pitch_rate[row])
    before = frame.main_wheel_arm - float(cases.balance_arm[0])
    height = frame.centre_of_gravity_height
    inertia = float(cases.mass[0]) * (frame.pitch_radius_of_gyration**2 + before**2 + height**2)
    start = float(np.asarray(tas_from_cas(setup.planned_rotation_cas[row], cases.air))[0])
    balances = {}

    def surplus(time):
        stick = 1.0 if stick_time == 0.0 else min(time / stick_time, 1.0)
        speed = np.array([start + acceleration * time])
        key = round(stick, 6)
        if key not in balances:
            balances[key] = nosewheel_balance(
                pack, cases, setup.configuration, technique.power, stick_aft=stick
            )
        thrust = pack.engine.count * case_thrust(setting, speed / cases.speed_of_sound, cases)
        return float(balances[key].surplus(speed, thrust)[0])

    def derivative(time, state):
        moment = surplus(time)
        held_down = state[1] <= 0.0 and moment < 0.0
        return [0.0 if held_down else moment / inertia, state[0]]

    def there(time, state):
        return state[0] - rate

    there.terminal = True
    done = solve_ivp(derivative, (0.0, 30.0), [0.0, 0.0], events=there, max_step=0.01, rtol=1e-8, atol=1e-10)
    risen = done.t[np.flatnonzero(done.y[1] > 0.0)[0] - 1]
    return risen, done.t[-1] - risen, done.y[1][-1]


@pytest.mark.parametrize("stick_time", [0.0, 0.6, 1.2])
@pytest.mark.parametrize("knots", [110.0, 135.0, 150.0])
def test_the_rate_is_there_when_an_integration_step_by_step_says_so(knots, stick_time):
    """The closed form takes moments to grow evenly: a few hundredths of the time."""
    setup = setup_of(with_inertia(RADIUS, stick_time), rotation_cas=knots * KNOT)
    planned = np.asarray(tas_from_cas(setup.planned_rotation_cas, setup.cases.air))
    without = setup_of(shipped("dotterel"), rotation_cas=knots * KNOT)
    for row in range(3):
        acceleration = acceleration_of(setup, row)
        risen, build_up, gained = step_by_step(setup, row, stick_time, acceleration)
        left = float(setup.rotation_speed[row] + setup.cases.headwind[row])

        assert left == pytest.approx(planned[row] + acceleration * risen, abs=0.35)
        assert setup.rise.build_up[row] == pytest.approx(build_up, rel=0.06, abs=0.03)
        assert setup.rise.gained[row] == pytest.approx(gained, rel=0.10, abs=0.002)
        assert left >= without.rotation_speed[row] - 1e-9


def acceleration_of(setup, row):
    at = setup.rotation_speed
    one, two = accelerate_to(setup, release(setup), at), accelerate_to(setup, release(setup), at + 0.5)
    return float(0.5 / (two.time - one.time)[row])


def test_an_aircraft_that_turns_slower_runs_longer():
    runs = [fly_takeoff(setup_of(with_inertia(radius, 1.0))).ground_run for radius in (1.0, 3.0, 5.0)]
    at_once = fly_takeoff(setup_of(shipped("dotterel"))).ground_run

    assert (at_once < runs[0]).all()
    assert (runs[0] < runs[1]).all()
    assert (runs[1] < runs[2]).all()


def test_without_a_radius_of_gyration_the_travel_of_the_stick_changes_nothing():
    plain = fly_takeoff(setup_of(shipped("dotterel")))
    pack = with_inertia(None, 1.0)

    assert np.array_equal(fly_takeoff(setup_of(pack)).ground_run, plain.ground_run)


def test_cases_taken_out_of_a_batch_fly_as_they_do_alone():
    setup = setup_of(with_inertia(RADIUS, 1.0))
    failing = np.array([60.0, 62.0, 64.0])
    rows = np.array([2, 0])
    whole, part = fly_takeoff(setup, failing), fly_takeoff(setup.take(rows), failing[rows])

    assert part.distance_to_screen == pytest.approx(whole.distance_to_screen[rows], rel=1e-6)


def test_pitch_reaches_its_rate_smoothly_and_its_target_in_the_time_told():
    attitude = Attitude(
        np.array([0.05, 0.05]), np.array([0.20, 0.03]), 2.0, np.array([1.0, 1.2]), np.array([0.02, 0.024])
    )
    law = _pitch(0.01, attitude)
    step = 1e-6
    slope = (law(attitude.build_up + step) - law(attitude.build_up - step)) / (2.0 * step)
    done = _raising_time(0.01, attitude)

    assert law(np.zeros(2)) == pytest.approx(0.01)
    assert law(attitude.build_up)[0] == pytest.approx(0.03)
    assert slope[0] == pytest.approx(0.05, rel=1e-4)
    assert law(done) == pytest.approx(attitude.target)
    assert (law(0.98 * done) < attitude.target).all()
    assert np.array_equal(law(np.full(2, 60.0)), attitude.target)
