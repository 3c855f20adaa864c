"""A made-up flight whose channels agree with each other, and its file in any dress.

Kinematics only: speed, height and heading over time are given; position, attitude, rates, Mach number and
calibrated airspeed follow from them by the textbook relations, written out here again.
"""

from __future__ import annotations

import gzip
import io
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import numpy as np

GRAVITY = 9.80665
FOOT, KNOT, DEGREE, POUND = 0.3048, 1852.0 / 3600.0, np.pi / 180.0, 0.45359237

# Seconds, ground speed m/s, height above the field m, heading rate deg/s.
_KNOTS = np.array(
    [
        (0, 0, 0, 0),
        (20, 0, 0, 0),
        (26, 8, 0, 0),
        (50, 8, 0, 0),
        (52, 6, 0, 6),
        (66, 6, 0, 6),
        (68, 7, 0, 0),
        (80, 0, 0, 0),
        (95, 0, 0, 0),
        (120, 80, 0, 0),
        (128, 100, 60, 0),
        (150, 140, 450, 0),
        (200, 170, 2000, 0),
        (205, 170, 2100, 3),
        (235, 170, 2500, 3),
        (240, 175, 2500, 0),
        (280, 180, 2500, 0),
        (285, 180, 2500, -4),
        (315, 175, 2500, -4),
        (320, 170, 2500, 0),
        (380, 150, 1500, 0),
        (440, 110, 600, 0),
        (500, 78, 120, 0),
        (522, 72, 4, 0),
        (526, 68, 0, 0),
        (550, 10, 0, 0),
        (556, 0, 0, 0),
        (580, 0, 0, 0),
    ],
    float,
)
DURATION = float(_KNOTS[-1, 0])
LIFT_OFF, TOUCHDOWN = 120.5, 525.5
"""s: between these the made-up flight is in the air."""
ELEVATION, LATITUDE, LONGITUDE, HEADING = 120.0, 57.03, -5.61, 72.0


def flight(
    seconds: float = DURATION,
    rate: float = 20.0,
    *,
    noise: float = 1.0,
    seed: int = 1,
    wind_north: float = 0.0,
    wind_east: float = 0.0,
    warmer: float = 8.0,
) -> dict[str, np.ndarray]:
    """Return canonical channels in SI, one sample each 1/rate s; longer than one flight, it is flown again.

    ``wind_north`` and ``wind_east`` are where the air moves, m/s; ``warmer`` K than standard.
    """
    random = np.random.default_rng(seed)
    count = int(seconds * rate)
    time = np.arange(count) / rate
    clock = time % DURATION
    # Nothing in flight is constant to the last digit: slow waves in speed, height and turn.
    aloft = np.clip(np.minimum(clock - LIFT_OFF - 10.0, TOUCHDOWN - 10.0 - clock) / 10.0, 0.0, 1.0)
    speed = _smooth(clock, 1) + 0.3 * aloft * np.sin(0.7 * clock)
    height = np.maximum(_smooth(clock, 2), 0.0) + 0.5 * aloft * np.sin(0.4 * clock)
    turning = _smooth(clock, 3) + 0.05 * aloft * np.sin(0.9 * clock)
    heading = HEADING + np.cumsum(turning) / rate
    step = 1.0 / rate
    vertical = np.gradient(height, step)
    course = heading * DEGREE
    north, east = speed * np.cos(course), speed * np.sin(course)
    latitude = LATITUDE + np.cumsum(north) * step / 111_400.0
    longitude = LONGITUDE + np.cumsum(east) * step / (111_400.0 * np.cos(LATITUDE * DEGREE))
    altitude = height + ELEVATION
    air_north, air_east = north - wind_north, east - wind_east
    tas = np.sqrt(air_north**2 + air_east**2 + vertical**2)
    in_air = (clock > LIFT_OFF) & (clock < TOUCHDOWN)
    temperature = 288.15 - 0.0065 * altitude + warmer
    pressure = 101_325.0 * (1.0 - 0.0065 * altitude / 288.15) ** 5.25588
    mach = tas / np.sqrt(1.4 * 287.05287 * temperature)
    impact = pressure * ((1.0 + 0.2 * mach**2) ** 3.5 - 1.0)
    cas = 340.294 * np.sqrt(5.0 * ((impact / 101_325.0 + 1.0) ** (2 / 7) - 1.0))
    path = np.arcsin(np.clip(vertical / np.maximum(tas, 1.0), -0.5, 0.5))
    bank = np.where(in_air, np.arctan(tas * turning * DEGREE / GRAVITY), 0.0)
    # The nose comes up over the last second on the wheels, and down over the first.
    lifted = np.clip(np.minimum(clock - LIFT_OFF + 2.0, TOUCHDOWN + 2.0 - clock) / 2.0, 0.0, 1.0)
    lifted = lifted * lifted * (3.0 - 2.0 * lifted)
    alpha = lifted * np.clip(9.0 * (75.0 / np.maximum(cas, 40.0)) ** 2, 0.5, 20.0) * DEGREE
    pitch = path + alpha
    wobble = noise * in_air

    def shaken(values: np.ndarray, size: float) -> np.ndarray:
        return values + size * wobble * random.standard_normal(count)

    pitch, bank = shaken(pitch, 2e-4), shaken(bank, 4e-4)
    pitch_dot, bank_dot = np.gradient(pitch, step), np.gradient(bank, step)
    turn = turning * DEGREE
    pitch_rate = pitch_dot * np.cos(bank) + turn * np.cos(pitch) * np.sin(bank)
    load = np.where(in_air, np.cos(path) / np.cos(bank) + np.gradient(vertical, step) / GRAVITY, 1.0)
    fuel = 2400.0 - np.cumsum(np.where(in_air, 0.9, 0.25)) * step
    throttle = np.clip(
        np.interp(clock, [0, 94, 96, 205, 240, 320, 322, 522, 524], [0.1, 0.1, 1, 1, 0.6, 0.6, 0.3, 0.3, 0]),
        0,
        1,
    )
    on_wheels = (~in_air).astype(float)
    wind_speed = np.hypot(wind_north, wind_east)
    return {
        "time": time,
        "latitude_deg": latitude,
        "longitude_deg": longitude,
        "altitude": altitude,
        "height_above_ground": height,
        "ground_speed": speed,
        "track_deg": heading % 360.0,
        "vertical_speed": vertical,
        "calibrated_airspeed": shaken(cas, 0.05),
        "true_airspeed": shaken(tas, 0.05),
        "mach_number": mach,
        "pressure_altitude": altitude.copy(),
        "outside_air_temperature": temperature,
        "wind_speed": np.full(count, wind_speed),
        "wind_from_deg": np.full(count, np.degrees(np.arctan2(-wind_east, -wind_north)) % 360.0),
        "pitch": pitch,
        "bank": bank,
        "true_heading_deg": heading % 360.0,
        "roll_rate": bank_dot - turn * np.sin(pitch),
        "pitch_rate": pitch_rate,
        "yaw_rate": turn * np.cos(pitch) * np.cos(bank) - pitch_dot * np.sin(bank),
        "load_factor_normal": shaken(load, 0.01),
        "load_factor_longitudinal": np.gradient(speed, step) / GRAVITY + np.sin(pitch),
        "angle_of_attack": shaken(alpha, 5e-4),
        "sideslip": shaken(np.zeros(count), 1e-3),
        "weight_on_wheels_nose": on_wheels,
        "weight_on_wheels_left": on_wheels.copy(),
        "weight_on_wheels_right": on_wheels.copy(),
        "gross_mass": 7600.0 + fuel,
        "fuel_mass": fuel,
        "throttle_left": throttle,
        "throttle_right": throttle.copy(),
        "engine_speed_left": 0.5 + 0.5 * throttle,
        "engine_speed_right": 0.5 + 0.5 * throttle,
        "fuel_flow_left": np.where(in_air, 0.45, 0.125),
        "fuel_flow_right": np.where(in_air, 0.45, 0.125),
        "flap_position": np.interp(clock, [0, 10, 14, 135, 139, 400, 404], [0, 0, 1, 1, 0, 0, 1]),
        "gear_position": np.interp(clock, [0, 126, 132, 420, 426], [1, 1, 0, 0, 1]),
        "speedbrake_position": np.interp(clock, [0, 322, 324, 430, 432], [0, 0, 1, 1, 0]),
        "stick_pitch": np.clip(4.0 * pitch_rate, -1, 1),
        "stick_roll": np.clip(bank_dot * 2.0, -1, 1),
    }  # fmt: skip


