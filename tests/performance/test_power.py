"""Thrust over time, against the times a pack states."""

from types import SimpleNamespace

import numpy as np
import pytest
from aeroplanes import make_pack, shipped

from sortiewright.pack import EngineTransients
from sortiewright.performance.power import power_history, power_plan

STATIC = {
    "idle": np.array([2e3]),
    "military": np.array([42e3]),
    "maximum": np.array([65e3]),
    "half": np.array([22e3]),
}


def plan_of(power="maximum", release="idle", engine_out="maximum", reaction=1.0):
    settings = shipped("dotterel").engine.settings
    times = EngineTransients(
        idle_to_military=4.0,
        light_delay=1.0,
        light_to_full=2.0,
        cancel_augmentation=0.5,
        military_to_idle=2.0,
        failure_decay=1.5,
    )
    pack = make_pack(
        wing_area=40.0,
        lift=lambda a: 0.0,
        drag=lambda a: 0.1,
        maximum_lift=1.0,
        thrust=42e3,
        transients=times,
    )
    levers = pack.engine.settings | {"maximum": settings["maximum"], "half": pack.engine.settings["military"]}
    pack = SimpleNamespace(engine=pack.engine.model_copy(update={"settings": levers, "maximum": "maximum"}))
    return power_plan(pack, STATIC, power, release, engine_out, reaction)


def thrust(weights):
    """Return the standing thrust of weights on the settings."""
    return sum(weight * STATIC[name] for name, weight in weights.items())[0]


def at(seconds):
    return np.array([float(seconds)])


# Release at idle: 4 s to military, a second until the burner lights, two more to full.
@pytest.mark.parametrize(
    ("time", "kilonewtons"), [(0, 2), (2, 22), (4, 42), (5, 42), (6, 53.5), (7, 65), (60, 65)]
)
def test_thrust_after_release(time, kilonewtons):
    assert thrust(plan_of().taking_off(at(time))) == pytest.approx(kilonewtons * 1e3)


# Half the thrust to gain takes half the time.
def test_release_from_half_power_is_sooner_at_military():
    plan = plan_of(release="half")

    assert plan.spool == pytest.approx([2.0])
    assert thrust(plan.taking_off(at(1.0))) == pytest.approx(32e3)


# Levers closed at full power: the burner is out in half a second, the engine idle after two.
@pytest.mark.parametrize(("since", "kilonewtons"), [(0, 65), (0.5, 32), (1, 22), (2, 2), (9, 2)])
def test_thrust_after_closing_the_levers(since, kilonewtons):
    assert thrust(plan_of().closing(plan_of().taking_off(at(30)), at(since), 1.0)) == pytest.approx(
        kilonewtons * 1e3
    )


# One of two engines dies within 1.5 s; what the rudder holds is what is left of the difference.
@pytest.mark.parametrize(
    ("since", "all_of_it", "difference"), [(0, 130, 0), (0.75, 97.5, 32.5), (1.5, 65, 65), (20, 65, 65)]
)
def test_thrust_after_an_engine_failure(since, all_of_it, difference):
    history = power_history(plan_of(), at(30), 1)
    total = thrust(history(at(30 + since)))

    assert total == pytest.approx(all_of_it * 1e3)
    assert total * history.uneven(at(30 + since))[0] == pytest.approx(difference * 1e3, abs=1e-3)


# From military the live engine's burner lights after reaction and delay.
@pytest.mark.parametrize(("since", "kilonewtons"), [(1.9, 42), (3, 53.5), (4, 65)])
def test_live_engine_is_raised_after_the_reaction(since, kilonewtons):
    plan = plan_of(power="military")

    assert thrust(plan.one_failed(at(30), at(since))) == pytest.approx(kilonewtons * 1e3)


# Of four engines with one dead, two balance each other: the difference is one engine's thrust.
def test_uneven_thrust_of_four_engines():
    plan = plan_of()
    four = type(plan)(**{name: getattr(plan, name) for name in plan.__slots__} | {"engines": 4})
    history = power_history(four, at(30), 1)

    assert thrust(history(at(40))) == pytest.approx(3 * 65e3)
    assert thrust(history(at(40))) * history.uneven(at(40))[0] == pytest.approx(65e3)


def test_nothing_is_uneven_while_no_engine_fails():
    history = power_history(plan_of(), None, 1)

    assert history.uneven(at(40))[0] == 0.0
    assert thrust(history(at(40))) == pytest.approx(2 * 65e3)
