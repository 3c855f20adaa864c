"""The fuel plan of a route: ladder, bingo and what it means, reserves, alternate, faults."""

import dataclasses
from functools import cache

import numpy as np
import pytest
from ways_home import FOOT, KNOT, MILE, POUND

from sortiewright.air import geodesic
from sortiewright.pack import FuelTechnique, Pack, load_pack
from sortiewright.performance import fuel_after, usable_fuel
from sortiewright.sortie import demo_sortie_path, load_sortie
from sortiewright.sortie.conditions import landing_conditions, takeoff_conditions
from sortiewright.sortie.fuel_planning import fuel_plan
from sortiewright.sortie.loading import ground_fuel, ramp_load
from sortiewright.sortie.route_flight import fly_route
from sortiewright.sortie.route_flown import FlownRoute, FuelPlan
from sortiewright.sortie.route_schema import Alternate, AtPoint, Leg, Recovery, Route, RoutePoint, WindAloft
from sortiewright.sortie.schema import Sortie

FUEL = FuelTechnique(
    run_up=60.0 * POUND,
    approach=400.0 * POUND,
    missed_approach=350.0 * POUND,
    normal_recovery=2_000.0 * POUND,
    minimum=1_500.0 * POUND,
    emergency=1_000.0 * POUND,
    gauge_tolerance=200.0 * POUND,
    joker_time=60.0,
    joker_power="maximum",
    regroup=100.0 * POUND,
)
POINTS = {
    "WEST": RoutePoint(latitude=56.3, longitude=-7.6),
    "NORTH": RoutePoint(latitude=57.4, longitude=-7.0),
    "FIX": RoutePoint(latitude=56.25, longitude=-5.4),
    "OTHER": RoutePoint(latitude=55.5, longitude=-4.6),
}
LEGS = (
    Leg(to="WEST", altitude=25_000.0 * FOOT, mach=0.8),
    Leg(
        to="NORTH",
        altitude=3_000.0 * FOOT,
        cas=380.0 * KNOT,
        then=(AtPoint(release=("left_inboard", "right_inboard")),),
    ),
    Leg(to="FIX", altitude=25_000.0 * FOOT, mach=0.8),
)
RECOVERY = Recovery(fix="FIX", fix_altitude=2_500.0 * FOOT)


@cache
def day():
    loaded = load_sortie(demo_sortie_path())
    return loaded.sortie, load_pack("dotterel").pack


def planned(*, fuel=FUEL, legs=LEGS, recovery=RECOVERY, winds=(), load=None) -> tuple[FlownRoute, FuelPlan]:
    """Return the route of the shipped sortie's day and load, flown over these legs, and its fuel plan."""
    base, pack = day()
    technique = pack.technique.model_copy(update={"fuel": fuel})
    pack = pack.model_copy(update={"technique": technique})
    route = Route(points=POINTS, legs=legs, recovery=recovery, winds_aloft=winds)
    sortie = base.model_copy(update={"route": route, **({} if load is None else {"load": load})})
    return _flown(sortie, pack)


def _flown(sortie: Sortie, pack: Pack) -> tuple[FlownRoute, FuelPlan]:
    start = takeoff_conditions(sortie)
    end = landing_conditions(sortie, start)
    load = fuel_after(pack, ramp_load(sortie, pack), ground_fuel(sortie, pack))
    flown = fly_route(sortie, pack, start, end, load, 25.0, 85.0)
    return flown, fuel_plan(sortie, pack, flown, start, end)


@cache
def plain() -> tuple[FlownRoute, FuelPlan]:
    return planned()


def test_joker_bingo_recovery_minimum_and_emergency_stand_in_this_order():
    _, plan = plain()

    assert plan.joker > plan.bingo > FUEL.normal_recovery >= plan.minimum >= plan.emergency


def test_joker_is_bingo_one_more_exercise_and_regrouping():
    flown, plan = plain()
    pack = day()[1]
    row = max(flown.rows, key=lambda one: _from_fix(one.end) if one.leg >= 0 else 0.0)
    setting = pack.engine.settings["maximum"]
    warm = plan.joker - plan.bingo - FUEL.regroup
    flow = 2.0 * float(setting.fuel_flow(row.mach, row.end_altitude))

    # The temperature factor of fuel flow is left out here: some percent.
    assert warm == pytest.approx(60.0 * flow, rel=0.05)


def test_least_fuel_at_every_point_of_the_ladder_is_bingo_from_there():
    flown, plan = plain()
    farthest = max(
        (step for step in plan.ladder if step.least is not None),
        key=lambda step: _from_fix(flown.rows[step.row].end),
    )
    at_fix = next(step for step in reversed(plan.ladder) if flown.rows[step.row].leg >= 0)
    unusable = at_fix.planned - usable_fuel(day()[1], flown.rows[at_fix.row].load)

    assert farthest.least == pytest.approx(plan.bingo)
    assert plan.farthest == flown.rows[farthest.row].end
    assert at_fix.least == pytest.approx(FUEL.normal_recovery + FUEL.gauge_tolerance + unusable)
    assert plan.at_fix == pytest.approx(at_fix.planned)
    assert plan.landing_fuel == pytest.approx(plan.at_fix - FUEL.approach)


