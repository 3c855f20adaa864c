"""Whatever goes wrong is said in lines, with the exit code that tells whose fault it is."""

import os
import signal
import subprocess
import sys
import sysconfig
from datetime import datetime
from pathlib import Path

import pytest

from sortiewright import cli
from sortiewright.commands import fault_lines

CHEAPEST = ("calc", "turn", "450", "--bank", "30")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("flan",), 'Unknown command "flan". Did you mean "plan"?'),
        (("calc", "trun"), 'Did you mean "turn"?'),
        (("calc", "turn"), "calc turn: TAS is missing"),
        (("calc", "turn", "450"), "by its bank or by its load factor"),
        (("calc", "turn", "450", "--bank"), "--bank needs a value"),
        (("calc", "turn", "450", "--bnak", "3"), "Unknown option: --bnak. Did you mean --bank?"),
        (("calc", "turn", "450", "500", "--bank", "3"), "too many arguments: 500"),
        (("calc", "turn", "fast", "--bank", "3"), 'TAS: "fast" is no number'),
        (("calc", "turn", "450", "--bank", "3 kt"), '--bank: "3 kt" is not an angle'),
        (("calc", "turn", "450", "--bank", "95"), "less than 90 deg, got 95 deg"),
        (("calc", "turn", "450 nm", "--bank", "9"), "Write nmi for nautical miles"),
        (("calc", "airspeed", "--altitude", "5000"), "give one of --cas, --tas, --eas and --mach"),
        (("calc", "airspeed", "--altitude", "5", "--cas", "200", "--mach", "1"), "give one of"),
        (("calc", "airspeed", "--altitude", "5", "--cas=-200"), "zero or more"),
        (("calc", "airspeed", "--altitude", "200000", "--mach", "1"), "is outside -2,000 to 32,000 m"),
        (("calc", "density-altitude", "--temperature", "9"), "give --elevation and --qnh"),
        (
            ("calc", "density-altitude", "--elevation", "5", "--temperature", "9"),
            "give --elevation and --qnh",
        ),
        (("calc", "wind", "27", "27015G10KT"), "is below the mean speed"),
        (("calc", "wind-triangle", "090", "120", "VRB/05"), "a variable wind has no direction"),
        (("calc", "hydroplaning", "0"), "must be positive"),
        (("calc", "distance", "EGLL", "QQQQ"), "aerodrome 'QQQQ' is not in the list"),
        (("calc", "variation", "54N 3W", "--on", "2031-01-01"), "outside the magnetic model"),
        (("calc", "metar", "METAR XX"), "it is not a station code"),
        (("plan",), "plan: SORTIE is missing"),
        (("plan", "nowhere.yaml"), "nowhere.yaml  there is no such file"),
        (("plan", "demo", "--units", "furlongs"), 'Choose from: "trade", "si"'),
        (("pack", "show", "doterel"), 'Did you mean "dotterel"?'),
        (("pack", "schema", "wings"), 'Choose from: "pack", "airframe"'),
        (("cards", "demo"), "cards: --out is missing"),
        (("completion", "csh"), 'Choose from: "bash", "zsh", "fish"'),
    ],
)
def test_bad_input_is_said_in_lines(command, arguments, said):
    ran = command(*arguments)

    assert ran.code == 2
    assert ran.out == ""
    assert said in ran.err
    assert "Traceback" not in ran.err


def test_command_line_that_cannot_be_read_names_its_help(command):
    assert command("calc", "turn").err.endswith("Help: sortiewright calc turn --help\n")


def test_every_fault_of_a_sortie_has_its_line(command):
    Path("flight.yaml").write_text(
        "title: Test\ncallsign: Test 1\npack: dotterel\nwings: 2\n", encoding="utf-8"
    )
    ran = command("plan", "flight.yaml")

    assert ran.code == 2
    assert "flight.yaml:4" in ran.err
    assert len(ran.err.splitlines()) > 1


def test_folder_that_cannot_be_written_is_named(command):
    Path("taken").write_text("a file", encoding="utf-8")
    ran = command("cards", "demo", "--out", "taken")

    assert ran.code == 2
    assert "taken" in ran.err
    assert "Traceback" not in ran.err


def test_fault_of_the_program_keeps_its_traceback_and_is_no_verdict(command, monkeypatch):
    def broken(*arguments, **options):
        raise KeyError("lost")

    monkeypatch.setattr(cli, "app", broken)
    ran = command(*CHEAPEST)

    assert ran.code == 70
    assert "KeyError" in ran.err
    assert "fault of the program" in ran.err


def test_value_error_of_a_library_is_a_fault_of_the_program():
    with pytest.raises(ValueError, match="day") as caught:
        datetime.strptime("2026-02-30", "%Y-%m-%d")

    assert fault_lines(caught.value) is None


def test_file_that_is_missing_is_named():
    with pytest.raises(OSError, match="nowhere") as caught:
        Path("nowhere").stat()

    (line,) = fault_lines(caught.value)
    assert line.startswith("nowhere: ")


def test_stopping_ends_with_a_line(command, monkeypatch):
    def stopped(*arguments, **options):
        raise KeyboardInterrupt

    monkeypatch.setattr(cli, "app", stopped)
    ran = command(*CHEAPEST)

    assert (ran.code, ran.out, ran.err) == (130, "", "sortiewright: stopped\n")


def program() -> str:
    return str(Path(sysconfig.get_path("scripts")) / f"sortiewright{'.exe' if os.name == 'nt' else ''}")


@pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGPIPE and no SIGINT to send")
@pytest.mark.parametrize("arguments", [("--help",), ("pack", "schema", "airframe"), ("plan", "demo")])
def test_closed_pipe_ends_quietly(arguments):
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run(
        [program(), *arguments], stdout=writer, stderr=subprocess.PIPE, check=False, text=True
    )
    os.close(writer)

    assert done.returncode == 141
    assert "Traceback" not in done.stderr
    assert "Broken" not in done.stderr


@pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGPIPE and no SIGINT to send")
def test_interrupted_process_ends_with_a_line():
    process = subprocess.Popen(
        [sys.executable, "-c", WAITING, "calc", "metar", "-"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stdout
    assert process.stdout.readline() == "waiting\n"
    process.send_signal(signal.SIGINT)
    _, said = process.communicate(timeout=30)

    assert (process.returncode, said) == (130, "sortiewright: stopped\n")


WAITING = """
import sys, time
from sortiewright.cli import main

class NothingComes:
    def read(self):
        print("waiting", flush=True)
        time.sleep(60)

sys.stdin = NothingComes()
main()
"""
