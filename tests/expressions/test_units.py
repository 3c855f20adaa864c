"""Units as functions, and what kind of number arithmetic gives."""

import pint
import pytest

from sortiewright.expressions import (
    BUILT_IN,
    PLAIN,
    ExpressionError,
    NumberType,
    Vocabulary,
    parse_expression,
)
from sortiewright.expressions.dimensions import product_unit, sum_unit
from sortiewright.expressions.functions import UNIT_FUNCTIONS, UNITS, USUAL_UNITS
from sortiewright.pack import COMMON_UNITS, KINDS

REGISTRY = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
NOTHING = Vocabulary()
# What pint calls the units whose names here are not its own.
PINT = {
    "NM": "nmi",
    "Nm": "N*m",
    "N_m": "N*m",
    "kN_m": "kN*m",
    "ft_lbf": "ft*lbf",
    "lbf_ft": "ft*lbf",
    "in_lbf": "inch*lbf",
    "kgf_m": "kgf*m",
    "Mft_lbf": "ft*lbf",
    "pph": "lb/hour",
    "lbs": "lb",
    "kts": "kt",
    "m2": "m**2",
    "ft2": "ft**2",
    "in2": "inch**2",
    "cm2": "cm**2",
    "m3": "m**3",
    "ft3": "ft**3",
    "gal": "US_liquid_gallon",
    "klb": "lb",
    "klbf": "lbf",
    "t": "metric_ton",
    "minutes": "minute",
    "per_rad": "1/rad",
    "per_deg": "1/deg",
    "percent_mac": "percent",
    "g_per_cm3": "gram/cm**3",
    "kg_per_m3": "kg/m**3",
    "lb_per_ft3": "lb/ft**3",
    "slug_per_ft3": "slug/ft**3",
    "kg_per_L": "kg/liter",
    "lb_per_gal": "lb/US_liquid_gallon",
    "inHg": "Pa",
}
SI = {"m2": "m**2", "m3": "m**3", "N.m": "N*m", "kg/m3": "kg/m**3", "m/m": "", "delta_degC": "delta_degC"}


SIZES = {"Mft_lbf": 1e6, "klb": 1e3, "klbf": 1e3, "inHg": 13.5951 * 9.80665 * 25.4}


def by_pint(name, number, si_unit):
    unit = PINT.get(name) or name.replace("_per_", "/")
    size = REGISTRY.Quantity(number * SIZES.get(name, 1.0), unit)
    return size.to(SI.get(si_unit, si_unit) or "dimensionless").magnitude


# pint 0.25 (its definitions follow NIST SP 811) is the independent source of every unit; g as load factor is
# the trade's own and stands alone. The inch of mercury is the conventional one of NIST SP 811, B.8.
@pytest.mark.parametrize(
    ("name", "si_unit"), [(name, si) for si, units in UNITS.items() for name in units if name != "g"]
)
@pytest.mark.parametrize("number", [1.0, 37.5, -12.0])
def test_unit_is_what_pint_says(name, si_unit, number):
    text = f"{name}({number})"
    value = parse_expression(text, NOTHING, None).number({})

    assert parse_expression(text, NOTHING, None).type == NumberType(si_unit)
    assert value == pytest.approx(by_pint(name, number, si_unit), rel=1e-12)


def test_load_factor_is_a_plain_number():
    assert parse_expression("g(4)", NOTHING, PLAIN).number({}) == 4.0


def test_every_unit_of_packs_has_a_function():
    functions = {(si, unit) for si, units in UNITS.items() for unit in units.values()}
    # Spellings that are the same unit again, or that only a pack can mean.
    same = {"°", "°/s", "°C", "°F", "%", "", "g"}
    listed = {(si, unit) for si, units in COMMON_UNITS.items() for unit in units if unit not in same}
    listed -= {("delta_degC", unit) for unit in ("K", "degC", "degF")} | {("J", "ft.lbf")}

    assert listed - functions == set()


def test_unit_whose_name_is_an_identifier_keeps_it():
    renamed = {name: unit for units in UNITS.values() for name, unit in units.items() if name != unit}

    assert {unit for unit in renamed.values() if unit.isidentifier()} == {"in", "min"}


