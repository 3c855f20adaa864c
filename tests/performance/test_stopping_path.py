"""The way of a stop, against the reference aeroplane integrated over time."""

import numpy as np
import pytest
from reference_path import Rejection, landing_way, rejected_way
from reference_takeoff import Aeroplane

from sortiewright.air import Air
from sortiewright.pack import load_pack
from sortiewright.performance import (
    RunState,
    accelerate_to,
    landing_means,
    make_cases,
    release,
    stop_from,
    stop_means,
    stop_path,
    takeoff_setup,
)

AIR = Air(np.array([96_000.0]), np.array([293.0]))
CASES = {"dotterel": (14_800.0, 67.0, 70.0, 8.0), "whinchat": (2_800.0, 43.0, 42.0, 4.0)}
"""Mass kg, ground speed at touchdown and at the rejection m/s, headwind m/s."""


@pytest.mark.parametrize("name", CASES)
def test_the_way_of_a_landing_is_that_of_the_reference_aeroplane(name):
    mass, speed, _, wind = CASES[name]
    pack = load_pack(name).pack
    technique = pack.technique.landing
    means = landing_means(pack, technique, pack.aero.configurations[technique.configuration])
    start = RunState(np.zeros(1), np.zeros(1), np.array([speed]))
    path = stop_path(pack, make_cases(mass, 4.0, AIR, headwind=wind), None, start, means)
    way = landing_way(Aeroplane(pack, mass, Air(AIR.pressure[0], AIR.temperature[0]), wind), speed)

    # A force that jumps with speed inside a step of half a second leaves some decimetres.
    assert path.distance[-1] == pytest.approx(way.distance[-1], abs=1.0)
    for time in np.linspace(0.5, way.time[-1] - 0.5, 12):
        distance, ground_speed = path.at(time)
        assert distance == pytest.approx(way.at(time)[0], abs=1.0)
        assert ground_speed == pytest.approx(way.at(time)[1], abs=0.3)


@pytest.mark.parametrize("name", CASES)
def test_the_way_of_a_rejection_is_that_of_the_reference_aeroplane(name):
    mass, _, speed, wind = CASES[name]
    pack = load_pack(name).pack
    setup = takeoff_setup(pack, make_cases(mass, 4.0, AIR, headwind=wind))
    at = accelerate_to(setup, release(setup), np.array([speed]))
    means = stop_means(setup, chute=True)
    path = stop_path(pack, setup.cases, setup.power, at, means)
    order = Rejection(speed, means.brakes_on, means.chute_commanded)
    plane = Aeroplane(pack, mass, Air(AIR.pressure[0], AIR.temperature[0]), wind)
    way, closed = rejected_way(plane, pack.technique.takeoff, order)

    assert at.distance[0] == pytest.approx(way.at(closed)[0], rel=1e-3)
    for time in np.linspace(0.5, way.time[-1] - closed - 0.5, 12):
        distance, ground_speed = path.at(time)
        assert distance == pytest.approx(way.at(closed + time)[0], rel=1e-3, abs=1.5)
        assert ground_speed == pytest.approx(way.at(closed + time)[1], abs=0.3)


def test_the_way_ends_where_the_stop_does():
    pack = load_pack("dotterel").pack
    setup = takeoff_setup(pack, make_cases(16_000.0, 4.0, AIR))
    at = accelerate_to(setup, release(setup), np.array([65.0]))
    means = stop_means(setup, chute=True)
    path = stop_path(pack, setup.cases, setup.power, at, means)
    stop = stop_from(pack, setup.cases, setup.power, at, means)

    assert path.distance[-1] == pytest.approx(stop.distance[0], abs=1.0)
    assert path.time[-1] == pytest.approx(stop.time[0] - at.time[0], abs=0.1)
    assert path.speed[-1] == 0.0
    assert path.brakes_on == means.brakes_on
    assert path.chute_out == means.chute_commanded


def test_brakes_take_hold_once_the_nose_is_down():
    pack = load_pack("dotterel").pack
    technique = pack.technique.landing
    means = landing_means(pack, technique, pack.aero.configurations[technique.configuration])
    start = RunState(np.zeros(1), np.zeros(1), np.array([70.0]))
    path = stop_path(pack, make_cases(14_000.0, 4.0, AIR), None, start, means)

    # The pack lowers the nose at 95 kt calibrated; in air of 1.1414 kg/m3 that is 1.036 times as much over
    # the ground, compressibility aside.
    assert technique.free_roll_time < path.brakes_on
    assert path.at(path.brakes_on)[1] == pytest.approx(95 * 1852 / 3600 * np.sqrt(1.225 / 1.1414), abs=0.2)
