"""A takeoff as it was flown: run, rotation, load and weather, each with how well it is known."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sortiewright.pack import InputError, Problem
from sortiewright.performance import TakeoffSetup
from sortiewright.recording.calibration_noise import straight_line
from sortiewright.recording.comparison_met import (
    Known,
    heading_of,
    headwind_of,
    mass_at,
    pressure_at,
    temperature_at,
    value_at,
)
from sortiewright.recording.moments import Event, EventName, Flight
from sortiewright.recording.recording import Recording

Floats = NDArray[np.float64]

ROLLING = 2.0  # m/s: slower when the levers go forward, it is a start from a stand
SETTLE_MARGIN = 1.0  # s after the last sign that thrust still changes
RAMP_FROM = 0.2  # share of the way to the attitude at lift-off from which the nose is taken to rise steadily
LEVER_MOVED = 0.02  # share of the travel
MOST_UPWASH = np.radians(2.0)  # beyond, the angle of attack is not measured from the line of the pitch
SPEED_UP = 0.99  # share of its highest in the run at which an engine has spooled up


@dataclass(frozen=True, slots=True)
class PitchRamp:
    """The steady rise of the nose: ``begins`` s after release, where it leaves the three-point attitude."""

    begins: float
    rate: float
    """rad/s."""
    rate_sigma: float
    samples: int
    upwash: float | None = None
    """Mean angle of attack less pitch while the nose rose, rad: rising air lifts the aircraft off earlier.
    None where no angle of attack is recorded, or one that cannot be of the pitch's reference line."""
    upwash_sigma: float = 0.0


@dataclass(frozen=True)
class FlownTakeoff:
    """One takeoff of a recording. Times are seconds after brake release, distances metres from there."""

    name: str
    released_at: float
    """s on the recording's clock."""
    time: Floats
    ground_speed: Floats
    distance: Floats
    calibrated_airspeed: Floats
    """NaN where it is not recorded."""
    rotation_begins: float | None
    nosewheel_off: float | None
    lift_off: float
    screen: float | None
    settled: float
    """From here on thrust no longer changes with time."""
    mass: Known
    headwind: Known
    pressure: Known
    temperature: Known
    heading_deg: float | None
    ramp: PitchRamp | None
    lift_off_pitch: float | None
    climb_pitch: float | None
    """The highest from lift-off to the screen."""
    augmented: bool | None
    """Whether a burner was lit in the run; None where nothing tells."""
    fuel_at_release: float | None
    fuel_at_lift_off: float | None
    notes: tuple[str, ...] = ()

    @property
    def start_speed(self) -> float:
        """Return the ground speed at which the run began, m/s: nought for one from a stand."""
        speed = float(self.ground_speed[0])
        return speed if speed > ROLLING else 0.0

    @property
    def run_ends(self) -> float:
        """Return when the nose begins to rise, or the stick to move, whichever is told and first."""
        told = [one for one in (self.rotation_begins, self.nosewheel_off) if one is not None]
        return min(told) if told else self.lift_off - 4.0

    def distance_at(self, time: float) -> float:
        """Return the distance at a time, m."""
        return float(np.interp(time, self.time, self.distance))

    def ground_speed_at(self, time: float) -> float:
        """Return the ground speed at a time, m/s."""
        return float(np.interp(time, self.time, self.ground_speed))

    def airspeed_at(self, time: float) -> float | None:
        """Return the calibrated airspeed at a time, m/s, None where it is not recorded."""
        good = np.isfinite(self.calibrated_airspeed)
        return float(np.interp(time, self.time[good], self.calibrated_airspeed[good])) if good.any() else None


