"""What the integration along the runway keeps: energy, its order, and answers that do not hang on the
step."""

import numpy as np
import pytest
from aeroplanes import balance_arm, make_pack, shipped
from reference_stop import RunwayForces
from reference_takeoff import Aeroplane, Engines

from sortiewright.air import Air, standard_air
from sortiewright.pack import EngineTransients, TakeoffTechnique
from sortiewright.performance import (
    accelerate_to,
    fly_takeoff,
    land,
    liftoff,
    make_cases,
    reject,
    release,
    stopping,
    takeoff_setup,
)
from sortiewright.performance import ground_run as ground_run_module

MASS = {"dotterel": 17_500.0, "whinchat": 3_300.0}
SHARE = {"dotterel": 0.295, "whinchat": 0.255}


def setup_of(name, **conditions):
    pack = shipped(name)
    cases = make_cases(
        MASS[name], balance_arm(pack, SHARE[name]), standard_air(300.0, 5.0), **{"headwind": 4.0} | conditions
    )
    return takeoff_setup(pack, cases)


# Work of all forces is the kinetic energy gained. The forces are those of the reference, along the run as
# computed; the trapezium rule over 400 points leaves under 0.01 %.
@pytest.mark.parametrize("name", ["dotterel", "whinchat"])
def test_work_of_the_forces_is_the_kinetic_energy(name):
    setup = setup_of(name, slope=0.01)
    pack, cases = setup.pack, setup.cases
    speeds = np.linspace(0.0, setup.rotation_speed[0], 401)[1:]
    run = accelerate_to(many := setup.take(np.zeros(speeds.size, dtype=np.intp)), release(many), speeds)
    plane = Aeroplane(pack, MASS[name], standard_air(300.0, 5.0), headwind=4.0, slope=0.01)
    engines, forces = Engines(plane, setup.technique), RunwayForces(plane, setup.configuration)

    def push(time, speed):
        thrust = engines.count * engines.one(time, speed + 4.0)
        return forces(speed, thrust, pack.airframe.static_ground_attitude)[0]

    time, distance = np.append(0.0, run.time), np.append(0.0, run.distance)
    force = [push(t, v) for t, v in zip(time, np.append(0.0, speeds), strict=True)]
    work = np.trapezoid(force, distance)

    assert work == pytest.approx(0.5 * cases.mass[0] * speeds[-1] ** 2, rel=1.5e-3)


def growing_thrust():
    """Return a takeoff whose thrust grows all along the run and whose forces are smooth."""
    pack = make_pack(
        wing_area=40.0,
        lift=lambda alpha: 0.3,
        drag=lambda alpha: 0.08,
        maximum_lift=1.3,
        thrust=60e3,
        idle_thrust=25e3,
        transients=EngineTransients(idle_to_military=60.0, military_to_idle=2.0),
        takeoff=TakeoffTechnique(
            configuration="only",
            power="military",
            release_power="idle",
            rotation_speed_over_stall=1.1,
            pitch_rate=0.08,
            takeoff_attitude=0.2,
        ),
    )
    return takeoff_setup(pack, make_cases(15_000.0, 11.0, Air(101325.0, 288.15)))


# Classical Runge-Kutta is of fourth order (Hairer, Norsett and Wanner, section II.1): half the step, a
# sixteenth of the error.
def test_integration_over_speed_is_of_fourth_order(monkeypatch):
    setup = growing_thrust()

    def distance(steps):
        monkeypatch.setattr(ground_run_module, "RUN_STEPS", steps)
        return accelerate_to(setup, release(setup), np.array([55.0])).distance[0]

    exact = distance(128)
    coarse, fine = (abs(distance(steps) - exact) for steps in (8, 16))

    assert 10.0 < coarse / fine < 24.0


def distances(setup):
    """Return every distance a takeoff, its rejection and a landing have."""
    event = accelerate_to(setup, release(setup), 0.7 * setup.rotation_speed)
    takeoff, failed = fly_takeoff(setup), fly_takeoff(setup, 0.7 * setup.rotation_speed)
    landing = land(setup.pack, setup.cases)
    numbers = [
        takeoff.ground_run,
        takeoff.distance_to_screen,
        failed.ground_run,
        failed.distance_to_screen,
        reject(setup, event).distance,
        landing.ground_roll,
    ]
    return np.array([number[0] for number in numbers if np.isfinite(number[0])])


@pytest.mark.parametrize("name", ["dotterel", "whinchat"])
@pytest.mark.parametrize(
    "changes",
    [
        {(ground_run_module, "RUN_STEPS"): 2.0},
        {(ground_run_module, "CHANGE_STEPS"): 2.0},
        {(liftoff, "ROTATION_STEPS"): 2.0, (liftoff, "PITCH_STEPS"): 2.0},
        {
            (liftoff, "FINE_STEP"): 0.5,
            (liftoff, "FINE_COUNT"): 2.0,
            (liftoff, "CLIMB_STEP"): 0.5,
            (liftoff, "CLIMB_COUNT"): 2.0,
            (liftoff, "HELD_STEP"): 0.5,
            (liftoff, "HELD_COUNT"): 2.0,
        },
        {(stopping, "TRANSIENT_STEP"): 0.5},
    ],
    ids=["run", "change", "rotation", "climb", "stop"],
)
def test_half_the_step_changes_a_distance_by_less_than_a_thousandth(name, changes, monkeypatch):
    setup = setup_of(name)
    before = distances(setup)
    for (module, constant), factor in changes.items():
        kept = getattr(module, constant)
        monkeypatch.setattr(module, constant, type(kept)(kept * factor))
    after = distances(setup)

    assert after == pytest.approx(before, rel=1e-3)
    assert len(after) >= 4


# Entered at speed with thrust already set, the run saves what that speed would have cost. (With the power set
# while rolling it may well cost more than a standing start: the trainer is released at takeoff power.)
def test_rolling_start_at_full_power_saves_runway():
    standing = setup_of("whinchat", headwind=0.0)
    rolling = takeoff_setup(standing.pack, standing.cases, start_speed=8.0)
    saved = accelerate_to(standing, release(standing), np.array([8.0])).distance

    assert fly_takeoff(standing).ground_run - fly_takeoff(rolling).ground_run == pytest.approx(saved, abs=0.5)


# A run split in two ends where the whole one does.
@pytest.mark.parametrize("name", ["dotterel", "whinchat"])
def test_run_in_two_parts(name):
    setup = setup_of(name)
    whole = accelerate_to(setup, release(setup), np.array([45.0]))
    part = accelerate_to(setup, accelerate_to(setup, release(setup), np.array([20.0])), np.array([45.0]))

    assert part.distance[0] == pytest.approx(whole.distance[0], rel=1.5e-3)
    assert part.time[0] == pytest.approx(whole.time[0], rel=2e-3)
