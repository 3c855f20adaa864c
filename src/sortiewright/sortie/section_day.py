"""The sections that describe the day: weather, field, loading, run-up."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from functools import lru_cache

from sortiewright.air import STANDARD_GRAVITY, Air, SunTimes, hydroplaning_speed, sun_times
from sortiewright.pack import RunUpReadings, Table
from sortiewright.performance import check_envelope
from sortiewright.sortie.figures import Figure, Kind, Section
from sortiewright.sortie.numbers import Numbers
from sortiewright.sortie.place import takeoff_time

MODEL = "standard atmosphere (ICAO Doc 7488) with the day's pressure and temperature"


def weather_section(numbers: Numbers) -> Section:
    """Return what the air is doing."""
    conditions, weather = numbers.conditions, numbers.conditions.weather
    air, wind = conditions.air, conditions.wind
    why = "; ".join(conditions.missing)
    old = (conditions.stale,) if conditions.stale else ()
    temperature = _or_missing("temperature", "Temperature", weather.temperature, Kind.TEMPERATURE, why)
    figures = [
        replace(temperature, cautions=old),
        replace(
            _or_missing("qnh", "Altimeter setting (QNH)", weather.qnh, Kind.ALTIMETER, why), cautions=old
        ),
        _or_missing(
            "pressure_altitude",
            "Pressure altitude",
            air and float(air.pressure_altitude),
            Kind.HEIGHT,
            why,
            MODEL,
        ),
        _density_altitude(air, why),
        _or_missing(
            "isa_deviation", "ISA deviation", air and float(air.isa_deviation), Kind.TEMPERATURE, why
        ),
        Figure(
            "wind",
            "Wind, true",
            None,
            Kind.WIND_SPEED,
            cautions=old,
            text=_wind_words(numbers),
            problem="" if wind else why,
        ),
    ]
    if wind is not None:
        method = "headwind from the steady wind, tailwind and crosswind from the gust"
        side = "from the right" if wind.crosswind >= 0 else "from the left"
        if weather.wind is not None and weather.wind.direction_from_deg is None:
            side = "either side"
        figures += [
            Figure(
                "headwind",
                "Headwind for distance",
                float(wind.headwind_for_distance),
                Kind.WIND_SPEED,
                method,
            ),
            Figure(
                "crosswind",
                f"Crosswind, {side}",
                float(wind.crosswind_limit),
                Kind.WIND_SPEED,
                method,
            ),
            Figure("tailwind", "Tailwind", float(wind.tailwind_limit), Kind.WIND_SPEED, method),
        ]
    figures += _sun_figures(numbers)
    return Section("weather", "Weather", tuple(figures))


def field_section(numbers: Numbers) -> Section:
    """Return the runway in use."""
    conditions, runway, pack = numbers.conditions, numbers.conditions.runway, numbers.pack
    reading = conditions.runway_condition_reading
    wet = float(hydroplaning_speed(pack.wheels.main_tyre_pressure))
    return Section(
        "field",
        f"Runway {runway.designator}",
        (
            Figure(
                "runway_heading_magnetic",
                "Heading, magnetic",
                float(runway.magnetic_heading_deg(conditions.variation_deg)),
                Kind.COURSE,
                f"true {runway.true_heading_deg:.0f} less variation {conditions.variation_deg:+.1f} (east +)",
            ),
            Figure("runway_length", "Length", runway.length, Kind.RUNWAY_DISTANCE),
            Figure("elevation", "Elevation", runway.elevation, Kind.HEIGHT),
            Figure("slope", "Slope, uphill +", runway.slope, Kind.FRACTION),
            Figure(
                "runway_condition_reading",
                "Runway condition reading",
                reading,
                Kind.NUMBER,
                conditions.condition_basis,
                text=f"{reading:.0f}, {conditions.condition_basis}",
            ),
            Figure(
                "hydroplaning_speed",
                "Hydroplaning from",
                wet,
                Kind.GROUND_SPEED,
                "9 sqrt(tyre pressure, psi): rolling tyre (NASA TN D-2056)",
            ),
        ),
    )


def loading_section(numbers: Numbers) -> Section:
    """Return masses, balance and trim."""
    loads, pack = numbers.loads, numbers.pack
    takeoff = loads.takeoff_balance
    check = check_envelope(pack.mass.envelope, takeoff.mass, takeoff.share_of_chord)
    sheet = "load sheet: sum of masses and moments"
    trim = numbers.takeoff.trim if numbers.takeoff is not None else None
    low, high = pack.aero.pitch_control.trim_units_range
    trim_cautions = () if trim is None or low <= trim <= high else (f"outside the range {low:g} to {high:g}",)
    figures = (
        Figure("basic_mass", "Basic weight", pack.mass.basic_mass, Kind.MASS),
        Figure(
            "zero_fuel_mass",
            "Zero-fuel weight",
            loads.zero_fuel_balance.mass,
            Kind.MASS,
            f"{sheet}; with unusable fuel",
        ),
        Figure("fuel_at_ramp", "Fuel at ramp", loads.ramp.total_fuel, Kind.MASS, "usable and unusable"),
        Figure(
            "takeoff_fuel", "Fuel at takeoff", loads.takeoff.total_fuel, Kind.MASS, "ramp less start and taxi"
        ),
        Figure("landing_fuel", "Fuel at landing", loads.landing.total_fuel, Kind.MASS, "usable and unusable"),
        Figure("ramp_mass", "Ramp weight", loads.ramp_balance.mass, Kind.MASS, sheet),
        Figure("takeoff_mass", "Takeoff weight", takeoff.mass, Kind.MASS, sheet),
        Figure(
            "landing_mass",
            "Landing weight",
            loads.landing_balance.mass,
            Kind.MASS,
            sheet,
            cautions=("landing fuel assumed: a fifth of takeoff fuel",) if loads.landing_fuel_assumed else (),
        ),
        Figure(
            "centre_of_gravity_takeoff", "Balance at takeoff", takeoff.share_of_chord, Kind.PERCENT_MAC, sheet
        ),
        Figure(
            "centre_of_gravity_zero_fuel",
            "Balance, zero fuel",
            loads.zero_fuel_balance.share_of_chord,
            Kind.PERCENT_MAC,
            sheet,
        ),
        _or_missing(
            "forward_limit",
            "Forward limit",
            check.forward_limit,
            Kind.PERCENT_MAC,
            "mass is outside the envelope",
        ),
        _or_missing(
            "aft_limit", "Aft limit", check.aft_limit, Kind.PERCENT_MAC, "mass is outside the envelope"
        ),
        Figure("drag_index", "Drag index", takeoff.drag_index, Kind.NUMBER, "sum over stores and racks"),
        Figure(
            "side_moment_takeoff",
            "Uneven load, right +",
            takeoff.side_moment * STANDARD_GRAVITY,
            Kind.SIDE_MOMENT,
            "sum of weight times side arm",
        ),
        Figure(
            "trim",
            "Takeoff trim",
            trim,
            Kind.TRIM_UNITS,
            "pitching moments in balance hands off at the speed over the screen, gear down",
            cautions=trim_cautions,
            problem=numbers.takeoff_problem if trim is None else "",
        ),
    )
    return Section("loading", "Weight and balance", figures)


def run_up_section(numbers: Numbers) -> Section | None:
    """Return what the engines should read at the run-up and at military, for today's temperature."""
    temperature = numbers.conditions.weather.temperature
    figures: list[Figure] = []
    for readings in numbers.pack.engine.run_up:
        setting = numbers.pack.engine.settings[readings.setting]
        title = setting.title or readings.setting.replace("_", " ")
        figures += _reading_figures(readings, title, temperature)
    return Section("run_up", "Engine readings expected today", tuple(figures)) if figures else None


