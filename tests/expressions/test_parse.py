"""What is an expression, what is not, and what is said about it."""

import pickle
from pathlib import Path

import pytest

from sortiewright.expressions import (
    PLAIN,
    TRUTH,
    ChoiceType,
    ExpressionError,
    Fault,
    NumberType,
    Vocabulary,
    parse_expression,
)

SOUND = [
    "at_night",
    "not at_night",
    "(at_night)",
    "  at_night\n",
    "at_night and\n  cable_rigged",
    "crosswind > kt(15)",
    "kt(5) < crosswind <= kt(20)",
    "0 < crosswind",
    "crosswind >= -kt(3)",
    "crosswind != 0",
    "runway_condition == 'dry'",
    "'dry' == runway_condition",
    'runway_condition in ("wet", "icy")',
    "runway_condition in ['wet']",
    "runway_condition not in {'wet', 'icy'}",
    "runway_condition == alternate_condition",
    "runway_condition != alternate_condition",
    "carries('belly_tank')",
    "carries_at('left', 'wing_tank') or carries('wing_tank')",
    "fuel_in('front') > lb(500)",
    "past(minutes(5))",
    "past(0)",
    "known(temperature)",
    "known(carries('belly_tank')) and known(runway_condition) and known(crosswind > kt(3))",
    "at_night == cable_rigged",
    "at_night != True",
    "True",
    "abs(crosswind) > kt(5)",
    "max(crosswind, headwind, kt(3)) > kt(4)",
    "min(crosswind, 0) < 0",
    "temperature - degC(15) > delta_degC(10)",
    "temperature + delta_degC(10) > degC(30)",
    "max(temperature, degC(0)) < degC(5)",
    "takeoff_mass / external_fuel > 4",
    "takeoff_mass * 1.1 > klb(40)",
    "2 * takeoff_mass / 3 > klb(40)",
    "fuel_flow * time_to_go < external_fuel",
    "crosswind * s(3) > ft(100)",
    "ft(200) / nmi(1) < climb_gradient",
    "climb_gradient > percent(2.4)",
    "climb_gradient > ft_per_nmi(200)",
    "load_factor > g(6.5)",
    "load_factor > 6.5",
    "approach_angle > deg(12.5)",
    "side_moment > ft_lbf(5000) or side_moment > N(100) * m(20)",
    "crosswind > kt(1e1)",
    "crosswind > kt(.5)",
    "crosswind > kt(5.)",
    "crosswind > +kt(5)",
    "gear_handle == 'DOWN'",
]


@pytest.mark.parametrize("text", SOUND)
def test_sound_text_is_an_expression(text, vocabulary):
    expression = parse_expression(text, vocabulary)

    assert expression.type == TRUTH
    assert expression.truth({}) in (True, False, None)


# Each block: a text, carets under the faulty part, what is said.
FAULTS = (Path(__file__).parent / "faults.txt").read_text("utf-8").strip("\n").split("\n\n")


@pytest.mark.parametrize("block", FAULTS, ids=[block.splitlines()[0] for block in FAULTS])
def test_fault_is_told_with_its_place_and_what_to_do(block, vocabulary):
    with pytest.raises(ExpressionError) as caught:
        parse_expression(block.splitlines()[0], vocabulary)

    assert str(caught.value) == block


def test_first_fault_is_at_hand_without_the_drawing(vocabulary):
    with pytest.raises(ExpressionError) as caught:
        parse_expression("at_night and crosswnd > kt(15)", vocabulary)
    error = caught.value

    assert (error.start, error.end, error.text[error.start : error.end]) == (13, 21, "crosswnd")
    assert (error.message, error.hint) == ('"crosswnd" is not a known name', 'Did you mean "crosswind"?')


@pytest.mark.parametrize("text", ["", " ", "\n\t"])
def test_empty_text_is_a_fault(text, vocabulary):
    with pytest.raises(ExpressionError, match="Nothing stands here"):
        parse_expression(text, vocabulary)


@pytest.mark.parametrize("sign", ["\0", "\x1b", "\u2028", "\u202e", "\ud800", "\ufeff"])
def test_sign_that_nobody_sees_is_a_fault(sign, vocabulary):
    with pytest.raises(ExpressionError, match="A sign of code"):
        parse_expression(f"at_night {sign}", vocabulary)


def test_message_shows_the_text_carets_and_hint(vocabulary):
    with pytest.raises(ExpressionError) as caught:
        parse_expression("at_night and crosswnd > kt(15)", vocabulary)

    assert str(caught.value).splitlines() == [
        "at_night and crosswnd > kt(15)",
        "             ^^^^^^^^",
        '"crosswnd" is not a known name. Did you mean "crosswind"?',
    ]


