"""Present weather groups in plain words, and the runway state they let one guess.

Codes: WMO-No. 306, Manual on Codes, code table 4678.
"""

import re
from collections.abc import Iterable
from typing import NamedTuple

from .runway import RunwayCondition

_INTENSITY = {"": "", "-": "light", "+": "heavy"}
_DESCRIPTOR = {
    "MI": "shallow",
    "PR": "partial",
    "BC": "patches of",
    "DR": "low drifting",
    "BL": "blowing",
    "SH": "showers",
    "TS": "thunderstorm",
    "FZ": "freezing",
}
_PRECIPITATION = {
    "DZ": "drizzle",
    "RA": "rain",
    "SN": "snow",
    "SG": "snow grains",
    "IC": "ice crystals",
    "PL": "ice pellets",
    "GR": "hail",
    "GS": "small hail",
    "UP": "unknown precipitation",
}
_OBSCURATION = {
    "BR": "mist",
    "FG": "fog",
    "FU": "smoke",
    "VA": "volcanic ash",
    "DU": "dust",
    "SA": "sand",
    "HZ": "haze",
    "PY": "spray",
    "PO": "dust whirls",
    "SQ": "squalls",
    "FC": "funnel cloud",
    "SS": "sandstorm",
    "DS": "dust storm",
}
_GROUP = re.compile(
    rf"(?P<intensity>[-+]?)(?P<vicinity>VC)?(?P<descriptors>(?:{'|'.join(_DESCRIPTOR)})*)"
    rf"(?P<precipitation>(?:{'|'.join(_PRECIPITATION)})*)(?P<obscuration>(?:{'|'.join(_OBSCURATION)})*)"
)
_BEGIN_END = re.compile(r"((?:[A-Z]{2})+?)((?:[BE](?:\d{4}|\d{2}))+)")
_FREEZING_POINT = 273.15  # K


class PresentWeather(NamedTuple):
    """One group: its words, and what falls at the field (codes, none when only in the vicinity)."""

    words: str
    falling: tuple[str, ...]
    is_freezing: bool


def present_weather(group: str) -> PresentWeather | None:
    """Return a present or recent weather group in words, None if it is not one."""
    match = _GROUP.fullmatch(group)
    if not match or not match["descriptors"] + match["precipitation"] + match["obscuration"]:
        return None
    descriptors, falling, obscuring = (
        re.findall("..", match[name]) for name in ("descriptors", "precipitation", "obscuration")
    )
    if "FC" in obscuring and match["intensity"] == "+":
        return PresentWeather("tornado or waterspout", (), False)
    words = [
        _INTENSITY[match["intensity"]],
        *(_DESCRIPTOR[one] for one in descriptors if one not in ("SH", "TS")),
    ]
    things = _listed([*(_PRECIPITATION[one] for one in falling), *(_OBSCURATION[one] for one in obscuring)])
    if "SH" in descriptors:
        things = f"{things} showers".strip()
    if "TS" in descriptors:
        # A storm has no intensity of its own: -TSRA is a thunderstorm with light rain.
        words = ["thunderstorm", *(["with"] if things else []), *words]
    place = ["nearby"] if match["vicinity"] else []
    here = () if match["vicinity"] else tuple(falling)
    return PresentWeather(" ".join(one for one in [*words, things, *place] if one), here, "FZ" in descriptors)


def begin_and_end(group: str) -> str | None:
    """Return a remark such as RAB20E51 in words, None if it is not one."""
    parts = _BEGIN_END.findall(group)
    if not parts or "".join(codes + times for codes, times in parts) != group:
        return None
    phrases: list[str] = []
    for codes, times in parts:
        weather = present_weather(codes)
        if weather is None:
            return None
        moments = [_moment(kind, time) for kind, time in re.findall(r"([BE])(\d{4}|\d{2})", times)]
        phrases.append(f"{weather.words} {', '.join(moments)}")
    return "; ".join(phrases)


def _moment(kind: str, time: str) -> str:
    clock = f"{time[:2]}:{time[2:]}" if len(time) == 4 else f"minute {time}"
    return f"{'began' if kind == 'B' else 'ended'} at {clock}"


def guess_runway_state(
    weather: Iterable[PresentWeather], temperature: float | None, has_rained: bool
) -> RunwayCondition:
    """Return the runway state the weather lets one guess (common practice, no source); K.

    Icy where snow, ice or freezing rain falls, or anything falls or fell at or below freezing; snow
    that falls well above freezing counts as wet. A runway may be worse than its weather.
    """
    groups = list(weather)
    falling = {code for one in groups for code in one.falling}
    is_cold = temperature is not None and temperature <= _FREEZING_POINT
    is_near_freezing = temperature is None or temperature <= _FREEZING_POINT + 3.0
    if any(one.is_freezing for one in groups):
        return "icy"
    if falling & {"SN", "SG", "PL"} and is_near_freezing:
        return "icy"
    if falling - {"IC"} or has_rained:
        return "icy" if is_cold else "wet"
    return "dry"


def _listed(words: list[str]) -> str:
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
