"""Names, conditions and values in procedures that lead nowhere: each is told at its line."""

import pytest
from small_procedures import CONTROLS, LISTS, ORDER, fault_lines

CASES = {
    # Names
    "control": (
        ("lists", "sets: {battery: ON}", "sets: {batery: ON}"),
        '"batery" is none of the controls and states',
    ),
    "position": (
        ("lists", "sets: {battery: ON}", "sets: {battery: AN}"),
        '"AN" is none of the positions of battery',
    ),
    "seat": (
        ("lists", "seat: rear}", "seat: back}"),
        'items[1].seat: "back" is none of the seats of dotterel',
    ),
    "party": (("lists", "cleared_by: tower", "cleared_by: towr"), '"towr" is none of the parties and seats'),
    "branch": (("lists", "go: no_airspeed", "go: no_airspd"), 'Did you mean "no_airspeed"?'),
    "order": (
        ("order", "[before_start, before", "[before_strt, before"),
        '"before_strt" is none of the procedures',
    ),
    "order twice": (
        ("order", "[before_start,", "[before_start, before_start,"),
        'sortie[1]: "before_start" stands here',
    ),
    "order emergency": (
        ("order", "before_takeoff]", "no_airspeed]"),
        "is an emergency procedure, a normal one is wanted",
    ),
    "go-around": (
        ("order", "go_around: go_around", "go_around: go_round"),
        '"go_round" is none of the procedures',
    ),
    "go-around in order": (
        ("order", "takeoff]", "takeoff, go_around]"),
        "stands in the order of the sortie too",
    ),
    "unchanged": (
        ("order", "gear_handle: nothing", "gear_lever: nothing"),
        '"gear_lever" is none of the controls',
    ),
    "unchanged and set": (
        ("order", "gear_handle: nothing", "battery: nothing"),
        '"battery" is set by an item',
    ),
    "applies in": (
        ("lists", "[takeoff, before_start]", "[takeof]"),
        '"takeof" is none of the normal procedures and',
    ),
    "then": (("lists", "then: resume", "then: resum"), 'Did you mean "resume"?'),
    "at start": (
        ("controls", "at_start: DOWN", "at_start: DWN"),
        '"DWN" is none of the positions of gear_handle',
    ),
    "state at start": (
        ("controls", "at_start: YES", "at_start: TRUE"),
        "is none of the values of weight_on_wheels",
    ),
    "control seat": (
        ("controls", "left console, seats: front", "left console, seats: frnt"),
        "none of the seats",
    ),
    "position twice": (("controls", "[1, 2, BELLY]", "[1, 2, 2]"), 'positions[2]: "2" stands here twice'),
    "control name": (
        ("controls", "  tank_selector:", "  tank-selector:"),
        '"tank-selector" cannot be used as a name',
    ),
    "control word": (("controls", "  tank_selector:", "  not:"), '"not" cannot be used as a name'),
    "state is control": (("controls", "  weight_on_wheels:", "  battery:"), '"battery" is a control too'),
    "party is seat": (("controls", "  tower: {", "  front: {"), '"front" is a seat'),
    # Forms
    "item twice": (
        ("lists", "{id: rear_harness,", "{id: battery,"),
        '"battery" stands here twice. The first is in',
    ),
    "no response": (("lists", "response: BELLY\n", "response: ''\n"), '"belly" has no response'),
    "no seat": (
        ("lists", "response: FASTENED, seat: rear}", "response: FASTENED}"),
        '"rear_harness" is for nobody',
    ),
    "no challenge": (("lists", "challenge: Harness", "challenge: ' '"), "items[1].challenge: is empty"),
    "any one": (("lists", "seat: rear}", "seat: rear, any_one: true}"), '"rear_harness" needs several seats'),
    "memory": (
        ("lists", "seat: rear}", "seat: rear, memory: true}"),
        "belongs to an abnormal or emergency procedure",
    ),
    "part": (
        ("lists", "seat: rear}", "seat: rear, part: deferred}"),
        "belongs to an abnormal or emergency procedure",
    ),
    "memory later": (
        ("lists", "memory: true}", "memory: true, part: deferred}"),
        "cannot be done from memory",
    ),
    "nowhere": (("lists", "  then: resume\n", ""), "no_airspeed: says nothing of where it leads"),
    "normal then": (
        ("lists", "  phase: ground\n", "  phase: ground\n  then: end\n"),
        "belongs to an abnormal",
    ),
    # Invariants
    "two forms": (
        ("order", "    why: The legs", "    holds: at\n    why: The legs"),
        "has never and holds, one form",
    ),
    "no form": (
        ("order", "    never: gear_handle == 'UP' and weight_on_wheels == 'YES'\n", ""),
        "says nothing that",
    ),
    "no before": (("order", "    before: tank_selector == 'BELLY'\n", ""), "first: needs before beside it"),
    "no moment": (
        ("order", "    at_end_of: before_takeoff\n", ""),
        "needs at_start_of or at_end_of beside it",
    ),
    "two moments": (
        ("order", "    at_end_of: ", "    at_start_of: before_start\n    at_end_of: "),
        "has two moments",
    ),
    "moment alone": (("order", "    holds: battery == 'ON'\n", ""), "at_end_of: needs holds beside it"),
    "moment": (
        ("order", "at_end_of: before_takeoff", "at_end_of: takeoff"),
        '"takeoff" is none of the procedures',
    ),
    "invariant twice": (
        ("order", "id: power_first", "id: gear_stays_down"),
        '"gear_stays_down" stands here twice',
    ),
    # Conditions
    "when": (("lists", "when: crosswind > kt(10)", "when: crosswnd > kt(10)"), 'Did you mean "crosswind"?'),
    "store": (
        ("lists", "when: carries('belly_tank')", "when: carries('belly_tnk')"),
        'Did you mean "belly_tank"?',
    ),
    "unit": (
        ("lists", "when: crosswind > kt(10)", "when: crosswind > 10"),
        "compares a speed with a plain number",
    ),
    "kind": (
        ("lists", "when: crosswind > kt(10)", "when: crosswind > ft(10)"),
        "compares a speed with a length",
    ),
    "value": (("lists", "when: crosswind > kt(10)", "when: crosswind"), "is a speed, a condition is wanted"),
    "words only": (
        ("lists", "when: crosswind > kt(10)", "when: wind > kt(10)"),
        '"wind" (character 1) is not a known',
    ),
    "needs": (
        ("lists", "needs: battery == 'ON'", "needs: battery == 'UP'"),
        "is not one of the positions of battery",
    ),
    "needs of the sortie": (
        ("lists", "needs: battery == 'ON'", "needs: at_night"),
        '"at_night" is not a known name',
    ),
    "after": (("lists", "after: battery == 'ON'", "after: batery == 'ON'"), "hold.after"),
    "seen": (
        ("lists", "seen: calibrated_airspeed", "seen: calibrated_arspeed"),
        'Did you mean "calibrated_airspeed"?',
    ),
    "never": (("order", "never: gear_handle", "never: gear_lever"), 'invariants[0].never: "gear_lever"'),
    "invariant when": (("order", "when: at_night", "when: at_nigt"), 'Did you mean "at_night"?'),
    # Numbers in texts
    "figure": (("lists", "{fuel_at_ramp}", "{fuel_at_rmp}"), 'Did you mean "fuel_at_ramp"?'),
    "pack path": (
        ("lists", "{limits.gear_speed}", "{limits.gear_sped}"),
        'there is no "gear_sped". Did you mean "gear_sp',
    ),
    "pack part": (
        ("lists", "{limits.gear_speed}", "{limit.gear_speed}"),
        'there is no "limit". Did you mean "limits"?',
    ),
    "table": (("lists", "{limits.gear_speed}", "{limits.crosswind_takeoff}"), "is no single number"),
    "brace": (("lists", '"{fuel_at_ramp}"', '"{fuel_at_ramp"'), "has a brace without its partner"),
    "rule": (("lists", "{fuel_at_ramp}", "{fuel_at_ramp, about 5 lb}"), 'cannot be read at "about 5 lb"'),
    "rule unit": (("lists", "{fuel_at_ramp}", "{fuel_at_ramp, to 5 kt}"), "measures speed, not mass"),
    "no name": (("lists", "{fuel_at_ramp}", "{5 lb}"), "does not begin with a name"),
    "status": (
        ("lists", "status: No speed", "status: No {speed}"),
        '"{speed}" is no figure of a plan of dotterel',
    ),
}


