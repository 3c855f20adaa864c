"""What a crew may do, and what the run refuses and why."""

from datetime import UTC, datetime, timedelta

import pytest
from crew_lists import checklists, item, listing, sample

from sortiewright.procedures.events import (
    INSTRUCTOR,
    Answered,
    Cleared,
    Completed,
    Deferred,
    Disagreed,
    Ended,
    Event,
    Interrupted,
    Joined,
    Left,
    Noted,
    Opened,
    Overridden,
    Place,
    Proposal,
    Resumed,
    Skipped,
    Started,
    TakenUp,
    Undone,
)
from sortiewright.procedures.run_fold import decide, fold, last_undoable, step
from sortiewright.procedures.run_refusals import Already, Refusal
from sortiewright.procedures.run_state import (
    RunState,
    due,
    is_finished,
    next_list,
    outstanding,
    re_read,
)

NINE = datetime(2026, 5, 14, 9, 0, tzinfo=UTC)


class Run:
    """A run without a log: what is proposed is decided and stepped, ten seconds apart."""

    def __init__(self, lists=None):
        self.state = RunState(lists or sample())
        self.events = []
        self.does(Started("digest", "Thistle 21"), INSTRUCTOR)

    def tries(self, deed, actor="front", identity=None):
        time = NINE + timedelta(seconds=10 * len(self.events))
        outcome = decide(self.state, Proposal(identity or f"p{self.state.seq}", actor, deed), time)
        if isinstance(outcome, Event):
            self.events.append(outcome)
            self.state = step(self.state, outcome)
        return outcome

    def does(self, deed, actor="front"):
        outcome = self.tries(deed, actor)
        assert isinstance(outcome, Event), outcome
        return outcome

    def refused(self, deed, actor="front"):
        before = self.state
        outcome = self.tries(deed, actor)
        assert isinstance(outcome, Refusal), outcome
        assert self.state == before
        return outcome.reason

    def answers(self, procedure, *names):
        for name in names:
            found = next(one for one in due(self.state) if one.place.item == name)
            for seat in found.seats[:1] if found.item.any_one else found.seats:
                self.does(Answered(Place(procedure, name, found.place.round)), seat)

    def finishes(self, procedure):
        """Open a list, answer whatever comes, complete it."""
        self.does(Opened(procedure))
        while turns := due(self.state):
            if turns[0].holding:
                self.does(Cleared(turns[0].place, turns[0].item.hold.cleared_by))
            else:
                self.does(Answered(turns[0].place), turns[0].seats[0])
        self.does(Completed(procedure))

    def turns(self):
        return [(one.place.item, one.seats) for one in due(self.state)]


def at(procedure, name, count=1):
    return Place(procedure, name, count)


@pytest.fixture
def run():
    return Run()


@pytest.fixture
def before_start(run):
    run.does(Opened("before_start"))
    return run


@pytest.fixture
def taxi(run):
    run.finishes("before_start")
    run.finishes("after_start")
    run.does(Opened("taxi"))
    return run


def test_an_item_is_moved_only_by_its_own_seat(before_start):
    assert before_start.refused(Answered(at("before_start", "battery")), "rear") == (
        "Front seat answers Battery, not Rear seat"
    )
    assert before_start.refused(Answered(at("before_start", "battery")), INSTRUCTOR)


# AC 120-71B, challenge and response: an item for both is complete when both have answered (from memory).
def test_an_item_for_both_seats_needs_two_answers(before_start):
    before_start.answers("before_start", "battery")
    before_start.does(Answered(at("before_start", "harness")), "rear")

    assert before_start.turns() == [("harness", ("front",))]
    assert "Harness comes first" in before_start.refused(Answered(at("before_start", "canopy")))


