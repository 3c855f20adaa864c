"""Today's checklists: what applies, who answers, with which numbers, and what was left out and why."""

import dataclasses
import functools
import hashlib
import json

import pytest
from small_procedures import shipped, small_procedures

from sortiewright.procedures import load_procedures, tailor_checklists
from sortiewright.sortie import demo_sortie_path, load_sortie, plan, read_sortie

SORTIES = sorted(path.stem for path in demo_sortie_path().parent.glob("*.yaml"))
THIN = "\u202f"


@functools.cache
def flight(*changes):
    """Return the demo sortie with some words replaced, and its plan."""
    text = demo_sortie_path().read_text(encoding="utf-8")
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    loaded = read_sortie(text, "today.yaml", demo_sortie_path().parent)
    return loaded.sortie, plan(loaded.sortie, dataclasses.replace(loaded.pack))


REAR_EMPTY = ("rear: {name: P. Quill, mass: 215 lb}", "rear: {mass: 0 lb}")
FRONT_EMPTY = ("front: {name: I. Marrow, mass: 225 lb}", "front: {mass: 0 lb}")


@pytest.fixture
def tailored(tmp_path):
    """Return a function that tailors the small procedures, some words replaced, to the demo sortie."""

    def of(*changes, sortie=(), units="trade"):
        return tailor_checklists(small_procedures(tmp_path, *changes), *flight(*sortie), units)

    return of


def numbers(procedure):
    return [(item.number, item.id) for item in procedure.items]


def test_lists_come_in_order_and_the_others_after_them(tailored):
    lists = tailored()

    assert [one.id for one in lists.normal] == ["before_start", "before_takeoff"]
    assert [one.id for one in lists.others] == ["go_around", "no_airspeed"]
    assert lists.go_around == "go_around"
    assert list(lists.by_id) == ["before_start", "before_takeoff", "go_around", "no_airspeed"]
    assert lists.seats == (("front", "Front seat"), ("rear", "Rear seat"))
    assert lists.parties == (("tower", "Tower"),)


def test_what_applies_stays_and_what_does_not_leaves_a_gap(tailored):
    with_tank, without = tailored(), tailored(("lists", "carries('belly_tank')", "carries('wing_tank')"))

    assert numbers(with_tank.by_id["before_start"]) == [
        (1, "battery"),
        (2, "rear_harness"),
        (3, "belly"),
        (4, "fuel"),
    ]
    assert numbers(without.by_id["before_start"]) == [(1, "battery"), (2, "rear_harness"), (4, "fuel")]


def test_what_is_left_out_says_what_left_it_out(tailored):
    (gone,) = (
        tailored(("lists", "carries('belly_tank')", "carries('wing_tank')")).by_id["before_start"].left_out
    )

    assert (gone.id, gone.number, gone.title) == ("belly", 3, "Tank selector")
    assert gone.condition == "carries('wing_tank')"
    assert gone.because == "carries('wing_tank') is no"
    assert not gone.unknown


def test_a_number_that_leaves_an_item_out_is_shown_in_the_units_asked_for(tailored):
    change = ("lists", "crosswind > kt(10)", "crosswind > kt(100)")
    (trade,), (si,) = (
        tailored(change, units=units).by_id["before_takeoff"].left_out for units in ("trade", "si")
    )

    assert trade.because.replace(THIN, " ").endswith(" kt")
    assert si.because.replace(THIN, " ").endswith(" m/s")


def test_what_nothing_tells_stays_with_a_remark(tailored):
    lists = tailored(sortie=(("metar: METAR ZZCH", "temperature: 15 degC\n  qnh: 1009 hPa\n#"),))
    item = lists.by_id["before_takeoff"].items[1]
    (kept,) = lists.by_id["before_takeoff"].left_out

    assert item.id == "wind"
    assert kept.unknown
    assert lists.remarks == (
        "Before takeoff 2, Stick into wind: kept, as nothing says whether it applies: "
        "crosswind > kt(10): crosswind is not known",
    )


