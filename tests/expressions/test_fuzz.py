"""Whatever the text is, the answer is an expression or an ``ExpressionError``.

``EXPRESSION_FUZZ=200000 pytest tests/expressions/test_fuzz.py`` searches longer.
"""

import os
import re
import warnings

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sortiewright.expressions import TRUTH, ExpressionError, NumberType, channel_vocabulary, parse_expression

EXAMPLES = int(os.environ.get("EXPRESSION_FUZZ", "2000"))
SEARCH = settings(
    max_examples=EXAMPLES // 2, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
SOUND = [
    "crosswind > kt(15) and not at_night or carries('belly_tank')",
    "kt(5) < crosswind <= kt(20) and runway_condition in ('wet', 'icy')",
    "known(temperature) and temperature - degC(15) > delta_degC(10)",
    "abs(side_moment) > ft_lbf(5000) or min(crosswind, headwind, kt(3)) == 0",
    "fuel_flow * time_to_go < external_fuel * 0.5 and runway_condition == alternate_condition",
    "(load_factor > 6.5 or load_factor < -2) and carries_at('left', 'wing_tank') != True",
]
TOKEN = re.compile(r"[A-Za-z_]\w*|[\d.]+|'[^']*'|[<>=!]=|\S|\s+")
STRANGE = [
    "(", ")", "[", "]", "{", "}", ",", ":", ";", ".", "..", "...", "=", "==", ":=", "<", "!=", "<>", "!",
    "~", "@", "%", "&", "|", "^", "**", "//", "<<", "->", "#", "\\", "\n", "\t", "\r", "\f", "\0", "\x1b",
    "\x7f", "'", '"', "'''", '"""', "f'", "b'", "r'", "f'{x}'", "f'{", "'\\x'", "`", "$", "?", "°", "≤",
    "×", "é", "ß", "\u202e", "\ud800", "\U0001f6e9", "\ufeff", "µ", "K", "0", "00", "007", "0x", "0x1F",
    "0b1", "1_0", "1e", "1e999", "1e-999", "9" * 400, "1j", "1.2.3", "15 kt", "15kt", "5%", "if", "else",
    "lambda", "lambda x:", "for", "in", "is", "is not", "not in", "not", "and", "or", "None", "True",
    "False", "yield", "await", "async", "import", "class", "def", "return", "print", "__import__('os')",
    "__class__", "().__class__", "x[0]", "x.y", "*x", "**x", "x=1", "[x for x in y]", "{1: 2}", "(" * 60,
    "not " * 60, "-" * 300, "min", "min()", "min(1)", "known()", "abs('x')", "carries(1)",
    "carries(carries)", "kt()", "kt(1, 2)", "kt(kt(1))", "degC(", "1/0", "0*1e308*1e308", "crosswind",
    "at_night", "runway_condition", "temperature", "'dry'", "('dry',)", "()", "('dry', 1)", "past(1)",
    "past(0)", "fuel_in('front')", "case", "match",
]  # fmt: skip


@st.composite
def mutated(draw):
    """Return a sound text with a few of its tokens exchanged, dropped, doubled or made strange."""
    tokens = TOKEN.findall(draw(st.sampled_from(SOUND)))
    for _ in range(draw(st.integers(1, 5))):
        place = draw(st.integers(0, len(tokens) - 1))
        match draw(st.integers(0, 4)):
            case 0:
                tokens[place] = draw(st.sampled_from(STRANGE))
            case 1:
                tokens.insert(place, draw(st.sampled_from(STRANGE)))
            case 2:
                tokens[place] = draw(st.sampled_from(tokens))
            case 3:
                tokens.insert(place, draw(st.text(max_size=3)))
            case _:
                tokens[place] = ""
    return "".join(tokens)


def answer(text, vocabulary):
    """Return the expression or the error that a text is; any other exception goes through."""
    try:
        return parse_expression(text, vocabulary, None)
    except ExpressionError as error:
        return error


def check_answer(text, vocabulary):
    with warnings.catch_warnings(record=True) as noise:
        warnings.simplefilter("always")
        said = answer(text, vocabulary)
    assert not noise, "Python's parser has remarks of its own"
    if isinstance(said, ExpressionError):
        assert 0 <= said.start <= said.end
        assert said.message
        assert all(line.isprintable() for line in str(said).splitlines())
    elif said.type == TRUTH:
        truth = said.truths({}, 2)
        assert not (truth.yes & truth.no).any()
        assert said.explain({})
    elif isinstance(said.type, NumberType):
        assert said.numbers({}, 2).shape == (2,)


@SEARCH
@given(mutated())
def test_mutated_text_is_an_expression_or_told_to_be_none(vocabulary, text):
    check_answer(text, vocabulary)


@SEARCH
@given(st.text(max_size=60) | st.lists(st.sampled_from(STRANGE), max_size=12).map("".join))
def test_random_text_is_an_expression_or_told_to_be_none(vocabulary, text):
    check_answer(text, vocabulary)


@pytest.mark.parametrize("text", STRANGE)
def test_strange_text_is_an_expression_or_told_to_be_none(vocabulary, text):
    check_answer(text, vocabulary)


def test_nothing_of_python_itself_can_be_reached():
    names = ["open", "eval", "exec", "__import__", "getattr", "vars", "globals", "print", "type", "object"]

    for name in names:
        with pytest.raises(ExpressionError, match="not a known"):
            parse_expression(f"{name}('x') == 3", channel_vocabulary())
