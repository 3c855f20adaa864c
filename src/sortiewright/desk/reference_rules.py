"""What a debrief looks for with this pack, rule by rule, as the book prints it."""

from __future__ import annotations

from dataclasses import dataclass

from sortiewright.desk.reference_units import heading
from sortiewright.recording import CheckedMeasurement, CheckedRule, Rules


@dataclass(frozen=True, slots=True)
class BookRule:
    """A rule or a measurement: its title, what is looked at and when, and from where on it is told."""

    id: str
    title: str
    file: str
    facts: tuple[tuple[str, str], ...]
    """What it says, and the condition in the pack's language."""
    advice: str
    source: str
    place: str


def book_rules(rules: Rules) -> tuple[tuple[str, tuple[BookRule, ...]], ...]:
    """Return all rules by the file they stand in, then the measurements."""
    groups: dict[str, list[BookRule]] = {}
    for rule in rules.rules.values():
        made = _rule(rule)
        groups.setdefault(made.file, []).append(made)
    for measurement in rules.measurements.values():
        groups.setdefault("measured", []).append(_measurement(measurement))
    return tuple((name, tuple(found)) for name, found in groups.items())


def _rule(checked: CheckedRule) -> BookRule:
    rule = checked.rule
    facts = [
        ("During", ", ".join(heading(one).lower() for one in rule.during)),
        ("At", heading(rule.at).lower() if rule.at else ""),
        ("After", heading(rule.after).lower() if rule.after else ""),
        ("Where", rule.when),
        (f"Wrong, {rule.severity}", rule.wrong_if),
        ("Held against", rule.value),
    ]
    for side, levels in checked.levels.items():
        facts += [(f"{heading(name)} {side}", term.text) for name, term in levels.items()]
    if rule.lasts:
        facts.append(("For at least", f"{rule.lasts:g} s"))
    return BookRule(
        checked.name,
        rule.title,
        _file(checked.place),
        tuple((name, text) for name, text in facts if text),
        rule.advice,
        checked.source,
        checked.place,
    )


def _measurement(checked: CheckedMeasurement) -> BookRule:
    one = checked.measurement
    facts = (
        ("During", ", ".join(heading(name).lower() for name in one.during)),
        ("At", heading(one.at).lower() if one.at else ""),
        ("Where", one.when),
        ("Value", one.value),
        ("Taken", "" if one.at else one.take),
        ("Planned", one.planned),
    )
    return BookRule(
        f"measure-{checked.name}",
        one.title,
        "measured",
        tuple((name, text) for name, text in facts if text),
        "",
        checked.source,
        checked.place,
    )


def _file(place: str) -> str:
    return place.rpartition("/")[2].partition(".")[0]