def test_of_two_seats_either_of_which_may_answer_the_first_one_counts(before_start):
    before_start.answers("before_start", "battery", "harness")
    before_start.does(Answered(at("before_start", "canopy"), "CLOSED, light out"), "rear")

    marks = before_start.state.lists[0].items[2].marks
    assert [(mark.seat, mark.text) for mark in marks] == [("rear", "CLOSED, light out")]
    late = before_start.tries(Answered(at("before_start", "canopy")), "front")
    assert late == Already("Rear seat has answered for all: Canopy")


def test_an_answer_without_words_is_the_response_that_the_list_wants(before_start):
    before_start.answers("before_start", "battery")

    assert before_start.state.lists[0].items[0].marks[0].text == "ON"


def test_a_proposal_sent_twice_counts_once(before_start):
    deed = Answered(at("before_start", "battery"))
    first = before_start.tries(deed, identity="tap")
    again = before_start.tries(deed, identity="tap")

    assert isinstance(first, Event)
    assert again == Already("This was done before")
    assert len(before_start.events) == 3


def test_an_answer_for_an_item_that_has_moved_on_moves_nothing_else(before_start):
    before_start.answers("before_start", "battery")

    assert before_start.tries(Answered(at("before_start", "battery"))) == Already(
        "Front seat has answered: Battery"
    )
    assert before_start.turns() == [("harness", ("front", "rear"))]


# NASA TM-2016-219421 and AC 120-71B (from memory): a hold is explicit, names who releases it, and nobody
# goes on by assuming a clearance.
@pytest.mark.parametrize(
    ("deed", "words"),
    [
        (Answered(at("taxi", "chocks")), "Hold: Chocks out. Crew chief clears it"),
        (Answered(at("taxi", "brakes")), "Hold: Chocks out. Crew chief clears it"),
        (Skipped(at("taxi", "chocks"), "in a hurry"), "Hold: Chocks out"),
        (Skipped(at("taxi", "brakes"), "in a hurry"), "Hold: Chocks out"),
        (Cleared(at("taxi", "chocks"), ""), "Say who cleared it"),
        (Cleared(at("taxi", "chocks"), "tower"), "Crew chief clears it, not Tower"),
        (Overridden(at("taxi", "chocks"), " "), "Going on without Crew chief needs a reason"),
        (Cleared(at("taxi", "brakes"), "crew_chief"), "Hold: Chocks out"),
        (Completed("taxi"), "Taxi is not complete: 1 Chocks, 2 Brakes"),
    ],
)
def test_nothing_at_or_below_an_unreleased_hold_moves(taxi, deed, words):
    assert words in taxi.refused(deed)


def test_a_hold_is_released_by_who_it_waits_for_and_keeps_who_said_so(taxi):
    cleared = taxi.does(Cleared(at("taxi", "chocks"), "crew_chief"), "rear")
    release = taxi.state.lists[-1].items[0].release

    assert (release.by, release.who, release.time) == ("crew_chief", "rear", cleared.time)
    assert taxi.turns() == [("chocks", ("front",))]
    assert isinstance(taxi.tries(Cleared(at("taxi", "chocks"), "crew_chief")), Already)


def test_a_hold_says_since_when_it_waits(taxi):
    opened = taxi.events[-1].time
    taxi.does(Noted("a fuel truck is in the way"))

    assert [one.since for one in due(taxi.state)] == [opened]


def test_a_hold_is_overridden_with_a_reason_only(taxi):
    taxi.does(Overridden(at("taxi", "chocks"), "Chief's headset is dead, thumbs up seen"))

    assert taxi.state.lists[-1].items[0].release.reason == "Chief's headset is dead, thumbs up seen"


def test_a_hold_without_an_answer_passes_when_it_is_released(taxi):
    taxi.does(Cleared(at("taxi", "chocks"), "crew_chief"))
    taxi.answers("taxi", "chocks", "brakes")
    taxi.does(Completed("taxi"))
    taxi.does(Opened("line_up"))
    taxi.does(Cleared(at("line_up", "clearance"), "tower"))

    assert taxi.turns() == [("trim", ("front",))]


