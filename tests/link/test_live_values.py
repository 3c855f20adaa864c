"""The latest values, how long they count, and what conditions on them say."""

import math

from sortiewright.expressions import channel_vocabulary, parse_expression
from sortiewright.link import LiveState, Watch, seen_now


def state_with(arrived=0.0, time=0.0, **values):
    state = LiveState()
    state.take(values, time, arrived)
    return state


def condition(text):
    return parse_expression(text, channel_vocabulary())


def test_value_counts_for_two_seconds_and_no_longer():
    state = state_with(arrived=10.0, pitch=0.1)

    assert state.value("pitch", 12.0) == 0.1
    assert state.value("pitch", 12.01) is None
    assert state.age("pitch", 12.5) == 2.5
    assert state.age("bank", 12.5) == math.inf
    assert state.is_live(12.0)
    assert not state.is_live(12.01)
    assert state.values(12.01) == {}


def test_message_out_of_order_does_not_undo_a_later_one():
    state = state_with(time=5.0, pitch=0.2)
    state.take({"pitch": 0.1, "bank": 0.3}, 4.9, 0.1)

    assert state.values(0.1) == {"pitch": 0.2, "bank": 0.3}


def test_value_that_the_sender_takes_back_is_missing():
    state = state_with(pitch=0.2)
    state.take({"pitch": None}, 1.0, 0.5)

    assert "pitch" not in state.values(0.5)


def test_condition_is_seen_only_on_fresh_values_and_never_on_missing_ones():
    locked = condition("canopy_locked and ground_speed < kt(1)")
    state = state_with(canopy_locked=True, ground_speed=0.2)

    assert seen_now(locked, state, 1.0) is True
    assert seen_now(locked, state, 2.1) is None
    assert seen_now(locked, state_with(canopy_locked=True), 0.0) is None
    # Three-valued: a false part settles an "and" though the other is unknown (Kleene 1952, strong logic).
    assert seen_now(locked, state_with(canopy_locked=False), 0.0) is False


def test_feed_that_is_lost_takes_every_tick_back():
    told = []
    watch = Watch(
        {"canopy": condition("canopy_locked"), "slow": condition("ground_speed < kt(1)")},
        lambda name, truth, time: told.append((time, name, truth)),
    )
    state = state_with(canopy_locked=True, ground_speed=5.0)
    for now in (0.0, 0.5, 1.0, 2.5, 3.0):
        watch.look(state, now)

    assert told == [
        (0.0, "canopy", True),
        (0.0, "slow", False),
        (2.5, "canopy", None),
        (2.5, "slow", None),
    ]
