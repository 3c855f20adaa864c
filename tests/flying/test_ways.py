"""Ways over the ground: taxiway and circuit, and the circle that leads to a point of one."""

import math

import pytest

from sortiewright.flying.ways import Way, circuit_way, taxi_way, turn_rate_to


@pytest.mark.parametrize("radius", [25.0, 90.0, 300.0])
def test_a_taxiway_ends_on_the_centre_line_in_the_direction_of_takeoff(radius):
    side = 2 * radius + 150.0
    way, turn, hold = taxi_way(line_up=10.0, straight=200.0, side=side, radius=radius)

    assert (way.along[-1], way.right[-1]) == pytest.approx((10.0, 0.0), abs=1e-6)
    assert way.end_course == pytest.approx(0.0, abs=1e-9)
    assert way.right[turn] == pytest.approx(side)
    assert way.right[hold] >= max(90.0, radius)
    assert 0 < turn < hold < len(way.along)
    # No step turns back: on a line of arcs and straights each step continues the last.
    for i in range(1, len(way.along) - 1):
        a = way.along[i] - way.along[i - 1], way.right[i] - way.right[i - 1]
        b = way.along[i + 1] - way.along[i], way.right[i + 1] - way.right[i]
        assert a[0] * b[0] + a[1] * b[1] > 0.0


def test_a_circuit_goes_round_to_the_left_and_ends_along_the_centre_line():
    way, downwind, base = circuit_way(
        along=4000.0, right=20.0, radius=2000.0, final_from=-9000.0, far_end=500.0
    )
    farthest = min(way.right)

    assert way.right[downwind] == pytest.approx(20.0 - 4000.0, abs=1.0)
    assert way.along[base] == pytest.approx(-9000.0)
    assert farthest == pytest.approx(-4000.0, abs=30.0)
    assert (way.along[-1], way.right[-1]) == pytest.approx((500.0, 0.0), abs=1e-6)
    assert way.end_course == pytest.approx(0.0, abs=1e-9)


# A chord of length d at an angle b to the tangent belongs to a circle of radius d / (2 sin b).
def test_the_circle_to_a_point_of_the_way_passes_through_it():
    way = Way([0.0], [0.0])
    way.line_to(400.0, 0.0)
    speed, ahead = 20.0, 40.0
    rate = turn_rate_to(way, along=0.0, right=10.0, course=0.0, speed=speed, ahead=ahead)
    bearing, chord = math.atan2(-10.0, 40.0), math.hypot(10.0, 40.0)

    assert rate == pytest.approx(speed / (chord / (2.0 * math.sin(bearing))))


def test_a_way_is_never_followed_backwards_and_goes_on_straight_beyond_its_end():
    way = Way([0.0], [0.0])
    way.line_to(100.0, 0.0)
    way.look(60.0, 3.0, 10.0)
    passed = way.at

    assert way.look(20.0, 0.0, 10.0)[0] > 60.0
    assert way.at == passed
    assert way.look(100.0, 0.0, 50.0) == pytest.approx((150.0, 0.0))
