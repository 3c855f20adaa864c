"""Conditions on the sortie as the proof sees them: which cases there are, and what each makes of a ``when``.

A fact of the sortie has endlessly many values; a condition only asks which side of its constants it lies on.
So each fact is cut into regions within which no condition of the pack changes, and one value of each region
stands for all of it.
"""

from __future__ import annotations

import ast
import math
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import pairwise, product
from typing import Any, NamedTuple, TypeAlias, cast

from sortiewright.expressions import (
    ChoiceType,
    Expression,
    NumberType,
    TruthType,
    Vocabulary,
    parse_expression,
)

FactKey: TypeAlias = str | tuple[str, ...]
"""A name, or a function and its constant arguments."""
MAY_BE_MISSING = frozenset({"at_night"})
NEVER_MISSING = frozenset({"external_fuel"})
"""Beside these, numbers may be missing: most hang on weather. Load, seats and choices never are."""


class Region(NamedTuple):
    """Some values of a fact that no condition tells apart: one of them, and words for all."""

    value: bool | str | float | None
    words: str


@dataclass(frozen=True, slots=True)
class Fact:
    """Something true of the sortie, in regions. ``free``: the truth of a text that is not taken apart."""

    key: FactKey
    regions: tuple[Region, ...]
    free: bool = False


@dataclass(frozen=True, slots=True)
class Leaf:
    """A comparison or a truth: what it is for each combination of regions of ``facts``; None for unknown."""

    facts: tuple[int, ...]
    truths: Mapping[tuple[int, ...], bool | None]
    text: str


@dataclass(frozen=True, slots=True)
class Every:
    """All of these; with none, always."""

    parts: tuple[Condition, ...] = ()


@dataclass(frozen=True, slots=True)
class Either:
    """At least one of these."""

    parts: tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class Not:
    """The contrary."""

    part: Condition


@dataclass(frozen=True, slots=True)
class Denied:
    """Known not to be so: unlike ``Not``, untrue where it is not known."""

    part: Condition


Condition: TypeAlias = Leaf | Every | Either | Not | Denied
ALWAYS = Every()


@dataclass(frozen=True)
class Conditions:
    """Every condition of a pack on the sortie, by its text, over facts that they share."""

    facts: tuple[Fact, ...]
    by_text: Mapping[str, Condition]
    index: Mapping[FactKey, int]

    def truth_of(self, key: FactKey) -> Condition:
        """Return the condition that a fact is true; the fact must be known."""
        place = self.index[key]
        truths = {(k,): cast("bool | None", one.value) for k, one in enumerate(self.facts[place].regions)}
        return Leaf((place,), truths, fact_text(key))


def read_conditions(
    texts: Iterable[str],
    vocabulary: Vocabulary,
    *,
    truths: Iterable[FactKey] = (),
    unknowns: bool = False,
) -> Conditions:
    """Return the conditions of all texts, which must be sound, with the facts they read.

    ``truths`` are facts to know beside those that texts read. ``unknowns``: every fact that can be missing
    may be; without it only those that some text asks ``known(...)`` about.
    """
    wanted = [text for text in dict.fromkeys(texts) if text.strip()]
    reading = _Reading(vocabulary, unknowns)
    trees = {text: reading.tree(text) for text in wanted}
    for key in truths:
        reading.note(key, TruthType())
    facts = tuple(reading.facts())
    index = {fact.key: place for place, fact in enumerate(facts)}
    by_text = {text: _settled(tree, facts, index) for text, tree in trees.items()}
    return Conditions(facts, {"": ALWAYS, **by_text}, index)


def facts_of(condition: Condition) -> frozenset[int]:
    """Return the facts that a condition reads."""
    return frozenset(fact for leaf in leaves_of(condition) for fact in leaf.facts)


def leaves_of(condition: Condition) -> Iterator[Leaf]:
    """Yield every comparison and truth that a condition is made of."""
    match condition:
        case Leaf():
            yield condition
        case Not(part) | Denied(part):
            yield from leaves_of(part)
        case Every(parts) | Either(parts):
            for part in parts:
                yield from leaves_of(part)


def fact_text(key: FactKey) -> str:
    """Return a fact as a condition writes it: ``carries('belly_tank')``."""
    if isinstance(key, str):
        return key
    name, *arguments = key
    return f"{name}({', '.join(repr(one) for one in arguments)})"


@dataclass(frozen=True, slots=True)
class _Part:
    """A leaf whose facts' regions are not yet known."""

    text: str
    expression: Expression


_Tree: TypeAlias = "_Part | Every | Either | Not"


