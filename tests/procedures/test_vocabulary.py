"""What conditions may speak of, and its value today."""

import functools
import math

import pytest
from small_procedures import shipped, small_procedures

from sortiewright.expressions import ExpressionError, parse_expression
from sortiewright.procedures import control_vocabulary, fact_values, sortie_vocabulary
from sortiewright.sortie import demo_sortie_path, load_sortie, plan
from sortiewright.sortie.figure_names import WORDS_ONLY, figure_kinds

SORTIES = sorted(path.stem for path in demo_sortie_path().parent.glob("*.yaml"))
CARRIES = ["carries", "carries_at", "loaded", "occupied"]


@functools.cache
def today(name="demo"):
    loaded = load_sortie(demo_sortie_path().with_name(f"{name}.yaml"))
    made = plan(loaded.sortie, loaded.pack)
    return loaded.pack.pack, made, fact_values(loaded.sortie, made, loaded.pack.pack)


def truth(text, name="demo"):
    pack, _, values = today(name)
    return parse_expression(text, sortie_vocabulary(pack)).truth(values)


@pytest.mark.parametrize("name", SORTIES)
def test_every_name_and_every_call_has_a_value_today(name):
    pack, _, values = today(name)
    vocabulary = sortie_vocabulary(pack)

    assert set(vocabulary.names) <= values.keys()
    assert len([fact for fact in values if isinstance(fact, tuple) and fact[0] == "carries_at"]) == len(
        pack.mass.stations
    ) * len(pack.stores)


# A value that is not of the type that was promised would be a fault of the program, told by the expression.
@pytest.mark.parametrize("name", SORTIES)
def test_every_value_is_of_its_type(name):
    pack, _, values = today(name)
    vocabulary = sortie_vocabulary(pack)
    for one in vocabulary.names:
        parse_expression(f"known({one})", vocabulary).truth(values)


def test_figures_are_compared_in_si():
    _, made, values = today()

    assert values["rotation_speed"] == made.figure("takeoff", "rotation_speed").value
    assert values["landing_stall_speed"] == made.figure("landing", "stall_speed").value


# A figure gives a course in degrees; 258 degrees true less the variation lies in the third quadrant.
def test_a_course_is_compared_as_an_angle():
    _, made, values = today()
    degrees = made.figure("field", "runway_heading_magnetic").value

    assert values["runway_heading_magnetic"] == pytest.approx(math.radians(degrees))
    assert truth("deg(240) < runway_heading_magnetic < deg(275)")


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("carries('belly_tank')", True),
        ("carries('wing_tank')", False),
        ("carries_at('left_inboard', 'plover_bomb')", True),
        ("carries_at('belly', 'plover_bomb')", False),
        ("loaded('belly')", True),
        ("loaded('left_cheek')", False),
        ("occupied('rear')", True),
        ("external_fuel > lb(1000)", True),
        ("temperature < degC(5)", False),
        ("runway_condition in ('wet', 'icy')", False),
        ("takeoff_power == 'maximum' and takeoff_configuration == 'takeoff'", True),
        ("at_night or standing_water or lands_elsewhere", False),
        ("cable_rigged and chute_for_reject and chute_for_landing", True),
        ("known(rotation_speed) and not at_night", True),
    ],
)
def test_what_is_true_of_the_demo_sortie(text, wanted):
    assert truth(text) is wanted


# Strong three-valued logic (Kleene 1952, section 64, from memory): what is not known decides nothing alone.
def test_a_figure_that_words_stand_for_is_not_known():
    assert today("hot_high_heavy")[1].figure("engine_failure", "critical_field_length").value is None
    assert truth("critical_field_length > ft(9000)", "hot_high_heavy") is None
    assert truth("critical_field_length > ft(9000) and at_night", "hot_high_heavy") is False


def test_figures_in_words_are_no_part_of_the_vocabulary():
    names = sortie_vocabulary(shipped().pack).names

    assert set(figure_kinds(shipped().pack)) - set(names) == WORDS_ONLY


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("carries('whinchat')", "is not one of the stores of dotterel"),
        ("loaded('bely')", 'Did you mean "belly"?'),
        ("occupied('back')", "is not one of the seats of dotterel"),
        ("runway_condition == 'damp'", "is not one of the conditions"),
        ("takeoff_power == 'dry'", "is not one of the settings"),
        ("gear_handle == 'UP'", '"gear_handle" is not a known name'),
    ],
)
def test_what_a_sortie_does_not_have_is_refused(text, said):
    with pytest.raises(ExpressionError) as caught:
        parse_expression(text, sortie_vocabulary(shipped().pack))

    assert said in str(caught.value)


def test_controls_and_states_are_choices_of_their_positions(tmp_path):
    vocabulary = control_vocabulary(small_procedures(tmp_path).cockpit)
    expression = parse_expression("tank_selector in ('1', '2') and weight_on_wheels == 'YES'", vocabulary)

    assert expression.truth({"tank_selector": "2", "weight_on_wheels": "YES"}) is True
    assert expression.truth({"tank_selector": "BELLY", "weight_on_wheels": "YES"}) is False
    assert expression.truth({"weight_on_wheels": "YES"}) is None
