"""The parts of an expression once its names and types are known, and what each is worth.

Every part evaluates one moment or whole columns by the same lines: see ``values``. Conditions follow the
strong three-valued logic of Kleene (Introduction to Metamathematics, 1952, section 64): a part that is
unknown leaves the whole unknown unless the other parts settle it.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import reduce
from typing import Any, Literal, TypeAlias

import numpy as np

from sortiewright.expressions.value_types import TRUTH, ChoiceType, NumberType, Type
from sortiewright.expressions.values import Apply, Choices, Columns, Fact, Mask, Truth, Value

Comparison: TypeAlias = Literal["<", "<=", ">", ">=", "==", "!="]

_COMPARE: dict[str, Callable[[Any, Any], Any]] = {
    "<": operator.lt,
    "<=": operator.le,
    ">": operator.gt,
    ">=": operator.ge,
    "==": operator.eq,
    "!=": operator.ne,
}


@dataclass(frozen=True, slots=True)
class Node:
    """One part of an expression: ``text[start:end]`` of it."""

    start: int
    end: int

    @property
    def type(self) -> Type:
        """What it is: a truth unless it says otherwise."""
        return TRUTH

    def parts(self) -> tuple[Node, ...]:
        """Return the parts that it is made of."""
        return ()

    def evaluate(self, columns: Columns) -> Value:
        """Return its value."""
        raise NotImplementedError


@dataclass(frozen=True, slots=True)
class Constant(Node):
    """A number in SI, or True or False."""

    value: float | bool
    unit: str = ""

    @property
    def type(self) -> Type:
        return TRUTH if isinstance(self.value, bool) else NumberType(self.unit)

    def evaluate(self, columns: Columns) -> Value:
        return Truth(self.value, not self.value) if isinstance(self.value, bool) else self.value


@dataclass(frozen=True, slots=True)
class Word(Node):
    """A word in quotes, as a function takes it."""

    word: str

    @property
    def type(self) -> Type:
        return ChoiceType((self.word,))

    def evaluate(self, columns: Columns) -> Value:
        return self.word


@dataclass(frozen=True, slots=True)
class Lookup(Node):
    """A name, or a call that is a fact."""

    fact: Fact
    of: Type

    @property
    def type(self) -> Type:
        return self.of

    def evaluate(self, columns: Columns) -> Value:
        return columns.value(self.fact, self.of)


@dataclass(frozen=True, slots=True)
class Call(Node):
    """A call of a function that is computed."""

    name: str
    arguments: tuple[Node, ...]
    apply: Apply
    of: Type
    reads: frozenset[str] = frozenset()

    @property
    def type(self) -> Type:
        return self.of

    def parts(self) -> tuple[Node, ...]:
        return self.arguments

    def evaluate(self, columns: Columns) -> Value:
        # A function sees columns only: one moment is columns of one row.
        whole = columns if columns.rows is not None else Columns(columns.values, 1)
        value = self.apply([whole.spread(one.evaluate(whole)) for one in self.arguments], whole)
        return value if columns.rows is not None else _first(value)


def _first(value: Value) -> Value:
    if isinstance(value, Truth):
        return Truth(bool(value.yes[0]), bool(value.no[0]))
    if isinstance(value, Choices):
        return Choices(int(value.codes[0]), value.words)
    return float(value[0])


@dataclass(frozen=True, slots=True)
class Negative(Node):
    """The negative of a number."""

    part: Node

    @property
    def type(self) -> Type:
        return self.part.type

    def parts(self) -> tuple[Node, ...]:
        return (self.part,)

    def evaluate(self, columns: Columns) -> Value:
        return -self.part.evaluate(columns)


@dataclass(frozen=True, slots=True)
class Arithmetic(Node):
    """A sum, difference, product or quotient. What is divided by zero is unknown."""

    sign: str
    left: Node
    right: Node
    unit: str

    @property
    def type(self) -> Type:
        return NumberType(self.unit)

    def parts(self) -> tuple[Node, ...]:
        return (self.left, self.right)

    def evaluate(self, columns: Columns) -> Value:
        left, right = self.left.evaluate(columns), self.right.evaluate(columns)
        match self.sign:
            case "+":
                return left + right
            case "-":
                return left - right
            case "*":
                return left * right
            case _:
                return _quotient(left, right)


def _quotient(dividend: Any, divisor: Any) -> Any:
    if isinstance(divisor, float):
        return dividend / divisor if divisor else dividend * float("nan")
    return dividend / np.where(divisor == 0, np.nan, divisor)


@dataclass(frozen=True, slots=True)
class CompareNumbers(Node):
    """Two numbers of one kind, compared."""

    sign: Comparison
    left: Node
    right: Node

    def parts(self) -> tuple[Node, ...]:
        return (self.left, self.right)

    def evaluate(self, columns: Columns) -> Value:
        left, right = self.left.evaluate(columns), self.right.evaluate(columns)
        known = (left == left) & (right == right)
        yes = _COMPARE[self.sign](left, right) & known
        return Truth(yes, known ^ yes)


@dataclass(frozen=True, slots=True)
class CompareTruths(Node):
    """Whether two conditions are both true or both false; ``same`` False: whether they are not."""

    same: bool
    left: Node
    right: Node

    def parts(self) -> tuple[Node, ...]:
        return (self.left, self.right)

    def evaluate(self, columns: Columns) -> Value:
        left, right = self.left.evaluate(columns), self.right.evaluate(columns)
        alike = (left.yes & right.yes) | (left.no & right.no)
        unlike = (left.yes & right.no) | (left.no & right.yes)
        return Truth(alike, unlike) if self.same else Truth(unlike, alike)


@dataclass(frozen=True, slots=True)
class CompareChoices(Node):
    """Whether two choices are the same word; ``same`` False: whether they are not."""

    same: bool
    left: Node
    right: Node

    def parts(self) -> tuple[Node, ...]:
        return (self.left, self.right)

    def evaluate(self, columns: Columns) -> Value:
        left, right = self.left.evaluate(columns), self.right.evaluate(columns)
        known = left.known & right.known
        shared = [word for word in left.words if word in right.words]
        alike = reduce(_any, [left.among((word,)) & right.among((word,)) for word in shared])
        return Truth(alike, known ^ alike) if self.same else Truth(known ^ alike, alike)


@dataclass(frozen=True, slots=True)
class Among(Node):
    """Whether a choice is one of some words; ``inside`` False: whether it is none of them."""

    choice: Node
    words: tuple[str, ...]
    inside: bool
    sign: Literal["==", "!=", "in", "not in"]

    def parts(self) -> tuple[Node, ...]:
        return (self.choice,)

    def evaluate(self, columns: Columns) -> Value:
        choice = self.choice.evaluate(columns)
        known = choice.known
        found = choice.among(self.words)
        return Truth(found, known ^ found) if self.inside else Truth(known ^ found, found)


@dataclass(frozen=True, slots=True)
class Every(Node):
    """Conditions joined by ``and``, and each link of a chain of comparisons."""

    conditions: tuple[Node, ...]

    def parts(self) -> tuple[Node, ...]:
        return self.conditions

    def evaluate(self, columns: Columns) -> Value:
        return every([one.evaluate(columns) for one in self.conditions])


@dataclass(frozen=True, slots=True)
class Either(Node):
    """Conditions joined by ``or``."""

    conditions: tuple[Node, ...]

    def parts(self) -> tuple[Node, ...]:
        return self.conditions

    def evaluate(self, columns: Columns) -> Value:
        return either([one.evaluate(columns) for one in self.conditions])


@dataclass(frozen=True, slots=True)
class Not(Node):
    """The contrary of a condition."""

    condition: Node

    def parts(self) -> tuple[Node, ...]:
        return (self.condition,)

    def evaluate(self, columns: Columns) -> Value:
        return contrary(self.condition.evaluate(columns))


def _both(one: Mask, other: Mask) -> Mask:
    return one & other


def _any(one: Mask, other: Mask) -> Mask:
    return one | other


def every(truths: list[Truth]) -> Truth:
    """Return the conjunction: true where all are, false where any one is."""
    return Truth(reduce(_both, [one.yes for one in truths]), reduce(_any, [one.no for one in truths]))


def either(truths: list[Truth]) -> Truth:
    """Return the disjunction: true where any one is, false where all are."""
    return Truth(reduce(_any, [one.yes for one in truths]), reduce(_both, [one.no for one in truths]))


def contrary(truth: Truth) -> Truth:
    """Return the negation; what is unknown stays so."""
    return Truth(truth.no, truth.yes)


def walk(node: Node) -> Iterator[Node]:
    """Yield a part and everything that it is made of, in the order of the text."""
    yield node
    for part in node.parts():
        yield from walk(part)
