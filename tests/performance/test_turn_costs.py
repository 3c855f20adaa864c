"""Time, fuel and speed of a stated turn, against closed forms and another integrator."""

import numpy as np
import pytest
from aeroplanes import shipped
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from manoeuvring import GRAVITY, scenes, thin_pack
from scipy.integrate import solve_ivp

from sortiewright.air import standard_air
from sortiewright.performance import (
    flight_point,
    flight_setup,
    instantaneous_turn,
    make_flight_cases,
    steady_level_flight,
    sustained_turn,
    turn_cost,
)


def cost(scene, degrees=180.0, power=None, **how):
    return turn_cost(
        *scene.parts,
        altitude=scene.altitude,
        mach=scene.mach,
        heading_change=np.radians(degrees),
        power=power or scene.power,
        **how,
    )


# Closed form: no thrust and drag a tenth of lift. dV/dpsi = -n V/(10 sqrt(n^2 - 1)), so speed decays
# exponentially with heading, and time is the integral of V/(g sqrt(n^2 - 1)).
def test_turn_without_thrust_decays_exponentially_with_heading():
    ratio, load, tas = 10.0, 3.0, 250.0
    pack = thin_pack(wing_area=60.0, polar=lambda lift: abs(lift) / ratio, maximum_lift=1.9, thrust=0.0)
    mach = tas / float(standard_air(0.0).speed_of_sound)
    setup, cases = flight_setup(pack), make_flight_cases(9_000.0)
    turn = turn_cost(
        pack,
        setup,
        cases,
        altitude=0.0,
        mach=mach,
        heading_change=np.pi,
        power="military",
        load_factor=load,
    )
    sideways = np.sqrt(load**2 - 1.0)
    decay = load / (ratio * sideways)

    assert turn.tas_at_end[0] == pytest.approx(tas * np.exp(-decay * np.pi), rel=1e-4)
    assert turn.time[0] == pytest.approx(
        tas * (1.0 - np.exp(-decay * np.pi)) / (decay * GRAVITY * sideways), rel=1e-4
    )
    assert turn.speed_lost[0] == pytest.approx(tas - turn.tas_at_end[0])
    assert not turn.is_speed_held[0]


# Second road: Newton's law over time with the forces themselves, by an adaptive integrator.
@settings(max_examples=12)
@given(scenes(engines_fail=False), st.floats(0.7, 1.0), st.floats(20.0, 180.0))
def test_turn_that_loses_speed_is_that_of_another_integrator(scene, share, degrees):
    pack, setup, cases = scene.parts
    where = {"altitude": [scene.altitude], "mach": [scene.mach]}
    most = float(instantaneous_turn(pack, setup, cases, **where).turn.load_factor[0])
    assume(np.isfinite(most) and most * share > 1.3)
    load = most * share
    turn = cost(scene, degrees, load_factor=load)
    assume(not turn.is_speed_held[0] and np.isfinite(turn.time[0]))
    sound = float(standard_air(scene.altitude, scene.isa_deviation).speed_of_sound)

    def pulled(mach):
        at = {"altitude": [scene.altitude], "mach": [mach]}
        return min(load, float(instantaneous_turn(pack, setup, cases, **at).turn.load_factor[0]))

    def rates(_, state):
        mach, n = state[0] / sound, pulled(state[0] / sound)
        point = flight_point(
            pack,
            setup,
            cases,
            scene.power,
            mass=[scene.mass],
            pressure_altitude=[scene.altitude],
            mach=[mach],
            load_factor=[n * (1.0 - 1e-9)],
        )
        return [
            GRAVITY * point.energy_rate[0] / state[0],
            GRAVITY * np.sqrt(n**2 - 1.0) / state[0],
            point.fuel_flow[0],
        ]

    def round_it_is(_, state):
        return state[1] - np.radians(degrees)

    round_it_is.terminal = True
    flown = solve_ivp(
        rates,
        (0.0, 4.0 * float(turn.time[0])),
        [scene.mach * sound, 0.0, 0.0],
        events=round_it_is,
        rtol=1e-6,
        atol=1e-6,
    )

    assert turn.time[0] == pytest.approx(flown.t[-1], rel=1e-3)
    assert turn.tas_at_end[0] == pytest.approx(flown.y[0, -1], rel=1e-3)
    assert turn.fuel[0] == pytest.approx(flown.y[2, -1], rel=2e-3)
    assert turn.load_factor_at_end[0] == pytest.approx(pulled(flown.y[0, -1] / sound), rel=4e-3)


@settings(max_examples=30)
@given(scenes(), st.floats(10.0, 360.0))
def test_sustained_turn_takes_its_heading_over_its_rate_and_its_flow(scene, degrees):
    held = sustained_turn(*scene.parts, altitude=[scene.altitude], mach=[scene.mach], power=scene.power)
    turn = cost(scene, degrees)
    assume(held.turn.load_factor[0] >= 1.05)

    assert turn.time[0] == pytest.approx(np.radians(degrees) / held.turn.rate[0])
    assert turn.fuel[0] == pytest.approx(turn.time[0] * held.fuel_flow[0])
    assert turn.speed_lost[0] == 0.0
    assert turn.is_speed_held[0]


