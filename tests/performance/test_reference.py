"""The program's runs against the second road of tests/support: another integrator and other forms of the
equations.

Tolerance: 0.2 % of a distance or an energy, 0.05 % of a speed: a metre or two, far inside what any pack's
tables are worth.
"""

import numpy as np
import pytest
from aeroplanes import balance_arm, shipped
from reference_stop import reference_landing, reference_rejected
from reference_takeoff import Aeroplane, nosewheel_lift_off, reference_takeoff

from sortiewright.air import standard_air
from sortiewright.performance import (
    accelerate_to,
    fly_takeoff,
    land,
    make_cases,
    reject,
    release,
    takeoff_setup,
)

FOOT, POUND, KNOT = 0.3048, 0.45359237, 1852.0 / 3600.0

# pack, mass lb, share of mean chord, pressure altitude ft, off standard K, headwind kt, slope, drag index
DAYS = {
    "light": ("dotterel", 30_000, 0.300, 0, 0, 0, 0.0, 0),
    "usual": ("dotterel", 38_000, 0.295, 1_500, 5, 10, 0.004, 20),
    "forward balance": ("dotterel", 46_000, 0.262, 0, 20, 5, -0.01, 60),
    "heavy": ("dotterel", 52_000, 0.300, 1_000, 5, 8, 0.0, 60),
    "heavy, hot, high": ("dotterel", 52_000, 0.300, 4_000, 20, 0, 0.01, 90),
    "cold, tailwind": ("dotterel", 42_000, 0.310, -500, -35, -10, -0.015, 40),
    "trainer": ("whinchat", 7_000, 0.255, 0, 0, 0, 0.0, 0),
    "trainer, hot and high": ("whinchat", 7_900, 0.240, 5_000, 20, 6, 0.01, 20),
    "trainer, tailwind": ("whinchat", 6_000, 0.290, 1_000, -15, -8, -0.01, 10),
}
FAST = {"dotterel": 115.0, "whinchat": 72.0}


def day(name):
    """Return pack, mass, balance arm, air, headwind, slope and drag index of a day."""
    pack_name, mass, share, altitude, warmer, headwind, slope, index = DAYS[name]
    pack = shipped(pack_name)
    air = standard_air(altitude * FOOT, warmer)
    return pack, mass * POUND, balance_arm(pack, share), air, headwind * KNOT, slope, index


def setup_of(name, technique=None, **surface):
    pack, mass, arm, air, headwind, slope, index = day(name)
    cases = make_cases(mass, arm, air, headwind=headwind, slope=slope, drag_index=index, **surface)
    return takeoff_setup(pack, cases, technique)


def agrees(takeoff, reference):
    """Compare everything a takeoff returns with the reference."""
    near, close = {"rel": 2e-3}, {"rel": 5e-4, "nan_ok": True}
    assert takeoff.ground_run[0] == pytest.approx(reference.ground_run, **near)
    assert takeoff.lift_off_ground_speed[0] == pytest.approx(reference.lift_off_ground_speed, **close)
    assert takeoff.lift_off_pitch[0] == pytest.approx(
        reference.lift_off_pitch, abs=np.radians(0.05), nan_ok=True
    )
    assert takeoff.lift_off_time[0] == pytest.approx(reference.lift_off_time, rel=3e-3)
    assert takeoff.distance_to_screen[0] == pytest.approx(reference.distance_to_screen, **near)
    assert takeoff.time_to_screen[0] == pytest.approx(reference.time_to_screen, rel=3e-3)
    assert takeoff.screen_climb_angle[0] == pytest.approx(
        reference.screen_climb_angle, abs=np.radians(0.02), nan_ok=True
    )


@pytest.mark.parametrize("name", DAYS)
def test_takeoff_on_all_engines(name):
    pack, mass, arm, air, headwind, slope, index = day(name)
    reference = reference_takeoff(pack, mass, arm, air, headwind, slope, drag_index=index)

    agrees(fly_takeoff(setup_of(name)), reference)


@pytest.mark.parametrize("name", [name for name in DAYS if DAYS[name][0] == "dotterel"])
@pytest.mark.parametrize("failure_kt", [40.0, 90.0, 130.0])
def test_takeoff_continued_on_one_engine(name, failure_kt):
    pack, mass, arm, air, headwind, slope, index = day(name)
    failure = failure_kt * KNOT
    reference = reference_takeoff(pack, mass, arm, air, headwind, slope, failure, drag_index=index)

    agrees(fly_takeoff(setup_of(name), failure), reference)


# Brakes let go at idle: the aircraft stands until thrust has grown past friction and slope.
@pytest.mark.parametrize("name", ["usual", "heavy, hot, high", "trainer", "trainer, hot and high"])
def test_takeoff_released_at_idle(name):
    pack, mass, arm, air, headwind, slope, index = day(name)
    technique = pack.technique.takeoff.model_copy(update={"release_power": None})
    reference = reference_takeoff(
        pack, mass, arm, air, headwind, slope, drag_index=index, technique=technique
    )

    agrees(fly_takeoff(setup_of(name, technique)), reference)


