"""A landing as flown against the landing as planned: speeds, air distance, touchdown, roll, brakes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import STANDARD_GRAVITY, Air, standard_pressure
from sortiewright.pack import Configuration, InputError, LoadedPack, OutsideTable, Pack, Problem
from sortiewright.performance import coefficients, energy_zone, ground_effect, thrust_per_engine
from sortiewright.recording.comparison_conditions import (
    Difference,
    Met,
    Planned,
    Tolerances,
    differences_of,
    require_same,
)
from sortiewright.recording.comparison_flown import (
    MASS_PLANNED,
    MASS_RECORDED,
    WIND_PLANNED,
    Known,
    heading_of,
    headwind_of,
    value_at,
)
from sortiewright.recording.comparison_takeoff import Compared
from sortiewright.recording.moments import Event, EventName, Flight
from sortiewright.recording.place import RunwayFrame, along_runway
from sortiewright.recording.recording import Recording
from sortiewright.sortie import LoadedSortie, Numbers, compute

Floats = NDArray[np.float64]

BRAKED = 0.05  # share of full from which a brake counts as used
ROLLED_OUT = 10.0  # m/s: slower, an aircraft that has not stopped is taken to taxi


@dataclass(frozen=True)
class LandingComparison:
    """A landing against its plan."""

    touched_down_at: float
    """s on the recording's clock."""
    case: str
    """The planned landing it is held against, in words."""
    compared: tuple[Compared, ...]
    differences: tuple[Difference, ...]
    remarks: tuple[str, ...]
    brake_zone: str = ""
    """The pack's energy zone that the brakes reached; empty where it is not told."""

    def value(self, name: str) -> Compared:
        """Return a compared value by name, or raise ``KeyError``."""
        for one in self.compared:
            if one.name == name:
                return one
        raise KeyError(name)


@dataclass(frozen=True)
class _Moments:
    touchdown: Event
    gate_50: Event | None
    gate_500: Event | None
    ends: float
    stopped: bool
    goes_on: bool
    """Whether it takes off again: a touch and go, or a bounce."""
    chute: bool
    brakes_on: float | None


def compare_landing(
    recording: Recording,
    flight: Flight,
    sortie: LoadedSortie,
    *,
    number: int = -1,
    threshold: RunwayFrame | None = None,
    recorded_pack: LoadedPack | None = None,
    anyway: bool = False,
    tolerances: Tolerances | None = None,
) -> LandingComparison:
    """Return a landing of a flight (the last where ``number`` is -1) held against the sortie's plan.

    Raises ``InputError`` where there is none, or where pack, runway, weather or weight are not those of the
    sortie, each named; ``anyway`` compares all the same. With the ``threshold`` given, the touchdown point is
    counted from it; without, from 50 ft of height.
    """
    moments = _moments(recording, flight, number)
    numbers = compute(sortie.sortie, sortie.pack.pack)
    limits = tolerances or Tolerances()
    row = _planned_row(numbers, moments.chute, sortie.path.name)
    at = moments.touchdown.time
    inside = (recording.time >= (moments.gate_50 or moments.touchdown).time) & (recording.time <= at + 5.0)
    met = _met(recording, at, inside, numbers)
    differences = differences_of(
        recording,
        met,
        _planned_conditions(numbers),
        sortie.pack,
        recorded_pack,
        mass_share=limits.landing_mass,
        tolerances=limits,
    )
    if not anyway:
        require_same(recording, differences)
    remarks: list[str] = []
    pack = sortie.pack.pack
    energy = _energy(recording, moments, met, pack, numbers, remarks)
    zone = energy_zone(pack, energy) if energy is not None else None
    compared = _compared(recording, moments, row, threshold, energy, remarks)
    return LandingComparison(
        at,
        row.title,
        compared,
        differences,
        tuple(remarks),
        zone.title if zone is not None else "",
    )


