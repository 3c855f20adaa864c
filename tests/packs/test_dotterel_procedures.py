"""The normal checklists of the shipped jet: what they hold, what load and weather change, and their safety.

Regulations are cited as 14 CFR with the paragraph; their texts were read. They bind civil aircraft, and serve
here as a measure that nobody of this project wrote.
"""

import dataclasses
import functools
import re

import pytest

from sortiewright.expressions import parse_expression
from sortiewright.pack import load_pack, pack_folder
from sortiewright.procedures import control_vocabulary, load_procedures, tailor_checklists
from sortiewright.procedures.guidelines import lint
from sortiewright.procedures.proof import prove
from sortiewright.sortie import demo_sortie_path, load_sortie, plan, read_sortie

PROCEDURES = load_procedures(load_pack(pack_folder("dotterel")))
LISTS = PROCEDURES.procedures
NORMAL = {name: one for name, one in LISTS.items() if one.kind == "normal"}
ITEMS = {f"{name}.{item.id}": item for name, one in NORMAL.items() for item in one.items}
STORES = PROCEDURES.pack.stores

SOLO = ("rear: {name: P. Quill, mass: 215 lb}", "rear: {mass: 0 lb}")
NIGHT = ("time: 09:40Z", "time: 23:10Z")
TAKEOFF_BY_DRY_POWER = ("requirements:\n", "takeoff: {power: military}\nrequirements:\n")
NO_CHUTE = (
    "requirements:\n",
    "takeoff: {rejected_with_chute: false}\nlanding: {with_chute: false}\nrequirements:\n",
)
FREEZING_RAIN = ("9999 SCT028 BKN045 16/09 Q1009", "9999 -FZRA BKN012 M01/M02 Q1009")
HOT = ("SCT028 BKN045 16/09", "CAVOK 36/09")
CROSSWIND = ("28014G22KT", "34016KT")
ONE_SIDED = ("    right_inboard: [triple_rack, plover_bomb, plover_bomb]\n", "")
ONE_SIDED_RELEASE = ("release_order: [left_inboard, right_inboard]", "release_order: [left_inboard]")
ONE_SIDED_ROUTE = ("- release: [left_inboard, right_inboard]", "- release: [left_inboard]")
CABLES_DOWN = tuple((f"distance: {at} ft}}", f"distance: {at} ft, rigged: false}}") for at in (1350, 7000))
ELSEWHERE = (
    "requirements:\n",
    """landing_place:
  aerodrome:
    name: Ardlarach
    latitude: 55.731
    longitude: -5.902
    elevation: 58 ft
    runways: [{designator: "33", true_heading: 332 deg, length: 9200 ft, condition: wet}]
  runway: "33"
requirements:
""",
)
STANDING_WATER = ("      start_offset: 150 ft\n", "      start_offset: 150 ft\n      standing_water: true\n")


def loaded(changes):
    text = demo_sortie_path().read_text(encoding="utf-8")
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return read_sortie(text, "today.yaml", demo_sortie_path().parent)


@functools.cache
def checklists(*changes, shipped=""):
    """Return the lists of the demo sortie with some words replaced, or of another shipped sortie."""
    today = load_sortie(demo_sortie_path().with_name(f"{shipped}.yaml")) if shipped else loaded(changes)
    return tailor_checklists(PROCEDURES, today.sortie, plan(today.sortie, today.pack), "trade")


def names(lists):
    return {f"{one.id}.{item.id}" for one in lists.normal for item in one.items}


def difference(*changes, only=None):
    """Return what the changes add to the demo's items, and what they take away."""
    before, after = names(checklists()), names(checklists(*changes))
    return after - before, before - after


def response(lists, name):
    procedure, item = name.split(".")
    return next(one.response for one in lists.by_id[procedure].items if one.id == item).replace("\u202f", " ")


# --- what the lists hold ---


