"""Routes no one would fly: whatever a file may say, the route is flown, or says why it is not."""

from __future__ import annotations

from itertools import pairwise
from math import isfinite
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from route_sortie import ROUTE_SORTIE, WINDS, even_wind, fly_loaded, ramp_and_takeoff

from sortiewright.sortie import read_sortie

HEAD = ROUTE_SORTIE[: ROUTE_SORTIE.index("  legs:")]
POINTS = ("ALFER", "BRENT", "CULLEN", "DORNA")

levels = st.sampled_from(
    [
        "",
        "flight_level: 60",
        "flight_level: 200",
        "flight_level: 320",
        "altitude: 800 ft",
        "altitude: 28000 ft",
    ]
)
speeds = st.one_of(
    st.just(""),
    st.integers(20, 130).map(lambda mach: f"mach: {mach / 100}"),
    st.integers(130, 650).map(lambda knots: f"cas: {knots} kt"),
    st.sampled_from(["best: range", "best: endurance", "tas: 400 kt"]),
)
whats = st.sampled_from(
    [
        ("orbit", "time: 6 min"),
        ("orbit", 'until: "10:20Z", bank: 40 deg'),
        ("refuel", "time: 4 min"),
        ("refuel", "rate: 2000 lb/min, fuel: 3000 lb"),
        ("task", "time: 3 min, power: maximum, power_share: 50 %"),
        ("turn", "heading_change: 200 deg, bank: 60 deg"),
        ("turn", "heading_change: 90 deg"),
    ]
)


def joined(*parts):
    return ", ".join(part for part in parts if part)


done = st.builds(
    lambda what, level, speed: f"{{{what[0]}: {{{joined(what[1], level, speed)}}}}}", whats, levels, speeds
)
timed = st.one_of(speeds, st.integers(0, 59).map(lambda minute: f'arrive: "10:{minute:02d}Z"'))
arrivals = st.sampled_from(["", "", "arrive_altitude: 2000 ft", "arrive_flight_level: 250"])
legs = st.lists(st.tuples(st.integers(1, 3), levels, timed, arrivals, st.lists(done, max_size=2)), max_size=5)


@settings(max_examples=20)
@given(legs=legs, wind=st.one_of(st.none(), st.tuples(st.integers(0, 360), st.integers(0, 150))))
@pytest.mark.filterwarnings("error")
def test_any_route_is_flown_or_says_why_not(legs, wind):
    place, lines = 0, ["    - {to: ALFER, flight_level: 150}"]
    for ahead, level, speed, arrival, then in legs:
        place = (place + ahead) % len(POINTS)
        last = f"then: [{', '.join(then)}]" if then else ""
        lines.append(f"    - {{{joined(f'to: {POINTS[place]}', level, speed, arrival, last)}}}")
    text = HEAD if wind is None else HEAD.replace(WINDS, even_wind(*wind)[1])
    loaded = read_sortie(text + "  legs:\n" + "\n".join([*lines, "    - {to: ZZCH}"]), "any.yaml", Path())

    route = fly_loaded(loaded)

    aboard = ramp_and_takeoff(loaded)[0].total_fuel
    for row in route.rows:
        assert all(
            isfinite(one) and one >= 0.0 for one in (row.time, row.fuel, row.distance, row.air_distance)
        )
        aboard += row.fuel_on - row.fuel
        assert row.fuel_aboard == pytest.approx(aboard, abs=0.04)
    for before, after in pairwise(route.rows):
        assert after.elapsed == pytest.approx(before.elapsed + after.time, abs=1e-6)
        assert after.start == before.end
    assert route.complete or route.faults
