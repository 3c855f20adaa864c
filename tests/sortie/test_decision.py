"""The decision speed stays within its bounds, whatever the load, runway and weather; so does the line
speed."""

import functools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sortiewright.pack import load_pack
from sortiewright.performance import energy_zone
from sortiewright.sortie.decision import decide, line_check, on_curve, to_cas
from sortiewright.sortie.numbers import compute
from sortiewright.sortie.uncertainty import half_width

KNOT, FOOT = 1852 / 3600, 0.3048


twin = functools.cache(lambda: load_pack("dotterel").pack)


def a_day(draw):
    """Return changes to the sortie: fuel, runway, surface, wind and air."""
    degrees = draw(st.integers(-20, 45))
    report = f"{'M' if degrees < 0 else ''}{abs(degrees):02d}/M30 Q{draw(st.integers(960, 1040)):04d}"
    wind = f"{draw(st.integers(0, 35)) * 10:03d}{draw(st.integers(0, 35)):02d}KT"
    surface = draw(st.sampled_from(["dry", "wet", "icy"]))
    return (
        ("fuel: {}", f"fuel: {{total: {draw(st.integers(1500, 11050))} lb}}"),
        (
            "length: 9000 ft\n      slope: 0.3 %",
            f"length: {draw(st.integers(2000, 14000))} ft\n      slope: {draw(st.integers(-15, 15)) / 10} %",
        ),
        ("overrun: 900 ft", f"condition: {surface}\n      stopway: {draw(st.integers(0, 1000))} ft"),
        ("elevation: 212 ft", f"elevation: {draw(st.integers(-200, 8000))} ft"),
        ("28014G22KT", wind),
        ("16/09 Q1009", report),
        ("landing_fuel: 2600 lb", "landing_fuel: 1000 lb"),
        ("METAR ZZCH 140920Z", "METAR ZZCH 140930Z"),
    )


# CNATRA P-862, appendix A: go/no-go at or above critical engine failure speed, minimum go speed and minimum
# control speed on the ground, at or under refusal speed, rotation and maximum braking speed; else the load is
# too much.
@settings(max_examples=25, deadline=None)
@given(data=st.data())
@pytest.mark.parametrize("choice", ["highest", "lowest"])
def test_the_decision_speed_is_within_its_bounds(choice, data, day):
    pack = twin()
    sortie = day(*a_day(data.draw))
    technique = pack.technique.takeoff.model_copy(update={"decision_speed_choice": choice})
    chosen = pack.technique.model_copy(update={"takeoff": technique})
    numbers = compute(sortie, pack.model_copy(update={"technique": chosen}))
    decision = decide(numbers)
    work = numbers.takeoff
    if work is None:
        assert numbers.takeoff_problem
        return
    if decision is None:
        assert not math.isfinite(work.takeoff.ground_run[0])
        return
    cases, lengths = work.setup.cases, work.lengths

    assert decision.speed <= float(work.takeoff.rotation_cas[0]) + 1e-6
    if lengths.never_stops[0]:
        assert decision.speed == 0
    elif not lengths.stops_from_lift_off[0]:
        assert decision.speed <= to_cas(cases, float(lengths.refusal_speed[0])) + 1e-6
        assert (
            decision.stop_distance <= work.stop_available + 0.3
        )  # twice the doubt of the refusal root, 0.2 m
    if math.isfinite(decision.maximum_braking_speed):
        assert decision.speed <= to_cas(cases, decision.maximum_braking_speed) + 1e-6
    if math.isfinite(decision.stop_energy):
        zone = energy_zone(pack, decision.stop_energy)
        assert zone is None or zone.severity != "no-go"
    if decision.lowest <= decision.highest:
        assert decision.lowest - 1e-6 <= decision.speed <= decision.highest + 1e-6
        assert decision.uncovered_seconds == 0
        assert decision.speed >= work.minimum_control_cas - 1e-6
        if math.isfinite(lengths.minimum_go_speed[0]):
            assert decision.speed >= to_cas(cases, float(lengths.minimum_go_speed[0])) - 1e-6
            assert decision.go_distance <= work.go_available + 1.0
    else:
        assert decision.speed == decision.highest
        assert decision.uncovered_seconds >= 0

    line = line_check(numbers, decision)
    if line is not None:
        assert line.expected <= decision.speed - 10 * KNOT + 1e-6
        assert 0 <= line.tolerance <= technique.line_speed_most_tolerance
        assert line.minimum == pytest.approx(line.expected - line.tolerance)
        if line.board is not None:
            run = numbers.conditions.runway.takeoff_run_available
            here = run - line.board * 1000 * FOOT - numbers.conditions.start_offset
            assert line.distance == pytest.approx(here)


@pytest.fixture(scope="module")
def day(planned, tmp_path_factory):
    """Return a function that gives the sortie with words replaced."""
    return planned.day


# Without a rudder table there is no minimum control speed, and on a long runway no minimum go speed either:
# then nothing but the critical speed bounds from below, and a brake limit under it leaves nothing at all.
def test_a_day_on_which_nothing_bounds_from_below(day):
    pack = twin()
    energies = pack.wheels.energy_zones
    low = energies[-1].model_copy(update={"above": 15e6, "severity": "no-go"})
    bare = pack.model_copy(
        update={
            "aero": pack.aero.model_copy(update={"directional_control": None}),
            "wheels": pack.wheels.model_copy(update={"energy_zones": (energies[0], low)}),
        }
    )
    numbers = compute(day(("length: 9000 ft\n      slope", "length: 20000 ft\n      slope")), bare)
    decision = decide(numbers)

    assert decision.highest_cause == "maximum braking speed"
    assert math.isnan(decision.lowest)
    assert decision.speed == decision.highest
    assert decision.uncovered_seconds == 0


def test_the_lowest_choice_keeps_its_margin_inside_the_range(day):
    pack = twin()
    technique = pack.technique.takeoff.model_copy(
        update={"decision_speed_choice": "lowest", "decision_speed_margin": 3 * KNOT}
    )
    chosen = pack.model_copy(update={"technique": pack.technique.model_copy(update={"takeoff": technique})})
    decision = decide(compute(day(), chosen))

    assert decision.speed == pytest.approx(min(decision.lowest + 3 * KNOT, decision.highest))


# A cubic is met exactly by the cubic through four of its points (Lagrange); a straight line is not.
@pytest.mark.parametrize("at", [0.0, 0.4, 3.3, 9.99, 10.0])
def test_on_curve_meets_a_cubic(at):
    x = np.linspace(0.0, 10.0, 11)

    assert on_curve(at, x, x**3 - 4 * x**2) == pytest.approx(at**3 - 4 * at**2, abs=1e-9)


def test_on_curve_falls_back_where_it_cannot_know():
    x = np.arange(5.0)

    assert math.isnan(on_curve(-0.1, x, x))
    assert math.isnan(on_curve(4.1, x, x))
    assert on_curve(0.5, x, np.array([0.0, 1.0, np.inf, np.inf, np.inf])) == 0.5


# JCGM 100:2008 (GUM), 5.1.2: independent effects combine as the root of the sum of their squares: 3 and 4 are
# 5.
def test_half_width_of_independent_effects():
    assert half_width(np.array([100.0, 103.0, 96.0])) == pytest.approx(5.0)


@pytest.mark.parametrize("bad", [math.inf, -math.inf, math.nan])
def test_no_half_width_where_an_effect_is_unknown(bad):
    assert half_width(np.array([bad, 1.0, 2.0])) is None
    assert half_width(np.array([1.0, bad, bad])) is None