def _moments(recording: Recording, flight: Flight, number: int) -> _Moments:
    touchdowns = [event for event in flight.events if event.name == "touchdown"]
    try:
        touchdown = touchdowns[number]
    except IndexError:
        hint = "Is its weight on wheels or its height recorded? See: sortiewright recording show"
        raise InputError(
            [Problem(recording.name, None, "", "", "no touchdown is found in it", hint)]
        ) from None
    following = [
        e.time for e in flight.events if e.time > touchdown.time and e.name in ("lift_off", "touchdown")
    ]
    last = min(following, default=np.inf)

    def before(name: EventName) -> Event | None:
        found = [e for e in flight.events if e.name == name and e.time < touchdown.time]
        return found[-1] if found else None

    def after(name: EventName) -> Event | None:
        return next((e for e in flight.events if e.name == name and touchdown.time <= e.time < last), None)

    stopped, brakes = after("stopped"), after("brakes_on")
    ends = stopped.time if stopped is not None else _rolled_out(recording, touchdown.time, last)
    return _Moments(
        touchdown,
        before("gate_50_ft"),
        before("gate_500_ft"),
        ends,
        stopped is not None,
        bool(np.isfinite(last)) and stopped is None,
        after("chute_out") is not None,
        None if brakes is None else brakes.time,
    )


def _rolled_out(recording: Recording, touchdown: float, last: float) -> float:
    """Return when an aircraft that did not stop had slowed to a taxi, or its last moment on the runway."""
    speed = recording.number("ground_speed")
    rows = np.flatnonzero((recording.time > touchdown) & (recording.time < last) & np.isfinite(speed))
    slow = rows[speed[rows] <= ROLLED_OUT]
    if slow.size:
        return float(recording.time[slow[0]])
    return float(recording.time[rows[-1]]) if rows.size else touchdown


@dataclass(frozen=True)
class _Row:
    """The planned landing, SI."""

    title: str
    approach_cas: float
    touchdown_cas: float
    touchdown_ground_speed: float
    air_distance: float
    ground_roll: float
    total: float
    brake_energy: float
    sink_rate: float


def _planned_row(numbers: Numbers, chute: bool, name: str) -> _Row:
    """Return today's planned landing, with the chute or without it as flown."""
    wanted = ["today_chute", "today"] if chute else ["today", "today_chute"]
    for case in wanted:
        for row in numbers.landings:
            if row.name == case and row.result is not None:
                one, k = row.result, row.row
                values = {key: float(getattr(one, key)[k]) for key in _Row.__annotations__ if key != "title"}
                return _Row(title=row.title, **values)
    problem = next((row.problem for row in numbers.landings if row.problem), "it plans none")
    expected = f"the sortie's landing cannot be computed: {problem}"
    raise InputError([Problem(name, None, "", "", expected, "See: sortiewright plan")])


def _met(recording: Recording, at: float, inside: NDArray[np.bool_], numbers: Numbers) -> Met:
    conditions, balance = numbers.landing_conditions, numbers.loads.landing_balance
    mass = value_at(recording, "gross_mass", at)
    temperature = value_at(recording, "outside_air_temperature", at)
    altitude = value_at(recording, "pressure_altitude", at)
    heading = heading_of(recording, inside)
    air, wind = conditions.air, conditions.wind
    assert air is not None
    assert wind is not None
    headwind = headwind_of(recording, inside, heading, float(wind.headwind_for_distance), [])
    return Met(
        at,
        Known(balance.mass, MASS_PLANNED * balance.mass, "plan")
        if mass is None
        else Known(mass, MASS_RECORDED * mass, "recorded"),
        Known(float(air.temperature), 1.0, "plan")
        if temperature is None
        else Known(temperature, 0.5, "recorded"),
        Known(float(air.pressure), 100.0, "plan")
        if altitude is None
        else Known(float(standard_pressure(altitude)), 50.0, "recorded"),
        headwind if heading is not None else Known(float(wind.headwind_for_distance), WIND_PLANNED, "plan"),
        heading,
    )


