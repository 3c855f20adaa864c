"""Today's field, runway and air: what a sortie says, a report says, and what is left to assume."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import lru_cache

import numpy as np

from sortiewright.air import (
    Aerodrome,
    Air,
    ArrestingCable,
    Runway,
    RunwayWind,
    UnknownAerodrome,
    Weather,
    Wind,
    aerodrome_by_icao,
    air_at_field,
    decode_metar,
    designator_mismatch,
    expected_rcr,
    magnetic_variation,
    runway_wind,
)
from sortiewright.pack import Pack
from sortiewright.performance import Balance, Cases, make_cases
from sortiewright.sortie.place import Key, Place, SortieError, landing_place, takeoff_place
from sortiewright.sortie.schema import AerodromeToday, RunwayToday, Sortie, WeatherToday

OLDEST_REPORT = timedelta(hours=2)


@dataclass(frozen=True, slots=True)
class Conditions:
    """The air, wind and runway of one takeoff or landing.

    ``air`` is None where the report lacks what it needs; ``missing`` then says what. ``condition_basis`` says
    whether the runway condition reading was reported or is a guess. ``stale`` says that values come from a
    report whose time is too far from the takeoff's; empty where none does.
    """

    aerodrome: Aerodrome
    runway: Runway
    start_offset: float
    standing_water: bool
    weather: Weather
    air: Air | None
    wind: RunwayWind | None
    runway_condition_reading: float
    condition_basis: str
    variation_deg: float
    missing: tuple[str, ...]
    remarks: tuple[str, ...]
    stale: str = ""


def takeoff_conditions(sortie: Sortie) -> Conditions:
    """Return the conditions of the takeoff; raises ``SortieError`` or ``MetarError``."""
    return conditions_at(takeoff_place(sortie))


def landing_conditions(sortie: Sortie, takeoff: Conditions) -> Conditions:
    """Return the conditions of the landing; the takeoff's where the sortie does not say otherwise."""
    place = sortie.landing_place
    if place.aerodrome is None and place.runway is None and place.weather is None:
        return takeoff
    found = conditions_at(landing_place(sortie))
    if place.aerodrome is None or place.weather is not None:
        return found
    remark = "no weather is given for the landing place: the takeoff's is used (landing_place.weather)"
    return replace(found, remarks=(*found.remarks, remark))


def conditions_at(place: Place) -> Conditions:
    """Return the conditions of one place; raises ``SortieError`` or ``MetarError``."""
    remarks: list[str] = []
    weather = weather_of(place, remarks)
    aerodrome, variation = aerodrome_of(place, remarks)
    designators = [one.designator for one in place.field.runways]
    if place.runway not in designators:
        raise SortieError(place.runway_key, f'"{place.runway}"', "is no runway of this aerodrome")
    index = designators.index(place.runway)
    chosen = place.field.runways[index]
    runway = runway_of(chosen, (*place.field_key, "runways", index), aerodrome.elevation, variation)
    if mismatch := designator_mismatch(runway, variation):
        remarks.append(mismatch[0].upper() + mismatch[1:])
    reading, basis = _reading(chosen, weather)
    missing: list[str] = []
    if weather.qnh is None:
        missing.append("no altimeter setting (weather.qnh)")
    if weather.temperature is None:
        missing.append("no temperature (weather.temperature)")
    if weather.wind is None:
        missing.append("no wind (weather.wind_from, weather.wind_speed)")
    return Conditions(
        aerodrome,
        runway,
        chosen.start_offset,
        chosen.standing_water,
        weather,
        air_of(place, runway, weather),
        None if weather.wind is None else runway_wind(weather.wind, runway.true_heading_deg),
        reading,
        basis,
        variation,
        tuple(missing),
        tuple(remarks),
        _stale(place, weather),
    )


def weather_of(place: Place, remarks: list[str]) -> Weather:
    """Return the report's weather with the sortie's own values in it.

    Raises ``SortieError`` for the sortie's values, ``MetarError`` for the report.
    """
    today, weather = place.weather, Weather()
    if today.metar is not None:
        weather = _decoded(today.metar, place.time)
        remarks += [f"Weather report: {remark.text}" for remark in weather.remarks]
        if weather.station and place.field.icao and weather.station != place.field.icao.upper():
            remarks.append(f"Weather report is of {weather.station}, not of {place.field.icao.upper()}")
    else:
        remarks.append("No weather report: the values written in the sortie are used")
    return replace(
        weather,
        wind=_wind(today, weather.wind, place.weather_key),
        temperature=weather.temperature if today.temperature is None else today.temperature,
        qnh=weather.qnh if today.qnh is None else today.qnh,
    )


