"""Conditions over time against rtamt, a library for monitoring signal temporal logic (D. Nickovic, BSD).

Shared formulas: comparisons, and, or, not, held as historically over a window, within as once over a window.
rtamt reads a window that reaches before the first sample as if it began there; here such a window is unknown
unless the samples in it settle it. So wherever a verdict is given it must be the library's, and once all
windows are full a verdict must be given.
"""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from rule_flights import made_flight, made_recording, pack_with_rules
from stl_library import library_says

from sortiewright.expressions import PLAIN, Vocabulary, parse_expression
from sortiewright.recording import Recording, judge, load_rules
from sortiewright.recording.rule_columns import FlightValues, SharedColumns
from sortiewright.recording.time_functions import TIME_FUNCTIONS

PERIOD = 0.1  # s
SIGNALS = ("gear_position", "flap_position", "hook_position")
VOCABULARY = Vocabulary(dict.fromkeys(SIGNALS, PLAIN), TIME_FUNCTIONS)

# A formula as (ours, theirs, periods that its windows reach back together). Signals take whole numbers and
# are compared with halves, so that no verdict hangs on a tie, where a robustness of nought says nothing.
atoms = st.builds(
    lambda name, sign, bound: (f"{name} {sign} {bound}.5", f"({name} {sign} {bound}.5)", 0),
    st.sampled_from(SIGNALS),
    st.sampled_from(["<", "<=", ">", ">="]),
    st.integers(0, 2),
)


def joined(inner):
    def both(word, one, other):
        return f"({one[0]}) {word} ({other[0]})", f"({one[1]} {word} {other[1]})", max(one[2], other[2])

    def over(names, one, periods):
        ours, theirs = names
        window = f"[0:{100 * periods}ms]"
        return f"{ours}({one[0]}, s({periods / 10}))", f"({theirs}{window}({one[1]}))", one[2] + periods

    return st.one_of(
        st.builds(lambda one: (f"not ({one[0]})", f"(not {one[1]})", one[2]), inner),
        st.builds(both, st.sampled_from(["and", "or"]), inner, inner),
        st.builds(
            over,
            st.sampled_from([("held", "historically"), ("within", "once")]),
            inner,
            st.integers(1, 7),
        ),
    )


formulas = st.recursive(atoms, joined, max_leaves=6)
signals = st.lists(st.tuples(*[st.integers(0, 3)] * 3), min_size=20, max_size=60).map(
    lambda rows: dict(zip(SIGNALS, np.array(rows, np.float64).T, strict=True))
)


def we_say(formula, columns):
    recording = made_recording(columns, rate=1 / PERIOD)
    return truths_on(recording, formula)


def truths_on(recording: Recording, formula):
    values = FlightValues(recording, made_flight(recording), {})
    return SharedColumns(values, frozenset()).truths(parse_expression(formula, VOCABULARY), True)


@settings(max_examples=60)
@given(formulas, signals)
def test_verdicts_are_those_of_the_library(formula, columns):
    ours, theirs, reach = formula
    truth, wanted = we_say(ours, columns), library_says(theirs, columns)

    assert not (truth.yes & ~wanted).any()
    assert not (truth.no & wanted).any()
    assert (truth.yes | truth.no)[reach:].all()


@settings(max_examples=40)
@given(formulas, signals, st.randoms(use_true_random=False))
def test_a_verdict_in_spite_of_missing_samples_stands_whatever_they_were(formula, columns, random):
    ours, theirs, _ = formula
    holed = {
        name: np.where([random.random() < 0.2 for _ in column], np.nan, column)
        for name, column in columns.items()
    }
    truth, wanted = we_say(ours, holed), library_says(theirs, columns)

    assert not (truth.yes & ~wanted).any()
    assert not (truth.no & wanted).any()


@settings(max_examples=30)
@given(signals, st.integers(1, 8))
def test_a_rule_that_lasts_is_broken_where_the_library_has_it_hold_so_long(
    tmp_path_factory, columns, periods
):
    text = (
        "rules:\n  made:\n    title: Made\n    advice: Do better.\n    wrong_if: gear_position > 1.5\n"
        f"    lasts: {periods / 10} s\n    merge: 0 s\n"
    )
    rules = load_rules(pack_with_rules(tmp_path_factory.mktemp("pack"), text))
    recording = made_recording(columns, rate=1 / PERIOD)
    findings, _ = judge(recording, made_flight(recording), rules)

    held = library_says(f"historically[0:{100 * periods}ms](gear_position > 1.5)", columns)
    held[:periods] = False  # before its window is full the library has it hold too
    ends = {round(finding.ends, 3) for finding in findings}
    last = held & ~np.append(held[1:], False)
    assert ends == {round(row * PERIOD, 3) for row in np.flatnonzero(last)}


# One moment and every row: the same operators by their definition, on clocks that are not even.


@settings(max_examples=80)
@given(
    st.lists(
        st.tuples(st.floats(0.01, 0.9), st.sampled_from([0.0, 1.0, np.nan]), st.booleans()),
        min_size=1,
        max_size=30,
    ),
    st.floats(0.0, 2.0),
)
def test_windows_are_those_of_the_definition_on_an_uneven_clock_with_breaks(samples, seconds):
    steps, values, broken = zip(*samples, strict=True)
    time = np.round(np.cumsum(steps), 3)
    seconds = round(seconds, 3)
    breaks = [row for row in range(1, len(time)) if broken[row] and row % 4 == 0]
    recording = made_recording({"gear_position": np.array(values)}, time=time, breaks=breaks)
    held = truths_on(recording, f"held(gear_position > 0.5, s({seconds}))")
    within = truths_on(recording, f"within(gear_position > 0.5, s({seconds}))")

    for row, now in enumerate(time):
        start = max([0, *[one for one in breaks if one <= row]])
        window = [one for one in range(start, row + 1) if time[one] >= now - seconds - 1e-6]
        whole = time[start] <= now - seconds + 1e-6
        inside = [None if np.isnan(values[one]) else values[one] > 0.5 for one in window]
        assert held.yes[row] == (whole and all(one is True for one in inside))
        assert held.no[row] == any(one is False for one in inside)
        assert within.yes[row] == any(one is True for one in inside)
        assert within.no[row] == (whole and all(one is False for one in inside))
