"""A METAR taken apart into its groups, before any of them is decoded: header, body, trend, remarks.

Form: WMO-No. 306, Manual on Codes, FM 15 METAR and FM 16 SPECI; remarks as in FMH-1, chapter 12.
"""

import re
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Literal

LONGEST_REPORT = 2_000  # characters; a full report with remarks has some 300
_LONGEST_GROUP = 24  # characters
_TREND_STARTS = frozenset({"NOSIG", "BECMG", "TEMPO", "FCST", "NOSPECI"})

_STATION = re.compile(r"[A-Z][A-Z0-9]{3}")
_TIME = re.compile(r"(\d{2})(\d{2})(\d{2})Z?")
_WIND = re.compile(r"(\d{3}|VRB|///)(P?\d{2,3}|//)(G(P?\d{1,3}|//))?(KT|KTS|MPS|KMH)")
_WIND_WITHOUT_UNIT = re.compile(r"([0-2]\d\d|3[0-5]\d|360|VRB)\d{2,3}(G\d{2,3})?")
# The decoder would read BKN1000, meant as feet, as 100,000 ft.
_CLOUD_OF_WRONG_LENGTH = re.compile(r"(FEW|SCT|BKN|[O0]VC|VV)([\dO]{1,2}|[\dO]{4,})[A-Z]*")
_RUNWAY_STATE = re.compile(r"R?\d\d[LCR]?/?(SNOCLO|CLRD(\d\d|//)|[\d/]{6})|R/SNOCLO|SNOCLO")
# What the code form writes where an instrument or observer had nothing to report.
_MISSING = (
    ("wind", re.compile(r"(/{5}|M{5})(G(//|MM))?(KTS?|MPS|KMH)")),
    ("temperature", re.compile(r"(//|XX|MM)/(//|XX|MM)?")),
    ("altimeter", re.compile(r"(A|Q|QNH)/{4}")),
    ("present weather", re.compile(r"//")),
    ("visibility", re.compile(r"////(SM)?")),
    ("sky", re.compile(r"/{3}|/{6}(CB|TCU|///)?")),
)
# Remarks worth decoding; hours, minutes and directions are held to their ranges here.
_CLOCK = r"([01]\d|2[0-3])?[0-5]\d"
_DECODED_REMARKS = re.compile(
    rf"AO[12]|SLP\d{{3}}|T[01]\d{{3}}([01]\d{{3}})?|P\d{{4}}|5[0-8]\d{{3}}"
    rf"|PK WND ([0-2]\d\d|3[0-5]\d|360)\d{{2,3}}/{_CLOCK}|WSHFT {_CLOCK}( FROPA)?"
)
_NEEDS_TIME = ("PK WND", "WSHFT")


class MetarError(ValueError):
    """A report that cannot be read; ``group`` is the part to mend, as written."""

    def __init__(self, group: str, problem: str, hint: str = "") -> None:
        self.group = group
        self.problem = problem
        self.hint = hint
        where = f"weather report, group {group!r}: " if group else "weather report: "
        super().__init__(f"{where}{problem}.{' ' + hint if hint else ''}")


@dataclass(frozen=True, slots=True)
class ReportGroups:
    """The groups of one report by their part. ``missing`` names what the body marks as not reported."""

    source_text: str
    report_type: Literal["METAR", "SPECI"]
    station: str | None
    time: datetime | None
    modifiers: frozenset[str]
    body: tuple[str, ...]
    missing: frozenset[str]
    unread: tuple[str, ...]
    runway_states: tuple[str, ...]
    trend: str | None
    remark_groups: tuple[str, ...]
    decoded_remarks: tuple[str, ...]
    other_remarks: tuple[str, ...]
    following_text: str


def split_report(text: str, reference_time: datetime) -> ReportGroups:
    """Return the groups of the first report in the text. Raises MetarError where its outline is wrong."""
    first, following = _one_report(text)
    groups = first.split()
    if not groups:
        raise MetarError(
            "", "it is empty", "A report looks like: METAR XXXX 011200Z 24010KT 9999 SCT030 15/08 Q1013"
        )
    report_type: Literal["METAR", "SPECI"] = "SPECI" if groups[0] == "SPECI" else "METAR"
    if groups[0] in ("METAR", "SPECI"):
        groups = groups[1:]

    remark_at = next((i for i, one in enumerate(groups) if one in ("RMK", "RMKS")), len(groups))
    remarks = [one for one in groups[remark_at + 1 :] if one != "$"]
    groups = groups[:remark_at]
    trend_at = next((i for i, one in enumerate(groups) if one in _TREND_STARTS), len(groups))
    trend = " ".join(groups[trend_at:]) or None
    groups = groups[:trend_at]

    modifiers = {"COR"} if groups[:1] == ["COR"] else set[str]()
    groups = groups[len(modifiers) :]
    station, groups = _station(groups)
    time, groups = _time(groups, reference_time)
    body: list[str] = []
    missing: set[str] = set()
    unread: list[str] = []
    runway_states: list[str] = []
    for group in groups:
        if group in ("AUTO", "COR", "NIL", "RTD") or re.fullmatch(r"CC[A-Z]", group):
            modifiers.add("COR" if group.startswith("CC") else group)
        elif group == "$":
            continue
        elif named := next((name for name, pattern in _MISSING if pattern.fullmatch(group)), None):
            missing.add(named)
        elif _RUNWAY_STATE.fullmatch(group):
            runway_states.append(group)
        elif _is_beyond_the_decoder(group):
            unread.append(group)
        else:
            body.append(_checked_body_group(group))
    decoded, others = _sort_remarks(remarks, has_time=time is not None)
    return ReportGroups(
        source_text=first,
        report_type=report_type,
        station=station,
        time=time,
        modifiers=frozenset(modifiers),
        body=tuple(body),
        missing=frozenset(missing),
        unread=tuple(unread),
        runway_states=tuple(runway_states),
        trend=trend,
        remark_groups=tuple(remarks),
        decoded_remarks=decoded,
        other_remarks=others,
        following_text=following,
    )


