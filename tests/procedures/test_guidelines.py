"""Guidelines for checklists: each finds what it is about, and nothing in a list that keeps it."""

import math

import pytest

from sortiewright.pack import load_pack, unit_factor
from sortiewright.procedures import Cockpit, Order, Procedure, ProcedurePlaces, Procedures
from sortiewright.procedures.guidelines import GUIDELINES, lint
from sortiewright.procedures.guidelines_numbers import UNITS, numbers_of
from sortiewright.procedures.guidelines_wording import AVOIDANCE, longest_capitals, missing_in_warning
from sortiewright.procedures.pack_values import pack_value

COCKPIT = {
    "controls": {
        "battery": {"title": "Battery", "panel": "left", "positions": ["OFF", "ON"], "at_start": "OFF"},
        "generator": {"title": "Generator", "panel": "right", "positions": ["OFF", "ON"], "at_start": "OFF"},
        "pitot_heat": {"title": "Pitot heat", "panel": "left", "positions": ["OFF", "ON"], "at_start": "OFF"},
        "pump": {"title": "Fuel pump", "panel": "right", "positions": ["OFF", "ON"], "at_start": "OFF"},
        "light": {"title": "Taxi light", "panel": "left", "positions": ["OFF", "ON"], "at_start": "OFF"},
        "flaps": {"title": "Flaps", "panel": "middle", "positions": ["UP", "TAKEOFF"], "at_start": "UP"},
    },
    "parties": {"tower": {"title": "Tower"}},
}


@pytest.fixture(scope="session")
def pack():
    """Return a shipped pack with two seats."""
    return load_pack("whinchat").pack


def item(at=1, /, **fields):
    plain = {"id": f"item_{at}", "challenge": f"Thing {at}", "response": f"STATE {at}", "seat": "front"}
    return plain | fields


def items(count, start=1, /, **fields):
    """Return items that no guideline has anything to say of, the seats in turn."""
    return [item(at, **{"seat": ("front", "rear")[at % 2]} | fields) for at in range(start, start + count)]


@pytest.fixture
def found(pack):
    """Return a function that lints lists and returns the findings of one guideline."""

    def of(guideline, lint_reasons=None, *, order=None, go_around="", **procedures):
        made = {
            name: Procedure.model_validate({"title": name.title()} | one) for name, one in procedures.items()
        }
        normal = order or [name for name, one in made.items() if one.kind == "normal"] or ["none"]
        return [
            one
            for one in lint(
                Procedures(
                    cockpit=Cockpit.model_validate(COCKPIT),
                    order=Order.model_validate(
                        {"sortie": normal, "lint": lint_reasons or {}, "go_around": go_around}
                    ),
                    procedures=made,
                    places=ProcedurePlaces(
                        {("procedures", name): ("procedures/lists.yaml", 7) for name in procedures}
                    ),
                    digest="",
                    pack=pack,
                )
            )
            if guideline in (one.guideline, "any")
        ]

    return of


def about(findings):
    return [one.about for one in findings]


EMERGENCY = {
    "kind": "emergency",
    "style": "read-do",
    "entry": "Fire light on",
    "then": "resume",
    "status": ["No left generator"],
}


def test_a_sound_list_and_a_sound_emergency_have_no_findings(found):
    calm = {"items": items(7), "phase": "ground"}
    fire = EMERGENCY | {
        "items": [
            item(1, memory=True, killer=True, why="It burns"),
            item(2, seat="rear", part="follow-up", if_not={"go": "calm", "case": "Light stays on"}),
            item(3, part="deferred", warnings=["Hot metal burns: keep away from the tail pipe."]),
        ]
    }

    assert found("any", calm=calm, fire=fire) == []


# NASA CR-177549 (1990), guideline 1, as quoted in a public copy: responses should portray the desired status
# or the value of the item, not just "checked" or "set".
@pytest.mark.parametrize(
    "response", ["Checked", "SET", "as required", "Set and checked", "GOOD", "complete."]
)
def test_a_response_that_says_nothing_is_found(found, response):
    assert about(found("bare-response", one={"items": [item(response=response)]})) == ["one.item_1"]