def _wind(today: WeatherToday, reported: Wind | None, key: Key) -> Wind | None:
    """Return the reported wind with what the sortie writes in it; a new speed comes without the old gust."""
    if today.wind_from is None and today.wind_speed is None and today.gust is None:
        return reported
    speed, gust, direction = today.wind_speed, today.gust, today.wind_from
    if reported is not None:
        if speed is None:
            speed = reported.speed
            gust = reported.gust if gust is None else gust
        direction = reported.direction_from_deg if direction is None else direction
    if speed is None:
        given = "wind_from" if today.wind_from is not None else "gust"
        raise SortieError((*key, given), "", "needs wind_speed beside it", "wind_speed: 12 kt")
    if gust is not None and gust < speed:
        read = f"{gust * 3600 / 1852:.0f} kt"
        where = (*key, "gust" if today.gust is not None else "metar")
        raise SortieError(where, read, f"is below the wind speed of {speed * 3600 / 1852:.0f} kt")
    if today.wind_from is not None or reported is None:
        return Wind(direction, speed, gust)
    return replace(reported, speed=speed, gust=gust)


def _stale(place: Place, weather: Weather) -> str:
    today = place.weather
    written = (today.temperature, today.qnh, today.wind_speed)
    if weather.time is None or place.time is None or None not in written:
        return ""
    age = place.time - weather.time
    if age > OLDEST_REPORT:
        return f"the weather report is {_hours(age)} older than the takeoff"
    if age < -OLDEST_REPORT:
        return f"the weather report is {_hours(-age)} later than the takeoff: is the date right?"
    return ""


def _hours(age: timedelta) -> str:
    hours = age.total_seconds() / 3600
    return f"{hours:.1f} h" if hours < 48 else f"{hours / 24:.0f} days"


def aerodrome_of(place: Place, remarks: list[str]) -> tuple[Aerodrome, float]:
    """Return the aerodrome and its magnetic variation, degrees east; raises ``SortieError``."""
    field, when = place.field, place.time
    latitude, longitude, elevation = field.latitude, field.longitude, field.elevation
    name = field.name
    if latitude is None or longitude is None or elevation is None:
        try:
            known = aerodrome_by_icao(field.icao or "")
        except UnknownAerodrome as error:
            near = f"Near: {', '.join(error.near_codes)}. " if error.near_codes else ""
            hint = f"{near}Write latitude, longitude and elevation beside it"
            key = (*place.field_key, "icao")
            raise SortieError(key, f'"{error.code}"', "is not in the list", hint) from None
        latitude = known.latitude_deg if latitude is None else latitude
        longitude = known.longitude_deg if longitude is None else longitude
        elevation = known.elevation if elevation is None else elevation
        name = name or known.name
    variation = _variation(field, latitude, longitude, elevation, when, remarks)
    title = name or field.icao or f"{latitude:.3f} {longitude:.3f}"
    return Aerodrome(field.icao or "", title, latitude, longitude, elevation, (), variation), variation


def _variation(
    field: AerodromeToday,
    latitude: float,
    longitude: float,
    elevation: float,
    when: datetime | None,
    remarks: list[str],
) -> float:
    if field.variation is not None:
        return field.variation
    if when is None:
        raise SortieError(("date",), "", "is needed for the magnetic variation", "Write date: 2026-05-14")
    try:
        return _declination(latitude, longitude, when.date(), elevation)
    except ValueError as error:
        reason = str(error).partition(". ")[0]
        remarks.append(f"Magnetic variation is taken as 0: {reason}. Write aerodrome.variation")
        return 0.0


def runway_of(today: RunwayToday, key: Key, elevation: float, variation: float) -> Runway:
    """Return the runway; raises ``SortieError`` for one that cannot be."""
    heading = today.true_heading
    if heading is None:
        if today.magnetic_heading is None:
            raise SortieError(key, "", "needs true_heading or magnetic_heading, one of the two")
        heading = (today.magnetic_heading + variation) % 360.0
    try:
        return Runway(
            designator=today.designator,
            true_heading_deg=heading,
            length=today.length,
            elevation=elevation if today.elevation is None else today.elevation,
            slope=today.slope,
            displaced_threshold=today.displaced_threshold,
            overrun=today.overrun,
            stopway=today.stopway,
            clearway=today.clearway,
            width=today.width,
            surface=today.surface,
            rcr=today.runway_condition_reading,
            condition=today.condition or "dry",
            cables=tuple(ArrestingCable(one.distance, one.name, one.rigged) for one in today.cables),
        )
    except ValueError as error:
        said = str(error).removeprefix(f"runway {today.designator}: ")
        raise SortieError((*key, "designator"), f'"{today.designator}"', f"is no runway: {said}") from error


