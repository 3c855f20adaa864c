"""A made-up recording of a sortie's takeoff, circuit and landing, for whoever has none of their own yet.

Plain kinematics: speeds and distances are those of the plan, flown by a crew that rotates a little late,
leaves the gear down a little long and comes in fast, so that there is something to find. It is no flight
model, and the columns say nothing that was not put in.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from sortiewright.air import STANDARD_GRAVITY, Air, cas_from_tas, mach_from_tas, tas_from_cas
from sortiewright.pack import CHANNELS
from sortiewright.recording.place import metres_per_degree
from sortiewright.recording.recording import Floats
from sortiewright.sortie import LoadedSortie, Numbers, Plan, compute, plan

RATE = 20.0  # samples a second
KNOT, FOOT = 1852.0 / 3600.0, 0.3048
LATE = 9.0 * KNOT  # by which it is rotated late
FAST = 14.0 * KNOT  # by which the approach is fast
PATTERN_HEIGHT, PATTERN_CAS = 1500.0 * FOOT, 230.0 * KNOT
TURN_RATE = 3.0  # deg/s
GLIDE = math.radians(3.0)
_COLUMNS = (
    "latitude_deg", "longitude_deg", "altitude", "height_above_ground", "ground_speed", "track_deg",
    "vertical_speed", "calibrated_airspeed", "true_airspeed", "mach_number", "outside_air_temperature",
    "wind_speed", "wind_from_deg", "pitch", "bank", "true_heading_deg", "load_factor_normal",
    "angle_of_attack",
    "pitch_rate", "weight_on_wheels_nose", "weight_on_wheels_left", "weight_on_wheels_right", "brake_left",
    "brake_right", "gross_mass", "fuel_mass", "throttle_left", "throttle_right", "engine_speed_left",
    "engine_speed_right", "afterburner_stage_left", "afterburner_stage_right", "flap_position",
    "gear_position", "speedbrake_position", "stick_pitch",
)  # fmt: skip

_OF_ENGINES = ("throttle", "engine_speed", "afterburner_stage")


@dataclass(frozen=True)
class _Leg:
    """A stretch of time: its seconds, and the values at its end; what is not named stays."""

    seconds: float
    ends: dict[str, float]


def example_recording(loaded: LoadedSortie) -> bytes:
    """Return a CSV file of a made-up flight of this sortie, twenty samples a second, with a row of units.

    Raises what ``plan`` raises for a day that cannot be read.
    """
    numbers, made = compute(loaded.sortie, loaded.pack.pack), plan(loaded.sortie, loaded.pack)
    columns = example_columns(numbers, made)
    two = loaded.pack.pack.engine.count > 1
    kept = {"time": columns["time"]} | {name: columns[name] for name in _COLUMNS}
    if not two:  # the only engine's channels have no side
        for name in _OF_ENGINES:
            kept[name] = kept.pop(f"{name}_left")
            del kept[f"{name}_right"]
    units = [CHANNELS[name].unit if name != "time" else "s" for name in kept]
    places = [7 if name in ("latitude_deg", "longitude_deg") else 4 for name in kept]
    table = np.column_stack([np.asarray(kept[name], dtype=np.float64) for name in kept])
    rows = [",".join(f"{value:.{at}f}" for value, at in zip(row, places, strict=True)) for row in table]
    return ("\n".join([",".join(kept), ",".join(units), *rows]) + "\n").encode()


def example_columns(numbers: Numbers, made: Plan) -> dict[str, Floats]:
    """Return the flight's channels, SI, by name; those of engines for the left and the right one."""
    states = _flown(_legs(numbers, made))
    return _channels(states, numbers, made)


def _mark(made: Plan, name: str, usual: tuple[float, float]) -> tuple[float, float]:
    """Return distance along the runway, m, and speed, m/s, of a planned moment."""
    for one in made.runway.marks:
        if one.name == name:
            speed = usual[1] if one.cas is None else one.cas
            return (one.distance if math.isfinite(one.distance) else usual[0]), speed
    return usual


