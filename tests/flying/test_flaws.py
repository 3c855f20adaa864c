"""Mistakes that can be asked for: how they are written, and what is said of those that are none."""

import math

import pytest

from sortiewright.flying import FLAWS, flaw_of, flaws_of
from sortiewright.pack import InputError

KNOT = 1852.0 / 3600.0


def test_a_flaw_without_a_number_has_its_usual_amount():
    assert flaw_of("late_rotation").amount == pytest.approx(15 * KNOT)
    assert flaw_of("gear_late").amount == 15.0
    assert flaw_of("over_rotation").amount == pytest.approx(math.radians(6))


def test_a_number_is_in_the_unit_of_the_flaw():
    assert flaw_of("engine_failure=135").amount == pytest.approx(135 * KNOT)
    assert flaw_of("hard_landing=600").amount == pytest.approx(600 * 0.3048 / 60)
    assert (
        flaw_of("engine_failure=135").text
        == "loses an engine at 135 kt: stops below decision speed, else goes"
    )


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("late_rotaton", 'is no flaw. Did you mean "late_rotation"?'),
        ("engine_failure", "needs a number of kt. Write engine_failure=120"),
        ("late_rotation=15kt", "has no number. Write it without its unit, which is kt: late_rotation=15"),
        ("late_rotation=", "has no number"),
        ("late_rotation=nan", "is not a number of kt that can be flown. Write 1 to 60 kt"),
        ("gear_late=-3", "Write 1 to 120 s"),
        ("", "is no flaw"),
    ],
)
def test_what_is_no_flaw_is_said_with_what_to_write(text, said):
    with pytest.raises(InputError) as error:
        flaw_of(text)

    assert said in str(error.value)
    assert str(error.value).startswith("--flaw  ")


def test_all_faults_of_several_are_told_at_once():
    with pytest.raises(InputError) as error:
        flaws_of(["late_rotation", "early_rotation", "gear_late", "gear_late=20", "wobble"])

    said = str(error.value).splitlines()
    assert len(said) == 3
    assert any("early_rotation and late_rotation cannot both be flown" in line for line in said)
    assert any("gear_late is asked for twice" in line for line in said)


@pytest.mark.parametrize("name", FLAWS)
def test_usual_amounts_are_within_their_ranges(name):
    kind = FLAWS[name]

    assert kind.usual is None or kind.low <= kind.usual <= kind.high
    assert kind.low < kind.high
