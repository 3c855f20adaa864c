"""What must hold on any day: searched by hypothesis on both shipped packs."""

from itertools import pairwise

import numpy as np
import pytest
from conditions import days
from hypothesis import given, settings
from hypothesis import strategies as st

from sortiewright.performance import (
    accelerate_to,
    field_lengths,
    fly_takeoff,
    land,
    reject,
    release,
    stop_and_go,
    takeoff_and_curves,
)

FEW = settings(max_examples=10)
ALIKE = 1.0 + 1e-4  # the chute adds steps, which alone may move a distance by a hundredth of a percent

# Each makes a takeoff harder, by more than the integration's error of 0.1 %.
WORSE = {
    "heavier": lambda day, size: day.but(mass=day.mass * (1.01 + 0.1 * size)),
    "hotter": lambda day, size: day.but(warmer=day.warmer + 2.0 + 10.0 * size),
    "higher": lambda day, size: day.but(altitude=day.altitude + 60.0 + 600.0 * size),
    "less headwind": lambda day, size: day.but(headwind=day.headwind - 0.5 - 2.0 * size),
    "more upslope": lambda day, size: day.but(slope=day.slope + 0.002 + 0.01 * size),
    "more drag": lambda day, size: day.but(drag_index=day.drag_index + 20.0 + 20.0 * size),
}


@pytest.mark.parametrize("change", WORSE)
@FEW
@given(day=days(), size=st.floats(0.0, 1.0))
def test_ground_run_is_never_shortened_by_being(change, day, size):
    easy, hard = (fly_takeoff(d.setup()).ground_run[0] for d in (day, WORSE[change](day, size)))

    assert hard >= easy


@FEW
@given(day=days(), more=st.floats(0.003, 0.03))
def test_ground_run_is_never_shortened_by_rolling_friction(day, more):
    friction = day.pack.wheels.rolling_friction
    easy, hard = (
        fly_takeoff(day.setup(rolling_friction=mu)).ground_run[0] for mu in (friction, friction + more)
    )

    assert hard >= easy


# The moment of the weight about the main wheels grows as the balance moves forward.
@FEW
@given(day=days(), forward=st.floats(0.0, 0.05))
def test_balance_forward_never_lowers_nosewheel_lift_off(day, forward):
    aft, fore = (d.setup().nosewheel_lift_off_speed[0] for d in (day, day.but(share=day.share - forward)))

    assert fore >= aft


def known(lengths):
    """Return the refusal speed as a number: 0 where no stop fits, inf where all do."""
    refusal = np.where(lengths.stops_from_lift_off, np.inf, lengths.refusal_speed)
    return np.where(lengths.never_stops, 0.0, refusal)


@FEW
@given(day=days())
def test_refusal_speed_never_rises_as_the_runway_shortens(day):
    setup = day.setup()
    all_engines, curves = takeoff_and_curves(setup)
    speeds = [
        float(known(field_lengths(setup, all_engines, curves, runway, runway))[0])
        for runway in (4_000.0, 3_000.0, 2_400.0, 2_000.0, 1_500.0, 1_000.0, 500.0)
    ]

    assert not np.isnan(speeds).any()
    assert all(shorter <= longer for longer, shorter in pairwise(speeds))


# The definition: the stop from the refusal speed just fits, to 0.2 %, which is what the stop itself is good
# for.
@FEW
@given(day=days(), runway=st.floats(900.0, 3_000.0))
def test_stop_from_the_refusal_speed_ends_at_the_end_of_the_runway(day, runway):
    setup = day.setup()
    lengths = field_lengths(setup, *takeoff_and_curves(setup), runway, runway)
    refusal = lengths.refusal_speed
    if np.isfinite(refusal[0]) and not lengths.never_stops[0]:
        stop = reject(setup, accelerate_to(setup, release(setup), refusal))

        assert stop.distance[0] == pytest.approx(runway, rel=2e-3)


# MIL-STD-3013A, critical field length: stopping and going on from the critical engine failure speed take the
# same.
@FEW
@given(day=days(names=["dotterel"]))
def test_stop_equals_go_at_the_critical_engine_failure_speed(day):
    setup = day.setup()
    lengths = field_lengths(setup, *takeoff_and_curves(setup), 2_500.0, 2_500.0)
    if np.isfinite(lengths.critical_speed[0]):
        _, stop, go = stop_and_go(setup, lengths.critical_speed)

        assert stop.distance[0] == pytest.approx(go.ground_run[0], abs=1.0)
        assert lengths.critical_field_length[0] == pytest.approx(stop.distance[0], abs=1.0)
    else:
        assert lengths.stop_always_longer[0] or lengths.go_always_longer[0]


@FEW
@given(day=days(names=["dotterel"]), runway=st.floats(800.0, 4_000.0))
def test_going_on_from_the_minimum_go_speed_just_fits(day, runway):
    setup = day.setup()
    lengths = field_lengths(setup, *takeoff_and_curves(setup), runway, runway)
    if np.isfinite(lengths.minimum_go_speed[0]):
        _, _, go = stop_and_go(setup, lengths.minimum_go_speed)

        assert go.ground_run[0] == pytest.approx(runway, abs=1.0)
    else:
        assert lengths.goes_from_any[0] or lengths.never_goes[0]


@FEW
@given(day=days(), worse=st.floats(0.0, 18.0), share=st.floats(0.3, 1.0))
def test_slippery_runway_never_shortens_a_stop(day, worse, share):
    other = day.but(reading=max(day.reading - worse, 5.0))
    stops, rolls = [], []
    for one in (day, other):
        setup = one.setup()
        stops.append(reject(setup, accelerate_to(setup, release(setup), share * setup.rotation_speed)))
        rolls.append(land(one.pack, one.cases()))

    assert stops[1].distance[0] * ALIKE >= stops[0].distance[0]
    assert rolls[1].ground_roll[0] * ALIKE >= rolls[0].ground_roll[0]


@FEW
@given(day=days(), share=st.floats(0.3, 1.0))
def test_chute_never_lengthens_a_stop(day, share):
    setup = day.setup()
    event = accelerate_to(setup, release(setup), share * setup.rotation_speed)
    bare, chute = (reject(setup, event, chute=use).distance[0] for use in (False, True))
    bare_roll, chute_roll = (land(day.pack, day.cases(), chute=use).ground_roll[0] for use in (False, True))

    assert chute <= bare * ALIKE
    assert chute_roll <= bare_roll * ALIKE


# Energy: the brakes take no more than the kinetic energy at its greatest, 14 CFR 25.735(f) being the bound.
@FEW
@given(day=days(), share=st.floats(0.3, 1.0))
def test_brakes_take_less_than_the_kinetic_energy(day, share):
    flat = day.but(slope=0.0)
    landing = land(flat.pack, flat.cases())
    kinetic = 0.5 * flat.mass * landing.touchdown_ground_speed[0] ** 2

    assert 0.0 < landing.brake_energy[0] < kinetic


# A failed engine never helps.
@FEW
@given(day=days(names=["dotterel"]), share=st.floats(0.2, 1.0))
def test_engine_failure_never_shortens_a_takeoff(day, share):
    setup = day.setup()
    whole, failed = fly_takeoff(setup), fly_takeoff(setup, share * setup.rotation_speed)

    assert failed.ground_run[0] >= whole.ground_run[0]
    assert failed.distance_to_screen[0] >= whole.distance_to_screen[0]