def test_a_skip_needs_a_reason_and_passes_the_item(before_start):
    assert "needs a reason" in before_start.refused(Skipped(at("before_start", "battery"), "\t "))
    before_start.does(Skipped(at("before_start", "battery"), "ground power is on"))

    assert before_start.turns() == [("harness", ("front", "rear"))]


def test_texts_are_kept_as_one_printable_line_of_bounded_length(before_start):
    before_start.does(Skipped(at("before_start", "battery"), "a\nb\x1b[2J\udcff" + "c" * 1000))
    text = before_start.state.lists[0].items[0].marks[0].text

    assert text.startswith("a b [2J c")
    assert text.isprintable()
    assert len(text) <= 500


def test_only_an_item_whose_list_names_a_later_moment_can_be_put_off(before_start):
    assert "names no later moment" in before_start.refused(Deferred(at("before_start", "battery")))


@pytest.fixture
def pins_put_off(before_start):
    before_start.answers("before_start", "battery", "harness", "canopy")
    before_start.does(Deferred(at("before_start", "seat_pins")), "rear")
    return before_start


# Dismukes and Berman, NASA TM-2010-216396 (from memory): deferred items are what gets forgotten, so one
# stays in sight and keeps its list from being complete.
def test_a_deferred_item_stays_in_sight_and_keeps_its_list_incomplete(pins_put_off):
    (row,) = outstanding(pins_put_off.state)

    assert (row.item.challenge, row.item.until, row.title) == ("Seat pins", "Before line-up", "Before start")
    assert pins_put_off.refused(Completed("before_start")) == (
        "Before start is not complete: 5 Seat pins put off until Before line-up"
    )
    refusal = pins_put_off.tries(Completed("before_start"))
    assert refusal.remains == (at("before_start", "seat_pins"),)


def test_a_deferred_item_is_taken_up_before_it_is_answered(pins_put_off):
    answer = Answered(at("before_start", "seat_pins"))
    assert "Take it up again first" in pins_put_off.refused(answer, "rear")
    pins_put_off.does(TakenUp(at("before_start", "seat_pins")))
    pins_put_off.does(answer, "rear")
    pins_put_off.does(Completed("before_start"))

    assert outstanding(pins_put_off.state) == ()


def test_a_deferred_item_of_a_list_that_was_left_is_answered_from_the_next_one(pins_put_off):
    pins_put_off.does(Opened("after_start", "pins come out at the runway"))
    pins_put_off.does(TakenUp(at("before_start", "seat_pins")))

    assert ("seat_pins", ("rear",)) in pins_put_off.turns()
    pins_put_off.does(Answered(at("before_start", "seat_pins")), "rear")
    pins_put_off.does(Completed("before_start"))
    assert pins_put_off.state.lists[0].end == "complete"
    assert pins_put_off.state.current.procedure == "after_start"


# NASA CR-177549 (from memory): a list ends with a call that it is complete; the next one is not begun before.
def test_the_next_list_begins_only_after_the_completion_call_or_a_stated_reason(before_start):
    before_start.answers("before_start", "battery", "harness", "canopy", "seat_pins")

    assert "Before start is not complete" in before_start.refused(Opened("after_start"))
    before_start.does(Completed("before_start"))
    assert next_list(before_start.state).id == "after_start"
    before_start.does(Opened("after_start"))


def test_lists_passed_over_are_named_and_need_one_reason(run):
    words = run.refused(Opened("line_up"))
    run.does(Opened("line_up", "engines are running already"))

    assert words.startswith("Before start, After start, Taxi are not complete")
    assert run.state.waived == ("after_start", "before_start", "taxi")
    run.does(Cleared(at("line_up", "clearance"), "tower"))
    run.answers("line_up", "trim")
    run.does(Completed("line_up"))
    run.does(Opened("before_landing"))


def test_a_list_that_was_left_goes_on_where_it_stopped(before_start):
    before_start.answers("before_start", "battery")
    before_start.does(Opened("after_start", "tower wants us out"))
    before_start.does(Opened("before_start", "back to it"))
    before_start.does(Resumed("before_start", "harness"))

    assert before_start.state.lists[0].round == 1
    assert before_start.turns() == [("harness", ("front", "rear"))]


