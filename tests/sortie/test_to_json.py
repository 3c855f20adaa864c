"""The plan as data: keys that stay, a unit with every number, and JSON that every reader takes."""

import json
import math

import pint
import pytest

from sortiewright.sortie import Kind, plan_to_json

METAR = "metar: METAR ZZCH 140920Z 28014G22KT 9999 SCT028 BKN045 16/09 Q1009"


@pytest.fixture(scope="module")
def registry():
    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


@pytest.fixture(scope="module")
def odd_plans(planned):
    """Return plans with infinite, missing and negative values in them."""
    short = ("length: 9000 ft\n      slope", "length: 600 ft\n      slope")
    return {
        "usual": planned(),
        "no air": planned((METAR, "{}")),
        "short": planned(short),
        "no nose": planned(pack={"aero.pitch_control.moment_per_angle": 0.03}),
        "no brakes": planned(pack={"wheels.rolling_friction": 0.0, "wheels.maximum_brake_force": 0.0}),
    }


def quantities(data, path=""):
    """Yield every number with its unit, and where it stands."""
    if isinstance(data, dict):
        if set(data) == {"value", "unit"}:
            yield path, data
            return
        for key, value in data.items():
            yield from quantities(value, f"{path}.{key}" if path else key)
    elif isinstance(data, list):
        for index, value in enumerate(data):
            yield from quantities(value, f"{path}[{index}]")


def bare_numbers(data, path=""):
    """Yield every number that stands without a unit."""
    if isinstance(data, dict):
        if set(data) != {"value", "unit"}:
            for key, value in data.items():
                yield from bare_numbers(value, f"{path}.{key}" if path else key)
    elif isinstance(data, list):
        for index, value in enumerate(data):
            yield from bare_numbers(value, f"{path}[{index}]")
    elif isinstance(data, int | float) and not isinstance(data, bool):
        yield path


# A reader's contract: a key may be added, none may go or change its meaning without a word in the changelog.
KEYS = {
    "": "aerodrome balance callsign caution crew landings load pack reasons remarks runway sections time "
    "title verdict",
    "pack": "digest name version",
    "crew[0]": "name seat",
    "load[0]": "arm_m group mass side_arm_m title",
    "balance[0]": "aft_limit centre_of_gravity forward_limit inside mass side_moment title",
    "runway": "designator length marks start_offset",
    "runway.marks[0]": "from_start name speed",
    "landings[0]": "air_distance approach chute ground_roll margin name problem runway_condition_reading "
    "title total "
    "touchdown",
    "sections": "engine_failure field landing loading run_up takeoff weather",
    "sections.takeoff.ground_run": "high low method title value",
    "sections.field.runway_condition_reading": "method text title value",
}


@pytest.mark.parametrize(("path", "keys"), KEYS.items(), ids=[path or "top" for path in KEYS])
def test_the_keys_stay(path, keys, planned):
    data = plan_to_json(planned())
    for part in path.replace("[0]", ".0").split(".") if path else ():
        data = data[int(part)] if part.isdigit() else data[part]

    assert sorted(data) == keys.split()


def test_a_reason_has_its_figure_value_and_limit(planned):
    data = plan_to_json(planned(("28014G22KT", "34840KT")))
    reason = next(one for one in data["reasons"] if one["severity"] == "no-go")

    assert sorted(reason) == ["figure", "limit", "severity", "text", "value"]
    assert reason["figure"] == "crosswind"
    assert reason["value"] == {"value": pytest.approx(40), "unit": "kt"}
    assert data["verdict"] == "no-go"


@pytest.mark.parametrize("system", ["trade", "si"])
def test_it_is_json_that_every_reader_takes(odd_plans, system):
    for name, made in odd_plans.items():
        text = json.dumps(plan_to_json(made, system), allow_nan=False)
        assert json.loads(text)["verdict"], name


@pytest.mark.parametrize("system", ["trade", "si"])
def test_no_number_stands_without_a_unit(odd_plans, system):
    # An arm names its unit in its key; a runway condition reading is a pure number.
    allowed = ("arm_m", "runway_condition_reading")
    for name, made in odd_plans.items():
        bare = [path for path in bare_numbers(plan_to_json(made, system)) if not path.endswith(allowed)]
        assert bare == [], name


# pint 0.25, default_en.txt, is the independent statement of every unit.
def test_trade_and_si_are_the_same_quantity(odd_plans, registry):
    seen = set()
    for made in odd_plans.values():
        trade, si = (dict(quantities(plan_to_json(made, system))) for system in ("trade", "si"))
        assert trade.keys() == si.keys()
        for path, one in trade.items():
            other = si[path]
            here = registry.Quantity(one["value"], one["unit"] or "dimensionless")
            there = registry.Quantity(other["value"], other["unit"] or "dimensionless")
            assert here.to(there.units).magnitude == pytest.approx(there.magnitude, rel=1e-6, abs=1e-9), path
            seen.add(one["unit"])
    assert {
        "ft",
        "kt",
        "lb",
        "degC",
        "hPa",
        "percent",
        "ft/nmi",
        "Mft*lbf",
        "lb/h",
        "psi",
        "delta_degC",
    } <= seen


# 16 degC at 328 ft is 1.6 degC warmer than the standard 14.35 (ICAO Doc 7488: 15 - 0.0019812 h[ft]).
@pytest.mark.parametrize("system", ["trade", "si"])
def test_a_difference_of_temperatures_is_no_temperature(planned, system):
    deviation = plan_to_json(planned(), system)["sections"]["weather"]["isa_deviation"]["value"]

    assert deviation == {"value": pytest.approx(16 - (15 - 0.0019812 * 328), abs=0.05), "unit": "delta_degC"}


def test_every_value_is_that_of_its_figure(planned, registry):
    made = planned()
    data = plan_to_json(made, "si")
    for section in made.sections:
        for figure in section.figures:
            value = data["sections"][section.name][figure.name]["value"]
            if figure.value is None or figure.kind in (Kind.TEMPERATURE, Kind.PERCENT_MAC, Kind.FRACTION):
                continue
            base = registry.Quantity(value["value"], value["unit"] or "dimensionless").to_base_units()
            expected = math.radians(figure.value) if figure.kind == Kind.COURSE else figure.value
            assert base.magnitude == pytest.approx(expected, rel=1e-6, abs=1e-9), figure.name


def test_never_and_none_are_words(odd_plans):
    never = plan_to_json(odd_plans["no nose"])["sections"]["takeoff"]
    assert never["ground_run"]["value"] == "never"
    assert never["lift_off_speed"]["value"] == "never"
    assert never["time_to_lift_off"]["value"] is None
    assert never["time_to_lift_off"]["problem"] == "does not lift off"

    missing = plan_to_json(odd_plans["no air"])
    assert missing["sections"]["takeoff"]["ground_run"]["value"] is None
    assert "no temperature" in missing["sections"]["takeoff"]["ground_run"]["problem"]
    assert missing["landings"][0]["total"] is None
    assert missing["landings"][0]["problem"]


def test_words_are_the_value_where_there_is_no_number(planned):
    data = plan_to_json(planned())["sections"]

    assert data["takeoff"]["power"] == {"title": "Power", "value": "Maximum"}
    assert data["weather"]["wind"]["value"] == "280° at 14, gusts 22 kt"


def test_what_is_empty_is_left_out(planned):
    figure = plan_to_json(planned())["sections"]["field"]["runway_length"]

    assert sorted(figure) == ["title", "value"]