@pytest.mark.parametrize(
    "fields",
    [
        {"response": "{qnh} SET"},
        {"response": "CHECKED", "open_answer": "No gauge shows it"},
        {"response": "1 013 SET"},
        {"response": "SET FOR TAKEOFF"},
        {"challenge": "Battery", "response": "ON", "sets": {"battery": "ON"}},
        {"challenge": "Oil pressure light", "response": "ON"},
    ],
)
def test_a_response_with_a_state_a_value_or_a_reason_is_not_found(found, fields):
    assert found("bare-response", one={"items": [item(**fields)]}) == []


def test_a_position_of_a_control_that_nothing_sets_is_found(found):
    lists = {"one": {"items": [item(challenge="PITOT HEAT", response="ON")]}}

    assert "neither sets nor needs" in found("bare-response", **lists)[0].text
    lists["one"]["items"][0]["needs"] = "pitot_heat == 'ON'"
    assert found("bare-response", **lists) == []


def test_a_response_contrary_to_what_the_item_sets_is_found(found):
    wrong = item(challenge="Flaps", response="UP", sets={"flaps": "TAKEOFF"})
    right = item(2, challenge="Flaps", response="TAKEOFF", sets={"flaps": "TAKEOFF"}, again="last chance")

    assert about(found("contrary-response", one={"items": [wrong, right]})) == ["one.item_1"]


@pytest.mark.parametrize(("count", "findings"), [(12, 0), (13, 1)])
def test_a_list_may_have_twelve_items(found, count, findings):
    assert len(found("list-length", one={"items": items(count)})) == findings


def test_parts_of_an_emergency_are_counted_apart(found):
    parts = [*items(6, part="immediate"), *items(12, 7, part="follow-up")]
    longer = [*parts, *items(1, 20, part="follow-up", when="at_night")]

    assert found("list-length", fire=EMERGENCY | {"items": parts}) == []
    assert "follow-up part has 13 items, 1 of them conditional" in (
        found("list-length", fire=EMERGENCY | {"items": longer})[0].text
    )


@pytest.mark.parametrize(("at", "late"), [(1, False), (6, False), (7, True), (9, True)])
def test_a_critical_item_in_the_last_third_is_found(found, at, late):
    made = items(9)
    made[at - 1]["killer"] = True

    assert bool(found("killer-late", one={"items": made})) == late


def test_a_critical_item_without_a_reason_is_found(found):
    assert about(found("killer-why", one={"items": [item(1, killer=True)]})) == ["one.item_1"]
    assert found("killer-why", one={"items": [item(1, killer=True, why="No lift")]}) == []


def test_a_hand_that_goes_back_and_forth_is_found(found):
    path = ["battery", "generator", "pitot_heat", "pump", "light"]
    jumping = [item(at, sets={name: "ON"}, response="ON") for at, name in enumerate(path, 1)]
    flowing = [
        item(at, sets={name: "ON"}, response="ON")
        for at, name in enumerate(["battery", "pitot_heat", "light", "generator", "pump"], 1)
    ]
    shared = [one | {"seat": ("front", "rear")[at % 2]} for at, one in enumerate(jumping)]

    assert "front seat's hand goes back 3 times" in found("panel-returns", one={"items": jumping})[0].text
    assert found("panel-returns", one={"items": flowing}) == []
    assert found("panel-returns", one={"items": shared}) == []


@pytest.mark.parametrize(
    ("names", "late"),
    [
        (["taxi", "before_takeoff", "line_up", "climb"], ["before_takeoff", "line_up"]),
        (["taxi", "run_up", "departure"], ["run_up"]),
    ],
)
def test_the_last_lists_before_takeoff_may_have_seven_items(found, names, late):
    def lists(count):
        phases = dict.fromkeys(names, "ground") | {"departure": "takeoff", "climb": "flight"}
        return {
            name: {"items": items(count, 20 * at), "phase": phases[name]} for at, name in enumerate(names)
        }

    assert about(found("last-list", **lists(8))) == late
    assert found("last-list", **lists(7)) == []


def test_a_list_that_one_seat_does_alone_is_found(found):
    alone = items(4, seat="front")
    cleared = [*alone[:3], item(4, hold={"awaits": "Ready behind", "cleared_by": "rear"})]

    assert "the rear seat answers nothing" in found("one-seat", one={"items": alone})[0].text
    assert found("one-seat", one={"items": cleared}) == []
    assert found("one-seat", one={"items": alone[:2]}) == []


