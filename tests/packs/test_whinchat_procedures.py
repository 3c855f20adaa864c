"""The trainer's checklists: what they hold, what a flight alone and the weather change, that they are safe.

Where a check has no other source it is common practice, no source.
"""

from __future__ import annotations

import dataclasses
import functools

import numpy as np
import pytest
from random_flights import fly_all

from sortiewright.pack import load_pack, pack_folder
from sortiewright.procedures import lint, load_procedures, tailor_checklists
from sortiewright.procedures.proof import prove
from sortiewright.sortie import demo_sortie_path, plan, read_sortie

PROCEDURES = load_procedures(load_pack(pack_folder("whinchat")))
LISTS = PROCEDURES.procedures
NORMAL = {name: one for name, one in LISTS.items() if one.kind == "normal"}
OTHERS = {name: one for name, one in LISTS.items() if one.kind != "normal"}
ITEMS = {f"{name}.{item.id}": item for name, one in LISTS.items() for item in one.items}

ALONE = ("rear: {name: S. Tarrant}", "rear: {mass: 0 lb}")
NIGHT = ("time: 13:15Z", "time: 23:10Z")
WINTER = ("FEW030 17/08 Q1010", "FEW030 M02/M05 Q1010")
RAIN = ("9999 FEW030 17/08", "4000 RA BKN012 11/10")
CROSSWIND = ("25009KT", "35016KT")
PODS = ("  taxi_time: 8 min\n", "  taxi_time: 8 min\n  stores: {left: baggage_pod, right: baggage_pod}\n")
MARKERS = (
    "  taxi_time: 8 min\n",
    "  taxi_time: 8 min\n  stores: {left: practice_carrier, right: practice_carrier}\n",
)


@functools.cache
def checklists(*changes):
    """Return the lists of the shipped trainer sortie with some words replaced."""
    path = demo_sortie_path().with_name("trainer_circuits.yaml")
    text = path.read_text(encoding="utf-8")
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    today = read_sortie(text, "today.yaml", path.parent)
    return tailor_checklists(PROCEDURES, today.sortie, plan(today.sortie, today.pack))


def names(lists, *only):
    ready = [lists.by_id[name] for name in only] if only else lists.normal
    return {f"{one.id}.{item.id}" for one in ready for item in one.items}


def difference(*changes):
    """Return what the changes add to the normal lists, and what they take away."""
    before, after = names(checklists()), names(checklists(*changes))
    return after - before, before - after


def response(lists, name):
    procedure, item = name.split(".")
    return next(one.response for one in lists.by_id[procedure].items if one.id == item).replace("\u202f", " ")


def mended(name, **changes):
    """Return the procedures with one item changed."""
    procedure, wanted = name.split(".")
    one = LISTS[procedure]
    items = tuple(item.model_copy(update=changes) if item.id == wanted else item for item in one.items)
    assert items != one.items
    lists = LISTS | {procedure: one.model_copy(update={"items": items})}
    return dataclasses.replace(PROCEDURES, procedures=lists)


# --- what the lists hold ---


def test_lists_lead_from_the_walk_round_to_the_aircraft_left_cold():
    # common practice, no source
    trade = ["walk_round", "cockpit_entry", "before_start", "start", "after_start", "taxi", "before_takeoff"]
    trade += [
        "line_up",
        "takeoff",
        "after_takeoff",
        "climb",
        "cruise",
        "descent",
        "before_landing",
        "landing",
    ]
    trade += ["after_landing", "shutdown", "after_flight"]

    assert [name for name in PROCEDURES.order.sortie if name in trade] == trade
    assert PROCEDURES.order.go_around in NORMAL
    assert len(NORMAL) >= 16
    assert sum(len(one.items) for one in NORMAL.values()) >= 110


def test_no_guideline_is_broken():
    assert [str(finding) for finding in lint(PROCEDURES)] == []
    assert PROCEDURES.remarks == ()


def test_cockpit_and_rules_are_rich_enough_to_prove_something():
    assert len(PROCEDURES.cockpit.controls) >= 35
    assert len(PROCEDURES.order.invariants) >= 10
    assert sum(bool(item.when) for item in ITEMS.values()) >= 12
    assert sum(bool(one.when) for one in LISTS.values()) >= 2


def test_emergencies_cover_what_can_happen_with_one_engine():
    # common practice, no source
    wanted = ["abort", "engine_failure_on_runway", "engine_failure_after_lift_off", "fire_on_the_ground"]
    wanted += ["fire_in_flight", "relight", "forced_landing", "gear_not_down", "generator_failure"]
    wanted += ["canopy_unlocked", "ejection"]

    assert set(wanted) <= OTHERS.keys()
    for name, one in OTHERS.items():
        assert all((one.entry, one.not_if, one.status, one.then)), name


def test_every_emergency_can_be_come_to():
    branches = {item.if_not.go for item in ITEMS.values() if item.if_not} | {
        one.then for one in OTHERS.values()
    }

    assert [name for name, one in OTHERS.items() if not one.applies_in and name not in branches] == []


