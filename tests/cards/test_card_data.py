"""The cards' data: pure, JSON, and honest about what is missing."""

import json
import math
from dataclasses import replace
from itertools import combinations

import pytest

from sortiewright.cards import CardError, card_data
from sortiewright.cards.balance import worst_step
from sortiewright.cards.drawing import Drawing
from sortiewright.cards.labels import Box
from sortiewright.cards.load_sheet import load_row
from sortiewright.cards.runway import name_cable
from sortiewright.sortie import Figure, Kind, LoadLine, Reason, RunwayMark, Section, Verdict

THIN = "\u202f"


def body(data, name):
    return next(card["body"] for card in data["cards"] if card["id"] == name)


def row(rows, title):
    return next(one for one in rows if one["title"] == title)


def drawings(value):
    if isinstance(value, dict):
        if "parts" in value:
            yield value
        for one in value.values():
            yield from drawings(one)
    elif isinstance(value, list):
        for one in value:
            yield from drawings(one)


def test_the_same_plan_gives_the_same_data_in_json_types(samples):
    first, second = card_data(samples.go_plan()), card_data(samples.go_plan())

    assert first == second == json.loads(json.dumps(first))


def test_a_card_set_has_one_takeoff_card_a_seat(samples):
    data = card_data(samples.go_plan())

    assert [card["id"] for card in data["cards"]] == [
        "takeoff-front",
        "takeoff-rear",
        "landing",
        "balance",
        "runway",
        "emergency",
    ]


def test_both_seats_see_the_same_numbers_and_know_who_calls(samples):
    data = card_data(samples.go_plan(), cards=["takeoff"])
    front, rear = (body(data, f"takeoff-{seat}") for seat in ("front", "rear"))

    assert front["speeds"] == rear["speeds"]
    assert (front["seat"], rear["seat"]) == ("front", "rear")
    assert {one["voice"] for one in front["speeds"]} == {"rear", ""}
    assert (front["holder"], rear["holder"]) == ("A. Halloran", "M. Okafor")


def test_speeds_stand_in_the_order_they_are_met(samples):
    speeds = body(card_data(samples.go_plan()), "takeoff-front")["speeds"]

    assert [one["number"] for one in speeds] == ["92", "121", "141", "154", "138"]


def test_the_verdict_comes_with_the_number_that_decides(samples):
    verdict = body(card_data(samples.no_go_plan()), "takeoff-front")["verdict"]

    assert verdict["word"] == "NO-GO"
    assert verdict["compare"] == f"8{THIN}790{THIN}ft against 7{THIN}900{THIN}ft"
    assert len(verdict["others"]) == 2


def test_a_go_says_what_is_left(samples):
    verdict = body(card_data(samples.go_plan()), "takeoff-front")["verdict"]

    # 8 000 ft less 100 ft before release, less 6 755 ft of critical field length, rounded down.
    assert verdict["reason"] == f"Critical field length fits with 1{THIN}140{THIN}ft left"


def test_reasons_that_find_no_room_are_counted(samples):
    reasons = tuple(Reason(Verdict.CAUTION, f"reason {n}") for n in range(9))
    plan = replace(samples.go_plan(), verdict=Verdict.CAUTION, reasons=reasons)

    assert body(card_data(plan), "takeoff-front")["verdict"]["others"][-1] == "and 6 more in the plan"


def test_a_missing_figure_shows_a_dash_and_its_reason(samples):
    data = card_data(samples.single_engine_plan())
    nosewheel = row(body(data, "takeoff-front")["speeds"], "Nosewheel lift-off")

    assert nosewheel["number"] == "—"
    assert "outside -4 to 12" in nosewheel["note"]


def test_a_figure_the_plan_does_not_have_leaves_no_row(samples):
    data = card_data(samples.single_engine_plan())

    assert body(data, "takeoff-front")["one_engine"] == []
    assert body(data, "emergency")["go"] == []
    assert body(data, "emergency")["go_note"] == "No continued takeoff: aircraft has one engine."


def test_a_distance_that_is_never_reached_says_so(samples):
    bars = body(card_data(samples.single_engine_plan()), "takeoff-front")["distances"]["bars"]

    assert row(bars, "Distance to 50 ft")["number"] == "never"
    assert row(bars, "Distance to 50 ft")["state"] == "never"


def test_a_plan_of_nothing_still_has_cards(samples):
    plan = replace(
        samples.go_plan(), sections=(), load=(), balance=(), envelope=(), landings=(), curves=(), crew=()
    )
    data = card_data(plan)

    assert body(data, "takeoff-front")["decision"]["number"] == "—"
    assert body(data, "balance")["finding"]["word"] == "NOT EVALUATED"
    assert body(data, "runway")["chart"] is None


