"""Units: sizes against pint, rounding to the safe side, and texts that the card font can print."""

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sortiewright.sortie.figures import Figure, Kind
from sortiewright.sortie.units import (
    SI,
    TRADE,
    convert,
    group_thousands,
    rounding_of,
    show,
)

NARROW = "\u202f"
SI_UNIT = {
    Kind.RUNWAY_DISTANCE: "m",
    Kind.HEIGHT: "m",
    Kind.CAS: "m/s",
    Kind.TAS: "m/s",
    Kind.GROUND_SPEED: "m/s",
    Kind.WIND_SPEED: "m/s",
    Kind.MASS: "kg",
    Kind.ANGLE: "rad",
    Kind.COURSE: "deg",
    Kind.TIME: "s",
    Kind.GRADIENT: "m/m",
    Kind.CLIMB_RATE: "m/s",
    Kind.ENERGY: "J",
    Kind.PRESSURE: "Pa",
    Kind.ALTIMETER: "Pa",
    Kind.TEMPERATURE: "kelvin",
    Kind.PERCENT_MAC: "",
    Kind.SIDE_MOMENT: "N*m",
    Kind.MASS_FLOW: "kg/s",
    Kind.FORCE: "N",
    Kind.FRACTION: "",
    Kind.NUMBER: "",
    Kind.TRIM_UNITS: "",
    Kind.DISTANCE: "m",
    Kind.LEVEL: "m",
    Kind.MACH: "",
    Kind.SPECIFIC_RANGE: "m/kg",
    Kind.LOAD_FACTOR: "",
    Kind.TURN_RATE: "rad/s",
    Kind.TURN_RADIUS: "m",
}


@pytest.fixture(scope="module")
def registry():
    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


# pint's definition file (pint 0.25, default_en.txt) is the independent statement of every unit's size. Its
# inch of mercury is 13.5951 g/cm3 times standard gravity; NIST SP 811 rounds that to 3386.389 Pa: hence 1e-6.
@pytest.mark.parametrize("kind", list(Kind))
@pytest.mark.parametrize("system", ["trade", "si"])
@pytest.mark.parametrize("altimeter", ["hPa", "inHg"])
def test_every_unit_has_the_size_pint_gives_it(registry, kind, system, altimeter):
    value, name = convert(300.0, kind, system, altimeter=altimeter)

    expected = registry.Quantity(300.0, SI_UNIT[kind]).to(name or "dimensionless").magnitude
    assert value == pytest.approx(expected, rel=1e-6)


def test_every_kind_has_a_unit_in_both_systems():
    assert set(TRADE) == set(SI) == set(Kind) == set(SI_UNIT)


# NIST SP 811 (2008), appendix B.8: 1 ft = 0.3048 m; B.9 lists the knot as 0.514 444 4 m/s, the pound as
# 0.453 592 37 kg and the pound-force as 4.448 222 N.
@pytest.mark.parametrize(
    ("value", "kind", "expected"),
    [
        (0.3048 * 8000, Kind.RUNWAY_DISTANCE, 8000),
        (0.5144444 * 148, Kind.CAS, 148),
        (0.45359237 * 38000, Kind.MASS, 38000),
        (4.448222 * 17800, Kind.FORCE, 17800),
    ],
)
def test_sizes_printed_by_nist(value, kind, expected):
    assert convert(value, kind)[0] == pytest.approx(expected, rel=1e-6)


# Instrument departures assume 200 ft/nm, which is 3.3 per cent (from memory: FAA-H-8083-16B, chapter 1).
def test_departure_gradient_reads_in_both_forms():
    gradient = 200 * 0.3048 / 1852

    assert show(gradient, Kind.GRADIENT, rounding="nearest") == ("200", f"ft/nm (3.3{NARROW}%)")


