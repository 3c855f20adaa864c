"""Plan, cards and demo: what is printed where, and the exit code of each verdict."""

import io
import re
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from sortiewright.commands.output import print_text
from sortiewright.sortie import (
    Figure,
    Kind,
    LandingCase,
    Reason,
    Section,
    Verdict,
    demo_sortie_path,
    load_sortie,
    plan,
    plan_to_json,
    show,
)

PLAN_COMMAND = sys.modules["sortiewright.commands.plan"]


@pytest.fixture(scope="module")
def demo_plan():
    loaded = load_sortie(demo_sortie_path())
    return plan(loaded.sortie, loaded.pack)


@pytest.fixture
def shown(capsys, monkeypatch):
    def lines(made, columns=80, units="trade"):
        monkeypatch.setenv("COLUMNS", str(columns))
        print_text(PLAN_COMMAND.plan_text(made, units))
        return capsys.readouterr().out.splitlines()

    return lines


def test_verdict_stands_first_and_remarks_go_to_stderr(command, demo_plan):
    ran = command("plan", "demo")

    assert ran.out.startswith(f"{demo_plan.verdict.value.upper()}  {demo_plan.callsign}: {demo_plan.title}\n")
    assert ran.err.splitlines() == [f"Remark: {one}" for one in demo_plan.remarks]
    assert ran.code == (1 if demo_plan.verdict == Verdict.NO_GO else 0)


@pytest.mark.parametrize(("verdict", "code"), [(Verdict.GO, 0), (Verdict.CAUTION, 0), (Verdict.NO_GO, 1)])
def test_exit_code_is_one_for_a_no_go_only(demo_plan, verdict, code):
    assert PLAN_COMMAND.exit_code(replace(demo_plan, verdict=verdict)) == code


@pytest.mark.parametrize("units", ["trade", "si"])
def test_every_figure_is_printed_as_the_cards_show_it(shown, demo_plan, units):
    lines = iter(shown(demo_plan, columns=200, units=units))

    for section in demo_plan.sections:
        assert section.title in lines
        for figure in section.figures:
            value = show(replace(figure, text="") if figure.value is not None else figure, system=units)
            number = value.number.replace("\u202f", " ").replace("−", "-")
            line = next(line for line in lines if line.startswith(f"  {figure.title}"))
            assert (figure.problem or figure.text or number) in line


@pytest.mark.parametrize("columns", [60, 80, 120])
def test_plan_fits_the_terminal(shown, demo_plan, columns):
    # Below 80 columns the table of landings keeps its own.
    allowed = max(columns, 80)

    assert max(len(line) for line in shown(demo_plan, columns)) <= allowed


def test_numbers_stand_one_under_the_other(shown, demo_plan):
    rows = [re.fullmatch(r"  \S.*?  +-?[\d ]+ (kt|lb)", line) for line in shown(demo_plan)]
    ends = {row.start(1) for row in rows if row}

    assert len(ends) == 1


def test_missing_number_shows_a_dash_and_why(shown, demo_plan):
    lost = Figure(
        "lost", "Lost number", None, Kind.CAS, problem="table lift, axis mach: 0.4 is outside 0 to 0.3"
    )
    never = Figure("never", "Never", float("inf"), Kind.RUNWAY_DISTANCE)
    worded = Figure(
        "words", "In words", 3.0e7, Kind.ENERGY, text="caution zone", cautions=("Cool 40 minutes.",)
    )
    made = replace(demo_plan, sections=(Section("all", "All", (lost, never, worded)),))
    text = "\n".join(shown(made, 120))

    assert re.search(r"  Lost number +-  +table lift, axis mach: 0.4 is outside 0 to 0.3", text)
    assert "Never        never" in text
    assert "In words     22.1 Mft·lbf  caution zone. Cool 40 minutes." in text


def test_reasons_come_before_the_sections(shown, demo_plan):
    reasons = (
        Reason(Verdict.NO_GO, "Ground run 9 000 ft is longer than the 8 000 ft of runway"),
        Reason(Verdict.CAUTION, "Gear limit comes 5 s after lift-off"),
    )
    lines = shown(replace(demo_plan, verdict=Verdict.NO_GO, reasons=reasons))

    assert lines[0].startswith("NO-GO  ")
    assert lines[1] == "  No-go: Ground run 9 000 ft is longer than the 8 000 ft of runway"
    assert lines[2] == "  Caution: Gear limit comes 5 s after lift-off"


def test_landing_that_does_not_fit_shows_a_negative_margin(shown, demo_plan):
    case = LandingCase("icy", "Icy, no chute", 5.0, False, 76.0, 72.0, 290.0, 2600.0, 2890.0, -390.0)
    lost = replace(case, name="wet", title="Wet", problem="runway condition reading 30 is outside 5 to 26")
    text = "\n".join(shown(replace(demo_plan, landings=(case, lost))))

    assert "-1 280" in text
    assert "Wet                   runway condition reading 30 is outside 5 to 26" in text


def test_json_is_the_plan_of_the_library(command, demo_plan):
    ran = command("plan", "demo", "--json")

    assert ran.json == plan_to_json(demo_plan)
    assert ran.err == ""
    assert command("plan", "demo", "--json", "--units", "si").json == plan_to_json(demo_plan, "si")


def test_sortie_from_standard_input(command, monkeypatch):
    monkeypatch.setattr("sys.stdin", io.StringIO(demo_sortie_path().read_text(encoding="utf-8")))

    assert command("plan", "-").out == command("plan", "demo").out


def test_own_file_comes_before_a_shipped_sortie_of_that_name(command):
    Path("demo").write_text("title: Mine\n", encoding="utf-8")
    ran = command("plan", "demo")

    assert ran.code == 2
    assert "demo:" in ran.err


def test_colour_only_where_it_is_asked_for(command, monkeypatch):
    plain = command("plan", "demo").out
    monkeypatch.setenv("FORCE_COLOR", "1")
    coloured = command("plan", "demo").out
    monkeypatch.setenv("NO_COLOR", "1")

    assert "\x1b" not in plain
    assert "\x1b[" in coloured
    assert "\x1b[3" not in command("plan", "demo").out


@pytest.mark.slow
def test_demo_leaves_cards_and_a_sortie_to_change(command):
    first = command("demo")
    folder = Path("sortiewright-demo")

    assert (folder / "cards-a5-day.pdf").read_bytes().startswith(b"%PDF-")
    assert list(folder.glob("*.png"))
    assert "\nCards: " in first.out
    assert first.out.splitlines()[-1].strip() == f"sortiewright plan {folder / 'sortie.yaml'}"
    assert command("plan", str(folder / "sortie.yaml")).out == command("plan", "demo").out


@pytest.mark.slow
def test_demo_keeps_a_sortie_that_was_changed(command):
    command("demo", "--out", "here")
    changed = Path("here/sortie.yaml").read_text(encoding="utf-8").replace("Thistle 21", "Heron 4")
    Path("here/sortie.yaml").write_text(changed, encoding="utf-8")
    ran = command("demo", "--out", "here")

    assert Path("here/sortie.yaml").read_text(encoding="utf-8") == changed
    assert "left as it is" in ran.err


def test_cards_are_written_and_named(command):
    ran = command(
        "cards", "demo", "--out", "out", "--format", "pdf", "--card", "landing", "--scheme", "night"
    )
    written = [line for line in ran.out.splitlines() if line.startswith("out")]

    assert ran.code in (0, 1)
    assert [Path(line).read_bytes()[:5] for line in written] == [b"%PDF-"]
    assert "night" in written[0]
