import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sortiewright.air import (
    STANDARD_GRAVITY,
    Aerodrome,
    ArrestingCable,
    Runway,
    UnknownRunway,
    braking_action,
    designator_mismatch,
    expected_rcr,
    hydroplaning_speed,
    rcr_deceleration,
    reciprocal_designator,
    runway_condition_from_remark,
)

# Group D; the file names the source of each check.
CHECKS = {
    one["id"]: one
    for one in json.loads(
        (Path(__file__).parents[1] / "data" / "external_checks" / "group_d.json").read_text(encoding="utf-8")
    )["checks"]
}
KNOT = 1852.0 / 3600.0
PSI = 6894.757293168
FOOT = 0.3048
RUNWAY = Runway("09", 92.0, 2_400.0, 30.0)


@pytest.mark.parametrize("name", ["X-D01", "X-D02", "X-D03", "X-D04"])
def test_hydroplaning_speed_of_rolling_and_standing_tyres(name):
    check = CHECKS[name]
    pressure = check["inputs"]["tyre_pressure"]["value"] * PSI

    for factor, key in (("rolling", "rotating_tyre_9"), ("spin_up", "non_rotating_spin_up_7.7")):
        expected, tolerance = check["expected"][key]["value"], check["tol"][key]["abs"]
        assert hydroplaning_speed(pressure, factor) / KNOT == pytest.approx(expected, abs=tolerance, rel=0.0)


def test_hydroplaning_speed_by_the_handbook():
    check = CHECKS["X-D05"]
    speed = hydroplaning_speed(check["inputs"]["tyre_pressure"]["value"] * PSI, "handbook")

    expected, tolerance = check["expected"]["onset"]["value"], check["tol"]["onset"]["abs"]
    assert speed / KNOT == pytest.approx(expected, abs=tolerance, rel=0.0)


def test_hydroplaning_speeds_of_several_tyres_at_once():
    pressures = np.array([100.0, 156.0]) * PSI

    assert hydroplaning_speed(pressures).tolist() == [hydroplaning_speed(one) for one in pressures]


def test_a_tyre_without_pressure_or_an_unknown_factor_is_refused():
    with pytest.raises(ValueError, match="tyre pressure must be positive, got 0 Pa"):
        hydroplaning_speed([0.0, 1e6])
    with pytest.raises(ValueError, match="'skidding' is not one of rolling, spin_up, handbook"):
        hydroplaning_speed(1e6, "skidding")


def test_braking_action_of_a_runway_condition_reading():
    check = CHECKS["X-D06"]
    found = [braking_action(rcr) for rcr in check["inputs"]["RCR"]]

    assert [one.word for one in found] == check["expected"]["braking_action"]
    percents = [_percent_in_words(*one.landing_roll_increase_percent) for one in found]
    assert percents == check["expected"]["landing_roll_increase_percent"]


def _percent_in_words(best, worst):
    return f"{best:.0f} or more" if worst is None else f"{worst:.0f} to {best:.0f}"


# U.S. Navy CNATRA P-304, figure 1-17: RCR 12 costs 46 percent more landing roll, RCR 6 costs 99.
def test_the_edges_of_poor_braking_action():
    assert braking_action(12).landing_roll_increase_percent[0] == 46.0
    assert braking_action(6).landing_roll_increase_percent[1] == 99.0


# The same figure, from memory: bands 02-05, 06-12, 13-18 and 19-25.
def test_the_edges_of_the_braking_action_bands():
    words = [braking_action(rcr).word for rcr in (2, 5, 6, 12, 13, 18, 19, 25)]

    assert words == ["NIL", "NIL", "POOR", "POOR", "FAIR (MEDIUM)", "FAIR (MEDIUM)", "GOOD", "GOOD"]


@given(st.floats(0.0, 26.0), st.floats(0.0, 26.0))
def test_a_lower_reading_never_brakes_better(one, other):
    low, high = sorted((one, other))

    assert (
        braking_action(low).landing_roll_increase_percent[0]
        >= braking_action(high).landing_roll_increase_percent[0]
    )


def test_runway_condition_remarks_in_words():
    check = CHECKS["X-D07"]
    decoded = [str(runway_condition_from_remark(one)) for one in check["inputs"]["reports"]]

    assert decoded == check["expected"]["decoded"]


def test_a_runway_condition_remark_among_others():
    found = runway_condition_from_remark("AO2 SLP123 LSR08P WET SANDED T00331033")

    assert (found.rcr, found.condition, found.is_patchy, found.rest, found.is_sanded) == (
        8.0,
        "icy",
        True,
        "wet",
        True,
    )
    assert found.text == "LSR08P WET SANDED"
    assert runway_condition_from_remark("AO2 SLP123 XPSR15 PSR155") is None


def test_a_reading_is_about_the_deceleration_in_feet_per_second_squared():
    check = CHECKS["X-D08"]
    readings = check["inputs"]["RCR"]

    for rcr, deceleration, mu in zip(
        readings, check["expected"]["deceleration_ft_s2"], check["expected"]["equivalent_mu"], strict=True
    ):
        tolerance = check["tol"]["deceleration_ft_s2"]["rel"]
        assert rcr_deceleration(rcr) / FOOT == pytest.approx(deceleration, rel=tolerance)
        tolerance = check["tol"]["equivalent_mu"]["rel"]
        assert rcr_deceleration(rcr) / STANDARD_GRAVITY == pytest.approx(mu, rel=tolerance)


