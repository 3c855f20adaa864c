"""What a crew types becomes a value, or a message that says how to type it."""

import contextlib
import math
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sortiewright.commands import inputs

KNOT = 1852.0 / 3600.0


# Exact by definition: NIST SP 811 (2008), appendix B.8.
@pytest.mark.parametrize(
    ("text", "si_unit", "plain", "value"),
    [
        ("5000", "m", "ft", 1524.0),
        ("5000 ft", "m", "ft", 1524.0),
        ("1524m", "m", "ft", 1524.0),
        ("1.524 km", "m", "ft", 1524.0),
        ("25", "m", "nmi", 46300.0),
        ("-40", "K", "degC", 233.15),
        ("−40 degF", "K", "degC", 233.15),
        ("233.15 K", "K", "degC", 233.15),
        ("10", "delta_degC", "degC", 10.0),
        ("18 degF", "delta_degC", "degC", 10.0),
        ("360", "m/s", "kt", 185.2),
        ("185.2 m/s", "m/s", "kt", 185.2),
        ("1e3 kg", "kg", "lb", 1000.0),
        ("180", "rad", "deg", math.pi),
    ],
)
def test_quantity(text, si_unit, plain, value):
    assert inputs.quantity(text, si_unit=si_unit, plain=plain) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize("text", ["", "ft", "abc", "5000 kt", "5,000", "1 000", "450 nm", "--", "nan", "inf"])
def test_text_that_is_no_height_is_refused(text):
    with pytest.raises(ValueError, match=r"\w"):
        inputs.quantity(text, si_unit="m", plain="ft")


# NIST SP 811: the conventional inch of mercury is 3386.389 Pa.
@pytest.mark.parametrize(
    ("text", "pascals"),
    [
        ("1013", 101300.0),
        ("1013.25 hPa", 101325.0),
        ("Q0998", 99800.0),
        ("29.92", 29.92 * 3386.389),
        ("A2992", 29.92 * 3386.389),
        ("a3005", 30.05 * 3386.389),
        ("29.92 inHg", 29.92 * 3386.389),
    ],
)
def test_altimeter_setting_on_either_scale(text, pascals):
    assert inputs.altimeter_setting(text) == pytest.approx(pascals, rel=1e-6)


@pytest.mark.parametrize("text", ["101325", "2992", "0", "100", "1013 kt", "Q13", "standard"])
def test_altimeter_setting_on_no_scale_is_refused(text):
    with pytest.raises(ValueError, match=r"\w"):
        inputs.altimeter_setting(text)


# Common practice, no source: a runway is numbered by tens of degrees, a heading has three digits.
@pytest.mark.parametrize(
    ("text", "degrees"),
    [("27", 270.0), ("09L", 90.0), ("9", 90.0), ("36", 360.0), ("092", 92.0), ("268.5", 268.5), ("68", 68.0)],
)
def test_runway_heading_or_designator(text, degrees):
    assert inputs.runway_heading(text) == pytest.approx(degrees)


@pytest.mark.parametrize(
    ("text", "east"), [("3E", 3.0), ("2.5 w", -2.5), ("E11", 11.0), ("-1.2", -1.2), ("0", 0.0)]
)
def test_variation_is_east_positive(text, east):
    assert inputs.variation(text) == pytest.approx(east)


# WMO-No. 306, FM 15: direction, mean speed, gust, unit, variable sector.
@pytest.mark.parametrize(
    ("text", "direction", "speed", "gust"),
    [
        ("240/15G25", 240.0, 15 * KNOT, 25 * KNOT),
        ("24015G25KT", 240.0, 15 * KNOT, 25 * KNOT),
        ("040/5", 40.0, 5 * KNOT, None),
        ("40/5", 40.0, 5 * KNOT, None),
        ("VRB/05", None, 5 * KNOT, None),
        ("vrb03kt", None, 3 * KNOT, None),
        ("240/8 MPS", 240.0, 8.0, None),
        ("24036KMH", 240.0, 10.0, None),
        ("calm", 0.0, 0.0, None),
        ("24015KT 210V270", 240.0, 15 * KNOT, None),
    ],
)
def test_wind(text, direction, speed, gust):
    wind = inputs.wind(text)

    assert wind.direction_from_deg == direction
    assert wind.speed == pytest.approx(speed)
    assert wind.gust == (None if gust is None else pytest.approx(gust))


@pytest.mark.parametrize(
    "text", ["", "240", "240/", "400/15", "24O/15", "240/15G10", "240/15 furlongs", "/15"]
)
def test_text_that_is_no_wind_is_refused(text):
    with pytest.raises(ValueError, match=r"\w"):
        inputs.wind(text)


# One place written in every way: 51 deg 28.2 min N is 51.47; 0 deg 27 min W is -0.45.
@pytest.mark.parametrize(
    "text",
    [
        "51.47,-0.45",
        "51.47 -0.45",
        "+51.47, -0.45",
        "51.47N 0.45W",
        "51.47n,0.45w",
        "N51.47 W0.45",
        "N51 28.2 W000 27.0",
        "51°28.2'N 0°27.0'W",
        "51 28 12 N 0 27 0 W",
        "51:28:12N 000:27:00W",
    ],
)
def test_place_in_every_way_of_writing(text):
    place = inputs.place(text)

    assert place.latitude_deg == pytest.approx(51.47, abs=1e-9)
    assert place.longitude_deg == pytest.approx(-0.45, abs=1e-9)


# Public data: the aerodrome reference point of Heathrow is 51 28 39 N 000 27 41 W (from memory), to 0.02 deg.
def test_place_by_its_code():
    place = inputs.place("egll")

    assert place.latitude_deg == pytest.approx(51.4775, abs=0.02)
    assert place.longitude_deg == pytest.approx(-0.4614, abs=0.02)


@pytest.mark.parametrize(
    "text", ["", "51.47", "91,0", "0,181", "N51 61 W000 27", "51.47S,0.45", "51.47W 0.45N", "somewhere"]
)
def test_text_that_is_no_place_is_refused(text):
    with pytest.raises(ValueError, match=r"\w"):
        inputs.place(text)


@given(st.floats(-90, 90), st.floats(-180, 180))
def test_position_written_out_is_read_back(latitude, longitude):
    place = inputs.place(inputs.position_text(latitude, longitude))

    assert place.latitude_deg == pytest.approx(latitude, abs=5.1e-5)
    assert place.longitude_deg == pytest.approx(longitude, abs=5.1e-5)


@pytest.mark.parametrize("text", ["14.05.2026", "2026-02-30", "tomorrow", ""])
def test_text_that_is_no_date_is_refused(text):
    assert inputs.day("2026-05-14") == date(2026, 5, 14)
    with pytest.raises(ValueError, match="no date"):
        inputs.day(text)


# Whatever is typed, the answer is a value or a ValueError (unknown codes: LookupError), never another fault.
@given(st.text(max_size=30) | st.from_regex(r"[-+NSEW0-9 .,/GVRBKT'Q]{0,20}", fullmatch=True))
def test_no_text_breaks_a_reader(text):
    for read in (
        lambda one: inputs.quantity(one, si_unit="m", plain="ft"),
        inputs.altimeter_setting,
        inputs.runway_heading,
        inputs.variation,
        inputs.wind,
        inputs.place,
        inputs.day,
    ):
        with contextlib.suppress(ValueError, LookupError):
            read(text)
