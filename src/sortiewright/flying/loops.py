"""The small controllers of a scripted pilot: pure functions from what is and what is wanted to a command.

Gains are times or rates that a person's hand has; what differs between aircraft comes in as ``power``, the
angular acceleration that full control gives, which the pilot measures before the flight. Angles rad, speeds
m/s, accelerations m/s2. Values of gains: tried on flight models, no source.
"""

from __future__ import annotations

import math

GRAVITY = 9.80665  # m/s2


def clip(value: float, low: float, high: float) -> float:
    """Return a value kept between two limits."""
    return min(max(value, low), high)


def towards(value: float, goal: float, most: float) -> float:
    """Return a value moved towards a goal by no more than ``most``."""
    return value + clip(goal - value, -most, most)


def turned(heading: float, course: float) -> float:
    """Return how far a heading lies to the right of a course, rad, -pi to pi."""
    return math.remainder(heading - course, 2.0 * math.pi)


def pitch_goal(attitude: float, pitch: float, quickness: float, most: float) -> float:
    """Return the pitch rate that brings an attitude about, at no more than ``most``."""
    return clip(quickness * (attitude - pitch), -most, most)


def attitude_for_path(path: float, climb_angle: float, angle_of_attack: float, lead: float) -> float:
    """Return the attitude that brings the flight path to an angle.

    ``angle_of_attack`` is the settled one; ``lead`` is by how much the nose goes beyond what is lacking.
    """
    return path + angle_of_attack + lead * (path - climb_angle)


def path_for_height(height: float, goal: float, speed: float, time: float, most: float) -> float:
    """Return the climb angle that closes on a height with a time constant, no steeper than ``most``."""
    return clip((goal - height) / (speed * time), -most, most)


def path_for_sink(sink: float, speed: float) -> float:
    """Return the climb angle of a sink rate."""
    return -math.asin(clip(sink / max(speed, 1.0), -0.5, 0.5))


def climb_path(excess: float, speed_lag: float, *, share: float, quickness: float) -> float:
    """Return the climb angle at full power: what ``excess``, the climb angle that it could give at constant
    speed, leaves when part of it goes into speed.

    ``speed_lag`` is what is lacking to the climb speed; no more than ``share`` of the excess is given to it.
    """
    into_speed = clip(quickness * speed_lag / GRAVITY, -0.5, max(share * excess, 0.0))
    least = min(MOST_SHALLOW, 0.5 * max(excess, 0.0))
    return clip(excess - into_speed, least, STEEPEST)


MOST_SHALLOW, STEEPEST = math.radians(1.0), math.radians(12.0)


def thrust_share(acceleration: float, climb_angle: float, held: float, *, thrust_over_weight: float) -> float:
    """Return the share of dry thrust that gives an acceleration on a climb angle.

    ``held`` is drag over weight as it has been found.
    """
    return clip((acceleration / GRAVITY + math.sin(climb_angle) + held) / thrust_over_weight, 0.0, 1.0)


def flare_sink(height: float, touchdown_sink: float, time: float) -> float:
    """Return the sink rate at a height of the wheels in a flare that dies away with a time constant."""
    return touchdown_sink + max(height, 0.0) / time


def bank_for(side_acceleration: float, most: float) -> float:
    """Return the bank of a level turn with this acceleration to the right."""
    return clip(math.atan(side_acceleration / GRAVITY), -most, most)


def turning_pitch_rate(bank: float, speed: float) -> float:
    """Return the pitch rate of a level coordinated turn, which holds the nose where it is."""
    return GRAVITY * math.tan(bank) * math.sin(bank) / max(speed, 1.0)


def turning_yaw_rate(bank: float, speed: float) -> float:
    """Return the yaw rate of a coordinated turn."""
    return GRAVITY * math.sin(bank) / max(speed, 1.0)


def steering_angle(turn_rate: float, speed: float, wheelbase: float) -> float:
    """Return the nosewheel angle at which the aircraft rolls round with a turn rate."""
    return math.atan(turn_rate * wheelbase / max(speed, 1.0))
