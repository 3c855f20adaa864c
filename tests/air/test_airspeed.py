import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sortiewright.air import (
    SEA_LEVEL_SPEED_OF_SOUND,
    cas_from_mach,
    cas_from_tas,
    eas_from_tas,
    impact_pressure,
    mach_from_cas,
    mach_from_tas,
    standard_air,
    tas_from_cas,
    tas_from_eas,
    tas_from_mach,
    total_pressure,
    total_temperature,
)

# Group B: pitot relations of NACA Reports 837 and 1135; the file names the source of each check.
CHECKS = json.loads(
    (Path(__file__).parents[1] / "data" / "external_checks" / "group_b.json").read_text(encoding="utf-8")
)["checks"]
FOOT = 0.3048
KNOT = 1852.0 / 3600.0


def checks_with(*inputs):
    chosen = [one for one in CHECKS if set(inputs) == set(one["inputs"])]
    assert chosen
    return [pytest.param(one, id=one["id"]) for one in chosen]


def approx(check, name, unit=1.0):
    expected = check["expected"][name]["value"]
    return pytest.approx(expected * unit, abs=check["tol"][name]["abs"] * unit, rel=0.0)


@pytest.mark.parametrize("check", checks_with("pressure_altitude", "Mach"))
def test_airspeeds_at_a_mach_number(check):
    air = standard_air(check["inputs"]["pressure_altitude"]["value"] * FOOT)
    mach = check["inputs"]["Mach"]["value"]
    tas = tas_from_mach(mach, air.temperature)

    assert cas_from_mach(mach, air.pressure) == approx(check, "CAS", KNOT)
    assert eas_from_tas(tas, air.density) == approx(check, "EAS", KNOT)
    assert tas == approx(check, "TAS", KNOT)


@pytest.mark.parametrize("check", checks_with("CAS", "pressure_altitude", "ISA_deviation"))
def test_mach_and_true_airspeed_at_a_calibrated_airspeed(check):
    inputs = check["inputs"]
    air = standard_air(inputs["pressure_altitude"]["value"] * FOOT, inputs["ISA_deviation"]["value"])
    cas = inputs["CAS"]["value"] * KNOT
    mach = mach_from_cas(cas, air.pressure)

    assert mach == approx(check, "Mach")
    assert tas_from_cas(cas, air) == approx(check, "TAS", KNOT)
    assert total_temperature(mach, air.temperature) - 273.15 == approx(check, "total_temperature")


@pytest.mark.parametrize("check", checks_with("Mach"))
def test_rayleigh_pitot_ratio(check):
    ratios = 1.0 + impact_pressure(check["inputs"]["Mach"], 1.0)

    expected = check["expected"]["pt2_over_p1"]
    assert ratios == pytest.approx(np.array(expected), rel=check["tol"]["pt2_over_p1"]["rel"])


@pytest.mark.parametrize("check", checks_with("pressure_altitude"))
def test_calibrated_airspeed_equal_to_the_speed_of_sound_is_mach_1(check):
    air = standard_air(0.0)
    tolerance = check["tol"]["Mach_at_that_CAS"]["rel"]

    assert air.speed_of_sound == approx(check, "a0", KNOT)
    assert mach_from_cas(SEA_LEVEL_SPEED_OF_SOUND, air.pressure) == pytest.approx(1.0, rel=tolerance)


# NACA Report 1135, table II: at Mach 2, static over stagnation pressure ahead of a shock is 0.1278.
def test_total_pressure_is_that_ahead_of_the_shock():
    assert 1.0 / total_pressure(2.0, 1.0) == pytest.approx(0.1278, abs=5e-5)


# NASA RP-1046: a probe that recovers 0.98 of the ram rise at Mach 1 reads 1.196 times static temperature.
def test_total_temperature_with_recovery_below_one():
    assert total_temperature(1.0, 250.0, recovery=0.98) == pytest.approx(250.0 * 1.196, rel=1e-12)


MACHS = st.floats(-3.0, 3.0)
ALTITUDES = st.floats(-2_000.0, 25_000.0)


@given(MACHS, ALTITUDES)
def test_mach_comes_back_from_calibrated_airspeed(mach, altitude):
    pressure = standard_air(altitude).pressure

    assert mach_from_cas(cas_from_mach(mach, pressure), pressure) == pytest.approx(mach, rel=1e-10, abs=1e-12)


@given(st.floats(0.0, 900.0), ALTITUDES, st.floats(-30.0, 30.0))
def test_true_airspeed_comes_back_from_calibrated_and_equivalent(tas, altitude, deviation):
    air = standard_air(altitude, deviation)

    assert tas_from_cas(cas_from_tas(tas, air), air) == pytest.approx(tas, rel=1e-10, abs=1e-9)
    assert tas_from_eas(eas_from_tas(tas, air.density), air.density) == pytest.approx(tas, rel=1e-12)
    assert tas_from_mach(mach_from_tas(tas, air.temperature), air.temperature) == pytest.approx(
        tas, rel=1e-12
    )


@given(st.floats(0.0, 3.0), st.floats(1e-3, 0.5), ALTITUDES)
def test_calibrated_airspeed_grows_with_mach(mach, more, altitude):
    pressure = standard_air(altitude).pressure

    assert cas_from_mach(mach + more, pressure) > cas_from_mach(mach, pressure)


# NACA Report 837: the compressibility correction makes calibrated airspeed exceed equivalent airspeed
# above sea level; at sea level in standard air they are one.
@given(st.floats(0.05, 2.5), st.floats(100.0, 20_000.0))
def test_calibrated_is_above_equivalent_airspeed_at_height(mach, altitude):
    air = standard_air(altitude)
    tas = tas_from_mach(mach, air.temperature)

    assert cas_from_tas(tas, air) > eas_from_tas(tas, air.density)


@given(st.floats(0.0, 3.0))
def test_all_airspeeds_are_one_at_standard_sea_level(mach):
    air = standard_air(0.0)
    tas = tas_from_mach(mach, air.temperature)

    assert cas_from_tas(tas, air) == pytest.approx(tas, rel=1e-10, abs=1e-9)
    assert eas_from_tas(tas, air.density) == pytest.approx(tas, rel=1e-12, abs=1e-12)


# Incompressible limit, Bernoulli: impact pressure is half density times speed squared.
def test_impact_pressure_at_taxi_speed_is_dynamic_pressure():
    air = standard_air(0.0)
    mach = mach_from_tas(1.0, air.temperature)

    assert impact_pressure(mach, air.pressure) == pytest.approx(0.5 * air.density, rel=3e-6)


def test_a_batch_across_mach_1_equals_its_single_cases():
    machs = np.array([0.0, 0.3, 0.999999, 1.0, 1.000001, 1.7, 2.9])
    pressures = standard_air(np.array([[0.0], [9_000.0], [15_000.0]])).pressure
    batch = mach_from_cas(cas_from_mach(machs, pressures), pressures)

    assert batch.shape == (3, 7)
    for i, pressure in enumerate(pressures[:, 0]):
        for j, mach in enumerate(machs):
            assert cas_from_mach(machs, pressures)[i, j] == pytest.approx(
                cas_from_mach(mach, pressure), rel=1e-14
            )
            assert batch[i, j] == pytest.approx(mach, rel=1e-10, abs=1e-12)


@given(MACHS, ALTITUDES)
def test_air_from_behind_keeps_its_sign(mach, altitude):
    pressure = standard_air(altitude).pressure

    assert cas_from_mach(-mach, pressure) == -cas_from_mach(mach, pressure)
