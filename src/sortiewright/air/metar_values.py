"""The values of a decoded weather report, and remarks on those that are odd.

``decoded`` is the library's report object; it ships without type hints. Its own unit conversions are
rounded, so each figure is taken as reported and multiplied by an exact factor here.
"""

import re
from datetime import UTC
from typing import Any

from .metar_groups import ReportGroups
from .present_weather import PresentWeather, guess_runway_state, present_weather
from .runway_remark import runway_condition_from_remark
from .weather import CloudLayer, PeakWind, Remark, RunwayVisualRange, VisibilityQualifier
from .wind import Wind

_METRES: dict[str, float] = {"M": 1.0, "KM": 1_000.0, "FT": 0.3048, "SM": 1_609.344, "MI": 1_609.344}
_METRES_PER_SECOND: dict[str, float] = {"KT": 1852.0 / 3600.0, "MPS": 1.0, "KMH": 1.0 / 3.6}
_PASCALS: dict[str, float] = {"HPA": 100.0, "MB": 100.0, "IN": 3386.389}  # conventional inch, NIST SP 811
_BODY_TEMPERATURES = re.compile(r"([M-]?\d{1,2})/([M-]?\d{1,2})?")
_ALTIMETER = re.compile(r"(A|Q|QNH)\d{4}(INS)?")
_INCH = 0.0254  # m
_CELSIUS_ZERO = 273.15  # K
# Outside the records of the earth with a margin (870 and 1084 hPa; -89 and +57 degC; WMO, from memory).
_PLAUSIBLE_QNH = (85_000.0, 109_000.0)
_PLAUSIBLE_TEMPERATURE = (180.0, 335.0)
_STRONGEST_WIND = 150.0  # m/s; stronger winds have not been measured at a field (WMO: 113 m/s, from memory)


def report_values(decoded: Any, report: ReportGroups) -> tuple[dict[str, Any], list[Remark]]:
    """Return the fields of ``Weather`` that a decoded report gives, and remarks on what is odd in it."""
    remarks: list[Remark] = []
    found: dict[str, Any] = {"is_cavok": "CAVOK" in report.body}
    found["wind"] = _wind(decoded, report, remarks)
    found |= _visibility(decoded, report, remarks)
    found["runway_visual_ranges"] = tuple(
        _visual_range(*one) for one in zip(decoded.runway, decoded.runway_tendencies, strict=True)
    )
    found |= _sky(decoded, remarks)
    found |= _temperatures(decoded, report, remarks)
    found["qnh"] = _qnh(decoded, report, remarks)
    if decoded.press_sea_level is not None:
        found["sea_level_pressure"] = _pressure(decoded.press_sea_level)
    found |= _weather(decoded, report, found["temperature"], remarks)
    if decoded.wind_speed_peak is not None:
        time = decoded.peak_wind_time
        found["peak_wind"] = PeakWind(
            decoded.wind_dir_peak.value(), _speed(decoded.wind_speed_peak), time and time.replace(tzinfo=UTC)
        )
    if decoded.wind_shift_time is not None:
        found["wind_shift_time"] = decoded.wind_shift_time.replace(tzinfo=UTC)
    found["wind_shear_runways"] = tuple(decoded.windshear)
    if decoded.precip_1hr is not None:
        found["precipitation_last_hour"] = decoded.precip_1hr.value("IN") * _INCH
    found["runway_condition"] = runway_condition_from_remark(" ".join(report.remark_groups))
    return found, remarks


def _wind(decoded: Any, report: ReportGroups, remarks: list[Remark]) -> Wind | None:
    if decoded.wind_speed is None:
        return None
    speed = _speed(decoded.wind_speed)
    gust = None if decoded.wind_gust is None else _speed(decoded.wind_gust)
    if decoded.wind_speed._gtlt == ">" or (decoded.wind_gust is not None and decoded.wind_gust._gtlt == ">"):
        remarks.append(Remark("odd", "wind", "the wind is stronger than the figure reported"))
    if max(speed, gust or 0.0) > _STRONGEST_WIND:
        remarks.append(Remark("odd", "wind", f"a wind of {max(speed, gust or 0.0):.0f} m/s is not plausible"))
    if gust is not None and gust <= speed:
        remarks.append(Remark("odd", "wind", "the gust is not above the mean wind and was left out"))
        gust = None
    direction = None if decoded.wind_dir is None else float(decoded.wind_dir.value())
    if direction is None and not any(group.startswith("VRB") for group in report.body):
        remarks.append(Remark("missing", "wind", "wind direction not reported: counted as variable"))
    if decoded.wind_dir_from is None:
        return Wind(direction, speed, gust)
    return Wind(
        direction, speed, gust, float(decoded.wind_dir_from.value()), float(decoded.wind_dir_to.value())
    )


def _visibility(decoded: Any, report: ReportGroups, remarks: list[Remark]) -> dict[str, Any]:
    if decoded.vis is None:
        return {"visibility": None}
    if decoded.max_vis is not None:
        sector = "" if decoded.max_vis_dir is None else f" to the {decoded.max_vis_dir.compass()}"
        remarks.append(
            Remark("note", "visibility", f"a second visibility of {_length(decoded.max_vis):,.0f} m{sector}")
        )
    if decoded.vis_dir is not None:
        sector = decoded.vis_dir.compass()
        remarks.append(Remark("note", "visibility", f"the visibility is that to the {sector}"))
    qualifier = "or more" if "CAVOK" in report.body else _qualifier(decoded.vis)
    return {"visibility": _length(decoded.vis), "visibility_qualifier": qualifier}


