"""Brake energy: group D names the source of each check."""

import numpy as np
import pytest
from aeroplanes import shipped
from external_checks import check, expected, value

from sortiewright.performance import energy_zone, heat_left, kinetic_energy_per_wheel, maximum_braking_speed

KNOT, POUND, FOOT_POUND_FORCE = 1852.0 / 3600.0, 0.45359237, 1.3558179483314
MILLION = 1e6 * FOOT_POUND_FORCE


# X-D09, X-D10
@pytest.mark.parametrize("identity", ["X-D09", "X-D10"])
def test_kinetic_energy_per_braked_wheel(identity):
    one = check(identity)
    energy = kinetic_energy_per_wheel(
        value(one, "weight", POUND), value(one, "groundspeed", KNOT), int(value(one, "braked_wheels"))
    )

    assert energy == expected(one, "energy_exact", MILLION)
    assert energy == expected(one, "energy_0.0443", MILLION)


def test_maximum_braking_speed_puts_the_limit_into_the_brakes():
    speed = maximum_braking_speed(shipped("dotterel"), [15_000.0, 20_000.0], 40e6)

    assert 2.0 * kinetic_energy_per_wheel([15_000.0, 20_000.0], speed, 2) == pytest.approx(40e6, rel=1e-12)


def test_zone_begins_at_its_own_energy():
    pack = shipped("dotterel")
    normal, caution, danger = sorted(pack.wheels.energy_zones, key=lambda zone: zone.above)

    assert energy_zone(pack, np.nextafter(caution.above, 0.0)) is normal
    assert energy_zone(pack, caution.above) is caution
    assert energy_zone(pack, 10.0 * danger.above) is danger


# Newton's law of cooling: after one time constant 1/e is left, after two its square.
def test_heat_left_in_the_brakes():
    assert heat_left(10e6, [0.0, 1800.0, 3600.0], 1800.0) == pytest.approx(
        [10e6, 10e6 / np.e, 10e6 / np.e**2], rel=1e-12
    )
