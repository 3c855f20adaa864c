"""Instantaneous and sustained turns. Group G names the source of each check."""

from dataclasses import replace

import numpy as np
import pytest
from aeroplanes import shipped
from external_checks import check, expected, value
from hypothesis import assume, given, settings
from manoeuvring import FOOT, GRAVITY, POUND, STORES, scenes, thin_pack
from scipy.optimize import brentq

from sortiewright.pack import OutsideTable, make_table
from sortiewright.performance import (
    flight_point,
    flight_setup,
    instantaneous_turn,
    make_flight_cases,
    manoeuvre_limits,
    sustained_turn,
)

POUND_FORCE = POUND * GRAVITY
POUND_A_SQUARE_FOOT = POUND_FORCE / FOOT**2


def excess(scene, load_factor):
    point = flight_point(
        *scene.parts,
        scene.power,
        mass=[scene.mass],
        pressure_altitude=[scene.altitude],
        mach=[scene.mach],
        load_factor=[load_factor],
    )
    return float(point.energy_rate[0])


def both(scene, **how):
    where = {"altitude": [scene.altitude], "mach": [scene.mach]} | how
    return (
        instantaneous_turn(*scene.parts, **where),
        sustained_turn(*scene.parts, power=scene.power, **where),
    )


# X-G10: a parabolic polar, thrust along the path. The dynamic pressure stands for a Mach number at sea level.
def test_sustained_load_factor_of_a_parabolic_polar():
    one = check("X-G10")
    loading = value(one, "W_over_S", POUND_A_SQUARE_FOOT)
    area, mass = 50.0, loading * 50.0 / GRAVITY
    zero, factor = value(one, "CD0"), value(one, "K")
    pack = thin_pack(
        wing_area=area,
        polar=lambda lift: zero + factor * lift**2,
        maximum_lift=1.9,
        thrust=value(one, "T_over_W") * mass * GRAVITY,
    )
    mach = np.sqrt(value(one, "q", POUND_A_SQUARE_FOOT) / (0.7 * 101325.0))
    turn = sustained_turn(
        pack, flight_setup(pack), make_flight_cases(mass), altitude=0.0, mach=mach, power="military"
    )

    assert turn.turn.load_factor[0] == expected(one, "n_sustained")
    assert turn.governed_by[0] == "thrust"


# The definition: what is left over in a sustained turn is nothing. Asked of the forces themselves.
@settings(max_examples=40)
@given(scenes())
def test_specific_excess_power_is_zero_on_the_sustained_turn_line(scene):
    turn = both(scene)[1]
    load = float(turn.turn.load_factor[0])
    assume(turn.governed_by[0] == "thrust" and np.isfinite(load))

    assert excess(scene, load) == pytest.approx(0.0, abs=1e-5)
    assert turn.energy_rate[0] == pytest.approx(0.0, abs=1e-5)


# Second road: Brent's method on the forces, between level flight and what the wing gives.
@settings(max_examples=40)
@given(scenes())
def test_sustained_load_factor_is_the_root_of_excess_power(scene):
    tightest, held = both(scene)
    assume(held.governed_by[0] == "thrust" and np.isfinite(held.turn.load_factor[0]))
    assume(excess(scene, 1.0) > 1e-6)
    root = brentq(
        lambda n: excess(scene, n), 1.0, tightest.turn.load_factor[0] * (1.0 - 1e-9), xtol=1e-10, rtol=1e-12
    )

    assert held.turn.load_factor[0] == pytest.approx(root, abs=1e-6)


@settings(max_examples=40)
@given(scenes())
def test_sustained_turn_is_never_tighter_than_the_instantaneous_one(scene):
    tightest, held = both(scene, stores=STORES[scene.name])
    load = held.turn.load_factor[0]
    assume(np.isfinite(load))

    assert load <= tightest.turn.load_factor[0] * (1.0 + 1e-12)
    assert held.turn.rate[0] <= tightest.turn.rate[0] * (1.0 + 1e-9)
    if held.governed_by[0] != "thrust":
        assert load == pytest.approx(tightest.turn.load_factor[0], rel=1e-8)
        assert held.governed_by[0] == tightest.governed_by[0]
        assert held.energy_rate[0] > 0.0


@settings(max_examples=40)
@given(scenes())
def test_there_is_no_sustained_turn_where_level_flight_cannot_be_held(scene):
    tightest, held = both(scene)
    assume(np.isfinite(tightest.turn.load_factor[0]))

    assert np.isnan(held.turn.load_factor[0]) == (excess(scene, 1.0) < 0.0)
    assert np.isnan(held.fuel_flow[0]) == np.isnan(held.turn.load_factor[0])


@settings(max_examples=40)
@given(scenes())
def test_instantaneous_turn_is_at_the_limit_that_governs_it(scene):
    turn = both(scene, stores=STORES[scene.name])[0]
    limits = manoeuvre_limits(*scene.parts, stores=STORES[scene.name])
    load, governed = turn.turn.load_factor[0], turn.governed_by[0]

    assert np.isnan(load) == (governed in ("stall", "speed"))
    if np.isfinite(load):
        assert 1.0 <= load <= limits.positive[0] * (1.0 + 1e-12)
        assert (load == limits.positive[0]) == (governed == "load factor")


