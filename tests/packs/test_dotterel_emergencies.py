"""The jet's abnormal and emergency procedures: what they cover, their form, today's numbers, their safety.

CAP 676 is UK CAA, Guidance on the Design, Presentation and Use of Emergency and Abnormal Checklists, issue 3,
2006, told from memory. Where a check has no other source it is common practice, no source. The proof of the
whole pack, these lists among them, is in test_dotterel_procedures.
"""

from __future__ import annotations

import dataclasses
import functools

import pytest
from random_flights import fly_all

from sortiewright.pack import load_pack, pack_folder
from sortiewright.procedures import lint, load_procedures, tailor_checklists
from sortiewright.sortie import demo_sortie_path, load_sortie, plan

PROCEDURES = load_procedures(load_pack(pack_folder("dotterel")))
LISTS = PROCEDURES.procedures
OTHERS = {name: one for name, one in LISTS.items() if one.kind != "normal"}
ITEMS = {f"{name}.{item.id}": item for name, one in OTHERS.items() for item in one.items}


@functools.cache
def today(shipped="demo"):
    """Return the plan and the lists of a shipped sortie."""
    loaded = load_sortie(demo_sortie_path().with_name(f"{shipped}.yaml"))
    made = plan(loaded.sortie, loaded.pack)
    return made, tailor_checklists(PROCEDURES, loaded.sortie, made)


def response(lists, name):
    procedure, item = name.split(".")
    return next(one.response for one in lists.by_id[procedure].items if one.id == item).replace("\u202f", " ")


def items_of(lists, name):
    return {item.id for item in lists.by_id[name].items}


def without(name, **changes):
    """Return the procedures with one item changed."""
    procedure, wanted = name.split(".")
    one = LISTS[procedure]
    items = tuple(item.model_copy(update=changes) if item.id == wanted else item for item in one.items)
    assert items != one.items
    lists = LISTS | {procedure: one.model_copy(update={"items": items})}
    return dataclasses.replace(PROCEDURES, procedures=lists)


# --- what they cover, and their form ---


# common practice, no source: what the emergency section of a fast jet's book has
@pytest.mark.parametrize(
    "lists",
    [
        "abort",
        "engine_failure_before_lift_off engine_failure_airborne engine_relight single_engine_landing",
        "fire_on_ground engine_fire_in_flight brake_fire",
        "tyre_failure_on_run tyre_failure_airborne",
        "gear_not_down hydraulic_failure bottle_landing",
        "one_generator both_generators emergency_power_only",
        "canopy_unlocked canopy_jammed ejection",
        "chute_failure hot_brakes approach_end_engagement departure_end_cable",
        "hung_store store_jettison departure_from_control",
    ],
)
def test_every_subject_of_the_trade_has_its_lists(lists):
    assert set(lists.split()) <= OTHERS.keys()


# CAP 676: condition, its confirmation, who does what, where it leads, status afterwards
def test_every_list_says_when_it_is_the_one_what_looks_alike_and_what_is_left():
    for name, one in OTHERS.items():
        assert all((one.entry, one.not_if, one.status, one.then)), name
        assert one.style == "read-do", name
        assert all(item.part or item.memory for item in one.items), name


# CAP 676: memory items are few and stand first; six is common practice, no source
def test_memory_items_are_few_first_and_of_emergencies():
    for name, one in OTHERS.items():
        memory = [item.memory for item in one.items]
        assert memory == sorted(memory, reverse=True), name
        assert sum(memory) <= 6, name
        assert one.kind == "emergency" or not any(memory), name


def test_no_guideline_is_broken_in_them():
    assert [str(one) for one in lint(PROCEDURES) if one.procedure in OTHERS] == []


def test_every_list_can_be_come_to():
    branches = {item.if_not.go for one in LISTS.values() for item in one.items if item.if_not}
    ways = branches | {one.then for one in OTHERS.values()}

    assert [name for name, one in OTHERS.items() if not one.applies_in and name not in ways] == []


def test_killers_say_why():
    killers = [name for name, item in ITEMS.items() if item.killer]

    assert len(killers) >= 15
    assert [name for name in killers if not ITEMS[name].why] == []


# --- today's numbers and today's load ---


