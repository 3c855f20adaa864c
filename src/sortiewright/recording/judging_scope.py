"""Which rows and moments of a flight a rule looks at, and why there are none."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from sortiewright.recording.judging_names import event_said, none_of, phase_said
from sortiewright.recording.judging_stretches import Rows
from sortiewright.recording.moments import Event, Flight, Phase
from sortiewright.recording.place import AlongRunway
from sortiewright.recording.recording import Recording
from sortiewright.recording.rule_columns import FlightValues, SharedColumns
from sortiewright.recording.rule_schema import Rule
from sortiewright.recording.rules import Rules, Term
from sortiewright.recording.time_functions import SLACK, Floats, Mask
from sortiewright.sortie import Plan

_EVENT_NAMED = re.compile(r"\b(?:at|since)\(\s*['\"](\w+)['\"]")


@dataclass(frozen=True)
class Stage:
    """A flight with its columns, on which rules are judged. Rows count from the flight's first."""

    flight: Flight
    rules: Rules
    values: FlightValues
    columns: SharedColumns
    time: Floats
    breaks: Rows

    def breaks_in(self, begin: int, end: int) -> Rows:
        """Return the breaks inside some rows, counted from the first of them."""
        inside = self.breaks[(self.breaks > begin) & (self.breaks < end)]
        return inside - begin

    def phases(self, names: Sequence[str]) -> Iterator[Phase]:
        """Yield the phases of these names; without names none."""
        yield from (phase for phase in self.flight.phases if phase.name in names)

    def phase_at(self, row: int) -> str:
        """Return the name of the phase of a row."""
        row += self.flight.begin
        return next((one.name for one in self.flight.phases if one.begin <= row < one.end), "unknown")

    def events(self, name: str, during: Sequence[str] = ()) -> list[Event]:
        """Return the events of a name; with phases given, those in one of them or at its edge."""
        found = [event for event in self.flight.events if event.name == name]
        if not during:
            return found
        phases = list(self.phases(during))
        begins = np.array([one.begins - SLACK for one in phases], np.float64)
        ends = np.array([one.ends + SLACK for one in phases], np.float64)
        return [event for event in found if np.any((begins <= event.time) & (event.time <= ends))]

    def missing_events(self, text: str) -> list[str]:
        """Return a reason for each event that an expression speaks of and that did not happen."""
        names = dict.fromkeys(_EVENT_NAMED.findall(text))
        return [none_of([event_said(name)]) for name in names if not self.events(name)]

    def why_unknown(self, terms: Iterable[Term]) -> str:
        """Return what is missing on this flight of all that expressions need; empty if nothing is."""
        used = list(terms)
        facts = {str(fact): fact for one in used for fact in one.expression.facts}
        reasons = [why for _, fact in sorted(facts.items()) if (why := self.values.why_missing(fact))]
        reasons += [why for one in used for why in self.missing_events(one.text)]
        return "; ".join(dict.fromkeys(reasons))

    def seconds(self, mask: Mask, begin: int, end: int) -> float:
        """Return for how long a mask over some rows is true, each sample up to the next one's time, s."""
        steps = np.diff(self.time[begin:end])
        steps[self.breaks_in(begin, end) - 1] = 0.0
        return float(steps[mask[:-1]].sum())


def stage_of(
    recording: Recording,
    flight: Flight,
    rules: Rules,
    plan: Plan | None = None,
    runway: AlongRunway | None = None,
) -> Stage:
    """Return a flight with its columns."""
    values = FlightValues(recording, flight, rules.numbers, plan, runway)
    columns = SharedColumns(values, rules.shared_texts())
    return Stage(flight, rules, values, columns, values["time"], values.breaks())


def why_no_rows(stage: Stage, during: Sequence[str], at: str, after: str) -> str:
    """Return why a rule has nothing to look at; empty if it has."""
    phases = [phase_said(one) for one in during]
    if during and not any(stage.phases(during)):
        return none_of(phases)
    for event in (at, after):
        if event and not stage.events(event):
            return none_of([event_said(event)])
    if at and not stage.events(at, during):
        return f"{event_said(at)} did not come during {' or '.join(phases)}"
    return ""


def rows_of(stage: Stage, rule: Rule) -> list[tuple[int, int]]:
    """Return the rows that a rule looks at, as the fewest runs ``begin`` to ``end`` (exclusive)."""
    found = phase_rows(stage, rule.during)
    if not rule.after:
        return found
    windows = joined(_windows(stage, rule))
    both = [
        (max(begin, start), min(end, stop))
        for begin, end in found
        for start, stop in windows
        if max(begin, start) < min(end, stop)
    ]
    return joined(both)


def phase_rows(stage: Stage, during: Sequence[str]) -> list[tuple[int, int]]:
    """Return the rows of these phases; of the whole flight where none is named."""
    if not during:
        return [(0, stage.values.rows)] if stage.values.rows else []
    begin = stage.flight.begin
    return joined([(phase.begin - begin, phase.end - begin) for phase in stage.phases(during)])


def joined(runs: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return runs of rows in order, those that touch or overlap as one; empty ones are left out."""
    whole: list[tuple[int, int]] = []
    for begin, end in sorted(run for run in runs if run[0] < run[1]):
        if whole and begin <= whole[-1][1]:
            whole[-1] = (whole[-1][0], max(whole[-1][1], end))
        else:
            whole.append((begin, end))
    return whole


def _windows(stage: Stage, rule: Rule) -> list[tuple[int, int]]:
    """Return the rows from each event on for as long as the rule's window; to the end where it has none."""
    moments = np.array([event.time for event in stage.events(rule.after)], np.float64)
    begins = np.searchsorted(stage.time, moments - SLACK)
    if rule.window is None:
        return [(int(begin), stage.values.rows) for begin in begins]
    ends = np.searchsorted(stage.time, moments + rule.window + SLACK, side="right")
    return [(int(begin), int(end)) for begin, end in zip(begins, ends, strict=True)]