def test_a_value_that_is_missing_is_a_dash_with_its_problem(tailored):
    lists = tailored(sortie=(("metar: METAR ZZCH", "temperature: 15 degC\n  qnh: 1009 hPa\n#"),))
    wind, speeds = lists.by_id["before_takeoff"].items[1:]

    assert wind.response == "Held, —"
    assert speeds.response.replace(THIN, " ") == "—, 250 kt"
    assert "no wind" in speeds.problem


def test_a_procedure_that_does_not_apply_is_left_out_whole(tailored):
    change = ("lists", "  phase: ground\n", "  phase: ground\n  when: at_night\n")
    lists = tailored(change)
    (gone,) = lists.left_out

    assert [one.id for one in lists.normal] == ["before_takeoff"]
    assert "before_start" not in lists.by_id
    assert (gone.id, gone.title, gone.because) == ("before_start", "Before start", "at_night is no")


def test_a_procedure_of_which_no_item_applies_is_left_out(tailored):
    change = ("lists", "response: MAX, seat: front}", "response: MAX, seat: front, when: at_night}")
    lists = tailored(change)

    assert lists.go_around == ""
    assert [(gone.id, gone.because) for gone in lists.left_out] == [
        ("go_around", "none of its items applies today")
    ]


def test_a_procedure_that_may_apply_stays_with_a_remark(tailored):
    change = ("lists", "  phase: ground\n", "  phase: ground\n  when: crosswind > kt(10)\n")
    lists = tailored(change, sortie=(("metar: METAR ZZCH", "temperature: 15 degC\n  qnh: 1009 hPa\n#"),))

    assert "before_start" in lists.by_id
    assert [gone.unknown for gone in lists.left_out] == [True]
    assert any(one.startswith("Before start: kept") for one in lists.remarks)


def test_items_of_an_empty_seat_are_left_out_and_shared_ones_go_to_the_other(tailored):
    lists = tailored(sortie=(REAR_EMPTY,))
    before_start = lists.by_id["before_start"]
    (gone,) = before_start.left_out

    assert lists.seats == (("front", "Front seat"),)
    assert numbers(before_start) == [(1, "battery"), (3, "belly"), (4, "fuel")]
    assert before_start.items[-1].seats == ("front",)
    assert (gone.condition, gone.because) == ("occupied('rear')", "Rear seat is empty")


def test_a_list_for_an_empty_seat_alone_is_left_out(tailored):
    lists = tailored(sortie=(FRONT_EMPTY,))

    assert [one.id for one in lists.normal] == ["before_start", "before_takeoff"]
    assert numbers(lists.by_id["before_start"]) == [(2, "rear_harness"), (4, "fuel")]
    assert [gone.id for gone in lists.left_out] == ["go_around", "no_airspeed"]


def test_a_branch_to_a_list_that_does_not_apply_is_taken_off_with_a_remark(tailored):
    lists = tailored(sortie=(FRONT_EMPTY,))
    change = ("lists", "  entry: No speed is shown.\n", "  entry: No speed is shown.\n  when: at_night\n")
    by_day = tailored(change)

    assert "no_airspeed" not in lists.by_id
    assert by_day.by_id["before_takeoff"].items[-1].branch is None
    assert by_day.remarks == (
        "Before takeoff 3, Rotation, gear limit: No airspeed does not apply today, so nothing leads there",
    )


def test_a_hold_that_an_empty_seat_would_clear_is_remarked(tailored):
    lists = tailored(("lists", "cleared_by: tower", "cleared_by: rear"), sortie=(REAR_EMPTY,))

    assert lists.remarks == ("Before takeoff 1 waits for the rear seat, which is empty",)


