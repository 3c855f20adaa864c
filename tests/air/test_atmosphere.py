import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from sortiewright.air import (
    HIGHEST_PRESSURE_ALTITUDE,
    LOWEST_PRESSURE_ALTITUDE,
    SEA_LEVEL_DENSITY,
    SEA_LEVEL_SPEED_OF_SOUND,
    Air,
    air_at_field,
    density_altitude,
    density_altitude_rule_of_thumb,
    field_pressure,
    geometric_altitude,
    geopotential_altitude,
    pressure_altitude,
    qfe,
    standard_air,
    standard_pressure,
    standard_temperature,
)

# Group A: ICAO Doc 7488/3 and U.S. Standard Atmosphere 1976; the file names the source of each check.
CHECKS = json.loads(
    (Path(__file__).parents[1] / "data" / "external_checks" / "group_a.json").read_text(encoding="utf-8")
)["checks"]
FOOT = 0.3048
INCH_OF_MERCURY = 3386.389
UNIT = {"ft": FOOT, "m": 1.0, "hPa": 100.0, "inHg": INCH_OF_MERCURY}


def checks_with(*inputs):
    chosen = [one for one in CHECKS if set(inputs) == set(one["inputs"])]
    assert chosen
    return [pytest.param(one, id=one["id"]) for one in chosen]


def approx(check, name, unit=1.0):
    """The expected value in SI, with its tolerance scaled alike."""
    tolerance = check["tol"][name]
    expected = check["expected"][name]["value"]
    if "rel" in tolerance:
        return pytest.approx(expected * unit, rel=tolerance["rel"], abs=0.0)
    return pytest.approx(expected * unit, abs=tolerance["abs"] * unit, rel=0.0)


def si(check, name):
    quantity = check["inputs"][name]
    return quantity["value"] * UNIT[quantity["units"]]


@pytest.mark.parametrize("check", checks_with("H", "H_ft"))
def test_standard_air_is_that_of_the_standard(check):
    air = standard_air(si(check, "H"))

    assert air.temperature == approx(check, "T")
    assert air.pressure == approx(check, "p")
    assert air.density == approx(check, "rho")
    assert air.speed_of_sound == approx(check, "a")


@pytest.mark.parametrize("check", checks_with("Z"))
def test_a_geometric_height_is_not_a_pressure_altitude(check):
    altitude = geopotential_altitude(check["inputs"]["Z"]["value"])
    air = standard_air(altitude)

    assert altitude == approx(check, "H")
    assert air.temperature == approx(check, "T")
    assert air.pressure == approx(check, "p")
    assert air.density == approx(check, "rho")


@pytest.mark.parametrize("check", checks_with("pressure_altitude", "OAT"))
def test_density_altitude(check):
    altitude, temperature = si(check, "pressure_altitude"), check["inputs"]["OAT"]["value"] + 273.15
    air = Air(standard_pressure(altitude), temperature)

    assert air.density_altitude == approx(check, "density_altitude", FOOT)
    assert air.density == approx(check, "density")
    assert air.sigma == approx(check, "sigma")
    assert density_altitude_rule_of_thumb(altitude, temperature) == approx(
        check, "rule_of_thumb_120ft_per_degC", FOOT
    )


@pytest.mark.parametrize("check", [one for one in checks_with("elevation", "QNH") if one.id != "X-A18"])
def test_pressure_altitude_of_a_field(check):
    air = air_at_field(si(check, "elevation"), si(check, "QNH"), 288.15)

    assert air.pressure_altitude == approx(check, "pressure_altitude", FOOT)
    assert air.pressure_altitude - si(check, "elevation") == approx(check, "correction", FOOT)


@pytest.mark.parametrize("check", [one for one in checks_with("elevation", "QNH") if one.id == "X-A18"])
def test_qfe_is_the_pressure_at_the_field(check):
    assert qfe(si(check, "elevation"), si(check, "QNH")) == approx(check, "QFE", 100.0)


# Conventional constants of ICAO Doc 7488/3, table of sea-level values.
def test_sea_level_values():
    assert pytest.approx(1.225, abs=5e-7) == SEA_LEVEL_DENSITY
    assert pytest.approx(340.294, abs=5e-4) == SEA_LEVEL_SPEED_OF_SOUND


# U.S. Standard Atmosphere 1976, table of layer boundaries: 868.02 Pa and 228.65 K at 32 km geopotential.
def test_the_top_of_the_third_layer():
    air = standard_air(32_000.0)

    assert air.pressure == pytest.approx(868.02, rel=1e-5)
    assert air.temperature == pytest.approx(228.65, abs=1e-9)


