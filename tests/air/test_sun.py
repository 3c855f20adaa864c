import json
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sortiewright.air import light_state, sun_times

# Group J, sun; the file names the source of each check. Its tolerance is in words: 1 min, above 60
# degrees of latitude 2 min.
CHECKS = [
    one
    for one in json.loads(
        (Path(__file__).parents[1] / "data" / "external_checks" / "group_j.json").read_text(encoding="utf-8")
    )["checks"]
    if "local_date" in one["inputs"]
]
WORDED_TOLERANCE = "1 min (2 min above 60 deg latitude)"


@pytest.mark.parametrize("check", [pytest.param(one, id=one["id"]) for one in CHECKS])
def test_sunrise_sunset_and_civil_twilight(check):
    assert check["tolerance"]["all"] == WORDED_TOLERANCE
    inputs = check["inputs"]
    latitude, longitude = inputs["lat"]["value"], inputs["lon"]["value"]
    times = sun_times(latitude, longitude, date.fromisoformat(inputs["local_date"]))
    tolerance = timedelta(minutes=2 if latitude > 60.0 else 1)

    for name, expected in check["expected"].items():
        found = getattr(times, name)
        if expected.startswith("none"):
            assert found is None
            assert times.note.startswith("polar night")
        else:
            assert abs(found - datetime.fromisoformat(expected)) <= tolerance


# The date's own evening is meant, although it falls on the next day in UTC; on the clocks of that place
# (seven hours behind UTC in summer) it is still the same date.
def test_an_evening_west_of_greenwich_belongs_to_its_local_date():
    offset = timedelta(hours=-7)
    times = sun_times(36.236, -115.034, date(2026, 6, 21), offset)

    assert (times.sunset + offset).date() == (times.sunrise + offset).date() == date(2026, 6, 21)
    assert times.sunset.date() == date(2026, 6, 22)


# Across the date line noon of one date in UTC+13 falls on the day before in UTC.
def test_the_zone_says_which_noon_belongs_to_the_date():
    times = sun_times(-13.8, -171.8, date(2026, 3, 10), timedelta(hours=13))

    assert times.sunrise.astimezone(UTC).date() == date(2026, 3, 9)


# Astronomy of the polar circles (Explanatory Supplement): at 80 N the sun stays up in June and stays
# more than 6 degrees down in December; at 60 N June nights have no end of civil twilight.
@pytest.mark.parametrize(
    ("latitude", "day", "note"),
    [
        (80.0, date(2026, 6, 21), "midnight sun: the sun does not set"),
        (80.0, date(2026, 12, 21), "polar night: no civil twilight"),
        (70.0, date(2026, 12, 21), "polar night: the sun does not rise, civil twilight only"),
        (63.0, date(2026, 6, 21), "civil twilight lasts all night"),
        (-80.0, date(2026, 12, 21), "midnight sun: the sun does not set"),
        (45.0, date(2026, 6, 21), None),
    ],
)
def test_high_latitudes_are_told_in_words(latitude, day, note):
    assert sun_times(latitude, 20.0, day).note == note


@given(st.floats(-62.0, 62.0), st.floats(-180.0, 180.0), st.dates(date(1990, 1, 1), date(2060, 12, 31)))
def test_times_come_in_their_order_and_light_agrees_with_them(latitude, longitude, day):
    times = sun_times(latitude, longitude, day)
    minute = timedelta(minutes=2)

    assert times.sunrise < times.sunset
    assert light_state(latitude, longitude, times.sunrise + minute) == "day"
    assert light_state(latitude, longitude, times.sunset + minute) == "civil twilight"
    if times.civil_dawn and times.civil_dusk:
        assert times.civil_dawn < times.sunrise < times.sunset < times.civil_dusk
        assert light_state(latitude, longitude, times.civil_dawn - minute) == "night"
        assert light_state(latitude, longitude, times.civil_dusk - minute) == "civil twilight"


# Geometry: from a tower of h = 1,000 m the horizon dips acos(R/(R + h)) = 1.015 degrees, and on the
# equator at the equinox the sun climbs one degree in 240 seconds.
def test_a_high_eye_sees_the_sun_earlier():
    low, high = (sun_times(0.0, 0.0, date(2026, 3, 20), elevation=height) for height in (0.0, 1_000.0))

    assert (low.sunrise - high.sunrise).total_seconds() == pytest.approx(1.015 * 240.0, abs=5.0)
    assert low.civil_dawn == high.civil_dawn


def test_a_time_without_zone_is_refused():
    with pytest.raises(ValueError, match=r"2026-06-21T12:00:00 has no zone"):
        light_state(40.0, 0.0, datetime(2026, 6, 21, 12))


def test_a_place_off_the_globe_is_refused():
    with pytest.raises(ValueError, match=r"position -115, 36 is off the globe \(latitude, longitude\)"):
        sun_times(-115.0, 36.0, date(2026, 6, 21))
    with pytest.raises(ValueError, match=r"elevation -5 m"):
        sun_times(40.0, 36.0, date(2026, 6, 21), elevation=-5.0)
