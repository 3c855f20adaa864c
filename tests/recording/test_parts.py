"""What is worked out on some rows only is what the whole flight gives there, to the last digit."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from long_flight import long_flight, many_rules
from rule_flights import made_flight, made_recording, pack_with_rules

from sortiewright.expressions import parse_expression
from sortiewright.pack import load_pack
from sortiewright.recording import judge, judging, load_rules, rule_columns, rule_vocabulary
from sortiewright.recording.rule_columns import FlightValues, SharedColumns
from sortiewright.recording.time_functions import rows_at

CHANNELS = ("pitch", "bank", "true_heading_deg", "ground_speed", "altitude", "gear_position", "roll_rate")
FORMULAS = (
    "held(gear_position > 0.5, s(0.7))",
    "within(held(gear_position > 0.5, s(0.3)), s(1)) and not airborne",
    "rate(pitch)",
    "rate(highest(altitude, s(0.5)))",
    "change(altitude, s(1.3))",
    "highest(-lowest(pitch, s(0.5)), s(0.9))",
    "at('lift_off', highest(pitch, s(0.6)))",
    "bank - at('touchdown', min(pitch, at('lift_off', highest(bank, s(0.3)))))",
    "held(since('lift_off') > s(0.5) and at('lift_off', pitch) > deg(1), s(0.4))",
    "abs(turn_rate) + rate(bank)",
    "held(turn_rate > deg_per_s(1) or rolling, s(0.5))",
    "height_lost + m(1) * count(within(pitch > deg(2), s(0.2)), bank > 0)",
    "heading_off_run * (distance_from_brake_release / m(1))",
)


@pytest.fixture(scope="module")
def vocabulary():
    return rule_vocabulary(load_pack("dotterel").pack)


@st.composite
def flown(draw):
    """Draw a flight with an uneven clock, gaps and missing values, and some rows of it."""
    random = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    rows = draw(st.integers(12, 120))
    jitter = draw(st.sampled_from([0.0, 0.02]))
    steps = 0.1 + random.uniform(-jitter, jitter, rows)
    breaks = np.flatnonzero(random.random(rows) < draw(st.sampled_from([0.0, 0.05])))
    steps[breaks] += 1.0
    columns = {name: random.normal(0.0, 1.0, rows) for name in CHANNELS}
    columns["ground_speed"] = np.abs(columns["ground_speed"]) * 40.0
    columns["true_heading_deg"] = np.abs(columns["true_heading_deg"]) * 100.0 % 360.0
    columns["weight_on_wheels_left"] = (random.random(rows) < 0.5).astype(np.float64)
    for values in columns.values():
        values[random.random(rows) < draw(st.sampled_from([0.0, 0.1]))] = np.nan
    time = np.cumsum(steps)
    names = ("brake_release", "lift_off", "touchdown", "lift_off", "touchdown")
    moments = np.sort(random.uniform(time[0] - 0.05, time[-1], len(names)))
    recording = made_recording(columns, time=time, breaks=breaks[breaks > 0])
    flight = made_flight(recording, (), list(zip(names, moments.tolist(), strict=True)))
    begin = draw(st.integers(0, rows - 1))
    return recording, flight, begin, draw(st.integers(begin + 1, rows))


@settings(max_examples=300, deadline=None)
@given(flown(), st.sampled_from(FORMULAS))
def test_an_expression_on_some_rows_is_that_of_the_whole_flight_there(vocabulary, scene, text):
    recording, flight, begin, end = scene
    expression = parse_expression(text, vocabulary, None)

    def columns():
        return SharedColumns(FlightValues(recording, flight, {}), frozenset())

    def seen(shared):
        if expression.atoms == ():
            return [shared.numbers(expression, True)]
        truth = shared.truths(expression, True)
        return [truth.yes, truth.no]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(rule_columns, "_SHARE_OF_WHOLE", 2.0)
        part, whole = seen(columns().part(begin, end)), seen(columns())

    for one, other in zip(part, whole, strict=True):
        np.testing.assert_array_equal(one, other[begin:end])


@pytest.mark.parametrize(("hours", "block"), [(0.03, 61), (0.2, 3000)])
def test_a_long_flight_judged_block_by_block_is_judged_as_a_whole(tmp_path, monkeypatch, hours, block):
    rules = load_rules(pack_with_rules(tmp_path, many_rules()))
    recording, flight = long_flight(hours)
    findings, judged = judge(recording, flight, rules)
    monkeypatch.setattr(judging, "_BLOCK", block)
    monkeypatch.setattr(judging, "_LONG", 2 * block)

    again = judge(recording, flight, rules)

    assert findings
    assert again == (findings, judged)


@settings(deadline=None)
@given(
    st.lists(st.floats(1e-3, 10.0), min_size=1, max_size=3000),
    st.floats(-20.0, 20.0),
    st.booleans(),
)
def test_rows_at_moments_are_those_of_a_plain_search(steps, shift, after):
    time = np.cumsum(steps)
    side = "right" if after else "left"

    found = rows_at(time, time + shift, after=after)

    # NumPy's own search, which takes moments in any order.
    np.testing.assert_array_equal(found, np.searchsorted(time, time + shift, side=side))