def test_every_part_of_a_sortie_has_its_list_in_the_order_of_the_trade():
    # common practice, no source: the order from the walk-round to leaving the aircraft
    ground = [
        "walk_round",
        "cockpit_entry",
        "strap_in",
        "before_start",
        "start",
        "after_start",
        "control_check",
    ]
    runway = [
        "before_taxi",
        "taxi",
        "arming",
        "before_takeoff",
        "line_up",
        "run_up",
        "takeoff",
        "after_takeoff",
    ]
    flight = ["climb", "cruise", "range_in", "range_out", "descent", "before_landing", "landing"]
    home = ["after_landing", "de_arming", "parking", "shutdown", "leaving", "after_flight"]
    trade = ground + runway + flight + home
    flown = [name for name in PROCEDURES.order.sortie if name in trade]

    assert flown == trade
    assert PROCEDURES.order.go_around in NORMAL


# 14 CFR 121.315(b): the procedures include what is checked before starting engines, taking off and landing,
# and in engine and systems emergencies
def test_lists_cover_starting_taking_off_landing_and_emergencies():
    route = PROCEDURES.order.sortie

    assert route.index("before_start") < route.index("start")
    assert route.index("before_takeoff") < route.index("takeoff")
    assert route.index("before_landing") < route.index("landing")
    assert {"emergency", "abnormal"} <= {one.kind for one in LISTS.values()}


def test_no_guideline_is_broken_without_a_reason():
    open_findings = [one for one in lint(PROCEDURES) if one.procedure in NORMAL and not one.accepted]

    assert [str(finding) for finding in open_findings] == []


def test_lists_are_short_and_the_last_ones_before_takeoff_shorter():
    # common practice, no source: twelve items at most, seven in what stands last before the takeoff
    lengths = {name: len(one.items) for name, one in NORMAL.items()}

    assert max(lengths.values()) <= 12
    assert max(lengths[name] for name in ("before_takeoff", "line_up", "run_up")) <= 7
    assert len(ITEMS) >= 200


def test_what_must_not_be_missed_is_explained():
    killers = {name: item for name, item in ITEMS.items() if item.killer}

    assert len(killers) >= 40
    assert [name for name, item in killers.items() if not item.why] == []


def test_no_number_of_the_plan_or_the_pack_is_written_a_second_time():
    written = {name: re.sub(r"\{[^}]*\}", "", item.response) for name, item in ITEMS.items()}

    assert [name for name, text in written.items() if re.search(r"\d", text)] == []
    assert sum("{" in item.response for item in ITEMS.values()) >= 40


def test_notes_warnings_and_cautions_carry_no_numbers_with_units():
    # MIL-DTL-5096G, as told by the guidelines: a tolerance is a step and never a note
    beside = [
        text
        for one in NORMAL.values()
        for item in one.items
        for text in (*item.notes, *item.cautions, *item.warnings)
    ]

    assert len(beside) >= 15
    assert [text for text in beside if re.search(r"\d", text)] == []


def test_two_seats_enter_and_leave_their_cockpits_each_at_its_own_pace():
    apart = {name for name, one in NORMAL.items() if one.pace == "apart"}

    assert apart == {"cockpit_entry", "strap_in", "leaving"}
    for name in apart:
        assert {seat for item in LISTS[name].items for seat in item.seat} == {"front", "rear"}


def test_waiting_for_others_is_a_hold_that_only_they_clear():
    parties = {item.hold.cleared_by for item in ITEMS.values() if item.hold}

    # 14 CFR 91.129(i): no taxi, takeoff or landing at a field with a tower without a clearance
    assert ITEMS["before_taxi.taxi_clearance"].hold.cleared_by == "ground_controller"
    assert ITEMS["line_up.clearance"].hold.cleared_by == "tower"
    assert ITEMS["before_landing.clearance"].hold.cleared_by == "tower"
    assert parties == set(PROCEDURES.cockpit.parties)