# The wing alone: with no thrust at all the forces carry the load factor, and a thousandth more they do not.
@settings(max_examples=40)
@given(scenes(engines_fail=False))
def test_wing_alone_carries_the_lift_limit_and_no_more(scene):
    pack = scene.pack.model_copy(
        update={"limits": scene.pack.limits.model_copy(update={"angle_of_attack": {}})}
    )
    cases = replace(scene.cases, thrust_factor=np.zeros(1))
    where = {"altitude": [scene.altitude], "mach": [scene.mach]}
    turn = instantaneous_turn(pack, flight_setup(pack), cases, **where)
    assume(turn.governed_by[0] == "lift")

    def carried(load_factor):
        point = flight_point(
            pack,
            flight_setup(pack),
            cases,
            scene.power,
            mass=[scene.mass],
            pressure_altitude=[scene.altitude],
            mach=[scene.mach],
            load_factor=[load_factor],
        )
        return bool(np.isfinite(point.angle_of_attack[0]))

    load = float(turn.turn.load_factor[0])
    assert carried(load * (1.0 - 1e-9))
    # The packs' maximum_lift is up to two hundredths under the peak of their rounded lift tables.
    assert not carried(load * 1.03)


def test_a_case_in_a_batch_is_the_case_alone():
    pack = shipped("dotterel")
    setup = flight_setup(pack)
    cases = make_flight_cases([14_000.0, 17_000.0, 21_000.0], drag_index=[0.0, 40.0, 80.0])
    mach = np.linspace(0.3, 1.2, 7)[None, :]
    heights = np.array([[1_000.0], [5_000.0], [9_000.0]])
    batch = sustained_turn(pack, setup, cases, altitude=heights, mach=mach, power="maximum")
    alone = [
        sustained_turn(
            pack,
            setup,
            cases.take(slice(row, row + 1)),
            altitude=heights[row : row + 1],
            mach=mach,
            power="maximum",
        )
        for row in range(3)
    ]

    for row in range(3):
        assert batch.turn.load_factor[row] == pytest.approx(
            alone[row].turn.load_factor[0], rel=1e-12, nan_ok=True
        )


def test_more_drag_or_fewer_engines_leave_less_to_turn_with():
    pack = shipped("dotterel")
    mach = np.linspace(0.5, 0.95, 10)[None, :]

    def rates(drag_index, failed):
        setup = flight_setup(pack, failed_engines=failed)
        cases = make_flight_cases(16_000.0, drag_index=drag_index)
        return sustained_turn(pack, setup, cases, altitude=3_000.0, mach=mach, power="maximum").turn.rate

    clean = rates(0.0, 0)
    assert (rates(60.0, 0) < clean).all()
    one = rates(0.0, 1)
    assert np.isfinite(one).sum() > 5
    assert not (one >= clean).any()


def test_angle_of_attack_limit_ends_the_turn_before_the_stall():
    pack = shipped("dotterel")
    free = pack.model_copy(update={"limits": pack.limits.model_copy(update={"angle_of_attack": {}})})
    cases, where = make_flight_cases(16_000.0), {"altitude": 3_000.0, "mach": 0.4}
    held = instantaneous_turn(pack, flight_setup(pack), cases, **where)
    stalled = instantaneous_turn(free, flight_setup(free), cases, **where)

    assert (held.governed_by[0], stalled.governed_by[0]) == ("angle of attack", "lift")
    # aero.yaml and limits.yaml of the pack: lift coefficient 1.1277 at 22 deg and Mach 0.4, 1.1379 at 23.
    assert held.turn.load_factor[0] / stalled.turn.load_factor[0] == pytest.approx(1.1277 / 1.1379, rel=1e-3)


def test_turn_outside_the_tables_is_refused():
    pack = shipped("whinchat")
    cases = make_flight_cases(3_000.0)
    with pytest.raises(OutsideTable, match="mach"):
        instantaneous_turn(pack, flight_setup(pack), cases, altitude=0.0, mach=0.9)
    with pytest.raises(OutsideTable, match="pressure_altitude"):
        sustained_turn(pack, flight_setup(pack), cases, altitude=15_000.0, mach=0.5, power="takeoff_power")


# A drag table need not have the angles of the lift table, nor reach as far.
def test_drag_may_be_given_at_angles_of_its_own():
    pack = shipped("dotterel")
    clean = pack.aero.configurations["clean"]
    angles = np.radians(np.append(np.arange(-5.5, 21.0, 1.7), 23.0))
    drag = make_table(
        "drag",
        {"angle_of_attack": angles, "mach": clean.drag.axes[1]},
        clean.drag(angles[:, None], clean.drag.axes[1][None, :]),
    )
    known = {**pack.aero.configurations, "clean": clean.model_copy(update={"drag": drag})}
    odd = pack.model_copy(update={"aero": pack.aero.model_copy(update={"configurations": known})})
    cases, mach = make_flight_cases(16_000.0), np.linspace(0.4, 0.95, 12)[None, :]
    turn = sustained_turn(odd, flight_setup(odd), cases, altitude=3_000.0, mach=mach, power="military")

    assert (turn.governed_by == "thrust").all()
    assert np.abs(turn.energy_rate).max() < 0.01
