"""Specific excess power over Mach number and altitude: values, marks and the lines that bound them."""

import numpy as np
import pytest
from aeroplanes import shipped
from hypothesis import assume, given, settings
from manoeuvring import KNOT, STORES, scenes, with_limits

from sortiewright.air import cas_from_mach, standard_pressure
from sortiewright.pack import OutsideTable
from sortiewright.performance import (
    GridMark,
    excess_power_grid,
    flight_point,
    flight_setup,
    instantaneous_turn,
    make_flight_cases,
    sustained_turn,
)


def grid_of(name="dotterel", mass=16_000.0, power=None, **how):
    pack = shipped(name)
    cases = make_flight_cases(mass, drag_index=20.0)
    setting = power or pack.engine.maximum or pack.engine.military
    return pack, cases, excess_power_grid(pack, flight_setup(pack), cases, setting, **how)


# Second road: the forces asked point by point, and the limits by the instantaneous turn.
@settings(max_examples=25)
@given(scenes(engines_fail=False))
def test_grid_holds_what_the_forces_leave_over_at_each_point(scene):
    pack, setup, cases = scene.parts
    load = 1.0 + (scene.drag_index / 90.0) * 3.0
    machs = np.array([0.4 * scene.mach, scene.mach])
    grid = excess_power_grid(
        pack,
        setup,
        cases,
        scene.power,
        load_factor=load,
        mach=machs,
        altitude=[0.5 * scene.altitude, scene.altitude + 1.0],
        stores=STORES[scene.name],
    )
    for row, height in enumerate(grid.altitude):
        where = {"altitude": [height], "mach": machs[None, :]}
        turn = instantaneous_turn(pack, setup, cases, stores=STORES[scene.name], **where)
        able = turn.turn.load_factor[0] >= load
        assert (grid.mark[0, row] == GridMark.ALLOWED).tolist() == able.tolist()
        assert np.isfinite(grid.energy_rate[0, row]).tolist() == able.tolist()
        point = flight_point(
            pack,
            setup,
            cases,
            scene.power,
            mass=[[scene.mass]],
            pressure_altitude=[[height]],
            mach=machs[None, :],
            load_factor=load,
        )
        assert grid.energy_rate[0, row, able] == pytest.approx(point.energy_rate[0, able], abs=1e-6)


# The two ways to say it: the line of nought at a load factor is the sustained turn at that load factor.
def test_sustained_load_factor_lies_on_the_line_of_nought():
    pack = shipped("dotterel")
    setup, cases = flight_setup(pack), make_flight_cases(16_000.0)
    turn = sustained_turn(pack, setup, cases, altitude=5_000.0, mach=[[0.6, 0.8, 0.9]], power="military")
    for column, load in enumerate(turn.turn.load_factor[0]):
        grid = excess_power_grid(
            pack,
            setup,
            cases,
            "military",
            load_factor=float(load),
            mach=[turn.mach[0, column]],
            altitude=[5_000.0],
        )
        assert grid.energy_rate[0, 0, 0] == pytest.approx(0.0, abs=1e-5)


def test_points_outside_the_tables_are_marked_and_never_extrapolated():
    _, _, grid = grid_of(
        "whinchat", 3_000.0, mach=[0.3, 0.6, 0.9], altitude=[-1_000.0, 0.0, 5_000.0, 14_000.0]
    )

    assert grid.mark[0].tolist() == [
        [GridMark.OUTSIDE_TABLES] * 3,
        [GridMark.ALLOWED, GridMark.BEYOND_SPEED, GridMark.OUTSIDE_TABLES],
        [GridMark.ALLOWED, GridMark.ALLOWED, GridMark.OUTSIDE_TABLES],
        [GridMark.OUTSIDE_TABLES] * 3,
    ]
    assert (np.isfinite(grid.continued[0]) == (grid.mark[0] != GridMark.OUTSIDE_TABLES)).all()


