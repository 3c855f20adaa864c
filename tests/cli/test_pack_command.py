"""Packs listed, shown and checked."""

import json
import re
import shutil
from importlib import resources
from pathlib import Path

import pytest

from sortiewright.pack import BookPoint, load_pack, pack_json_schema, pack_names, packs_available
from sortiewright.performance import BookResult

SHIPPED = Path(str(resources.files("sortiewright"))) / "packs"


@pytest.fixture
def whinchat(command):
    """Return a copy of the smaller shipped pack, to be spoilt."""
    return Path(shutil.copytree(SHIPPED / "whinchat", "mine"))


def test_list_names_every_shipped_pack(command):
    shown = command("pack", "list").out

    assert [line.split()[0] for line in shown.splitlines() if not line.startswith(" ")] == pack_names()
    assert command("pack", "list", "--json").json == [entry._asdict() for entry in packs_available()]


@pytest.mark.parametrize("units", ["trade", "si"])
def test_show_gives_each_number_in_the_units_asked_for(command, units):
    area = load_pack("dotterel").pack.airframe.wing_area
    shown = command("pack", "show", "dotterel", "--units", units).out
    # NIST SP 811 (2008), appendix B.8: a foot is 0.3048 m.
    expected = f"{area / 0.3048**2:.1f} ft2" if units == "trade" else f"{area:.2f} m2"

    assert next(line for line in shown.splitlines() if "Wing area" in line).endswith(f" {expected}")
    assert max(len(line) for line in shown.splitlines() if "Folder" not in line) <= 80


def test_faults_of_a_pack_are_lines_with_their_places(command, whinchat):
    text = (whinchat / "airframe.yaml").read_text(encoding="utf-8")
    (whinchat / "airframe.yaml").write_text(text + "wheel_colour: green\n", encoding="utf-8")
    ran = command("pack", "check", "mine")

    assert ran.code == 2
    assert f"airframe.yaml:{len(text.splitlines()) + 1}  " in ran.err
    assert '"wheel_colour" is not a known key' in ran.err
    assert ran.out == ""


def test_pack_without_book_points_says_that_nothing_vouches_for_it(command, whinchat):
    (whinchat / "book.yaml").write_text("[]\n", encoding="utf-8")
    ran = command("pack", "check", "mine")

    assert ran.code == 0
    assert "no faults in its files" in ran.out
    assert "no book points" in ran.err


@pytest.fixture
def book(monkeypatch):
    """Let the check of the book find what the test wants."""

    def finds(*results):
        monkeypatch.setattr("sortiewright.performance.check_book", lambda loaded: results)

    return finds


def result(computed, problem=""):
    point = BookPoint(
        quantity="ground_run", value="2500 ft", tolerance="2 %", conditions={"mass": "43000 lb"}, note=""
    )
    return BookResult(point, "m", 762.0, computed, 15.24, problem)


@pytest.mark.parametrize(
    ("found", "code", "said"),
    [
        (result(767.0), 0, r"  ground run +2 500 ft +2 516 ft +\+0.7 % +2 %\n    mass 43000 lb\n"),
        (result(800.0), 2, r"  ground run +2 500 ft +2 625 ft +\+5.0 % +2 %  NO\n"),
        (result(float("nan"), "table lift is short"), 2, r"  ground run: table lift is short\n"),
    ],
)
def test_book_points_and_what_they_decide(command, book, found, code, said):
    book(found)
    ran = command("pack", "check", "whinchat")

    assert ran.code == code
    assert re.search(said, ran.out)
    assert f"Book points: {1 - code // 2} of 1 hold" in ran.out


def test_check_as_json(command, book):
    book(result(800.0), result(float("nan"), "table lift is short"))
    ran = command("pack", "check", "whinchat", "--json")

    assert ran.code == 2
    assert [one["holds"] for one in ran.json["book"]] == [False, False]
    assert [one["computed"] for one in ran.json["book"]] == [800.0, None]
    assert ran.json["digest"] == load_pack("whinchat").digest


@pytest.mark.slow
@pytest.mark.parametrize(("kind", "start"), [("png", b"\x89PNG"), ("svg", b"<?xml")])
def test_drawings_are_written_and_named(command, book, kind, start):
    book()
    ran = command("pack", "check", "dotterel", "--draw", "drawings", "--format", kind, "--scheme", "night")
    files = [Path(line) for line in ran.out.splitlines() if line.startswith("drawings")]

    assert len(files) >= 5
    assert all(file.read_bytes().startswith(start) for file in files)


def test_schema_is_the_one_of_the_pack_room(command):
    assert command("pack", "schema", "engine").json == json.loads(json.dumps(pack_json_schema("engine")))
    assert command("pack", "schema").json == json.loads(json.dumps(pack_json_schema("pack")))
