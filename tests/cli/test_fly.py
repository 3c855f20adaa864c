"""The fly command: what it prints and writes, and what it says of input that cannot be flown."""

import json
from pathlib import Path

import pytest

from sortiewright.flying import FLAWS

DATA = Path(__file__).parents[1] / "data"
SORTIE = str(DATA / "sorties" / "t38_departure.yaml")


def test_it_writes_a_recording_and_its_truth_and_prints_the_moments_as_json(command, tmp_path):
    ran = command(
        "fly", SORTIE, "--model", "T38", "--no-taxi", "--no-circuit",
        "--flaw", "late_rotation=10", "--rate", "10", "--out", "there/flown.csv", "--json",
    )  # fmt: skip
    truth = json.loads((tmp_path / "there" / "flown.truth.json").read_text(encoding="utf-8"))

    assert ran.code == 0
    assert ran.json["flaws"] == [
        {"name": "late_rotation", "amount": "10 kt", "says": "pulls 10 kt after the rotation speed"}
    ]
    assert {"brake_release", "rotation_begins", "lift_off", "gear_up"} <= {
        one["name"] for one in ran.json["moments"]
    }
    assert truth["moments"] == ran.json["moments"]
    assert len((tmp_path / "there" / "flown.csv").read_text().splitlines()) == ran.json["rows"] + 2


@pytest.mark.parametrize("name", FLAWS)
def test_help_names_every_flaw_with_its_usual_amount(command, name):
    words = " ".join(command("fly", "--help").out.split())
    usual = FLAWS[name].usual

    assert f"{name}=" + ("KT" if usual is None else f"{usual:g}") in words


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--model", "T38", "--flaw", "late_rotaton"), 'Did you mean "late_rotation"?'),
        (("--model", "T38", "--rate", "0"), "--rate 0 is no rate for a recording"),
        (("--model", "T38", "--circuit-height", "1e9"), "is no height for a circuit"),
        (("--model", "T38", "--takeoff-flap", "60"), "is not a share of the lever's travel"),
        (("--model", "T38", "--out", "flight.parquet"), "Write flight.csv or flight.csv.gz"),
        (("--model", "T38", "--out", "."), "is no name for a recording"),
        (("--model", "T83"), "is not an aircraft of JSBSim"),
        ((), "--model is missing"),
    ],
)
def test_what_cannot_be_flown_is_bad_input(command, tmp_path, arguments, said):
    ran = command("fly", SORTIE, *arguments)

    assert ran.code == 2
    assert said in " ".join(ran.err.split())
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_is_there_is_not_written_over(command, tmp_path):
    (tmp_path / "flight.truth.json").write_text("mine")
    ran = command("fly", SORTIE, "--model", "T38")

    assert ran.code == 2
    assert "is there already. Write over it with --replace" in ran.err
    assert (tmp_path / "flight.truth.json").read_text() == "mine"


def test_a_no_go_is_not_flown(command):
    ran = command("fly", "short_wet", "--model", "T38")

    assert ran.code == 1
    assert "is a no-go. Fly it all the same with --anyway" in ran.err


def test_without_the_library_it_says_what_to_install(command, monkeypatch):
    monkeypatch.setitem(__import__("sys").modules, "jsbsim", None)
    ran = command("fly", SORTIE, "--model", "T38")

    assert ran.code == 2
    assert "pip install 'sortiewright[fdm]'" in ran.err


def test_a_plan_without_an_altimeter_setting_cannot_be_flown(command, tmp_path):
    text = Path(SORTIE).read_text(encoding="utf-8").replace(" Q1015", "")
    pack = json.dumps((DATA / "packs" / "t38_sampled").as_posix())
    (tmp_path / "sortie.yaml").write_text(text.replace("../packs/t38_sampled", pack), encoding="utf-8")
    ran = command("fly", "sortie.yaml", "--model", "T38")

    assert ran.code == 2
    assert ran.err.count("\n") == 1
    assert "takeoff numbers: the plan has none (no altimeter setting (weather.qnh))" in ran.err