def _legs(numbers: Numbers, made: Plan) -> list[_Leg]:
    air, wind = numbers.conditions.air, numbers.conditions.wind
    headwind = 0.0 if wind is None else float(wind.headwind)

    def ground(cas: float) -> float:
        return float(tas_from_cas(cas, air)) - headwind if air is not None else cas - headwind

    start = made.runway.start_offset
    lift_off_at, lift_off_cas = _mark(made, "lift_off", (900.0, 85.0))
    _, rotation_cas = _mark(made, "rotation", (700.0, 75.0))
    _, touchdown_cas = _mark(made, "touchdown", (300.0, 70.0))
    lift_off, rotation = ground(lift_off_cas + LATE), ground(rotation_cas + LATE)
    acceleration = ground(lift_off_cas) ** 2 / (2.0 * max(lift_off_at - start, 200.0))
    pattern, touchdown = ground(PATTERN_CAS), ground(touchdown_cas + 0.5 * FAST)
    final = ground(touchdown_cas + FAST)
    sink = final * math.tan(GLIDE)
    half = 180.0 / TURN_RATE
    descent = PATTERN_HEIGHT / sink
    legs = [
        _Leg(6.0, {}),
        _Leg(4.0, {"speed": 7.0, "throttle": 0.3, "brake": 0.0}),
        _Leg(16.0, {"heading": 90.0}),
        _Leg(4.0, {"speed": 0.0, "throttle": 0.0}),
        _Leg(1.0, {"brake": 1.0}),
        _Leg(5.0, {}),
        _Leg(3.0, {"throttle": 0.75}),
        _Leg(5.0, {}),
        _Leg(0.3, {"brake": 0.0, "throttle": 1.0}),
        _Leg(rotation / acceleration, {"speed": rotation}),
        _Leg(0.4, {"stick": 0.55, "speed": rotation + 0.4 * acceleration}),
        _Leg(
            max((lift_off - rotation) / acceleration, 2.6),
            {"speed": lift_off, "pitch": math.radians(10.5), "stick": 0.4},
        ),
        _Leg(3.0, {"height": 11.0, "speed": lift_off + 9.0, "stick": 0.05, "pitch": math.radians(12.0)}),
        _Leg(9.0, {"height": 130.0, "speed": lift_off + 26.0}),  # the gear is forgotten for a while
        _Leg(0.2, {"gear": 0.0}),
        _Leg(6.0, {"height": 210.0, "speed": lift_off + 34.0}),
        _Leg(0.2, {"flap": 0.0, "throttle": 0.8}),
        _Leg(14.0, {"height": PATTERN_HEIGHT, "speed": pattern, "pitch": math.radians(4.0)}),
        _Leg(5.0, {"throttle": 0.5}),
        _Leg(half, {"heading": 270.0}),
        _Leg(60.0, {"downwind": 1.0}),
        _Leg(0.2, {"gear": 1.0, "flap": 1.0}),
        _Leg(half, {"heading": 450.0}),
        _Leg(14.0, {"speed": final, "throttle": 0.35, "pitch": math.radians(7.0)}),
        _Leg(descent - 3.0, {"height": 3.0 * sink, "throttle": 0.3, "speed": final}),
        _Leg(4.5, {"height": 0.6, "speed": touchdown + 2.0, "throttle": 0.0, "pitch": math.radians(10.0)}),
        _Leg(0.6, {"height": 0.0, "speed": touchdown}),
        _Leg(3.0, {"pitch": math.radians(8.0), "speed": touchdown - 3.0}),
        _Leg(2.0, {"pitch": 0.0, "speed": touchdown - 7.0}),
        _Leg(0.3, {"brake": 0.7}),
        _Leg((touchdown - 15.0) / 2.8, {"speed": 8.0}),
        _Leg(1.0, {"brake": 0.1, "throttle": 0.15}),
        _Leg(20.0, {"heading": 540.0, "flap": 0.0}),
        _Leg(4.0, {"speed": 0.0, "throttle": 0.0, "brake": 0.6}),
        _Leg(10.0, {"brake": 1.0}),
    ]
    return _home(legs, made, lift_off_at)