def test_a_completed_list_begins_anew_and_a_late_answer_of_its_first_round_is_refused(run):
    for name in ("before_start", "after_start", "taxi", "line_up", "before_landing"):
        run.finishes(name)
    run.does(Opened("go_around"))
    run.answers("go_around", "power")
    run.does(Completed("go_around"))

    assert next_list(run.state).id == "before_landing"
    run.does(Opened("before_landing"))
    assert "begun again since" in run.refused(Answered(at("before_landing", "gear", 1)))
    run.does(Answered(at("before_landing", "gear", 2)))


def test_a_go_around_needs_no_reason_though_the_landing_list_is_open(run):
    for name in ("before_start", "after_start", "taxi", "line_up", "before_landing"):
        run.finishes(name)
    run.does(Opened("landing"))
    run.does(Opened("go_around"))

    assert run.state.current.procedure == "go_around"
    assert run.state.lists[-2].end == "left"


def test_the_run_is_finished_after_its_last_list(run):
    for name in ("before_start", "after_start", "taxi", "line_up", "before_landing"):
        run.finishes(name)
    assert not is_finished(run.state)
    run.finishes("landing")

    assert is_finished(run.state)


# H 15: the emergency comes over the normal list, which stops where it is.
def test_an_emergency_stops_the_list_in_hand_and_keeps_the_place(before_start):
    before_start.answers("before_start", "battery")
    called = before_start.does(Interrupted("engine_fire"), "rear")

    assert called.deed.at == "harness"
    assert before_start.turns() == [("throttle", ("front",))]
    assert "stopped: Engine fire comes first" in before_start.refused(Answered(at("before_start", "harness")))
    assert "Engine fire is open" in before_start.refused(Opened("after_start"))


# CAP 676 (from memory): an abnormal list may itself be interrupted by a worse one.
def test_a_worse_one_interrupts_an_emergency_and_a_milder_one_does_not(before_start):
    before_start.does(Interrupted("engine_fire"))
    assert before_start.refused(Interrupted("electrical_fault")) == (
        "Engine fire is worse than Electrical fault and comes first"
    )
    before_start.does(Interrupted("leave_aircraft"))

    assert before_start.turns() == [("handle", ("front", "rear"))]


# Dismukes and Berman (from memory): after an interruption crews go on later than they stopped. So the crew is
# asked, and the place is the first item without an answer.
def test_after_an_interruption_the_crew_says_where_the_list_goes_on(before_start):
    before_start.answers("before_start", "battery", "harness")
    before_start.does(Interrupted("engine_fire"))
    before_start.answers("engine_fire", "throttle", "fire_handle", "crew")
    before_start.does(Completed("engine_fire"))
    current = before_start.state.current

    assert (current.procedure, current.asks_where) == ("before_start", True)
    assert before_start.turns() == []
    assert re_read(before_start.state, current) == (0, 1)
    assert "say first where" in before_start.refused(Answered(at("before_start", "canopy")))
    assert "not answered yet" in before_start.refused(Resumed("before_start", "seat_pins"))
    before_start.does(Resumed("before_start", "canopy"))
    assert before_start.turns() == [("canopy", ("front", "rear"))]


def test_going_on_earlier_asks_everything_from_there_again(before_start):
    before_start.answers("before_start", "battery", "harness")
    before_start.does(Interrupted("engine_fire"))
    before_start.does(Ended("engine_fire", "false alarm"))
    before_start.does(Resumed("before_start", "battery"))

    assert before_start.turns() == [("battery", ("front",))]
    before_start.answers("before_start", "battery")
    assert before_start.turns() == [("harness", ("front", "rear"))]


def test_a_list_is_broken_off_with_a_reason_only(before_start):
    before_start.does(Interrupted("engine_fire"))

    assert "needs a reason" in before_start.refused(Ended("engine_fire", ""))
    assert "Engine fire is not complete: 1 Throttle" in before_start.refused(Completed("engine_fire"))


