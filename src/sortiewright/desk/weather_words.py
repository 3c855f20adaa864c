"""A weather report as a person would say it, line by line, beside the report itself."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from sortiewright.air import MetarError, Weather, decode_metar
from sortiewright.sortie import Kind, System, show

COVERS = {"FEW": "few", "SCT": "scattered", "BKN": "broken", "OVC": "overcast"}
CLOUD_KINDS = {"CB": "cumulonimbus", "TCU": "towering cumulus"}
LONGEST_REPORT = 2000

Lines = tuple[tuple[str, str], ...]


def decoded(report: str, units: System) -> tuple[Lines, tuple[str, ...], str]:
    """Return what a report says as lines, remarks on it, and what is wrong with it."""
    text = " ".join(report[:LONGEST_REPORT].split())
    if not text:
        return (), (), ""
    try:
        weather = decode_metar(text)
    except MetarError as error:
        where = f"{error.group}: " if error.group else ""
        hint = f" {error.hint}" if error.hint else ""
        return (), (), f"{where}{error.problem}.{hint}"
    except ValueError as error:
        return (), (), str(error)
    return tuple(_lines(weather, units)), tuple(str(remark) for remark in weather.remarks), ""


def _lines(weather: Weather, units: System) -> Iterator[tuple[str, str]]:
    said = partial(show, system=units)
    issued = f"{weather.time:%d %H:%MZ}" if weather.time else ""
    yield "Issued", " ".join(part for part in (weather.station or "", issued) if part) or "without time"
    if weather.wind is not None:
        yield "Wind", _wind(weather, units)
    if weather.is_cavok:
        yield "Visibility", "10 km or more, no cloud to heed (CAVOK)"
    elif weather.visibility is not None:
        yield "Visibility", _visibility(weather)
    if weather.present_weather:
        yield "Weather", ", ".join(weather.present_weather)
    sky = "; ".join(
        f"{COVERS.get(layer.cover, layer.cover)}"
        + (f" at {said(layer.base, Kind.HEIGHT).text}" if layer.base is not None else "")
        + (f" ({CLOUD_KINDS.get(layer.kind, layer.kind)})" if layer.kind else "")
        for layer in weather.clouds
    )
    if weather.vertical_visibility is not None:
        sky = f"obscured, vertical visibility {said(weather.vertical_visibility, Kind.HEIGHT).text}"
    if sky:
        yield "Cloud", sky
    if weather.temperature is not None:
        words = said(weather.temperature, Kind.TEMPERATURE).text
        if weather.dewpoint is not None:
            words += f", dew point {said(weather.dewpoint, Kind.TEMPERATURE).text}"
        yield "Temperature", words
    if weather.qnh is not None:
        inches = show(weather.qnh, Kind.ALTIMETER, altimeter="inHg").text
        yield "Altimeter", f"{show(weather.qnh, Kind.ALTIMETER).text}, {inches}"
    if weather.runway_state_hint is not None:
        yield "Runway", f"probably {weather.runway_state_hint}, by the weather"


def _wind(weather: Weather, units: System) -> str:
    wind = weather.wind
    assert wind is not None
    speed = show(wind.speed, Kind.WIND_SPEED, units).text
    if wind.speed == 0.0 and not wind.gust:
        return "calm"
    words = f"variable, {speed}"
    if wind.direction_from_deg is not None:
        words = f"from {wind.direction_from_deg:03.0f}° true, {speed}"
    if wind.gust is not None:
        words += f", gusts {show(wind.gust, Kind.WIND_SPEED, units).text}"
    return words


def _visibility(weather: Weather) -> str:
    metres = weather.visibility or 0.0
    size = f"{metres / 1000:.3g} km" if metres >= 5000 else f"{metres:.0f} m"
    match weather.visibility_qualifier:
        case "less than":
            return f"less than {size}"
        case "or more":
            return f"{size} or more"
        case _:
            return size