def _planned_conditions(numbers: Numbers) -> Planned:
    place = numbers.landing_conditions
    assert place.air is not None
    assert place.wind is not None
    return Planned(
        numbers.loads.landing_balance.mass,
        float(place.air.temperature),
        float(place.air.pressure),
        float(place.wind.headwind_for_distance),
        place.runway.designator,
        place.runway.true_heading_deg,
        place.runway.elevation,
        place.aerodrome.latitude_deg,
        place.aerodrome.longitude_deg,
    )


def _compared(
    recording: Recording,
    moments: _Moments,
    row: _Row,
    threshold: RunwayFrame | None,
    energy: float | None,
    remarks: list[str],
) -> tuple[Compared, ...]:
    at = moments.touchdown.time
    cas = "calibrated_airspeed" if recording.has("calibrated_airspeed") else "indicated_airspeed"

    def speed_at(event: Event | None) -> float | None:
        return None if event is None else value_at(recording, cas, event.time)

    air = None if moments.gate_50 is None else _distance(recording, moments.gate_50.time, at)
    roll = _distance(recording, at, moments.ends)
    end_speed = 0.0 if moments.stopped else value_at(recording, "ground_speed", moments.ends) or 0.0
    share = min(end_speed / max(row.touchdown_ground_speed, 1.0), 1.0)
    planned_roll: float | None = row.ground_roll * (1.0 - share**2)
    roll_basis = "touchdown to stop"
    if moments.goes_on:
        roll, planned_roll, roll_basis = None, None, ""
        remarks.append("The aircraft took off again: there is no landing roll to compare")
    elif not moments.stopped:
        knots = end_speed * 3600 / 1852
        roll_basis = (
            f"touchdown to {knots:.0f} kt, as flown; planned: the roll at constant deceleration to there"
        )
        remarks.append(f"The aircraft did not stop on the runway: rolls are compared down to {knots:.0f} kt")
    point, planned_point, point_basis = air, row.air_distance, "from 50 ft of height"
    if threshold is not None:
        place = along_runway(recording, threshold).distance
        good = np.isfinite(place)
        if good.any():
            point = float(np.interp(at, recording.time[good], place[good]))
            point_basis = "from the threshold"
    return (
        Compared(
            "approach_speed", "Approach speed", "cas", row.approach_cas, _mean_speed(recording, cas, moments)
        ),
        Compared("threshold_speed", "Speed at 50 ft", "cas", row.approach_cas, speed_at(moments.gate_50)),
        Compared("touchdown_speed", "Touchdown speed", "cas", row.touchdown_cas, speed_at(moments.touchdown)),
        Compared(
            "touchdown_ground_speed",
            "Ground speed at touchdown",
            "ground_speed",
            row.touchdown_ground_speed,
            value_at(recording, "ground_speed", at),
        ),
        Compared("air_distance", "50 ft to touchdown", "runway_distance", row.air_distance, air),
        Compared(
            "touchdown_point", "Touchdown point", "runway_distance", planned_point, point, None, point_basis
        ),
        Compared("ground_roll", "Landing roll", "runway_distance", planned_roll, roll, None, roll_basis),
        Compared(
            "landing_distance",
            "50 ft to the end of the roll",
            "runway_distance",
            None if planned_roll is None else row.air_distance + planned_roll,
            None if air is None or roll is None else air + roll,
        ),
        Compared(
            "brake_energy",
            "Brake energy",
            "energy",
            row.brake_energy,
            energy,
            None,
            "kinetic energy lost while braking, less the work of drag, chute, rolling and idle thrust",
        ),
    )