def test_readings_taken_when_none_is_reported():
    for words in CHECKS["X-D08"]["expected"]["assumed_when_unreported"]:
        condition, rcr = words.split()
        assert expected_rcr(condition) == float(rcr)
        assert Runway("09", 92.0, 2_400.0, 30.0, condition=condition).effective_rcr == float(rcr)


def test_a_reported_reading_goes_before_the_condition():
    runway = Runway("09", 92.0, 2_400.0, 30.0, rcr=14.0, condition="wet")

    assert runway.effective_rcr == 14.0
    assert runway.is_rcr_reported


# ICAO Annex 14, declared distances, from memory: clearway counts in TODA only, stopway in ASDA only, and
# a displaced threshold shortens LDA only. An overrun is none of them.
def test_declared_distances_from_the_parts():
    runway = Runway(
        "09", 92.0, 2_400.0, 30.0, displaced_threshold=150.0, overrun=300.0, stopway=60.0, clearway=400.0
    )

    assert runway.takeoff_run_available == 2_400.0
    assert runway.takeoff_distance_available == 2_800.0
    assert runway.accelerate_stop_distance_available == 2_460.0
    assert runway.landing_distance_available == 2_250.0


def test_declared_distances_replace_the_parts():
    runway = Runway(
        "09",
        92.0,
        2_400.0,
        30.0,
        stopway=60.0,
        clearway=400.0,
        declared_takeoff_run=2_300.0,
        declared_takeoff_distance=2_500.0,
        declared_landing_distance=2_200.0,
    )

    assert runway.takeoff_run_available == 2_300.0
    assert runway.takeoff_distance_available == 2_500.0
    assert runway.accelerate_stop_distance_available == 2_360.0
    assert runway.landing_distance_available == 2_200.0


def test_the_far_end_of_a_rising_runway_lies_higher():
    assert Runway("09", 92.0, 2_000.0, 30.0, slope=0.01).departure_end_elevation == pytest.approx(50.0)


# ICAO Annex 14, runway designation, from memory: the other direction is 18 away and its side the other one.
@pytest.mark.parametrize(
    ("one", "other"), [("27L", "09R"), ("36", "18"), ("18", "36"), ("05C", "23C"), ("01R", "19L")]
)
def test_reciprocal_designator(one, other):
    assert reciprocal_designator(one) == other
    assert Runway(one, 0.0, 2_400.0, 30.0).reciprocal_designator == other


@given(st.integers(1, 36), st.sampled_from(["", "L", "C", "R"]))
def test_the_reciprocal_of_the_reciprocal_is_the_runway(number, side):
    assert reciprocal_designator(reciprocal_designator(f"{number:02d}{side}")) == f"{number:02d}{side}"


def test_a_designator_that_fits_the_magnetic_heading_gives_no_remark():
    assert designator_mismatch(RUNWAY, 2.0) is None
    assert designator_mismatch(Runway("36", 2.0, 2_400.0, 30.0), -10.0) is None


def test_a_designator_far_from_the_magnetic_heading_is_remarked():
    remark = designator_mismatch(Runway("09", 92.0, 2_400.0, 30.0), -20.0)

    assert remark == (
        "runway 09: magnetic heading 112 is 22 deg off its designator (true heading 092, variation 20.0 W)"
    )


def test_magnetic_heading_is_true_less_easterly_variation():
    assert RUNWAY.magnetic_heading_deg(11.5) == pytest.approx(80.5)
    assert Runway("36", 2.0, 2_400.0, 30.0).magnetic_heading_deg(5.0) == pytest.approx(357.0)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"designator": "9"}, "runway 9: the designator must be 01 to 36"),
        ({"designator": "37"}, "the designator must be"),
        ({"true_heading_deg": 400.0}, "runway 09: true heading 400 deg is outside 0 to 360"),
        ({"length": 0.0}, "length 0 m must be positive"),
        ({"overrun": -1.0}, "overrun -1 m must be zero or more"),
        ({"displaced_threshold": 2_400.0}, "leaves no runway to land on"),
        ({"slope": 1.0}, "Give rise over run: 1 % is 0.01"),
        ({"condition": "damp"}, "condition 'damp' is not one of dry, wet, icy"),
        ({"rcr": 30.0}, "runway condition reading 30 is outside 0 to 26"),
        ({"length": float("nan")}, "length nan m must be positive"),
    ],
)
def test_a_runway_that_cannot_be_is_refused(change, message):
    arguments = {"designator": "09", "true_heading_deg": 92.0, "length": 2_400.0, "elevation": 30.0} | change

    with pytest.raises(ValueError, match=message):
        Runway(**arguments)


def test_an_aerodrome_finds_its_runway_or_lists_those_it_has():
    cable = ArrestingCable(450.0, "approach end")
    field = Aerodrome(
        "XQAA", "Invented", 55.0, -3.0, 30.0, (RUNWAY, Runway("27", 272.0, 2_400.0, 31.0, cables=(cable,)))
    )

    assert field.runway("27").cables == (cable,)
    with pytest.raises(UnknownRunway, match=r"XQAA has no runway '18'. Its runways: 09, 27."):
        field.runway("18")
