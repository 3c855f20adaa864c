"""The signals from which phases and events are told, each worked out once, a missing one by its stand-in."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from sortiewright.recording.flight_height import Wheels, wheels_of
from sortiewright.recording.flight_power import Power, power_of
from sortiewright.recording.hysteresis import (
    Column,
    Floats,
    Truths,
    clock_of,
    filled,
    held_truths,
    joined_rows,
    median_of_three,
    switched,
    unwrapped,
    without_short,
)
from sortiewright.recording.phase_limits import KNOT, PhaseLimits
from sortiewright.recording.recording import Recording
from sortiewright.recording.signal_columns import Smoothed, greatest

_AIRSPEEDS = ("calibrated_airspeed", "indicated_airspeed", "true_airspeed")


@dataclass(frozen=True)
class Signals:
    """One recording's signals; those that no channel tells are None."""

    time: Floats
    clock: Floats
    """Time without pauses and gaps, s."""
    joined: Truths
    """Whether a row continues the one before."""
    speed: Floats
    """Over the ground, m/s; of the air where no ground speed is recorded."""
    moving: Truths
    heading_deg: Floats | None
    wheels: Wheels
    power: Power
    pitch: Column | None
    pitch_rate: Column | None
    bank: Column | None
    load: Column | None
    stick: Column | None
    """Aft positive."""
    gear: Column | None
    flap: Column | None
    brake: Column | None
    """The greater of both, share of full."""
    chute: Truths | None
    limits: PhaseLimits
    notes: tuple[str, ...]

    @property
    def rows(self) -> int:
        """Number of samples."""
        return len(self.time)

    def row_later(self, row: int, seconds: float) -> int:
        """Return the first row so many seconds after (or, negative, before) a row, pauses not counted.

        ``rows`` where the recording ends before.
        """
        return int(np.searchsorted(self.clock, float(self.clock[row]) + seconds))


def signals_of(recording: Recording, limits: PhaseLimits) -> Signals:
    """Return the signals of a recording."""
    notes: list[str] = []
    joined = joined_rows(recording.rows, recording.breaks)
    clock = clock_of(recording.time, joined)
    ground_speed = _channel(recording, "ground_speed")
    airspeed = next(
        (values for name in _AIRSPEEDS for values in [_channel(recording, name)] if values is not None), None
    )
    speed = ground_speed if ground_speed is not None else airspeed
    if ground_speed is None:
        notes.append(
            "No ground speed is recorded: airspeed stands in for it."
            if airspeed is not None
            else "No speed is recorded: phases on the ground cannot be told."
        )
        # The air moves too: wind on a standing aircraft is no taxi.
        limits = replace(
            limits,
            moving_speed=max(limits.moving_speed, 10.0 * KNOT),
            standing_speed=max(limits.standing_speed, 8.0 * KNOT),
        )
    fastest = speed if airspeed is None or speed is None else np.maximum(speed, airspeed)
    wheels = wheels_of(recording, clock, fastest, limits)
    if speed is None:
        speed = np.full(recording.rows, np.nan)
    moving = switched(speed, above=limits.moving_speed, below=limits.standing_speed)
    moving = without_short(moving, clock, least_true=1.0)
    power = power_of(recording, wheels.on_wheels, limits)
    return Signals(
        time=recording.time,
        clock=clock,
        joined=joined,
        speed=speed,
        moving=moving,
        heading_deg=_heading(recording),
        wheels=wheels,
        power=power,
        pitch=_smoothed(recording, "pitch"),
        pitch_rate=_pitch_rate(recording, joined),
        bank=_smoothed(recording, "bank"),
        load=_smoothed(recording, "load_factor_normal"),
        stick=_smoothed(recording, "stick_pitch"),
        gear=_smoothed(recording, "gear_position"),
        flap=_smoothed(recording, "flap_position"),
        brake=_brake(recording),
        chute=_chute(recording),
        limits=limits,
        notes=(*notes, *wheels.notes, *power.notes),
    )


def _channel(recording: Recording, name: str) -> Floats | None:
    values = _filled(recording, name)
    return None if values is None else median_of_three(values)


def _smoothed(recording: Recording, name: str) -> Column | None:
    values = _filled(recording, name)
    return None if values is None else Smoothed(values)


def _filled(recording: Recording, name: str) -> Floats | None:
    return filled(recording.number(name), recording.time) if recording.has(name) else None


def _heading(recording: Recording) -> Floats | None:
    """Return the heading, else the track, without the jump at north."""
    for name in ("true_heading_deg", "track_deg"):
        values = recording.number(name) if recording.has(name) else np.empty(0)
        there = np.isfinite(values)
        if there.any():
            is_whole = bool(there.all())
            unwound = unwrapped(values if is_whole else values[there], 360.0)
            return unwound if is_whole else np.interp(recording.time, recording.time[there], unwound)
    return None


def _pitch_rate(recording: Recording, joined: Truths) -> Column | None:
    recorded = _smoothed(recording, "pitch_rate")
    pitch = _channel(recording, "pitch") if recorded is None else None
    if pitch is None or len(pitch) < 2:
        return recorded
    rate = np.gradient(pitch, recording.time)
    breaks = np.flatnonzero(~joined[1:]) + 1
    rate[breaks] = 0.0
    rate[breaks - 1] = 0.0
    return rate


def _brake(recording: Recording) -> Column | None:
    sides = (_smoothed(recording, name) for name in ("brake_left", "brake_right"))
    return greatest([values for values in sides if values is not None])


def _chute(recording: Recording) -> Truths | None:
    found = recording.columns.get("drag_chute")
    if found is None:
        return None
    if np.issubdtype(found.dtype, np.number):
        return held_truths(np.asarray(found, dtype=np.float64))
    return np.asarray(found == "deployed", dtype=np.bool_)
