"""Three truths: what is missing makes a condition unknown, unless the rest settles it."""

import math
import sqlite3
from itertools import product

import numpy as np
import pytest

from sortiewright.expressions import (
    TRUTH,
    ChoiceType,
    Columns,
    Function,
    NumberType,
    Truth,
    Vocabulary,
    parse_expression,
)

STATES = (True, False, None)
JOINED = Vocabulary({"p": TRUTH, "q": TRUTH})
T, F, U = True, False, None

# Kleene, Introduction to Metamathematics (1952), section 64, the strong tables; from memory.
AND = {(T, T): T, (T, F): F, (T, U): U, (F, T): F, (F, F): F, (F, U): F, (U, T): U, (U, F): F, (U, U): U}
OR = {(T, T): T, (T, F): T, (T, U): T, (F, T): T, (F, F): F, (F, U): U, (U, T): T, (U, F): U, (U, U): U}
NOT = {T: F, F: T, U: U}


@pytest.mark.parametrize(("p", "q"), list(product(STATES, STATES)))
def test_joined_conditions_follow_the_strong_tables(p, q):
    values = {"p": p, "q": q}

    assert parse_expression("p and q", JOINED).truth(values) is AND[p, q]
    assert parse_expression("p or q", JOINED).truth(values) is OR[p, q]
    assert parse_expression("not p", JOINED).truth(values) is NOT[p]


# SQL's NULL is the same unknown (ISO/IEC 9075-2, truth tables of AND, OR, NOT and IS; from memory). SQLite's
# expression page lists its three-valued logic among what it shares with other engines.
@pytest.mark.parametrize("p", STATES)
@pytest.mark.parametrize("q", STATES)
@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        ("p and q", "p AND q"),
        ("p or q", "p OR q"),
        ("not p", "NOT p"),
        ("p == q", "p = q"),
        ("p != q", "p <> q"),
        ("known(p)", "p IS NOT NULL"),
        ("not (p and not q) or p", "NOT (p AND NOT q) OR p"),
    ],
)
def test_joined_conditions_are_what_sqlite_says(p, q, ours, theirs):
    row = sqlite3.connect(":memory:").execute(f"SELECT {theirs} FROM (SELECT ? AS p, ? AS q)", (p, q))
    (expected,) = row.fetchone()

    assert parse_expression(ours, JOINED).truth({"p": p, "q": q}) == expected


@pytest.mark.parametrize("missing", [{}, {"crosswind": None}, {"crosswind": math.nan}, {"crosswind": np.nan}])
@pytest.mark.parametrize("sign", ["<", "<=", ">", ">=", "==", "!="])
def test_comparison_with_a_missing_number_is_unknown(missing, sign, vocabulary):
    expression = parse_expression(f"crosswind {sign} kt(15)", vocabulary)

    assert expression.truth(missing) is None
    assert parse_expression(f"not crosswind {sign} kt(15)", vocabulary).truth(missing) is None


@pytest.mark.parametrize(
    "missing", [{}, {"runway_condition": None}, {"runway_condition": ""}, {"runway_condition": math.nan}]
)
@pytest.mark.parametrize("said", ["== 'dry'", "!= 'dry'", "in ('dry', 'wet')", "not in ('dry', 'wet')"])
def test_comparison_with_a_missing_word_is_unknown(missing, said, vocabulary):
    assert parse_expression(f"runway_condition {said}", vocabulary).truth(missing) is None


def test_word_that_a_choice_does_not_have_is_unknown(vocabulary):
    expression = parse_expression("runway_condition != 'dry'", vocabulary)

    assert expression.truth({"runway_condition": "snowed up"}) is None


def test_empty_word_is_missing_even_where_a_choice_lists_it():
    expression = parse_expression("c != 'a'", Vocabulary({"c": ChoiceType(("", "a", "b", "a"))}))

    assert [expression.truth({"c": word}) for word in ("", "a", "b")] == [None, False, True]
    assert expression.truths({"c": np.array(["", "a", "b"])}, 3).unknown.tolist() == [True, False, False]
    assert expression.truths({"c": np.array(["", "a", "b"])}, 3).yes.tolist() == [False, False, True]


def test_integer_beyond_every_float_is_missing(vocabulary):
    expression = parse_expression("crosswind > kt(3)", vocabulary)

    assert expression.truth({"crosswind": 10**400}) is None
    assert expression.truths({"crosswind": np.array([10**400, 9], object)}, 2).yes.tolist() == [False, True]


def test_choice_is_among_words_or_not(vocabulary):
    inside = parse_expression("runway_condition in ('wet', 'icy')", vocabulary)
    outside = parse_expression("runway_condition not in ('wet', 'icy')", vocabulary)

    assert [inside.truth({"runway_condition": word}) for word in ("dry", "wet", "icy")] == [False, True, True]
    assert [outside.truth({"runway_condition": word}) for word in ("dry", "wet", "icy")] == [
        True,
        False,
        False,
    ]


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("wet", "wet", True),
        ("dry", "wet", False),
        ("icy", "flooded", False),
        ("dry", "", None),
        ("", "", None),
    ],
)
def test_two_choices_are_compared_by_their_words(one, other, same, vocabulary):
    values = {"runway_condition": one, "alternate_condition": other}
    contrary = None if same is None else not same

    assert parse_expression("runway_condition == alternate_condition", vocabulary).truth(values) is same
    assert parse_expression("runway_condition != alternate_condition", vocabulary).truth(values) is contrary


