"""A landing as flown against the landing as planned: speeds, air distance, touchdown, roll, brakes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sortiewright.pack import LoadedPack, OutsideTable, Pack
from sortiewright.performance import energy_zone
from sortiewright.recording.comparison_air import in_recorded_air
from sortiewright.recording.comparison_conditions import (
    Difference,
    Met,
    Planned,
    Tolerances,
    differences_of,
    require_same,
)
from sortiewright.recording.comparison_energy import (
    Roll,
    brake_energy,
    distance_between,
    idle_power,
    samples_between,
)
from sortiewright.recording.comparison_landing_curves import LandingPicture, landing_picture
from sortiewright.recording.comparison_landing_flown import (
    LandingMoments,
    PlannedLanding,
    landing_met,
    landing_moments,
    planned_landing,
)
from sortiewright.recording.comparison_met import value_at
from sortiewright.recording.comparison_values import Compared, speed_said, value_named
from sortiewright.recording.moments import Event, Flight
from sortiewright.recording.place import RunwayFrame, along_runway
from sortiewright.recording.recording import Recording
from sortiewright.sortie import LoadedSortie, Numbers, System


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
    picture: LandingPicture | None = None
    """Speed over distance; None where there is a gap in the landing."""

    def value(self, name: str) -> Compared:
        """Return a compared value by name, or raise ``KeyError``."""
        return value_named(self.compared, name)


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
    numbers: Numbers | None = None,
    units: System = "trade",
) -> LandingComparison:
    """Return a landing of a flight (the last where ``number`` is -1) held against the sortie's plan.

    Where the recorded air is not the sortie's, the plan is made with it and a remark says so. Raises
    ``InputError`` where there is none, or where pack, runway, wind or weight are not those of the sortie,
    each named; ``anyway`` compares all the same. With the ``threshold`` given, the touchdown point is
    counted from it; without, from 50 ft of height. ``numbers`` are those of the sortie, where they are at
    hand; texts are in ``units``.
    """
    moments = landing_moments(recording, flight, number)
    limits = tolerances or Tolerances()
    at = moments.touchdown.time
    air = in_recorded_air(recording, sortie, numbers, landing_at=at, tolerances=limits, units=units)
    planned = planned_landing(air.numbers, moments.chute_out is not None, sortie.path.name)
    inside = (recording.time >= (moments.gate_50 or moments.touchdown).time) & (recording.time <= at + 5.0)
    met = landing_met(recording, at, inside, air.numbers)
    differences = differences_of(
        recording,
        met,
        _planned_conditions(air.numbers),
        sortie.pack,
        recorded_pack,
        mass_share=limits.landing_mass,
        tolerances=limits,
        units=units,
    )
    if not anyway:
        require_same(recording, differences)
    remarks = [*air.said]
    pack = sortie.pack.pack
    energy = _energy(recording, moments, met, pack, air.numbers, remarks)
    zone = energy_zone(pack, energy) if energy is not None else None
    compared = _compared(recording, moments, planned, threshold, energy, remarks, units)
    return LandingComparison(
        at,
        planned.title,
        compared,
        differences,
        tuple(remarks),
        zone.title if zone is not None else "",
        landing_picture(recording, moments, planned, air.numbers, pack, threshold),
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
    moments: LandingMoments,
    row: PlannedLanding,
    threshold: RunwayFrame | None,
    energy: float | None,
    remarks: list[str],
    units: System,
) -> tuple[Compared, ...]:
    at = moments.touchdown.time
    cas = "calibrated_airspeed" if recording.has("calibrated_airspeed") else "indicated_airspeed"

    def speed_at(event: Event | None) -> float | None:
        return None if event is None else value_at(recording, cas, event.time)

    air = None if moments.gate_50 is None else distance_between(recording, moments.gate_50.time, at)
    roll = distance_between(recording, at, moments.ends)
    end_speed = 0.0 if moments.stopped else value_at(recording, "ground_speed", moments.ends) or 0.0
    share = min(end_speed / max(row.touchdown_ground_speed, 1.0), 1.0)
    planned_roll: float | None = row.ground_roll * (1.0 - share**2)
    roll_basis = "touchdown to stop"
    if moments.goes_on:
        roll, planned_roll, roll_basis = None, None, ""
        remarks.append("The aircraft took off again: there is no landing roll to compare")
    elif not moments.stopped:
        slow = speed_said(end_speed, units)
        roll_basis = f"touchdown to {slow}, as flown; planned: the roll at constant deceleration to there"
        remarks.append(f"The aircraft did not stop on the runway: rolls are compared down to {slow}")
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


def _mean_speed(recording: Recording, channel: str, moments: LandingMoments) -> float | None:
    """Return the mean airspeed from 500 to 50 ft, m/s."""
    if moments.gate_500 is None or moments.gate_50 is None:
        return None
    values = recording.number(channel)
    inside = (recording.time >= moments.gate_500.time) & (recording.time <= moments.gate_50.time)
    values = values[inside & np.isfinite(values)]
    return float(values.mean()) if values.size else None


def _energy(
    recording: Recording, moments: LandingMoments, met: Met, pack: Pack, numbers: Numbers, remarks: list[str]
) -> float | None:
    """Return what the brakes took, J; None where it is not told, and ``remarks`` says why."""
    if moments.goes_on:
        return None
    samples = samples_between(recording, moments.touchdown.time, moments.ends)
    name = numbers.sortie.landing.configuration or pack.technique.landing.configuration
    chute, opens = pack.wheels.chute, np.inf
    if moments.chute_out is not None and chute is not None:
        opens = moments.chute_out + chute.inflation_time
    try:
        energy = None
        if samples is not None:
            roll = Roll(*samples, met, pack.aero.configurations[name], opens, idle_power(pack))
            energy = brake_energy(recording, roll, pack, moments.brakes_on)
    except OutsideTable as error:
        remarks.append(f"Brake energy is not told: {error}")
        return None
    if energy is None:
        remarks.append("Brake energy is not told: neither brakes nor when they were put on are recorded")
    return energy
