"""Laws of the fold, searched for counter-examples with random crews.

``SORTIEWRIGHT_FULL=1`` searches twenty-five times as many.
"""

import os
from datetime import UTC, datetime, timedelta

import pytest
from crew_lists import BOTH, checklists, item, listing, sample
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

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
    event_from_text,
    event_to_text,
)
from sortiewright.procedures.run_calls import call_outs
from sortiewright.procedures.run_fold import decide, fold, last_undoable, step
from sortiewright.procedures.run_state import (
    RunState,
    due,
    first_open,
    is_done,
    next_list,
    outstanding,
    ready,
)

NINE = datetime(2026, 5, 14, 9, 0, tzinfo=UTC)
LISTS = sample()
EVERY = (*LISTS.normal, *LISTS.others)
PLACES = [Place(one.id, each.id, 1) for one in EVERY for each in one.items]
SEATS = st.sampled_from(["front", "rear", INSTRUCTOR])
WORDS = st.sampled_from(["", "because", "crew_chief", "tower"])
LIST_IDS = st.sampled_from([one.id for one in EVERY])


MANY = settings(
    max_examples=1000 if os.environ.get("SORTIEWRIGHT_FULL") else 40,
    suppress_health_check=[HealthCheck.too_slow],
)


def started(lists=LISTS):
    return Event("start", 1, NINE, INSTRUCTOR, Started("digest", "Thistle 21"))


@st.composite
def blind_deed(draw):
    """Anything, sensible or not."""
    place = draw(st.sampled_from(PLACES) | st.builds(Place, LIST_IDS, st.text(max_size=3), st.integers(0, 3)))
    words, name = draw(WORDS), draw(LIST_IDS | st.text(max_size=3))
    return draw(
        st.sampled_from(
            [
                Answered(place, words, draw(st.booleans())),
                Disagreed(place, words),
                Skipped(place, words),
                Deferred(place),
                TakenUp(place),
                Cleared(place, words),
                Overridden(place, words),
                Opened(name, words),
                Interrupted(name),
                Resumed(name, place.item),
                Ended(name, words),
                Completed(name),
                Joined("front"),
                Left("rear"),
                Noted(words),
                Started("digest", words),
            ]
        )
    )


def progress(state):
    """Return deeds with which a crew gets on."""
    current, following = state.current, next_list(state)
    if current is None:
        return [(Opened(following.id), "front")] if following else [(Opened("before_start"), "front")]
    if current.asks_where:
        at = first_open(state, current)
        name = ready(state, current).items[at].id if at is not None else ""
        return [(Resumed(current.procedure, name), "front")]
    deeds = []
    for turn in due(state):
        if turn.holding:
            deeds.append((Cleared(turn.place, turn.item.hold.cleared_by), "front"))
        deeds += [(Answered(turn.place), seat) for seat in turn.seats if not turn.holding]
        deeds += [(Deferred(turn.place), turn.seats[0])] if turn.item.until else []
    deeds += [(TakenUp(one.place), "rear") for one in outstanding(state) if not one.taken_up]
    return deeds or [(Completed(current.procedure), "front")]


def trouble(state):
    """Return deeds that get in the way of a crew."""
    deeds = [(Interrupted(one.id), "front") for one in LISTS.others]
    deeds += [(Opened(one.id, "in a hurry"), "rear") for one in LISTS.normal]
    if (current := state.current) is not None:
        items = ready(state, current).items
        deeds += [(Ended(current.procedure, "enough"), "rear")]
        deeds += [(Resumed(current.procedure, each.id), "front") for each in items]
        deeds += [
            (Disagreed(Place(current.procedure, each.id, current.round), "no"), "rear") for each in items
        ]
    for turn in due(state):
        seat = turn.seats[0] if turn.seats else "front"
        deeds += [(Answered(turn.place, "", False), seat), (Skipped(turn.place, "stuck"), seat)]
        deeds += [(Overridden(turn.place, "no radio"), seat)]
    return deeds