def flown_takeoff(
    recording: Recording, flight: Flight, planned: TakeoffSetup, *, number: int = 0
) -> FlownTakeoff:
    """Return a takeoff of a flight, the first where ``number`` is 0.

    ``planned`` is the setup of one case: what is not recorded is taken from it, and the notes say so. Raises
    ``InputError`` where the recording holds no whole takeoff roll.
    """
    begin, lift_off = _ends(recording, flight, number)
    last = _after("height_50_ft", flight, lift_off.time, _next_time(flight, "lift_off", lift_off.time))
    end = (last or lift_off).time
    time, speed, cas = run_rows(recording, begin.time, end)
    step = np.diff(time)
    distance = np.concatenate([[0.0], np.cumsum(0.5 * (speed[1:] + speed[:-1]) * step)])
    nose = _between("nosewheel_off", flight, begin.time, lift_off.time)
    pull = _between("rotation_begins", flight, begin.time, lift_off.time)
    lifted = lift_off.time - begin.time
    inside = (recording.time >= begin.time) & (recording.time <= lift_off.time)
    notes: list[str] = []
    heading = heading_of(recording, inside)
    settled, levers = power_settled(recording, planned, begin.time, lift_off.time)
    notes += levers
    case = planned.cases
    return FlownTakeoff(
        name=recording.name,
        released_at=begin.time,
        time=time,
        ground_speed=speed,
        distance=distance,
        calibrated_airspeed=cas,
        rotation_begins=None if pull is None else pull.time - begin.time,
        nosewheel_off=None if nose is None else nose.time - begin.time,
        lift_off=lifted,
        screen=None if last is None else last.time - begin.time,
        settled=settled,
        mass=mass_at(recording, begin.time, float(case.mass[0]), notes),
        headwind=headwind_of(recording, inside, heading, float(case.headwind[0]), notes),
        pressure=pressure_at(recording, begin.time, float(case.pressure[0]), notes),
        temperature=temperature_at(recording, begin.time, float(case.temperature[0]), notes),
        heading_deg=heading,
        ramp=_ramp(recording, begin.time, pull, nose, lift_off.time, notes),
        lift_off_pitch=value_at(recording, "pitch", lift_off.time),
        climb_pitch=None if last is None else _highest(recording, "pitch", lift_off.time, last.time),
        augmented=burner_lit(recording, inside),
        fuel_at_release=value_at(recording, "fuel_mass", begin.time),
        fuel_at_lift_off=value_at(recording, "fuel_mass", lift_off.time),
        notes=tuple(notes),
    )


def count_takeoffs(flight: Flight) -> int:
    """Return how many lift-offs a flight has."""
    return sum(event.name == "lift_off" for event in flight.events)


def _ends(recording: Recording, flight: Flight, number: int) -> tuple[Event, Event]:
    lift_offs = [event for event in flight.events if event.name == "lift_off"]
    if number >= len(lift_offs):
        hint = "Is its weight on wheels or its height recorded? See: sortiewright recording show"
        raise InputError([Problem(recording.name, None, "", "", "no lift-off is found in it", hint)])
    lift_off = lift_offs[number]
    earlier = lift_offs[number - 1].time if number else -np.inf
    begins = [e for e in flight.events if e.name == "brake_release" and earlier < e.time < lift_off.time]
    if not begins:
        touched = any(e.name == "touchdown" and earlier < e.time < lift_off.time for e in flight.events)
        why = (
            "the aircraft took off again from a landing roll, of which the sortie plans nothing"
            if touched
            else "the recording begins on the run, or does not tell when the brakes were released"
        )
        expected = f"the lift-off at {lift_off.time:.1f} s cannot be compared: {why}"
        raise InputError([Problem(recording.name, None, "", "", expected)])
    return begins[-1], lift_off


def _next_time(flight: Flight, name: EventName, after: float) -> float:
    return min(
        (event.time for event in flight.events if event.name == name and event.time > after), default=np.inf
    )


def _after(name: EventName, flight: Flight, begin: float, end: float) -> Event | None:
    return next((e for e in flight.events if e.name == name and begin < e.time < end), None)


def _between(name: EventName, flight: Flight, begin: float, end: float) -> Event | None:
    found = [event for event in flight.events if event.name == name and begin < event.time < end]
    return found[-1] if found else None


def run_rows(recording: Recording, begin: float, end: float) -> tuple[Floats, Floats, Floats]:
    """Return time since ``begin``, ground speed and airspeed, both ends interpolated.

    Raises ``InputError`` where a gap lies between, or too few samples.
    """
    speed = recording.number("ground_speed")
    good = np.isfinite(speed)
    rows = np.flatnonzero((recording.time > begin) & (recording.time < end) & good)
    broken = (recording.time[recording.breaks] > begin) & (recording.time[recording.breaks] <= end)
    if rows.size < 20 or bool(broken.any()):
        why = (
            "a gap or a pause lies in it"
            if broken.any()
            else "fewer than 20 ground speeds are recorded in it"
        )
        expected = f"the run at {begin:.1f} s cannot be compared: {why}"
        raise InputError([Problem(recording.name, None, "", "", expected)])
    time = np.concatenate([[begin], recording.time[rows], [end]])
    cas = recording.number("calibrated_airspeed")
    if not np.isfinite(cas).any():
        cas = recording.number("indicated_airspeed")
    air = np.isfinite(cas)
    airspeed = np.interp(time, recording.time[air], cas[air]) if air.any() else np.full(len(time), np.nan)
    return time - begin, np.interp(time, recording.time[good], speed[good]), airspeed


