"""A weather report as a person would say it, and as JSON."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from sortiewright.commands import answer as out
from sortiewright.commands.answer import Line
from sortiewright.commands.output import Output, Row, aligned, joined, print_json, print_text, wrapped

if TYPE_CHECKING:
    from sortiewright.air import CloudLayer, RunwayVisualRange, Weather, Wind

_COVERS = {"FEW": "few", "SCT": "scattered", "BKN": "broken", "OVC": "overcast"}
_CLOUD_KINDS = {"CB": "cumulonimbus", "TCU": "towering cumulus"}
_TENDENCIES = {"U": "rising", "D": "falling", "N": "steady"}
_RANGE = out.Measure("m", ("m", 50), ("m", 50))
_VISIBILITY = out.Measure("m", ("mi", 0.01), ("m", 1))
_BASE = out.Measure("m", ("ft", 100), ("m", 10))
_REMARK_TITLES = {"missing": "Missing", "odd": "Odd", "undecoded": "Not decoded", "note": "Note"}


def print_weather(text: str, output: Output) -> None:
    """Decode a report and print it."""
    from sortiewright.air import decode_metar

    weather = decode_metar(text)
    if output.json:
        print_json(_data(weather))
        return
    from rich.text import Text

    title = " ".join(
        part
        for part in (
            weather.station or "No station",
            f"{weather.time:%Y-%m-%d %H:%MZ}" if weather.time else "",
            weather.report_type,
            "automatic" if weather.is_automatic else "",
            "corrected" if weather.is_corrected else "",
        )
        if part
    )
    lines = [Text(title, style="bold"), *aligned(weather_rows(weather, output.units))]
    for remark in weather.remarks:
        said = f"{_REMARK_TITLES[remark.kind]}: {remark}"
        lines += wrapped(said, hanging=2, style="yellow" if remark.kind in ("missing", "odd") else "dim")
    print_text(lines)


def weather_rows(weather: Weather, system: out.System) -> list[Row]:
    """Return what the report said, a row a subject; what it did not say has no row."""

    def text(value: float | None, measure: out.Measure, step: float | None = None) -> str:
        return "" if value is None else joined(*Line("", "", value, measure, step=step).written(system))

    words = {
        "Wind": _wind_words(weather.wind, system) if weather.wind else "",
        "Visibility": _visibility_words(weather, system),
        "Runway visual range": "; ".join(_range_words(one) for one in weather.runway_visual_ranges),
        "Weather": ", ".join(weather.present_weather),
        "Recent weather": ", ".join(weather.recent_weather),
        "Sky": _sky_words(weather, system),
        "Ceiling": text(weather.ceiling, _BASE),
        "Temperature": text(weather.temperature, out.TEMPERATURE),
        "Dew point": text(weather.dewpoint, out.TEMPERATURE),
        "Altimeter setting": _altimeter_words(weather.qnh),
        "Sea-level pressure": text(weather.sea_level_pressure, out.PRESSURE, 0.1),
        "Peak wind": _peak_words(weather, system),
        "Wind shear on runways": ", ".join(weather.wind_shear_runways),
        "Runway": _runway_words(weather),
        "Trend": weather.trend or "",
        "Remarks": "; ".join(weather.report_remarks),
    }
    return [Row(label, said) for label, said in words.items() if said]


def _speed(value: float, system: out.System) -> str:
    return joined(*Line("", "", value, out.SPEED).written(system))


def _wind_words(wind: Wind, system: out.System) -> str:
    if wind.speed == 0.0 and not wind.gust:
        return "calm"
    if wind.direction_from_deg is None:
        words = f"variable at {_speed(wind.speed, system)}"
    else:
        words = f"from {wind.direction_from_deg:03.0f}° true at {_speed(wind.speed, system)}"
    if wind.gust is not None:
        words += f", gusting {_speed(wind.gust, system)}"
    if wind.variable_from_deg is not None and wind.variable_to_deg is not None:
        words += f", direction between {wind.variable_from_deg:03.0f}° and {wind.variable_to_deg:03.0f}°"
    return words


def _visibility_words(weather: Weather, system: out.System) -> str:
    if weather.visibility is None:
        return ""
    if weather.is_cavok:
        return "10 km or more, no cloud below 5 000 ft, no significant weather (CAVOK)"
    number, unit = Line("", "", weather.visibility, _VISIBILITY).written(system)
    # What was reported in metres stays in metres: a mile and its parts never make a round metre.
    metres = round(weather.visibility)
    if system == "si" or abs(weather.visibility - metres) < 1e-6:
        size = f"{metres / 1000:g} km" if metres >= 5000 else f"{out.number_text(metres, 1)} m"
    else:
        size = f"{number.rstrip('0').rstrip('.')} {unit}"
    qualifier = weather.visibility_qualifier
    return f"less than {size}" if qualifier == "less than" else f"{size} or more" if qualifier else size


def _range_words(one: RunwayVisualRange) -> str:
    def side(value: float, qualifier: str | None) -> str:
        size = f"{out.number_text(value, 1)} m"
        return f"less than {size}" if qualifier == "less than" else f"{size} or more" if qualifier else size

    words = side(one.low, one.low_qualifier)
    if one.high != one.low:
        words += f" to {side(one.high, one.high_qualifier)}"
    tendency = f", {_TENDENCIES[one.tendency]}" if one.tendency else ""
    return f"runway {one.runway} {words}{tendency}"


def _sky_words(weather: Weather, system: out.System) -> str:
    if weather.vertical_visibility is not None:
        height = joined(*Line("", "", weather.vertical_visibility, _BASE).written(system))
        return f"obscured, vertical visibility {height}"
    return "; ".join(_layer_words(layer, system) for layer in weather.clouds)


def _layer_words(layer: CloudLayer, system: out.System) -> str:
    words = _COVERS[layer.cover]
    if layer.base is not None:
        words += f" at {joined(*Line('', '', layer.base, _BASE).written(system))}"
    return f"{words} ({_CLOUD_KINDS.get(layer.kind, layer.kind)})" if layer.kind else words


def _altimeter_words(qnh: float | None) -> str:
    if qnh is None:
        return ""
    from sortiewright.pack import unit_factor

    mercury = qnh / unit_factor("inHg", "Pa")[0]
    return f"{qnh / 100:.0f} hPa ({mercury:.2f} inHg)"


def _peak_words(weather: Weather, system: out.System) -> str:
    peak = weather.peak_wind
    if peak is None:
        return ""
    when = f" at {peak.time:%H:%M}Z" if peak.time else ""
    return f"from {peak.direction_from_deg:03.0f}° at {_speed(peak.speed, system)}{when}"


def _runway_words(weather: Weather) -> str:
    if weather.runway_condition is not None:
        return str(weather.runway_condition)
    if weather.runway_state_hint is not None:
        return f"probably {weather.runway_state_hint} (a guess from the weather, not a report)"
    return ""


def _data(value: Any) -> Any:
    """Return a value as JSON types, SI as it is held."""
    if is_dataclass(value) and not isinstance(value, type):
        return {one.name: _data(getattr(value, one.name)) for one in fields(value)}
    if isinstance(value, list | tuple):
        return [_data(one) for one in value]  # pyright: ignore[reportUnknownVariableType]
    if isinstance(value, datetime):
        return value.strftime("%Y-%m-%dT%H:%M:%SZ")
    return value