def test_every_control_moves_or_says_why_not():
    moved = {name for one in LISTS.values() for item in one.items for name in item.sets}
    moved |= {name for one in LISTS.values() for item in one.items if item.hold for name in item.hold.sets}
    controls = set(PROCEDURES.cockpit.controls)

    assert 60 <= len(controls) <= 80
    assert controls - moved == set(PROCEDURES.order.unchanged)


def test_a_feed_can_confirm_what_it_can_see():
    seen = [name for name, item in ITEMS.items() if item.seen]

    assert len(seen) >= 60
    assert {
        "after_takeoff.gear",
        "before_landing.gear",
        "before_takeoff.flap_and_droop",
        "landing.chute",
    } <= set(seen)


# --- what today changes ---


def test_load_and_weather_decide_over_many_items_and_some_whole_lists():
    items = {name for name, item in ITEMS.items() if item.when}
    whole = {name for name, one in NORMAL.items() if one.when}

    assert len(items) >= 12
    assert whole == {
        "stores_walk_round", "rear_cockpit_empty", "arming", "sensors", "range_in", "range_out", "de_arming",
    }  # fmt: skip


@pytest.mark.parametrize("store", [name for name, one in STORES.items() if one.kind != "rack"])
def test_each_kind_of_store_is_looked_at_before_flight(store):
    conditions = [item.when for item in LISTS["stores_walk_round"].items]

    assert any(f"carries('{store}')" in when for when in conditions)


ARMED = {name for name, one in STORES.items() if one.kind in {"weapon", "practice"}}


def test_only_what_is_armed_leads_to_the_arming_area():
    asked = set(re.findall(r"carries\('(\w+)'\)", LISTS["arming"].when))

    assert asked == ARMED | {"woodpecker_gun_pod", "thistle_dispenser"}
    for name in ("range_in", "range_out", "de_arming"):
        assert LISTS[name].when == LISTS["arming"].when


def test_demo_carries_bombs_and_a_tank():
    lists = checklists()

    assert {"arming", "range_in", "range_out", "de_arming"} <= set(lists.by_id)
    assert "sensors" not in {one.id for one in lists.normal}
    assert "rear_cockpit_empty" not in {one.id for one in lists.normal}
    assert {
        "stores_walk_round.belly_tank",
        "stores_walk_round.bombs",
        "after_takeoff.external_transfer",
    } <= names(lists)
    assert "stores_walk_round.wing_tanks" not in names(lists)
    assert response(lists, "before_takeoff.trim") == "5.6 units"
    assert response(lists, "takeoff.line_speed") == "117 kt or more at board 7"
    assert response(lists, "after_takeoff.gear") == "UP above 180 kt, before 250 kt"


def test_a_reconnaissance_pod_and_a_crosswind_over_the_chutes_limit():
    lists = checklists(shipped="gusting_crosswind")

    assert {"stores_walk_round.pod_windows", "sensors.reconnaissance_pod", "after_flight.film"} <= names(
        lists
    )
    assert {
        "takeoff_brief.crosswind",
        "takeoff.crosswind",
        "landing_brief.crosswind",
        "landing.crosswind",
    } <= names(lists)
    assert {"takeoff_brief.stop_without_chute", "landing_brief.without_chute"} <= names(lists)
    assert "landing.chute" not in names(lists)
    assert not {"arming", "range_in", "range_out", "de_arming"} & {one.id for one in lists.normal}
    assert response(lists, "takeoff_brief.crosswind") == "22 kt, stick into wind"


def test_three_tanks_in_the_heat_of_a_plateau():
    lists = checklists(shipped="hot_high_heavy")

    assert {"stores_walk_round.wing_tanks", "stores_walk_round.belly_tank", "sensors.sighting_pod"} <= names(
        lists
    )
    assert {
        "takeoff_brief.thin_air",
        "taxi.hot_brakes",
        "after_landing.front_canopy",
        "parking.hot_brakes",
    } <= names(lists)
    assert "takeoff_brief.cable" not in names(lists)
    assert response(lists, "takeoff_brief.thin_air").endswith("density altitude 6 550 ft")


