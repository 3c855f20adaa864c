"""Today's field, runway and air: what a sortie says, a report says, and what is left to assume."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

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
    magnetic_variation,
    runway_wind,
)
from sortiewright.sortie.load import takeoff_time
from sortiewright.sortie.schema import AerodromeToday, RunwayToday, Sortie, WeatherToday

OLDEST_REPORT = timedelta(hours=2)


class SortieError(ValueError):
    """A sortie whose conditions cannot be worked out; the message says which key to mend."""


@dataclass(frozen=True, slots=True)
class Conditions:
    """The air, wind and runway of one takeoff or landing.

    ``air`` is None where the report lacks what it needs; ``missing`` then says what. ``condition_basis`` says
    whether the runway condition reading was reported or is a guess.
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


def takeoff_conditions(sortie: Sortie) -> Conditions:
    """Return the conditions of the takeoff."""
    return _conditions(sortie.aerodrome, sortie.runway, sortie.weather, takeoff_time(sortie))


def landing_conditions(sortie: Sortie, takeoff: Conditions) -> Conditions:
    """Return the conditions of the landing; the takeoff's where the sortie does not say otherwise."""
    place = sortie.landing_place
    if place.aerodrome is None and place.runway is None and place.weather is None:
        return takeoff
    return _conditions(
        place.aerodrome or sortie.aerodrome,
        place.runway or sortie.runway,
        place.weather or sortie.weather,
        takeoff_time(sortie),
    )


def _conditions(
    field: AerodromeToday, designator: str, today: WeatherToday, time: datetime | None
) -> Conditions:
    remarks: list[str] = []
    weather = _weather(today, time, remarks)
    aerodrome, variation = _aerodrome(field, time, remarks)
    chosen = next(one for one in field.runways if one.designator == designator)
    runway = _runway(chosen, aerodrome.elevation, variation)
    if mismatch := designator_mismatch(runway, variation):
        remarks.append(mismatch[0].upper() + mismatch[1:])
    reading, basis = _reading(chosen, weather)
    missing: list[str] = []
    air = None
    if weather.qnh is None:
        missing.append("no altimeter setting (weather.qnh)")
    if weather.temperature is None:
        missing.append("no temperature (weather.temperature)")
    if weather.qnh is not None and weather.temperature is not None:
        air = air_at_field(runway.elevation, weather.qnh, weather.temperature)
    wind = None
    if weather.wind is None:
        missing.append("no wind (weather.wind_from, weather.wind_speed)")
    else:
        wind = runway_wind(weather.wind, runway.true_heading_deg)
    return Conditions(
        aerodrome,
        runway,
        chosen.start_offset,
        chosen.standing_water,
        weather,
        air,
        wind,
        reading,
        basis,
        variation,
        tuple(missing),
        tuple(remarks),
    )


def _weather(today: WeatherToday, time: datetime | None, remarks: list[str]) -> Weather:
    weather = Weather()
    if today.metar is not None:
        weather = decode_metar(today.metar, reference_time=time)
        remarks += [f"Weather report: {remark.text}" for remark in weather.remarks]
        if weather.time is not None and time is not None:
            age = time - weather.time
            if age > OLDEST_REPORT:
                remarks.append(f"Weather report is {age.total_seconds() / 3600:.1f} h older than the takeoff")
            elif age < -OLDEST_REPORT:
                remarks.append("Weather report is later than the takeoff: is the date right?")
    else:
        remarks.append("No weather report: the values written in the sortie are used")
    wind = weather.wind
    if today.wind_speed is not None:
        wind = Wind(today.wind_from, today.wind_speed, today.gust)
    elif today.gust is not None and wind is not None:
        wind = Wind(wind.direction_from_deg, wind.speed, today.gust)
    from dataclasses import replace

    return replace(
        weather,
        wind=wind,
        temperature=weather.temperature if today.temperature is None else today.temperature,
        qnh=weather.qnh if today.qnh is None else today.qnh,
    )


def _aerodrome(field: AerodromeToday, time: datetime | None, remarks: list[str]) -> tuple[Aerodrome, float]:
    """Return the aerodrome and its magnetic variation, degrees east."""
    latitude, longitude, elevation = field.latitude, field.longitude, field.elevation
    name = field.name
    if None in (latitude, longitude, elevation):
        try:
            known = aerodrome_by_icao(field.icao or "")
        except UnknownAerodrome as error:
            raise SortieError(f"aerodrome.icao: {error}") from error
        latitude = known.latitude_deg if latitude is None else latitude
        longitude = known.longitude_deg if longitude is None else longitude
        elevation = known.elevation if elevation is None else elevation
        name = name or known.name
    assert latitude is not None and longitude is not None and elevation is not None
    variation = field.variation
    if variation is None:
        when = time.date() if time is not None else None
        if when is None:
            raise SortieError("date: is needed for the magnetic variation")
        try:
            variation = float(magnetic_variation(latitude, longitude, when, elevation))
        except ValueError as error:
            variation = 0.0
            remarks.append(
                f"Magnetic variation unknown ({error}); write aerodrome.variation. Taken as nought"
            )
    place = Aerodrome(
        field.icao or "", name or field.icao or "", latitude, longitude, elevation, (), variation
    )
    return place, variation


def _runway(today: RunwayToday, elevation: float, variation: float) -> Runway:
    heading = today.true_heading
    if heading is None:
        assert today.magnetic_heading is not None
        heading = (today.magnetic_heading + variation) % 360.0
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


def _reading(today: RunwayToday, weather: Weather) -> tuple[float, str]:
    """Return the runway condition reading, and where it comes from."""
    from sortiewright.air import expected_rcr

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