def test_every_unit_that_a_hint_proposes_is_of_its_kind():
    for si_unit, names in USUAL_UNITS.items():
        assert {UNIT_FUNCTIONS[name].result for name in names} == {NumberType(si_unit)}
    assert set(USUAL_UNITS) == set(KINDS) - {"m/m"}


def test_no_unit_hides_another_function():
    assert len(BUILT_IN) == sum(len(units) for units in UNITS.values()) + 4


# Each product and quotient of two kinds against pint's dimensions; angles are plain numbers to pint.
PLAIN_KINDS = [unit for unit in KINDS if unit not in ("K", "delta_degC", "rad", "rad/s", "1/rad", "m/m")]


def dimensions(unit):
    return REGISTRY.Quantity(1.0, SI.get(unit, unit) or "dimensionless").dimensionality


@pytest.mark.parametrize("sign", ["*", "/"])
@pytest.mark.parametrize("left", PLAIN_KINDS)
@pytest.mark.parametrize("right", PLAIN_KINDS)
def test_product_has_the_dimensions_that_pint_gives(sign, left, right):
    unit = product_unit(sign, left, right)
    theirs = dimensions(left) * dimensions(right) if sign == "*" else dimensions(left) / dimensions(right)

    if unit is None:
        assert all(dimensions(known) != theirs for known in PLAIN_KINDS)
    else:
        assert dimensions(unit) == theirs


@pytest.mark.parametrize(
    ("sign", "left", "right", "unit"),
    [
        ("*", "rad/s", "s", "rad"),
        ("/", "rad", "s", "rad/s"),
        ("/", "rad", "rad", ""),
        ("*", "1/rad", "rad", ""),
        ("/", "", "rad", "1/rad"),
        ("*", "rad", "m", None),
        ("*", "delta_degC", "", "delta_degC"),
        ("/", "delta_degC", "delta_degC", ""),
        ("*", "K", "", None),
        ("/", "K", "K", None),
    ],
)
def test_angles_and_temperatures_keep_their_kind(sign, left, right, unit):
    assert product_unit(sign, left, right) == unit


@pytest.mark.parametrize(
    ("sign", "left", "right", "unit"),
    [
        ("+", "m", "m", "m"),
        ("-", "m", "kg", None),
        ("-", "K", "K", "delta_degC"),
        ("+", "K", "K", None),
        ("+", "K", "delta_degC", "K"),
        ("+", "delta_degC", "K", "K"),
        ("-", "K", "delta_degC", "K"),
        ("-", "delta_degC", "K", None),
        ("+", "J", "N.m", None),
    ],
)
def test_only_like_is_added_to_like(sign, left, right, unit):
    assert sum_unit(sign, left, right) == unit


# ISO 2533: 15 degC is 288.15 K. The freezing point of water at 0 degC and 32 degF: NIST SP 811, B.9.
@pytest.mark.parametrize(
    ("text", "value"), [("degC(15)", 288.15), ("degF(32)", 273.15), ("degC(-273.15)", 0.0)]
)
def test_temperature_has_its_own_zero(text, value):
    assert parse_expression(text, NOTHING, NumberType("K")).number({}) == pytest.approx(value, abs=1e-9)


def test_constants_are_reckoned_when_they_are_read():
    expression = parse_expression("kt(100) + 2 * kt(10) - max(kt(3), kt(5))", NOTHING, None)

    assert expression.number({}) == pytest.approx(115 * 1852 / 3600)


def test_a_gradient_is_a_plain_number():
    gradient = Vocabulary({"gradient": NumberType("m/m")})

    assert parse_expression("gradient > ft_per_nmi(200)", gradient).truth({"gradient": 0.04}) is True
    assert NumberType("m/m") == PLAIN


@pytest.mark.parametrize("si_unit", [unit for unit in KINDS if unit not in ("", "K", "m/m")])
def test_bare_zero_goes_with_every_kind(si_unit):
    words = Vocabulary({"x": NumberType(si_unit)})

    assert parse_expression("0 < x", words).truth({"x": 1.0}) is True
    assert parse_expression("max(x, 0) == 0", words).truth({"x": -1.0}) is True
    with pytest.raises(ExpressionError, match="with a plain number"):
        parse_expression("x > 1", words)
