"""The proof on a small pack: clean as it is, and with one fault at a time, each found by a shortest story.

What is shortest is confirmed by ``explicit_sortie``, a plain search that shares no code with the proof.
"""

from __future__ import annotations

from typing import Any

import pytest
from small_sortie import Small, item

from sortiewright.procedures.proof import ProofResult, prove
from sortiewright.procedures.proof_findings import ProofFinding


def found(small: Small, **options: Any) -> ProofResult:
    return prove(small.built(), **options)


def only(result: ProofResult) -> ProofFinding:
    assert [one.id for one in result.findings] == [result.findings[0].id]
    return result.findings[0]


def steps(finding: ProofFinding) -> list[str]:
    assert finding.story is not None
    return [
        f"{one.procedure}.{one.item}" if one.kind in ("answer", "hold") else one.to
        for one in finding.story.steps
    ]


def broken(result: ProofResult) -> dict[str, ProofFinding]:
    return {one.id: one for one in result.findings}


def test_the_small_pack_is_proved() -> None:
    result = found(Small())
    assert result.findings == ()
    assert result.remarks == ()
    assert result.proved
    assert {rule.verdict for rule in result.rules} == {"holds"}
    assert result.combinations == 2 * 3 * 2  # store carried or not; crosswind; rear seat


def test_items_in_the_wrong_order_are_found() -> None:
    small = Small()
    small.procedures["takeoff"]["items"].insert(0, item("gear", sets={"gear": "UP"}))
    finding = only(found(small))
    assert (finding.kind, finding.id, steps(finding)) == ("invariant", "gear_on_ground", ["takeoff.gear"])
    assert small.shortest("gear_on_ground", "gear", "wheels") == 1


def test_a_missing_set_is_found_where_it_is_needed() -> None:
    small = Small()
    del small.item("taxi", "flaps")["sets"]
    result = found(small)
    finding = broken(result)["takeoff.lift_off"]
    assert finding.kind == "needs"
    assert steps(finding) == ["start.canopy"]
    assert finding.story is not None
    assert "Flaps is UP" in finding.story.end
    assert small.shortest("takeoff.lift_off needs", "flaps", "canopy") == 1


def test_a_position_that_only_one_load_leaves_is_found_with_that_load() -> None:
    small = Small()
    small.without("range", "safe")
    finding = only(found(small))
    assert finding.id == "safe_to_land"
    assert steps(finding) == ["range.arm"]
    assert finding.story is not None
    assert finding.story.given == ("bittern_bomb is carried",)
    assert small.shortest("safe_to_land", "arm") == 1


def test_a_range_of_crosswind_is_told_with_its_bounds() -> None:
    small = Small()
    small.invariant(
        id="full_flap", holds="flaps == 'LANDING'", at_end_of="before_landing", when="crosswind > kt(15)"
    )
    finding = only(found(small))
    assert finding.story is not None
    assert finding.story.given == ("crosswind above 20 kt",)
    assert small.shortest("full_flap", "flaps") == finding.story.length == 3


def test_a_hold_that_is_never_given_is_found() -> None:
    small = Small()
    small.item("taxi", "pins")["hold"]["after"] = "flaps == 'TAKEOFF'"
    finding = only(found(small))
    assert (finding.kind, finding.id, steps(finding)) == ("hold", "taxi.pins", [])
    assert "waited for without end" in (finding.story.end if finding.story else "")
    assert small.shortest("taxi.pins hold", "flaps") == 0


def test_an_emergency_that_leaves_a_switch_and_resumes_is_found() -> None:
    small = Small()
    small.without("smoke", "air")
    finding = broken(found(small))["bleed_in_the_air"]
    assert steps(finding) == ["start.bleed", "smoke", "smoke.bleed"]
    assert small.shortest("bleed_in_the_air", "bleed") == 3


def test_a_branch_that_leaves_a_set_out_is_found() -> None:
    small = Small()
    small.item("before_landing", "gear")["if_not"] = {"go": "gear_stuck", "case": "No light"}
    small.procedures["gear_stuck"] = {
        "title": "Gear does not come down",
        "kind": "abnormal",
        "then": "resume",
        "items": [item("lamp")],
    }
    finding = broken(found(small))["landing.touchdown"]
    assert steps(finding) == ["climb.gear", "gear_stuck"]
    assert finding.story is not None
    assert "(No light)" in finding.story.steps[1].text
    assert small.shortest("landing.touchdown needs", "gear") == 2