@pytest.mark.parametrize(
    ("value", "kind", "options", "number", "unit"),
    [
        (1042.2, Kind.RUNWAY_DISTANCE, {}, f"3{NARROW}420", "ft"),
        (1042.8, Kind.RUNWAY_DISTANCE, {"rounding": "down"}, f"3{NARROW}420", "ft"),
        (-30.6, Kind.RUNWAY_DISTANCE, {"rounding": "down"}, "−110", "ft"),
        (1042.2, Kind.RUNWAY_DISTANCE, {"system": "si"}, f"1{NARROW}045", "m"),
        (math.inf, Kind.RUNWAY_DISTANCE, {}, "never", ""),
        (-math.inf, Kind.RUNWAY_DISTANCE, {}, "none", ""),
        (None, Kind.CAS, {}, "—", ""),
        (math.nan, Kind.CAS, {}, "—", ""),
        (288.15, Kind.TEMPERATURE, {}, "15", "°C"),
        (263.15, Kind.TEMPERATURE, {}, "−10", "°C"),
        (10.0, Kind.TEMPERATURE, {"difference": True}, "+10", "°C"),
        (101325.0, Kind.ALTIMETER, {}, "1013", "hPa"),
        (101325.0, Kind.ALTIMETER, {"altimeter": "inHg"}, "29.92", "inHg"),
        (7.2, Kind.COURSE, {}, "007", "°"),
        (0.0, Kind.COURSE, {}, "360", "°"),
        (0.983, Kind.FRACTION, {}, "98.3", "%"),
        (0.98, Kind.FRACTION, {}, "98", "%"),
        (0.2312, Kind.PERCENT_MAC, {}, "23.1", "%MAC"),
        (23.0, Kind.NUMBER, {}, "23", ""),
        (4.25, Kind.TIME, {}, "4.3", "s"),
        (95.2, Kind.TIME, {}, "95", "s"),
        (200.0, Kind.TIME, {}, "3:20", "min"),
        (62e6, Kind.ENERGY, {}, "45.7", "Mft·lbf"),
        (-0.2, Kind.WIND_SPEED, {}, "0", "kt"),
    ],
)
def test_shown_text(value, kind, options, number, unit):
    assert show(value, kind, **options) == (number, unit)


def test_a_figure_shows_its_text_before_its_value():
    figure = Figure("refusal_speed", "Refusal speed", 90.0, Kind.CAS, text="above lift-off")

    assert show(figure) == ("above lift-off", "")


def test_a_figure_without_text_is_rounded_to_the_safe_side():
    knots = 0.514444444
    refusal = Figure("refusal_speed", "Refusal speed", 131.9 * knots, Kind.CAS)
    minimum_go = Figure("minimum_go_speed", "Minimum go speed", 131.1 * knots, Kind.CAS)

    assert (show(refusal).number, show(minimum_go).number) == ("131", "132")


# A margin that is shown larger than it is, or a needed distance shown shorter, would promise too much.
@given(st.floats(min_value=-5000, max_value=5000))
def test_shown_distances_never_promise_more_than_was_computed(value):
    def shown(name):
        number = show(Figure(name, name, value, Kind.RUNWAY_DISTANCE)).number
        return float(number.replace(NARROW, "").replace("−", "-")) * 0.3048

    assert shown("ground_run") >= value - 1e-3
    assert shown("runway_margin") <= value + 1e-3
    assert abs(shown("ground_run") - value) <= 3.05


def test_rounding_follows_what_the_distance_is_for():
    assert rounding_of("critical_field_length", Kind.RUNWAY_DISTANCE) == "up"
    assert rounding_of("runway_length", Kind.RUNWAY_DISTANCE) == "down"
    assert rounding_of("tyre_speed_margin", Kind.GROUND_SPEED) == "down"


def test_thousands_are_parted_by_the_space_that_never_breaks():
    assert group_thousands(1234567) == f"1{NARROW}234{NARROW}567"
    assert group_thousands(-0.04, 1) == "0.0"


def test_a_bare_value_needs_its_kind():
    with pytest.raises(TypeError, match="kind"):
        show(1.0)