def test_an_item_brings_everything_that_hangs_on_it(tailored):
    lists = tailored(("lists", "crosswind > kt(10)", "crosswind > kt(1)"))
    battery, _, belly, fuel = lists.by_id["before_start"].items
    clearance, wind, speeds = lists.by_id["before_takeoff"].items
    attitude, pitot = lists.by_id["no_airspeed"].items

    assert battery.killer
    assert battery.place == "left console"
    assert fuel.seats == ("front", "rear")
    assert belly.response == "BELLY"
    assert (clearance.hold.awaits, clearance.hold.cleared_by, clearance.hold.cleared_by_title) == (
        "Clearance for takeoff",
        "tower",
        "Tower",
    )
    assert clearance.any_one
    assert wind.notes == ("The gust counts.",)
    assert speeds.seen == "calibrated_airspeed > kt(80)"
    assert (speeds.branch.go, speeds.branch.title, speeds.branch.case) == (
        "no_airspeed",
        "No airspeed",
        "No speed shown",
    )
    assert (attitude.memory, attitude.part, pitot.part) == (True, "immediate", "follow-up")
    assert lists.by_id["before_start"].complete == "Before start complete"
    assert lists.by_id["no_airspeed"].then == "resume"
    assert lists.by_id["no_airspeed"].applies_in == ("takeoff", "before_start")


def test_numbers_are_in_the_units_asked_for(tailored):
    trade, si = (tailored(units=units).by_id["before_start"].items[-1].response for units in ("trade", "si"))

    assert trade.endswith("lb")
    assert si.endswith("kg")


def test_the_digest_is_that_of_what_the_crew_reads(tailored):
    lists = tailored()
    data = dataclasses.asdict(dataclasses.replace(lists, by_id={}))
    del data["digest"], data["by_id"]
    # RFC 8785 (JSON Canonicalization Scheme), for text and whole numbers: keys in order, no spaces, UTF-8.
    text = json.dumps(data, sort_keys=True, separators=(",", ":"), ensure_ascii=False)

    assert lists.digest == hashlib.sha256(text.encode("utf-8")).hexdigest()
    assert lists.digest == tailored().digest
    assert lists.digest != tailored(sortie=(REAR_EMPTY,)).digest
    assert lists.digest != tailored(units="si").digest
    assert lists.digest != tailored(("lists", "response: MAX", "response: MIL")).digest


@functools.cache
def shipped_lists(name):
    loaded = load_sortie(demo_sortie_path().with_name(f"{name}.yaml"))
    procedures = load_procedures(loaded.pack)
    made = plan(loaded.sortie, loaded.pack)
    return procedures, tailor_checklists(procedures, loaded.sortie, made)


@pytest.mark.parametrize("name", SORTIES)
def test_every_item_of_a_shipped_pack_is_there_or_left_out_with_a_reason(name):
    procedures, lists = shipped_lists(name)
    whole = {gone.id for gone in lists.left_out if not gone.unknown}

    assert set(procedures.procedures) == set(lists.by_id) | whole
    for one in lists.by_id.values():
        gone = {left.number for left in one.left_out if not left.unknown}
        kept = {item.number for item in one.items}
        assert gone.isdisjoint(kept)
        assert gone | kept == set(range(1, len(procedures.procedures[one.id].items) + 1))
        assert all(left.because for left in one.left_out)


@pytest.mark.parametrize("name", SORTIES)
def test_every_number_of_a_shipped_sortie_is_filled_in(name):
    _, lists = shipped_lists(name)
    items = [item for one in lists.by_id.values() for item in one.items]

    assert [item for item in items if "{" in item.response or "{" in item.challenge] == []
    assert [(item.id, item.problem) for item in items if item.problem] == []


@pytest.mark.parametrize("name", SORTIES)
def test_every_way_leads_to_a_list_that_is_there(name):
    _, lists = shipped_lists(name)
    for one in lists.by_id.values():
        assert one.then in ("", "resume", "end", *lists.by_id)
        assert all(item.branch is None or item.branch.go in lists.by_id for item in one.items)


def test_tailoring_leaves_the_pack_as_it_was(tmp_path):
    before = small_procedures(tmp_path)
    tailor_checklists(before, *flight())

    assert before == small_procedures(tmp_path)
    assert before.pack is shipped().pack