def test_a_load_factor_below_the_lowest_angle_of_the_table_is_outside_it():
    pack = shipped("dotterel")
    only = pack.aero.configurations["clean"]
    lift, drag = (
        table.__class__(
            table.name,
            (table.axes[0][8:], table.axes[1]),
            table.values[8:],
            table.names,
            table.units,
        )
        for table in (only.lift, only.drag)
    )
    clean = only.model_copy(update={"lift": lift, "drag": drag})
    known = {**pack.aero.configurations, "clean": clean}
    tilted = pack.airframe.model_copy(update={"thrust_inclination": 0.05})
    cut = pack.model_copy(
        update={"aero": pack.aero.model_copy(update={"configurations": known}), "airframe": tilted}
    )
    # The table begins at 2 deg, where a fast aeroplane carries more than its weight already.
    grid = excess_power_grid(cut, flight_setup(cut), make_flight_cases(13_000.0), "maximum")

    assert (grid.mark == GridMark.OUTSIDE_TABLES).any()
    assert (grid.mark == GridMark.ALLOWED).any()
    assert np.isnan(grid.continued[grid.mark == GridMark.OUTSIDE_TABLES]).all()


@settings(max_examples=25)
@given(scenes(engines_fail=False))
def test_lift_line_is_where_the_wing_gives_the_load_factor_and_no_more(scene):
    load = 1.0 + scene.drag_index / 30.0
    free = with_limits(
        scene.pack, load_factor_positive=None, maximum_mach=None, maximum_cas=None, flap_speed={}
    )
    grid = excess_power_grid(
        free, flight_setup(free), scene.cases, scene.power, load_factor=load, mach=[scene.mach]
    )
    height = float(grid.lift_altitude[0, 0])
    assume(-1_900.0 < height < 30_000.0)
    turn = instantaneous_turn(free, flight_setup(free), scene.cases, altitude=[height], mach=[scene.mach])

    assert turn.turn.load_factor[0] == pytest.approx(load, rel=1e-9) or load == 1.0


def test_speed_line_is_the_lower_of_both_limits_at_each_height():
    pack, _, grid = grid_of()
    limits = pack.limits
    cas = cas_from_mach(grid.top_mach[0], standard_pressure(grid.altitude))

    # limits.yaml of the pack: 700 kt and Mach 1.75.
    is_cas = grid.top_mach[0] < 1.75 - 1e-9
    assert is_cas.any()
    assert not is_cas.all()
    assert cas[is_cas] == pytest.approx(np.full(is_cas.sum(), 700.0 * KNOT), rel=1e-9)
    assert grid.is_at_limit.all()
    assert limits.maximum_mach.value == grid.mach[-1]


def test_values_run_on_through_the_lift_limit_without_a_step():
    pack = shipped("dotterel")
    setup, cases = flight_setup(pack), make_flight_cases(16_000.0)
    fine = np.linspace(0.25, 0.45, 2001)
    grid = excess_power_grid(pack, setup, cases, "maximum", load_factor=2.0, mach=fine, altitude=[3_000.0])
    marked = grid.mark[0, 0] == GridMark.BEYOND_LIFT

    assert marked.any()
    assert not marked.all()
    assert np.abs(np.diff(grid.continued[0, 0])).max() < 0.5


def test_more_load_factor_leaves_less_power_everywhere():
    _, _, level = grid_of(load_factor=1.0)
    _, _, turning = grid_of(load_factor=3.0)
    both = np.isfinite(level.energy_rate) & np.isfinite(turning.energy_rate)

    assert both.sum() > 100
    assert (turning.energy_rate[both] < level.energy_rate[both]).all()


def test_a_load_factor_beyond_the_limit_leaves_no_point():
    _, _, grid = grid_of(load_factor=4.8, stores=("belly_tank",))

    assert (grid.mark >= GridMark.BEYOND_LOAD_FACTOR).all()
    assert np.isnan(grid.energy_rate).all()


@pytest.mark.parametrize(
    ("how", "message"),
    [
        ({"load_factor": -1.0}, "0 or more, got -1"),
        ({"load_factor": np.nan}, "0 or more, got nan"),
        ({"mach": [0.5, 0.4]}, "Mach of the grid must be finite and rise"),
        ({"altitude": [0.0, np.inf]}, "altitude of the grid must be finite and rise"),
        ({"power": "warp"}, 'power setting "warp" is not in the pack'),
        ({"stores": ("anvil",)}, 'store "anvil" is not in the pack'),
    ],
)
def test_grid_that_cannot_be_is_refused(how, message):
    with pytest.raises(ValueError, match=message):
        grid_of(**how)


def test_a_day_hotter_than_the_tables_is_refused():
    pack = shipped("dotterel")
    with pytest.raises(OutsideTable, match="isa_deviation"):
        excess_power_grid(
            pack, flight_setup(pack), make_flight_cases(16_000.0, isa_deviation=80.0), "maximum"
        )
