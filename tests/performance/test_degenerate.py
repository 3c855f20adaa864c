"""Days on which there is no number: each answer says so, and nothing breaks."""

import numpy as np
import pytest
from aeroplanes import balance_arm, make_pack, shipped
from conditions import KNOT, POUND

from sortiewright.air import Air, standard_air
from sortiewright.pack import OutsideTable
from sortiewright.performance import (
    accelerate_to,
    field_lengths,
    fly_takeoff,
    land,
    make_cases,
    reject,
    release,
    speed_at_distance,
    takeoff_and_curves,
    takeoff_setup,
)

SEA_LEVEL = Air(101325.0, 288.15)


def lengths_of(pack, cases, stop, go=None, **how):
    setup = takeoff_setup(pack, cases, **how)
    all_engines, curves = takeoff_and_curves(setup)
    return all_engines, field_lengths(setup, all_engines, curves, stop, stop if go is None else go)


def slippery(idle_thrust=0.0):
    """Return an aeroplane whose wheels find next to no grip."""
    return make_pack(
        wing_area=40.0,
        lift=lambda alpha: 0.2 + 4.0 * alpha,
        drag=lambda alpha: 0.03,
        maximum_lift=1.3,
        thrust=60e3,
        idle_thrust=idle_thrust,
        braking_friction=0.003,
        rolling_friction=0.003,
    )


# On ice every stop is longer than going on, from any failure speed: no intersection, and no critical field
# length.
def test_no_critical_field_length_on_ice():
    _, lengths = lengths_of(slippery(), make_cases(13_000.0, 11.0, SEA_LEVEL), 2_500.0)

    assert lengths.stop_always_longer[0]
    assert np.isnan(lengths.critical_speed[0])
    assert np.isnan(lengths.critical_field_length[0])


# Idle thrust over friction: the aircraft keeps rolling, which is an answer.
def test_idle_thrust_on_ice_never_stops():
    pack, cases = slippery(idle_thrust=3e3), make_cases(13_000.0, 11.0, SEA_LEVEL)
    setup = takeoff_setup(pack, cases)
    stop = reject(setup, accelerate_to(setup, release(setup), np.array([30.0])))
    _, lengths = lengths_of(pack, cases, 4_000.0)

    assert np.isinf(stop.distance[0])
    assert lengths.never_stops[0]
    assert np.isnan(lengths.refusal_speed[0])
    assert np.isinf(land(pack, cases).ground_roll[0])


def test_refusal_speed_above_lift_off():
    pack = shipped("dotterel")
    cases = make_cases(30_000.0 * POUND, balance_arm(pack, 0.30), SEA_LEVEL)
    takeoff, lengths = lengths_of(pack, cases, 4_000.0)

    assert np.isfinite(takeoff.ground_run[0])
    assert lengths.stops_from_lift_off[0]
    assert np.isnan(lengths.refusal_speed[0])
    assert not lengths.never_stops[0]


def test_runway_that_is_shorter_than_any_stop():
    pack = shipped("dotterel")
    cases = make_cases(50_000.0 * POUND, balance_arm(pack, 0.30), SEA_LEVEL)
    _, lengths = lengths_of(pack, cases, 30.0)

    assert lengths.never_stops[0]
    assert lengths.never_goes[0]
    assert not lengths.stops_from_lift_off[0]


# Between refusal speed and minimum go speed neither fits: the uncovered band of a runway under the critical
# length.
def test_uncovered_band_on_a_runway_under_the_critical_field_length():
    pack = shipped("dotterel")
    cases = make_cases(46_000.0 * POUND, balance_arm(pack, 0.295), SEA_LEVEL)
    _, enough = lengths_of(pack, cases, 3_000.0)
    length = enough.critical_field_length[0]
    _, short = lengths_of(pack, cases, 0.9 * length)
    _, long = lengths_of(pack, cases, 1.1 * length)

    assert short.refusal_speed[0] < enough.critical_speed[0] < short.minimum_go_speed[0]
    assert long.refusal_speed[0] > enough.critical_speed[0] > long.minimum_go_speed[0]


