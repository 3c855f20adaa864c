"""The relations between channels by which units are told, and mistakes noticed."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import numpy as np

from sortiewright.air import (
    MEAN_EARTH_RADIUS,
    STANDARD_GRAVITY,
    Air,
    cas_from_mach,
    speed_of_sound,
    standard_air,
)
from sortiewright.recording.consistency import (
    LEAST,
    Agreement,
    Relation,
    Samples,
    changes,
    everywhere,
    fast,
    means,
    size_ratio,
    slope_ratio,
)
from sortiewright.recording.recording import Floats

Compare = Callable[[Samples], Agreement | None]


def _altitude_rate(samples: Samples) -> Agreement | None:
    said = means(samples, "vertical_speed")
    return slope_ratio(changes(samples, "altitude"), said, everywhere(samples), 0.8)


def _same_change(one: str, other: str) -> Compare:
    def compare(samples: Samples) -> Agreement | None:
        return slope_ratio(changes(samples, one), changes(samples, other), everywhere(samples), 0.9)

    return compare


def _same_size(one: str, other: str) -> Compare:
    def compare(samples: Samples) -> Agreement | None:
        mask = fast(samples, one) & fast(samples, other)
        return size_ratio(samples.columns[one], samples.columns[other], mask)

    return compare


def _moved(samples: Samples) -> tuple[Floats, Floats]:
    """Return by how much each sample lies north and east of the one before, m on a sphere."""
    shrink = np.cos(np.radians(samples.columns["latitude_deg"]))
    north = np.radians(changes(samples, "latitude_deg")) * MEAN_EARTH_RADIUS
    return north, np.radians(changes(samples, "longitude_deg")) * MEAN_EARTH_RADIUS * shrink


def _speed_of_position(samples: Samples) -> Agreement | None:
    moved = np.hypot(*_moved(samples))
    with np.errstate(invalid="ignore"):
        mask = fast(samples, "ground_speed") & (moved > 1.0)
    return size_ratio(means(samples, "ground_speed"), moved, mask)


def _heading_and_track(samples: Samples) -> Agreement | None:
    """Compare heading with the direction in which the position moves: 12 degrees between them make 1.6."""
    north, east = _moved(samples)
    moved = np.hypot(north, east)
    with np.errstate(invalid="ignore"):
        off = samples.columns["true_heading_deg"] - np.degrees(np.arctan2(east, north))
        off = np.abs((off + 180.0) % 360.0 - 180.0)
        use = (moved > float(np.nanmax(moved, initial=0.0)) / 3.0) & np.isfinite(off)
    return None if use.sum() < LEAST else Agreement(1.0 + float(np.median(off[use])) / 20.0, 1.0)


def _standard_air(samples: Samples) -> Air:
    name = "pressure_altitude" if "pressure_altitude" in samples.columns else "altitude"
    return standard_air(np.clip(samples.columns[name], -1900.0, 30_000.0))


def _fits_true_airspeed(name: str) -> Compare:
    """Compare an airspeed with true airspeed and altitude, on a standard day."""

    def compare(samples: Samples) -> Agreement | None:
        air = _standard_air(samples)
        with np.errstate(all="ignore"):
            mach = np.clip(samples.columns["true_airspeed"] / air.speed_of_sound, 0.0, 3.0)
            said = cas_from_mach(mach, air.pressure)
        return size_ratio(samples.columns[name], said, fast(samples, "true_airspeed"))

    return compare


def _calibrated_from_mach(samples: Samples) -> Agreement | None:
    air = _standard_air(samples)
    with np.errstate(all="ignore"):
        said = cas_from_mach(np.clip(samples.columns["mach_number"], 0.0, 3.0), air.pressure)
    return size_ratio(samples.columns["calibrated_airspeed"], said, fast(samples, "mach_number"))


def _mach_speed(samples: Samples) -> Agreement | None:
    sound: Floats = np.full(len(samples.time), 325.0)  # m/s, within 7 percent from the ground to 11 km
    if "outside_air_temperature" in samples.columns:
        sound = speed_of_sound(np.clip(samples.columns["outside_air_temperature"], 1.0, 2000.0))
    said = samples.columns["mach_number"] * sound
    return size_ratio(samples.columns["true_airspeed"], said, fast(samples, "true_airspeed"))


def _lapse(samples: Samples) -> Agreement | None:
    """Compare how temperature falls with altitude with the standard 6.5 K a kilometre."""
    with np.errstate(invalid="ignore"):
        low = samples.columns["altitude"] < 11_000.0
    said = -0.0065 * changes(samples, "altitude")
    return slope_ratio(changes(samples, "outside_air_temperature"), said, low, 0.6)


def _banked_less(samples: Samples, most: float) -> np.ndarray:
    with np.errstate(invalid="ignore"):
        return np.abs(samples.columns["bank"]) < most if "bank" in samples.columns else everywhere(samples)


def _pitch_rate(samples: Samples) -> Agreement | None:
    mask = _banked_less(samples, 0.2)
    return slope_ratio(means(samples, "pitch_rate"), changes(samples, "pitch"), mask, 0.7)


def _roll_rate(samples: Samples) -> Agreement | None:
    return slope_ratio(means(samples, "roll_rate"), changes(samples, "bank"), everywhere(samples), 0.7)


def _yaw_rate(samples: Samples) -> Agreement | None:
    turned = np.radians(changes(samples, "true_heading_deg"))
    return slope_ratio(means(samples, "yaw_rate"), turned, _banked_less(samples, 0.9), 0.7)


def _air_or_ground_speed(samples: Samples) -> str:
    return "true_airspeed" if "true_airspeed" in samples.columns else "ground_speed"


def _climb(samples: Samples) -> tuple[Floats, np.ndarray]:
    """Return the climb angle, rad, and where the aircraft is fast enough for it."""
    name = _air_or_ground_speed(samples)
    with np.errstate(all="ignore"):
        climb = np.arcsin(np.clip(samples.columns["vertical_speed"] / samples.columns[name], -1.0, 1.0))
    return climb, fast(samples, name)


def _angle_of_attack(samples: Samples) -> Agreement | None:
    """Compare angle of attack with pitch less climb angle, wings nearly level."""
    climb, mask = _climb(samples)
    said = samples.columns["pitch"] - climb
    return slope_ratio(samples.columns["angle_of_attack"], said, mask & _banked_less(samples, 0.4), 0.7)


def _climb_angle(samples: Samples) -> Agreement | None:
    """Compare pitch less angle of attack with the climb angle."""
    climb, mask = _climb(samples)
    with np.errstate(invalid="ignore"):
        mask &= np.abs(climb) > 0.02
    path = samples.columns["pitch"] - samples.columns["angle_of_attack"] * np.cos(samples.columns["bank"])
    return slope_ratio(path, climb, mask, 0.7)


def _turn(samples: Samples) -> Agreement | None:
    """Compare the rate of turn with what bank and speed give in a level turn."""
    name = _air_or_ground_speed(samples)
    steps = np.diff(samples.time, prepend=samples.time[:1])
    with np.errstate(all="ignore"):
        rate = np.tan(np.clip(samples.columns["bank"], -1.3, 1.3)) * STANDARD_GRAVITY / samples.columns[name]
        mask = fast(samples, name) & (np.abs(samples.columns["bank"]) > 0.1)
    return slope_ratio(np.radians(changes(samples, "true_heading_deg")), rate * steps, mask, 0.7)


def _one_g(samples: Samples) -> Agreement | None:
    values = samples.columns["load_factor_normal"]
    return size_ratio(values, np.ones(len(values)), everywhere(samples))


def _fuel_burnt(samples: Samples) -> Agreement | None:
    """Compare the flow of all engines with the fuel gone, over all steps that are joined."""
    flows = [name for name in samples.columns if name.startswith("fuel_flow")]
    flow = np.sum([means(samples, name) for name in flows], axis=0)
    gone = -changes(samples, "fuel_mass")
    use = np.isfinite(flow) & np.isfinite(gone)
    burnt, drop = float(flow[use].sum()), float(gone[use].sum())
    return None if use.sum() < 60 or burnt <= 0.0 or drop <= 0.0 else Agreement(burnt / drop, 1.0)


def _same_flow(samples: Samples) -> Agreement | None:
    left, right = samples.columns["fuel_flow_left"], samples.columns["fuel_flow_right"]
    with np.errstate(invalid="ignore"):
        return size_ratio(left, right, (left > 0.0) & (right > 0.0))


def _weight_drop(samples: Samples) -> Agreement | None:
    gross, fuel = samples.columns["gross_mass"], samples.columns["fuel_mass"]
    use = np.isfinite(gross) & np.isfinite(fuel)
    if use.sum() < 60:
        return None
    gross, fuel = gross[use], fuel[use]
    dropped, burnt = float(gross[0] - gross[-1]), float(fuel[0] - fuel[-1])
    if burnt <= 0.01 * abs(float(fuel[0])) or dropped <= 0.0:
        return None
    # A store that was dropped changes the gross weight alone, so all of it must look alike.
    return Agreement(dropped / burnt, 1.0) if _likeness(gross, fuel) > 0.99 else None


def _likeness(one: Floats, other: Floats) -> float:
    """Return the correlation of two; NaN where either never changes."""
    x, y = one - one.mean(), other - other.mean()
    with np.errstate(all="ignore"):
        return float((x * y).sum() / np.sqrt((x * x).sum() * (y * y).sum()))


def _on_wheels(name: str) -> Compare:
    """Tell whether the wheels carry weight when the aircraft is slow and none when it is fast."""

    def compare(samples: Samples) -> Agreement | None:
        on, speed = samples.columns[name], samples.columns["ground_speed"]
        good = np.isfinite(speed) & np.isfinite(on)
        top = float(np.quantile(speed[good], 0.98)) if good.any() else 0.0
        slow, quick = on[good & (speed < top / 10.0)], on[good & (speed > top * 0.8)]
        if len(slow) < LEAST or len(quick) < LEAST:
            return None
        lead = float(slow.mean() - quick.mean())
        return Agreement(float(np.sign(lead)), abs(lead)) if abs(lead) > 0.5 else None

    return compare


def _answers(control: str, rate: str) -> Compare:
    """Tell whether the aircraft answers a control in the direction in which it is moved."""

    def compare(samples: Samples) -> Agreement | None:
        values = samples.columns[control]
        finite = values[np.isfinite(values)]
        moved = values - (float(np.median(finite)) if len(finite) else 0.0)
        found = slope_ratio(samples.columns[rate], moved, everywhere(samples), 0.35)
        return None if found is None else Agreement(float(np.sign(found.ratio)), found.likeness)

    return compare


def _rolls(side: str) -> Compare:
    def compare(samples: Samples) -> Agreement | None:
        legs = [samples.columns[name] for name in samples.columns if name.startswith("weight_on_wheels")]
        if not legs:
            return None  # in the air a wheel stops, and says nothing
        on = np.all([leg == 1.0 for leg in legs], axis=0)
        speed = samples.columns["ground_speed"]
        finite = speed[on & np.isfinite(speed)]
        top = float(finite.max()) if len(finite) else 0.0
        with np.errstate(invalid="ignore"):
            mask = on & (speed > top / 4.0)
        return size_ratio(samples.columns[f"wheel_speed_{side}"], speed, mask)

    return compare


RELATIONS: tuple[Relation, ...] = (
    Relation(("altitude", "vertical_speed"), "altitude changes as vertical speed says", _altitude_rate, 1.15),
    Relation(("height_above_ground", "altitude"), "height changes as altitude does",
             _same_change("height_above_ground", "altitude"), 1.2),
    Relation(("pressure_altitude", "altitude"), "pressure altitude changes as altitude does",
             _same_change("pressure_altitude", "altitude"), 1.2),
    Relation(("ground_speed", "latitude_deg", "longitude_deg"), "ground speed is that of the position",
             _speed_of_position, 1.08),
    Relation(("true_airspeed", "ground_speed"), "true airspeed is near ground speed",
             _same_size("true_airspeed", "ground_speed"), 1.45),
    Relation(("calibrated_airspeed", "true_airspeed", "altitude"),
             "calibrated airspeed fits true airspeed and altitude",
             _fits_true_airspeed("calibrated_airspeed"), 1.09),
    Relation(("indicated_airspeed", "true_airspeed", "altitude"),
             "indicated airspeed fits true airspeed and altitude",
             _fits_true_airspeed("indicated_airspeed"), 1.15),
    Relation(("calibrated_airspeed", "mach_number", "altitude"),
             "calibrated airspeed fits Mach number and altitude", _calibrated_from_mach, 1.09),
    Relation(("calibrated_airspeed", "ground_speed"), "calibrated airspeed is near ground speed",
             _same_size("calibrated_airspeed", "ground_speed"), 1.7),
    Relation(("indicated_airspeed", "calibrated_airspeed"), "indicated airspeed is near calibrated airspeed",
             _same_size("indicated_airspeed", "calibrated_airspeed"), 1.12),
    Relation(("indicated_airspeed", "ground_speed"), "indicated airspeed is near ground speed",
             _same_size("indicated_airspeed", "ground_speed"), 1.7),
    Relation(("true_airspeed", "mach_number"), "true airspeed fits Mach number", _mach_speed, 1.1),
    Relation(("outside_air_temperature", "altitude"), "temperature falls with altitude as usual",
             _lapse, 1.5),
    Relation(("pitch_rate", "pitch"), "pitch rate is that of pitch", _pitch_rate, 1.8),
    Relation(("roll_rate", "bank"), "roll rate is that of bank", _roll_rate, 1.8),
    Relation(("yaw_rate", "true_heading_deg"), "yaw rate is that of heading", _yaw_rate, 1.8),
    Relation(("pitch", "angle_of_attack", "bank", "vertical_speed", "ground_speed"),
             "pitch less angle of attack is the climb angle", _climb_angle, 1.15),
    Relation(("angle_of_attack", "pitch", "vertical_speed", "ground_speed"),
             "angle of attack is pitch less the climb angle", _angle_of_attack, 1.4),
    Relation(("true_heading_deg", "bank", "ground_speed"), "the aircraft turns as its bank says", _turn, 1.6),
    Relation(("true_heading_deg", "latitude_deg", "longitude_deg"), "heading is near the track",
             _heading_and_track, 1.6),
    *(Relation((f"weight_on_wheels_{leg}", "ground_speed"),
               "the wheels carry the slow aircraft, not the fast",
               _on_wheels(f"weight_on_wheels_{leg}"), np.inf) for leg in ("nose", "left", "right")),
    Relation(("stick_pitch", "pitch_rate"), "the nose follows the stick",
             _answers("stick_pitch", "pitch_rate"), np.inf),
    Relation(("stick_roll", "roll_rate"), "the wings follow the stick",
             _answers("stick_roll", "roll_rate"), np.inf),
    Relation(("load_factor_normal",), "load factor is 1 most of the time", _one_g, 1.35),
    Relation(("fuel_flow", "fuel_mass"), "the fuel gone is what flowed", _fuel_burnt, 1.2),
    Relation(("fuel_flow_left", "fuel_flow_right", "fuel_mass"), "the fuel gone is what flowed",
             _fuel_burnt, 1.2),
    Relation(("fuel_flow_left", "fuel_flow_right"), "both engines burn alike",
             _same_flow, 1.6),
    Relation(("gross_mass", "fuel_mass"), "gross weight falls as fuel does", _weight_drop, 1.15),
    Relation(("wheel_speed_left", "ground_speed"), "the left wheel rolls at ground speed",
             _rolls("left"), 1.12),
    Relation(("wheel_speed_right", "ground_speed"), "the right wheel rolls at ground speed",
             _rolls("right"), 1.12),
)  # fmt: skip
"""How far each may be off where all is well: common practice, no source. A wind of 30 kt in a 100 kt
approach, a day 20 degrees off standard and a position error of a few knots lie within."""


def relations_of(names: Iterable[str]) -> list[Relation]:
    """Return the relations all of whose channels are there."""
    there = set(names)
    return [one for one in RELATIONS if there.issuperset(one.names)]
