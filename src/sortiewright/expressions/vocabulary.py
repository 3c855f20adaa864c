"""What an expression may speak of: names, functions, and the type of each."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeAlias

from sortiewright.expressions.value_types import TRUTH, Type
from sortiewright.expressions.values import Apply


@dataclass(frozen=True, slots=True)
class SameNumber:
    """As a parameter: a number of any kind, the same for all such parameters. As a result: of that kind."""

    temperatures: bool = True
    """Whether temperatures are taken: on that scale not every function has a meaning."""

    def __str__(self) -> str:
        return "a number"


@dataclass(frozen=True, slots=True)
class Anything:
    """As a parameter: a value of any type."""

    def __str__(self) -> str:
        return "a value"


Parameter: TypeAlias = Type | SameNumber | Anything
Result: TypeAlias = Type | SameNumber | Callable[[Sequence[Type]], Type]


@dataclass(frozen=True, slots=True)
class Function:
    """A function that expressions may call.

    A parameter that is a ``ChoiceType`` takes one of its words, written out in quotes.

    ``result`` may be a callable that gives it from the arguments' types, and raises ``ValueError`` with a
    message that goes on from the call's text, such as ``"takes no angles"``.

    Without ``apply`` the function is a fact, looked up where the expression is evaluated under the key
    ``(name, argument, ...)``; its arguments must then be constants. Otherwise ``apply(arguments, columns)``
    computes it over whole columns: each argument has ``columns.rows`` rows (``Truth``, float array or
    ``Choices``; a word stays text), and so must the result. ``columns.read(name, type)`` gives any other
    column, such as time; a function that reads some names them in ``reads``.
    """

    parameters: tuple[Parameter, ...]
    result: Result = TRUTH
    apply: Apply | None = None
    repeats: bool = False
    """Whether the last parameter may come again."""
    reads: frozenset[str] = frozenset()

    def accepts(self, count: int) -> bool:
        """Whether it takes so many arguments."""
        return count >= len(self.parameters) if self.repeats else count == len(self.parameters)

    def parameter(self, position: int) -> Parameter:
        """Return the parameter that the argument at this position, from 0, belongs to."""
        return self.parameters[min(position, len(self.parameters) - 1)]


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """Names and functions that expressions of one sort may use, beside those that every expression has."""

    names: Mapping[str, Type] = field(default_factory=dict[str, Type])
    functions: Mapping[str, Function] = field(default_factory=dict[str, Function])

    def __or__(self, other: Vocabulary) -> Vocabulary:
        """Return both together; where both say something the other one counts."""
        return Vocabulary({**self.names, **other.names}, {**self.functions, **other.functions})