@pytest.mark.parametrize(
    ("titles", "calls", "wrong"),
    [
        (("Taxi", "Taxi"), ("", ""), ["two"]),
        (("Taxi", "Climb"), ("", "Ready"), ["two"]),
        (("Taxi", "After takeoff"), ("", "After takeoff list complete"), []),
        (("Taxi", "  "), ("", ""), ["two"]),
    ],
)
def test_a_completion_call_tells_one_list_from_another(found, titles, calls, wrong):
    one, two = (
        {"title": title, "complete": call, "items": items(2)}
        for title, call in zip(titles, calls, strict=True)
    )

    assert about(found("completion", one=one, two=two)) == wrong


def test_what_is_asked_twice_is_found_unless_a_reason_is_given(found):
    first = {"items": [item(1, challenge="Harness", response="LOCKED")]}
    second = {"items": [item(2, challenge="HARNESS", response="locked")]}
    excused = {"items": [second["items"][0] | {"again": "Loosened to look behind"}]}
    other_seat = {"items": [second["items"][0] | {"seat": "rear"}]}

    assert about(found("repeated", one=first, two=second)) == ["two.item_2"]
    assert found("repeated", one=first, two=excused) == []
    assert found("repeated", one=first, two=other_seat) == []


def test_a_control_set_again_is_found_unless_it_moved_in_between(found):
    def light(at, position):
        return {"items": [item(at, challenge="Taxi light", response=position, sets={"light": position})]}

    on, on_again, off = light(1, "ON"), light(3, "ON"), light(2, "OFF")

    assert about(found("repeated", one=on, two=on_again)) == ["two.item_3"]
    assert found("repeated", one=on, two=off, three=on_again) == []


def test_a_control_that_was_needed_and_has_moved_is_asked_again_with_reason(found):
    needed = item(1, challenge="Seat pin", response="ON", needs="battery == 'ON'")
    away = item(2, challenge="Battery", response="OFF", sets={"battery": "OFF"})
    back = item(4, challenge="Seat pin", response="ON", sets={"battery": "ON"})
    start = item(3, challenge="Bus", response="LIVE", sets={"battery": "ON"})

    assert found("repeated", one={"items": [needed, start, away, back]}) == []


def test_two_cases_of_a_choice_are_no_repetition(found):
    dry = item(1, challenge="Abort chute", response="READY", when="runway_condition == 'dry'")
    wet = item(2, challenge="Abort chute", response="READY", when="runway_condition == 'wet'")
    always = item(3, challenge="Abort chute", response="READY")

    assert found("repeated", one={"items": [dry, wet]}) == []
    assert about(found("repeated", one={"items": [dry, always]})) == ["one.item_3"]


def test_an_emergency_may_repeat_a_normal_list_but_not_itself(found):
    normal = {"items": [item(1, challenge="Throttle", response="IDLE")]}
    once = EMERGENCY | {"items": [item(1, challenge="Throttle", response="IDLE")]}
    twice = EMERGENCY | {"items": [*once["items"], item(2, challenge="Throttle", response="IDLE")]}

    assert found("repeated", one=normal, fire=once) == []
    assert about(found("repeated", one=normal, fire=twice)) == ["fire.item_2"]


def test_style_follows_kind(found):
    assert about(found("style", one={"style": "read-do", "items": items(2)})) == ["one"]
    assert about(found("style", fire=EMERGENCY | {"style": "do-confirm", "items": items(2)})) == ["fire"]


@pytest.mark.parametrize(
    ("fields", "hidden"),
    [
        ({"challenge": "Taxi clearance", "response": "RECEIVED"}, True),
        ({"challenge": "Crew chief", "response": "THUMBS UP"}, True),
        ({"challenge": "Wing clearance", "hold": {"awaits": "x", "cleared_by": "tower"}}, False),
        ({"challenge": "Signal lights", "response": "OFF"}, False),
    ],
)
def test_waiting_for_somebody_is_a_hold(found, fields, hidden):
    assert bool(found("hidden-hold", one={"items": [item(**fields)]})) == hidden


def test_an_item_that_says_how_is_found(found):
    wordy = item(
        challenge="Battery switch on the left console, aft of it", response="ON, " + "needle steady, " * 3
    )
    filled = item(2, response="{centre_of_gravity_takeoff} AND {single_engine_climb_cas} SET")

    assert [one.text[:9] for one in found("item-length", one={"items": [wordy, filled]})] == [
        "its chall",
        "its respo",
    ]


