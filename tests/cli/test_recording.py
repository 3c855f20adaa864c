"""Recordings on the command line: mapped, checked and shown."""

from pathlib import Path

import numpy as np
import pytest
from sampled_flight import flight, write_csv

from sortiewright import cli
from sortiewright.recording import proposed_map, read_recording, summarise

SAMPLE = str(Path(__file__).parents[1] / "data" / "recordings" / "nominal.csv.gz")


@pytest.fixture(autouse=True)
def registered():
    """Make the group known to the command line, should it not be."""
    if "recording" not in cli.app.resolved_commands():
        cli.app.command("sortiewright.commands.recording:app", name="recording")


def test_map_prints_the_proposal_and_writes_the_same(command):
    ran = command("recording", "map", SAMPLE, "--write", "map.yaml")

    assert ran.code == 0
    assert ran.out == proposed_map(SAMPLE).text() == Path("map.yaml").read_text(encoding="utf-8")
    assert "Written: map.yaml" in ran.err
    assert (
        command("recording", "check", SAMPLE, "--map", "map.yaml").out
        == command("recording", "check", SAMPLE).out
    )


def test_map_as_json_gives_each_channel_with_its_sureness_and_reasons(command):
    shown = command("recording", "map", SAMPLE, "--json").json
    by_channel = {one["channel"]: one for one in shown["channels"]}

    assert shown["time"]["column"] == "simulation/sim-time-sec"
    assert by_channel["ground_speed"] == {
        "channel": "ground_speed",
        "column": "velocities/vg-fps",
        "unit": "ft/s",
        "sure": "certain",
        "reasons": ["a known property"],
        "others": [],
    }
    assert "distance-from-brake-release-ft" in shown["unused"]


def test_check_says_that_nothing_is_odd_or_what_is(command, tmp_path):
    made = flight(rate=5.0)
    made["altitude"][2000] = 0.0
    write_csv(
        tmp_path / "odd.csv", {name: np.delete(values, np.s_[500:600]) for name, values in made.items()}
    )
    odd = command("recording", "check", "odd.csv")
    shown = command("recording", "check", "odd.csv", "--json").json

    assert "Nothing odd was found." in command("recording", "check", SAMPLE).out
    assert odd.code == 0
    assert "gap, 99.80 to 120.00 s: 20.20 s without a sample" in odd.out
    assert {(one["kind"], one["channel"]) for one in shown["defects"]} == {
        ("gap", None),
        ("spike", "altitude"),
        ("missing", "altitude"),
    }


@pytest.mark.parametrize(("units", "line"), [("trade", "345.7  kt"), ("si", "177.9  m/s")])
def test_show_gives_the_figures_in_the_units_asked_for(command, units, line):
    ran = command("recording", "show", SAMPLE, "--units", units)
    speed = next(one for one in ran.out.splitlines() if one.strip().startswith("ground_speed"))

    assert line in speed
    assert max(map(len, ran.out.splitlines())) <= 80


def test_show_as_json_is_what_the_library_gives(command):
    shown = command("recording", "show", SAMPLE, "--json").json
    expected = summarise(read_recording(SAMPLE))

    assert [one["channel"] for one in shown["channels"]] == [one.channel for one in expected]
    assert [one["mean"] for one in shown["channels"]] == [one.mean for one in expected]
    assert shown["samples"] == 5556
    assert shown["rate"] == pytest.approx(20.0)


def test_show_lists_phases_and_events_when_asked(command):
    ran = command("recording", "show", SAMPLE, "--phases")
    shown = command("recording", "show", SAMPLE, "--phases", "--json").json

    assert "takeoff roll" in ran.out
    assert "lift off" in ran.out
    assert "lift_off" in [one["name"] for one in shown["sorties"][0]["events"]]


@pytest.mark.parametrize("name", ["map", "check", "show"])
def test_what_is_no_recording_is_one_line_and_exit_code_two(command, name):
    Path("prose.csv").write_text("Dear diary,\ntoday we flew.\n", encoding="utf-8")
    ran = command("recording", name, "prose.csv")

    assert ran.code == 2
    assert ran.out == ""
    assert ran.err.startswith("prose.csv  this is no table of samples")
    assert len(ran.err.splitlines()) == 1


def test_faults_of_a_map_are_lines_with_their_places(command):
    Path("map.yaml").write_text(
        "time: simulation/sim-time-sec\nchannels:\n  altitud: position/h-sl-ft\n", encoding="utf-8"
    )
    ran = command("recording", "show", SAMPLE, "--map", "map.yaml")

    assert ran.code == 2
    assert ran.err == 'map.yaml:3  channels.altitud: "altitud" is no channel. Did you mean "altitude"?\n'