@settings(max_examples=30)
@given(scenes(engines_fail=False))
def test_an_easier_turn_is_flown_at_part_power_and_holds_its_speed(scene):
    held = sustained_turn(*scene.parts, altitude=[scene.altitude], mach=[scene.mach], power=scene.power)
    most = held.turn.load_factor[0]
    assume(most > 1.4)
    load = 1.0 + 0.6 * (most - 1.0)
    turn = cost(scene, 90.0, load_factor=load)
    level = steady_level_flight(
        *scene.parts,
        mass=[scene.mass],
        pressure_altitude=[scene.altitude],
        mach=[scene.mach],
        power=scene.power,
        load_factor=load,
    )

    assert turn.is_speed_held[0]
    assert turn.tas_at_end[0] == turn.tas[0]
    # Rate from Newton's law: g sqrt(n^2 - 1)/V.
    assert turn.time[0] == pytest.approx(
        np.pi / 2.0 * turn.tas[0] / (GRAVITY * np.sqrt(load**2 - 1.0)), rel=1e-7
    )
    assert turn.fuel[0] == pytest.approx(turn.time[0] * level.fuel_flow[0], nan_ok=True, rel=1e-6)


def test_two_quarters_make_a_half():
    pack = shipped("dotterel")
    setup, cases = flight_setup(pack), make_flight_cases(16_000.0)

    def part(mach, degrees):
        return turn_cost(
            pack,
            setup,
            cases,
            altitude=6_000.0,
            mach=mach,
            heading_change=np.radians(degrees),
            power="military",
            load_factor=4.0,
        )

    whole, first = part(0.9, 180.0), part(0.9, 90.0)
    second = part(first.mach_at_end, 90.0)

    assert not whole.is_speed_held[0]
    assert first.time[0] + second.time[0] == pytest.approx(whole.time[0], rel=1e-3)
    assert first.fuel[0] + second.fuel[0] == pytest.approx(whole.fuel[0], rel=1e-3)
    assert second.mach_at_end[0] == pytest.approx(whole.mach_at_end[0], rel=1e-3)


def test_a_bank_is_the_load_factor_it_asks_for():
    pack = shipped("whinchat")
    setup, cases = flight_setup(pack), make_flight_cases(3_000.0)
    where = {"altitude": 2_000.0, "mach": 0.45, "heading_change": 2.0, "power": "takeoff_power"}
    by_bank = turn_cost(pack, setup, cases, bank=np.radians(60.0), **where)
    by_load = turn_cost(pack, setup, cases, load_factor=2.0, **where)

    assert by_bank.time[0] == pytest.approx(by_load.time[0], rel=1e-9)
    assert by_bank.load_factor[0] == pytest.approx(2.0)


def test_a_turn_that_the_wing_cannot_lift_has_no_cost():
    pack = shipped("dotterel")
    setup, cases = flight_setup(pack), make_flight_cases([16_000.0, 16_000.0])
    turn = turn_cost(
        pack,
        setup,
        cases,
        altitude=9_000.0,
        mach=[0.5, 0.9],
        heading_change=1.0,
        power="maximum",
        load_factor=3.0,
    )

    assert np.isnan([turn.time[0], turn.fuel[0], turn.tas_at_end[0], turn.load_factor[0]]).all()
    assert np.isfinite([turn.time[1], turn.fuel[1]]).all()


def test_a_turn_that_runs_out_of_speed_is_not_completed():
    pack = shipped("dotterel")
    setup, cases = flight_setup(pack), make_flight_cases(20_000.0, drag_index=60.0)
    turn = turn_cost(
        pack,
        setup,
        cases,
        altitude=12_500.0,
        mach=0.85,
        heading_change=4.0 * np.pi,
        power="idle",
        load_factor=1.5,
    )

    assert np.isnan(turn.time[0])
    assert np.isnan(turn.mach_at_end[0])


@pytest.mark.parametrize(
    ("how", "message"),
    [
        ({"load_factor": 2.0, "bank": 1.0}, "give one of the two"),
        ({"load_factor": 1.0}, "must be 1.02 or more, got 1"),
        ({"bank": np.radians(95.0)}, "less than 90 deg, got 95 deg"),
        ({"bank": 0.0}, "11 to less than 90 deg, got 0 deg"),
        ({"heading_change": 0.0}, "above 0, got 0 deg"),
        ({"power": "warp"}, 'power setting "warp" is not in the pack'),
    ],
)
def test_turn_that_is_not_stated_well_is_refused(how, message):
    pack = shipped("dotterel")
    where = {"altitude": 3_000.0, "mach": 0.7, "heading_change": 1.0, "power": "maximum"} | how
    with pytest.raises(ValueError, match=message):
        turn_cost(pack, flight_setup(pack), make_flight_cases(16_000.0), **where)
