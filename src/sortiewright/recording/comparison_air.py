"""The plan in the air that was recorded, where the sortie's own air is another.

A simulation's air over a high or hot field need not be that of the altimeter setting on which a sortie is
planned: a model that warms the whole column by 20 K and keeps 1013 hPa at sea level has some 10 hPa more over
a field at 5,000 ft than the standard atmosphere, on which an altimeter setting counts (ICAO Doc 7488/3). The
flight is then no other flight. Where pressure altitude or outside air temperature is recorded, what was
planned is planned again with them, so that technique is told from air.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from sortiewright.air import pressure_altitude, standard_pressure
from sortiewright.pack import OutsideTable
from sortiewright.recording.comparison_conditions import Tolerances
from sortiewright.recording.comparison_met import Known, pressure_at, temperature_at
from sortiewright.recording.comparison_values import quantity_said
from sortiewright.recording.recording import Recording
from sortiewright.sortie import (
    Conditions,
    Kind,
    LoadedSortie,
    Numbers,
    SortieError,
    System,
    WeatherToday,
    compute,
)


@dataclass(frozen=True)
class InRecordedAir:
    """A sortie and its numbers in the air that was recorded; ``said`` tells where the sortie has another."""

    sortie: LoadedSortie
    numbers: Numbers
    said: tuple[str, ...] = ()


def in_recorded_air(
    recording: Recording,
    sortie: LoadedSortie,
    numbers: Numbers | None = None,
    *,
    takeoff_at: float | None = None,
    landing_at: float | None = None,
    tolerances: Tolerances | None = None,
    units: System = "trade",
) -> InRecordedAir:
    """Return the sortie planned in the air recorded at its takeoff and landing, s on the recording's clock.

    Unchanged where nothing is recorded, where the air is the sortie's within ``tolerances``, or where what is
    recorded can be no air of a field. ``numbers`` are those of the sortie as it is, where they are at hand.
    """
    limits = tolerances or Tolerances()
    known = compute(sortie.sortie, sortie.pack.pack) if numbers is None else numbers
    today, said = sortie.sortie, list[str]()
    if takeoff_at is not None:
        weather, text = _met(recording, takeoff_at, known.conditions, today.weather, limits, units)
        if weather is not None:
            today = today.model_copy(update={"weather": weather})
            said.append(f"Takeoff is planned with {text}")
    if landing_at is not None:
        own = today.landing_place.weather or sortie.sortie.weather
        weather, text = _met(recording, landing_at, known.landing_conditions, own, limits, units)
        if weather is not None or today is not sortie.sortie:
            place = today.landing_place.model_copy(update={"weather": weather or own})
            today = today.model_copy(update={"landing_place": place})
        if weather is not None:
            said.append(f"Landing is planned with {text}")
    if not said:
        return InRecordedAir(sortie, known)
    try:
        again = compute(today, sortie.pack.pack)
    except (SortieError, OutsideTable):
        return InRecordedAir(sortie, known)
    return InRecordedAir(replace(sortie, sortie=today), again, tuple(said))


def _met(
    recording: Recording,
    at: float,
    planned: Conditions,
    weather: WeatherToday,
    limits: Tolerances,
    units: System,
) -> tuple[WeatherToday | None, str]:
    """Return the weather with the recorded air in it, and that in words; None where it is the sortie's."""
    if planned.air is None:
        return None, ""
    pressure = pressure_at(recording, at, float(planned.air.pressure), [])
    temperature = temperature_at(recording, at, float(planned.air.temperature), [])
    other_pressure = _is_other(pressure, float(planned.air.pressure), limits.pressure)
    other_temperature = _is_other(temperature, float(planned.air.temperature), limits.temperature)
    if not (other_pressure or other_temperature):
        return None, ""
    try:
        qnh = altimeter_setting(pressure.value, planned.runway.elevation)
    except ValueError:
        return None, ""
    # Both are taken, though one alone be off: the recorded air is one.
    changed = {
        name: value
        for name, value, one in (("qnh", qnh, pressure), ("temperature", temperature.value, temperature))
        if one.basis != "plan"
    }
    parts = {
        "temperature": (quantity_said(temperature.value, Kind.TEMPERATURE, units), temperature),
        "pressure": (f"{pressure.value / 100:.0f} hPa (altimeter setting {qnh / 100:.0f} hPa)", pressure),
    }
    recorded = " and ".join(text for text, one in parts.values() if one.basis != "plan")
    warm = quantity_said(float(planned.air.temperature), Kind.TEMPERATURE, units)
    own = f"{warm} and {float(planned.air.pressure) / 100:.0f} hPa"
    text = f"the air over the runway that was recorded, {recorded}; the sortie has {own}"
    return weather.model_copy(update=changed), text


def altimeter_setting(pressure: float, elevation: float) -> float:
    """Return the altimeter setting, Pa, that shows ``elevation`` m at a field with that pressure, Pa.

    It is the pressure at sea level of the standard atmosphere through that point (ICAO Doc 7488/3).
    """
    return float(standard_pressure(float(pressure_altitude(pressure)) - elevation))


def _is_other(known: Known, planned: float, most: float) -> bool:
    return known.basis != "plan" and abs(known.value - planned) > most
