"""Reading an expression, and what can be asked of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sortiewright.expressions.atoms import Atom, atom_of, facts_of, joined, leaves
from sortiewright.expressions.checking import Checker
from sortiewright.expressions.errors import ExpressionError
from sortiewright.expressions.explaining import Show, reason, shown_value
from sortiewright.expressions.grammar import read_text
from sortiewright.expressions.nodes import Call, Constant, Node, Word, walk
from sortiewright.expressions.value_types import TRUTH, NumberType, Type
from sortiewright.expressions.values import Columns, Fact, Truth
from sortiewright.expressions.vocabulary import Vocabulary


@dataclass(frozen=True, slots=True)
class Expression:
    """A text that was read and checked: a condition or a number."""

    text: str
    type: Type
    names: frozenset[str]
    """Plain names that it uses."""
    facts: frozenset[Fact]
    """Names, and calls that are looked up, as the keys that values hold."""
    atoms: tuple[Atom, ...]
    """The conditions that ``and``, ``or`` and ``not`` join, in the order of the text."""
    _tree: Node = field(repr=False)

    def __str__(self) -> str:
        return self.text

    def truth(self, values: Mapping[Any, Any]) -> bool | None:
        """Return whether it is true for the values of one moment; None where that is unknown.

        ``values`` holds, by name or by ``(function, argument, ...)``, numbers in SI, booleans and words.
        What is absent, None or NaN is missing, as is a word that the choice does not have.
        """
        truth = self._evaluate(TRUTH, Columns(values))
        return True if truth.yes else False if truth.no else None

    def truths(self, columns: Mapping[Any, Any] | Columns, rows: int) -> Truth:
        """Return where it is true and where it is false, over columns of so many rows.

        Several expressions on one recording share what they read if they are given one ``Columns``. The masks
        may be views of the columns given: do not write into them.
        """
        columns = _columns(columns, rows)
        whole = columns.spread(self._evaluate(TRUTH, columns))
        assert isinstance(whole, Truth)
        return whole

    def number(self, values: Mapping[Any, Any]) -> float | None:
        """Return its value in SI for the values of one moment; None where that is unknown."""
        value = float(self._evaluate(NumberType, Columns(values)))
        return None if np.isnan(value) else value

    def numbers(self, columns: Mapping[Any, Any] | Columns, rows: int) -> NDArray[np.float64]:
        """Return its values in SI over columns of so many rows, NaN where unknown; may be a view."""
        columns = _columns(columns, rows)
        value: NDArray[np.float64] = columns.spread(self._evaluate(NumberType, columns))
        return value

    def calls(self) -> Iterator[tuple[str, tuple[float | str | None, ...]]]:
        """Yield every call that is computed: its name, and of each argument the constant it is, else None."""
        for part in walk(self._tree):
            if isinstance(part, Call):
                yield part.name, tuple(_constant(one) for one in part.arguments)

    def joined(self, truths: Sequence[bool | None]) -> bool | None:
        """Return whether it is true if its ``atoms`` are so, one truth for each in their order."""
        if len(truths) != len(self.atoms):
            raise ValueError(f"{len(truths)} truths for {len(self.atoms)} atoms")
        return joined(self._tree, truths)

    def explain(self, values: Mapping[Any, Any], show: Show = shown_value) -> str:
        """Return in words what makes it true, false or unknown for the values of one moment.

        ``show(name, value)`` words the value of a name or of a call; missing ones never come to it.
        """
        return reason(self.text, self._tree, values, show)

    def _evaluate(self, wanted: Any, columns: Columns) -> Any:
        if self.type != wanted and not (wanted is NumberType and isinstance(self.type, NumberType)):
            raise TypeError(f"{self.text!r} is {self.type}")
        with np.errstate(all="ignore"):
            return self._tree.evaluate(columns)


def _constant(node: Node) -> float | str | None:
    if isinstance(node, Word):
        return node.word
    return float(node.value) if isinstance(node, Constant) else None


def _columns(columns: Mapping[Any, Any] | Columns, rows: int) -> Columns:
    if not isinstance(columns, Columns):
        return Columns(columns, rows)
    if columns.rows != rows:
        raise ValueError(f"columns of {columns.rows} rows, {rows} are wanted")
    return columns


def parse_expression(text: str, vocabulary: Vocabulary, wanted: Type | None = TRUTH) -> Expression:
    """Return an expression of the vocabulary, which must be of the type ``wanted``; None takes any.

    Raises ``ExpressionError`` with every fault of the text.
    """
    text, tree = read_text(text)
    checker = Checker(text, vocabulary)
    node = checker.condition(tree) if wanted == TRUTH else checker.check(tree)
    if node is not None and wanted is not None and node.type != wanted:
        checker.fault(node, f"is {node.type}, {wanted} is wanted")
    if node is None or checker.faults:
        raise ExpressionError(text, checker.faults)
    facts = facts_of(node)
    names = frozenset(fact for fact in facts if isinstance(fact, str))
    atoms = tuple(atom_of(text, leaf) for leaf in leaves(node)) if node.type == TRUTH else ()
    return Expression(text, node.type, names, facts, atoms, node)
