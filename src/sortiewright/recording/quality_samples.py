"""Channels one by one: values that are missing, impossible, frozen, or far from what is usual."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from sortiewright.pack import CHANNELS, Channel, readable
from sortiewright.recording.deriving_road import grain
from sortiewright.recording.recording import Defect, Floats, Recording

FASTEST: dict[str, float] = {
    "altitude": 400.0, "height_above_ground": 400.0, "pressure_altitude": 400.0,
    "ground_speed": 70.0, "calibrated_airspeed": 70.0, "indicated_airspeed": 70.0, "true_airspeed": 70.0,
    "mach_number": 0.25, "vertical_speed": 120.0, "pitch": 4.0,
    "outside_air_temperature": 15.0, "fuel_mass": 100.0, "engine_speed_left": 2.0, "engine_speed_right": 2.0,
    "engine_speed": 2.0, "latitude_deg": 0.01, "longitude_deg": 0.1,
}  # fmt: skip
"""A change each second that no jet brings about, in the channel's unit. Common practice, no source: speeds
by seven g, altitudes by 400 m/s, latitude by 1100 m/s."""

_PART = 1 << 16  # rows
_LONGEST_SPIKE = 3
_MOST_SPIKES = 2000
_FROZEN = 3.0
"""s that a channel must stand still for, while its witness moves, to be called frozen."""
WITNESSES: tuple[tuple[str, str, float], ...] = (
    ("altitude", "pressure_altitude", 30.0), ("pressure_altitude", "altitude", 30.0),
    ("height_above_ground", "altitude", 60.0), ("calibrated_airspeed", "true_airspeed", 6.0),
    ("calibrated_airspeed", "ground_speed", 8.0), ("true_airspeed", "calibrated_airspeed", 6.0),
    ("ground_speed", "true_airspeed", 8.0), ("ground_speed", "calibrated_airspeed", 8.0),
    ("indicated_airspeed", "ground_speed", 8.0), ("mach_number", "true_airspeed", 15.0),
    ("true_heading_deg", "track_deg", 8.0), ("angle_of_attack", "load_factor_normal", 0.5),
    ("load_factor_normal", "pitch_rate", 0.1),
)  # fmt: skip
"""Channel, the channel that witnesses in flight that it should have moved, and by how much that one must have
moved. A steady turn keeps its bank and a level slowing-down its load factor, so neither is witnessed by what
such a manoeuvre changes."""
_CLIMBED = 30.0  # m that altitude and vertical speed may differ by while one of them stands still
_TURNED = 0.06  # rad that an angle must have turned by its rates to be called frozen
_GRAINS = 8.0
"""Times its own resolution that a witness in the same unit must have moved."""
_ALWAYS_MOVE = frozenset(
    {"ground_speed", "altitude", "height_above_ground", "calibrated_airspeed", "indicated_airspeed",
     "true_airspeed", "mach_number", "pitch", "bank", "true_heading_deg", "latitude_deg", "longitude_deg",
     "load_factor_normal", "vertical_speed", "angle_of_attack"}
)  # fmt: skip
_ONLY_AT_SPEED = frozenset({"angle_of_attack", "sideslip"})
"""The air tells no angle to an aircraft at rest."""
_AT_SPEED = 20.0  # m/s
_SPEEDS = ("ground_speed", "true_airspeed", "calibrated_airspeed", "indicated_airspeed")


def without_spikes(recording: Recording) -> tuple[Recording, list[Defect]]:
    """Return a recording with impossible values taken as missing, and a defect for each such channel."""
    columns = dict(recording.columns)
    found: list[Defect] = []
    steps = np.diff(recording.time)
    starts = np.zeros(len(steps), bool)
    starts[recording.breaks - 1] = True
    typical = float(np.median(steps[:2000]))
    for name, fastest in FASTEST.items():
        if name not in columns:
            continue
        values: Floats = columns[name]
        # One pass for most channels: nothing in them moves that fast.
        if largest_step(values) <= fastest * max(typical, 0.02):
            continue
        rows = _spikes(values, recording.time, np.diff(values), starts, name, fastest)
        if len(rows):
            where = recording.time[rows]
            worst = float(values[rows][np.nanargmax(np.abs(values[rows] - np.nanmedian(values)))])
            text = (
                f"{len(rows)} sample{'s' if len(rows) > 1 else ''} that cannot be, taken as missing: "
                f"as far as {readable(worst, _unit(CHANNELS[name]))}"
            )
            found.append(Defect("spike", name, float(where[0]), float(where[-1]), text, len(rows)))
            columns[name] = values.copy()
            columns[name][rows] = np.nan
    return replace(recording, columns=columns), found


def largest_step(values: Floats) -> float:
    """Return the size of the largest change between samples that both have a value, 0 where there is none.

    In parts that stay in the processor's cache.
    """
    largest = 0.0
    steps = np.empty(_PART)
    for begin in range(0, len(values) - 1, _PART):
        here = values[begin : begin + _PART + 1]
        part = np.subtract(here[1:], here[:-1], out=steps[: len(here) - 1])
        largest = max(largest, float(np.fmax.reduce(part)), -float(np.fmin.reduce(part)))
    return largest


def _unit(channel: Channel) -> str:
    return "" if channel.unit == "deg" else channel.unit


def _spikes(
    values: Floats, time: Floats, changes: Floats, starts: NDArray[np.bool_], name: str, fastest: float
) -> NDArray[np.intp]:
    """Return rows that leave their neighbours and come back within a few samples, faster than can be."""
    if name == "longitude_deg":
        changes = (changes + 180.0) % 360.0 - 180.0
    with np.errstate(invalid="ignore"):
        # Coarse or slow columns move in steps; the size of a step is no speed.
        moving = np.abs(changes[(changes != 0.0) & np.isfinite(changes)])
        grain = 4.0 * float(np.quantile(moving, 0.5)) if len(moving) else 0.0
        near = np.flatnonzero(np.abs(changes) > fastest * 0.02)
        allowed = fastest * np.maximum(time[near + 1] - time[near], 0.02) + grain
        leaves = near[(np.abs(changes[near]) > allowed) & ~starts[near]]
    bad: list[int] = []
    last = -1
    for at in leaves[:_MOST_SPIKES]:
        if at <= last:
            continue
        for back in range(2, _LONGEST_SPIKE + 2):
            row = at + back
            if row >= len(values):
                break
            near = abs(values[row] - values[at]) <= fastest * (time[row] - time[at]) + grain
            if near:
                bad += range(at + 1, row)
                last = row - 1
                break
    return np.array(bad, np.intp)


def channel_defects(recording: Recording) -> list[Defect]:
    """Return what is missing, stands still, or lies outside what is usual."""
    found: list[Defect] = []
    for name, values in recording.columns.items():
        channel = CHANNELS.get(name)
        if channel is None:
            continue
        if channel.kind == "choice":
            blank = values == ""
            found += _missing(recording, name, blank) if blank.any() else []
            continue
        least, most = float(np.min(values)), float(np.max(values))
        if least != least:  # a NaN among them
            blank = np.isnan(values)
            found += _missing(recording, name, blank)
            if blank.all():
                continue
            least, most = float(np.nanmin(values)), float(np.nanmax(values))
        if channel.kind == "number":
            found += _constant(recording, name, least, most)
            found += _outside(recording, channel, values, least, most)
    return found + _frozen(recording)


def _missing(recording: Recording, name: str, blank: NDArray[np.bool_]) -> list[Defect]:
    rows = np.flatnonzero(blank)
    share = len(rows) / len(blank)
    begin, end = float(recording.time[rows[0]]), float(recording.time[rows[-1]])
    if share == 1.0:
        text = "no value at all"
    else:
        text = f"{len(rows)} of {len(blank)} samples have no value ({100 * share:.2g} %)"
    return [Defect("missing", name, begin, end, text, len(rows))]


def _constant(recording: Recording, name: str, least: float, most: float) -> list[Defect]:
    if name not in _ALWAYS_MOVE or least != most:
        return []
    # On a level runway much stands still; that a flight was flown shows in some other speed.
    others = [one for one in _SPEEDS if one != name and recording.has(one)]
    if not any(np.nanmax(recording.number(one), initial=0.0) > 2.0 * _AT_SPEED for one in others):
        return []
    text = f"is {readable(least, _unit(CHANNELS[name]))} throughout"
    begin, end = float(recording.time[0]), float(recording.time[-1])
    return [Defect("frozen", name, begin, end, text, recording.rows)]


def _outside(
    recording: Recording, channel: Channel, values: Floats, least: float, most: float
) -> list[Defect]:
    if channel.usual is None:
        return []
    low, high = channel.usual
    margin = 0.05 * (high - low)
    if least >= low - margin and most <= high + margin:
        return []
    with np.errstate(invalid="ignore"):
        outside = (values < low - margin) | (values > high + margin)
    if channel.name in _ONLY_AT_SPEED:
        speed = next((recording.number(one) for one in _SPEEDS if recording.has(one)), None)
        if speed is not None:
            with np.errstate(invalid="ignore"):
                outside &= speed > _AT_SPEED
    rows = np.flatnonzero(outside)
    if not len(rows):
        return []
    worst = float(values[rows][np.argmax(np.abs(values[rows] - (low + high) / 2))])
    unit = _unit(channel)
    text = (
        f"{len(rows)} samples outside what is usual, {readable(low, unit)} to {readable(high, unit)}: "
        f"as far as {readable(worst, unit)}"
    )
    begin, end = float(recording.time[rows[0]]), float(recording.time[rows[-1]])
    return [Defect("outside_range", channel.name, begin, end, text, len(rows))]


def _frozen(recording: Recording) -> list[Defect]:
    flying = _flying(recording)
    step = float(np.median(np.diff(recording.time[:2000])))
    stride = max(1, int(0.5 / step)) if step > 0.0 else 1
    found: dict[tuple[str, int], Defect] = {}
    for name, moved in _witnesses(recording):
        for begin, end in _still(recording.number(name), stride, recording, flying):
            said = "" if (name, int(begin)) in found else moved(int(begin), int(end))
            if said:
                times = float(recording.time[begin]), float(recording.time[end - 1])
                text = f"stands still for {times[1] - times[0]:.1f} s {said}"
                found[name, int(begin)] = Defect("frozen", name, *times, text, int(end - begin))
    return list(found.values())


Moved = Callable[[int, int], str]
"""Tells of a stretch of rows by what a channel should have moved in it; an empty text where nothing tells."""


def _witnesses(recording: Recording) -> Iterator[tuple[str, Moved]]:
    for name, witness, least in WITNESSES:
        if recording.has(name) and recording.has(witness):
            yield name, _by_channel(recording, name, witness, least)
    if recording.has("altitude") and recording.has("vertical_speed"):
        for name in ("altitude", "vertical_speed"):
            yield name, _by_climb(recording)
    if all(recording.has(name) for name in ("roll_rate", "pitch_rate", "yaw_rate", "pitch", "bank")):
        yield "pitch", _by_rates(recording, "pitch")
        yield "bank", _by_rates(recording, "bank")


def _by_channel(recording: Recording, name: str, witness: str, least: float) -> Moved:
    def moved(begin: int, end: int) -> str:
        moves = _range(recording, witness, begin, end)
        if moves >= least and CHANNELS[name].unit == CHANNELS[witness].unit:
            needed = max(least, _GRAINS * grain(recording.number(name)))
        else:
            needed = least
        return f"while {witness} moves" if moves >= needed else ""

    return moved


def _by_climb(recording: Recording) -> Moved:
    def moved(begin: int, end: int) -> str:
        altitude, climb = (recording.number(one)[begin:end] for one in ("altitude", "vertical_speed"))
        rise = float(altitude[-1] - altitude[0])
        said = float(np.trapezoid(climb, recording.time[begin:end]))
        return "while altitude and vertical speed disagree" if abs(rise - said) > _CLIMBED else ""

    return moved


def _by_rates(recording: Recording, name: str) -> Moved:
    """Compare with the angle that the rates add up to (Euler's kinematics; ISO 1151-1's angles)."""

    def moved(begin: int, end: int) -> str:
        roll, nose, yaw, pitch, bank = (
            recording.number(one)[begin:end]
            for one in ("roll_rate", "pitch_rate", "yaw_rate", "pitch", "bank")
        )
        if name == "pitch":
            rate = nose * np.cos(bank) - yaw * np.sin(bank)
        else:
            rate = roll + (nose * np.sin(bank) + yaw * np.cos(bank)) * np.tan(np.clip(pitch, -1.4, 1.4))
        steps = np.diff(recording.time[begin:end])
        turned = np.cumsum(np.where(np.isfinite(rate[1:]), rate[1:], 0.0) * steps)
        return "while its rate is not nought" if np.ptp(turned) > _TURNED else ""

    return moved


def _flying(recording: Recording) -> NDArray[np.bool_]:
    """Return where the aircraft surely flies: only there nothing stands still by itself."""
    speed = next((recording.number(one) for one in _SPEEDS if recording.has(one)), None)
    if speed is None:
        return np.zeros(recording.rows, bool)
    with np.errstate(invalid="ignore"):
        flying = speed > 2.0 * _AT_SPEED
        for leg in ("left", "right"):
            if recording.has(f"weight_on_wheels_{leg}"):
                flying &= recording.number(f"weight_on_wheels_{leg}") != 1.0
    return flying


def _still(values: Floats, stride: int, recording: Recording, flying: NDArray[np.bool_]) -> NDArray[np.intp]:
    """Return the stretches (begin, end) of flight in which a channel keeps one value for seconds on end."""
    # Every half second first: whoever stands still for three seconds is equal there several times running.
    coarse = values[::stride]
    equal = (coarse[1:] == coarse[:-1]) & flying[::stride][1:]
    if not equal.any():
        return np.zeros((0, 2), np.intp)
    still = np.zeros(len(values) + 1, bool)
    still[1:-1] = (values[1:] == values[:-1]) & flying[1:] & flying[:-1]
    edges = np.flatnonzero(np.diff(still.astype(np.int8)))
    begins, ends = edges[0::2], edges[1::2] + 1
    long = recording.time[np.minimum(ends, len(values)) - 1] - recording.time[begins] >= _FROZEN
    return np.column_stack([begins[long], ends[long]]).astype(np.intp)


def _range(recording: Recording, name: str, begin: int, end: int) -> float:
    """Return how far apart the least and the greatest value of a stretch are."""
    values = recording.number(name)[begin:end]
    finite = values[np.isfinite(values)]
    if len(finite) < 3:
        return 0.0
    return float(np.ptp(np.unwrap(finite, period=360.0) if name.endswith("_deg") else finite))