def test_a_list_may_lead_to_the_end_of_the_sortie(before_start):
    before_start.does(Interrupted("leave_aircraft"))
    before_start.answers("leave_aircraft", "handle")
    before_start.does(Completed("leave_aircraft"))

    assert is_finished(before_start.state)
    assert next_list(before_start.state) is None
    assert before_start.state.lists[0].end == "left"


def test_a_list_may_lead_to_another_one(before_start):
    before_start.does(Interrupted("one_engine"))
    before_start.answers("one_engine", "burner")
    before_start.does(Completed("one_engine"))

    assert before_start.state.current.procedure == "before_landing"
    assert before_start.state.lists[0].end == "left"


def test_the_answer_that_is_not_wanted_opens_the_branch_and_the_item_is_asked_again(before_start):
    before_start.does(Answered(at("before_start", "battery"), "no volts", wanted=False))
    assert before_start.turns() == [("generator", ("front",))]
    before_start.answers("electrical_fault", "generator")
    before_start.does(Completed("electrical_fault"))
    before_start.does(Resumed("before_start", "battery"))

    assert before_start.turns() == [("battery", ("front",))]
    assert before_start.state.lists[0].items[0].branched.text == "no volts"


def test_an_item_without_a_branch_cannot_be_answered_no(before_start):
    before_start.answers("before_start", "battery")

    assert "say what you see instead" in before_start.refused(
        Answered(at("before_start", "harness"), wanted=False)
    )


def test_a_disagreement_opens_the_item_again_for_all_its_seats(before_start):
    before_start.answers("before_start", "battery", "harness", "canopy")
    before_start.does(Disagreed(at("before_start", "harness"), "light is out"), "rear")

    assert before_start.turns() == [("harness", ("front", "rear"))]
    before_start.answers("before_start", "harness")
    assert before_start.state.lists[0].items[1].disagreed is None
    assert before_start.turns() == [("seat_pins", ("rear",))]


def test_apart_each_seat_has_its_own_item_and_a_shared_one_waits_for_both(run):
    run.finishes("before_start")
    run.does(Opened("after_start"))

    assert run.turns() == [("radios", ("front",)), ("navigation", ("rear",))]
    run.answers("after_start", "radios", "flaps")
    assert run.turns() == [("navigation", ("rear",))]
    assert "Navigation comes first" in run.refused(Answered(at("after_start", "altimeter")))
    run.answers("after_start", "navigation", "transponder")
    assert run.turns() == [("altimeter", ("front", "rear"))]


def test_apart_a_hold_waits_for_both_seats_and_stops_both():
    chief = sample().normal[2].items[0].hold
    lists = checklists(
        [
            listing(
                "seats",
                item("a", 1),
                item("b", 2, ("rear",)),
                item("c", 3, hold=chief),
                item("d", 4, ("rear",)),
                pace="apart",
            )
        ]
    )
    run = Run(lists)
    run.does(Opened("seats"))
    run.answers("seats", "a")
    assert run.turns() == [("b", ("rear",))]
    run.answers("seats", "b")

    assert [(one.place.item, one.holding) for one in due(run.state)] == [("c", True)]
    assert "Hold" in run.refused(Answered(at("seats", "d")), "rear")


def test_resuming_apart_keeps_what_the_other_seat_has_done(run):
    run.finishes("before_start")
    run.does(Opened("after_start"))
    run.answers("after_start", "navigation", "transponder")
    run.does(Interrupted("electrical_fault"))
    run.does(Ended("electrical_fault", "light went out"))
    run.does(Resumed("after_start", "radios"))

    assert run.turns() == [("radios", ("front",))]


def test_a_seat_takes_back_its_own_last_answer(before_start):
    before_start.answers("before_start", "battery")
    last = last_undoable(before_start.state, ["front"])
    before_start.does(Undone(last.id))

    assert before_start.turns() == [("battery", ("front",))]
    assert isinstance(before_start.tries(Undone(last.id)), Already)