def _highest(recording: Recording, channel: str, begin: float, end: float) -> float | None:
    values = recording.number(channel)[(recording.time >= begin) & (recording.time <= end)]
    values = values[np.isfinite(values)]
    return float(values.max()) if values.size else None


def _engines(recording: Recording, channel: str) -> list[Floats]:
    names = (channel, f"{channel}_left", f"{channel}_right")
    return [recording.number(name) for name in names if np.isfinite(recording.number(name)).any()]


def burner_lit(recording: Recording, inside: NDArray[np.bool_]) -> bool | None:
    """Return whether a burner was lit in some samples; None where nothing tells."""
    stages = _engines(recording, "afterburner_stage")
    return bool(any(np.nanmax(stage[inside]) > 0.5 for stage in stages)) if stages else None


def power_settled(
    recording: Recording, planned: TakeoffSetup, begin: float, end: float
) -> tuple[float, list[str]]:
    """Return when thrust has ceased to change with time, s after release, and what is odd about that."""
    time = recording.time
    inside = (time >= begin) & (time <= end)
    latest = float(np.max(planned.power.settled))
    transients = planned.pack.engine.transients
    for stage in _engines(recording, "afterburner_stage"):
        lit = np.flatnonzero(inside[1:] & (np.diff(stage) > 0.5)) + 1
        if lit.size:
            latest = max(latest, float(time[lit[-1]] - begin) + transients.light_to_full)
    for speed in _engines(recording, "engine_speed"):
        rows = np.flatnonzero(inside & (speed < SPEED_UP * np.nanmax(speed[inside])))
        if rows.size:
            latest = max(latest, float(time[rows[-1]] - begin))
    notes: list[str] = []
    for lever in _engines(recording, "throttle"):
        moved = np.abs(lever - lever[np.flatnonzero(inside)[-1]]) > LEVER_MOVED
        rows = np.flatnonzero(inside & moved)
        if rows.size:
            latest = max(latest, float(time[rows[-1]] - begin))
    if latest + SETTLE_MARGIN > 0.6 * (end - begin):
        notes.append(f"A lever or an engine still moved {latest:.1f} s after brake release")
    return latest + SETTLE_MARGIN, notes


def _ramp(
    recording: Recording,
    begin: float,
    pull: Event | None,
    nose: Event | None,
    lift_off: float,
    notes: list[str],
) -> PitchRamp | None:
    """Return the straight line through the pitch angle from a fifth of the way to lift-off.

    A nose rises slowly at first: a line through all of it would begin too early and be too slow where lift
    builds up.
    """
    first = nose or pull
    pitch = recording.number("pitch")
    if first is None or not np.isfinite(pitch).any():
        notes.append("Rotation is not told: pitch, or when the nose rose, is not recorded")
        return None
    before = (
        (recording.time >= first.time - 2.0) & (recording.time < (pull or first).time) & np.isfinite(pitch)
    )
    level = (
        float(np.median(pitch[before]))
        if before.any()
        else float(np.interp(first.time, recording.time, pitch))
    )
    at_lift_off = value_at(recording, "pitch", lift_off) or 0.0
    rising = level + RAMP_FROM * (at_lift_off - level)
    window = np.flatnonzero(
        (recording.time >= first.time) & (recording.time <= lift_off) & np.isfinite(pitch)
    )
    below = np.flatnonzero(pitch[window] <= rising)
    rows = window[below[-1] + 1 :] if below.size else window
    if rows.size < 4 or at_lift_off - level < 0.01:
        notes.append("The rate of rotation is not told: fewer than four samples of the nose rising")
        return None
    line = straight_line(recording.time[rows], pitch[rows])
    if line.slope <= 0.0:
        return None
    starts = recording.time[rows].mean() + (level - line.middle) / line.slope
    ramp = PitchRamp(float(starts - begin), line.slope, line.slope_sigma, len(rows))
    return _with_upwash(ramp, (recording.number("angle_of_attack") - pitch)[rows], notes)


def _with_upwash(ramp: PitchRamp, above_pitch: Floats, notes: list[str]) -> PitchRamp:
    """Return the ramp with the vertical wind in it.

    On the main wheels the path lies along the runway: what the angle of attack exceeds the pitch by is rising
    air.
    """
    above_pitch = above_pitch[np.isfinite(above_pitch)]
    if above_pitch.size < 4:
        return ramp
    if abs(float(above_pitch.mean())) > MOST_UPWASH:
        notes.append("Angle of attack and pitch differ in the rotation by more than any wind: it is not used")
        return ramp
    # Gusts last as long as a rotation: its samples are worth one.
    return replace(ramp, upwash=float(above_pitch.mean()), upwash_sigma=float(above_pitch.std()))
