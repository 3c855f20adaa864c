"""Takeoffs on the engines that are alive, lift that tail and ground change, stops begun half flying."""

from dataclasses import replace

import numpy as np
import pytest
from aeroplanes import balance_arm, shipped
from reference_stop import reference_rejected
from reference_takeoff import reference_takeoff

from sortiewright.air import standard_air
from sortiewright.pack import Pack, make_table
from sortiewright.performance import (
    accelerate_to,
    fly_takeoff,
    make_cases,
    reject,
    release,
    takeoff_and_curves,
    takeoff_setup,
)
from sortiewright.performance.forces import asymmetric_drag

MASS, SEA_LEVEL = 17_300.0, standard_air(0.0, 0.0)


def early_rotation(thrust_line: float, *, decay: float = 1.5, power: str = "maximum") -> Pack:
    """Return the twin jet with its thrust line at a height, m, briefed to rotate before the nose can rise."""
    pack = shipped("dotterel")
    takeoff = pack.technique.takeoff
    table = takeoff.rotation_speed
    early = takeoff.model_copy(
        update={"rotation_speed": replace(table, values=table.values * 0.7), "power": power}
    )
    times = pack.engine.transients.model_copy(update={"failure_decay": decay})
    return pack.model_copy(
        update={
            "airframe": pack.airframe.model_copy(update={"thrust_line_height": thrust_line}),
            "engine": pack.engine.model_copy(update={"transients": times}),
            "technique": pack.technique.model_copy(update={"takeoff": early}),
        }
    )


def cases_of(pack: Pack):
    return make_cases(MASS, balance_arm(pack, 0.295), SEA_LEVEL)


# The reference finds the moment at which the nose rises by its own moments about the centre of gravity, with
# the thrust of that moment, while it integrates over time (tests/support/reference_takeoff.py). The bound is
# that of the steps in a rotation while the burner of the live engine lights: 0.26 % is the worst found.
@pytest.mark.parametrize("thrust_line", [1.5, 2.8])
@pytest.mark.parametrize("before", [5.0, 1.5, 0.3])
@pytest.mark.parametrize("power", ["maximum", "military"])
def test_rotation_after_a_failure_is_where_the_reference_aeroplane_rises(thrust_line, before, power):
    pack = early_rotation(thrust_line, power=power)
    cases = cases_of(pack)
    setup = takeoff_setup(pack, cases)
    failure = float(setup.rotation_speed[0]) - before
    ours = fly_takeoff(setup, failure)
    reference = reference_takeoff(pack, MASS, float(cases.balance_arm[0]), SEA_LEVEL, failure_speed=failure)

    assert ours.ground_run[0] == pytest.approx(reference.ground_run, rel=3e-3)
    assert ours.lift_off_ground_speed[0] == pytest.approx(reference.lift_off_ground_speed, abs=0.1)
    assert ours.distance_to_screen[0] == pytest.approx(reference.distance_to_screen, rel=3e-3)


def test_a_high_thrust_line_lets_the_nose_rise_sooner_on_one_engine_and_a_low_one_later():
    high, low = (takeoff_setup(pack, cases_of(pack)) for pack in (early_rotation(2.6), early_rotation(1.3)))

    assert high.rotation_speed_engine_out[0] < high.rotation_speed[0] - 2.0
    assert low.rotation_speed_engine_out[0] > low.rotation_speed[0] + 2.0


def test_an_engine_that_fails_when_the_nose_could_already_rise_on_the_other_rotates_at_once():
    setup = takeoff_setup(pack := early_rotation(2.6, decay=0.0), cases_of(pack))
    failure = 0.5 * (setup.rotation_speed + setup.rotation_speed_engine_out)
    event = accelerate_to(setup, release(setup), failure)

    assert fly_takeoff(setup, failure).rotation_distance[0] == pytest.approx(event.distance[0], abs=0.5)


def test_curves_over_the_failure_speed_are_the_single_takeoffs_where_the_nosewheel_decides():
    setup = takeoff_setup(pack := early_rotation(2.6), cases_of(pack))
    _, curves = takeoff_and_curves(setup)
    for column in (0, 9, 15, 20, 26):
        single = fly_takeoff(setup, curves.speed[0, column])

        assert curves.go_distance[0, column] == pytest.approx(single.ground_run[0], abs=0.3)


# At lift-off nothing stands on the wheels: lift, less what the tail loses to hold thrust's moment, and the
# vertical part of thrust carry the weight. Written out here from the pack's own tables.
@pytest.mark.parametrize("lift_per_moment", [0.0, -0.4])
def test_at_lift_off_lift_carries_the_weight_less_what_the_tail_loses(lift_per_moment):
    pack = shipped("dotterel")
    control = pack.aero.pitch_control.model_copy(update={"lift_per_moment": lift_per_moment})
    frame = pack.airframe.model_copy(update={"thrust_line_height": 2.4})
    pack = pack.model_copy(
        update={"aero": pack.aero.model_copy(update={"pitch_control": control}), "airframe": frame}
    )
    cases = cases_of(pack)
    setup = takeoff_setup(pack, cases)
    flown = fly_takeoff(setup)
    speed, pitch = flown.lift_off_ground_speed[0], flown.lift_off_pitch[0]
    mach = speed / cases.speed_of_sound[0]
    wing = 0.5 * cases.density[0] * speed**2 * frame.wing_area
    lift = wing * (float(setup.configuration.lift(pitch, mach)) + pack.aero.gear.lift)
    setting = pack.engine.settings["maximum"]
    thrust = 2.0 * float(setting.thrust(mach, 0.0))
    moment = thrust * (2.4 - frame.centre_of_gravity_height)
    carried = lift + lift_per_moment * moment / frame.mean_chord
    carried += thrust * np.sin(pitch + frame.thrust_inclination)

    assert carried == pytest.approx(MASS * 9.80665, rel=2e-3)