@pytest.mark.parametrize(("change", "said"), [pytest.param(*case, id=name) for name, case in CASES.items()])
def test_a_fault_is_told_at_its_line(tmp_path, change, said):
    faults = fault_lines(tmp_path, change)
    file, _, new = change
    text = {"lists": LISTS, "order": ORDER, "controls": CONTROLS}[file].replace(change[1], new)
    numbers = [int(fault.split(":")[1].split(" ")[0]) for fault in faults if said in fault]

    assert numbers, faults
    assert all(fault.startswith(f"procedures/{file}.yaml:") for fault in faults if said in fault)
    assert all(1 <= number <= len(text.split("\n")) for number in numbers)


def test_the_files_that_the_cases_break_are_sound(tmp_path):
    assert fault_lines(tmp_path) == []


# The line is where the word stands, not where its item begins.
def test_the_line_is_that_of_the_key(tmp_path):
    (fault,) = fault_lines(tmp_path, ("lists", "needs: battery == 'ON'", "needs: battery == 'UP'"))
    line = next(number for number, text in enumerate(LISTS.split("\n"), 1) if "needs:" in text)

    assert fault.startswith(f"procedures/lists.yaml:{line}  before_start.items[2].needs: ")
    assert "(character 12) is not one of the positions of battery" in fault