def _visual_range(one: Any, tendency: Any) -> RunwayVisualRange:
    name, low, high, _ = one
    return RunwayVisualRange(name, _length(low), _length(high), _qualifier(low), _qualifier(high), tendency)


def _sky(decoded: Any, remarks: list[Remark]) -> dict[str, Any]:
    layers: list[CloudLayer] = []
    vertical: float | None = None
    for cover, height, kind in decoded.sky:
        base = None if height is None else _length(height)
        if cover == "VV":
            vertical = base
            if base is None:
                remarks.append(Remark("missing", "ceiling", "sky obscured, vertical visibility not measured"))
        elif cover in ("FEW", "SCT", "BKN", "OVC"):
            layers.append(CloudLayer(cover, base, kind or None))
            if base is None:
                remarks.append(Remark("missing", "ceiling", f"height of the {cover} layer not measured"))
    bases = [one.base for one in layers if one.cover in ("BKN", "OVC") and one.base is not None]
    ceiling = min([*bases, *([] if vertical is None else [vertical])], default=None)
    return {
        "clouds": tuple(layers),
        "vertical_visibility": vertical,
        "ceiling": ceiling,
    }


def _temperatures(decoded: Any, report: ReportGroups, remarks: list[Remark]) -> dict[str, Any]:
    body: tuple[float | None, float | None] = (None, None)
    for group in report.body:
        if match := _BODY_TEMPERATURES.fullmatch(group):
            body = _celsius(match[1]), _celsius(match[2])
    found: dict[str, Any] = {"body_temperature": body[0], "body_dewpoint": body[1]}
    for name, value in (("temperature", decoded.temp), ("dewpoint", decoded.dewpt)):
        kelvin = None if value is None else value.value("C") + _CELSIUS_ZERO
        if kelvin is not None and not _PLAUSIBLE_TEMPERATURE[0] <= kelvin <= _PLAUSIBLE_TEMPERATURE[1]:
            remarks.append(
                Remark(
                    "odd", name, f"{name} {kelvin - _CELSIUS_ZERO:.0f} degC is not plausible and was left out"
                )
            )
            kelvin = None
        found[name] = kelvin
        whole = found[f"body_{name}"]
        if kelvin is not None and whole is not None and abs(kelvin - whole) > 1.0:
            text = f"{name} differs between body and remarks; the tenths of the remarks are used"
            remarks.append(Remark("odd", name, text))
    temperature, dewpoint = found["temperature"], found["dewpoint"]
    if temperature is not None and dewpoint is not None and dewpoint > temperature:
        remarks.append(
            Remark("odd", "dewpoint", "the dewpoint is above the temperature; one of them is wrong")
        )
    return found


def _qnh(decoded: Any, report: ReportGroups, remarks: list[Remark]) -> float | None:
    if decoded.press is None:
        return None
    qnh = _pressure(decoded.press)
    if len({group for group in report.body if _ALTIMETER.fullmatch(group)}) > 1:
        remarks.append(Remark("odd", "qnh", "two altimeter settings in the report; the last one is used"))
    if _PLAUSIBLE_QNH[0] <= qnh <= _PLAUSIBLE_QNH[1]:
        return qnh
    text = f"altimeter setting {qnh / 100:,.1f} hPa is not plausible and was left out. Write Q1013 or A2992."
    remarks.append(Remark("odd", "qnh", text))
    return None


def _weather(
    decoded: Any, report: ReportGroups, temperature: float | None, remarks: list[Remark]
) -> dict[str, Any]:
    now = _groups_in_words(decoded.weather, remarks)
    recent = _groups_in_words(decoded.recent, remarks)
    found: dict[str, Any] = {
        "present_weather": tuple(one.words for one in now),
        "recent_weather": tuple(one.words for one in recent),
    }
    if "present weather" not in report.missing:
        rain_gauge = decoded.precip_1hr is not None and decoded.precip_1hr.value("IN") > 0.0
        has_rained = rain_gauge or any(one.falling for one in recent)
        found["runway_state_hint"] = guess_runway_state(now, temperature, has_rained)
    return found


def _groups_in_words(groups: Any, remarks: list[Remark]) -> list[PresentWeather]:
    words: list[PresentWeather] = []
    for parts in groups:
        group = "".join(part or "" for part in parts)
        if group == "NSW":
            continue
        one = present_weather(group)
        if one is None:
            remarks.append(Remark("undecoded", "present_weather", f"weather group {group} not decoded"))
        else:
            words.append(one)
    return words


def _celsius(text: str | None) -> float | None:
    if not text:
        return None
    degrees = float(text.lstrip("M-"))
    return _CELSIUS_ZERO + (degrees if text.isdigit() else -degrees)


def _qualifier(distance: Any) -> VisibilityQualifier | None:
    return {"<": "less than", ">": "or more"}.get(distance._gtlt)  # pyright: ignore[reportReturnType]


# The library's own conversion factors are rounded; the reported figure times an exact factor is not.
def _length(distance: Any) -> float:
    return float(distance.value() * _METRES[distance._units])


def _speed(speed: Any) -> float:
    return float(speed.value() * _METRES_PER_SECOND[speed._units])


def _pressure(pressure: Any) -> float:
    return float(pressure.value() * _PASCALS[pressure._units])