def test_six_bombs_on_a_short_wet_runway():
    lists = checklists(shipped="short_wet")

    assert {
        "takeoff_brief.no_way_out",
        "takeoff_brief.slippery",
        "run_up.creep",
        "taxi.slippery_taxi",
    } <= names(lists)
    assert {"after_start.windscreen", "landing.stopping_call", "landing_brief.slippery"} <= names(lists)
    assert "stores_walk_round.belly_tank" not in names(lists)
    assert response(lists, "takeoff_brief.no_way_out") == "From 128 kt to 151 kt"


def test_nobody_in_the_rear_seat():
    added, gone = difference(SOLO)

    assert added == {
        *(f"rear_cockpit_empty.{item.id}" for item in LISTS["rear_cockpit_empty"].items),
        "takeoff_brief.solo",
    }
    assert {"cockpit_entry.rear_seat_pin", "canopies_and_seats.rear_seat_pin", "power_on.intercom"} <= gone
    assert all(set(item.seats) == {"front"} for one in checklists(SOLO).normal for item in one.items)
    # what goes is the rear seat's own: its controls, its pin and straps, and talking to it
    own = {name for name, control in PROCEDURES.cockpit.controls.items() if control.seats == ("rear",)}
    kept = {name for name in gone if not set(ITEMS[name].sets) <= own or not ITEMS[name].sets}
    assert kept == {
        "cockpit_entry.rear_seat_pin",
        "cockpit_entry.radar",
        "strap_in.mirrors",
        "power_on.intercom",
        "before_start.start_plan",
        "canopies_and_seats.eject_selector",
        "leaving.rear_seat_pin",
    }


def test_night_lights_the_aircraft():
    added, gone = difference(NIGHT)

    assert added == {
        "power_on.front_lights",
        "power_on.rear_lights",
        "taxi.taxi_light",
        "line_up.lights",
        "after_takeoff.lights",
        "landing_brief.night",
        "before_landing.lights",
        "after_landing.lights",
        "shutdown.rear_lights",
    }
    assert not gone


def test_dry_power_takes_the_burners_out_of_the_lists():
    added, gone = difference(TAKEOFF_BY_DRY_POWER)

    assert added == {"takeoff.dry"}
    assert gone == {"takeoff.maximum", "after_takeoff.burners"}


def test_without_the_chute_nothing_asks_for_it():
    added, gone = difference(NO_CHUTE)

    assert {
        "takeoff_brief.stop_without_chute",
        "landing_brief.without_chute",
        "landing.stopping_call",
    } <= added
    assert gone == {
        "takeoff_brief.stop_with_chute", "landing_brief.with_chute", "landing.chute", "after_landing.chute",
        "after_flight.chute_handle",
    }  # fmt: skip


def test_freezing_rain_brings_ice_items():
    added, _ = difference(FREEZING_RAIN)

    assert {"walk_round.ice", "after_start.anti_ice", "descent.anti_ice", "run_up.creep"} <= added


def test_heat_opens_canopies_and_spares_brakes():
    added, _ = difference(HOT)

    assert {
        "taxi.hot_brakes",
        "after_landing.front_canopy",
        "after_landing.rear_canopy",
        "parking.hot_brakes",
    } <= added


def test_standing_water_asks_for_ignition():
    added, _ = difference(STANDING_WATER)

    assert {"before_takeoff.ignition", "climb.ignition"} <= added


def test_crosswind_is_briefed_and_flown():
    added, gone = difference(CROSSWIND)

    assert added == {
        "takeoff_brief.crosswind",
        "takeoff.crosswind",
        "landing_brief.crosswind",
        "landing.crosswind",
    }
    assert not gone


