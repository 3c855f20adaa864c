"""A plan with a route: what joins it, what stays as it was, and what speaks against it."""

import functools
import json
import math

import numpy as np
import pytest
from route_sortie import NO_WIND, ROUTE_SORTIE, load_route_sortie

from sortiewright.pack import OutsideTable
from sortiewright.performance import flight_setup, flight_summary, fuel_flow_per_engine, make_flight_cases
from sortiewright.sortie import MIDWAY, clock, level_text, plan, plan_to_json, worst_step
from sortiewright.sortie.load import read_sortie

POUND, FOOT = 0.45359237, 0.3048
LEG = "{to: BRENT}"


@functools.cache
def planned(*changes):
    loaded = load_route_sortie(*changes)
    return plan(loaded.sortie, loaded.pack)


def without_route(tmp_path):
    text = ROUTE_SORTIE[: ROUTE_SORTIE.index("route:")]
    loaded = read_sortie(text, "today.yaml", tmp_path)
    return plan(loaded.sortie, loaded.pack)


def texts(made, severity="no-go"):
    return [reason.text for reason in made.reasons if reason.severity == severity]


def test_a_route_moves_no_number_of_the_takeoff(tmp_path):
    bare, routed = without_route(tmp_path), planned()

    for name in ("weather", "field", "run_up", "takeoff", "engine_failure"):
        assert routed.section(name) == bare.section(name)
    assert routed.section("loading").figure("takeoff_mass") == bare.section("loading").figure("takeoff_mass")


def test_a_sortie_without_a_route_has_no_section_of_it(tmp_path):
    made = without_route(tmp_path)

    assert {"route", "fuel", "flight"}.isdisjoint(section.name for section in made.sections)
    assert (made.route, made.fuel, made.flight) == (None, None, None)
    assert {"route", "fuel"}.isdisjoint(plan_to_json(made))


# Fuel is neither made nor lost: what was aboard, less what each row burns.
def test_the_landing_fuel_is_what_the_route_leaves():
    made = planned()
    ramp = made.figure("loading", "fuel_at_ramp").value
    burnt = sum(row.fuel for row in made.route.rows)

    assert made.figure("route", "route_fuel").value == pytest.approx(burnt)
    assert made.figure("loading", "landing_fuel").value == pytest.approx(ramp - burnt, abs=0.1 * POUND)
    assert made.figure("fuel", "route_landing_fuel").value == pytest.approx(ramp - burnt, abs=0.1 * POUND)
    assert not any("a fifth of takeoff fuel" in remark for remark in made.remarks)


def test_a_landing_fuel_that_is_not_the_routes_is_said():
    given = ("  taxi_time: 14 min", "  taxi_time: 14 min\n  landing_fuel: 3000 lb")
    made = planned(given)

    assert made.figure("loading", "landing_fuel").value == pytest.approx(3000 * POUND)
    assert any("load.landing_fuel says 3\u202f000\u202flb" in remark for remark in made.remarks)


def test_stores_released_on_the_way_do_not_land():
    release = (LEG, "{to: BRENT, then: [{release: [left_inboard, right_inboard]}]}")
    kept, gone = planned(), planned(release)
    # 565 lb of each bomb, of which 55 lb stay on the rack (the pack's own words).
    lighter = 2 * (565 - 55) * POUND

    change = kept.figure("loading", "landing_mass").value - gone.figure("loading", "landing_mass").value
    fuel = kept.figure("loading", "landing_fuel").value - gone.figure("loading", "landing_fuel").value
    assert change - fuel == pytest.approx(lighter, rel=1e-6)


def test_the_route_in_figures_is_the_sum_of_its_rows():
    made = planned()
    rows = [row for row in made.route.rows if row.leg >= 0 or row.part in ("takeoff", "approach")]

    assert made.figure("route", "route_length").value == pytest.approx(sum(row.distance for row in rows))
    assert made.figure("route", "flight_time").value == pytest.approx(sum(row.time for row in rows))
    assert made.figure("route", "time_at_fix").text == f"{clock(rows[-2].at)}Z at {rows[-2].end.name}"
    top = next(row for row in rows if row.part == "climb")
    assert made.figure("route", "climb_time").value == pytest.approx(top.elapsed, abs=0.1)


