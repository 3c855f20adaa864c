"""Units and the numbers that carry them."""

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sortiewright.pack import readable, to_si, unit_factor
from sortiewright.pack.units import COMMON_UNITS, pint_text

REGISTRY = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
# Spellings of ours that pint has under another name.
OTHER_NAMES = {"NM": "nmi", "Nm": "N*m", "pph": "lb/h", "percent": "%", "%MAC": "%", "lbf.ft": "ft*lbf"}
LISTED = [(unit, si_unit) for si_unit, units in COMMON_UNITS.items() for unit in units if unit]


# pint 0.25 (its definitions follow NIST SP 811) is the independent source of every factor. Its own arithmetic
# on compound units is good to a few units in the last place.
@pytest.mark.parametrize(("unit", "si_unit"), LISTED)
def test_each_listed_unit_agrees_with_pint(unit, si_unit):
    theirs = OTHER_NAMES.get(unit, pint_text(unit))
    if si_unit == "delta_degC":
        theirs = "delta_" + theirs.removeprefix("delta_") if theirs != "K" else theirs
    scale, offset = unit_factor(unit, si_unit)

    zero = REGISTRY.Quantity(0.0, theirs).to(pint_text(si_unit) or "dimensionless").magnitude
    hundred = REGISTRY.Quantity(100.0, theirs).to(pint_text(si_unit) or "dimensionless").magnitude

    assert offset == pytest.approx(zero, rel=1e-12, abs=1e-12)
    assert 100.0 * scale + offset == pytest.approx(hundred, rel=1e-12)


# NIST SP 811 (2008), appendix B.8: foot, pound, pound-force, knot, psi, inch of mercury (32 degF), US gallon.
@pytest.mark.parametrize(
    ("text", "si_unit", "value", "tolerance"),
    [
        ("1 ft", "m", 0.3048, 0),
        ("1 lb", "kg", 0.45359237, 0),
        ("1 lbf", "N", 4.4482216152605, 1e-15),
        ("1 kt", "m/s", 0.5144444, 1e-7),
        ("1 psi", "Pa", 6894.757, 1e-7),
        ("1 inHg", "Pa", 3386.38, 3e-6),
        ("1 gal", "m3", 3.785412e-3, 1e-7),
        ("1 ft.lbf", "J", 1.355818, 1e-6),
        ("1 slug/ft3", "kg/m3", 515.3788, 1e-7),
        ("-40 degF", "K", 233.15, 1e-12),
    ],
)
def test_published_factors(text, si_unit, value, tolerance):
    assert to_si(text, si_unit) == pytest.approx(value, rel=tolerance, abs=0)


@pytest.mark.parametrize(
    ("text", "si_unit", "value"),
    [
        ("33.4 m**2", "m**2", 33.4),
        ("33.4m2", "m2", 33.4),
        ("33.4 m^2", "m2", 33.4),
        ("33.4 m²", "m2", 33.4),
        ("+5 kt", "m/s", 5 * 1852 / 3600),
        ("-4 deg", "rad", math.radians(-4)),
        ("\N{MINUS SIGN}4 deg", "rad", math.radians(-4)),
        ("4000 lb / h", "kg/s", 4000 * 0.45359237 / 3600),
        ("4000 lb/hr", "kg/s", 4000 * 0.45359237 / 3600),
        ("25 Mft.lbf", "J", 25e6 * 0.3048 * 4.4482216152605),
        ("10 ft*lbf", "N.m", 10 * 0.3048 * 4.4482216152605),
        ("0.0024 1/deg", "1/rad", 0.0024 * 180 / math.pi),
        ("10 degC", "delta_degC", 10.0),
        ("15 degC", "K", 288.15),
        ("45 %", "", 0.45),
        ("22.5 %MAC", "", 0.225),
        ("1e3 kg", "kg", 1000.0),
        ("3 yard", "m", 2.7432),
    ],
)
def test_spellings(text, si_unit, value):
    assert to_si(text, si_unit) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "si_unit", "said"),
    [
        ("23,4 kN", "N", '"23,4 kN" is not a quantity. Write a number and a unit: 23.4 kN'),
        ("45 000 lb", "kg", "without a mark for thousands: 45000 lb"),
        ("45,000 lb", "kg", "without a mark for thousands: 45000 lb"),
        ("45000", "kg", '"45000" has no unit. Write a number and a unit: 45000 kg'),
        (
            "45000 lbf",
            "kg",
            '"45000 lbf" is not a mass: "lbf" measures force, not mass. Write one of: kg, lb',
        ),
        ("250 KT", "m/s", '"KT" is not a known unit. Did you mean "kt"?'),
        ("35 nm", "m", "nanometre. Write nmi"),
        ("5 %", "rad", '"5 %" is not an angle'),
        ("5 Hz", "rad/s", '"5 Hz" is not an angular rate'),
        ("3 kg", "", "a plain number is wanted"),
        ("much", "kg", '"much" is not a quantity'),
        ("1e999 kg", "kg", "too large"),
        ("5 kg*m/s", "kg", "Write one of: kg, lb"),
        ("9 (2**9**9**9)*kg", "kg", "is not a known unit"),
        ("", "kg", "is not a quantity"),
        ("inf kg", "kg", "is not a quantity"),
        ("nan", "", "is not a number"),
        ("\N{ARABIC-INDIC DIGIT FIVE} kg", "kg", "is not a quantity"),
    ],
)
def test_what_cannot_be_meant_is_refused_with_advice(text, si_unit, said):
    with pytest.raises(ValueError) as refusal:  # noqa: PT011 (the text is checked below)
        to_si(text, si_unit)

    assert said in str(refusal.value)


@given(st.text(max_size=30), st.sampled_from(sorted(COMMON_UNITS)))
def test_any_text_is_a_finite_number_or_refused(text, si_unit):
    try:
        value = to_si(text, si_unit)
    except ValueError:
        return

    assert math.isfinite(value)


def test_values_are_told_in_the_units_people_write():
    assert readable(24267.19, "kg") == "24267 kg (53500 lb)"
    assert readable(math.radians(11), "rad") == "11.00 deg"
    assert readable(288.15, "K") == "15.0 degC"
    assert readable(0.35, "") == "0.35"