def air_of(place: Place, runway: Runway, weather: Weather) -> Air | None:
    """Return the air over the runway, None where the report lacks what it needs; raises ``SortieError``."""
    if weather.qnh is None or weather.temperature is None:
        return None
    today, key = place.weather, place.weather_key
    if not 80_000.0 <= weather.qnh <= 110_000.0:
        where = (*key, "metar" if today.qnh is None else "qnh")
        read, hint = f"{weather.qnh / 100:.0f} hPa", "It is 800 to 1100 hPa"
        raise SortieError(where, read, "is no altimeter setting", hint)
    if not 180.0 <= weather.temperature <= 340.0:
        where = (*key, "metar" if today.temperature is None else "temperature")
        read = f"{weather.temperature - 273.15:.0f} degC"
        raise SortieError(where, read, "is no temperature of a field", "It is -90 to 65 degC")
    try:
        air = air_at_field(runway.elevation, weather.qnh, weather.temperature)
    except ValueError:
        read = f"{runway.elevation / 0.3048:.0f} ft"
        raise SortieError((*place.field_key, "elevation"), read, "is no elevation of a field") from None
    try:
        _ = air.density_altitude
    except ValueError:
        where = (*key, "metar" if today.temperature is None else "temperature")
        read = f"{weather.temperature - 273.15:.0f} degC"
        raise SortieError(where, read, "is too cold for any altitude to have air so dense") from None
    return air


def _reading(today: RunwayToday, weather: Weather) -> tuple[float, str]:
    """Return the runway condition reading, and where it comes from."""
    if today.runway_condition_reading is not None:
        return today.runway_condition_reading, "reported"
    if today.condition is not None:
        return expected_rcr(today.condition), f"taken for a {today.condition} runway, none reported"
    reported = weather.runway_condition
    if reported is not None and reported.rcr is not None:
        return float(reported.rcr), "from the weather report's remarks"
    if weather.runway_state_hint is not None:
        state = weather.runway_state_hint
        return expected_rcr(state), f"a guess: {state}, from the present weather"
    return expected_rcr("dry"), "a guess: dry, as nothing says otherwise"


def chute_crosswind_limit(pack: Pack) -> float | None:
    """Return the crosswind above which the drag chute is not used, m/s; None where the pack gives none."""
    stated = pack.limits.crosswind_chute
    limits = (stated and stated.value, pack.wheels.chute and pack.wheels.chute.maximum_crosswind)
    return min((limit for limit in limits if limit is not None), default=None)


def serves_chute(pack: Pack, conditions: Conditions) -> bool:
    """Return whether there is a drag chute and the crosswind allows it."""
    limit, wind = chute_crosswind_limit(pack), conditions.wind
    if pack.wheels.chute is None:
        return False
    return limit is None or wind is None or float(wind.crosswind_limit) <= limit + 1e-9


def stop_chute(sortie: Sortie, pack: Pack, conditions: Conditions) -> bool:
    """Return whether the drag chute may serve a rejected takeoff."""
    return sortie.takeoff.rejected_with_chute and serves_chute(pack, conditions)


def landing_chute(sortie: Sortie, pack: Pack, conditions: Conditions) -> bool:
    """Return whether today's landing is planned with the drag chute."""
    return sortie.landing.with_chute and serves_chute(pack, conditions)


def cases_of(conditions: Conditions, balance: Balance) -> Cases:
    """Return the batch of one case that a balance makes in these conditions, which must lack nothing."""
    assert conditions.air is not None
    assert conditions.wind is not None
    return make_cases(
        balance.mass,
        balance.arm,
        conditions.air,
        drag_index=balance.drag_index,
        headwind=conditions.wind.headwind_for_distance,
        slope=np.arctan(conditions.runway.slope),
        runway_condition_reading=conditions.runway_condition_reading,
        standing_water=conditions.standing_water,
    )


# A crew that edits its load plans the same place, day and report again and again.
@lru_cache(maxsize=32)
def _decoded(report: str, time: datetime | None) -> Weather:
    return decode_metar(report, reference_time=time)


@lru_cache(maxsize=32)
def _declination(latitude: float, longitude: float, day: date, elevation: float) -> float:
    return float(magnetic_variation(latitude, longitude, day, elevation))