def reading_of(name, value, spread, kind=Kind.FRACTION, **more):
    return Figure(name.lower(), name, value, kind, low=value - spread, high=value + spread, **more)


def test_engine_readings_of_several_settings_stand_side_by_side(samples):
    run_up = Section(
        "run_up",
        "Run-up",
        (
            reading_of("Idle: speed", 0.65, 0.02),
            reading_of("Military: speed", 0.99, 0.01),
            reading_of("Military: nozzle", 0.17, 0.0),
        ),
    )
    sections = tuple(run_up if one.name == "run_up" else one for one in samples.SECTIONS)
    table = body(card_data(replace(samples.go_plan(), sections=sections)), "takeoff-front")["run_up_table"]

    assert table["settings"] == ["Idle", "Military"]
    speed, nozzle = table["lines"]
    assert (speed["title"], speed["unit"]) == ("Speed", "%")
    assert [cell["range"] for cell in speed["cells"]] == [f"63{THIN}–{THIN}67", f"98{THIN}–{THIN}100"]
    assert [cell["number"] for cell in nozzle["cells"]] == ["", "17"]


def test_many_steps_of_the_burn_are_numbered_with_a_key(samples):
    steps = tuple(samples.step(f"Tank {n} empty", 38000 - 900 * n, 0.24 + 0.002 * n) for n in range(9))
    unnamed = samples.step("", 29000, 0.25)
    envelope = body(card_data(replace(samples.go_plan(), balance=(*steps, unnamed))), "balance")["envelope"]

    assert envelope["key"][:2] == [["1", "Tank 0 empty"], ["2", "Tank 1 empty"]]
    assert len(envelope["key"]) == 9


def test_equal_lines_of_the_load_sheet_are_counted(samples):
    bomb = LoadLine("Practice bomb, left", 25.0, 8.9, -2.4, group="store")
    groups = body(card_data(replace(samples.go_plan(), load=(bomb, bomb))), "balance")["groups"]

    assert [line["title"] for line in groups[0]["lines"]] == ["2 × Practice bomb, left"]


def test_without_a_minimum_go_speed_go_starts_in_the_air(samples):
    sections = samples.with_figures(
        samples.no_go_plan().sections, "engine_failure", minimum_go_speed={"value": math.inf, "text": "none"}
    )
    emergency = body(card_data(replace(samples.no_go_plan(), sections=sections)), "emergency")

    assert emergency["go_from"] == "Once airborne"
    assert "Rotate" not in [one["action"] for one in emergency["go"]]


def test_a_band_that_decides_is_not_said_twice(samples):
    reason = Reason(Verdict.NO_GO, "Neither stops nor goes", "uncovered_band")
    takeoff = body(card_data(replace(samples.no_go_plan(), reasons=(reason,))), "takeoff-front")

    assert takeoff["uncovered"] == ""
    assert body(card_data(samples.no_go_plan()), "takeoff-front")["uncovered"] != ""


# A stop that was solved for misses the runway's end by a numerical hair; that is no overrun.
def test_a_stop_at_the_very_end_fits(samples):
    sections = samples.with_figures(
        samples.SECTIONS, "engine_failure", accelerate_stop_at_decision={"value": 7900 * samples.FT + 0.05}
    )
    data = card_data(replace(samples.go_plan(), sections=sections))

    assert row(body(data, "takeoff-front")["distances"]["bars"], "Stop from decision")["state"] == "fits"
    assert f"stops with 0{THIN}ft left" in body(data, "emergency")["stop_note"]


# Between refusal and minimum go speed neither works, so "go" must not start at the decision speed.
def test_go_starts_above_the_uncovered_band(samples):
    emergency = body(card_data(samples.no_go_plan()), "emergency")

    assert emergency["decision"] == f"118{THIN}kt"
    assert emergency["go_from"] == f"At or above 132{THIN}kt"
    assert emergency["uncovered"] == "118 to 132 kt, 3.1 s"


def test_without_a_band_go_starts_at_the_decision_speed(samples):
    emergency = body(card_data(samples.go_plan()), "emergency")

    assert emergency["go_from"] == f"At or above 132{THIN}kt"
    assert emergency["decision"] == f"132{THIN}kt"
    assert emergency["uncovered"] == ""


def test_only_cables_that_a_reject_can_reach_are_named(samples):
    hook = next(
        one for one in body(card_data(samples.go_plan()), "emergency")["stop"] if one["action"] == "Hook"
    )

    assert "east" in hook["note"]
    assert "west" not in hook["note"]


