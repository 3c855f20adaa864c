"""What is true of a day beside its figures."""

import json
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from sortiewright.sortie.day_facts import facts_of_day, occupied_seats

CHECKS = Path(__file__).parents[1] / "data" / "external_checks"
RUNWAY = 'runway: "26"\n'
METAR = "  metar: METAR ZZCH 140920Z 28014G22KT 9999 SCT028 BKN045 16/09 Q1009"


@pytest.fixture
def facts(read):
    """Return a function that gives the facts of the sortie with some words replaced."""

    def of(*changes):
        loaded = read(*changes)
        return facts_of_day(loaded.sortie, loaded.pack.pack)

    return of


def test_what_hangs_on_the_stations(facts):
    found = facts()

    assert found.stores["belly"] == ("belly_tank",)
    assert found.stores["left_inboard"] == ("triple_rack", "plover_bomb")
    assert "right_cheek" not in found.stores


# The belly tank's capacity as its pack writes it: pounds are 0.45359237 kg exactly (NIST SP 811).
def test_fuel_in_outside_tanks(facts, read):
    capacity = read().pack.pack.stores["belly_tank"].fuel_capacity

    assert facts().external_fuel == pytest.approx(capacity)
    assert facts(("  fuel: {}", "  fuel: {external: {belly: 1000 lb}}")).external_fuel == pytest.approx(
        453.59237
    )


def test_a_seat_is_empty_where_its_mass_is_nothing(read):
    def occupied(*changes):
        loaded = read(*changes)
        return occupied_seats(loaded.sortie, loaded.pack.pack)

    assert occupied() == {"front": True, "rear": True}
    assert occupied(("rear: {name: P. Quill}", "rear: {mass: 0 lb}")) == {"front": True, "rear": False}


# A seat that nothing is said of holds the pack's standard mass (docs/sortie-format.md), and so somebody.
def test_a_seat_that_is_not_named_is_taken(read):
    loaded = read(("  rear: {name: P. Quill}\n", ""))

    assert occupied_seats(loaded.sortie, loaded.pack.pack)["rear"]


# U.S. Navy CNATRA P-304, figure 1-17 (group D of the external checks): readings 3, 9, 15 and 22 give braking
# NIL, POOR, FAIR and GOOD. That these are icy, wet, wet and dry: common practice, no source.
def test_the_state_of_the_runway_follows_its_reading(facts):
    checks = json.loads((CHECKS / "group_d.json").read_text(encoding="utf-8"))["checks"]
    check = next(one for one in checks if one["id"] == "X-D06")
    words = {"NIL": "icy", "POOR": "wet", "FAIR (MEDIUM)": "wet", "GOOD": "dry"}
    wanted = [words[one] for one in check["expected"]["braking_action"]]
    slope = "      slope: 0.3 %"
    readings = [f"{slope}\n      runway_condition_reading: {one}" for one in check["inputs"]["RCR"]]

    assert [facts((slope, one)).runway_condition for one in readings] == wanted


@pytest.mark.parametrize("condition", ["dry", "wet", "icy"])
def test_a_state_that_is_written_is_the_state(facts, condition):
    slope = "      slope: 0.3 %"

    assert facts((slope, f"{slope}\n      condition: {condition}")).runway_condition == condition


# Group J of the external checks: sunrise and end of civil twilight of published almanacs, good to a minute.
ALMANAC = [
    one
    for one in json.loads((CHECKS / "group_j.json").read_text(encoding="utf-8"))["checks"]
    if {"sunrise", "civil_dusk"} <= one.get("expected", {}).keys()
    and not any(str(value).startswith("none") for value in one["expected"].values())
]


@pytest.mark.parametrize("check", [pytest.param(one, id=one["id"]) for one in ALMANAC])
def test_night_is_before_sunrise_and_after_the_end_of_civil_twilight(facts, check):
    inputs, expected = check["inputs"], check["expected"]

    def at(moment, minutes):
        when = datetime.fromisoformat(moment) + timedelta(minutes=minutes)
        report = "  wind_from: 260 deg\n  wind_speed: 5 kt\n  temperature: 10 degC\n  qnh: 1013 hPa"
        return facts(
            ("latitude: 56.214", f"latitude: {inputs['lat']['value']}"),
            ("longitude: -5.083", f"longitude: {inputs['lon']['value']}\n  variation: 0 deg"),
            ("date: 2026-05-14", f"date: {when:%Y-%m-%d}"),
            ("time: 09:40Z", f"time: {when:%H:%M}Z"),
            (METAR, report),
        ).at_night

    assert at(expected["sunrise"], -4)
    assert not at(expected["sunrise"], 4)
    assert not at(expected["civil_dusk"], -4)
    assert at(expected["civil_dusk"], 4)


# At 80 N the sun stays up in June and stays more than 6 degrees down in December (Explanatory Supplement to
# the Astronomical Almanac, from memory).
@pytest.mark.parametrize(("day", "night"), [("2026-06-21", False), ("2026-12-21", True)])
def test_polar_day_and_night(facts, day, night):
    report = "  wind_from: 260 deg\n  wind_speed: 5 kt\n  temperature: -10 degC\n  qnh: 1013 hPa"
    place = ("latitude: 56.214", "latitude: 80\n  variation: 0 deg")

    assert facts(place, ("date: 2026-05-14", f"date: {day}"), (METAR, report)).at_night is night


def test_cables_count_only_where_they_are_rigged(facts):
    cable = "- {name: departure cable, distance: 7000 ft}"

    assert facts().cable_rigged
    assert not facts((cable, cable.replace("}", ", rigged: false}"))).cable_rigged


def test_the_chute_serves_unless_the_sortie_or_the_crosswind_forbids(facts):
    wind = ("28014G22KT", "35030KT")

    assert facts().chute_for_landing
    assert facts().chute_for_reject
    assert not facts((RUNWAY, f"{RUNWAY}landing: {{with_chute: false}}\n")).chute_for_landing
    assert not facts(wind).chute_for_landing
    assert not facts(wind).chute_for_reject


def test_a_landing_on_another_runway_of_the_field_is_not_elsewhere(facts):
    other = (
        "landing_place: {aerodrome: {icao: ZZAA, name: Corran Head, latitude: 57, longitude: -5,"
        ' elevation: 10 ft, runways: [{designator: "26", true_heading: 258 deg, length: 9000 ft}]}}\n'
    )

    assert not facts().lands_elsewhere
    assert not facts((RUNWAY, f'{RUNWAY}landing_place: {{runway: "08"}}\n')).lands_elsewhere
    assert facts((RUNWAY, f"{RUNWAY}{other}")).lands_elsewhere


# METAR 28014G22KT (WMO No. 306, FM 15): mean 14 kt, gusts 22 kt.
def test_the_gust_is_the_amount_over_the_mean(facts):
    assert facts().gust == pytest.approx(8 * 1852 / 3600)
    assert facts(("28014G22KT", "28014KT")).gust == 0.0


def test_without_a_wind_what_depends_on_it_is_not_known(facts):
    found = facts((METAR, "  temperature: 16 degC\n  qnh: 1009 hPa"))

    assert found.gust is None
    assert found.landing_crosswind is None