def _reading_figures(readings: RunUpReadings, title: str, temperature: float | None) -> list[Figure]:
    rows: list[tuple[str, str, Table | None, Kind, Callable[[float], float]]] = [
        ("rpm", "speed", readings.rpm, Kind.FRACTION, lambda _: readings.rpm_tolerance),
        (
            "exhaust_temperature",
            "exhaust temperature",
            readings.exhaust_temperature,
            Kind.TEMPERATURE,
            lambda _: readings.exhaust_temperature_tolerance,
        ),
        (
            "fuel_flow",
            "fuel flow, each",
            readings.fuel_flow,
            Kind.MASS_FLOW,
            lambda value: value * readings.fuel_flow_tolerance,
        ),
        ("nozzle", "nozzle", readings.nozzle, Kind.FRACTION, lambda _: math.nan),
    ]
    figures: list[Figure] = []
    for name, words, table, kind, tolerance in rows:
        if table is None:
            continue
        key, label = f"{readings.setting}_{name}", f"{title}: {words}"
        if temperature is None:
            figures.append(Figure(key, label, None, kind, problem="no temperature"))
            continue
        try:
            value = float(table(temperature))
        except ValueError as error:
            figures.append(Figure(key, label, None, kind, problem=str(error)))
            continue
        spread = tolerance(value)
        low, high = (None, None) if math.isnan(spread) else (value - spread, value + spread)
        figures.append(Figure(key, label, value, kind, f"pack table {table.name}", low=low, high=high))
    if readings.oil_pressure is not None:
        low, high = readings.oil_pressure
        key = f"{readings.setting}_oil_pressure"
        figures.append(
            Figure(key, f"{title}: oil pressure", 0.5 * (low + high), Kind.PRESSURE, low=low, high=high)
        )
    return figures