def test_an_item_that_is_tried_again_after_a_branch_needs_what_it_needs_again() -> None:
    small = Small()
    small.item("start", "bleed")["if_not"] = {"go": "no_air"}
    small.procedures["no_air"] = {
        "title": "No air",
        "kind": "abnormal",
        "then": "resume",
        "items": [item("battery", sets={"battery": "OFF"})],
    }
    finding = broken(found(small))["start.bleed"]
    assert steps(finding) == ["start.battery", "no_air", "no_air.battery"]
    assert small.shortest("start.bleed needs", "battery") == 3


def test_what_others_move_before_they_clear_a_hold_counts_for_what_it_waits_for() -> None:
    small = Small()
    small.item("taxi", "pins")["hold"]["after"] = "pins == 'OUT'"
    assert found(small).proved
    small.item("taxi", "pins")["hold"]["sets"] = {}
    small.item("taxi", "pins")["sets"] = {"pins": "OUT"}
    finding = broken(found(small))["taxi.pins"]
    assert (finding.kind, steps(finding)) == ("hold", [])
    assert small.shortest("taxi.pins hold", "pins") == 0


def test_an_item_put_off_is_answered_after_its_own_hold_all_the_same() -> None:
    small = Small()
    small.item("taxi", "pins")["until"] = "Before takeoff"
    small.item("taxi", "pins")["needs"] = "pins == 'OUT'"
    assert found(small).proved


def test_two_seats_that_race_for_a_switch_are_found_with_both_orders() -> None:
    small = Small()
    small.procedures["start"]["items"].insert(2, item("bleed_off", seat="rear", sets={"bleed": "OFF"}))
    result = found(small)
    order = next(one for one in result.findings if one.kind == "order")
    assert order.id == "start.bleed"
    assert order.given == ("the rear seat is occupied",)
    assert "'Bleed off' (Start 3), then 'Bleed' (Start 4): ON" in order.text
    assert "'Bleed' (Start 4), then 'Bleed off' (Start 3): OFF" in order.text
    story = broken(result)["bleed_in_the_air"]
    assert steps(story) == ["start.bleed", "start.bleed_off"]
    assert small.shortest("bleed_in_the_air", "bleed") == 2


def test_a_join_between_two_seats_settles_the_race() -> None:
    small = Small()
    items = small.procedures["start"]["items"]
    items.insert(2, item("bleed_off", seat="rear", sets={"bleed": "OFF"}))
    items.insert(3, item("ready", seat=["front", "rear"]))
    assert not [one for one in found(small).findings if one.kind == "order"]


def test_what_one_seat_needs_of_the_other_is_found_where_nothing_makes_it_wait() -> None:
    small = Small()
    small.item("start", "bleed")["seat"] = "rear"
    finding = broken(found(small))["start.bleed"]
    assert (finding.kind, steps(finding)) == ("needs", [])
    assert small.shortest("start.bleed needs", "battery") == 0


def test_whoever_is_first_answers_for_both_without_waiting_for_the_other_seat() -> None:
    small = Small()
    small.item("start", "bleed").update(seat=["front", "rear"], any_one=True)
    finding = broken(found(small))["start.bleed"]
    assert (finding.kind, steps(finding)) == ("needs", [])
    assert finding.story is not None
    assert finding.story.given == ("the rear seat is occupied",)
    assert small.shortest("start.bleed needs", "battery") == 0
    small.item("start", "bleed")["any_one"] = False
    assert found(small).proved


def test_an_item_put_off_too_long_is_found() -> None:
    small = Small()
    small.item("start", "battery")["until"] = "Before the canopy"
    finding = broken(found(small))["start.bleed"]
    assert finding.kind == "needs"
    assert small.shortest("start.bleed needs", "battery") == 0


def test_an_item_that_no_sortie_has_is_found() -> None:
    small = Small()
    small.procedures["range"]["items"].append(item("late", when="not carries('bittern_bomb') and at_night"))
    finding = only(found(small))
    assert (finding.kind, finding.id) == ("gap", "range.late")
    assert "never come to" in finding.text


