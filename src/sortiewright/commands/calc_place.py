"""Computations on the earth: distance and course, position, variation, sun."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated

from cyclopts import Parameter

from sortiewright.commands import answer as out
from sortiewright.commands.answer import Answer, Line, print_answer
from sortiewright.commands.inputs import Course, Day, Distance, Height, Place, PlaceText, position_text, today
from sortiewright.commands.output import FOR_PEOPLE, Output, remark


def distance(
    start: PlaceText, end: PlaceText, /, *, on: Day | None = None, output: Output = FOR_PEOPLE
) -> None:
    """Distance and courses between two places, along the shortest line on the WGS 84 ellipsoid.

    Example: sortiewright calc distance 51.47,-0.45 40.64,-73.78 --on 2026-05-14

    Parameters
    ----------
    start
        ICAO code, 51.47,-0.45, "51.47N 0.45W" or "N51 28.2 W000 27.0".
    end
        The same.
    on
        Day of the magnetic variation; today where absent.
    """
    from sortiewright.air import geodesic, to_magnetic

    line = geodesic(start.latitude_deg, start.longitude_deg, end.latitude_deg, end.longitude_deg)
    initial = float(line.initial_course_deg)
    variation = _variation(start, on or today())
    magnetic = None if variation is None else float(to_magnetic(initial, variation))
    answer = Answer(
        "Distance",
        (Line("start", "from", start.name), Line("end", "to", end.name)),
        (
            Line("distance", "Distance", float(line.distance), out.DISTANCE),
            Line("initial_true_course", "Initial true course", initial, out.COURSE),
            Line("final_true_course", "Final true course", float(line.final_course_deg), out.COURSE),
            Line("initial_magnetic_course", "Initial magnetic course", magnetic, out.COURSE),
            _variation_line(variation, "Variation at the start"),
        ),
    )
    print_answer(answer, output)


def position(
    start: PlaceText,
    course: Course,
    distance: Distance,
    /,
    *,
    magnetic: Annotated[bool, Parameter(negative="")] = False,
    on: Day | None = None,
    output: Output = FOR_PEOPLE,
) -> None:
    """Position that lies a distance away on a course.

    Example: sortiewright calc position "54N 3W" 270 25

    Parameters
    ----------
    start
        ICAO code, 51.47,-0.45, "51.47N 0.45W" or "N51 28.2 W000 27.0".
    course
        At the start, true (degrees).
    distance
        Along the shortest line (nmi).
    magnetic
        The course is magnetic.
    on
        Day of the magnetic variation; today where absent.
    """
    from sortiewright.air import destination, magnetic_variation, to_true

    true_course = course
    if magnetic:
        variation = magnetic_variation(start.latitude_deg, start.longitude_deg, on or today())
        true_course = float(to_true(course, variation))
    found = destination(start.latitude_deg, start.longitude_deg, true_course, distance)
    latitude, longitude = float(found.latitude_deg), float(found.longitude_deg)
    answer = Answer(
        "Position",
        (
            Line("start", "from", start.name),
            Line("course", "magnetic course" if magnetic else "true course", course, out.COURSE),
            Line("distance", "distance", distance, out.DISTANCE),
        ),
        (
            Line("position", "Position", position_text(latitude, longitude)),
            Line("latitude", "Latitude", latitude, out.DEGREES, "north positive", step=0.0001),
            Line("longitude", "Longitude", longitude, out.DEGREES, "east positive", step=0.0001),
            Line("true_course", "True course at the start", true_course, out.COURSE),
            Line("final_true_course", "True course there", float(found.final_course_deg), out.COURSE),
        ),
    )
    print_answer(answer, output)


def variation(
    place: PlaceText,
    /,
    *,
    on: Day | None = None,
    altitude: Height | None = None,
    output: Output = FOR_PEOPLE,
) -> None:
    """Magnetic variation at a place, by the World Magnetic Model 2025.

    Example: sortiewright calc variation "54N 3W" --on 2026-05-14

    Parameters
    ----------
    place
        ICAO code, 51.47,-0.45, "51.47N 0.45W" or "N51 28.2 W000 27.0".
    on
        Day; today where absent.
    altitude
        Above sea level; that of the field, or zero, where absent.
    """
    from sortiewright.air import magnetic_field

    when = on or today()
    height = altitude if altitude is not None else place.elevation or 0.0
    field = magnetic_field(place.latitude_deg, place.longitude_deg, when, height)
    caution = field.compass_caution
    answer = Answer(
        "Magnetic variation",
        (
            Line("place", "at", place.name),
            Line("on", "on", when.isoformat()),
            Line("altitude", "altitude", height or None, out.HEIGHT),
        ),
        (
            _variation_line(field.declination_deg, "Variation"),
            Line("dip", "Dip", field.dip_deg, out.DEGREES, "down positive"),
            Line("horizontal", "Horizontal field", field.horizontal_nt, out.FIELD_STRENGTH),
            Line("total", "Total field", field.total_nt, out.FIELD_STRENGTH),
        ),
        (f"Caution: {caution}.",) if caution else (),
    )
    print_answer(answer, output)


def sun(place: PlaceText, /, *, on: Day | None = None, output: Output = FOR_PEOPLE) -> None:
    """Sunrise, sunset and civil twilight at a place, UTC.

    Example: sortiewright calc sun "54N 3W" --on 2026-05-14

    Parameters
    ----------
    place
        ICAO code, 51.47,-0.45, "51.47N 0.45W" or "N51 28.2 W000 27.0".
    on
        Local date; today (UTC) where absent.
    """
    from sortiewright.air import sun_times

    when = on or today()
    times = sun_times(place.latitude_deg, place.longitude_deg, when)

    def line(name: str, label: str, time: datetime | None) -> Line:
        return Line(name, label, _clock(time, when, json=output.json) if time else None)

    answer = Answer(
        "Sun",
        (Line("place", "at", place.name), Line("on", "on", when.isoformat())),
        (
            line("civil_dawn", "Civil dawn", times.civil_dawn),
            line("sunrise", "Sunrise", times.sunrise),
            line("sunset", "Sunset", times.sunset),
            line("civil_dusk", "Civil dusk", times.civil_dusk),
        ),
        (f"{times.note[0].upper()}{times.note[1:]}.",) if times.note else (),
    )
    print_answer(answer, output)


def _clock(time: datetime, day: date, *, json: bool) -> str:
    if json:
        return time.strftime("%Y-%m-%dT%H:%M:%SZ")
    # To the minute: the sun's place is not known better.
    minute = datetime.fromtimestamp((time.timestamp() + 30) // 60 * 60, tz=time.tzinfo)
    away = (minute.date() - day).days
    other_day = "" if away == 0 else f" on the {'next' if away > 0 else 'previous'} day"
    return f"{minute:%H:%M}Z{other_day}"


def _variation(place: Place, when: date) -> float | None:
    from sortiewright.air import OutsideMagneticModel, magnetic_variation

    try:
        return magnetic_variation(place.latitude_deg, place.longitude_deg, when)
    except OutsideMagneticModel as outside:
        remark(f"No magnetic course: {outside}")
        return None


def _variation_line(variation: float | None, label: str) -> Line:
    note = "" if variation is None else "east" if variation >= 0 else "west (negative)"
    return Line("variation", label, variation, out.DEGREES, note)
