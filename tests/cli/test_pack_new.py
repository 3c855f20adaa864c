"""An empty pack, and the checker that leads through it until it is whole."""

import importlib.util
import shutil

import pytest
from filling_in import NAMES, WHINCHAT, add_what_may_be_left_out, fill, written

from sortiewright.pack import (
    PackNames,
    load_pack,
    new_pack_files,
    parse_yaml,
    summarise_pack,
    unfinished_pack,
)
from sortiewright.pack.new_pack import key_meanings
from sortiewright.pack.schema import Pack
from sortiewright.pack.shape import fields_of
from sortiewright.performance import check_book

ORDER = [
    "pack.yaml",
    "airframe.yaml",
    "mass.yaml",
    "wheels.yaml",
    "technique.yaml",
    "engine.yaml",
    "aero.yaml",
]

OWN = ("name", "folder", "digest", "values with a source")
"""What a summary says of the files, not of the aircraft."""


def records(record=Pack):
    """Every record that a pack may hold."""
    found = {record.__name__: record}
    for shape in fields_of(record).values():
        while shape.item is not None:
            shape = shape.item
        if shape.record is not None:
            found |= records(shape.record)
    return found


def test_every_key_of_the_schema_stands_in_an_empty_pack_with_its_meaning():
    files = new_pack_files("my_jet", PackNames(stations=["left"]))
    text = "\n".join(files.values())
    for name, record in records().items():
        for key in fields_of(record):
            if name == "Pack" and f"{key}.yaml" in files:
                continue
            lines = [line for line in text.splitlines() if f"{key}:" in line]

            assert lines, f"{name}.{key}"
            if meaning := key_meanings()[name, key].meaning.replace("`", ""):
                assert any(meaning in line for line in lines), f"{name}.{key}"


def test_meanings_are_those_of_the_page_on_the_format(project_root):
    spec = importlib.util.spec_from_file_location("maker", project_root / "tools" / "make_key_meanings.py")
    maker = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(maker)

    assert maker.TABLE.read_text(encoding="utf-8") == maker.table(), "run python tools/make_key_meanings.py"


def test_what_may_be_left_out_is_yaml_once_its_mark_is_taken_away(command, tmp_path):
    text = new_pack_files("my_jet")["limits.yaml"]
    bare = "\n".join(line.removeprefix("# ") for line in text.splitlines()[6:])

    assert set(parse_yaml(bare, "limits.yaml").data) == set(fields_of(records()["Limits"]))


def test_fresh_pack_is_told_what_to_fill_in_one_short_list(command):
    made = command("pack", "new", "my_jet")
    ran = command("pack", "check", "my_jet")

    assert made.code == 0
    assert made.out.startswith("my_jet: 20 files written to my_jet.\n")
    assert ran.code == 2
    assert len(ran.out.splitlines()) <= 12
    assert "Not complete: 64 values are missing. Fill next\n  pack.yaml:7  title: " in ran.out
    assert list(unfinished_pack("my_jet").by_file) == ORDER
    assert unfinished_pack("my_jet").faults == ()


def test_pack_filled_as_the_checker_leads_becomes_whinchat(command, tmp_path):
    command("pack", "new", "mine", *NAMES)
    folder, files, rounds = tmp_path / "mine", [], 0
    while found := unfinished_pack(folder):
        rounds += 1
        ran = command("pack", "check", "mine")
        first = found.steps[0].file

        assert ran.code == 2
        assert found.faults == ()
        assert f"  {first}:" in ran.out
        assert len(ran.out.splitlines()) <= 24
        if first not in files:
            files.append(first)
        # From the bottom up: a line that is written leaves the lines above where they were.
        for step in sorted((one for one in found.steps if one.file == first), key=lambda one: -one.line)[:12]:
            fill(folder, step)

    assert files == ORDER
    assert 7 <= rounds <= 20
    # Stations name their stores; the file of stores is still commented.
    assert "baggage_pod" in command("pack", "check", "mine").err
    for part in ("stores", "limits", "book"):
        shutil.copy(WHINCHAT / f"{part}.yaml", folder / f"{part}.yaml")
    for part in ("pack", "airframe", "mass", "wheels", "technique", "engine", "aero"):
        shutil.copytree(WHINCHAT / "tables", folder / "tables", dirs_exist_ok=True)
        add_what_may_be_left_out(folder, part)
    whole = command("pack", "check", "mine")

    assert whole.code == 0, whole.out + whole.err
    mine, theirs = load_pack(folder), load_pack("whinchat")
    rows = [[row for row in summarise_pack(one) if row.label not in OWN] for one in (mine, theirs)]
    assert rows[0] == rows[1]
    assert [one.computed for one in check_book(mine)] == [one.computed for one in check_book(theirs)]
    assert written("pack")["version"] == mine.pack.version


def test_fault_in_what_is_written_is_said_before_what_is_missing(command, tmp_path):
    command("pack", "new", "my_jet")
    file = tmp_path / "my_jet" / "airframe.yaml"
    file.write_text(file.read_text("utf-8").replace("wing_area: ", "wing_area: 17,5 m2"), "utf-8")
    ran = command("pack", "check", "my_jet")

    assert ran.out.startswith('Mend first\n  airframe.yaml:6  wing_area: "17,5 m2" is not a quantity.')
    assert "Not complete: 63 values are missing" in ran.out


def test_all_that_is_missing_is_in_the_json(command):
    command("pack", "new", "my_jet")
    ran = command("pack", "check", "my_jet", "--json")

    assert ran.code == 2
    assert not ran.json["complete"]
    assert len(ran.json["missing"]) == 64
    assert ran.json["missing"][0] | {"wanted": ""} == {
        "file": "pack.yaml",
        "line": 7,
        "key": "title",
        "wanted": "",
    }


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["My Jet"], 'folder  "My Jet" cannot be a name here'),
        (["jet", "--name", "Jet"], '--name  "Jet" cannot be a name here'),
        (["jet", "--tank", "a b"], '--tank  "a b" cannot be a name here'),
        (["jet", "--setting", "idle", "--setting", "idle"], '--setting  "idle" is given twice'),
        (["taken"], "taken  is there already and is not an empty folder"),
    ],
)
def test_bad_names_and_taken_folders_are_refused(command, tmp_path, arguments, said):
    (tmp_path / "taken").mkdir()
    (tmp_path / "taken" / "a.txt").write_text("a", "utf-8")
    ran = command("pack", "new", *arguments)

    assert ran.code == 2
    assert said in ran.err