def _one_report(text: str) -> tuple[str, str]:
    if len(text) > LONGEST_REPORT:
        raise MetarError(
            "", f"{len(text):,} characters are more than {LONGEST_REPORT:,}", "Give one report at a time."
        )
    if not text.isascii():
        odd = next(one for one in text if not one.isascii())
        group = next(one for one in [*text.split(), odd] if odd in one)
        raise MetarError(group[:_LONGEST_GROUP], f"{odd!r} is not a character of the code")
    first, _, following = text.strip().strip("=").partition("=")
    return " ".join(first.upper().split()), " ".join(following.split())


def _station(groups: list[str]) -> tuple[str | None, list[str]]:
    if not groups:
        raise MetarError("", "there is nothing after the report type")
    if _STATION.fullmatch(groups[0]) and groups[0] not in ("AUTO", "CAVOK"):
        return groups[0], groups[1:]
    if _TIME.fullmatch(groups[0]) or _WIND.fullmatch(groups[0]):
        return None, groups
    hint = "A report begins with a station code of four letters, or with its time or wind."
    raise MetarError(_short(groups[0]), "it is not a station code", hint)


def _time(groups: list[str], reference_time: datetime) -> tuple[datetime | None, list[str]]:
    if not groups or not (match := _TIME.fullmatch(groups[0])):
        return None, groups
    day, hour, minute = (int(one) for one in match.groups())
    if not (1 <= day <= 31 and hour <= 23 and minute <= 59):
        raise MetarError(groups[0], "it is not a day, hour and minute", "Times are written 091955Z.")
    return _nearest(day, hour, minute, reference_time), groups[1:]


def _nearest(day: int, hour: int, minute: int, reference: datetime) -> datetime:
    # The report carries no month; the right one puts it nearest to the time it is read for. Two months
    # back always reaches a month that has this day.
    candidates: list[datetime] = []
    for months in (-2, -1, 0, 1):
        year, month = divmod(reference.year * 12 + reference.month - 1 + months, 12)
        try:
            candidates.append(datetime(year, month + 1, day, hour, minute, tzinfo=UTC))
        except ValueError:
            continue
    return min(candidates, key=lambda one: abs(one - reference))


def _is_beyond_the_decoder(group: str) -> bool:
    # The decoder's expressions for lightning and storm places take exponential time on long runs of
    # compass letters, so such groups never reach it. It also takes U for metres.
    return (
        len(group) > _LONGEST_GROUP
        or group.startswith("LTG")
        or re.fullmatch(r"[NSEW-]{5,}|[MP]?[\d/]+U", group) is not None
        or _CLOUD_OF_WRONG_LENGTH.fullmatch(group) is not None
        or group in ("METAR", "SPECI", "TEST", "FINO", "CORR")
    )


def _checked_body_group(group: str) -> str:
    if _WIND_WITHOUT_UNIT.fullmatch(group):
        # The decoder would take metres a second or knots by the station's first letter.
        raise MetarError(group, "the wind has no unit", f"Write {group}KT, {group}MPS or {group}KMH.")
    if (match := _WIND.fullmatch(group)) and match[1].isdigit() and int(match[1]) > 360:
        raise MetarError(group, f"wind direction {match[1]} is beyond 360 degrees")
    return group


def _sort_remarks(remarks: list[str], *, has_time: bool) -> tuple[tuple[str, ...], tuple[str, ...]]:
    # Longest first: PK WND takes three groups, WSHFT two or three.
    decoded: list[str] = []
    others: list[str] = []
    at = 0
    while at < len(remarks):
        for width in (3, 2, 1):
            phrase = " ".join(remarks[at : at + width])
            if _DECODED_REMARKS.fullmatch(phrase) and (has_time or not phrase.startswith(_NEEDS_TIME)):
                decoded.append(phrase)
                at += width
                break
        else:
            others.append(remarks[at])
            at += 1
    return tuple(decoded), tuple(others)


def _short(group: str) -> str:
    return group if len(group) <= _LONGEST_GROUP else group[:_LONGEST_GROUP] + "..."


def reference_or_now(reference_time: datetime | None) -> datetime:
    """Return the time to count a report's day from, in UTC. Raises ValueError for a time without a zone."""
    if reference_time is None:
        return datetime.now(UTC)
    if reference_time.tzinfo is None:
        raise ValueError(f"reference time {reference_time.isoformat()} has no zone; write it in UTC with a Z")
    return reference_time.astimezone(UTC)