# At military power the live engine is raised to maximum after the reaction time; until then a heavy aircraft
# may lose speed.
@pytest.mark.parametrize("name", ["usual", "heavy, hot, high"])
def test_burner_lit_on_the_live_engine_after_a_failure(name):
    pack, mass, arm, air, headwind, slope, index = day(name)
    technique = pack.technique.takeoff.model_copy(update={"power": "military", "engine_out_power": "maximum"})
    failure = 90.0 * KNOT
    reference = reference_takeoff(
        pack, mass, arm, air, headwind, slope, failure, drag_index=index, technique=technique
    )

    agrees(fly_takeoff(setup_of(name, technique), failure), reference)


SURFACES = {"dry": (23.0, False), "wet": (12.0, False), "icy": (5.0, False), "standing water": (12.0, True)}


@pytest.mark.parametrize(
    ("surface", "chute"), [("dry", True), ("wet", False), ("icy", True), ("standing water", False)]
)
@pytest.mark.parametrize("name", ["usual", "heavy, hot, high", "cold, tailwind", "trainer, tailwind"])
def test_rejected_takeoff(name, surface, chute):
    pack, mass, _, air, headwind, slope, index = day(name)
    reading, water = SURFACES[surface]
    event = FAST[pack.name] * KNOT
    reference = reference_rejected(
        pack,
        mass,
        air,
        event,
        headwind,
        slope,
        chute=chute,
        reading=reading,
        standing_water=water,
        drag_index=index,
    )
    setup = setup_of(name, runway_condition_reading=reading, standing_water=water)
    stop = reject(setup, accelerate_to(setup, release(setup), np.array([event])), chute=chute)

    assert stop.distance[0] == pytest.approx(reference.distance, rel=2e-3)
    assert stop.time[0] == pytest.approx(reference.time, rel=3e-3)
    assert stop.energy[0] == pytest.approx(reference.brake_energy, rel=2e-3)


# A chute that opens while the engines still run down pulls from then on.
def test_chute_opens_before_the_engines_are_at_idle():
    name = "usual"
    pack, mass, _, air, headwind, slope, index = day(name)
    times = pack.engine.transients.model_copy(update={"military_to_idle": 8.0})
    slow = pack.model_copy(update={"engine": pack.engine.model_copy(update={"transients": times})})
    at_once = pack.technique.takeoff.rejected.model_copy(update={"chute_commanded": 0.5})
    technique = pack.technique.takeoff.model_copy(update={"rejected": at_once})
    event = 120.0 * KNOT
    reference = reference_rejected(
        slow, mass, air, event, headwind, slope, drag_index=index, technique=technique
    )
    setup = takeoff_setup(slow, setup_of(name).cases, technique)
    stop = reject(setup, accelerate_to(setup, release(setup), np.array([event])))

    assert stop.distance[0] == pytest.approx(reference.distance, rel=2e-3)
    assert stop.energy[0] == pytest.approx(reference.brake_energy, rel=2e-3)


@pytest.mark.parametrize(
    ("surface", "chute"), [("dry", True), ("wet", False), ("icy", True), ("standing water", False)]
)
@pytest.mark.parametrize("name", ["light", "usual", "cold, tailwind", "trainer, tailwind"])
def test_landing_roll(name, surface, chute):
    pack, mass, _, air, headwind, slope, index = day(name)
    reading, water = SURFACES[surface]
    reference = reference_landing(
        pack,
        mass,
        air,
        headwind,
        slope,
        chute=chute,
        reading=reading,
        standing_water=water,
        drag_index=index,
        gust_increment=4.0,
    )
    setup = setup_of(name, runway_condition_reading=reading, standing_water=water)
    landing = land(pack, setup.cases, chute=chute, gust_increment=4.0)

    assert landing.touchdown_ground_speed[0] == pytest.approx(reference.start_speed, rel=1e-6)
    assert landing.ground_roll[0] == pytest.approx(reference.distance, rel=2e-3)
    assert landing.brake_energy[0] == pytest.approx(reference.brake_energy, rel=2e-3)


# Moments about the centre of gravity instead of the main wheels: the same plane statics by another road.
@pytest.mark.parametrize("name", DAYS)
def test_nosewheel_lift_off(name):
    pack, mass, arm, air, _, _, index = day(name)
    reference = nosewheel_lift_off(Aeroplane(pack, mass, air, drag_index=index), arm, pack.technique.takeoff)

    assert setup_of(name).nosewheel_lift_off_speed[0] == pytest.approx(reference, rel=1e-6)
