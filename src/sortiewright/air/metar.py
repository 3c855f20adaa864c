"""Weather reports (METAR and SPECI) decoded into values.

The groups of the body are decoded by the library metar; this module feeds it only what it reads well,
keeps what the report did not say apart from what it did, and names every group left unread.
"""

import threading
import warnings
from datetime import UTC, datetime
from importlib import import_module
from typing import Any

from .metar_groups import MetarError, ReportGroups, reference_or_now, split_report
from .metar_remarks import group_hint, notes_on_report, report_remark_words
from .metar_values import report_values
from .weather import Weather

# The decoder reports trouble through the warnings machinery, which belongs to the whole process.
_decoder_lock = threading.Lock()


def decode_metar(text: str, *, reference_time: datetime | None = None) -> Weather:
    """Return the weather of the first report in a text.

    Wind directions are true. Missing and odd things are named in ``remarks``; a value that cannot be
    right (an altimeter setting of 300.5 hPa, a gust not above the mean) is left out and named there.

    Parameters
    ----------
    reference_time
        A report carries only its day of the month: it is put where it comes nearest to this time,
        which must carry its zone. Default: now.

    Raises
    ------
    MetarError
        If the outline is wrong, or a group cannot be read while wind, visibility, sky, temperature or
        altimeter setting is lacking: it may be that one. The error names the group. No other exception
        comes out of any text. Text over 2,000 characters is refused.
    ValueError
        If ``reference_time`` has no zone.
    """
    report = split_report(text, reference_or_now(reference_time))
    if "NIL" in report.modifiers and not report.body:
        return _weather(report, is_nil=True, remarks=tuple(notes_on_report(report, (), ())))
    decoded, unread = _decode(report)
    lacking = _lacking(decoded, report)
    if unread and lacking:
        problem = f"it cannot be read, and {lacking[0]} is lacking"
        raise MetarError(unread[0], problem, group_hint(unread[0], lacking))
    found, odd = report_values(decoded, report)
    found["report_remarks"] = report_remark_words(decoded, report)
    found["remarks"] = (*notes_on_report(report, unread, lacking), *odd)
    return _weather(report, **found)


def _weather(report: ReportGroups, **found: Any) -> Weather:
    return Weather(
        station=report.station,
        time=report.time,
        report_type=report.report_type,
        is_automatic="AUTO" in report.modifiers,
        is_corrected="COR" in report.modifiers,
        trend=report.trend,
        source_text=report.source_text,
        **found,
    )


def _decode(report: ReportGroups) -> tuple[Any, tuple[str, ...]]:
    # Imported on first use: most commands read no report, and the library ships without type hints.
    library = import_module("metar.Metar")
    time = report.time or datetime(2000, 1, 1, tzinfo=UTC)
    # The station is ours, so that no unit is guessed from its first letter.
    groups = ("METAR", "ZZZZ", f"{time:%d%H%M}Z", *report.body, "RMK", *report.decoded_remarks)
    code = " ".join(groups)
    with _decoder_lock, warnings.catch_warnings(record=True) as troubles:
        warnings.simplefilter("always")
        try:
            decoded = library.Metar(code, month=time.month, year=time.year, strict=False)
        except Exception as error:  # the decoder lets through whatever its converters raise
            raise MetarError("", f"it cannot be decoded ({type(error).__name__}: {error})") from error
    for trouble in troubles:
        message = str(trouble.message)
        if "failed while processing" in message:
            group = message.partition("failed while processing '")[2].split(" ")[0].strip("'")
            raise MetarError(group, "it cannot be read", group_hint(group))
    leftover = tuple(decoded._unparsed_groups)  # the library offers no public name for them
    return decoded, (*report.unread, *leftover)


def _lacking(decoded: Any, report: ReportGroups) -> tuple[str, ...]:
    given = {
        "wind": decoded.wind_speed is not None,
        "visibility": decoded.vis is not None,
        "sky": bool(decoded.sky) or "CAVOK" in report.body,
        "temperature": decoded.temp is not None,
        "altimeter": decoded.press is not None,
    }
    if not any(given.values()) and not report.missing:
        group = (*report.unread, *report.body, "")[0]
        raise MetarError(group, "there is no weather in this report", "Write NIL where there is none.")
    return tuple(name for name, is_given in given.items() if not is_given and name not in report.missing)