@dataclass
class _Reading:
    """Texts being taken apart: what they compare each fact with."""

    vocabulary: Vocabulary
    unknowns: bool
    types: dict[FactKey, Any] = field(default_factory=dict[FactKey, Any])
    constants: dict[FactKey, dict[float, str]] = field(default_factory=dict[FactKey, dict[float, str]])
    free: dict[str, str] = field(default_factory=dict[str, str])
    asked: set[FactKey] = field(default_factory=set[FactKey])

    def note(self, key: FactKey, kind: Any) -> None:
        """Remember a fact and its type."""
        self.types.setdefault(key, kind)

    def tree(self, text: str) -> Any:
        """Return the structure of a text over its comparisons and truths."""
        return self._tree(ast.parse(text.strip(), mode="eval").body)

    def _tree(self, node: ast.expr) -> Any:
        match node:
            case ast.BoolOp(op=ast.And(), values=values):
                return Every(tuple(self._tree(one) for one in values))
            case ast.BoolOp(values=values):
                return Either(tuple(self._tree(one) for one in values))
            case ast.UnaryOp(op=ast.Not(), operand=operand):
                return Not(self._tree(operand))
            case ast.Compare(left=left, ops=ops, comparators=others) if len(ops) > 1:
                sides = [left, *others]
                links = zip(sides, ops, sides[1:], strict=False)
                return Every(tuple(self._tree(ast.Compare(a, [op], [b])) for a, op, b in links))
            case _:
                return self._part(node)

    def _part(self, node: ast.expr) -> _Part:
        text = ast.unparse(node)
        expression = parse_expression(text, self.vocabulary)
        keys = sorted(expression.facts, key=fact_text)
        kinds = {key: self._type_of(key) for key in keys}
        atom = expression.atoms[0] if len(expression.atoms) == 1 else None
        is_simple = atom is not None and atom.fact is not None
        if any(isinstance(kind, NumberType) for kind in kinds.values()) and not is_simple:
            self.free[text] = text
            return _Part(text, expression)
        for key in keys:
            self.note(key, kinds[key])
        if atom is not None and atom.fact is not None:
            if atom.operator == "known":
                self.asked.add(atom.fact)
            elif isinstance(atom.constant, float):
                self.constants.setdefault(atom.fact, {}).setdefault(atom.constant, _constant_words(text))
        return _Part(text, expression)

    def _type_of(self, key: FactKey) -> Any:
        return self.vocabulary.names[key] if isinstance(key, str) else TruthType()

    def facts(self) -> Iterator[Fact]:
        """Yield every fact with its regions."""
        for key, kind in self.types.items():
            yield Fact(key, tuple(self._regions(key, kind)))
        for text in self.free:
            yield Fact(text, (Region(True, f"{text} is so"), Region(False, f"{text} is not so")), free=True)

    def _regions(self, key: FactKey, kind: Any) -> Iterator[Region]:
        match kind:
            case ChoiceType(words=words):
                for word in words:
                    yield Region(word, f"{_plain(key)} is {word}")
            case NumberType():
                yield from _number_regions(_plain(key), sorted(self.constants.get(key, {}).items()))
            case _:
                yield Region(True, _said(key, True))
                yield Region(False, _said(key, False))
        may_be_missing = isinstance(kind, NumberType) or key in MAY_BE_MISSING
        if (key in self.asked or self.unknowns) and may_be_missing and key not in NEVER_MISSING:
            yield Region(None, f"{_plain(key)} is not known")


def _settled(tree: Any, facts: tuple[Fact, ...], index: Mapping[FactKey, int]) -> Condition:
    match tree:
        case Every(parts):
            return Every(tuple(_settled(one, facts, index) for one in parts))
        case Either(parts):
            return Either(tuple(_settled(one, facts, index) for one in parts))
        case Not(part):
            return Not(_settled(part, facts, index))
        case _:
            return _leaf(tree, facts, index)


def _leaf(part: _Part, facts: tuple[Fact, ...], index: Mapping[FactKey, int]) -> Leaf:
    keys = (part.text,) if part.text in index else sorted(part.expression.facts, key=fact_text)
    places = tuple(index[key] for key in keys)
    if keys == (part.text,) and facts[places[0]].free:
        return Leaf(places, {(0,): True, (1,): False}, part.text)
    truths: dict[tuple[int, ...], bool | None] = {}
    for chosen in product(*(range(len(facts[place].regions)) for place in places)):
        values = {
            key: facts[place].regions[k].value for key, place, k in zip(keys, places, chosen, strict=True)
        }
        truths[chosen] = part.expression.truth(values)
    return Leaf(places, truths, part.text)


def _constant_words(text: str) -> str:
    """Return the constant of a comparison as people write it: ``15 kt``."""
    if quantity := re.search(r"\b([A-Za-z]\w*)\((-?[\d.]+)\)", text):
        return f"{quantity[2]} {quantity[1].replace('_per_', '/')}"
    number = re.search(r"(?<![\w.])-?\d[\d.e+-]*", text)
    return number[0] if number else text


def _number_regions(name: str, constants: list[tuple[float, str]]) -> Iterator[Region]:
    """Yield below the least constant, at it, between it and the next, and so on."""
    if not constants:
        yield Region(1.0, f"any {name}")
        return
    (least, words), (greatest, last) = constants[0], constants[-1]
    yield Region(least - max(1.0, abs(least)), f"{name} below {words}")
    for (value, text), (following, other) in pairwise(constants):
        yield Region(value, f"{name} exactly {text}")
        between = 0.5 * (value + following)
        if value < between < following:
            yield Region(between, f"{name} between {text} and {other}")
    yield Region(greatest, f"{name} exactly {last}")
    above = greatest + max(1.0, abs(greatest))
    if math.isfinite(above):
        yield Region(above, f"{name} above {last}")


def _plain(key: FactKey) -> str:
    return key.replace("_", " ") if isinstance(key, str) else fact_text(key)


def _said(key: FactKey, value: bool) -> str:
    no = "" if value else "not "
    match key:
        case ("carries", store):
            return f"{store} is {no}carried"
        case ("carries_at", station, store):
            return f"{store} is {no}carried at {station}"
        case ("loaded", station):
            return f"something is carried at {station}" if value else f"nothing is carried at {station}"
        case ("occupied", seat):
            return f"the {seat} seat is {'occupied' if value else 'empty'}"
        case str():
            return f"{no}{key.replace('_', ' ')}"
        case _:
            return f"{fact_text(key)} is {'so' if value else 'not so'}"