def test_chain_is_both_comparisons(vocabulary):
    expression = parse_expression("kt(5) < crosswind <= kt(20)", vocabulary)
    knot = 1852 / 3600  # m/s, exact (NIST SP 811, B.6)

    assert [expression.truth({"crosswind": knot * speed}) for speed in (5, 6, 20, 21)] == [
        False,
        True,
        True,
        False,
    ]


def test_chain_is_false_as_soon_as_one_link_is(vocabulary):
    expression = parse_expression("headwind < crosswind < kt(20)", vocabulary)

    assert expression.truth({"crosswind": 30.0}) is False
    assert expression.truth({"crosswind": 3.0}) is None


@pytest.mark.parametrize("text", ["load_factor / 0 > 1", "1 / load_factor > 1", "1 / (load_factor * 0) > 1"])
def test_what_is_divided_by_zero_is_unknown(text, vocabulary):
    expression = parse_expression(text, vocabulary)

    assert expression.truth({"load_factor": 0.0}) is None
    assert expression.truths({"load_factor": np.zeros(2)}, 2).unknown.all()


def test_infinite_number_is_a_value(vocabulary):
    expression = parse_expression("runway_length > ft(100)", vocabulary)

    assert expression.truth({"runway_length": math.inf}) is True


def test_known_is_never_unknown(vocabulary):
    expression = parse_expression("known(crosswind > kt(3) and at_night)", vocabulary)

    assert expression.truth({}) is False
    assert expression.truth({"at_night": False}) is True


def test_least_of_several_is_unknown_if_one_is(vocabulary):
    expression = parse_expression("min(crosswind, headwind) < kt(5)", vocabulary)

    assert expression.truth({"crosswind": 1.0}) is None
    assert expression.truth({"crosswind": 1.0, "headwind": 9.0}) is True


def test_fact_is_looked_up_by_its_call(vocabulary):
    expression = parse_expression("carries_at('left', 'wing_tank') and past(minutes(2))", vocabulary)

    assert expression.facts == {("carries_at", "left", "wing_tank"), ("past", 120.0)}
    assert expression.names == frozenset()
    assert expression.truth({("carries_at", "left", "wing_tank"): True, ("past", 120.0): True}) is True
    assert expression.truth({("carries_at", "left", "wing_tank"): True}) is None


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("crosswind > kt(3)", True),
        ("crosswind > kt(3)", "9"),
        ("at_night", "yes"),
        ("runway_condition == 'dry'", 3),
    ],
)
def test_value_of_another_type_is_a_fault_of_the_program(text, value, vocabulary):
    expression = parse_expression(text, vocabulary)
    (name,) = expression.names

    with pytest.raises(TypeError, match=name):
        expression.truth({name: value})
    with pytest.raises(TypeError, match=name):
        expression.truths({name: np.array([value, value])}, 2)


@pytest.mark.parametrize(
    ("column", "yes", "no"),
    [
        (np.array([True, False]), [True, False], [False, True]),
        (np.array([True, None], object), [True, False], [False, False]),
        (np.array([1, 0]), [True, False], [False, True]),
        (np.array([1.0, np.nan]), [True, False], [False, False]),
        (np.array([0.4, 0.0]), [False, False], [False, True]),
        (np.ma.masked_array([True, True], [True, False]), [False, True], [False, False]),
        (Truth(np.array([False, True]), np.array([False, False])), [False, True], [False, False]),
        ([None, False], [False, False], [False, True]),
        (True, [True, True], [False, False]),
        (np.bool_(True), [True, True], [False, False]),
        (None, [False, False], [False, False]),
    ],
)
def test_truth_columns_come_in_many_forms(column, yes, no, vocabulary):
    truth = parse_expression("at_night", vocabulary).truths({"at_night": column}, 2)

    assert (truth.yes.tolist(), truth.no.tolist()) == (yes, no)
    assert len(truth) == 2


@pytest.mark.parametrize(
    ("column", "values"),
    [
        (np.array([1.5, np.nan]), [1.5, None]),
        (np.array([2, 3], np.int32), [2.0, 3.0]),
        (np.array([2, 3], np.float32), [2.0, 3.0]),
        (np.array([1.5, None], object), [1.5, None]),
        (np.ma.masked_array([1.5, 2.5], [False, True]), [1.5, None]),
        ([1.5, None], [1.5, None]),
        (1.5, [1.5, 1.5]),
        (np.float64(1.5), [1.5, 1.5]),
        (None, [None, None]),
    ],
)
def test_number_columns_come_in_many_forms(column, values, vocabulary):
    expression = parse_expression("crosswind", vocabulary, None)
    numbers = expression.numbers({"crosswind": column}, 2)

    assert [None if math.isnan(one) else one for one in numbers.tolist()] == values