# MIL-DTL-5096G has placard words in capitals; Degani, NASA CR-177605 (1992), advises against long text in
# capitals (from memory).
@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("SET ANTI-SKID ON", 3),
        ("DO NOT MOVE THE HANDLE NOW", 6),
        ("LOCKED, OUT, TAKEOFF, ON THE MARK", 3),
        ("Left GEN and right GEN off", 1),
        ("A B C D E F", 0),
        ("{QNH_SET} FLAPS UP", 2),
    ],
)
def test_capitals_are_counted_in_words(text, words):
    assert len(longest_capitals(text)) == words


def test_long_capitals_are_found_wherever_the_crew_reads_them(found):
    shouted = "DO NOT MOVE THE HANDLE NOW"
    fields = [{"notes": [shouted]}, {"warnings": [shouted]}, {"response": shouted}, {"why": shouted}]
    made = [item(at, **one) for at, one in enumerate(fields, 1)]

    assert len(found("capitals", one={"items": made})) == 4
    assert about(found("capitals", one={"title": shouted, "items": items(2)})) == ["one"]


# MIL-DTL-23618H(AS), 3.1.5.4 c: warnings, cautions and notes hold no procedural steps. MIL-DTL-87268D,
# 3.2.2.2: none but those of avoiding the hazard. Both read in a public copy.
@pytest.mark.parametrize(
    ("fields", "held"),
    [
        ({"notes": ["Set the other altimeter to match."]}, True),
        ({"notes": ["If the light stays on, switch to the other bus."]}, True),
        ({"notes": ["The light goes out after a moment."]}, False),
        ({"warnings": ["The canopy crushes. Close it from outside."]}, True),
        ({"warnings": ["The canopy crushes: keep hands inside."]}, False),
        ({"warnings": ["Frost takes away lift. Remove all of it, or the aircraft stalls."]}, False),
        ({"cautions": ["Do not hold the starter: it overheats."]}, False),
    ],
)
def test_steps_in_notes_and_warnings_are_found(found, fields, held):
    assert bool(found("order-in-note", one={"items": [item(**fields)]})) == held


# MIL-DTL-87268D, 3.2.2.3: required tolerances are not given as notes, but in the steps.
@pytest.mark.parametrize(
    ("text", "held"),
    [
        ("Normal is 30 psi.", True),
        ("Takes 20 s to erect.", True),
        ("Above {limits.gear_speed} the doors stay open.", True),
        ("Up to 1 500 ft of it is grass.", True),
        ("Takes 2 tries on a cold day.", False),
        ("Channel 5 is guard.", False),
    ],
)
def test_numbers_in_notes_are_found(found, text, held):
    assert bool(found("number-in-note", one={"items": [item(notes=[text])]})) == held


# MIL-DTL-87268D, 3.2.2.2: a warning states the hazard and the steps to avoid it.
@pytest.mark.parametrize(
    ("text", "lack"),
    [
        ("Jet blast overturns people; nobody walks behind until the engine is off.", ""),
        ("Do not exceed idle: the chocks do not hold more.", ""),
        ("Intake suction can kill people nearby.", "names no way"),
        ("Hot brakes.", "too short"),
        ("Do not touch the hot brake discs", "names no hazard"),
        ("Wind " * 41, "41 words"),
    ],
)
def test_a_warning_names_hazard_and_avoidance(text, lack):
    assert lack in missing_in_warning(text)
    assert bool(lack) == bool(missing_in_warning(text))


def test_unfinished_warnings_and_cautions_are_found(found):
    made = [
        item(1, warnings=["Hot brakes."]),
        item(2, cautions=["Hot brakes."]),
        item(3, notes=["Hot brakes."]),
    ]

    assert about(found("warning-form", one={"items": made})) == ["one.item_1", "one.item_2"]


@pytest.mark.parametrize("word", ["do not", "never", "Keep", "until", "without"])
def test_avoidance_is_recognised_in_any_case(word):
    assert AVOIDANCE.search(f"Something {word} something")


def test_a_number_that_the_pack_has_is_found_by_its_name(found, pack):
    # NIST SP 811 (2008), appendix B.8: a knot is 1852/3600 m/s.
    gear = round(pack.limits.gear_speed.value * 3600 / 1852)
    text = f"UP BEFORE {gear} kt"
    written = found("number-twice", one={"items": [item(1, response=text)]})

    assert written
    assert "{limits.gear_speed}" in written[0].text
    assert found("number-twice", one={"items": [item(1, response=f"UP BEFORE {gear + 17} kt")]}) == []
    assert found("number-twice", one={"items": [item(1, response="UP BEFORE {limits.gear_speed}")]}) == []


