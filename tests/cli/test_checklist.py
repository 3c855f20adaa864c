"""checklist show: exactly today's items, for both seats, with today's numbers."""

import dataclasses
import re
import shutil

import pytest
from small_procedures import FILES

from sortiewright.commands.checklist_page import boxed, item_text, page_text, seat_letters
from sortiewright.pack import pack_folder
from sortiewright.procedures import FilledBranch, FilledHold, ReadyItem, load_procedures, tailor_checklists
from sortiewright.sortie import demo_sortie_path, load_sortie, plan

LETTERS = {"front": "F", "rear": "R"}
PLAIN = ReadyItem(id="flaps", number=7, challenge="Flaps", response="HALF", seats=("front",))


@pytest.fixture
def own_pack(tmp_path):
    """Return a sortie file that names a copy of the twin with the small procedures."""
    folder = tmp_path / "twin"
    shutil.copytree(pack_folder("dotterel"), folder, ignore=shutil.ignore_patterns("procedures"))
    (folder / "procedures").mkdir()
    for name, text in FILES.items():
        (folder / "procedures" / f"{name}.yaml").write_text(text, encoding="utf-8")
    text = demo_sortie_path().read_text(encoding="utf-8")
    (tmp_path / "today.yaml").write_text(text.replace("pack: dotterel", "pack: twin"), encoding="utf-8")
    return folder


def test_a_list_reads_as_a_crew_reads_it(command, own_pack):
    ran = command("checklist", "show", "today.yaml")
    lines = ran.out.split("\n")

    assert ran.code == 0
    assert ran.err == ""
    assert lines[0].startswith("GO  Thistle 21")
    assert "Before start  (before_start)  do-confirm, each seat its own" in lines
    assert "  1 !  Battery ......................................................... ON  F" in lines
    assert any(re.fullmatch(r"  2    Harness \.+ FASTENED    R", line) for line in lines)
    assert len({len(line.rstrip("FR /")) for line in lines if " ... " in line or "....." in line}) == 1
    assert any(re.fullmatch(r"  4    Fuel \.+ [\d ]+ lb  F R", line) for line in lines)
    assert "       -- Before start complete --" in lines


def test_a_hold_stands_in_a_box_before_its_item(command, own_pack):
    lines = command("checklist", "show", "today.yaml", "--procedure", "before_takeoff").out.split("\n")
    hold = next(number for number, line in enumerate(lines) if "HOLD" in line)

    assert lines[hold].strip() == "│ HOLD  Clearance for takeoff (tower) │"
    assert lines[hold - 1].strip() == "┌─────────────────────────────────────┐"
    assert lines[hold + 2].startswith("  1    Takeoff clearance ")
    assert lines[hold + 2].endswith("Read back  F/R")


def test_what_is_left_out_is_counted_and_told_if_asked(command, own_pack):
    short = command("checklist", "show", "today.yaml", "--procedure", "before_takeoff").out
    long = command("checklist", "show", "today.yaml", "--procedure", "before_takeoff", "--why").out

    assert "1 item left out today (--why)" in short
    assert "crosswind > kt(10)" not in short
    assert re.search(r"  2 left out: Stick into wind\. crosswind > kt\(10\): crosswind is \d+ kt", long)
    assert "Stick into wind ." not in long


def test_emergencies_mark_what_is_done_from_memory_by_a_letter(command, own_pack):
    out = command("checklist", "show", "today.yaml", "--emergencies").out

    assert "No airspeed  (no_airspeed)  emergency, read-do" in out
    assert "M from memory" in out
    assert re.search(r"^  1  M Attitude \.+ 11\.0°  F$", out, re.MULTILINE)
    assert (
        out.index("  Immediate\n")
        < out.index("Attitude")
        < out.index("  Follow-up\n")
        < out.index("Pitot heat")
    )
    assert "Then back to where it was called from" in out
    assert "Before start" not in out


def test_json_holds_the_same_for_programs(command, own_pack):
    ran = command("checklist", "show", "today.yaml", "--json", "--units", "si")
    lists = {one["id"]: one for one in ran.json["procedures"]}

    assert list(lists) == ["before_start", "before_takeoff", "go_around"]
    assert lists["before_start"]["items"][3]["response"].endswith("kg")
    assert lists["before_takeoff"]["items"][0]["hold"]["cleared_by"] == "tower"
    assert lists["before_takeoff"]["left_out"][0]["number"] == 2
    assert re.fullmatch("[0-9a-f]{64}", ran.json["digest"])
    assert [seat["name"] for seat in ran.json["seats"]] == ["front", "rear"]


def test_a_list_that_is_not_there_names_the_nearest(command, own_pack):
    ran = command("checklist", "show", "today.yaml", "--procedure", "before_takeof")

    assert ran.code == 2
    assert ran.err == '"before_takeof" is no procedure. Did you mean "before_takeoff"?\n'