@st.composite
def histories(draw, length=60, smooth=False):
    """Return events of a random crew: mostly getting on, sometimes in trouble, blind, or taking back."""
    state, events = step(RunState(LISTS), started()), [started()]
    for number in range(draw(st.sampled_from([1, length // 4, length // 2, length]))):
        way = 9 if smooth else draw(st.integers(0, 9))
        if way == 0 and len(state.history) > 1:
            target = draw(st.sampled_from(state.history))
            deed, actor = Undone(target.id), target.actor
        elif way == 1:
            deed, actor = draw(blind_deed()), draw(SEATS)
        else:
            deed, actor = draw(st.sampled_from(trouble(state) if way == 2 else progress(state)))
        time = NINE + timedelta(seconds=number)
        outcome = decide(state, Proposal(f"p{number}", actor, deed), time)
        if isinstance(outcome, Event):
            before, state = state, step(state, outcome)
            events.append(outcome)
            assert all(one.text for one in call_outs(before, state))
    return events


@MANY
@given(histories(), st.integers(0, 60))
def test_step_by_step_equals_the_fold(events, cut):
    state = RunState(LISTS)
    for count, event in enumerate(events, start=1):
        state = step(state, event)
        if count in (cut, len(events)):
            assert state == fold(LISTS, events[:count])

    assert state.ignored == ()
    assert state.seq == len(events)


@MANY
@given(histories())
def test_every_event_comes_back_from_its_text(events):
    assert [event_from_text(event_to_text(event)) for event in events] == events


@MANY
@given(histories(), st.randoms(use_true_random=False))
def test_an_event_taken_back_leaves_the_state_of_a_run_without_it(events, chance):
    state = fold(LISTS, events)
    target = chance.choice(state.history)
    outcome = decide(state, Proposal("undo", INSTRUCTOR, Undone(target.id)), NINE)

    if isinstance(outcome, Event):
        undone = fold(LISTS, [*events, outcome])
        assert undone == fold(LISTS, [event for event in state.history if event.id != target.id])
        without = fold(LISTS, [event for event in events if event.id != target.id])
        # Without it, a later event that was itself taken back may not have been allowed at its time.
        assert without.ignored or undone == without


@MANY
@given(histories())
def test_the_last_event_of_all_can_be_taken_back(events):
    state = fold(LISTS, events)
    last = next(
        (event for event in reversed(state.history) if not isinstance(event.deed, Joined | Left)), None
    )

    if last is not None and not isinstance(last.deed, Started):
        assert last_undoable(state, [last.actor]) == last
        undone = decide(state, Proposal("undo", last.actor, Undone(last.id)), NINE)
        kept = [event for event in state.history if event.id != last.id]
        assert step(state, undone) == fold(LISTS, kept)


@MANY
@given(st.lists(st.tuples(blind_deed(), SEATS | st.text(max_size=4)), max_size=60))
def test_blind_proposals_never_raise(proposals):
    state = step(RunState(LISTS), started())
    for number, (deed, actor) in enumerate(proposals):
        outcome = decide(state, Proposal(f"p{number}", actor, deed), NINE)
        if isinstance(outcome, Event):
            state = step(state, outcome)


@MANY
@given(
    st.lists(
        st.builds(Event, st.text(max_size=2), st.integers(), st.just(NINE), SEATS, blind_deed()), max_size=30
    )
)
def test_events_that_no_run_wrote_never_raise(events):
    fold(LISTS, [started(), *events])


def apart(front, rear):
    """Return one list in which each seat has items of its own, and a shared one ends it."""
    own = [item(f"front_{n}", n + 1) for n in range(front)] + [
        item(f"rear_{n}", 10 + n, ("rear",)) for n in range(rear)
    ]
    return checklists([listing("seats", *own, item("together", 20, BOTH), pace="apart")])


@MANY
@given(st.integers(1, 4), st.integers(1, 4), st.randoms(use_true_random=False))
def test_any_interleaving_of_two_seats_over_their_own_items_gives_one_state(front, rear, chance):
    lists = apart(front, rear)
    queues = {
        "front": [Answered(Place("seats", f"front_{n}")) for n in range(front)],
        "rear": [Answered(Place("seats", f"rear_{n}")) for n in range(rear)],
    }

    def run(pick):
        state = step(RunState(lists), started(lists))
        state = step(state, decide(state, Proposal("open", "front", Opened("seats")), NINE))
        left = {seat: list(queue) for seat, queue in queues.items()}
        while seats := [seat for seat, queue in left.items() if queue]:
            seat = pick(seats)
            deed = left[seat].pop(0)
            outcome = decide(state, Proposal(f"{seat}{len(left[seat])}", seat, deed), NINE)
            assert isinstance(outcome, Event), outcome
            state = step(state, outcome)
        return state

    one_after_the_other = run(lambda seats: seats[0])
    assert run(chance.choice) == one_after_the_other
    assert [turn.seats for turn in due(one_after_the_other)] == [BOTH]


# A second road to the same rules, from the events alone: walk the log and look back.
@MANY
@given(histories(smooth=True))
def test_no_log_has_an_answer_below_an_open_hold_or_before_an_earlier_item(events):
    history = fold(LISTS, events).history
    for number, event in enumerate(history):
        if not isinstance(event.deed, Answered | Skipped):
            continue
        if event.deed.place.round > 1:
            break
        earlier = history[:number]
        procedure = LISTS.by_id[event.deed.place.procedure]
        for other in procedure.items[: [each.id for each in procedure.items].index(event.deed.place.item)]:
            assert procedure.pace == "apart" or said_on(earlier, procedure.id, other)
        this = next(each for each in procedure.items if each.id == event.deed.place.item)
        assert this.hold is None or released(earlier, procedure.id, this.id)


def released(events, procedure, name):
    return any(
        isinstance(one.deed, Cleared | Overridden) and one.deed.place == Place(procedure, name)
        for one in events
    )


def said_on(events, procedure, wanted):
    """Return whether a log has all that an item asks for."""
    who = {
        one.actor
        for one in events
        if isinstance(one.deed, Skipped) or (isinstance(one.deed, Answered) and one.deed.wanted)
        if one.deed.place == Place(procedure, wanted.id)
    }
    if any(
        isinstance(one.deed, Deferred) and one.deed.place == Place(procedure, wanted.id) for one in events
    ):
        return True
    answered = bool(who & set(wanted.seats)) if wanted.any_one else who >= set(wanted.seats)
    return answered and (wanted.hold is None or released(events, procedure, wanted.id))


@MANY
@given(histories())
def test_a_complete_list_has_every_item_done(events):
    state = fold(LISTS, events)
    for one in state.lists:
        if one.end == "complete":
            assert all(map(is_done, ready(state, one).items, one.items))


@pytest.mark.parametrize(
    "text",
    [
        "",
        "null",
        "[]",
        "{}",
        '{"kind":"flown"}',
        '{"id":"a","seq":1,"time":"now","actor":"front","kind":"noted","text":"x"}',
        '{"id":"a","seq":1,"time":"2026-05-14T09:00:00","actor":"front","kind":"noted","text":"x"}',
        '{"id":"a","seq":"1","time":"2026-05-14T09:00:00+00:00","actor":"front","kind":"noted","text":"x"}',
        '{"id":"a","seq":1,"time":"2026-05-14T09:00:00+00:00","actor":"front","kind":"deferred","place":["a","b"]}',
        '{"id":"a","seq":1,"time":"2026-05-14T09:00:00+00:00","actor":"front","kind":"joined","seat":7}',
    ],
)
def test_text_that_is_no_event_is_refused(text):
    with pytest.raises(ValueError):  # noqa: PT011
        event_from_text(text)
