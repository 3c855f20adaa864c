"""Random conditions: columns against rows, and both against SQLite and Python.

``EXPRESSION_EXAMPLES=20000 pytest tests/expressions/test_properties.py`` searches longer.
"""

import ast
import math
import os
import sqlite3

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from sortiewright.expressions import (
    TRUTH,
    ChoiceType,
    Columns,
    ExpressionError,
    NumberType,
    Vocabulary,
    parse_expression,
)

SEARCH = settings(max_examples=int(os.environ.get("EXPRESSION_EXAMPLES", "60")), deadline=None)

WORDS = ("dry", "wet", "icy")
NUMBERS, TRUTHS, CHOICES = ("x", "y", "z"), ("p", "q"), ("c", "d")
VOCABULARY = Vocabulary(
    {name: NumberType("") for name in NUMBERS}
    | dict.fromkeys(TRUTHS, TRUTH)
    | {name: ChoiceType(WORDS) for name in CHOICES}
)
SQL_SIGN = {"==": "=", "!=": "<>"}

# A part is a pair: our text, which is Python's too, and the same in SQL. Brackets stand round every part; the
# tests take away those that Python's precedence makes superfluous.
Part = tuple[str, str]


def halves(low, high):
    """Return numbers on which sums and products are exact."""
    return st.integers(2 * low, 2 * high).map(lambda twice: twice / 2)


@st.composite
def number(draw, depth):
    if depth == 0 or draw(st.booleans()):
        if draw(st.booleans()):
            name = draw(st.sampled_from(NUMBERS))
            return name, name
        value = draw(halves(0, 6))
        return f"{value!r}", f"{value!r}"
    one, other = draw(number(depth - 1)), draw(number(depth - 1))
    match draw(st.sampled_from(["+", "-", "*", "/", "negative", "abs", "min", "max"])):
        case "negative":
            return f"(-{one[0]})", f"(-{one[1]})"
        case "abs":
            return f"abs({one[0]})", f"abs({one[1]})"
        case "min" | "max" as name:
            return f"{name}({one[0]}, {other[0]})", f"{name}({one[1]}, {other[1]})"
        case sign:
            return f"({one[0]} {sign} {other[0]})", f"({one[1]} {sign} {other[1]})"


@st.composite
def comparison(draw, depth):
    signs = st.sampled_from(["<", "<=", ">", ">=", "==", "!="])
    match draw(st.sampled_from(["numbers", "chain", "word", "words", "choices", "truth", "truths", "known"])):
        case "numbers":
            (a, sql_a), (b, sql_b), sign = draw(number(depth)), draw(number(depth)), draw(signs)
            return f"({a} {sign} {b})", f"({sql_a} {SQL_SIGN.get(sign, sign)} {sql_b})"
        case "chain":
            (a, sql_a), (b, sql_b), (c, sql_c) = (draw(number(depth)) for _ in range(3))
            return f"({a} <= {b} < {c})", f"(({sql_a} <= {sql_b}) AND ({sql_b} < {sql_c}))"
        case "word":
            name, word, sign = (
                draw(st.sampled_from(CHOICES)),
                draw(st.sampled_from(WORDS)),
                draw(st.sampled_from(["==", "!="])),
            )
            return f"({name} {sign} '{word}')", f"({name} {SQL_SIGN[sign]} '{word}')"
        case "words":
            name, inside = draw(st.sampled_from(CHOICES)), draw(st.sampled_from(["in", "not in"]))
            words = draw(st.lists(st.sampled_from(WORDS), min_size=1, max_size=3))
            listed = ", ".join(f"'{word}'" for word in words)
            return f"({name} {inside} ({listed},))", f"({name} {inside.upper()} ({listed}))"
        case "choices":
            sign = draw(st.sampled_from(["==", "!="]))
            return f"(c {sign} d)", f"(c {SQL_SIGN[sign]} d)"
        case "truth":
            name = draw(st.sampled_from(TRUTHS))
            return name, name
        case "truths":
            sign = draw(st.sampled_from(["==", "!="]))
            return f"(p {sign} q)", f"(p {SQL_SIGN[sign]} q)"
        case _:
            name = draw(st.sampled_from(NUMBERS + TRUTHS + CHOICES))
            return f"known({name})", f"({name} IS NOT NULL)"


@st.composite
def condition(draw, depth=4):
    if depth == 0:
        return draw(comparison(2))
    match draw(st.sampled_from(["and", "or", "not", "comparison", "constant"])):
        case "comparison":
            return draw(comparison(2))
        case "constant":
            return draw(st.sampled_from([("True", "1"), ("False", "0")]))
        case "not":
            part = draw(condition(depth - 1))
            return f"(not {part[0]})", f"(NOT {part[1]})"
        case joint:
            parts = draw(st.lists(condition(depth - 1), min_size=2, max_size=3))
            ours, sql = (
                f" {joint} ".join(part[0] for part in parts),
                f" {joint} ".join(part[1] for part in parts),
            )
            return f"({ours})", f"({sql})"