def test_all_faults_are_told_at_once_in_the_order_of_the_text(vocabulary):
    text = "crosswnd > kt(15) or runway_condition == 'wett' or carries('x') and temprature > degC(3)"
    with pytest.raises(ExpressionError) as caught:
        parse_expression(text, vocabulary)
    error = caught.value

    assert [text[one.start : one.end] for one in error.faults] == ["crosswnd", "'wett'", "'x'", "temprature"]
    assert len(str(error).splitlines()) == 9


def test_each_fault_of_a_chain_is_told_once(vocabulary):
    with pytest.raises(ExpressionError) as caught:
        parse_expression("kt(3) < crosswnd < kt(5)", vocabulary)

    assert len(caught.value.faults) == 1


def test_carets_stand_under_the_part_after_letters_of_several_bytes():
    words = Vocabulary({"parking_brake": ChoiceType(("GELÖST", "ANGEZOGEN")), "at_night": TRUTH})
    with pytest.raises(ExpressionError) as caught:
        parse_expression("  parking_brake == 'GELÖST' and nights", words)
    error = caught.value

    assert error.text[error.start : error.end] == "nights"
    assert parse_expression("parking_brake == 'GELÖST'", words).truth({"parking_brake": "GELÖST"}) is True


def test_text_that_could_steer_a_terminal_is_not_printed(vocabulary):
    with pytest.raises(ExpressionError) as caught:
        parse_expression("at_night \x1b[31m and crosswnd", vocabulary)

    assert "\x1b" not in str(caught.value)


def test_error_survives_being_sent_to_another_process(vocabulary):
    with pytest.raises(ExpressionError) as caught:
        parse_expression("crosswnd > kt(15)", vocabulary)
    again = pickle.loads(pickle.dumps(caught.value))

    assert (str(again), again.faults) == (str(caught.value), caught.value.faults)
    assert isinstance(again.faults[0], Fault)


def test_expression_survives_being_sent_to_another_process(vocabulary):
    expression = pickle.loads(pickle.dumps(parse_expression("abs(crosswind) > kt(15)", vocabulary)))

    assert expression.truth({"crosswind": -9.0}) is True


@pytest.mark.parametrize(
    ("text", "wanted"),
    [("crosswind + kt(5)", NumberType("m/s")), ("percent(85)", PLAIN), ("runway_condition", None)],
)
def test_an_expression_may_be_wanted_of_another_type(text, wanted, vocabulary):
    expression = parse_expression(text, vocabulary, wanted)

    assert wanted is None or expression.type == wanted


def test_an_expression_of_another_type_than_wanted_is_refused(vocabulary):
    with pytest.raises(ExpressionError, match="is a speed, a mass is wanted"):
        parse_expression("crosswind + kt(5)", vocabulary, NumberType("kg"))


@pytest.mark.parametrize(
    "text",
    [
        "(" * 500 + "at_night" + ")" * 491,
        "[" * 990,
        "not " * 240 + "at_night",
        "-" * 900 + "1 > 2",
        "1" + " + 1" * 240 + " > 2",
        "abs(" * 200 + "load_factor" + ")" * 190,
        "at_night or " * 83,
        "9" * 990 + " > 1",
        "1e" + "9" * 900 + " > 1",
        "kt(" + "0." + "1" * 900 + ") <" * 2,
        "x" * 1001,
        "\ud800",
        "'\ud800'",
        "at_night" + "\0" * 20,
        "x" + "[0]" * 300,
        "a" + ".a" * 400,
        "'''a' # b'''",
        "a\\\nb",
    ],
    ids=range(18),
)
def test_no_text_is_too_much(text, vocabulary):
    with pytest.raises(ExpressionError) as caught:
        parse_expression(text, vocabulary)

    assert str(caught.value)


# Python's parser gives up in one of these ways, depending on its version and on how deep the caller is.
@pytest.mark.parametrize("failure", [ValueError, RecursionError, MemoryError, OverflowError])
def test_parser_that_gives_up_is_a_fault_of_the_text(failure, vocabulary, monkeypatch):
    def give_up(*_, **__):
        raise failure

    with monkeypatch.context() as patched:
        patched.setattr("sortiewright.expressions.grammar.ast.parse", give_up)
        with pytest.raises(ExpressionError, match="nested too deeply"):
            parse_expression("at_night", vocabulary)


def test_what_is_allowed_is_deep_enough_for_real_conditions(vocabulary):
    joined = " or ".join(["(at_night and not cable_rigged)"] * 28)
    nested = "not (" * 15 + "at_night" + ")" * 15

    assert parse_expression(joined, vocabulary).truth({"at_night": True, "cable_rigged": False}) is True
    assert parse_expression(nested, vocabulary).truth({"at_night": True}) is False


def test_where_nothing_can_be_carried_the_hint_says_so():
    from sortiewright.expressions import Function

    bare = Vocabulary({}, {"carries": Function((ChoiceType((), "stores"),))})
    with pytest.raises(ExpressionError) as caught:
        parse_expression("carries('belly_tank')", bare)

    assert caught.value.hint == "There are no stores"