def test_the_ladder_loses_what_the_rows_burn():
    flown, plan = plain()
    ramp = ramp_load(*day())
    left = ramp.total_fuel
    for step in plan.ladder:
        row = flown.rows[step.row]
        left += row.fuel_on - row.fuel

        assert step.planned == pytest.approx(left, abs=0.1 * POUND)
        assert sum(step.tanks.values()) == pytest.approx(step.planned, abs=1e-6)
        assert min(step.tanks.values()) >= 0.0


def test_a_bingo_is_the_sum_of_its_parts():
    _, plan = plain()
    for way in plan.returns:
        parts = way.climb_fuel + way.cruise_fuel + way.descent_fuel + way.recovery_fuel + way.unusable

        assert way.bingo == pytest.approx(parts, abs=1e-6)
        assert way.problem == ""


def test_what_breaks_is_told_on_lines_of_its_own():
    _, plan = plain()
    ways = {way.profile: way for way in plan.returns}

    assert list(ways) == ["both_engines", "one_engine", "gear_down", "trapped_external"]
    assert ways["gear_down"].bingo > ways["both_engines"].bingo
    # What is trapped outside weighs and drags: besides itself it costs more usable fuel.
    trapped, plan_way = ways["trapped_external"], ways["both_engines"]
    held = trapped.unusable - plan_way.unusable
    assert held == pytest.approx((2_613.0 - 25.0) * POUND, abs=0.1)
    assert trapped.bingo - held > plan_way.bingo


def test_bingo_as_a_table_rises_with_distance_and_holds_the_farthest_point():
    _, plan = plain()
    farthest = plan.returns[0].distance

    assert (np.diff(plan.bingo_fuel) > 0.0).all()
    assert plan.bingo_distance[-1] >= farthest
    between = np.interp(farthest, plan.bingo_distance, plan.bingo_fuel)
    assert between == pytest.approx(plan.bingo, rel=0.01)


def test_headwind_home_raises_bingo():
    def blowing(direction):
        winds = tuple(
            WindAloft(altitude=height * FOOT, wind_from=direction, wind_speed=50.0 * KNOT)
            for height in (2_000.0, 40_000.0)
        )
        return planned(winds=winds)[1].returns[0].bingo

    # The farthest points lie to the north-west of the fix: home is south-east.
    assert blowing(120.0) > plain()[1].bingo > blowing(300.0)


def test_after_the_release_less_drag_takes_less_fuel_home():
    flown, plan = plain()
    number = next(step.row for step in plan.ladder if flown.rows[step.row].part == "release")
    before, after = plan.ladder[number - 1], plan.ladder[number]

    assert after.least < before.least
    assert after.planned == pytest.approx(before.planned)


def test_a_route_that_always_leaves_enough_has_its_last_return_at_the_fix():
    flown, plan = plain()
    last = next(row for row in reversed(flown.rows) if row.leg >= 0)

    assert plan.last_return_elapsed == pytest.approx(last.elapsed)
    assert not plan.faults


def short_of_fuel(fuel=FUEL):
    base = day()[0]
    aboard = base.load.fuel.model_copy(update={"total": 6_600.0 * POUND, "external": {"belly": 0.0}})
    return planned(fuel=fuel, load=base.load.model_copy(update={"fuel": aboard}))


def test_a_route_on_too_little_fuel_says_where_home_is_lost():
    flown, plan = short_of_fuel()
    crossing = plan.last_return_elapsed
    margins = [step.planned - step.least for step in plan.ladder if step.least is not None]
    times = [step.elapsed for step in plan.ladder if step.least is not None]

    assert crossing is not None
    assert crossing < times[-1]
    assert np.interp(crossing, times, margins) == pytest.approx(0.0, abs=0.1)
    assert any("less than bingo from there" in fault.text for fault in plan.faults)
    assert plan.last_return is not None
    assert flown.complete


@pytest.mark.parametrize("minimum", [100.0, 1_900.0])
def test_a_shortage_is_a_no_go_where_it_goes_below_minimum_fuel(minimum):
    fuel = FUEL.model_copy(update={"minimum": minimum * POUND, "emergency": 50.0 * POUND})
    _, plan = short_of_fuel(fuel)
    short = max(step.least - step.planned for step in plan.ladder if step.least is not None)
    spare = FUEL.normal_recovery + FUEL.gauge_tolerance - minimum * POUND
    found = {fault.severity for fault in plan.faults if "bingo" in fault.text}

    assert short > 0.0
    assert ("no-go" in found) == (short > spare)
    assert (short > spare) == (minimum == 1_900.0)


def test_less_than_minimum_fuel_at_the_fix_is_a_no_go():
    fuel = FUEL.model_copy(update={"minimum": 9_000.0 * POUND, "normal_recovery": 9_500.0 * POUND})
    _, plan = planned(fuel=fuel)
    texts = [fault.text for fault in plan.faults if fault.severity == "no-go"]

    assert any("minimum fuel" in text and "9\u202f000\u202flb" in text for text in texts)