def test_a_list_that_does_not_apply_says_why(command, own_pack):
    path = own_pack / "procedures" / "lists.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text.replace("  phase: ground\n", "  phase: ground\n  when: at_night\n"), encoding="utf-8"
    )
    ran = command("checklist", "show", "today.yaml", "--procedure", "before_start")

    assert ran.code == 2
    assert ran.err == "Before start does not apply today: at_night is no\n"
    assert "Before start: at_night is no" in command("checklist", "show", "today.yaml", "--why").out


def test_a_fault_of_the_lists_is_told_with_file_and_line(command, own_pack):
    path = own_pack / "procedures" / "lists.yaml"
    path.write_text(
        path.read_text(encoding="utf-8").replace("{battery: ON}", "{battery: AN}"), encoding="utf-8"
    )
    ran = command("checklist", "show", "today.yaml")

    assert ran.code == 2
    assert ran.out == ""
    assert ran.err.startswith("procedures/lists.yaml:7  before_start.items[0].sets.battery: ")


def test_a_pack_without_lists_says_so(command, own_pack):
    shutil.rmtree(own_pack / "procedures")
    ran = command("checklist", "show", "today.yaml")

    assert ran.code == 2
    assert "has no procedures" in ran.err


def test_remarks_go_to_the_other_stream(command, own_pack):
    path = own_pack / "procedures" / "lists.yaml"
    text = path.read_text(encoding="utf-8").replace(
        "  entry: No speed", "  when: at_night\n  entry: No speed"
    )
    path.write_text(text, encoding="utf-8")
    ran = command("checklist", "show", "today.yaml")

    assert "nothing leads there" in ran.err
    assert "nothing leads there" not in ran.out


@pytest.mark.parametrize("name", ["short_wet", "trainer_circuits"])
def test_no_line_is_wider_than_the_terminal(monkeypatch, name):
    loaded = load_sortie(demo_sortie_path().with_name(f"{name}.yaml"))
    made = plan(loaded.sortie, loaded.pack)
    lists = tailor_checklists(load_procedures(loaded.pack), loaded.sortie, made)
    for columns in (60, 80, 132):
        monkeypatch.setenv("COLUMNS", str(columns))
        lines = plain(page_text(lists, tuple(lists.by_id.values()), made, why=True, amplified=True))

        assert len(lines) > 400
        assert [line for line in lines if len(line) > columns] == []


# The exit code is the plan's: a crew that reads the lists of a no-go learns of it from the same call.
def test_the_verdict_comes_first_and_is_the_exit_code(command):
    ran = command("checklist", "show", "hot_high_heavy", "--procedure", "before_takeoff")

    assert ran.out.startswith("NO-GO")
    assert ran.code == 1


def plain(lines):
    return [line.plain.rstrip() for line in lines]


def test_advice_stands_before_the_item_in_the_order_of_its_weight():
    item = dataclasses.replace(PLAIN, notes=("A note.",), warnings=("A danger.",), cautions=("A cost.",))
    first, second, third, fourth = plain(item_text(item, LETTERS))

    assert first.split() == ["WARNING", "A", "danger."]
    assert second.split() == ["CAUTION", "A", "cost."]
    assert third.split() == ["NOTE", "A", "note."]
    assert fourth.startswith("  7    Flaps ...")


def test_what_hangs_on_an_item_stands_below_it():
    item = dataclasses.replace(
        PLAIN,
        branch=FilledBranch("abort", "Takeoff abort", "No light"),
        until="Before line-up",
        problem="Trim: no wind",
        why="It is long.",
    )
    lines = plain(item_text(item, LETTERS, amplified=True))

    assert [line.strip() for line in lines[1:]] == [
        "If not (No light): Takeoff abort",
        "May wait. Before line-up",
        "No value. Trim: no wind",
        "It is long.",
    ]


def test_a_long_answer_has_a_line_of_its_own(monkeypatch):
    monkeypatch.setenv("COLUMNS", "60")
    item = dataclasses.replace(
        PLAIN, challenge="A challenge of some length here", response="An answer of some length"
    )
    first, second = plain(item_text(item, LETTERS))

    assert first.split() == [*["7", "A", "challenge", "of", "some", "length", "here", "F"]]
    assert re.fullmatch(r" {7}\.+ An answer of some length", second)


def test_an_item_that_only_waits_has_no_leaders():
    item = dataclasses.replace(PLAIN, response="", seats=(), hold=FilledHold("Signal", "tower", "Tower"))
    lines = plain(item_text(item, LETTERS))

    assert lines[-1] == "  7    Flaps"
    assert "HOLD  Signal (tower)" in lines[1]


def test_an_output_without_box_signs_gets_plain_ones(monkeypatch):
    class Old:
        encoding = "ascii"

    monkeypatch.setattr("sys.stdout", Old())

    assert plain(boxed("HOLD"))[0].strip() == "+------+"


def test_seats_have_letters_or_digits():
    assert seat_letters([("front", ""), ("rear", "")]) == {"front": "F", "rear": "R"}
    assert seat_letters([("left", ""), ("lower", "")]) == {"left": "1", "lower": "2"}