def _smooth(clock: np.ndarray, column: int) -> np.ndarray:
    """Return a profile through the points without overshoot and with no corners of speed."""
    fine = np.arange(0.0, DURATION + 0.05, 0.05)
    values = np.interp(fine, _KNOTS[:, 0], _KNOTS[:, column])
    kernel = np.hanning(61)
    padded = np.pad(values, 30, mode="edge")
    return np.interp(clock, fine, np.convolve(padded, kernel / kernel.sum(), mode="valid"))


Write = Callable[[np.ndarray], np.ndarray]


def csv_text(
    columns: Mapping[str, np.ndarray],
    *,
    separator: str = ",",
    decimal: str = ".",
    line_end: str = "\n",
    units: Sequence[str] | None = None,
    digits: int = 9,
    quoted: bool = False,
    before: Sequence[str] = (),
) -> str:
    """Return columns as CSV. NaN becomes a blank; text columns stay as they are."""
    texts: list[list[str]] = []
    for values in columns.values():
        if values.dtype.kind in "fiu":
            rows = ["" if one != one else f"{one:.{digits}g}" for one in values.astype(float).tolist()]
            texts.append([row.replace(".", decimal) for row in rows] if decimal != "." else rows)
        else:
            texts.append([str(one) for one in values.tolist()])
    quote = '"' if quoted else ""
    out = io.StringIO()
    for line in before:
        out.write(line + line_end)
    out.write(separator.join(f"{quote}{name}{quote}" for name in columns) + line_end)
    if units is not None:
        out.write(separator.join(units) + line_end)
    for row in zip(*texts, strict=True):
        out.write(separator.join(f"{quote}{cell}{quote}" for cell in row) if quoted else separator.join(row))
        out.write(line_end)
    return out.getvalue()


def write_csv(
    path: Path, columns: Mapping[str, np.ndarray], *, encoding: str = "utf-8", **dress: object
) -> Path:
    """Write columns to a CSV file; gzip where its name ends so."""
    raw = csv_text(columns, **dress).encode(encoding)  # type: ignore[arg-type]
    path.write_bytes(gzip.compress(raw, 1) if path.suffix == ".gz" else raw)
    return path


def write_parquet(path: Path, columns: Mapping[str, np.ndarray]) -> Path:
    """Write columns to a Parquet file: quicker than text where the dress does not matter."""
    import polars as pl

    pl.DataFrame(dict(columns)).write_parquet(path, compression="uncompressed")
    return path