def test_a_procedure_that_nothing_leads_to_is_found() -> None:
    small = Small()
    small.procedures["fire"]["applies_in"] = []
    finding = only(found(small))
    assert (finding.kind, finding.id) == ("gap", "fire")


def test_a_hold_that_an_empty_seat_would_clear_is_found() -> None:
    small = Small()
    small.item("taxi", "pins")["hold"]["cleared_by"] = "rear"
    finding = only(found(small))
    assert (finding.kind, finding.id) == ("gap", "taxi.pins")
    assert finding.given == ("the rear seat is empty",)


def test_a_hold_for_an_empty_seat_that_then_does_not_apply_is_no_fault() -> None:
    small = Small()
    small.item("taxi", "pins")["hold"]["cleared_by"] = "rear"
    small.item("taxi", "pins")["when"] = "occupied('rear')"
    assert "taxi.pins" not in broken(found(small))


def test_a_go_around_that_leaves_the_flaps_is_found_on_the_second_approach() -> None:
    small = Small()
    small.without("go_around", "flaps")
    small.invariant(id="flaps_up_at_first", holds="flaps == 'UP'", at_start_of="before_landing")
    finding = only(found(small))
    assert finding.id == "flaps_up_at_first"
    assert steps(finding) == ["taxi.flaps", "climb.flaps", "before_landing.flaps", "go_around"]
    assert small.shortest("flaps_up_at_first", "flaps") == 4


def test_something_that_comes_before_what_must_be_first_is_found() -> None:
    small = Small()
    small.without("start", "canopy")
    small.procedures["taxi"]["items"].append(item("canopy", sets={"canopy": "LOCKED"}))
    result = broken(found(small))
    assert steps(result["canopy_first"]) == ["taxi.pins"]
    assert small.shortest("canopy_first", "canopy", "pins") == 1
    assert set(result) == {"canopy_first", "taxi.pins"}


def test_what_comes_true_at_the_same_moment_is_not_earlier() -> None:
    small = Small()
    small.item("start", "canopy")["sets"] = {"canopy": "LOCKED", "pins": "OUT"}
    assert steps(broken(found(small))["canopy_first"]) == ["start.canopy"]
    assert small.shortest("canopy_first", "canopy", "pins") == 1


def test_a_start_that_is_not_known_is_tried_from_each_position() -> None:
    small = Small()
    small.cockpit["controls"]["gear"]["at_start"] = ["DOWN", "UP"]
    finding = broken(found(small))["gear_on_ground"]
    assert finding.story is not None
    assert finding.story.given == ("Gear handle is UP at the start",)
    assert finding.story.length == 0 == small.shortest("gear_on_ground", "gear", "wheels")


def test_an_emergency_that_leads_into_a_normal_list_skips_what_lies_between() -> None:
    small = Small()
    small.procedures["smoke"]["then"] = "landing"
    finding = broken(found(small))["landing.touchdown"]
    assert steps(finding) == ["climb.gear", "smoke"]
    assert small.shortest("landing.touchdown needs", "gear") == 2


def test_only_a_call_within_a_call_breaks_what_two_deep_is_asked_for() -> None:
    small = Small()
    small.procedures["dark"] = {
        "title": "Both lamps out",
        "kind": "abnormal",
        "applies_in": "climb",
        "then": "resume",
        "items": [item("bleed", needs="bleed == 'ON'")],
    }
    assert broken(found(small, depth=1)) == {}
    finding = broken(found(small, depth=2))["dark.bleed"]
    assert steps(finding) == ["start.bleed", "smoke", "smoke.bleed", "dark"]
    assert small.shortest("dark.bleed needs", "bleed", depth=2) == 4
    assert small.shortest("dark.bleed needs", "bleed", depth=1) is None


def test_no_calls_at_all_may_be_asked_for() -> None:
    small = Small()
    small.without("smoke", "air")
    assert "bleed_in_the_air" not in broken(found(small, depth=0))