@pytest.mark.parametrize("boundary", [11_000.0, 20_000.0])
def test_layers_join_without_a_step(boundary):
    below, above = np.nextafter(boundary, 0.0), np.nextafter(boundary, 1e9)

    assert standard_pressure(below) == pytest.approx(standard_pressure(above), rel=1e-12)
    assert standard_temperature(below) == pytest.approx(standard_temperature(above), abs=1e-9)


# ICAO Doc 7488/3: the atmosphere is hydrostatic, dp/dh = -g rho.
@given(st.floats(-1_990, 31_990))
def test_pressure_falls_with_the_weight_of_the_air_above(altitude):
    step = 1.0
    slope = (standard_pressure(altitude + step) - standard_pressure(altitude - step)) / (2 * step)

    assert slope == pytest.approx(-9.80665 * standard_air(altitude).density, rel=1e-4)


ALTITUDES = st.floats(LOWEST_PRESSURE_ALTITUDE, HIGHEST_PRESSURE_ALTITUDE)


@given(ALTITUDES)
def test_pressure_altitude_undoes_standard_pressure(altitude):
    assert pressure_altitude(standard_pressure(altitude)) == pytest.approx(altitude, abs=1e-6)


@given(ALTITUDES)
def test_density_altitude_of_standard_air_is_its_pressure_altitude(altitude):
    assert density_altitude(standard_air(altitude).density) == pytest.approx(altitude, abs=1e-6)


@given(st.floats(-400, 60_000))
def test_geometric_altitude_undoes_geopotential_altitude(height):
    assert geometric_altitude(geopotential_altitude(height)) == pytest.approx(height, abs=1e-6)


@given(ALTITUDES, st.floats(-40, 40))
def test_isa_deviation_comes_back(altitude, deviation):
    air = standard_air(altitude, deviation)

    assert air.isa_deviation == pytest.approx(deviation, abs=1e-6)
    assert air.pressure_altitude == pytest.approx(altitude, abs=1e-6)


@given(ALTITUDES, st.floats(0.5, 40))
def test_warm_air_lies_at_a_higher_density_altitude(altitude, deviation):
    warm = standard_air(min(altitude, 25_000.0), deviation)

    assert warm.density_altitude > warm.pressure_altitude


@given(arrays.arrays(float, st.integers(0, 8), elements=ALTITUDES))
def test_a_batch_equals_its_single_cases(altitudes):
    air = standard_air(altitudes)

    for i, altitude in enumerate(altitudes):
        single = standard_air(float(altitude))
        assert air.pressure[i] == pytest.approx(single.pressure, rel=1e-14)
        assert air.temperature[i] == pytest.approx(single.temperature, rel=1e-14)
    assert np.shape(pressure_altitude(air.pressure)) == np.shape(altitudes)
    assert np.shape(density_altitude(air.density)) == np.shape(altitudes)


def test_air_broadcasts_over_pressure_and_temperature():
    air = standard_air(np.array([0.0, 12_000.0, 25_000.0])[:, None], np.array([0.0, 15.0]))

    assert air.density.shape == (3, 2)
    assert air.density_altitude.shape == (3, 2)


@pytest.mark.parametrize("function", [standard_air, standard_pressure, standard_temperature])
@pytest.mark.parametrize("altitude", [-2_001.0, 32_001.0, [0.0, 40_000.0], np.inf])
def test_an_altitude_outside_the_standard_is_refused(function, altitude):
    with pytest.raises(ValueError, match=r"pressure altitude .* m is outside -2,000 to 32,000 m"):
        function(altitude)


def test_a_refusal_names_the_value():
    with pytest.raises(ValueError, match=r"pressure altitude 40,000 m is outside"):
        standard_pressure([1_000.0, 40_000.0, 50_000.0])


def test_a_value_that_is_not_a_number_stays_one_and_hides_no_other():
    assert np.isnan(standard_pressure([np.nan, 0.0])).tolist() == [True, False]
    with pytest.raises(ValueError, match="outside"):
        standard_pressure([np.nan, 1e6])


@pytest.mark.parametrize("qnh", [1013.25, 29.92, 101_325_000.0])
def test_an_altimeter_setting_in_another_unit_is_refused_with_a_hint(qnh):
    with pytest.raises(ValueError, match=r"QNH .* is outside .* Give Pa: 1013.25 hPa is 101325"):
        field_pressure(0.0, qnh)


def test_a_field_temperature_in_celsius_is_refused_with_a_hint():
    with pytest.raises(ValueError, match=r"temperature 15 K is outside .* Give kelvin"):
        air_at_field(0.0, 101_325.0, 15.0)


@pytest.mark.parametrize("density", [0.0, -1.0, 3.0])
def test_a_density_outside_the_standard_is_refused(density):
    with pytest.raises(ValueError, match=r"air density .* kg/m3 is outside"):
        density_altitude(density)