def test_a_load_on_one_side_is_named_trimmed_and_trimmed_back():
    added, _ = difference(ONE_SIDED, ONE_SIDED_RELEASE, ONE_SIDED_ROUTE)

    assert {
        "takeoff_brief.uneven",
        "after_takeoff.roll_trim",
        "landing_brief.brought_back",
        "parking.trims",
    } <= added


def test_cables_that_are_not_rigged_are_not_briefed():
    added, gone = difference(*CABLES_DOWN)

    assert not added
    assert gone == {"takeoff_brief.cable", "landing_brief.cable"}


def test_landing_elsewhere_changes_pressure_and_brief():
    added, gone = difference(ELSEWHERE)

    assert {
        "before_taxi.away",
        "landing_brief.elsewhere",
        "descent.altimeters_elsewhere",
        "landing_brief.slippery",
    } <= added
    assert {"descent.altimeters", "landing_brief.cable"} <= gone
    assert "takeoff_brief.slippery" not in added


@pytest.mark.parametrize("sortie", ["demo", "gusting_crosswind", "hot_high_heavy", "short_wet"])
def test_no_number_is_missing_in_a_shipped_sortie(sortie):
    lists = checklists(shipped=sortie)

    assert [
        (one.id, item.id, item.problem) for one in lists.normal for item in one.items if item.problem
    ] == []


# --- that it is safe ---


def fly(until, *, end=False, leave_out=()):
    """Go through the normal lists with all their items, both seats there, and return all positions.

    This is the plainest reading of a list: one item after the other, each setting what it says.
    """
    stands = {name: control.at_start[0] for name, control in PROCEDURES.cockpit.controls.items()}
    stands |= {name: state.at_start for name, state in PROCEDURES.cockpit.states.items()}
    for name in PROCEDURES.order.sortie:
        if name == until and not end:
            return stands
        if name != "rear_cockpit_empty":
            for item in LISTS[name].items:
                if f"{name}.{item.id}" not in leave_out:
                    stands |= (item.hold.sets if item.hold else {}) | item.sets
        if name == until:
            return stands
    raise AssertionError(until)


# 14 CFR 25.703(a): what a takeoff warning sounds for: flaps or leading edge devices, speed brakes and
# longitudinal trim out of position for takeoff; CS 25.703(a)(3) adds the parking brake
def test_takeoff_begins_with_nothing_that_a_takeoff_warning_sounds_for():
    stands = fly("takeoff")

    assert (stands["flap_lever"], stands["droop"]) == ("HALF", "DOWN")
    assert stands["speedbrake"] == "IN"
    assert stands["pitch_trim"] == "TAKEOFF"
    assert stands["parking_brake"] == "RELEASED"


def invariant(name):
    return next(one for one in PROCEDURES.order.invariants if one.id == name)


def holds_with(stands, text):
    return parse_expression(text, control_vocabulary(PROCEDURES.cockpit)).truth(stands)


# 14 CFR 91.209(a)(1): position lights from sunset to sunrise; (b): anti-collision lights while operated.
# The lists know night from the end of civil twilight on, so position lights cannot hang on night.
def test_position_and_anti_collision_lights_are_lit_whenever_the_aircraft_moves():
    for name in ("start", "taxi", "takeoff", "cruise", "landing", "parking"):
        stands = fly(name)

        assert stands["anti_collision_light"] == "ON", name
        assert stands["position_lights"] != "OFF", name
    assert ITEMS["before_start.position_lights"].when == ITEMS["before_start.anti_collision"].when == ""


# 14 CFR 91.121(a): the reported altimeter setting low down, 29.92 inches from 18,000 ft up
def test_altimeters_are_on_field_pressure_low_down_and_on_standard_pressure_high_up():
    settings = {
        name: fly(name)["front_altimeter"] for name in ("takeoff", "climb", "cruise", "before_landing")
    }

    assert settings == {"takeoff": "QNH", "climb": "QNH", "cruise": "STANDARD", "before_landing": "QNH"}