# Anderson, Introduction to Flight, chapter 6: the farthest glide is at the best lift over drag (from memory)
def test_glide_speed_of_the_lists_glides_nearly_farthest():
    pack = PROCEDURES.pack
    angle = np.radians(np.linspace(1.0, 12.0, 1101))
    lift = pack.aero.configurations["clean"].lift(angle, np.full_like(angle, 0.2))
    drag = pack.aero.configurations["clean"].drag(angle, np.full_like(angle, 0.2))
    ratio = lift / (drag + pack.engine.windmilling_drag_area / pack.airframe.wing_area)
    knots = float(ITEMS["relight.glide"].response.split()[0])
    density, gravity = 1.225, 9.80665  # sea level standard (ISO 2533)

    for pounds in (6000.0, 6500.0, 7400.0):
        needed = (
            pounds
            * 0.45359237
            * gravity
            / (0.5 * density * (knots * 1852 / 3600) ** 2 * pack.airframe.wing_area)
        )
        assert np.interp(needed, lift, ratio) > 0.98 * ratio.max()
    assert ITEMS["forced_landing.glide"].response.split()[0] == f"{knots:g}"


# --- what today changes ---


def test_a_flight_alone_ties_the_rear_straps_and_asks_the_rear_seat_nothing():
    new, gone = difference(ALONE)
    alone = checklists(ALONE)

    assert new == {
        "walk_round.rear_cockpit",
        "walk_round.rear_pin_stays",
        "walk_round.rear_canopy_closed",
        "cockpit_entry.selector_solo",
        "cruise.alone",
    }
    assert gone == {name for name in names(checklists()) if ITEMS[name].seat == ("rear",)} | {
        "cockpit_entry.selector_dual",
        "before_start.intercom",
    }
    assert len(gone) >= 10
    assert {seat for one in (*alone.normal, *alone.others) for item in one.items for seat in item.seats} == {
        "front"
    }


@pytest.mark.parametrize(
    ("change", "new"),
    [
        (NIGHT, "after_start.navigation_lights taxi.taxi_light line_up.landing_light after_takeoff.light_off "
         "before_landing.light after_landing.taxi_light after_flight.lights"),
        (WINTER, "walk_round.frost after_start.anti_ice descent.anti_ice after_landing.anti_ice_off"),
        (RAIN, "taxi.slippery landing_roll.slippery"),
        (CROSSWIND, "before_takeoff.crosswind landing.drift"),
        (PODS, "walk_round.baggage_pods cruise.pod_limits"),
    ],
)  # fmt: skip
def test_the_day_adds_exactly_its_own_items(change, new):
    assert difference(change) == (set(new.split()), set())


def test_practice_carriers_bring_their_three_lists_and_the_arming_switch():
    new, gone = difference(MARKERS)
    lists = {name.split(".")[0] for name in new}

    assert gone == set()
    assert {"arming", "range", "disarming"} <= lists
    assert {"before_start.master_arm", "before_landing.arm_safe", "after_landing.arm_safe"} <= new
    assert "hung_marker" in checklists(MARKERS).by_id
    assert "hung_marker" not in checklists().by_id


def test_numbers_are_those_of_the_plan_and_the_limits():
    # trainer_circuits.yaml: Q1010, wind 250 at 9 kt; whinchat limits.yaml: gear 165 kt, full flap 140 kt
    lists = checklists()
    before_landing = {item.id: item for item in lists.by_id["before_landing"].items}

    assert response(lists, "after_start.altimeters") == "1010 hPa, 212 ft"
    assert before_landing["gear_down"].challenge.replace("\u202f", " ") == "Gear, below 165 kt"
    assert before_landing["flap"].challenge.replace("\u202f", " ") == "Flap, below 140 kt"
    assert response(lists, "takeoff.line_speed") == "72 kt or more"
    assert [
        item.problem for one in (*lists.normal, *lists.others) for item in one.items if item.problem
    ] == []


# --- that they cannot go wrong ---


def test_the_proof_holds():
    found = prove(PROCEDURES)

    assert found.complete
    assert [str(one.text) for one in found.findings] == []
    assert found.proved


# A second reading of the lists, which shares no code with the proof: tests/support/random_flights.py
def test_crews_by_dice_break_no_rule_and_come_by_every_item():
    breaches, visited = fly_all(PROCEDURES, 300)

    assert breaches == {}
    assert set(LISTS) | set(ITEMS) == visited


@pytest.mark.parametrize(
    ("item", "change", "rule"),
    [
        ("after_landing.rear_pin_in", {"sets": {}}, "rear_pin_before_canopy"),
        ("walk_round.rear_canopy_closed", {"sets": {}}, "canopies_locked_for_power"),
        ("cockpit_entry.selector_solo", {"when": "occupied('rear')"}, "selector_solo_alone"),
        ("before_landing.flap", {"sets": {"flap_lever": "TAKEOFF"}}, "down_and_flapped_to_land"),
        ("range.safe", {"sets": {}}, "arm_only_airborne"),
        ("taxi.gear_pins_out", {"hold": None}, "no_gear_pin_in_flight"),
        ("forced_landing.gear_handle", {"sets": {}}, "emergency_gear_stays_down"),
        ("fire_on_the_ground.front_pin", {"sets": {}}, "front_pin_before_canopy"),
        ("after_start.external_power_off", {"hold": None}, "one_source_of_power"),
    ],
)
def test_a_seeded_fault_is_found_by_the_dice_and_by_the_proof(item, change, rule):
    seeded, list_of_item = mended(item, **change), item.split(".")[0]
    breaches, _ = fly_all(seeded, 80, list_of_item if list_of_item in OTHERS else "")

    assert rule in " ".join(breaches)
    assert rule in {one.id for one in prove(seeded).findings}
