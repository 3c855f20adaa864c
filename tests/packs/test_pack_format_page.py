"""The page on writing a pack says of every key what the schema says, and its examples are real."""

from __future__ import annotations

import re
import shutil
from pathlib import Path
from typing import get_args

import pytest

from sortiewright.pack import InputError, Pack, load_pack, to_si
from sortiewright.pack.shape import fields_of
from sortiewright.performance import book

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "docs" / "pack-format.md").read_text(encoding="utf-8")
PACKS = ROOT / "src" / "sortiewright" / "packs"
TABLE_WORDS = re.compile(r"table over ((?:`\w+`(?:, )?)+)")


def records(record=Pack):
    """Every record that a pack may hold, by name."""
    found = {record.__name__: record}
    for shape in fields_of(record).values():
        while shape.item is not None:
            shape = shape.item
        if shape.record is not None:
            found |= records(shape.record)
    return found


def rows_of(name):
    """The rows under a heading of level three, as (key, written as, if left out, meaning)."""
    section = re.search(rf"^### {name}\n(.*?)(?=^##|\Z)", PAGE, re.MULTILINE | re.DOTALL)
    assert section, f"no section {name}"
    lines = [line for line in section[1].splitlines() if line.startswith("| `")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]


ROWS = [(name, *row) for name in records() for row in rows_of(name)]


@pytest.mark.parametrize("name", records())
def test_each_record_has_its_keys_in_the_schemas_order(name):
    assert [row[0].strip("`") for row in rows_of(name)] == list(fields_of(records()[name]))


@pytest.mark.parametrize(
    ("name", "key", "left_out"),
    [
        pytest.param(name, key.strip("`"), left_out, id=f"{name}-{key.strip('`')}")
        for name, key, _, left_out, _ in ROWS
    ],
)
def test_each_key_says_whether_it_is_needed(name, key, left_out):
    needed = records()[name].model_fields[key].is_required()

    assert (left_out == "needed") == needed


def rows_with(kind):
    """The rows whose key holds a quantity or a table, as (its mark, written as)."""
    marks = [
        (name, key.strip("`"), written, fields_of(records()[name]).get(key.strip("`")))
        for name, key, written, *_ in ROWS
    ]
    return [
        pytest.param(mark, written, id=f"{name}-{key}")
        for name, key, written, shape in marks
        if (mark := getattr(shape, kind, None)) is not None
    ]


@pytest.mark.parametrize(("quantity", "written"), rows_with("quantity"))
def test_each_example_of_a_quantity_can_be_read(quantity, written):
    quantity.value(written.strip("`"), from_file=True)


@pytest.mark.parametrize(("table", "written"), rows_with("table"))
def test_each_table_is_said_to_be_over_its_axes(table, written):
    said = TABLE_WORDS.search(written)

    assert said
    assert re.findall(r"`(\w+)`", said[1]) == [axis.name for axis in table.axes]


# The file is named in the block's first line; every other line stands in it as shown.
@pytest.mark.parametrize("block", re.findall(r"^```(?:yaml|csv)\n(.*?)^```", PAGE, re.MULTILINE | re.DOTALL))
def test_each_example_stands_in_the_shipped_pack(block):
    head, *lines = block.splitlines()
    file = PACKS / head.removeprefix("# ")

    known = file.read_text(encoding="utf-8").splitlines()
    assert lines
    assert [line for line in lines if line not in known] == []


def test_the_page_names_what_a_book_point_may_be_about():
    section = PAGE.split("### What a book point may be about")[1].split("\n## ")[0]
    words = re.search(r"^Quantities.*\n.*\n", section, re.MULTILINE)[0]
    table = section.split("| Condition | Written as |")[1]
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in table.splitlines()[2:] if line]
    conditions = {row[0].strip("`"): row[1].strip('`"') for row in rows}

    assert re.findall(r"`(\w+)`", words) == list(book.QUANTITIES)
    assert list(conditions) == list(book.CONDITIONS)
    assert conditions.pop("chute") in ("yes", "no")
    for name, written in conditions.items():
        to_si(written.removesuffix("MAC"), book.CONDITIONS[name])


def test_each_choice_on_the_page_is_one_of_the_schemas():
    for name, key, written, left_out, _ in ROWS:
        options = get_args(records()[name].model_fields[key.strip("`")].annotation)
        if options and all(isinstance(option, str) for option in options):
            assert written.strip("`") in options, key
            assert left_out == "needed" or left_out.strip("`") in options, key


def test_units_of_the_page_are_read():
    table = PAGE.split("| Kind | Units | Example |")[1].split("\n\n")[0]
    kinds = {
        "length": "m", "area": "m2", "mass": "kg", "speed": "m/s", "angle": "rad", "angular rate": "rad/s",
        "rate per angle": "1/rad", "time": "s", "force": "N", "pressure": "Pa", "temperature": "K",
        "temperature difference": "delta_degC", "energy": "J", "moment": "N.m", "mass flow": "kg/s",
        "density": "kg/m3",
    }  # fmt: skip
    rows = {
        cells[0]: cells[1:]
        for line in table.splitlines()[2:]
        if (cells := [cell.strip() for cell in line.strip("|").split("|")])
    }

    for kind, si_unit in kinds.items():
        units, example = rows.pop(kind)
        for unit in re.findall(r"`([^`]+)`", units):
            to_si(f"1 {unit}", si_unit)
        to_si(example.strip("`"), si_unit)
    assert list(rows) == ["plain number"]
    assert to_si("1 yd", "m") == pytest.approx(0.9144)  # exact; NIST SP 811, appendix B.8


def test_fault_shown_on_the_page_is_what_the_loader_says(tmp_path):
    shown = re.search(r"^```text\n(.*?)^```", PAGE, re.MULTILINE | re.DOTALL)[1].strip()
    folder = tmp_path / "whinchat"
    shutil.copytree(PACKS / "whinchat", folder)
    file = folder / "mass.yaml"
    text = file.read_text(encoding="utf-8")
    line = next(line for line in text.splitlines() if line.startswith("maximum_ramp_mass"))
    file.write_text(text.replace(line, "maximum_ramp_mass: 7950"), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_pack(folder)

    assert [str(problem) for problem in caught.value.problems] == [shown]
