"""checklist prove: the verdict first, then how everything found comes about."""

import re
import shutil

import pytest

from sortiewright.pack import pack_folder


@pytest.fixture
def own_pack(tmp_path):
    """Return a function that copies a shipped pack with one text of its lists replaced."""

    def copied(file, before, after):
        folder = tmp_path / "own"
        shutil.copytree(pack_folder("whinchat"), folder)
        path = folder / "procedures" / file
        text = path.read_text(encoding="utf-8")
        assert text.count(before) == 1
        path.write_text(text.replace(before, after), encoding="utf-8")
        return "./own"

    return copied


def test_a_pack_that_is_proved_says_so_first_and_exits_with_0(command):
    ran = command("checklist", "prove", "whinchat")
    assert ran.code == 0
    assert re.match(r"PROVED  Whinchat: all \d+ rules hold on every sortie\n", ran.out)
    assert re.search(r"\d+ invariants, \d+ needs of items, \d+ conditions of holds", ran.out)
    assert "Taken for granted: Front seat is never empty" in ran.out


def test_a_story_is_told_step_by_step_and_the_exit_code_is_1(command, own_pack):
    pack = own_pack(
        "order.yaml",
        "invariants:\n",
        'invariants:\n  - {id: dark, why: "To see.", never: "battery == \'ON\'"}\n',
    )
    ran = command("checklist", "prove", pack)
    assert ran.code == 1
    assert re.match(r"NOT PROVED  Whinchat: 1 of \d+ rules can be broken\n", ran.out)
    lines = ran.out.split("\n")
    start = lines.index("1. dark: never battery == 'ON'")
    assert re.fullmatch(r"   procedures/order\.yaml:\d+", lines[start + 1])
    assert lines[start + 2] == "   Why: To see."
    assert re.match(
        r"    1\. Front seat answers 'Battery' \(Before start \d+\): Battery to ON", lines[start + 3]
    )
    assert lines[start + 4].startswith(
        "   Then: In 'Before start' this must never be, and is: battery == 'ON'"
    )
    assert max(map(len, lines)) <= 80


def test_a_bound_that_is_met_is_said_plainly(command):
    ran = command("checklist", "prove", "whinchat", "--most-states", "50")
    assert ran.code == 1
    assert ran.out.startswith("NOT DECIDED  Whinchat: ")
    flat = " ".join(ran.out.split())
    assert "The bound of 50 states was met. Not decided: " in flat
    assert "--most-states" in flat


def test_json_holds_the_verdict_every_rule_and_every_step(command, own_pack):
    pack = own_pack(
        "order.yaml",
        "invariants:\n",
        'invariants:\n  - {id: dark, why: "To see.", never: "battery == \'ON\'"}\n',
    )
    ran = command("checklist", "prove", pack, "--json")
    assert ran.code == 1
    assert ran.json["proved"] is False
    assert ran.json["complete"] is True
    assert {rule["verdict"] for rule in ran.json["rules"]} == {"holds", "broken"}
    (finding,) = ran.json["findings"]
    assert finding["id"] == "dark"
    assert [step["item"] for step in finding["story"]["steps"]] == ["battery"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("nowhere",), "there is no such pack"),
        (("whinchat", "--most-states", "0"), "most-states"),
        (("whinchat", "--depth", "9"), "depth"),
        (("whinchat", "--depth", "deep"), "depth"),
    ],
)
def test_what_cannot_be_proved_at_all_exits_with_2(command, arguments, said):
    ran = command("checklist", "prove", *arguments)
    assert (ran.code, ran.out) == (2, "")
    assert said in ran.err


def test_a_pack_without_procedures_is_told_so(command, tmp_path):
    shutil.copytree(pack_folder("whinchat"), tmp_path / "bare", ignore=shutil.ignore_patterns("procedures"))
    ran = command("checklist", "prove", "./bare")
    assert ran.code == 2
    assert "has no procedures" in ran.err


def test_faulty_lists_are_told_with_their_line_and_not_proved(command, own_pack):
    pack = own_pack(
        "order.yaml",
        "invariants:\n",
        'invariants:\n  - {id: dark, why: "To see.", never: "batery == \'ON\'"}\n',
    )
    ran = command("checklist", "prove", pack)
    assert ran.code == 2
    assert "procedures/order.yaml" in ran.err
    assert 'Did you mean "battery"?' in ran.err