def heavy_nosed(name="dotterel"):
    """Return a pack whose tail is too weak to raise the nose."""
    pack = shipped(name)
    control = pack.aero.pitch_control.model_copy(update={"moment_per_angle": 0.01})
    return pack.model_copy(update={"aero": pack.aero.model_copy(update={"pitch_control": control})})


def test_nose_that_never_rises():
    pack = heavy_nosed()
    cases = make_cases(17_000.0, balance_arm(pack, 0.28), SEA_LEVEL)
    takeoff, lengths = lengths_of(pack, cases, 2_500.0)

    assert np.isinf(takeoff.nosewheel_lift_off_cas[0])
    assert np.isinf(takeoff.ground_run[0])
    assert np.isinf(takeoff.distance_to_screen[0])
    assert np.isnan(takeoff.lift_off_cas[0])
    assert lengths.never_goes[0]
    assert np.isfinite(fly_takeoff(takeoff_setup(shipped("dotterel"), cases)).ground_run[0])


# Where the net force vanishes before lift-off no runway is long enough: inf, not an exception.
@pytest.mark.parametrize("slope", [0.0, 0.02, 0.9])
def test_thrust_that_cannot_reach_lift_off(slope):
    pack = make_pack(
        wing_area=40.0,
        lift=lambda alpha: 0.2 + 4.0 * alpha,
        drag=lambda alpha: 0.2,
        maximum_lift=1.3,
        thrust=6e3,
    )
    cases = make_cases([13_000.0, 13_000.0], 11.0, SEA_LEVEL, slope=[slope, 0.0])
    takeoff, lengths = lengths_of(pack, cases, 2_500.0)

    assert np.isinf(takeoff.ground_run).all()
    assert np.isinf(takeoff.lift_off_time).all()
    assert lengths.never_goes.all()


# A wing that flies in ground effect and not above it.
def test_lift_off_that_cannot_climb_away():
    pack = make_pack(
        wing_area=40.0,
        span=8.0,
        wing_height=0.2,
        lift=lambda alpha: 0.2 + 4.0 * alpha,
        drag=lambda alpha: 0.02 + 0.5 * (0.2 + 4.0 * alpha) ** 2,
        maximum_lift=1.5,
        thrust=12e3,
    )
    cases = make_cases(13_000.0, 11.0, SEA_LEVEL)
    takeoff = fly_takeoff(takeoff_setup(pack, cases, takeoff_attitude=np.radians(12.0)))

    assert np.isfinite(takeoff.ground_run[0])
    assert np.isinf(takeoff.distance_to_screen[0])


def test_single_engine_aircraft_never_goes_on():
    pack = shipped("whinchat")
    cases = make_cases(6_500.0 * POUND, balance_arm(pack, 0.255), SEA_LEVEL)
    takeoff, lengths = lengths_of(pack, cases, 1_500.0)
    failed = fly_takeoff(takeoff_setup(pack, cases), 30.0)

    assert np.isfinite(takeoff.ground_run[0])
    assert np.isinf(failed.ground_run[0])
    assert lengths.never_goes[0]
    assert np.isnan(lengths.critical_speed[0])
    assert np.isnan(lengths.minimum_go_speed[0])


# No wind is nought of either sign, and a breath of it changes next to nothing.
@pytest.mark.parametrize("name", ["dotterel", "whinchat"])
def test_no_wind_is_between_a_breath_ahead_and_behind(name):
    pack = shipped(name)
    mass = 17_000.0 if name == "dotterel" else 3_000.0
    share = 0.295 if name == "dotterel" else 0.255
    cases = make_cases(mass, balance_arm(pack, share), SEA_LEVEL, headwind=[0.0, -0.0, 0.1, -0.1])
    takeoff = fly_takeoff(takeoff_setup(pack, cases))
    roll = land(pack, cases).ground_roll
    still, negative_nought, ahead, behind = takeoff.ground_run

    assert still == negative_nought
    assert ahead < still < behind
    assert roll[2] < roll[0] < roll[3]
    assert takeoff.lift_off_cas == pytest.approx(takeoff.lift_off_cas[0], rel=1e-3)