# 14 CFR 91.105: belts and shoulder harness during takeoff and landing and en route
def test_both_crew_members_are_strapped_in_from_power_on_to_shutdown():
    for name in ("power_on", "takeoff", "cruise", "landing", "shutdown"):
        stands = fly(name)

        assert (stands["front_harness"], stands["rear_harness"]) == ("FASTENED", "FASTENED"), name


# 14 CFR 91.215(c): the transponder on, altitude reporting with it, while airborne
def test_transponder_is_on_in_the_air_and_not_on_the_stand():
    for name in ("takeoff", "climb", "cruise", "descent", "landing"):
        assert fly(name)["transponder"] == "ON", name
    assert fly("before_taxi")["transponder"] == fly("parking")["transponder"] == "STANDBY"


def test_invariants_guard_what_kills():
    guarded = " ".join(
        " ".join((one.never, one.first, one.before, one.holds)) for one in PROCEDURES.order.invariants
    )
    must = [
        "gear_handle",
        "canopy",
        "seat_pin",
        "external_power",
        "generator",
        "master_arm",
        "chute_handle",
        "anti_skid",
        "hook_handle",
        "pitch_trim",
        "nosewheel_steering",
        "flap_lever",
        "droop",
        "refuel_door",
        "external_transfer",
        "pitot_heat",
        "transponder",
        "alignment",
        "left_throttle",
        "ground_crew",
        "arming_pins",
        "control_lock",
    ]

    assert len(PROCEDURES.order.invariants) >= 25
    assert [word for word in must if word not in guarded] == []
    assert all(one.why for one in PROCEDURES.order.invariants)


def alone(lists=NORMAL):
    """Return the normal lists by themselves: nothing goes wrong, nobody is interrupted."""
    calm = {
        name: one.model_copy(
            update={"items": tuple(item.model_copy(update={"if_not": None}) for item in one.items)}
        )
        for name, one in lists.items()
    }
    return dataclasses.replace(PROCEDURES, procedures=calm)


def without(name):
    """Return the normal lists without one item."""
    procedure, item = name.split(".")
    kept = tuple(one for one in LISTS[procedure].items if one.id != item)
    return alone(NORMAL | {procedure: LISTS[procedure].model_copy(update={"items": kept})})


def broken(procedures):
    return {finding.id for finding in prove(procedures).findings if finding.kind != "gap"}


def test_normal_lists_break_nothing_under_any_load_weather_or_order_of_the_seats():
    result = prove(alone())

    assert result.complete
    assert [finding for finding in result.findings if finding.kind != "gap"] == []
    # a gap is a control that emergencies alone move
    assert all("is set by no item" in finding.text for finding in result.findings)
    assert result.conditions >= 30


@pytest.mark.parametrize(
    ("left_out", "caught"),
    [
        ("canopies_and_seats.front_canopy", "front_canopy_for_power"),
        ("canopies_and_seats.rear_seat_pin", "rear_seat_armed"),
        ("before_takeoff.trim", "trim_before_line_up"),
        ("takeoff.steering", "steering_in_the_air"),
        ("cruise.external_transfer", "external_transfer_on_the_ground"),
        ("after_landing.front_seat_pin", "front_seat_safe_with_open_canopy"),
        ("de_arming.pins_in", "arming_pins_on_the_stand"),
        ("rear_cockpit_empty.eject_selector", "alone_at_once"),
        ("stores_walk_round.tank_pins", "tank_pins_in_the_air"),
        ("before_start.position_lights", "position_lights_on_the_move"),
    ],
)
def test_an_item_that_is_left_out_is_missed(left_out, caught):
    assert caught in broken(without(left_out))


def test_the_whole_cockpit_is_dark_and_pinned_at_the_end():
    stands = fly("after_flight", end=True)

    assert holds_with(stands, invariant("dark_and_safe_at_the_end").holds)
    left = {
        name for name, control in PROCEDURES.cockpit.controls.items() if stands[name] not in control.at_start
    }
    assert left == {"parking_brake"}  # released on the chocks where the wheels are hot