def test_the_fuel_in_figures_is_the_plans():
    made = planned()
    worst = worst_step(made.fuel)

    assert made.figure("fuel", "bingo").value == made.fuel.bingo
    assert made.figure("fuel", "joker").value >= made.figure("fuel", "bingo").value
    assert made.figure("fuel", "ladder_margin").value == pytest.approx(worst.planned - worst.least)
    assert made.figure("fuel", "minimum_fuel").value > made.figure("fuel", "emergency_fuel").value


# Joker by hand from the pack's own words: so long at military with both engines, and fuel to regroup.
def test_joker_is_bingo_and_one_more_exercise():
    made, loaded = planned(), load_route_sortie()
    pack = loaded.pack.pack
    far = next(row for row in made.route.rows if row.end == made.fuel.farthest)
    rows = [row for row in made.route.rows if row.end == made.fuel.farthest and row.leg >= 0]
    flows = [
        2 * float(fuel_flow_per_engine(pack.engine.settings["military"], row.mach, row.end_altitude, 0.0))
        for row in (far, *rows)
    ]

    book = pack.technique.fuel
    extra = (made.fuel.joker - made.fuel.bingo - book.regroup) / book.joker_time
    assert min(flows) * 0.95 <= extra <= max(flows) * 1.05


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        # Mach 0.8 at FL200 is about 490 kt: 65 nmi in two minutes are not to be had.
        (((LEG, '{to: BRENT, arrive: "09:52:00Z"}'),), "late"),
        (((LEG, "{to: BRENT, mach: 1.9}"),), "level flight there is"),
        (((LEG, "{to: BRENT, flight_level: 420}"), NO_WIND), "cannot climb to FL420"),
        (((LEG, "{to: BRENT, flight_level: 340}"),), "winds are missing for FL340"),
        (
            (("    - {to: DORNA}", "    - {to: DORNA, then: [{orbit: {time: 3 h}}]}"),),
            "Fuel runs out on leg 4",
        ),
    ],
    ids=["too early", "too fast", "too high", "no winds", "dry"],
)
def test_what_cannot_be_flown_is_a_no_go_and_the_rest_stands(changes, words):
    made = planned(*changes)

    assert made.verdict == "no-go"
    assert any(words in text for text in texts(made)), texts(made)
    assert made.figure("takeoff", "ground_run").value > 0.0
    assert made.figure("landing", "approach_cas").value > 0.0


def test_a_day_without_an_altimeter_setting_has_no_route_and_says_why():
    made = planned(("  metar: METAR ZZCH 140920Z 28014KT 9999 SCT028 15/09 Q1009", "  temperature: 15 degC"))

    assert made.route is None
    assert any(text.startswith("Route not computed: no altimeter setting") for text in texts(made))
    assert made.figure("route", "route_length").problem


def test_too_little_fuel_at_the_fix_is_held_against_the_flight():
    made = planned(("load:", "load:\n  fuel: {total: 6500 lb}"), ("belly: belly_tank", "belly: []"))

    assert made.verdict == "no-go"
    assert any(
        "minimum fuel" in text or "runs out" in text or "less than bingo" in text for text in texts(made)
    )


def test_a_way_home_with_something_broken_that_lacks_fuel_is_a_caution():
    made = planned(("load:", "load:\n  fuel: {total: 5000 lb}"))
    broken = [reason for reason in made.reasons if reason.figure.startswith("bingo_")]

    assert broken
    for reason in broken:
        assert reason.severity == "caution"
        assert reason.value < reason.limit


def test_it_is_json_with_every_row_and_step_and_a_unit_for_each_number():
    made = planned()
    data = json.loads(json.dumps(plan_to_json(made), allow_nan=False))

    assert [row["title"] for row in data["route"]["rows"]] == [row.title for row in made.route.rows]
    assert [step["planned"]["unit"] for step in data["fuel"]["ladder"]] == ["lb"] * len(made.fuel.ladder)
    assert data["fuel"]["bingo"]["value"] == pytest.approx(made.fuel.bingo / POUND)
    assert data["fuel"]["returns"][0]["profile"] == "both_engines"
    assert list(bare_numbers({"route": data["route"], "fuel": data["fuel"]})) == []


def bare_numbers(data, path=""):
    if isinstance(data, dict):
        if set(data) != {"value", "unit"}:
            for key, value in data.items():
                yield from bare_numbers(value, f"{path}.{key}")
    elif isinstance(data, list):
        for index, value in enumerate(data):
            yield from bare_numbers(value, f"{path}[{index}]")
    elif isinstance(data, int | float) and not isinstance(data, bool):
        yield path