def test_a_seat_does_not_take_back_the_answer_of_the_other(before_start):
    before_start.answers("before_start", "battery")
    answer = before_start.events[-1]

    assert before_start.refused(Undone(answer.id), "rear") == "Front seat takes back its own"
    before_start.does(Undone(answer.id), INSTRUCTOR)


def test_what_later_events_stand_on_cannot_be_taken_back(taxi):
    cleared = taxi.does(Cleared(at("taxi", "chocks"), "crew_chief"))
    taxi.answers("taxi", "chocks")

    assert taxi.refused(Undone(cleared.id)) == (
        "Take back first what was done since: Front seat answered 1 Chocks: OUT"
    )
    opened = next(event for event in taxi.events if event.deed == Opened("after_start"))
    assert "Take back first" in taxi.refused(Undone(opened.id))


def test_what_nothing_stands_on_can_be_taken_back_later(run):
    run.finishes("before_start")
    run.does(Opened("after_start"))
    radios = run.does(Answered(at("after_start", "radios")))
    run.answers("after_start", "navigation")
    run.does(Undone(radios.id))

    assert run.turns() == [("radios", ("front",)), ("transponder", ("rear",))]


def test_the_beginning_cannot_be_taken_back(run):
    assert "cannot be taken back" in run.refused(Undone(run.events[0].id))


def test_a_seat_that_drops_out_leaves_its_items_waiting(before_start):
    before_start.does(Joined("rear"), "rear")
    before_start.answers("before_start", "battery")
    left = before_start.does(Left("rear"))
    before_start.does(Answered(at("before_start", "harness")))

    assert before_start.turns() == [("harness", ("rear",))]
    assert [(one.connected, one.since) for one in before_start.state.connections] == [(False, left.time)]
    before_start.does(Joined("rear"), "rear")
    before_start.does(Answered(at("before_start", "harness")), "rear")


@pytest.mark.parametrize(
    ("deed", "words"),
    [
        (Opened("before_strat"), 'No list is called "before_strat". Did you mean "before_start"?'),
        (Opened("arming"), "Arming does not apply today: carries('plover_bomb') is no"),
        (Opened("engine_fire"), "Engine fire is no normal list: it interrupts"),
        (Interrupted("taxi"), "Taxi is a normal list: open it"),
        (Answered(at("taxi", "chocks")), "Taxi has not been opened"),
        (
            Answered(at("before_start", "batery")),
            'Before start has no item "batery". Did you mean "battery"?',
        ),
        (Completed("taxi"), "Taxi has not been opened"),
        (Resumed("taxi", "chocks"), "Before start is open"),
        (Noted(" "), "A note needs words"),
        (Undone("nothing"), "No such event"),
        (TakenUp(at("before_start", "seat_pins")), "Seat pins is not put off"),
        (Cleared(at("before_start", "battery"), "tower"), "Battery waits for nobody"),
        (Joined("middle"), '"middle" is no seat that is occupied today'),
    ],
)
def test_what_is_not_there_is_refused_in_words(before_start, deed, words):
    assert words in before_start.refused(deed)


def test_an_empty_seat_takes_no_part():
    solo = Run(checklists([listing("start", item("battery", 1))], seats=("front",)))

    assert '"rear" is no seat that is occupied today' in solo.refused(Opened("start"), "rear")


def test_nothing_happens_before_the_run_is_started():
    state = RunState(sample())

    assert decide(state, Proposal("p", "front", Opened("before_start")), NINE) == Refusal(
        "The run has not been started"
    )


def test_events_that_the_rules_do_not_allow_change_nothing_and_are_counted(before_start):
    forged = Event("forged", 99, NINE, "rear", Answered(at("before_start", "battery")))
    after = step(before_start.state, forged)

    assert after == before_start.state
    assert after.ignored == ("forged",)
    assert fold(sample(), [*before_start.events, forged]) == before_start.state