def test_gale_that_lifts_off_on_the_spot():
    pack = shipped("whinchat")
    cases = make_cases(2_600.0, balance_arm(pack, 0.255), SEA_LEVEL, headwind=70.0)
    takeoff = fly_takeoff(takeoff_setup(pack, cases))

    assert takeoff.ground_run[0] == pytest.approx(0.0, abs=30.0)


def test_attitude_stops_at_the_tail_strike():
    pack = shipped("dotterel")
    cases = make_cases(24_000.0, balance_arm(pack, 0.295), SEA_LEVEL)
    low = takeoff_setup(pack, cases, takeoff_attitude=pack.airframe.tail_strike_attitude)
    high = takeoff_setup(pack, cases, takeoff_attitude=1.0)

    assert fly_takeoff(high).ground_run == pytest.approx(fly_takeoff(low).ground_run, rel=1e-12)


def test_speed_at_a_marker_beyond_the_run_is_not_a_number():
    pack = shipped("dotterel")
    _, curves = takeoff_and_curves(
        takeoff_setup(pack, make_cases(17_000.0, balance_arm(pack, 0.3), SEA_LEVEL))
    )
    speeds = speed_at_distance(curves, np.array([[0.0, 300.0, 20_000.0]]))

    assert np.isnan(speeds[0]).tolist() == [True, False, True]


@pytest.mark.parametrize(
    ("conditions", "table", "axis"),
    [
        ({"air": standard_air(0.0, 80.0)}, "temperature_factor", "isa_deviation"),
        ({"air": standard_air(-1_500.0)}, "thrust", "pressure_altitude"),
        ({"runway_condition_reading": 40.0}, "braking_friction", "runway_condition_reading"),
        ({"mass": 40_000.0}, "rotation_speed", "mass"),
        ({"headwind": -250.0}, "lift", "mach"),
    ],
)
def test_outside_a_table_names_table_and_axis(conditions, table, axis):
    pack = shipped("dotterel")
    arguments = {"mass": 17_000.0, "balance_arm": balance_arm(pack, 0.3), "air": SEA_LEVEL} | conditions

    with pytest.raises(OutsideTable, match=rf"table \S*{table}\S*, axis {axis}: .* is outside .* to "):
        lengths_of(pack, make_cases(**arguments), 2_400.0)


def test_attitude_outside_the_lift_table_is_refused():
    pack = shipped("dotterel")
    frame = pack.airframe.model_copy(update={"tail_strike_attitude": np.radians(60.0)})
    pack = pack.model_copy(update={"airframe": frame})
    setup = takeoff_setup(
        pack, make_cases(17_000.0, balance_arm(pack, 0.3), SEA_LEVEL), takeoff_attitude=np.radians(50.0)
    )

    with pytest.raises(OutsideTable, match="axis angle_of_attack"):
        fly_takeoff(setup)


# The aircraft of a heavy, hot, high day that leaves the ground on two engines and not on one.
def test_one_engine_too_few():
    pack = shipped("dotterel")
    air = standard_air(1_500.0, 25.0)
    cases = make_cases(53_000.0 * POUND, balance_arm(pack, 0.30), air, slope=0.01, drag_index=100.0)
    takeoff, lengths = lengths_of(pack, cases, 3_500.0)
    early = fly_takeoff(takeoff_setup(pack, cases), 60.0 * KNOT)

    assert np.isfinite(takeoff.ground_run[0])
    assert np.isinf(early.ground_run[0])
    assert not lengths.goes_from_any[0]