# A flight level is hundreds of feet on 1013.25 hPa (ICAO Annex 2, definitions; from memory). On QNH 1009 the
# altimeter's zero lies some 117 ft higher in pressure altitude (domain formula of ICAO Doc 7488).
@pytest.mark.parametrize(
    ("feet", "sea_level", "said"),
    [
        (18_000, 117, "FL180"),
        (2_117, 117, "2\u202f000\u202fft"),
        (18_000, 0, "FL180"),
        (2_500, 0, "2\u202f500\u202fft"),
    ],
)
def test_a_level_is_said_as_it_is_set(feet, sea_level, said):
    assert level_text(feet * FOOT, sea_level * FOOT) == said


def test_flight_numbers_are_those_of_the_weight_on_the_way():
    made = planned()
    flight = made.flight

    assert flight.takeoff.balance.mass > flight.midway.balance.mass > made.route.rows[-1].balance.mass
    after, midway = (made.figure("flight", f"service_ceiling_{when}").value for when in ("takeoff", "midway"))
    assert after < midway
    assert made.figure("flight", "one_engine_ceiling").value < midway
    assert made.figure("flight", "combat_ceiling_midway").value < midway
    assert math.isfinite(made.figure("flight", "corner_speed").value)


# All engines and one dead are computed in one batch: neither may move the other.
def test_what_one_engine_can_do_is_computed_as_if_alone():
    made, pack = planned(), load_route_sortie().pack.pack
    row = made.flight.midway
    cases = make_flight_cases(
        row.balance.mass, drag_index=row.balance.drag_index, isa_deviation=row.isa_deviation
    )
    for failed, found, at in ((0, made.flight.summary, MIDWAY), (1, made.flight.one_engine, 0)):
        alone = flight_summary(pack, flight_setup(pack, failed_engines=failed), cases, made.flight.power)
        for name in ("best_rate", "best_mach", "service_ceiling", "combat_ceiling"):
            assert getattr(found, name)[at] == pytest.approx(getattr(alone, name)[0], rel=1e-9)
        for aim in ("range", "endurance"):
            for name in ("pressure_altitude", "mach", "fuel_flow"):
                best, other = (getattr(getattr(one, aim), name) for one in (found, alone))
                assert best[at] == pytest.approx(other[0], rel=1e-9)


def test_a_table_that_ends_for_one_engine_leaves_the_numbers_of_all(monkeypatch):
    def ends_for_one(pack, setup, cases, power):
        if np.any(setup.failed_engines):
            raise OutsideTable("engine.settings.military.thrust", "mach", 2.0, 0.0, 1.8, "")
        return flight_summary(pack, setup, cases, power)

    monkeypatch.setattr("sortiewright.sortie.numbers_flight.flight_summary", ends_for_one)
    loaded = load_route_sortie()
    flight = plan(loaded.sortie, loaded.pack).flight

    assert flight.one_engine is None
    assert "mach: 2 is outside" in flight.problems["one_engine"]
    assert flight.summary.service_ceiling[MIDWAY] == planned().flight.summary.service_ceiling[MIDWAY]


# The climb by the pack's schedule against the same climb by ``fly_schedule``, which shares no quadrature.
def test_the_climb_of_the_card_is_that_of_the_schedule():
    from sortiewright.performance import fly_schedule, two_speed_climb

    made, pack = planned(), load_route_sortie().pack.pack
    climb, technique, first = made.flight.climb, pack.technique.climb, made.flight.takeoff
    cases = make_flight_cases(
        first.balance.mass, drag_index=first.balance.drag_index, isa_deviation=first.isa_deviation
    )
    other = fly_schedule(
        pack,
        flight_setup(pack),
        cases,
        two_speed_climb(technique.power, cas=technique.cas, mach=technique.mach),
        altitude=climb.altitude[0],
        mach=first.mach,
        to_altitude=climb.altitude[-1],
    )

    assert climb.time[-1] == pytest.approx(other.time[0, -1], rel=5e-3)
    assert climb.fuel[-1] == pytest.approx(other.fuel[0, -1], rel=5e-3)
    assert climb.distance[-1] == pytest.approx(other.air_distance[0, -1], rel=5e-3)
