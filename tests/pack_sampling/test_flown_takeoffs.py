"""Takeoffs computed from sampled packs against the same takeoffs flown by the flight model itself.

The reference is JSBSim 1.3.3, six degrees of freedom at 120 Hz with its own landing gear, flown by a scripted
pilot; it shares with the computation only what the pack sampled from it.
"""

import math
from collections.abc import Callable
from dataclasses import replace
from statistics import median

import pytest
from flown_takeoffs import KNOT, Pair, flown_and_computed, with_sampled_rudder

from sortiewright.air import Air
from sortiewright.pack import LoadedPack
from sortiewright.pack_sampling import TakeoffOrder
from sortiewright.performance import fly_takeoff, make_cases, takeoff_setup

T38 = TakeoffOrder(
    rotation_cas=140 * KNOT,
    pitch_rate=math.radians(3),
    attitude=math.radians(10),
    flap=0.6,
    advance_delay=1.0,
)
T38_TAKEOFFS = {
    "standard day": {},
    "25 K warmer": {"temperature_deviation": 25.0},
    "25 K colder": {"temperature_deviation": -25.0},
    "1,500 m high": {"elevation": 1500.0},
    "1,200 m high, 20 K warmer": {"elevation": 1200.0, "temperature_deviation": 20.0},
    "headwind 15 kt": {"headwind": 15 * KNOT},
    "tailwind 8 kt": {"headwind": -8 * KNOT},
    "half fuel": {"fuel": 0.5},
    "military power": {"takeoff_throttle": 0.5},
    "military power, 15 K warmer": {"takeoff_throttle": 0.5, "temperature_deviation": 15.0},
    "rotation at 155 kt": {"rotation_cas": 155 * KNOT},
    "rotation at 5 deg/s": {"pitch_rate": math.radians(5)},
    "landing flap": {"flap": 1.0},
}
T38_FAILURES = {
    "engine fails at 100 kt, military, light": {"fail_engine_at": 100 * KNOT},
    "engine fails at 125 kt, military, light": {"fail_engine_at": 125 * KNOT},
}
T38_REJECTED = {
    "from 80 kt": {"reject_at": 80 * KNOT},
    "from 110 kt": {"reject_at": 110 * KNOT},
    "from 110 kt, military power": {"reject_at": 110 * KNOT, "takeoff_throttle": 0.5},
    "from 130 kt, 20 K warmer, half the brakes": {
        "reject_at": 130 * KNOT,
        "temperature_deviation": 20.0,
        "brake_command": 0.2,
    },
    "from 120 kt, 1,200 m, headwind 10 kt": {
        "reject_at": 120 * KNOT,
        "elevation": 1200.0,
        "headwind": 10 * KNOT,
    },
}
OTHERS = {
    "T37": TakeoffOrder(
        rotation_cas=75 * KNOT, pitch_rate=math.radians(3), attitude=math.radians(12), flap=0.5
    ),
    "F80C": TakeoffOrder(
        rotation_cas=118 * KNOT, pitch_rate=math.radians(3), attitude=math.radians(11), flap=0.5
    ),
}
OTHER_TAKEOFFS = {
    "standard day": {},
    "25 K warmer": {"temperature_deviation": 25.0},
    "1,200 m high": {"elevation": 1200.0},
    "headwind 15 kt": {"headwind": 15 * KNOT},
    "tailwind 5 kt": {"headwind": -5 * KNOT},
    "three tenths fuel": {"fuel": 0.3},
}


def within(pair: Pair, share: float) -> bool:
    return abs(pair.error) <= share


def test_the_computed_takeoff_is_the_flown_one(t38_pack: LoadedPack):
    """One case in every run of the tests; the whole table is a slow test."""
    _, pairs = flown_and_computed(t38_pack.pack, "T38", T38)

    assert within(pairs["ground run"], 0.02)
    assert within(pairs["distance to 50 ft"], 0.03)
    assert within(pairs["nosewheel"], 0.01)
    assert abs(pairs["lift-off speed"].computed - pairs["lift-off speed"].flown) < 2 * KNOT


@pytest.mark.slow
def test_ground_run_lift_off_and_screen_hold_over_thirteen_conditions(t38_pack: LoadedPack):
    table = {
        name: flown_and_computed(t38_pack.pack, "T38", replace(T38, **change))[1]
        for name, change in T38_TAKEOFFS.items()
    }
    runs = [abs(pairs["ground run"].error) for pairs in table.values()]

    assert median(runs) < 0.01
    assert max(runs) < 0.02
    for name, pairs in table.items():
        lift_off = pairs["lift-off speed"]
        assert abs(lift_off.computed - lift_off.flown) < 2 * KNOT, name
        assert within(pairs["distance to 50 ft"], 0.03), name


