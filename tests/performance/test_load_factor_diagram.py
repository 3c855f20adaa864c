"""V-n diagram and corner speed. Group G names the source of each check."""

from pathlib import Path

import numpy as np
import pytest
from aeroplanes import shipped
from external_checks import check, expected, value
from hypothesis import assume, given, settings
from manoeuvring import FOOT, KNOT, POUND, STORES, number, scenes, thin_pack, with_limits

from sortiewright.air import standard_air
from sortiewright.pack import load_pack
from sortiewright.performance import (
    corner_speed,
    flight_setup,
    instantaneous_turn,
    load_factor_envelope,
    make_flight_cases,
    stall_speed,
)


# X-G08, X-G09: the corner is at the stall speed times the root of the limit load factor.
@pytest.mark.parametrize("identity", ["X-G08", "X-G09"])
def test_corner_speed_of_a_constant_greatest_lift(identity):
    one = check(identity)
    pack = thin_pack(
        wing_area=value(one, "S", FOOT**2),
        polar=lambda lift: 0.02 + 0.1 * lift**2,
        maximum_lift=value(one, "CLmax"),
        thrust=1e5,
        load_limit=value(one, "n_limit"),
    )
    setup, cases = flight_setup(pack), make_flight_cases(value(one, "W", POUND))
    height = value(one, "pressure_altitude", FOOT)
    corner = corner_speed(pack, setup, cases, altitude=height)
    diagram = load_factor_envelope(pack, setup, cases, altitude=height)

    stall = diagram.stall_mach * standard_air(height).speed_of_sound
    assert stall[0] == expected(one, "stall_TAS", KNOT)
    assert corner.tas[0] == expected(one, "corner_TAS", KNOT)
    assert corner.eas[0] == expected(one, "corner_EAS", KNOT)
    assert np.degrees(corner.turn.rate[0]) == expected(one, "max_rate")
    assert corner.turn.radius[0] == expected(one, "min_radius", FOOT)
    others = instantaneous_turn(pack, setup, cases, altitude=height, mach=np.linspace(0.2, 1.2, 101)[None, :])
    assert np.nanmin(others.turn.radius) >= corner.turn.radius[0] * (1.0 - 1e-6)
    # V-n relation of the same sources, exactly.
    assert corner.tas[0] / stall[0] == pytest.approx(np.sqrt(value(one, "n_limit")), rel=1e-6)


# Anderson, Aircraft Performance and Design (1999), section 6.2, from memory: at the corner the turn is the
# quickest of all. That it is the tightest too holds for a constant greatest lift only (X-G08, X-G09).
@settings(max_examples=40)
@given(scenes())
def test_turn_at_the_corner_is_the_quickest_of_all_level_turns(scene):
    corner = corner_speed(*scene.parts, altitude=scene.altitude)
    # The other pack's greatest lift falls so steeply at Mach 0.65 that it turns quicker before its corner.
    assume(np.isfinite(corner.mach[0]) and scene.name == "dotterel")
    top = 1.8
    others = instantaneous_turn(
        *scene.parts, altitude=scene.altitude, mach=np.linspace(0.1, top, 80)[None, :]
    )

    assert np.nanmax(others.turn.rate) <= corner.turn.rate[0] * (1.0 + 1e-5)


@settings(max_examples=40)
@given(scenes())
def test_corner_is_where_lift_hands_over_to_the_load_factor_limit(scene):
    corner = corner_speed(*scene.parts, altitude=scene.altitude)
    assume(np.isfinite(corner.mach[0]) and corner.mach[0] < 1.5)
    turn = instantaneous_turn(
        *scene.parts,
        altitude=scene.altitude,
        mach=corner.mach[:, None] * np.array([[1.0 - 1e-5, 1.0]]),
    )

    assert turn.governed_by[0, 0] in ("lift", "angle of attack")
    assert turn.turn.load_factor[0, 1] == pytest.approx(corner.turn.load_factor[0], rel=2e-6)


# Second road: the stall speed of the landing and takeoff calculations, which iterate on speed.
@pytest.mark.parametrize("name", ["dotterel", "whinchat"])
def test_diagram_meets_one_g_at_the_stall_speed(name):
    pack = with_limits(shipped(name), angle_of_attack={})
    setup = flight_setup(pack)
    cases = make_flight_cases([15_000.0, 20_000.0] if name == "dotterel" else [2_800.0, 3_300.0])
    height = np.array([0.0, 3_000.0])
    air = standard_air(height)
    wanted = stall_speed(pack, setup.configuration, cases.mass * 9.80665, air.density, air.speed_of_sound)
    diagram = load_factor_envelope(pack, setup, cases, altitude=height)

    # The lift tables are rounded to a thousandth under maximum_lift; gear lift is nought in both packs.
    assert diagram.stall_mach * air.speed_of_sound == pytest.approx(wanted, rel=2e-3)