@pytest.mark.parametrize(
    ("item", "figure"),
    [
        ("engine_failure_before_lift_off.decision", "decision_speed"),
        ("tyre_failure_on_run.decision", "decision_speed"),
        ("engine_failure_airborne.speed", "single_engine_climb_cas"),
        ("engine_failure_airborne.attitude", "takeoff_attitude"),
        ("engine_failure_airborne.clean", "flap_up_cas"),
        ("abort.chute", "chute_maximum_cas"),
        ("abort.energy", "brake_energy_at_decision"),
        ("approach_end_engagement.limit", "hook_limit"),
        ("departure_end_cable.speed", "hook_limit"),
        ("single_engine_landing.go_around", "go_around_gradient_gear_down"),
        ("single_engine_landing.angle", "approach_angle_of_attack"),
        ("chute_failure.nose", "aerobrake_until_cas"),
    ],
)
def test_numbers_come_from_the_plan(item, figure):
    assert f"{{{figure}}}" in ITEMS[item].response


def test_numbers_are_those_that_the_plan_prints():
    # wheels.yaml: chute 190 kt; limits.yaml: steering 70 kt; technique.yaml: flap up 200 kt, attitude 11 deg
    made, lists = today()
    speeds = {one.name: one for section in made.sections for one in section.figures}
    decision = round(speeds["decision_speed"].value * 3600 / 1852)

    assert response(lists, "engine_failure_before_lift_off.decision") in {
        f"Below {decision + by} kt" for by in (-1, 0, 1)
    }
    assert response(lists, "abort.chute") == "DEPLOY under 190 kt"
    assert response(lists, "abort.steering") == "ON under 70 kt"
    assert response(lists, "engine_failure_airborne.clean") == "UP, UP above 200 kt"
    assert response(lists, "engine_failure_airborne.attitude") == "11.0°, no more"
    assert response(lists, "departure_from_control.pull") == "Below 22°"


@pytest.mark.parametrize("shipped", ["demo", "short_wet", "hot_high_heavy", "gusting_crosswind"])
def test_no_number_is_missing_and_no_way_leads_nowhere(shipped):
    _, lists = today(shipped)

    assert [item.id for one in lists.others for item in one.items if item.problem] == []
    assert [one for one in lists.remarks if "does not apply today" in one] == []


def test_a_runway_without_cables_has_no_hook_in_any_list():
    # short_wet.yaml rigs none
    _, lists = today("short_wet")

    assert {"hook", "hook_up"} & items_of(lists, "abort") == set()
    assert {"hook", "hook_up"} <= items_of(today()[1], "abort")
    assert {"approach_end_engagement", "departure_end_cable"} & lists.by_id.keys() == set()
    assert "pull_no_cable" in items_of(lists, "gear_not_down")
    assert "pull" in items_of(today()[1], "gear_not_down")


def test_a_crosswind_beyond_the_chute_takes_it_out_of_the_abort():
    # gusting_crosswind.yaml: 22 kt across, the chute's limit is 20 kt
    _, lists = today("gusting_crosswind")

    assert {"chute", "chute_away"} & items_of(lists, "abort") == set()
    assert "chute" not in items_of(lists, "single_engine_landing")
    assert {"chute", "chute_away"} <= items_of(today()[1], "abort")


def test_what_hangs_outside_decides_what_can_be_dropped():
    # hot_high_heavy.yaml has tanks and a pod, gusting_crosswind.yaml a pod on the belly
    assert "hung_store" in today()[1].by_id
    assert "hung_store" not in today("hot_high_heavy")[1].by_id
    assert "climb" in items_of(today("hot_high_heavy")[1], "engine_failure_airborne")
    assert "store_jettison" in today("gusting_crosswind")[1].by_id


# --- that they cannot go wrong ---


# A second reading of the lists, which shares no code with the proof: tests/support/random_flights.py
def test_crews_by_dice_break_no_rule_and_come_by_every_list():
    breaches, visited = fly_all(PROCEDURES, 400)

    assert breaches == {}
    assert [name for name in LISTS if name not in visited] == []


@pytest.mark.parametrize(
    ("item", "change", "rule"),
    [
        ("fire_on_ground.front_pin", {"sets": {}}, "front_seat_safe_with_open_canopy"),
        ("single_engine_landing.radar", {"sets": {}}, "radar_on_the_ground"),
        ("single_engine_landing.gear", {"sets": {}}, "gear_handle_on_the_ground"),
        ("abort.throttles", {"sets": {}}, "chute_against_power"),
        ("hung_store.master_arm", {"sets": {"master_arm": "ARM"}}, "master_arm"),
        ("tyre_failure_airborne.transfer", {"sets": {}}, "external_transfer_on_the_ground"),
    ],
)
def test_a_seeded_fault_is_found_by_the_dice(item, change, rule):
    breaches, _ = fly_all(without(item, **change), 100, item.split(".")[0])

    assert rule in " ".join(breaches)
