"""Short ways to write a scene for a rule."""

from __future__ import annotations

from rule_scenes import Knots, Scene


def turning(degrees_a_second):
    """Return a heading that turns for the whole scene."""
    return Knots((0, 0), (100, 100 * degrees_a_second))


def jump(before, after, at=70.0, within=0.1):
    """Return a column that goes from one value to another at a moment."""
    return Knots((at, before), (at + within, after))


def both(name, left, right):
    return {f"{name}_left": left, f"{name}_right": right}


def cross(limit):
    """Return a scene with too much wind from the right, and one with a little."""
    return Scene(
        also={"true_heading_deg": 0, "wind_from_deg": 90},
        wrong={"wind_speed": f"{limit} + kt(2)"},
        right={"wind_speed": "kt(2)"},
    )


def behind(limit):
    """Return a scene with too much wind from behind, and one with a little."""
    return Scene(
        also={"true_heading_deg": 0, "wind_from_deg": 180},
        wrong={"wind_speed": f"{limit} + kt(2)"},
        right={"wind_speed": "kt(1)"},
    )


def speeds(wrong, right, **also):
    """Return a scene of two airspeeds."""
    return Scene(also=also, wrong={"calibrated_airspeed": wrong}, right={"calibrated_airspeed": right})


def one(name, wrong, right, events=(), **also):
    """Return a scene of one column."""
    return Scene(also=also, wrong={name: wrong}, right={name: right}, events=tuple(events))