# The model's rudder alone does not hold the live engine: on the run it is steered, weaving a little; it flies
# in a sideslip. The whole table of failures is in tests/performance/test_against_flight_model.py.
@pytest.mark.slow
@pytest.mark.parametrize("change", T38_FAILURES.values(), ids=T38_FAILURES)
def test_a_takeoff_continued_on_one_engine(t38_pack: LoadedPack, change: dict[str, float]):
    order = replace(T38, fuel=0.3, takeoff_throttle=0.5, **change)
    flown, pairs = flown_and_computed(with_sampled_rudder(t38_pack.pack), "T38", order)

    assert flown.farthest_off_centre < 30.0
    assert within(pairs["ground run"], 0.02)
    assert abs(pairs["lift-off speed"].computed - pairs["lift-off speed"].flown) < 2 * KNOT
    assert within(pairs["distance to 50 ft"], 0.03)


@pytest.mark.slow
@pytest.mark.parametrize("change", T38_REJECTED.values(), ids=T38_REJECTED)
def test_a_rejected_takeoff_stops_where_the_flown_one_does(t38_pack: LoadedPack, change: dict[str, float]):
    _, pairs = flown_and_computed(t38_pack.pack, "T38", replace(T38, **change))

    assert within(pairs["stop"], 0.015)


@pytest.mark.slow
@pytest.mark.parametrize("model", OTHERS)
def test_other_models_hold_too(model: str, sampled: Callable[[str], LoadedPack]):
    pack, order = sampled(model).pack, OTHERS[model]
    table = {
        name: flown_and_computed(pack, model, replace(order, **change))[1]
        for name, change in OTHER_TAKEOFFS.items()
    }
    runs = [abs(pairs["ground run"].error) for pairs in table.values()]
    _, stopped = flown_and_computed(pack, model, replace(order, reject_at=0.8 * order.rotation_cas))

    assert median(runs) < 0.02
    assert max(runs) < 0.04
    assert within(stopped["stop"], 0.04)
    for name, pairs in table.items():
        lift_off = pairs["lift-off speed"]
        assert abs(lift_off.computed - lift_off.flown) < 2 * KNOT, name
        assert within(pairs["distance to 50 ft"], 0.03), name


# Two flights of this model by another script in light turbulence, values at the exact step. At brake release:
# weight lb, balance in, air psf and degrees Rankine, wind kt. Then nosewheel-off speed kt, mean rotation rate
# from there to lift-off deg/s, attitude deg. Then what came out: ground run ft, lift-off kt, to 50 ft ft.
LOGGED = {
    "clean departure": (11_236.1, 320.839, 2006.75, 527.66, 0.0, 146.33, 2.52, 10.31, 3267.1, 163.56, 4460.5),
    "late, abrupt rotation": (
        11_244.2, 320.848, 2007.46, 531.26, 4.0, 162.63, 5.88, 16.52, 3380.1, 169.42, 4225.4,
    ),
}  # fmt: skip


@pytest.mark.parametrize("logged", LOGGED.values(), ids=LOGGED)
def test_logged_departures_are_met(t38_pack: LoadedPack, logged: tuple[float, ...]):
    weight, balance, pressure, temperature, headwind, nose, rate, attitude, run, lift_off, to_screen = logged
    air = Air(pressure * 47.880259, temperature * 5 / 9)
    cases = make_cases(weight * 0.45359237, balance * 0.0254, air, headwind=headwind * KNOT)
    setup = takeoff_setup(
        t38_pack.pack,
        cases,
        rotation_cas=nose * KNOT,
        pitch_rate=math.radians(rate),
        takeoff_attitude=math.radians(attitude),
    )
    computed = fly_takeoff(setup)

    assert float(computed.ground_run[0]) / 0.3048 == pytest.approx(run, rel=0.02)
    assert float(computed.lift_off_cas[0]) / KNOT == pytest.approx(lift_off, abs=2.0)
    # A gust of half a degree at lift-off shortened the first one's climb by 0.45 s of its 4.4.
    assert float(computed.distance_to_screen[0]) / 0.3048 == pytest.approx(to_screen, rel=0.05)
