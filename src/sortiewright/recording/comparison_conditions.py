"""Whether a recording may be held against a plan: pack, runway, weather and weight, each difference named."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from sortiewright.air import geodesic
from sortiewright.pack import InputError, LoadedPack, Problem
from sortiewright.recording.comparison_met import Known
from sortiewright.recording.recording import Recording
from sortiewright.sortie import Kind, System, show


@dataclass(frozen=True, slots=True)
class Tolerances:
    """How far a flight may be from its plan and still be compared with it: common practice, no source.

    What lies within is compared and named as a cause; what lies beyond is another flight.
    """

    mass: float = 0.02  # share
    landing_mass: float = 0.06  # share; fuel at touchdown is known less well beforehand
    temperature: float = 5.0  # K
    pressure: float = 700.0  # Pa, some 60 m of pressure altitude
    headwind: float = 10.0 * 1852.0 / 3600.0  # m/s
    heading: float = 10.0  # deg
    place: float = 8000.0  # m from the aerodrome's reference point
    elevation: float = 30.0  # m


@dataclass(frozen=True, slots=True)
class Difference:
    """Something that is not as the sortie says."""

    name: str
    """pack, runway, weather or weight."""
    text: str


@dataclass(frozen=True)
class Planned:
    """What a plan says of the moment compared, SI."""

    mass: float
    temperature: float
    pressure: float
    headwind: float
    runway: str
    true_heading_deg: float
    elevation: float
    latitude_deg: float
    longitude_deg: float


@dataclass(frozen=True)
class Met:
    """What a recording says of it; None where it does not."""

    time: float
    mass: Known
    temperature: Known
    pressure: Known
    headwind: Known
    heading_deg: float | None


def differences_of(
    recording: Recording,
    met: Met,
    planned: Planned,
    pack: LoadedPack,
    recorded_pack: LoadedPack | None,
    *,
    mass_share: float,
    tolerances: Tolerances,
    units: System = "trade",
) -> tuple[Difference, ...]:
    """Return in what a flight differs from its plan by more than may be compared."""
    found = [
        *_pack(recording, pack, recorded_pack),
        *_runway(recording, met, planned, tolerances, units),
        *_weather(met, planned, tolerances, units),
    ]
    if met.mass.basis == "recorded" and abs(met.mass.value - planned.mass) > mass_share * planned.mass:
        found.append(
            Difference(
                "weight",
                _said("weight", met.mass.value, planned.mass, Kind.MASS, mass_share * planned.mass, units),
            )
        )
    return tuple(found)


def require_same(
    recording: Recording,
    differences: Iterable[Difference],
    hint: str = "Compare with the sortie that was flown, or anyway: --anyway",
) -> None:
    """Raise ``InputError`` where there is a difference, with every one of them."""
    problems = [Problem(recording.name, None, one.name, "", one.text, hint) for one in differences]
    if problems:
        raise InputError(problems)


def _pack(recording: Recording, pack: LoadedPack, recorded: LoadedPack | None) -> list[Difference]:
    found: list[Difference] = []
    if recorded is not None and recorded.digest != pack.digest:
        other = f"{recorded.pack.name} {recorded.pack.version} ({recorded.digest[:8]})"
        own = f"{pack.pack.name} {pack.pack.version} ({pack.digest[:8]})"
        found.append(Difference("pack", f"flown with {other}; the sortie is planned with {own}"))
    engines = sum(recording.has(f"engine_speed{side}") for side in ("_left", "_right"))
    if engines and engines != min(pack.pack.engine.count, 2):
        text = f"{engines} engines are recorded; {pack.pack.name} has {pack.pack.engine.count}"
        found.append(Difference("pack", text))
    return found


def _runway(
    recording: Recording, met: Met, planned: Planned, tolerances: Tolerances, units: System
) -> list[Difference]:
    found: list[Difference] = []
    if met.heading_deg is not None:
        off = (met.heading_deg - planned.true_heading_deg + 180.0) % 360.0 - 180.0
        if abs(off) > tolerances.heading:
            text = (
                f"flown on heading {met.heading_deg:03.0f} true; "
                f"runway {planned.runway} lies {planned.true_heading_deg:03.0f} true"
            )
            found.append(Difference("runway", text))
    row = int(np.searchsorted(recording.time, met.time))
    row = min(row, recording.rows - 1)
    latitude = float(recording.number("latitude_deg")[row])
    longitude = float(recording.number("longitude_deg")[row])
    if np.isfinite(latitude) and np.isfinite(longitude):
        away = geodesic(planned.latitude_deg, planned.longitude_deg, latitude, longitude)
        distance = float(away.distance)
        if distance > tolerances.place:
            found.append(
                Difference("runway", f"flown {distance / 1852.0:.1f} nmi from the field of the sortie")
            )
    altitude = float(recording.number("altitude")[row])
    if np.isfinite(altitude) and abs(altitude - planned.elevation) > tolerances.elevation:
        found.append(
            Difference(
                "runway",
                _said("elevation", altitude, planned.elevation, Kind.HEIGHT, tolerances.elevation, units),
            )
        )
    return found


def _weather(met: Met, planned: Planned, tolerances: Tolerances, units: System) -> list[Difference]:
    found: list[Difference] = []
    rows = (
        ("temperature", met.temperature, planned.temperature, Kind.TEMPERATURE, tolerances.temperature),
        ("pressure", met.pressure, planned.pressure, Kind.PRESSURE, tolerances.pressure),
        ("headwind", met.headwind, planned.headwind, Kind.WIND_SPEED, tolerances.headwind),
    )
    for name, known, wanted, kind, most in rows:
        if known.basis != "plan" and abs(known.value - wanted) > most:
            found.append(Difference("weather", _said(name, known.value, wanted, kind, most, units)))
    return found


def _said(what: str, value: float, planned: float, kind: Kind, most: float, units: System) -> str:
    if kind is Kind.PRESSURE:
        return (
            f"{what} {value / 100:.0f} hPa was flown in; the sortie says {planned / 100:.0f} hPa "
            f"(more than {most / 100:.0f} hPa apart)"
        )
    apart = show(most, kind, units, difference=True).text.lstrip("+")
    said = f"{what} was {show(value, kind, units).text}; the sortie says {show(planned, kind, units).text}"
    return f"{said} (more than {apart} apart)"