@pytest.mark.parametrize(
    ("width", "marks", "side"),
    [
        (600.0, [], "right"),
        (600.0, [(240.0, "reject")], "left"),
        (600.0, [(240.0, "reject"), (170.0, "takeoff")], "left"),
        (600.0, [(240.0, "takeoff"), (170.0, "reject")], "right"),
        (300.0, [(240.0, "reject"), (170.0, "reject")], None),
    ],
)
def test_the_name_of_a_cable_keeps_off_the_mark_of_a_rejection(width, marks, side):
    drawing = Drawing("runway", width, text_size=10.0)
    name_cable(drawing, "approach cable", 200.0, 2.0, (30.0, 290.0), marks)
    sides = ["right" if box.left > 200.0 else "left" for box in drawing.text_boxes]

    assert sides == ([side] if side else [])


def test_the_worst_step_is_one_outside_before_all_others(samples):
    plan = samples.no_go_plan()
    worst = worst_step(plan.balance)
    finding = body(card_data(plan), "balance")["finding"]

    assert worst.title == "Wing tanks empty"
    assert finding["word"] == "OUTSIDE"
    assert f"0.3{THIN}%MAC outside the aft limit" in finding["text"]


def test_load_sheet_adds_up(samples):
    total = body(card_data(samples.go_plan()), "balance")["total"]

    assert total["mass"] == f"38{THIN}600"


# 1 in = 0.0254 m and 1 lb = 0.45359237 kg exactly (NIST SP 811, 2008): 200 lb at 100 in is 20 000 in lb.
def test_a_line_of_the_load_sheet_has_arm_and_moment():
    line = LoadLine("Seat", 200 * 0.45359237, 2.54, -0.254)

    assert load_row("trade", line) == {
        "title": "Seat",
        "mass": "200",
        "arm": "100.0",
        "moment": "20.0",
        "side": f"10.0{THIN}in left",
    }
    assert load_row("si", line)["moment"] == "230"


def test_landing_cases_say_what_is_left_or_short(samples):
    cases = body(card_data(samples.go_plan()), "landing")["cases"]

    assert row(cases, "Today, chute")["left"] == f"3{THIN}870{THIN}ft left"
    assert row(cases, "Icy, no chute")["left"] == f"4{THIN}190{THIN}ft short"
    assert row(cases, "Icy, no chute")["state"] == "short"


def test_a_landing_that_never_stops_says_so(samples):
    endless = replace(samples.LANDINGS[5], ground_roll=math.inf, total=math.inf, margin=-math.inf)
    cases = body(card_data(replace(samples.go_plan(), landings=(endless,))), "landing")["cases"]

    assert (cases[0]["number"], cases[0]["left"]) == ("never", "never stops")


def test_marks_past_the_picture_are_told_in_words(samples):
    marks = (RunwayMark("screen", "50 ft", math.inf, "takeoff"), RunwayMark("x", "Stop", 3000.0, "reject"))
    plan = replace(samples.go_plan(), runway=replace(samples.RUNWAY, marks=marks))

    told = body(card_data(plan), "runway")["beyond"]
    assert told[0] == "50 ft: never"
    assert told[1].startswith("Stop: ")
    assert told[1].endswith("past the end")


@pytest.mark.parametrize("name", ["go", "no_go", "single_engine", "long_names"])
@pytest.mark.parametrize("paper", ["a5", "half-letter", "letter"])
@pytest.mark.parametrize("scheme", ["day", "night"])
@pytest.mark.parametrize("units", ["trade", "si"])
def test_no_two_texts_of_a_drawing_overlap(samples, name, paper, scheme, units):
    data = card_data(samples.PLANS[name](), paper=paper, scheme=scheme, units=units)
    found = list(drawings(data))

    assert len(found) >= 4
    for drawing in found:
        boxes = [Box(*part["box"]) for part in drawing["parts"] if part["kind"] == "text"]
        whole = Box(-0.1, -0.1, drawing["width"] + 0.2, drawing["height"] + 0.2)
        assert all(box.within(whole) for box in boxes), drawing["name"]
        for one, other in combinations(boxes, 2):
            shrunk = Box(one.left + 0.02, one.top + 0.02, one.width - 0.04, one.height - 0.04)
            assert not shrunk.overlaps(other), drawing["name"]


def test_drawings_say_in_words_what_they_show(samples):
    for drawing in drawings(card_data(samples.go_plan())):
        assert len(drawing["alternative"]) > 40


@pytest.mark.parametrize(
    ("options", "word"),
    [
        ({"paper": "foolscap"}, "half-letter"),
        ({"scheme": "dusk"}, "night"),
        ({"cards": ["route"]}, "emergency"),
        ({"seats": ["middle"]}, "rear"),
    ],
)
def test_an_unknown_name_is_answered_with_the_known_ones(samples, options, word):
    with pytest.raises(CardError, match=word):
        card_data(samples.go_plan(), **options)