def _or_missing(
    name: str, title: str, value: float | None, kind: Kind, problem: str, method: str = ""
) -> Figure:
    missing = value is None or (isinstance(value, float) and math.isnan(value))
    return Figure(name, title, None if missing else value, kind, method, problem=problem if missing else "")


def _density_altitude(air: Air | None, why: str) -> Figure:
    """Return the density altitude; air as dense as on no standard day has none."""
    value: float | None = None
    try:
        value = None if air is None else float(air.density_altitude)
    except ValueError as error:
        why = str(error)
    return _or_missing("density_altitude", "Density altitude", value, Kind.HEIGHT, why, MODEL)


def _wind_words(numbers: Numbers) -> str:
    wind = numbers.conditions.weather.wind
    if wind is None:
        return ""
    knots = 1852.0 / 3600.0
    if wind.speed < 0.25 and not wind.gust:
        return "calm"
    north = 360  # a wind from the north is 360, as 000 means calm in a report
    degrees = None if wind.direction_from_deg is None else round(wind.direction_from_deg) % 360 or north
    where = "variable" if degrees is None else f"{degrees:03d}°"
    gust = f", gusts {wind.gust / knots:.0f}" if wind.gust else ""
    return f"{where} at {wind.speed / knots:.0f}{gust} kt"


def _sun_figures(numbers: Numbers) -> list[Figure]:
    place, when = numbers.conditions.aerodrome, takeoff_time(numbers.sortie)
    if when is None:
        return []
    # West and east of Greenwich the day at the field begins at another time than the day in UTC.
    zone = timedelta(hours=round(place.longitude_deg / 15.0))
    times = _sun(place.latitude_deg, place.longitude_deg, (when + zone).date())
    if times.sunrise is None and times.sunset is None and times.note:
        return [Figure("sunset", "Sun", None, Kind.TIME, text=times.note)]
    shown = {
        "sunrise": ("Sunrise, UTC", times.sunrise),
        "sunset": ("Sunset, UTC", times.sunset),
        "civil_dusk": ("End of civil twilight, UTC", times.civil_dusk),
    }
    return [
        Figure(
            name, title, None, Kind.TIME, "sun's upper limb at the horizon; 6 deg below", text=f"{at:%H:%M}Z"
        )
        for name, (title, at) in shown.items()
        if at is not None
    ]


@lru_cache(maxsize=32)
def _sun(latitude_deg: float, longitude_deg: float, day: date) -> SunTimes:
    """Return the sun's times; the same place and day are asked for at every change of the load."""
    return sun_times(latitude_deg, longitude_deg, day)