def test_a_normal_list_that_nothing_leads_to_is_told(tmp_path):
    (fault,) = fault_lines(tmp_path, ("order", "go_around: go_around\n", ""))

    assert 'go_around: "go_around" stands in no order: nothing leads to it. Add it to sortie' in fault


def test_a_seat_that_answers_twice_is_told(tmp_path):
    (fault,) = fault_lines(tmp_path, ("lists", "seat: rear}", "seat: [rear, rear]}"))

    assert 'before_start.items[1].seat[1]: "rear" stands here twice' in fault


def test_a_number_that_this_pack_does_not_give_is_told(tmp_path):
    (fault,) = fault_lines(
        tmp_path, ("lists", "{limits.gear_speed}", "{technique.landing.flare_load_factor}")
    )

    assert "is not given in this pack" in fault


def test_every_fault_is_told_at_once(tmp_path):
    names = ("seat", "branch", "order", "when", "figure", "moment", "control name")
    wanted = [CASES[name] for name in names]
    faults = fault_lines(tmp_path, *(change for change, _ in wanted))

    for _, said in wanted:
        assert any(said in fault for fault in faults), said


SECOND = """\
engine_fire:
  title: Engine fire
  kind: emergency
  items:
    - {id: a, challenge: Fire light, response: OUT, seat: front, if_not: {go: FIRST}}
  then: THEN
relight:
  title: Relight
  kind: abnormal
  items:
    - {id: a, challenge: Engine, response: Running, seat: front, if_not: {go: engine_fire}}
  then: resume
"""


def circles(folder, first, then):
    text = SECOND.replace("FIRST", first).replace("THEN", then)
    lists = ("lists", "no_airspeed:\n  title", f"{text}no_airspeed:\n  title")
    return [fault for fault in fault_lines(folder, lists) if "circle" in fault]


def test_a_circle_of_branches_is_told_once(tmp_path):
    (fault,) = circles(tmp_path, "relight", "resume")

    assert "engine_fire to relight to engine_fire is a circle" in fault or (
        "relight to engine_fire to relight is a circle" in fault
    )


def test_a_branch_to_itself_is_a_circle(tmp_path):
    (fault,) = circles(tmp_path, "engine_fire", "resume")

    assert "engine_fire to engine_fire is a circle" in fault


def test_endings_that_lead_to_each_other_are_a_circle(tmp_path):
    assert len(circles(tmp_path, "no_airspeed", "relight")) == 1


# The order of a sortie goes on from there, and comes to an end.
def test_an_ending_in_a_normal_list_is_no_circle(tmp_path):
    assert circles(tmp_path, "no_airspeed", "before_takeoff") == []


def test_two_ways_to_one_list_are_no_circle(tmp_path):
    assert circles(tmp_path, "no_airspeed", "no_airspeed") == []
