"""Today's weather at a field as values: what a report said, and in plain words what it did not say."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from .runway import RunwayCondition
from .runway_remark import RunwayConditionRemark
from .wind import Wind

RemarkKind = Literal["missing", "odd", "undecoded", "note"]
VisibilityQualifier = Literal["less than", "or more"]
CloudCover = Literal["FEW", "SCT", "BKN", "OVC"]


@dataclass(frozen=True, slots=True)
class Remark:
    """Something a reader of the report must know: what kind, about which field, in plain words."""

    kind: RemarkKind
    about: str
    text: str

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True, slots=True)
class CloudLayer:
    """A cloud layer: cover, base in m above the field (None if not measured), and CB or TCU if reported."""

    cover: CloudCover
    base: float | None
    kind: str | None = None


@dataclass(frozen=True, slots=True)
class RunwayVisualRange:
    """Runway visual range in m; ``low`` and ``high`` are equal where it does not vary.

    ``tendency`` is U rising, D falling, N steady, None not reported.
    """

    runway: str
    low: float
    high: float
    low_qualifier: VisibilityQualifier | None = None
    high_qualifier: VisibilityQualifier | None = None
    tendency: Literal["U", "D", "N"] | None = None


@dataclass(frozen=True, slots=True)
class PeakWind:
    """The strongest gust since the last report: direction it blew from, true degrees; m/s; UTC."""

    direction_from_deg: float
    speed: float
    time: datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Weather:
    """Weather at a field. SI: K, Pa, m (heights above the field), m/s; times UTC; None is not reported.

    ``ceiling`` is the lowest broken or overcast layer, or the vertical visibility into an obscured sky;
    None with a clear sky too, so read ``remarks``, where an unreported sky is named.
    ``temperature`` and ``dewpoint`` are in tenths of a degree where the remarks of the report give
    them; ``body_temperature`` and ``body_dewpoint`` are the whole degrees of its body.
    ``runway_state_hint`` is a guess from present weather and temperature, never a report;
    ``runway_condition`` is what the report's remarks said of the runway.
    """

    wind: Wind | None = None
    temperature: float | None = None
    dewpoint: float | None = None
    qnh: float | None = None
    visibility: float | None = None
    visibility_qualifier: VisibilityQualifier | None = None
    ceiling: float | None = None
    clouds: tuple[CloudLayer, ...] = ()
    vertical_visibility: float | None = None
    runway_visual_ranges: tuple[RunwayVisualRange, ...] = ()
    present_weather: tuple[str, ...] = ()
    recent_weather: tuple[str, ...] = ()
    station: str | None = None
    time: datetime | None = None
    report_type: Literal["METAR", "SPECI"] = "METAR"
    is_automatic: bool = False
    is_corrected: bool = False
    is_cavok: bool = False
    is_nil: bool = False
    trend: str | None = None
    sea_level_pressure: float | None = None
    peak_wind: PeakWind | None = None
    wind_shift_time: datetime | None = None
    wind_shear_runways: tuple[str, ...] = ()
    precipitation_last_hour: float | None = None
    body_temperature: float | None = None
    body_dewpoint: float | None = None
    runway_state_hint: RunwayCondition | None = None
    runway_condition: RunwayConditionRemark | None = None
    report_remarks: tuple[str, ...] = ()
    remarks: tuple[Remark, ...] = ()
    source_text: str | None = None
