import json
from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sortiewright.air import (
    OutsideMagneticModel,
    magnetic_field,
    magnetic_variation,
    to_magnetic,
    to_true,
)

# Group J, World Magnetic Model 2025: NOAA NCEI test values and one documented example.
CHECKS = json.loads(
    (Path(__file__).parents[1] / "data" / "external_checks" / "group_j.json").read_text(encoding="utf-8")
)["checks"]


def checks_with(*inputs):
    chosen = [one for one in CHECKS if set(inputs) <= set(one["inputs"])]
    assert chosen
    return [pytest.param(one, id=one["id"]) for one in chosen]


def approx(check, name):
    return pytest.approx(check["expected"][name]["value"], abs=check["tol"][name]["abs"], rel=0.0)


@pytest.mark.parametrize("check", checks_with("year", "height"))
def test_official_values_of_the_model(check):
    inputs = check["inputs"]
    field = magnetic_field(
        inputs["lat"]["value"],
        inputs["lon"]["value"],
        inputs["year"],
        inputs["height"]["value"] * 1_000.0,
    )

    assert field.declination_deg == approx(check, "declination")
    assert field.dip_deg == approx(check, "inclination")
    assert field.horizontal_nt == approx(check, "H")
    if "F" in check["expected"]:
        assert field.total_nt == approx(check, "F")


@pytest.mark.parametrize("check", checks_with("decimal_year"))
def test_variation_on_a_date(check):
    inputs = check["inputs"]
    place = inputs["lat"]["value"], inputs["lon"]["value"]
    height = inputs["height"]["value"] * 1_000.0
    day = date.fromisoformat(inputs["date"])

    for moment in (day, datetime(day.year, day.month, day.day, 12, tzinfo=UTC), inputs["decimal_year"]):
        assert magnetic_variation(*place, moment, height) == approx(check, "declination")
        assert magnetic_field(*place, moment, height).dip_deg == approx(check, "dip")
    # The check prints the decimal year with four places: 0.00005 years of a drift under 1 degree a year.
    by_year = magnetic_variation(*place, inputs["decimal_year"], height)
    assert magnetic_variation(*place, day, height) == pytest.approx(by_year, abs=5e-5)


@pytest.mark.parametrize("check", checks_with("true_heading", "variation"))
def test_magnetic_is_true_less_easterly_variation(check):
    inputs = check["inputs"]
    magnetic = to_magnetic(inputs["true_heading"]["value"], inputs["variation"]["value"])

    assert magnetic == approx(check, "magnetic_heading")


@given(st.floats(0.0, 359.9), st.floats(-180.0, 180.0))
def test_true_comes_back_from_magnetic(true, variation):
    difference = to_true(to_magnetic(true, variation), variation) - true

    assert (difference + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=1e-9)


def test_a_batch_of_headings_equals_its_single_cases():
    batch = to_magnetic(np.array([0.0, 90.0, 359.0]), [10.0, -10.0, -2.0])

    assert batch.tolist() == [to_magnetic(0.0, 10.0), to_magnetic(90.0, -10.0), to_magnetic(359.0, -2.0)]
    assert batch.tolist() == [350.0, 100.0, 1.0]


def test_longitude_may_run_to_360():
    assert magnetic_variation(40.0, 250.0, 2026.0) == pytest.approx(magnetic_variation(40.0, -110.0, 2026.0))


# NOAA NCEI, WMM2025: the blackout zone is where the horizontal field is under 2,000 nT, as at the first
# of the official test values, and the caution zone where it is under 6,000 nT.
def test_a_place_where_a_compass_is_not_to_be_trusted_is_named():
    assert "unreliable" in magnetic_field(89.0, -121.0, 2025.0, 28_000.0).compass_caution
    assert "degraded" in magnetic_field(80.0, -60.0, 2026.0).compass_caution
    assert magnetic_field(43.0, 93.0, 2025.0, 65_000.0).compass_caution is None


@pytest.mark.parametrize("day", [date(2024, 12, 31), date(2030, 1, 1), 1999.5])
def test_a_date_outside_the_model_is_refused(day):
    with pytest.raises(OutsideMagneticModel, match=r"WMM2025, valid from 2025 to the end of 2029"):
        magnetic_variation(50.0, 0.0, day)


def test_the_last_day_of_the_model_is_inside():
    assert np.isfinite(magnetic_variation(50.0, 0.0, date(2029, 12, 31)))


def test_a_place_outside_the_model_is_refused():
    with pytest.raises(OutsideMagneticModel, match=r"altitude 1e\+06 m is outside"):
        magnetic_variation(50.0, 0.0, 2026.0, 1e6)
    with pytest.raises(ValueError, match="latitude 115 deg is outside -90 to 90"):
        magnetic_variation(115.0, 36.0, 2026.0)