@pytest.mark.parametrize(
    ("column", "yes", "no"),
    [
        (np.array(["dry", ""]), [True, False], [False, False]),
        (np.array(["wet", None], object), [False, False], [True, False]),
        (np.array(["dry", math.nan], object), [True, False], [False, False]),
        (np.array(["dry", "snowed up"]), [True, False], [False, False]),
        (["wet", "dry"], [False, True], [True, False]),
        ("dry", [True, True], [False, False]),
        (np.str_("dry"), [True, True], [False, False]),
    ],
)
def test_word_columns_come_in_many_forms(column, yes, no, vocabulary):
    truth = parse_expression("runway_condition == 'dry'", vocabulary).truths({"runway_condition": column}, 2)

    assert (truth.yes.tolist(), truth.no.tolist()) == (yes, no)


def test_column_of_another_length_is_refused(vocabulary):
    expression = parse_expression("crosswind > kt(3)", vocabulary)

    with pytest.raises(ValueError, match="crosswind"):
        expression.truths({"crosswind": np.zeros(3)}, 2)
    with pytest.raises(ValueError, match="3 rows, 2 are wanted"):
        expression.truths(Columns({"crosswind": np.zeros(3)}, 3), 2)


def test_condition_without_names_holds_on_every_row(vocabulary):
    truth = parse_expression("kt(3) < kt(5)", vocabulary).truths({}, 3)

    assert truth.yes.tolist() == [True, True, True]


def test_columns_may_be_empty(vocabulary):
    assert len(parse_expression("crosswind > kt(3)", vocabulary).truths({"crosswind": np.zeros(0)}, 0)) == 0


def test_a_column_is_read_once_for_several_expressions(vocabulary):
    reads = []

    class Counting(dict):
        def get(self, key, default=None):
            reads.append(key)
            return super().get(key, default)

    columns = Columns(Counting(crosswind=np.zeros(2)), 2)
    for limit in (3, 5, 9):
        parse_expression(f"crosswind > kt({limit})", vocabulary).truths(columns, 2)

    assert reads == ["crosswind"]


def held(arguments, columns):
    """Return where a condition has been true for so long without a break: a function that needs time."""
    condition, span = arguments
    time = columns.read("time", NumberType("s"))
    start = np.maximum.accumulate(np.where(condition.yes, -np.inf, time))
    yes = condition.yes & (time - np.where(np.isinf(start), time[0], start) >= span)
    return Truth(yes, condition.no | (condition.yes & ~yes))


def test_a_function_may_read_whole_columns():
    words = Vocabulary(
        {"hot": TRUTH, "time": NumberType("s")},
        {"held": Function((TRUTH, NumberType("s")), TRUTH, held, reads=frozenset({"time"}))},
    )
    expression = parse_expression("held(hot, s(2))", words)
    columns = {"time": np.arange(6.0), "hot": np.array([False, True, True, True, False, True])}

    assert expression.names == {"hot", "time"}
    assert expression.truths(columns, 6).yes.tolist() == [False, False, True, True, False, False]
    assert [atom.operator for atom in expression.atoms] == ["opaque"]
    assert expression.truth({"time": 3.0, "hot": False}) is False


def rate_type(types):
    (of,) = types
    if of != NumberType("m"):
        raise ValueError("is no height")
    return NumberType("m/s")


def test_a_function_may_find_its_type_from_its_arguments():
    def rate(arguments, columns):
        return np.gradient(arguments[0], columns.read("time", NumberType("s")))

    words = Vocabulary(
        {"height": NumberType("m"), "mass": NumberType("kg")},
        {"rate": Function((NumberType("m"),), rate_type, rate, reads=frozenset({"time"}))},
    )
    expression = parse_expression("rate(height)", words, NumberType("m/s"))

    assert expression.numbers({"time": np.arange(3.0), "height": np.array([0.0, 2.0, 4.0])}, 3).tolist() == [
        2,
        2,
        2,
    ]


def test_two_vocabularies_are_put_together():
    both = Vocabulary({"p": TRUTH}) | Vocabulary({"q": ChoiceType(("a",))})

    assert parse_expression("p and q == 'a'", both).truth({"p": True, "q": "a"}) is True


def test_expression_of_one_type_does_not_answer_as_another(vocabulary):
    with pytest.raises(TypeError, match="is a speed"):
        parse_expression("crosswind", vocabulary, None).truth({})
    with pytest.raises(TypeError, match="is a condition"):
        parse_expression("at_night", vocabulary).number({})


def test_number_of_one_moment(vocabulary):
    expression = parse_expression("crosswind + m_per_s(1)", vocabulary, None)

    assert expression.number({"crosswind": 2.0}) == 3.0
    assert expression.number({}) is None