def with_lift_factor(pack: Pack, factor: float) -> Pack:
    table = make_table("ground_effect_lift", {"height_over_span": [0.0, 100.0]}, [factor, factor])
    return pack.model_copy(update={"aero": pack.aero.model_copy(update={"ground_effect_lift": table})})


def with_lift(pack: Pack, factor: float) -> Pack:
    configurations = {
        name: one.model_copy(update={"lift": replace(one.lift, values=one.lift.values * factor)})
        for name, one in pack.aero.configurations.items()
    }
    return pack.model_copy(update={"aero": pack.aero.model_copy(update={"configurations": configurations})})


def test_a_lift_factor_that_is_the_same_at_every_height_is_a_wing_with_so_much_lift():
    pack = shipped("whinchat")
    cases = make_cases(3_300.0, balance_arm(pack, 0.27), SEA_LEVEL)
    found = [
        fly_takeoff(takeoff_setup(one, cases)) for one in (with_lift_factor(pack, 1.1), with_lift(pack, 1.1))
    ]
    plain = fly_takeoff(takeoff_setup(pack, cases))

    for name in ("nosewheel_lift_off_cas", "ground_run", "lift_off_cas", "distance_to_screen"):
        by_factor, by_table = (getattr(one, name)[0] for one in found)
        assert by_factor == pytest.approx(by_table, rel=1e-3), name
    assert found[0].ground_run[0] < 0.98 * plain.ground_run[0]


# Drag coefficient = factor Cn^2 up to full rudder, then so much for each Cn beyond it.
def test_drag_of_a_dead_engine_beyond_full_rudder_is_that_of_the_sideslip():
    pack = shipped("dotterel")
    control = pack.aero.directional_control.model_copy(update={"sideslip_drag": 2.0})
    pack = pack.model_copy(update={"aero": pack.aero.model_copy(update={"directional_control": control})})
    frame, pressure = pack.airframe, 1_000.0
    full = control.rudder_yawing_moment
    moment = 1.5 * full * pressure * frame.wing_area * frame.span
    by_rudder = control.asymmetric_drag_factor * full**2

    for held, beyond in ((0.0, 0.5 * full), (0.25, 0.375 * full), (1.0, 0.0)):
        expected = (by_rudder + 2.0 * beyond) * pressure * frame.wing_area
        assert asymmetric_drag(pack, moment, pressure, held_by_wheels=held) == pytest.approx(expected)
    assert asymmetric_drag(pack, moment / 3.0, pressure) == pytest.approx(
        control.asymmetric_drag_factor * (full / 2.0) ** 2 * pressure * frame.wing_area
    )


# With landing flap the trainer's lift passes its weight at 1.4 times rotation speed: above, nothing to brake.
@pytest.mark.parametrize("share", [1.3, 1.4, 1.5, 1.8])
@pytest.mark.parametrize("mass", [2_500.0, 3_400.0])
def test_a_stop_begun_where_lift_carries_the_weight_is_that_of_the_reference(share, mass):
    pack = shipped("whinchat")
    technique = pack.technique.takeoff.model_copy(update={"configuration": "landing"})
    cases = make_cases(mass, balance_arm(pack, 0.295), SEA_LEVEL)
    setup = takeoff_setup(pack, cases, technique)
    speed = share * setup.rotation_speed
    event = accelerate_to(setup, release(setup), speed)
    stop = reject(setup, event, chute=False)
    reference = reference_rejected(pack, mass, SEA_LEVEL, float(speed[0]), chute=False, technique=technique)

    assert stop.distance[0] == pytest.approx(reference.distance, rel=1.2e-3)


# The reference solves for the load on the wheels and the tail's force together, balanced about the centre of
# gravity (tests/support/reference_takeoff.py).
@pytest.mark.parametrize("thrust_line", [1.6, 2.4])
def test_a_takeoff_with_a_tail_that_loses_lift_is_that_of_the_reference(thrust_line):
    pack = shipped("dotterel")
    control = pack.aero.pitch_control.model_copy(update={"lift_per_moment": -0.5})
    frame = pack.airframe.model_copy(update={"thrust_line_height": thrust_line})
    pack = pack.model_copy(
        update={"aero": pack.aero.model_copy(update={"pitch_control": control}), "airframe": frame}
    )
    cases = cases_of(pack)
    ours = fly_takeoff(takeoff_setup(pack, cases))
    plain = fly_takeoff(takeoff_setup(shipped("dotterel"), cases))
    reference = reference_takeoff(pack, MASS, float(cases.balance_arm[0]), SEA_LEVEL)

    assert ours.ground_run[0] == pytest.approx(reference.ground_run, rel=1e-3)
    assert ours.lift_off_ground_speed[0] == pytest.approx(reference.lift_off_ground_speed, abs=0.05)
    assert ours.distance_to_screen[0] == pytest.approx(reference.distance_to_screen, rel=2e-3)
    assert abs(ours.ground_run[0] / plain.ground_run[0] - 1.0) > 0.004