def test_the_alternate_takes_a_missed_approach_the_way_and_its_reserve():
    recovery = RECOVERY.model_copy(update={"alternate": Alternate(at="OTHER", recovery_fuel=1_800.0 * POUND)})
    flown, plan = planned(recovery=recovery)
    way = plan.alternate
    home = flown.rows[-1].end
    line = geodesic(
        home.latitude_deg, home.longitude_deg, POINTS["OTHER"].latitude, POINTS["OTHER"].longitude
    )

    assert way.distance == pytest.approx(float(line.distance))
    assert way.recovery_fuel == pytest.approx(1_800.0 * POUND + FUEL.gauge_tolerance)
    parts = way.climb_fuel + way.cruise_fuel + way.descent_fuel + way.recovery_fuel + way.unusable
    assert way.bingo == pytest.approx(parts)
    assert way.climb_fuel > FUEL.missed_approach
    assert plan.bingo == pytest.approx(plain()[1].bingo)


def test_an_alternate_that_cannot_be_reached_after_the_approach_is_a_caution():
    recovery = RECOVERY.model_copy(update={"alternate": Alternate(at="OTHER", recovery_fuel=9_000.0 * POUND)})
    _, plan = planned(recovery=recovery)

    assert any("the alternate OTHER takes" in fault.text for fault in plan.faults)


def test_the_recovery_fuel_and_level_of_the_sortie_come_first():
    recovery = RECOVERY.model_copy(update={"fuel": 2_700.0 * POUND, "flight_level": 190.0, "mach": 0.72})
    _, plan = planned(recovery=recovery)
    way = plan.returns[0]

    assert way.recovery_fuel == pytest.approx(2_700.0 * POUND + FUEL.gauge_tolerance)
    assert way.altitude == pytest.approx(19_000.0 * FOOT)
    assert way.mach == pytest.approx(0.72)


def test_the_radius_lies_beyond_the_farthest_point_and_shrinks_with_the_reserve():
    _, plan = plain()
    more = FUEL.model_copy(update={"normal_recovery": 3_500.0 * POUND})

    assert plan.radius > plan.returns[0].distance
    assert planned(fuel=more)[1].radius < plan.radius - 20.0 * MILE


def test_levels_above_the_last_wind_are_not_flown_home():
    winds = (WindAloft(altitude=26_000.0 * FOOT, wind_from=280.0, wind_speed=20.0),)
    _, plan = planned(winds=winds)

    assert all(way.altitude <= 26_500.0 * FOOT for way in plan.returns)


def test_a_balance_outside_the_envelope_is_told_on_its_step():
    base, pack = day()
    narrow = [point.model_copy(update={"centre_of_gravity": 0.30}) for point in pack.mass.envelope]
    mass = pack.mass.model_copy(update={"envelope_gear_up": narrow})
    technique = pack.technique.model_copy(update={"fuel": FUEL})
    tight = pack.model_copy(update={"mass": mass, "technique": technique})
    route = Route(points=POINTS, legs=LEGS, recovery=RECOVERY)
    _, plan = _flown(base.model_copy(update={"route": route}), tight)
    told = [step for step in plan.ladder if not step.check.inside]

    assert told
    assert all(any("centre of gravity" in remark for remark in step.remarks) for step in told)
    assert sum("entre of gravity" in fault.text for fault in plan.faults) == len(told)


def test_a_pack_that_keeps_nothing_back_is_refused():
    with pytest.raises(ValueError, match=r"technique\.fuel"):
        planned(fuel=None)


def _from_fix(point) -> float:
    line = geodesic(point.latitude_deg, point.longitude_deg, POINTS["FIX"].latitude, POINTS["FIX"].longitude)
    return float(line.distance)


def test_a_route_that_is_not_flown_to_its_end_has_a_ladder_as_far_as_it_goes():
    base = day()[0]
    aboard = base.load.fuel.model_copy(update={"total": 3_400.0 * POUND, "external": {"belly": 0.0}})
    flown, plan = planned(load=base.load.model_copy(update={"fuel": aboard}))

    assert not flown.complete
    assert len(plan.ladder) == len(flown.rows)
    assert plan.at_fix is None
    assert plan.landing_fuel is None
    assert plan.bingo is not None


def test_nothing_flown_leaves_an_empty_plan():
    flown, _ = plain()
    sortie, pack = day()
    technique = pack.technique.model_copy(update={"fuel": FUEL})
    sortie = sortie.model_copy(update={"route": Route(points=POINTS, legs=LEGS, recovery=RECOVERY)})
    start = takeoff_conditions(sortie)
    empty = dataclasses.replace(flown, rows=(), complete=False)
    pack = pack.model_copy(update={"technique": technique})
    plan = fuel_plan(sortie, pack, empty, start, landing_conditions(sortie, start))

    assert plan.ladder == ()
    assert plan.bingo is None
    assert plan.last_return is None
    assert plan.radius is None
