import json
from pathlib import Path

import numpy as np
import pytest

from sortiewright.performance import level_turn

# Group G; the file names the source of each check.
CHECKS = {
    one["id"]: one
    for one in json.loads(
        (Path(__file__).parents[1] / "data" / "external_checks" / "group_g.json").read_text(encoding="utf-8")
    )["checks"]
}
KNOT = 1852.0 / 3600.0
FOOT = 0.3048
STANDARD_GRAVITY = 9.80665
# The handbook of X-G03 to X-G05 prints radius = V^2 / (11.26 tan(bank)) in knots and feet. By the definitions
# of knot, foot and gravity the constant is 11.294: its printed radii are 0.3 % long, and do not fit its own
# rates, which are right (radius times rate is to be the speed).
HANDBOOK_CONSTANT = 11.26
EXACT_CONSTANT = STANDARD_GRAVITY / FOOT / (KNOT / FOOT) ** 2


def given(name, key):
    return CHECKS[name]["inputs"][key]["value"]


def expected(name, key):
    tolerance = CHECKS[name]["tol"][key]
    value = CHECKS[name]["expected"][key]["value"]
    return pytest.approx(value, abs=tolerance.get("abs", 0.0), rel=tolerance.get("rel", 0.0))


@pytest.mark.parametrize("name", ["X-G01", "X-G02"])
def test_turn_at_a_load_factor(name):
    turn = level_turn(given(name, "TAS") * KNOT, load_factor=given(name, "n"))

    assert np.degrees(turn.bank) == expected(name, "bank")
    assert np.degrees(turn.rate) == expected(name, "rate")
    assert turn.radius / FOOT == expected(name, "radius")


@pytest.mark.parametrize("name", ["X-G03", "X-G04", "X-G05"])
def test_turn_at_a_bank(name):
    turn = level_turn(given(name, "TAS") * KNOT, bank=np.radians(given(name, "bank")))

    assert turn.load_factor == expected(name, "n")
    assert np.degrees(turn.rate) == expected(name, "rate")
    assert turn.radius / FOOT * EXACT_CONSTANT / HANDBOOK_CONSTANT == expected(name, "radius")


# X-G06 takes gravity as 10 m/s2; the radius of a turn goes with its inverse.
def test_radius_of_an_examination_question():
    turn = level_turn(given("X-G06", "TAS") * KNOT, bank=np.radians(given("X-G06", "bank")))

    assert turn.radius * STANDARD_GRAVITY / given("X-G06", "g") == expected("X-G06", "radius")


def test_time_of_a_full_circle():
    turn = level_turn(given("X-G07", "TAS") * KNOT, bank=np.radians(given("X-G07", "bank")))

    assert turn.time_of_circle == expected("X-G07", "time")


# Second road: the bank that a load factor asks for gives that load factor back.
def test_bank_and_load_factor_describe_the_same_turn():
    n = np.array([1.0, 1.0001, 1.5, 2.0, 4.0, 7.33, 9.0])
    by_load_factor = level_turn(200.0, load_factor=n)
    by_bank = level_turn(200.0, bank=by_load_factor.bank)

    assert by_bank.load_factor == pytest.approx(n, rel=1e-12)
    assert by_bank.rate == pytest.approx(by_load_factor.rate, rel=1e-7, abs=1e-12)


# Newton: V^2 / r is the acceleration towards the centre, and with gravity it makes up the load factor.
def test_acceleration_towards_the_centre_and_gravity_make_up_the_load_factor():
    tas = np.array([[80.0], [150.0], [240.0]])
    turn = level_turn(tas, load_factor=[1.2, 3.0, 6.5])

    assert turn.radius.shape == (3, 3)
    assert np.hypot(tas**2 / turn.radius, STANDARD_GRAVITY) / STANDARD_GRAVITY == pytest.approx(
        turn.load_factor, rel=1e-12
    )


def test_wings_level_never_come_round():
    turn = level_turn(100.0, bank=0.0)

    assert turn.rate == 0.0
    assert np.isinf(turn.radius)
    assert np.isinf(turn.time_of_circle)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"tas": 0.0, "bank": 0.5}, "above zero, got 0 m/s"),
        ({"tas": 100.0, "load_factor": 0.9}, "1 or more, got 0.9"),
        ({"tas": 100.0, "load_factor": np.nan}, "1 or more, got nan"),
        ({"tas": 100.0, "bank": np.pi / 2}, "less than 90 deg, got 90 deg"),
        ({"tas": 100.0, "bank": -0.1}, "0 to less than 90 deg"),
        ({"tas": 100.0}, "give one of the two"),
        ({"tas": 100.0, "bank": 0.5, "load_factor": 2.0}, "give one of the two"),
    ],
)
def test_turn_that_cannot_be_is_refused(arguments, message):
    with pytest.raises(ValueError, match=message):
        level_turn(**arguments)
