"""Laws of the route and its fuel plan, searched for a case that breaks them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from route_sortie import NO_WIND, ROUTE_SORTIE, fly_loaded, load_route_sortie, ramp_and_takeoff
from ways_home import FOOT, MILE, POUND, POWER, ask, one_profile

from sortiewright.pack import load_pack
from sortiewright.performance import way_home
from sortiewright.sortie.fuel_ladder import ladder_of

LEGS = ROUTE_SORTIE[ROUTE_SORTIE.index("    - {to: ALFER") :]
POINTS = ROUTE_SORTIE[ROUTE_SORTIE.index("    BRENT") : ROUTE_SORTIE.index("    DORNA")]
STATIONS = ("belly", "left_inboard", "right_inboard")


orbits = st.integers(2, 25).map(lambda minutes: f"{{orbit: {{time: {minutes} min, flight_level: 150}}}}")
tasks = st.integers(1, 8).map(lambda minutes: f"{{task: {{time: {minutes} min, power: maximum}}}}")
refuels = st.integers(500, 12_000).map(
    lambda pounds: f"{{refuel: {{rate: 2000 lb/min, fuel: {pounds} lb, flight_level: 150, cas: 280 kt}}}}"
)
deeds = st.lists(st.one_of(orbits, tasks, refuels), max_size=3)


@st.composite
def busy_legs(draw):
    """Draw legs at whose points fuel is burnt, taken on, and let go with a tank."""
    left = draw(st.permutations(STATIONS))
    lines = []
    for name, level in (("ALFER", 200), ("BRENT", draw(st.integers(60, 300))), ("CULLEN", 250)):
        then = draw(deeds)
        if left and draw(st.booleans()):
            gone, left = left[0], left[1:]
            then.insert(draw(st.integers(0, len(then))), f"{{release: [{gone}]}}")
        done = f", then: [{', '.join(then)}]" if then else ""
        lines.append(f"    - {{to: {name}, flight_level: {level}{done}}}\n")
    return "".join(lines) + "    - {to: ZZCH}\n"


# Conservation, to a tenth of a pound: what the ladder shows is what was aboard at the ramp, less what each
# row burns, more what it takes on, less what falls with a tank, which is read off the row before.
@settings(max_examples=10)
@given(legs=busy_legs())
def test_fuel_is_conserved_over_the_ladder_and_no_tank_leaves_its_bounds(legs):
    loaded = load_route_sortie((LEGS, legs))
    flown, pack = fly_loaded(loaded), loaded.pack.pack
    before, _ = ramp_and_takeoff(loaded)
    expected = before.total_fuel
    ladder = ladder_of(pack, flown, [None] * len(flown.rows), before)

    assert len(ladder) == len(flown.rows)
    for step in ladder:
        row = flown.rows[step.row]
        fallen = row.load.released - before.released
        expected += row.fuel_on - row.fuel - sum(before.store_fuel.get(name, 0.0) for name in fallen)
        before = row.load
        assert step.planned == pytest.approx(expected, abs=0.1 * POUND)
        assert sum(step.tanks.values()) == pytest.approx(step.planned, abs=0.1 * POUND)
        for name, kg in step.tanks.items():
            if name.startswith("external:"):
                tank = pack.stores["belly_tank"]
                least, most = tank.fuel_unusable, tank.fuel_capacity
            else:
                least, most = pack.mass.tanks[name].unusable, pack.mass.tanks[name].capacity
            assert least - 1e-6 <= kg <= most + 1e-6


# Beyond 90 nmi even the longest descent leaves a part of the way to be flown against the wind.
@settings(max_examples=8)
@given(
    distance=st.floats(90.0, 350.0),
    height=st.floats(1_000.0, 30_000.0),
    drag_index=st.floats(0.0, 80.0),
    least=st.floats(-60.0, 30.0),
    step=st.floats(1.0, 10.0),
)
def test_bingo_rises_with_headwind_home(distance, height, drag_index, least, step):
    winds = least + step * np.arange(4.0)
    asked = ask(
        one_profile(drag_index=drag_index), np.full(4, distance * MILE), height * FOOT, 0.7, headwind=winds
    )
    bingo = way_home(load_pack("dotterel").pack, asked.profiles, asked.starts, asked.air, POWER).bingo

    assert (np.diff(bingo) > 0.0).all()


# Symmetry: level, at one Mach number (a change of it is flown, and quicker one way than the other), in still
# air of one temperature at each height. The first and last point are far enough out to be level there.
@settings(max_examples=8)
@given(
    north=st.floats(56.9, 58.5),
    west=st.floats(-7.5, -6.0),
    south=st.floats(56.9, 58.5),
    east=st.floats(-5.5, -4.0),
    level=st.integers(80, 200),
    mach=st.floats(0.62, 0.84),
)
def test_a_route_reversed_in_no_wind_takes_the_same_time(north, west, south, east, level, mach):
    points = (
        POINTS,
        f"    BRENT: {{latitude: {north}, longitude: {west}}}\n"
        f"    CULLEN: {{latitude: {south}, longitude: {east}}}\n",
    )

    def time(*names):
        lines = "".join(f"    - {{to: {name}, flight_level: {level}, mach: {mach}}}\n" for name in names)
        route = fly_loaded(load_route_sortie(NO_WIND, points, (LEGS, lines + "    - {to: ZZCH}\n")))
        rows = [row for row in route.rows if row.leg in (1, 2, 3)]
        assert {row.part for row in rows} == {"cruise"}
        return sum(row.time for row in rows)

    out, back = time("ALFER", "BRENT", "CULLEN", "DORNA"), time("DORNA", "CULLEN", "BRENT", "ALFER")
    assert out == pytest.approx(back, rel=1e-9)
