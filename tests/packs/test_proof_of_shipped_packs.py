"""The shipped packs are proved, and stop being so when something is taken out of them."""

from __future__ import annotations

import dataclasses
from functools import cache

import pytest

from sortiewright.pack import load_pack
from sortiewright.procedures import Procedures, load_procedures, prove


@cache
def lists_of(pack: str) -> Procedures:
    return load_procedures(load_pack(pack))


def changed(procedures: Procedures, name: str, item: str, **keys: object) -> Procedures:
    procedure = procedures.procedures[name]
    assert any(one.id == item for one in procedure.items)
    items = tuple(one.model_copy(update=keys) if one.id == item else one for one in procedure.items)
    lists = {**procedures.procedures, name: procedure.model_copy(update={"items": items})}
    return dataclasses.replace(procedures, procedures=lists)


@pytest.mark.parametrize("pack", ["whinchat", "dotterel"])
def test_every_rule_of_a_shipped_pack_holds_on_every_sortie(pack: str) -> None:
    # Sorties of which all is known are among those of which not all is.
    result = prove(lists_of(pack), unknowns=True)
    assert [finding.text for finding in result.findings] == []
    assert result.proved
    # A little over ten times what it takes, so that a state space that explodes is seen.
    assert result.states < 2_000_000


def hold_changed(procedures: Procedures, name: str, item: str, **keys: object) -> Procedures:
    hold = next(one.hold for one in procedures.procedures[name].items if one.id == item)
    assert hold is not None
    return changed(procedures, name, item, hold=hold.model_copy(update=keys))


def swapped(procedures: Procedures, name: str, first: str, second: str) -> Procedures:
    procedure = procedures.procedures[name]
    items = list(procedure.items)
    one, other = (next(k for k, item in enumerate(items) if item.id == wanted) for wanted in (first, second))
    items[one], items[other] = items[other], items[one]
    lists = {**procedures.procedures, name: procedure.model_copy(update={"items": tuple(items)})}
    return dataclasses.replace(procedures, procedures=lists)


# How a fault is made, and what finds it: rule, steps of its story (None: it needs no story), sortie.
FAULTS = {
    "gear up before lift-off": (
        lambda: swapped(lists_of("whinchat"), "after_takeoff", "lift_off", "gear_up"),
        ("gear_handle_down_on_the_ground", 1, ()),
    ),
    "canopy not locked": (
        lambda: changed(lists_of("whinchat"), "canopies_and_pins", "front_canopy", sets={}),
        ("front_pin_before_canopy", 1, ()),
    ),
    "arm left on by one load": (
        lambda: changed(lists_of("whinchat"), "range", "safe", sets={}),
        ("before_landing.arm_safe", 1, ("practice_carrier is carried",)),
    ),
    "deadlocked hold": (
        lambda: hold_changed(lists_of("whinchat"), "taxi", "chocks", after="parking_brake == 'OFF'"),
        ("taxi.chocks", 1, ("Parking brake is ON at the start",)),
    ),
    "emergency that arms and resumes": (
        lambda: changed(lists_of("whinchat"), "hung_marker", "arm_safe", sets={"master_arm": "ARM"}),
        ("before_landing.arm_safe", 4, ("practice_carrier is carried",)),
    ),
    "branch without its set": (
        lambda: changed(lists_of("whinchat"), "gear_not_down", "handle", sets={}),
        ("gear_not_down.emergency_gear", 2, ()),
    ),
    "race of two seats": (
        lambda: changed(
            lists_of("whinchat"), "cockpit_entry", "rear_oxygen", sets={"control_lock": "FITTED"}
        ),
        ("cockpit_entry.control_lock", None, ("the rear seat is occupied",)),
    ),
    "item of no sortie": (
        lambda: changed(
            lists_of("whinchat"),
            "taxi",
            "slippery",
            when="runway_condition == 'dry' and runway_condition == 'wet'",
        ),
        ("taxi.slippery", None, ()),
    ),
    "hold cleared by an empty seat": (
        lambda: hold_changed(lists_of("whinchat"), "shutdown", "chocks_in", cleared_by="rear"),
        ("shutdown.chocks_in", None, ("the rear seat is empty",)),
    ),
    "solo canopy open": (
        lambda: changed(lists_of("whinchat"), "walk_round", "rear_canopy_closed", sets={}),
        ("canopies_locked_in_flight", 2, ("the rear seat is empty",)),
    ),
    "transponder put off": (
        lambda: changed(lists_of("whinchat"), "line_up", "transponder", until="Before the runway"),
        ("transponder_before_runway", 3, ()),
    ),
    "gear left down by the twin": (
        lambda: changed(lists_of("dotterel"), "before_landing", "gear", sets={}),
        ("gear_handle_on_the_ground", 3, ()),
    ),
    "arm left on by the twin": (
        lambda: changed(lists_of("dotterel"), "range_out", "master_arm", sets={}),
        ("de_arming.master_arm", 1, None),
    ),
}


@pytest.mark.slow
@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_put_into_a_shipped_pack_is_found(fault: str) -> None:
    make, (rule, steps, sortie) = FAULTS[fault]
    result = prove(make())
    found = {one.id: one for one in result.findings}
    assert rule in found
    story = found[rule].story
    assert (story.length if story else None) == steps
    if sortie is not None:
        assert (story.given if story else found[rule].given) == sortie
