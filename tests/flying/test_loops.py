"""The controllers of the scripted pilot, held against what physics says of them."""

import math

import pytest

from sortiewright.flying.loops import (
    attitude_for_path,
    bank_for,
    climb_path,
    flare_sink,
    path_for_height,
    path_for_sink,
    steering_angle,
    thrust_share,
    turned,
    turning_pitch_rate,
    turning_yaw_rate,
)
from sortiewright.pack_sampling import rate_command

GRAVITY = 9.80665


def brought_to_rate(goal: float, *, power: float, against: float, seconds: float) -> tuple[float, float]:
    """Return rate and control of a body that full control turns with ``power``, against a steady moment."""
    rate = held = control = 0.0
    for _ in range(round(seconds * 60)):
        control, held = rate_command(
            goal, rate, held, power=power, bandwidth=4.0, closing=2.5, step=1.0 / 60.0
        )
        rate += (control * power - against) / 60.0
    return rate, control


# A body turned by control * power - against is at rest at control = against / power.
@pytest.mark.parametrize("power", [0.5, 2.0, 8.0])
def test_a_rate_is_reached_and_held_against_a_steady_moment(power):
    rate, control = brought_to_rate(0.05, power=power, against=0.3, seconds=12.0)

    assert rate == pytest.approx(0.05, abs=1e-3)
    assert control == pytest.approx(0.3 / power, abs=1e-3)


def test_control_never_passes_its_stop_and_lets_go_of_it_at_once():
    control, held = rate_command(1.0, 0.0, 0.0, power=0.5, bandwidth=4.0, closing=2.5, step=1 / 60)
    for _ in range(600):
        control, held = rate_command(1.0, 0.0, held, power=0.5, bandwidth=4.0, closing=2.5, step=1 / 60)
    freed, _ = rate_command(-1.0, 0.0, held, power=0.5, bandwidth=4.0, closing=2.5, step=1 / 60)

    assert control == 1.0
    assert freed == -1.0


# FAA-H-8083-25B, chapter 5 (from memory): radius of a level turn V^2 / (g tan bank), rate g tan bank / V.
def test_bank_is_that_of_a_level_turn():
    speed, radius = 100.0, 1500.0

    assert math.tan(bank_for(speed**2 / radius, math.pi / 2)) == pytest.approx(speed**2 / (GRAVITY * radius))
    assert bank_for(50.0, 0.5) == 0.5
    assert bank_for(-50.0, 0.5) == -0.5


# A level turn goes round with g tan(bank) / V about the vertical; the body's axes share it by the bank.
@pytest.mark.parametrize("bank", [-0.5, 0.2, 0.7])
def test_turning_rates_are_the_shares_of_a_turn_about_the_vertical(bank):
    whole = GRAVITY * math.tan(bank) / 80.0

    assert turning_pitch_rate(bank, 80.0) == pytest.approx(whole * math.sin(bank))
    assert turning_yaw_rate(bank, 80.0) == pytest.approx(whole * math.cos(bank))


# Of a rolling vehicle with two axles: radius = wheelbase / tan(steering angle).
def test_steering_angle_gives_the_radius_of_a_rolling_vehicle():
    angle = steering_angle(0.2, 5.0, 4.0)

    assert 4.0 / math.tan(angle) == pytest.approx(5.0 / 0.2)


# Newton along the path: thrust over weight = drag over weight + sin(climb angle) + acceleration over g.
def test_thrust_share_balances_drag_climb_and_acceleration():
    share = thrust_share(0.5, 0.05, 0.12, thrust_over_weight=0.4)

    assert share * 0.4 == pytest.approx(0.12 + math.sin(0.05) + 0.5 / GRAVITY)
    assert thrust_share(-5.0, -0.1, 0.1, thrust_over_weight=0.4) == 0.0
    assert thrust_share(5.0, 0.1, 0.1, thrust_over_weight=0.4) == 1.0


def test_a_flare_dies_away_to_the_touchdown_sink():
    height, sink = 12.0, 0.0
    for _ in range(60 * 60):
        sink = flare_sink(height, 0.7, 3.0)
        height -= sink / 60.0
        if height <= 0.0:
            break

    assert sink == pytest.approx(0.7, abs=0.01)


def test_paths_for_height_and_sink_point_the_right_way():
    assert path_for_height(100.0, 200.0, 80.0, 8.0, 0.2) == pytest.approx(100 / 640)
    assert path_for_height(900.0, 200.0, 80.0, 8.0, 0.2) == -0.2
    assert math.sin(path_for_sink(4.0, 80.0)) == pytest.approx(-0.05)
    assert attitude_for_path(0.1, 0.1, 0.05, 0.6) == pytest.approx(0.15)
    assert attitude_for_path(0.1, 0.0, 0.05, 0.6) > 0.15


def test_a_climb_gives_away_no_more_of_its_excess_than_its_share():
    at_speed = climb_path(0.15, 0.0, share=0.5, quickness=0.15)
    slow = climb_path(0.15, 40.0, share=0.5, quickness=0.15)
    fast = climb_path(0.05, -10.0, share=0.5, quickness=0.15)

    assert at_speed == pytest.approx(0.15)
    assert slow == pytest.approx(0.075)
    assert fast > 0.05
    assert climb_path(0.01, 40.0, share=0.5, quickness=0.15) > 0.0


def test_headings_turn_the_short_way():
    assert turned(math.radians(10), math.radians(350)) == pytest.approx(math.radians(20))
    assert turned(math.radians(350), math.radians(10)) == pytest.approx(math.radians(-20))
