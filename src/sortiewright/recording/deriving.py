"""Channels worked out from others where a file lacks them, named in ``Recording.derived`` with the basis.

In the order in which one can serve the next: from the motion, from the air, from the ground.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from sortiewright.recording.channel_map import ChannelMap
from sortiewright.recording.channel_map_checks import ZERO_FUEL_MASS, constant_value
from sortiewright.recording.deriving_air import AIR_ROADS
from sortiewright.recording.deriving_ground import GROUND_ROADS
from sortiewright.recording.deriving_motion import MOTION_ROADS
from sortiewright.recording.deriving_road import Road
from sortiewright.recording.recording import Recording

ROADS: tuple[Road, ...] = (*MOTION_ROADS, *AIR_ROADS, *GROUND_ROADS)


def derive(recording: Recording, channel_map: ChannelMap) -> Recording:
    """Return a recording with every channel that it lacks and that others give."""
    recording = _with_gross_mass(recording, channel_map)
    # A channel of one pass may be what another road was waiting for: true airspeed, then load factor.
    for _ in range(3):
        before = len(recording.columns)
        for road in ROADS:
            recording = taken(recording, road)
        if len(recording.columns) == before:
            break
    return recording


def taken(recording: Recording, road: Road) -> Recording:
    """Return a recording with a road's channel, where it lacks it and has what the road needs."""
    if recording.has(road.channel) or not all(recording.has(name) for name in road.needs):
        return recording
    if road.unless and any(recording.has(name) for name in road.unless):
        return recording
    with np.errstate(invalid="ignore", divide="ignore"):
        values = road.compute(recording)
    if not np.isfinite(values).any():
        return recording
    return replace(
        recording,
        columns={**recording.columns, road.channel: values},
        derived={**recording.derived, road.channel: road.basis},
    )


def _with_gross_mass(recording: Recording, channel_map: ChannelMap) -> Recording:
    empty = channel_map.constants.get(ZERO_FUEL_MASS)
    if empty is None:
        return recording
    zero_fuel = constant_value(ZERO_FUEL_MASS, empty)
    compute: Callable[[Recording], np.ndarray] = lambda one: one.number("fuel_mass") + zero_fuel  # noqa: E731
    return taken(recording, Road("gross_mass", ("fuel_mass",), "fuel and the map's zero fuel mass", compute))