def _mean_speed(recording: Recording, channel: str, moments: _Moments) -> float | None:
    """Return the mean airspeed from 500 to 50 ft, m/s."""
    if moments.gate_500 is None or moments.gate_50 is None:
        return None
    values = recording.number(channel)
    inside = (recording.time >= moments.gate_500.time) & (recording.time <= moments.gate_50.time)
    values = values[inside & np.isfinite(values)]
    return float(values.mean()) if values.size else None


def _samples(recording: Recording, begin: float, end: float) -> tuple[Floats, Floats] | None:
    """Return times and ground speeds of a stretch, its ends interpolated; None where it has a gap."""
    speed = recording.number("ground_speed")
    good = np.isfinite(speed)
    breaks = recording.time[recording.breaks]
    if not good.any() or bool(((breaks > begin) & (breaks <= end)).any()) or end <= begin:
        return None
    between = recording.time[(recording.time > begin) & (recording.time < end) & good]
    time = np.concatenate([[begin], between, [end]])
    return time, np.interp(time, recording.time[good], speed[good])


def _distance(recording: Recording, begin: float, end: float) -> float | None:
    samples = _samples(recording, begin, end)
    if samples is None:
        return None
    time, speed = samples
    return float(np.sum(0.5 * (speed[1:] + speed[:-1]) * np.diff(time)))


def _energy(
    recording: Recording,
    moments: _Moments,
    met: Met,
    pack: Pack,
    numbers: Numbers,
    remarks: list[str],
) -> float | None:
    """Return what the brakes took, J: kinetic energy lost while they were used, less what else took it."""
    if moments.goes_on:
        return None
    samples = _samples(recording, moments.touchdown.time, moments.ends)
    brakes = [recording.number(name) for name in ("brake_left", "brake_right") if recording.has(name)]
    if samples is None or (not brakes and moments.brakes_on is None):
        remarks.append("Brake energy is not told: neither brakes nor when they were put on are recorded")
        return None
    time, speed = samples
    if brakes:
        used: Floats = np.where(np.fmax.reduce(brakes) > BRAKED, 1.0, 0.0)
        braked = np.interp(time, recording.time, used) > 0.5
    else:
        braked = time >= (moments.brakes_on or np.inf)
    try:
        other = _other_force(speed, time, moments, met, pack, numbers)
    except OutsideTable as error:
        remarks.append(f"Brake energy is not told: {error}")
        return None
    lost = 0.5 * met.mass.value * (speed[:-1] ** 2 - speed[1:] ** 2)
    work = 0.5 * (other[1:] + other[:-1]) * 0.5 * (speed[1:] + speed[:-1]) * np.diff(time)
    whole = braked[1:] & braked[:-1]
    return max(float(np.sum((lost - work)[whole])), 0.0)


def _other_force(
    speed: Floats, time: Floats, moments: _Moments, met: Met, pack: Pack, numbers: Numbers
) -> Floats:
    """Return the force against the motion that is not the brakes', N: nose down, levers at idle."""
    name = numbers.sortie.landing.configuration or pack.technique.landing.configuration
    configuration: Configuration = pack.aero.configurations[name]
    air = Air(met.pressure.value, met.temperature.value)
    tas = np.maximum(speed + met.headwind.value, 0.0)
    mach = tas / float(air.speed_of_sound)
    force = coefficients(pack, configuration, pack.airframe.static_ground_attitude, mach)
    pressure = 0.5 * float(air.density) * tas**2
    drag = pressure * pack.airframe.wing_area * force.drag(ground_effect(pack, 0.0))
    lift = pressure * pack.airframe.wing_area * force.lift
    idle = pack.engine.settings[pack.engine.idle]
    thrust = pack.engine.count * thrust_per_engine(
        idle, mach, float(air.pressure_altitude), float(air.isa_deviation)
    )
    rolling = pack.wheels.rolling_friction * np.maximum(met.mass.value * STANDARD_GRAVITY - lift, 0.0)
    chute = pack.wheels.chute.drag_area * pressure if moments.chute and pack.wheels.chute is not None else 0.0
    return drag + rolling + chute - thrust