def test_controls_that_nothing_moves_and_parties_that_clear_nothing_are_found() -> None:
    small = Small()
    small.cockpit["controls"]["radio"] = {"title": "Radio", "positions": ["OFF", "ON"], "at_start": "OFF"}
    small.cockpit["states"]["fuel"] = {"title": "Fuel", "values": ["YES", "NO"], "at_start": "YES"}
    small.cockpit["parties"]["tower"] = {"title": "Tower"}
    assert {one.id for one in found(small).findings} == {"radio", "fuel", "tower"}
    small.order["unchanged"] = {"radio": "Set by nobody"}
    assert {one.id for one in found(small).findings} == {"fuel", "tower"}


def test_a_branch_to_a_list_that_does_not_apply_is_found() -> None:
    small = Small()
    small.item("climb", "flaps")["if_not"] = {"go": "smoke"}
    small.procedures["smoke"]["when"] = "not at_night"
    finding = broken(found(small))["climb.flaps"]
    assert (finding.kind, finding.given) == ("gap", ("at night",))


def test_a_control_out_of_reach_of_whoever_answers_is_found() -> None:
    small = Small()
    small.cockpit["controls"]["arm"]["seats"] = ["rear"]
    assert {one.id for one in found(small).findings} == {"range.arm", "range.safe"}


def test_a_set_that_changes_nothing_is_remarked() -> None:
    small = Small()
    small.procedures["landing"]["items"].append(item("arm", sets={"arm": "SAFE"}))
    result = found(small)
    assert result.proved
    assert len(result.remarks) == 1
    assert "'Arm' (Landing 2) sets Master arm to SAFE, where it stands already" in result.remarks[0]


@pytest.mark.parametrize("most", [1, 20, 100])
def test_a_bound_that_is_met_leaves_rules_undecided_and_nothing_proved(most: int) -> None:
    result = found(Small(), most_states=most)
    assert result.states <= most
    assert not result.complete
    assert not result.proved
    undecided = {rule.id for rule in result.rules if rule.verdict == "undecided"}
    assert undecided
    assert all(rule.verdict in ("holds", "undecided") for rule in result.rules)


def test_a_fault_is_told_even_where_a_bound_was_met() -> None:
    small = Small()
    small.invariant(id="never_dark", never="battery == 'OFF'")
    result = found(small, most_states=60)
    assert "never_dark" in broken(result)


def test_loads_that_cannot_hang_are_not_told() -> None:
    small = Small()
    small.item("range", "safe")["when"] = (
        "not (carries_at('belly', 'bittern_bomb') and not carries('bittern_bomb'))"
    )
    assert found(small).proved
    small.item("range", "safe")["when"] = "not carries_at('belly', 'bittern_bomb')"
    finding = only(found(small))
    assert finding.story is not None
    assert finding.story.given == ("bittern_bomb is carried at belly",)


def test_conditions_that_compare_two_figures_are_taken_as_free_and_said_to_be() -> None:
    small = Small()
    small.item("range", "safe")["when"] = "takeoff_mass > landing_mass"
    result = found(small)
    finding = only(result)
    assert finding.story is not None
    assert "takeoff_mass > landing_mass is not so" in finding.story.given
    assert any("takeoff_mass > landing_mass" in text for text in result.assumptions)


def test_a_sortie_without_weather_is_looked_at_when_asked_for() -> None:
    small = Small()
    small.invariant(
        id="one_flap_item", holds="flaps == 'LANDING'", at_end_of="before_landing", when="crosswind <= kt(20)"
    )
    assert found(small).proved
    finding = only(found(small, unknowns=True))
    assert finding.story is not None
    assert finding.story.given == ("crosswind is not known",)


def test_progress_is_told_of_every_search() -> None:
    told: list[tuple[int, int]] = []
    found(Small(), progress=lambda done, total, text: told.append((done, total)))
    assert [done for done, _ in told] == list(range(told[0][1]))


def test_steps_name_seat_item_and_what_moves() -> None:
    small = Small()
    small.without("shutdown", "battery")
    small.item("start", "battery")["challenge"] = "Battery by {stick_aft_speed, to 5 kt}"
    finding = only(found(small))
    assert finding.story is not None
    assert [one.text for one in finding.story.steps] == [
        "Front seat answers 'Battery by stick aft speed' (Start 1): Battery to ON"
    ]
    assert finding.story.end == "'Shutdown' ends, and this is not so: battery == 'OFF'. Battery is ON"
