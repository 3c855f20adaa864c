"""docs/expressions.md says what is so."""

import re

import pytest

from sortiewright.expressions import TRUTH, ChoiceType, Function, NumberType, Vocabulary, parse_expression
from sortiewright.expressions.functions import UNITS
from sortiewright.pack import CHANNELS, KINDS

WORDS = Vocabulary(
    {
        "crosswind": NumberType("m/s"),
        "temperature": NumberType("K"),
        "at_night": TRUTH,
        "calibrated_airspeed": NumberType("m/s"),
        "line_speed": NumberType("m/s"),
        "runway_condition": ChoiceType(("dry", "wet", "icy"), "surfaces"),
        "gear_handle": ChoiceType(("UP", "DOWN")),
    },
    {"carries": Function((ChoiceType(("belly_tank",), "stores"),))},
)


@pytest.fixture(scope="module")
def page(project_root):
    return (project_root / "docs" / "expressions.md").read_text("utf-8")


def blocks(page, language=""):
    return re.findall(rf"```{language}\n(.*?)```", page, re.DOTALL)


def test_conditions_at_its_head_are_sound(page):
    lines = blocks(page)[0].splitlines()

    assert len(lines) == 5
    for line in lines:
        parse_expression(line, WORDS)


def test_message_is_the_one_that_is_given(page):
    drawing = next(block for block in blocks(page) if "^" in block).rstrip("\n")
    with pytest.raises(ValueError, match="wett") as caught:
        parse_expression(drawing.splitlines()[0], WORDS)

    assert str(caught.value) == drawing


def test_python_on_it_runs_and_gives_what_it_says(page):
    (code,) = blocks(page, "python")
    said = re.findall(r"^(\S.*?)  # (.*)$", code, re.MULTILINE)
    names = {}
    exec(code, names)

    assert len(said) == 4
    for expression, value in said:
        got = eval(expression, names)
        assert str(got) == value or got == eval(value, {})


def test_table_of_units_is_complete(page):
    table = page.split("| Kind | Units |")[1].split("\n\n")[0]
    listed = {row.split("|")[1].strip(): set(re.findall(r"`(\w+)`", row)) for row in table.splitlines()[2:]}
    units = {KINDS[si]: set(names) for si, names in UNITS.items() if si not in ("", "m/m")}
    units["plain number, gradient"] = {*UNITS[""], *UNITS["m/m"]}

    assert listed == units


def test_table_of_channels_is_complete(page):
    table = page.split("| Channel | What | Unit | Need |")[1].split("\n\n")[0]
    rows = [[cell.strip() for cell in row.split("|")[1:-1]] for row in table.splitlines()[2:]]
    listed = {}
    for names, _, unit, need in rows:
        name, *sides = re.findall(r"`(\w+)`", names)
        listed |= dict.fromkeys((name, *(name + side for side in sides)), (unit, need))

    assert listed.keys() == CHANNELS.keys()
    for name, channel in CHANNELS.items():
        unit = {
            "truth": "condition",
            "choice": " ".join(f"`{word}`" for word in channel.words),
            "number": channel.unit or "plain",
        }[channel.kind]
        assert listed[name] == (unit, channel.need)
