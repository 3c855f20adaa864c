"""The guidelines on the lists that are shipped, and as ``pack check`` prints them."""

import json
import re
import shutil
from importlib import resources
from pathlib import Path

import pytest

from sortiewright.cli import run
from sortiewright.pack import load_pack, pack_names
from sortiewright.procedures import lint, load_procedures

SHIPPED = Path(str(resources.files("sortiewright"))) / "packs"


@pytest.mark.parametrize("name", pack_names())
def test_shipped_lists_keep_the_guidelines_or_say_why_not(name):
    findings = lint(load_procedures(load_pack(name)))

    assert [str(one) for one in findings if not one.accepted] == []
    assert all(len(one.accepted.split()) >= 4 for one in findings)


@pytest.fixture
def command(capsys, monkeypatch, tmp_path):
    """Return a function that runs one command line in an empty folder: exit code, output, complaints."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")

    def ran(*arguments):
        capsys.readouterr()
        return run(arguments), *capsys.readouterr()

    return ran


@pytest.fixture
def spoilt(monkeypatch, tmp_path):
    """Return a copy of the smaller pack in which one response says nothing, and skip its book points."""
    monkeypatch.setattr("sortiewright.performance.check_book", lambda loaded: ())
    folder = Path(shutil.copytree(SHIPPED / "whinchat", tmp_path / "mine"))
    file = folder / "procedures" / "ground.yaml"
    text = file.read_text("utf-8")
    file.write_text(re.sub(r"(?m)^(\s+response: ).*$", r"\1CHECKED", text, count=1), "utf-8")
    return folder


def test_pack_check_prints_each_finding_with_place_and_source(command, spoilt):
    code, out, _ = command("pack", "check", str(spoilt))

    assert code == 0
    assert re.search(r"Procedures: \d+ normal, .*\d+ items", out)
    assert re.search(r"Guidelines: 1 finding", out)
    assert re.search(r"procedures/ground\.yaml:\d+  bare-response \w+\.\w+: \"CHECKED\"", out)
    assert "bare-response: NASA CR-177549, guideline 1" in out
    assert max(len(line) for line in out.splitlines()) <= 80


def test_pack_check_gives_programs_the_accepted_ones_too(command, spoilt):
    _, out, _ = command("pack", "check", str(spoilt), "--json")
    found = json.loads(out)["guidelines"]

    assert [one["guideline"] for one in found if not one["accepted"]] == ["bare-response"]
    assert {"place", "source", "procedure", "item", "text"} < set(found[0])


def test_pack_check_of_a_pack_without_procedures_says_nothing_of_them(command, spoilt):
    shutil.rmtree(spoilt / "procedures")
    code, out, _ = command("pack", "check", str(spoilt))

    assert code == 0
    assert "Guidelines" not in out


def test_pack_check_tells_faults_of_procedures_with_their_places(command, spoilt):
    file = spoilt / "procedures" / "ground.yaml"
    file.write_text(file.read_text("utf-8").replace("challenge:", "chalenge:", 1), "utf-8")
    code, out, err = command("pack", "check", str(spoilt))

    assert code == 2
    assert re.search(r'procedures/ground\.yaml:\d+  .*"chalenge" is not a known key', err)
    assert out == ""