def test_every_unit_that_crews_write_is_one_of_the_packs():
    for name, si_unit in UNITS.values():
        scale, _ = unit_factor(name, si_unit)

        assert math.isfinite(scale)


def test_values_of_the_pack_carry_their_units(pack):
    values = {name: (value, unit) for name, value, unit in numbers_of(pack)}

    assert values["limits.gear_speed"] == (pack.limits.gear_speed.value, "m/s")
    assert values["technique.takeoff.pitch_rate"] == (pack.technique.takeoff.pitch_rate, "rad/s")
    # As a text names it, and with the value that it then shows.
    assert {name: pack_value(pack, name).value for name in values} == {
        name: one for name, (one, _) in values.items()
    }


@pytest.mark.parametrize(
    ("guideline", "lacking"),
    [("entry", "entry"), ("status", "status"), ("way-on", "then"), ("style", "style")],
)
def test_an_emergency_says_when_and_what_then(found, guideline, lacking):
    made = {key: value for key, value in EMERGENCY.items() if key != lacking} | {"items": items(2)}

    assert about(found(guideline, fire=made)) == ["fire"]


def test_a_branch_without_its_case_is_found(found):
    made = [item(1, if_not={"go": "one"}), item(2, if_not={"go": "one", "case": "No light"})]

    assert about(found("branch-case", one={"items": made})) == ["one.item_1"]


def test_parts_of_an_emergency_stand_in_their_order(found):
    parts = ["immediate", "deferred", "follow-up", None, "deferred"]
    made = [item(at, part=part) for at, part in enumerate(parts, 1)]

    assert about(found("part-order", fire=EMERGENCY | {"items": made})) == ["fire.item_3", "fire.item_4"]


def test_memory_items_stand_first_and_are_few(found):
    made = [item(1, memory=True), item(2), item(3, memory=True)]

    assert about(found("memory-first", fire=EMERGENCY | {"items": made})) == ["fire.item_3"]
    assert found("memory-many", fire=EMERGENCY | {"items": items(6, memory=True)}) == []
    assert about(found("memory-many", fire=EMERGENCY | {"items": items(7, memory=True)})) == ["fire"]


def test_an_accepted_finding_stays_with_its_reason(found):
    reasons = {"bare-response one.item_1": "no gauge", "list-length one": "short enough for us"}
    made = {"items": [item(1, response="CHECKED"), *items(12, 2)]}
    accepted = [one for one in found("any", reasons, one=made) if one.accepted]

    assert {one.key: one.accepted for one in accepted} == reasons
    assert str(accepted[0]).endswith("Accepted: no gauge")


@pytest.mark.parametrize(
    ("key", "hint"),
    [
        ("bare-respones one.item_1", 'Did you mean "bare-response"?'),
        ("bare-response one.item_2", 'Did you mean "one.item_1"?'),
        ("killer-late one.item_1", "Nothing is found there any more"),
    ],
)
def test_an_excuse_for_nothing_is_found(found, key, hint):
    made = {"items": [item(1, response="CHECKED"), item(2, seat="rear")]}
    idle = found("excuse", {key: "because"}, one=made)

    assert len(idle) == 1
    assert hint in idle[0].text
    assert not idle[0].accepted


def test_an_excuse_without_a_reason_is_found(found):
    made = {"items": [item(1, response="CHECKED")]}

    assert "without a reason" in found("excuse", {"bare-response one.item_1": " "}, one=made)[0].text


def test_a_finding_names_file_line_guideline_item_and_source(found):
    finding = found("bare-response", one={"items": [item(1, response="CHECKED")]})[0]

    assert str(finding).startswith("procedures/lists.yaml:7  bare-response one.item_1: ")
    assert finding.source == "NASA CR-177549, guideline 1"


def test_every_guideline_has_a_name_a_rule_and_a_source():
    assert len({one.id for one in GUIDELINES}) == len(GUIDELINES) >= 20
    for one in GUIDELINES:
        assert one.rule.endswith(".")
        assert one.source
        assert one.id.replace("-", "").islower()
