"""Book points of the shipped packs: separate calculation and program agree, and the check finds faults."""

from __future__ import annotations

import functools
import shutil
from pathlib import Path

import pytest

from sortiewright.pack import load_pack, to_si
from sortiewright.performance import check_book

PACKS = Path(__file__).resolve().parents[2] / "src" / "sortiewright" / "packs"
NAMES = ("dotterel", "whinchat")
KNOT, FOOT = 1852.0 / 3600.0, 0.3048  # NIST SP 811, appendix B
loaded = functools.cache(load_pack)
POINTS = [
    pytest.param(name, number, id=f"{name}-{number + 1}-{point.quantity}")
    for name in NAMES
    for number, point in enumerate(loaded(PACKS / name).pack.book)
]


@pytest.fixture(scope="module")
def results():
    return {name: check_book(loaded(PACKS / name)) for name in NAMES}


# tools/point_mass, a calculation in small time steps that shares no code with the program.
@pytest.mark.parametrize(("name", "number"), POINTS)
def test_the_program_agrees_with_each_book_point(results, name, number):
    result = results[name][number]

    assert result.holds, f"{result.problem} {result.computed:.4g} against {result.book:.4g}"


# The same road again, so that a value that was typed by hand, or has grown old, is found. Values are printed
# to a tenth of a knot and to five feet.
@pytest.mark.parametrize(("name", "number"), POINTS)
def test_each_book_value_is_what_the_separate_calculation_gives(tool, name, number):
    pack = loaded(PACKS / name).pack
    point = pack.book[number]
    found = tool("point_mass.book").book_value(pack, point)
    rounding = 0.051 * KNOT if "speed" in point.quantity else 2.6 * FOOT

    assert to_si(point.value, "m/s" if "speed" in point.quantity else "m") == pytest.approx(
        found, abs=rounding
    )


@pytest.mark.parametrize("name", NAMES)
def test_book_points_are_many_and_their_tolerances_tight(name):
    book = loaded(PACKS / name).pack.book

    assert len(book) >= 12
    assert {point.tolerance for point in book} <= {"1 kt", "1 %", "1.5 %", "2 %"}
    for point in book:
        assert point.tolerance.endswith("kt") == ("speed" in point.quantity)
        assert f"tools/check_{name}.py" in point.note


def test_book_points_span_the_conditions_that_matter():
    said = {condition for name in NAMES for p in loaded(PACKS / name).pack.book for condition in p.conditions}

    assert said >= {
        "mass",
        "temperature",
        "pressure_altitude",
        "runway_condition_reading",
        "headwind",
        "slope",
    }


def with_book(tmp_path: Path, text: str):
    """The results of a whinchat whose book holds this text."""
    folder = tmp_path / "whinchat"
    shutil.copytree(PACKS / "whinchat", folder)
    (folder / "book.yaml").write_text(text, encoding="utf-8")
    return check_book(load_pack(folder))


def point(quantity="ground_run", value="1500 ft", condition="temperature: 15 degC"):
    conditions = f"{{mass: 7400 lb, {condition}}}"
    return f"- {{quantity: {quantity}, value: {value}, tolerance: 1 %, conditions: {conditions}}}\n"


def test_a_falsified_point_fails_and_an_honest_one_holds(tmp_path):
    honest = next(p for p in load_pack(PACKS / "whinchat").pack.book if p.quantity == "ground_run")
    said = ", ".join(f"{name}: {text}" for name, text in honest.conditions.items())
    book = "".join(
        f"- {{quantity: ground_run, value: {value}, tolerance: 1 %, conditions: {{{said}}}}}\n"
        for value in ("1500 ft", "1530 ft", "1470 ft")
    )
    results = with_book(tmp_path, book)

    assert [result.holds for result in results] == [True, False, False]
    assert [result.problem for result in results] == ["", "", ""]
    assert results[1].error == pytest.approx(1500 / 1530 - 1, abs=0.003)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (point(quantity="ground_roll"), ['"ground_roll" is not known', 'Did you mean "ground_run"']),
        (point(quantity="wingspan"), ['"wingspan" is not known', "critical_field_length"]),
        (point(condition="temprature: 15 degC"), ['"temprature" is not known', 'Did you mean "temperature"']),
        (point(condition="chute: maybe"), ["chute", "yes or no"]),
        (point(value="1500 kt"), ["1500 kt"]),
        (point(condition="temperature: 15"), ["15"]),
        (point(condition="temperature: 90 degC"), ["isa_deviation"]),
    ],
)
def test_a_point_that_cannot_be_compared_says_why(tmp_path, text, words):
    (result,) = with_book(tmp_path, text)

    assert not result.holds
    for word in words:
        assert word in result.problem


def test_a_point_without_a_mass_says_so(tmp_path):
    (result,) = with_book(tmp_path, "- {quantity: ground_run, value: 1500 ft, tolerance: 1 %}\n")

    assert not result.holds
    assert "mass" in result.problem