def row(missing):
    """Return values of one moment, each of which may be missing."""
    maybe = (lambda values: st.none() | values) if missing else (lambda values: values)
    return st.fixed_dictionaries(
        {name: maybe(halves(-3, 6)) for name in NUMBERS}
        | {name: maybe(st.booleans()) for name in TRUTHS}
        | {name: maybe(st.sampled_from(WORDS)) for name in CHOICES}
    )


def bare(text):
    """Return a text without the brackets that precedence makes superfluous."""
    return ast.unparse(ast.parse(text, mode="eval"))


def parsed(text):
    """Return an expression, or None if the text divides by a constant zero, which is a fault when read."""
    try:
        return parse_expression(bare(text), VOCABULARY)
    except ExpressionError as error:
        if "divides by zero" not in str(error):
            raise
        return None


def columns_of(rows):
    """Return the rows as columns: NaN, None and the empty word where a value is missing."""
    columns = {
        name: np.array([math.nan if row[name] is None else row[name] for row in rows]) for name in NUMBERS
    }
    columns |= {name: np.array([row[name] for row in rows], object) for name in TRUTHS}
    return columns | {name: np.array([row[name] or "" for row in rows]) for name in CHOICES}


@SEARCH
@given(condition(), st.lists(row(missing=True), min_size=1, max_size=8))
def test_columns_say_on_each_row_what_that_row_alone_says(part, rows):
    expression = parsed(part[0])
    if expression is None:
        return
    truth = expression.truths(columns_of(rows), len(rows))

    alone = [expression.truth(row) for row in rows]
    assert truth.yes.tolist() == [one is True for one in alone]
    assert truth.no.tolist() == [one is False for one in alone]
    assert truth.unknown.tolist() == [one is None for one in alone]


# SQLite computes with the same NULL: in comparisons, arithmetic, division by zero, IN, scalar MIN and MAX.
@SEARCH
@given(condition(), st.lists(row(missing=True), min_size=1, max_size=4))
def test_condition_is_what_sqlite_says(part, rows):
    expression = parsed(part[0])
    if expression is None:
        return
    connection = sqlite3.connect(":memory:")
    given = ", ".join(f":{name} AS {name}" for name in rows[0])

    theirs = [
        connection.execute(f"SELECT {part[1]} FROM (SELECT {given})", row).fetchone()[0] for row in rows
    ]
    connection.close()
    assert [expression.truth(row) for row in rows] == theirs


# Where nothing is missing the language is Python's own, precedence and chains included.
@SEARCH
@given(condition(), row(missing=False))
def test_condition_without_missing_values_is_what_python_says(part, values):
    expression = parsed(part[0])
    if expression is None:
        return
    functions = {"known": lambda value: True, "abs": abs, "min": min, "max": max, "__builtins__": {}}
    try:
        theirs = eval(bare(part[0]), functions, values)
    except ZeroDivisionError:
        return

    # Python passes over a division by zero that the left side makes superfluous; for us it is unknown.
    ours = expression.truth(values)
    assert ours == theirs or (ours is None and "/" in part[0])


@SEARCH
@given(condition(), row(missing=True))
def test_atoms_joined_give_the_whole(part, values):
    expression = parsed(part[0])
    if expression is None:
        return
    truths = [parse_expression(atom.text, VOCABULARY).truth(values) for atom in expression.atoms]

    assert expression.joined(truths) == expression.truth(values)


COMPARED = {
    "<": lambda value, constant: value < constant,
    "<=": lambda value, constant: value <= constant,
    ">": lambda value, constant: value > constant,
    ">=": lambda value, constant: value >= constant,
    "==": lambda value, constant: value == constant,
    "!=": lambda value, constant: value != constant,
    "in": lambda value, constant: value in constant,
    "not in": lambda value, constant: value not in constant,
    "is": lambda value, constant: value is constant,
}


@SEARCH
@given(condition(), row(missing=True))
def test_simple_atom_is_its_fact_against_its_constant(part, values):
    expression = parsed(part[0])
    for atom in expression.atoms if expression else ():
        truth = parse_expression(atom.text, VOCABULARY).truth(values)
        value = values[atom.fact] if atom.fact else None
        if atom.operator == "known":
            assert truth == (value is not None)
        elif atom.operator != "opaque":
            assert truth == (None if value is None else COMPARED[atom.operator](value, atom.constant))


@SEARCH
@given(condition(), row(missing=True))
def test_explanation_names_only_facts_that_settle_it(part, values):
    expression = parsed(part[0])
    if expression is None:
        return
    truth, said = expression.truth(values), expression.explain(values)

    assert said
    # With all missing that is not named the answer stands, unless the text asks what is known.
    named = {name: value for name, value in values.items() if f"{name} is" in said}
    if "known" not in part[0] and truth is not None:
        assert expression.truth(named) == truth


@SEARCH
@given(condition(), st.lists(row(missing=True), min_size=1, max_size=4))
def test_sharing_columns_changes_nothing(part, rows):
    expression = parsed(part[0])
    if expression is None:
        return
    shared = Columns(columns_of(rows), len(rows))
    first, second = (expression.truths(shared, len(rows)) for _ in range(2))

    alone = expression.truths(columns_of(rows), len(rows))
    assert first.yes.tolist() == second.yes.tolist() == alone.yes.tolist()
    assert first.no.tolist() == second.no.tolist() == alone.no.tolist()