def _home(legs: list[_Leg], made: Plan, lift_off_at: float) -> list[_Leg]:
    """Return the legs with a downwind that brings the touchdown behind the threshold."""
    wanted = made.runway.displaced_threshold + 520.0  # long, as one that came in fast
    at = next(number for number, one in enumerate(legs) if "downwind" in one.ends)
    for _ in range(2):
        flown = _flown(legs)
        along = np.cumsum(flown["speed"] * np.cos(np.radians(flown["heading"] - 90.0))) / RATE
        released = int(np.argmax((flown["brake"] < 0.5) & (flown["time"] > 36.0)))
        down = len(along) - int(np.argmax(flown["height"][::-1] > 0.01)) - 1
        touched = along[down] - along[released] + made.runway.start_offset
        speed = float(flown["speed"][flown["downwind"] > 0.0][0])
        legs[at] = _Leg(max(legs[at].seconds + (touched - wanted) / speed, 5.0), legs[at].ends)
    return legs


def _flown(legs: list[_Leg]) -> dict[str, Floats]:
    """Return every state over time, its corners rounded as far as an aircraft rounds them."""
    state = {
        "speed": 0.0, "height": 0.0, "heading": 0.0, "pitch": 0.0, "throttle": 0.0, "brake": 1.0,
        "stick": 0.0, "gear": 1.0, "flap": 0.5, "downwind": 0.0,
    }  # fmt: skip
    knots = {name: [value] for name, value in state.items()}
    times = [0.0]
    for leg in legs:
        times.append(times[-1] + leg.seconds)
        for name, values in knots.items():
            values.append(leg.ends.get(name, values[-1]))
    time = np.arange(0.0, times[-1], 1.0 / RATE)
    found = {name: np.interp(time, times, values) for name, values in knots.items()} | {"time": time}
    for name, seconds in (("heading", 1.6), ("pitch", 0.8), ("height", 0.8), ("speed", 0.4)):
        found[name] = _rounded(found[name], seconds)
    found["height"] = np.where(found["height"] < 0.02, 0.0, found["height"])
    aloft = np.clip(found["height"] / 100.0, 0.0, 1.0)  # nothing in flight stands still to the last digit
    found["speed"] += 0.4 * aloft * np.sin(0.5 * time)
    found["pitch"] += 0.003 * aloft * np.sin(0.8 * time)
    for name, seconds in (("gear", 5.0), ("flap", 7.0)):
        found[name] = _followed(found[name], 1.0 / (seconds * RATE))
    return found


