"""What a flight met: weight, air and wind at a moment of a recording, each with how well it is known."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import HIGHEST_PRESSURE_ALTITUDE, LOWEST_PRESSURE_ALTITUDE, standard_pressure
from sortiewright.recording.recording import Recording

Floats = NDArray[np.float64]

# How well a recorded or planned value is known, one standard deviation: common practice, no source.
MASS_RECORDED, MASS_PLANNED = 0.003, 0.01  # shares
WIND_RECORDED, WIND_PLANNED = 0.25, 5.0 * 1852.0 / 3600.0  # m/s
WIND_BLOCKS = 5
SLOWEST_TAS = 15.0  # m/s below which an airspeed says nothing of the wind


@dataclass(frozen=True, slots=True)
class Known:
    """A value in SI, its standard deviation, and where it comes from."""

    value: float
    sigma: float
    basis: str


def value_at(recording: Recording, channel: str, time: float) -> float | None:
    """Return a channel at a time, between its samples; None where it has none."""
    values = recording.number(channel)
    good = np.isfinite(values)
    return float(np.interp(time, recording.time[good], values[good])) if good.any() else None


def mass_at(recording: Recording, time: float, planned: float, notes: list[str]) -> Known:
    """Return the gross weight, kg; ``planned`` where it is not recorded, and ``notes`` says so."""
    recorded = value_at(recording, "gross_mass", time)
    if recorded is not None and recorded > 0.0:
        return Known(recorded, MASS_RECORDED * recorded, "recorded")
    notes.append("Gross weight is not recorded: that of the plan is taken")
    return Known(planned, MASS_PLANNED * planned, "plan")


def pressure_at(recording: Recording, time: float, planned: float, notes: list[str]) -> Known:
    """Return the static pressure, Pa, from the pressure altitude; ``planned`` where it is not recorded."""
    altitude = value_at(recording, "pressure_altitude", time)
    if altitude is not None and LOWEST_PRESSURE_ALTITUDE <= altitude <= HIGHEST_PRESSURE_ALTITUDE:
        return Known(float(standard_pressure(altitude)), 50.0, "recorded")
    notes.append("Pressure altitude is not recorded: that of the plan is taken")
    return Known(planned, 100.0, "plan")


def temperature_at(recording: Recording, time: float, planned: float, notes: list[str]) -> Known:
    """Return the outside air temperature, K; ``planned`` where it is not recorded."""
    recorded = value_at(recording, "outside_air_temperature", time)
    if recorded is not None:
        return Known(recorded, 0.5, "recorded")
    notes.append("Outside air temperature is not recorded: that of the plan is taken")
    return Known(planned, 1.0, "plan")


def heading_of(recording: Recording, inside: NDArray[np.bool_]) -> float | None:
    """Return the mean true heading of some samples, or their track, degrees."""
    heading = recording.number("true_heading_deg")[inside]
    if not np.isfinite(heading).any():
        heading = recording.number("track_deg")[inside]
    heading = np.radians(heading[np.isfinite(heading)])
    if not heading.size:
        return None
    return float(np.degrees(np.arctan2(np.sin(heading).mean(), np.cos(heading).mean())) % 360.0)


def headwind_of(
    recording: Recording,
    inside: NDArray[np.bool_],
    heading: float | None,
    planned: float,
    notes: list[str],
) -> Known:
    """Return the mean headwind of some samples, by recorded wind or by true airspeed less ground speed."""
    speed, direction = recording.number("wind_speed")[inside], recording.number("wind_from_deg")[inside]
    if heading is not None and np.isfinite(speed * direction).any():
        along = speed * np.cos(np.radians(direction - heading))
        return _mean_wind(along[np.isfinite(along)], "recorded wind")
    tas, ground = recording.number("true_airspeed")[inside], recording.number("ground_speed")[inside]
    along = (tas - ground)[tas > SLOWEST_TAS]
    if np.isfinite(along).sum() > 10:
        return _mean_wind(along[np.isfinite(along)], "true airspeed less ground speed")
    notes.append("Neither wind nor true airspeed is recorded: the wind of the plan is taken")
    return Known(planned, WIND_PLANNED, "plan")


def _mean_wind(along: Floats, basis: str) -> Known:
    # Gusts last for seconds: the spread of means over stretches tells how well the mean is known.
    blocks = np.array([block.mean() for block in np.array_split(along, WIND_BLOCKS) if block.size])
    spread = float(blocks.std(ddof=1) / np.sqrt(len(blocks))) if len(blocks) > 1 else WIND_PLANNED
    return Known(float(along.mean()), max(spread, WIND_RECORDED), basis)
