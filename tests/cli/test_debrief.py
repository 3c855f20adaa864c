"""The debrief command: what it prints, what it writes, and what it says of input that is none."""

import gzip
import json
import re
from pathlib import Path

import jsonschema
import pypdf
import pytest
from debrief_schema import SCHEMA

DATA = Path(__file__).parents[1] / "data"
FLAWED = str(DATA / "recordings" / "flawed_departure.csv.gz")
NOMINAL = str(DATA / "recordings" / "nominal.csv.gz")
SORTIE = str(DATA / "sorties" / "t38_departure.yaml")


def test_it_prints_findings_worst_first_then_what_went_well_the_run_and_the_values(command, tmp_path):
    ran = command("debrief", FLAWED, "--sortie", SORTIE)
    lines = ran.out.splitlines()
    places = [ran.out.index(word) for word in ("Look at this first", "Worth practice", "Minor")]

    assert ran.code == 0
    assert "things to do better" in lines[0]
    assert places == sorted(places)
    assert (
        places[-1]
        < ran.out.index("What went well")
        < ran.out.index("Takeoff at")
        < ran.out.index("Values noted")
    )
    files = sorted(path.name for path in (tmp_path / "debrief").iterdir())
    assert files == [f"flawed_departure-debrief.{kind}" for kind in ("html", "json", "pdf")]
    assert all(len(line) <= 80 for line in lines if "debrief" not in line)


def test_json_goes_to_stdout_alone_and_writes_nothing(command, tmp_path):
    ran = command("debrief", NOMINAL, "--sortie", SORTIE, "--json")

    assert ran.code == 0
    jsonschema.validate(ran.json, SCHEMA)
    assert ran.json["flights"][0]["findings"] == []
    assert list(tmp_path.iterdir()) == []


def test_what_is_written_is_what_is_printed(command, tmp_path):
    ran = command("debrief", FLAWED, "--sortie", SORTIE, "--json", "--out", "here", "--no-pdf")
    names = {path.suffix: path for path in (tmp_path / "here").iterdir()}

    assert set(names) == {".html", ".json"}
    assert json.loads(names[".json"].read_text(encoding="utf-8")) == ran.json
    assert names[".html"].read_text(encoding="utf-8").startswith("<!doctype html>")
    assert "Written:" in ran.err


def test_without_a_sortie_it_says_what_to_give(command):
    ran = command("debrief", NOMINAL, "--no-pdf")

    assert ran.code == 0
    assert "--sortie" in ran.err
    assert "--pack" in ran.err


def test_a_pack_alone_judges_but_compares_nothing(command):
    ran = command("debrief", NOMINAL, "--pack", str(DATA / "packs" / "t38_sampled"), "--no-pdf", "--json")

    assert ran.json["flights"][0]["rules"]
    assert ran.json["flights"][0]["takeoffs"] == []
    assert any("--sortie" in note for note in ran.json["notes"])


def test_another_sortie_is_not_compared_and_every_difference_is_named(command):
    ran = command("debrief", NOMINAL, "--sortie", "demo", "--no-pdf")

    assert ran.code == 0
    assert "Not compared. Takeoff: flown" in ran.err
    assert "weight was" in ran.err


# NIST SP 811 (2008), appendix B.8: 1 kt = 0.514 444 m/s, 1 ft = 0.3048 m, 1 lb = 0.453 592 kg.
def test_si_is_printed_and_written_where_it_is_asked_for(command, tmp_path):
    trade = command("debrief", FLAWED, "--sortie", SORTIE, "--out", "trade", "--no-pdf")
    si = command("debrief", FLAWED, "--sortie", SORTIE, "--out", "si", "--units", "si")
    page = (tmp_path / "si" / "flawed_departure-debrief.html").read_text(encoding="utf-8")
    page = page.split('id="strips-data"')[0]
    paper = " ".join(
        pypdf.PdfReader(tmp_path / "si" / "flawed_departure-debrief.pdf").pages[0].extract_text().split()
    )

    for ran, row in (
        (trade, r"Ground run +3 380 ft +3 300 ft +\+80 ft"),
        (si, r"Ground run +1 030 m +1 005 m +\+25 m"),
        (trade, r"Lift-off speed +170 kt"),
        (si, r"Lift-off speed +87.5 m/s"),
        (trade, r"Takeoff weight +11 240 lb"),
        (si, r"Takeoff weight +5 100 kg"),
        (trade, r"Gear overspeed: 27[01] kt, above 25[45] kt"),
        (si, r"Gear overspeed: 139 m/s, above 131 m/s"),
    ):
        assert re.search(row.replace(" +", " "), " ".join(ran.out.split())), row
    assert not re.search(r"\d (kt|ft|lb)\b", re.sub(r"(50|300|500) ft", "", si.out))
    for text in ("airspeed, m/s calibrated", "from brake release, m", "87.5\u202fm/s", "above 131 m/s"):
        assert text in page
    for text in ("1 030 m", "Airspeed, calibrated, m/s", "139 m/s limit 131 m/s"):
        assert text in paper


def test_json_has_the_same_si_values_whatever_units_are_asked_for(command):
    trade, si = (
        command("debrief", FLAWED, "--sortie", SORTIE, "--json", "--units", units).json["flights"]
        for units in ("trade", "si")
    )
    (takeoff,) = trade[0]["takeoffs"]
    compared = {one["name"]: one["flown"] for one in takeoff["compared"]}

    assert [one["compared"] for one in trade[0]["takeoffs"]] == [one["compared"] for one in si[0]["takeoffs"]]
    assert trade[0]["measured"] == si[0]["measured"]
    assert compared["ground_run"]["unit"] == "m"
    assert compared["ground_run"]["value"] == pytest.approx(3380 * 0.3048, abs=5 * 0.3048)
    assert compared["lift_off_speed"]["unit"] == "m/s"
    assert compared["lift_off_speed"]["value"] == pytest.approx(170 * 1852 / 3600, abs=0.3)


BAD = {
    "empty": b"",
    "one_sample": b"time,ground_speed\n0,1\n",
    "no_time": b"a,b\n1,x\n2,y\n",
    "binary": bytes(range(256)) * 40,
    "cut": gzip.compress(b"time,ground_speed\n0,1\n1,2\n2,3\n")[:20],
}


@pytest.mark.parametrize("name", BAD)
def test_what_is_no_recording_is_told_in_a_line_and_nothing_is_written(command, tmp_path, name):
    file = tmp_path / f"{name}.csv{'.gz' if name == 'cut' else ''}"
    file.write_bytes(BAD[name])
    ran = command("debrief", file.name)

    assert ran.code == 2, ran.out
    assert ran.out == ""
    assert ran.err.startswith(file.name)
    assert "Traceback" not in ran.err
    assert not (tmp_path / "debrief").exists()


@pytest.mark.parametrize(
    "arguments",
    [
        ("absent.csv",),
        (NOMINAL, "--sortie", "nowhere"),
        (NOMINAL, "--pack", "no_pack"),
        (NOMINAL, "--map", "absent.yaml"),
        (NOMINAL, "--runway-start", "somewhere"),
    ],
    ids=lambda one: one[-1],
)
def test_what_is_not_there_is_named(command, tmp_path, arguments):
    ran = command("debrief", *arguments)

    assert ran.code == 2
    assert arguments[-1] in ran.err
    assert list(tmp_path.iterdir()) == []