def _rounded(values: Floats, seconds: float) -> Floats:
    width = max(int(seconds * RATE) | 1, 3)
    padded = np.pad(values, width // 2, mode="edge")
    return np.convolve(padded, np.full(width, 1.0 / width), mode="valid")


def _followed(wanted: Floats, step: float) -> Floats:
    """Return a position that follows its lever at a steady rate."""
    found = np.empty_like(wanted)
    now = wanted[0]
    for at, value in enumerate(wanted):
        now += min(max(value - now, -step), step)
        found[at] = now
    return found


def _channels(flown: dict[str, Floats], numbers: Numbers, made: Plan) -> dict[str, Floats]:
    conditions = numbers.conditions
    runway, time = conditions.runway, flown["time"]
    speed, height = flown["speed"], flown["height"]
    heading = (runway.true_heading_deg + flown["heading"] - 90.0) % 360.0
    direction = np.radians(runway.true_heading_deg + flown["heading"] - 90.0)
    reported = conditions.weather.wind
    wind, wind_from = (0.0, 0.0) if reported is None else (reported.speed, reported.direction_from_deg or 0.0)
    tas = np.maximum(speed + wind * np.cos(np.radians(wind_from) - direction), 0.0)
    air = conditions.air
    ground_air = air if air is not None else Air(101_325.0, 288.15)
    # Of air that rises with the height: enough for a made-up flight below two thousand feet.
    temperature = np.asarray(ground_air.temperature) - 0.0065 * height
    pressure = np.asarray(ground_air.pressure) * (temperature / ground_air.temperature) ** 5.2559
    aloft = Air(pressure, temperature)
    vertical = np.gradient(height, time)
    path = np.arctan2(vertical, np.maximum(speed, 1.0))
    in_air = (height > 0.0).astype(float)
    turning = np.gradient(np.unwrap(direction), time)
    bank = np.arctan(speed * turning / STANDARD_GRAVITY) * in_air
    load = 1.0 / np.cos(bank) + np.gradient(_rounded(vertical, 1.0), time) / STANDARD_GRAVITY
    released = int(np.argmax((flown["brake"] < 0.5) & (time > 36.0)))
    burning = ((flown["throttle"] > 0.95) & (time >= time[released])).astype(float)
    flow = 0.15 + 0.9 * flown["throttle"] + 3.0 * burning
    burnt = np.cumsum(flow) / RATE
    burnt -= burnt[released]
    # What the flight on the range would have burnt and dropped goes on the downwind, which stands for it.
    loads, gone = numbers.loads, _rounded(flown["downwind"], 20.0)
    fuel = loads.takeoff.total_fuel - burnt
    fuel += gone * (loads.landing.total_fuel - fuel[-1])
    mass = float(loads.takeoff_balance.mass) - burnt
    mass += gone * (float(loads.landing_balance.mass) - mass[-1])
    columns: dict[str, Floats] = {"time": time}
    columns |= dict(
        zip(
            ("latitude_deg", "longitude_deg"),
            _place(flown, direction, released, conditions, made),
            strict=True,
        )
    )
    wheels = 1.0 - in_air
    engine = _followed(0.55 + 0.4 * flown["throttle"], 0.12 / RATE)
    columns |= {
        "altitude": height + conditions.aerodrome.elevation,
        "height_above_ground": height,
        "ground_speed": speed,
        "track_deg": heading,
        "vertical_speed": vertical,
        "calibrated_airspeed": np.asarray(cas_from_tas(tas, aloft)),
        "true_airspeed": tas,
        "mach_number": np.asarray(mach_from_tas(tas, temperature)),
        "outside_air_temperature": temperature,
        "wind_speed": np.full(len(time), wind),
        "wind_from_deg": np.full(len(time), wind_from),
        "pitch": flown["pitch"],
        "bank": bank,
        "true_heading_deg": heading,
        "load_factor_normal": np.where(in_air > 0.0, load, 1.0),
        "angle_of_attack": np.where(speed > 15.0, flown["pitch"] - path, 0.0),
        "pitch_rate": np.gradient(flown["pitch"], time),
        "weight_on_wheels_nose": wheels * (flown["pitch"] < math.radians(1.5)),
        "weight_on_wheels_left": wheels,
        "weight_on_wheels_right": wheels,
        "gross_mass": mass,
        "fuel_mass": np.maximum(fuel, 0.0),
        "flap_position": flown["flap"],
        "gear_position": flown["gear"],
        "speedbrake_position": np.zeros(len(time)),
        "stick_pitch": flown["stick"],
    }
    both: dict[str, Any] = {
        "brake": flown["brake"],
        "throttle": flown["throttle"],
        "engine_speed": engine,
        "afterburner_stage": burning,
    }
    columns |= {f"{name}_{side}": values for name, values in both.items() for side in ("left", "right")}
    return columns


def _place(
    flown: dict[str, Floats], direction: Floats, released: int, conditions: Any, made: Plan
) -> tuple[Floats, Floats]:
    """Return latitude and longitude: the run begins half a runway before the middle of the field."""
    north = np.cumsum(flown["speed"] * np.cos(direction)) / RATE
    east = np.cumsum(flown["speed"] * np.sin(direction)) / RATE
    back = made.runway.start_offset - 0.5 * made.runway.length
    heading = math.radians(conditions.runway.true_heading_deg)
    north += back * math.cos(heading) - north[released]
    east += back * math.sin(heading) - east[released]
    latitude, longitude = conditions.aerodrome.latitude_deg, conditions.aerodrome.longitude_deg
    per_north, per_east = metres_per_degree(latitude)
    return latitude + north / per_north, longitude + east / per_east
