"""A whole route flown again by another road: time steps, other code, the same tables."""

from __future__ import annotations

import pytest
from route_sortie import flown, load_route_sortie, ramp_and_takeoff
from second_route import FOOT, KNOT, Craft, Day, Flight, mach_of_cas, standard_temperature

from sortiewright.pack import load_pack
from sortiewright.performance import balance_of
from sortiewright.sortie.route_points import way_between

PACK = load_pack("dotterel").pack
CELSIUS = 273.15


def day_of(route_rows):
    """Return the winds of the sortie: METAR 28014KT 15/09 Q1009 at 212 ft, and the levels it writes."""
    field = route_rows[0].start_altitude
    zero = field - 212 * FOOT

    def level(height, wind_from, knots, celsius):
        return height, wind_from, knots * KNOT, celsius + CELSIUS - standard_temperature(height)

    return Day(
        [
            level(field, 280, 14, 15),
            level(2_000 * FOOT + zero, 285, 22, 11),
            level(10_000 * FOOT, 290, 36, -5),
            level(20_000 * FOOT, 300, 50, -25),
            level(30_000 * FOOT, 300, 70, -46),
        ]
    )


def start_of_flight(changes, rows):
    """Return the aircraft at the screen, 27 s after brake release, run-up and takeoff flow burnt."""
    _, load = ramp_and_takeoff(load_route_sortie(*changes))
    run_up = next(row for row in rows if row.part == "run_up").fuel
    maximum, field = PACK.engine.settings["maximum"], rows[0].start_altitude
    day = day_of(rows)
    warm = day.at(field)[2]
    flow = 2 * float(maximum.fuel_flow(0.15, field)) * float(maximum.fuel_flow_temperature_factor(warm))
    full = balance_of(PACK, load)
    sound = (1.4 * 287.05287 * (standard_temperature(field) + warm)) ** 0.5
    craft = Craft(PACK, full.drag_index)
    tas = mach_of_cas(95.0, field) * sound
    return Flight(craft, day, 0.0, field, tas, full.mass - run_up - 27.0 * flow, 27.0), load, full.mass


def climb_mach(height):
    return min(mach_of_cas(350 * KNOT, height), 0.80)


def fly_again(flight, route, heights):
    """Fly the five legs: climb and cruise speeds as the pack writes them, the descent begun where the program
    begins it."""
    for leg, height in enumerate(heights):
        way = way_between(route.points[leg], route.points[leg + 1])
        course, flight.along = way.middle_course_deg, 0.0
        if leg == 0:
            flight.change_speed(course, "maximum", mach_of_cas(300 * KNOT, flight.height))
        if height > flight.height + 1.0:
            if flight.mach < climb_mach(flight.height):
                flight.change_speed(course, "military", climb_mach(flight.height))
            flight.change_height(course, "military", climb_mach, height)
        cruise = 0.70 if leg == 2 else 0.80
        if abs(flight.mach - cruise) > 0.02:
            flight.change_speed(course, "military" if flight.mach < cruise else "idle", cruise)
        flight.tas *= cruise / flight.mach
        if leg < 4:
            flight.cruise(course, way.distance)
    down = next(row for row in route.rows if row.part == "descent")
    flight.cruise(course, way.distance - down.distance)
    slow = mach_of_cas(300 * KNOT, flight.height)
    flight.change_speed(course, "idle", slow)
    flight.change_height(
        course, "idle", lambda height: min(mach_of_cas(300 * KNOT, height), slow), down.end_altitude
    )
    return way.distance, down


# Half a percent of time and fuel is what such a second integration is held to; a tenth of a percent is what
# the program says of its cells.
@pytest.mark.parametrize(
    ("changes", "levels"),
    [((), (200,) * 5), ((("{to: DORNA}", "{to: DORNA, flight_level: 220}"),), (200, 200, 200, 220, 220))],
)
def test_a_whole_route_takes_the_same_time_and_fuel_when_stepped_over_time(changes, levels):
    route = flown(*changes)
    flight, load, start_mass = start_of_flight(changes, route.rows)

    length, down = fly_again(flight, route, [level * 100 * FOOT for level in levels])

    assert route.complete
    assert flight.along == pytest.approx(length, rel=1e-3)
    assert flight.clock == pytest.approx(down.elapsed, rel=1e-3)
    assert start_mass - flight.mass == pytest.approx(load.total_fuel - down.fuel_aboard, rel=1e-3)