@settings(max_examples=40)
@given(scenes())
def test_diagram_lies_inside_stall_lines_and_limits(scene):
    diagram = load_factor_envelope(*scene.parts, altitude=scene.altitude, stores=STORES[scene.name])
    limits = diagram.limits

    assert (np.diff(diagram.mach[0]) >= 0.0).all()
    assert diagram.mach[0, -1] == pytest.approx(diagram.end_mach[0])
    assert (diagram.top[0] <= np.minimum(diagram.stall[0], limits.positive[0]) + 1e-12).all()
    assert (diagram.bottom[0] >= np.maximum(diagram.negative_stall[0], limits.negative[0]) - 1e-12).all()
    assert limits.rolling[0] <= limits.positive[0]
    assert diagram.end_cas[0] <= limits.maximum_cas * (1.0 + 1e-9)
    assert diagram.end_mach[0] <= limits.maximum_mach * (1.0 + 1e-9)


def test_stores_narrow_the_diagram_to_the_tightest_of_them():
    pack = shipped("dotterel")
    setup, cases = flight_setup(pack), make_flight_cases(15_000.0)
    clean = load_factor_envelope(pack, setup, cases, altitude=3_000.0)
    loaded = load_factor_envelope(
        pack, setup, cases, altitude=3_000.0, stores=("wing_tank", "belly_tank", "triple_rack_pipit")
    )
    limits = loaded.limits

    # stores.yaml of the pack: the belly tank allows 4.5, 3.0 rolling and -1.0 g; the rack 550 kt, Mach 0.95.
    assert (limits.positive[0], limits.rolling[0], limits.negative[0]) == (4.5, 3.0, -1.0)
    assert {limits.positive_by[0], limits.rolling_by[0], limits.negative_by[0]} == {"belly_tank"}
    assert limits.maximum_cas == pytest.approx(550.0 * KNOT)
    assert (limits.maximum_mach, limits.cas_by, limits.mach_by) == (
        0.95,
        "triple_rack_pipit",
        "triple_rack_pipit",
    )
    # limits.yaml: at 15,000 kg, 33,069 lb, between 7.2 at 32,000 and 6.2 at 38,000 lb.
    assert clean.limits.positive[0] == pytest.approx(7.2 - (33_069.3 - 32_000.0) / 6_000.0, rel=1e-5)
    assert clean.limits.positive_by[0] == "aircraft"
    assert loaded.corner.mach[0] < clean.corner.mach[0]


def test_rolling_limit_is_never_above_the_straight_one():
    pack = shipped("dotterel")
    cases = make_flight_cases(14_000.0)
    limits = load_factor_envelope(
        pack, flight_setup(pack), cases, altitude=0.0, stores=("magpie_baggage_pod",)
    ).limits
    light = load_factor_envelope(with_limits(pack, 3.0), flight_setup(pack), cases, altitude=0.0).limits

    assert (limits.rolling[0], limits.rolling_by[0]) == (2.5, "magpie_baggage_pod")
    assert (light.rolling[0], light.rolling_by[0]) == (3.0, "aircraft")


def test_gear_and_flap_bring_their_own_speed_limits():
    pack = shipped("dotterel")
    cases = make_flight_cases(15_000.0)

    def limits(configuration, gear):
        setup = flight_setup(pack, configuration, gear=gear)
        return load_factor_envelope(pack, setup, cases, altitude=0.0).limits

    assert (limits("landing", 1.0).maximum_cas, limits("landing", 1.0).cas_by) == (
        pytest.approx(220.0 * KNOT),
        "flap",
    )
    assert (limits("clean", 1.0).maximum_cas, limits("clean", 1.0).cas_by) == (
        pytest.approx(250.0 * KNOT),
        "gear",
    )


def test_a_corner_beyond_the_speed_limit_is_none():
    pack = with_limits(shipped("whinchat"), maximum_mach=number(0.3))
    corner = corner_speed(pack, flight_setup(pack), make_flight_cases(3_300.0), altitude=6_000.0)

    assert np.isnan(corner.mach[0])
    assert np.isnan(corner.turn.rate[0])


def test_a_pack_without_limits_gets_a_stall_line_and_nothing_invented():
    pack = load_pack(Path(__file__).parents[1] / "data" / "packs" / "t38_sampled").pack
    setup, cases = flight_setup(pack), make_flight_cases(5_000.0)
    diagram = load_factor_envelope(pack, setup, cases, altitude=3_000.0)

    assert np.isinf(diagram.limits.positive[0])
    assert diagram.limits.positive_by[0] == ""
    assert np.isinf(diagram.limits.rolling[0])
    assert np.isnan(diagram.negative_stall).all()
    assert not diagram.is_at_limit[0]
    assert np.isnan(diagram.corner.mach[0])
    assert np.isfinite(diagram.stall).all()


def test_a_store_that_the_pack_has_not_is_refused():
    pack = shipped("whinchat")
    with pytest.raises(ValueError, match=r'store "wing_tank" is not in the pack\. Known: baggage_pod'):
        corner_speed(
            pack, flight_setup(pack), make_flight_cases(3_000.0), altitude=0.0, stores=("wing_tank",)
        )
