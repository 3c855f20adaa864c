"""What is wrong with rules that their schema cannot see, and the checked rule where nothing is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import get_args

from sortiewright.expressions import (
    PLAIN,
    TRUTH,
    Expression,
    ExpressionError,
    NumberType,
    Type,
    Vocabulary,
    parse_expression,
)
from sortiewright.pack import Document, Pack, Problem, Source, choice_hint, shown
from sortiewright.recording.moments import EventName, PhaseName
from sortiewright.recording.rule_names import hint_for_name
from sortiewright.recording.rule_schema import Levels, Measurement, Rule, Severity
from sortiewright.recording.rules import (
    CheckedMeasurement,
    CheckedRule,
    Side,
    Term,
    levels_given,
    term,
)
from sortiewright.sortie import Kind, figure_kinds, figure_unit

PHASES, EVENTS = get_args(PhaseName), get_args(EventName)
TEMPERATURE = NumberType("K")
KeyPath = tuple[str | int, ...]


class RuleChecks:
    """One file of rules held against the pack; ``problems`` collects what is wrong."""

    def __init__(
        self, pack: Pack, vocabulary: Vocabulary, document: Document, sources: Mapping[str, Source]
    ) -> None:
        self.pack = pack
        self.vocabulary = vocabulary
        self.document = document
        self.sources = sources
        self.problems: list[Problem] = []

    def rule(self, name: str, rule: Rule) -> CheckedRule | None:
        """Return a rule with its expressions, or None if anything is wrong with it."""
        path: KeyPath = ("rules", name)
        before = len(self.problems)
        self._texts(path, {"title": rule.title, "advice": rule.advice})
        self._moments(path, rule)
        self._form(path, rule)
        when = self._term((*path, "when"), rule.when, TRUTH)
        wrong_if = self._term((*path, "wrong_if"), rule.wrong_if, TRUTH)
        value = self._number((*path, "value"), rule.value)
        levels: dict[Side, dict[Severity, Term]] = {}
        if rule.above is not None:
            levels["above"] = self._levels((*path, "above"), rule.above, value)
        if rule.below is not None:
            levels["below"] = self._levels((*path, "below"), rule.below, value)
        if len(self.problems) > before:
            return None
        unit = value.expression.type.unit if value and isinstance(value.expression.type, NumberType) else ""
        return CheckedRule(
            name, rule, when, wrong_if, value, levels, unit, self._source(path), self._place(path)
        )

    def measurement(self, name: str, measurement: Measurement) -> CheckedMeasurement | None:
        """Return a measurement with its expression, or None if anything is wrong with it."""
        path: KeyPath = ("measurements", name)
        before = len(self.problems)
        self._texts(path, {"title": measurement.title, "value": measurement.value})
        self._known((*path, "during"), measurement.during, PHASES, "phases")
        self._known((*path, "at"), [measurement.at] if measurement.at else [], EVENTS, "events")
        if measurement.at and "take" in measurement.model_fields_set:
            self._fault((*path, "take"), shown(measurement.take), "has no meaning at one moment")
        if not measurement.at and measurement.take == "duration":
            value = self._term((*path, "value"), measurement.value, TRUTH)
        else:
            value = self._number((*path, "value"), measurement.value)
        when = self._term((*path, "when"), measurement.when, TRUTH)
        self._kind(path, measurement, value)
        if len(self.problems) > before or value is None:
            return None
        return CheckedMeasurement(name, measurement, value, when, self._source(path), self._place(path))

    def _fault(self, path: KeyPath, read: str, expected: str, hint: str = "") -> None:
        self.problems.append(self.document.problem(path, read, expected, hint))

    def _place(self, path: KeyPath) -> str:
        return f"{self.document.name}:{self.document.line(path)}"

    def _source(self, path: KeyPath) -> str:
        found = self.sources.get(".".join(str(part) for part in path))
        return found.text if found else ""

    def _texts(self, path: KeyPath, texts: Mapping[str, str]) -> None:
        for key, text in texts.items():
            if not text.strip():
                self._fault((*path, key), "", "is empty")

    def _known(self, path: KeyPath, words: Iterable[str], choices: Iterable[str], what: str) -> None:
        names = list(choices)
        for word in words:
            if word not in names:
                self._fault(path, shown(word), f"is none of the {what}", choice_hint(word, names, what))

    def _moments(self, path: KeyPath, rule: Rule) -> None:
        """Note what is wrong with where in a flight a rule is judged."""
        self._known((*path, "during"), rule.during, PHASES, "phases")
        for key, event in (("at", rule.at), ("after", rule.after)):
            self._known((*path, key), [event] if event else [], EVENTS, "events")
        if rule.at and rule.after:
            self._fault((*path, "after"), shown(rule.after), "stands beside at: one of them is wanted")
        if rule.window is not None and not rule.after:
            self._fault((*path, "window"), "", "needs an event to begin at", "Write after: lift_off")
        if rule.at and rule.lasts:
            hint = "Write after and window, or during"
            self._fault((*path, "lasts"), f"{rule.lasts:g} s", "cannot pass at one moment", hint)

    def _form(self, path: KeyPath, rule: Rule) -> None:
        """Note what is wrong with the form: wrong_if with severity, or value with above or below."""
        hint = "Write wrong_if with severity, or value with above or below"
        if bool(rule.wrong_if) == bool(rule.value):
            said = "has both wrong_if and value" if rule.value else "says nothing that is wrong"
            self._fault(path, "", said, hint)
            return
        sides = [side for side in ("above", "below") if getattr(rule, side) is not None]
        if rule.value and not sides:
            self._fault((*path, "value"), "", "needs above or below beside it", hint)
        if rule.wrong_if and sides:
            self._fault((*path, sides[0]), "", "needs value beside it, not wrong_if", hint)
        if rule.value and "severity" in rule.model_fields_set:
            self._fault((*path, "severity"), shown(rule.severity), "is said by the level that is passed")

    def _levels(self, path: KeyPath, levels: Levels, value: Term | None) -> dict[Severity, Term]:
        given = levels_given(levels)
        if not given:
            self._fault(path, "", "holds no level", "Write low, medium or high")
        wanted = value.expression.type if value is not None else None
        found: dict[Severity, Term] = {}
        for severity, text in given.items():
            if (limit := self._limit((*path, severity), text, wanted)) is not None:
                found[severity] = limit
        return found

    def _limit(self, path: KeyPath, text: str, wanted: Type | None) -> Term | None:
        """Return a limit, of the kind of its value; a bare 0 is of any but a temperature."""
        is_zero = text.strip() in ("0", "0.0") and wanted != TEMPERATURE
        return self._term(path, text, PLAIN if is_zero else wanted)

    def _number(self, path: KeyPath, text: str) -> Term | None:
        found = self._term(path, text, None)
        if found is not None and not isinstance(found.expression.type, NumberType):
            self._fault(path, shown(text), f"is {found.expression.type}, a number is wanted")
            return None
        return found

    def _term(self, path: KeyPath, text: str, wanted: Type | None) -> Term | None:
        if not text:
            return None
        try:
            expression: Expression = parse_expression(text, self.vocabulary, wanted)
        except ExpressionError as error:
            for fault in error.faults:
                is_part = len(error.text) > fault.end - fault.start
                where = f"{fault.read} (character {fault.start + 1})" if is_part else fault.read
                name = error.text[fault.start : fault.end]
                self._fault(path, where, fault.expected, hint_for_name(self.pack, name, fault.hint))
            return None
        return term(expression)

    def _kind(self, path: KeyPath, measurement: Measurement, value: Term | None) -> None:
        """Note a kind that does not fit the value, and a planned figure of another kind."""
        kinds = [kind.value for kind in Kind]
        if measurement.kind not in kinds:
            hint = choice_hint(measurement.kind, kinds, "kinds")
            self._fault((*path, "kind"), shown(measurement.kind), "is none of the kinds", hint)
            return
        kind = Kind(measurement.kind)
        of = NumberType("s") if value and value.expression.type == TRUTH else value and value.expression.type
        # A course is shown, and read from the channels whose names end in _deg, in degrees.
        unit = "" if kind == Kind.COURSE else figure_unit("", kind)
        if of is not None and of != NumberType(unit):
            self._fault((*path, "kind"), shown(measurement.kind), f"does not show what value is: {of}")
        figures = figure_kinds(self.pack)
        if measurement.planned:
            self._known((*path, "planned"), [measurement.planned], figures, "figures of a plan")
            planned = figures.get(measurement.planned)
            if planned is not None and figure_unit("", planned) != figure_unit("", kind):
                expected = f"is of the kind {planned.value}, this is a {kind.value}"
                self._fault((*path, "planned"), shown(measurement.planned), expected)
