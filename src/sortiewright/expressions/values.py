"""Values while an expression is evaluated: one moment's, or whole columns of them.

Both go through the same code, because Python's floats and booleans and NumPy's arrays answer to the same
signs. A missing value is NaN in numbers, neither ``yes`` nor ``no`` in truths, and code -1 in choices.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from sortiewright.expressions.value_types import ChoiceType, NumberType, Type

Mask: TypeAlias = Any
"""A bool, or an array of them."""
Fact: TypeAlias = str | tuple[Any, ...]
"""What values are looked up by: a name, or a call with its constants, ``("carries", "belly_tank")``."""

MISSING = -1
"""Code of a choice that has no value."""


@dataclass(frozen=True, slots=True)
class Truth:
    """Where something is true (``yes``), where it is false (``no``); where it is neither it is unknown."""

    yes: Mask
    no: Mask

    @property
    def unknown(self) -> Mask:
        """Where it is neither true nor false."""
        return (self.yes | self.no) ^ True

    def __len__(self) -> int:
        return len(self.yes)


@dataclass(frozen=True, slots=True)
class Choices:
    """Words by their position in ``words``; -1 where there is none."""

    codes: Any
    words: tuple[str, ...]

    @property
    def known(self) -> Mask:
        """Where there is a word."""
        return self.codes >= 0

    def among(self, words: Sequence[str]) -> Mask:
        """Where the word is one of these."""
        found: Mask = False
        for word in words:
            if word in self.words:
                found = found | (self.codes == self.words.index(word))
        return found


Value: TypeAlias = Any
"""``Truth``, numbers, ``Choices``, or a word as text. Any: each serves one moment and columns alike."""
Apply: TypeAlias = "Callable[[Sequence[Value], Columns], Value]"

UNKNOWN = Truth(False, False)


class Columns:
    """Values by name, read by their declared type; each column is read once, however many expressions use it.

    ``rows`` is their length, or None for the values of one moment. A column is an array, or anything
    ``numpy.asarray`` takes; a single value stands for a column of it; a name that is absent is missing
    everywhere.
    """

    def __init__(self, values: Mapping[Any, Any], rows: int | None = None) -> None:
        self.values = values
        self.rows = rows
        self._read: dict[tuple[Fact, Type], Value] = {}

    def read(self, fact: Fact, of: Type) -> Value:
        """Return the values of a name or fact, as its type has them.

        Raises ``TypeError`` for values that are not of this type, ``ValueError`` for a column of another
        length: both are faults of the program, not of an expression.
        """
        value = self.value(fact, of)
        return value if self.rows is None else self.spread(value)

    def value(self, fact: Fact, of: Type) -> Value:
        """Return what ``read`` does, but a single value as such: what is worked out of it is one as well."""
        if (fact, of) not in self._read:
            self._read[fact, of] = self._take(fact, of)
        return self._read[fact, of]

    def _take(self, fact: Fact, of: Type) -> Value:
        value = self.values.get(fact)
        try:
            if self.rows is None or value is None or isinstance(value, str | bool | int | float):
                return _one(value, of)
            array = _array(value)
            return _one(array.item(), of) if array.ndim == 0 else _column(array, of, self.rows)
        except TypeError as error:
            raise TypeError(f"{fact!r}: {error}") from None
        except ValueError as error:
            raise ValueError(f"{fact!r}: {error}") from None

    def spread(self, value: Value) -> Value:
        """Return a value with one entry for each row."""
        shape = (1 if self.rows is None else self.rows,)
        if isinstance(value, Truth):
            return Truth(np.broadcast_to(value.yes, shape), np.broadcast_to(value.no, shape))
        if isinstance(value, Choices):
            return Choices(np.broadcast_to(value.codes, shape), value.words)
        if isinstance(value, str):
            return value
        numbers = np.asarray(value, np.float64)
        return numbers if numbers.shape == shape else np.broadcast_to(numbers, shape)


def _array(value: Any) -> NDArray[Any]:
    if isinstance(value, Truth):
        # Neither is -1, so that a truth that was worked out before may serve as a column.
        return np.where(value.yes, 1, np.where(value.no, 0, -1))
    if not _is_masked(value):
        return np.asarray(value)
    array = np.array(value, object)
    array[np.ma.getmaskarray(value)] = None
    return array


def _is_masked(value: Any) -> bool:
    return isinstance(value, np.ma.MaskedArray)


def _one(value: Any, of: Type) -> Value:
    """Return one value as its type has it."""
    if callable(scalar := getattr(value, "item", None)):  # NumPy's own numbers, booleans and words
        value = scalar()
    if isinstance(of, NumberType):
        if value is None:
            return math.nan
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise TypeError(f"{value!r} is not a number")
        return _float(value)
    if isinstance(of, ChoiceType):
        if value is None or value == "" or value != value:
            return Choices(MISSING, of.words)
        if not isinstance(value, str):
            raise TypeError(f"{value!r} is not a word")
        return Choices(of.words.index(value) if value in of.words else MISSING, of.words)
    if isinstance(value, Truth):
        return value
    if isinstance(value, str):
        raise TypeError(f"{value!r} is not true or false")
    return Truth(value == 1, value == 0)


def _float(value: float) -> float:
    try:
        return float(value)
    except OverflowError:  # an integer of hundreds of digits is nothing that was measured
        return math.nan


def _column(array: NDArray[Any], of: Type, rows: int) -> Value:
    """Return a column as its type has it."""
    if array.shape != (rows,):
        raise ValueError(f"a column of shape {array.shape}, {rows} rows are wanted")
    sort = array.dtype.kind
    if isinstance(of, NumberType):
        if sort not in "fiuO":
            raise TypeError(f"a column of {array.dtype} is not numbers")
        return array.astype(np.float64, copy=False) if sort != "O" else _numbers(array)
    if isinstance(of, ChoiceType):
        if sort not in "UO":
            raise TypeError(f"a column of {array.dtype} is not words")
        codes = np.full(rows, MISSING, np.int64)
        for code, word in enumerate(of.words):
            if word:
                codes[np.equal(array, word).astype(np.bool_)] = code
        return Choices(codes, of.words)
    if sort not in "bfiuO":
        raise TypeError(f"a column of {array.dtype} is not true or false")
    if sort == "b":
        return Truth(array, ~array)
    return Truth(np.equal(array, 1).astype(np.bool_), np.equal(array, 0).astype(np.bool_))


def _numbers(array: NDArray[Any]) -> NDArray[np.float64]:
    values: list[Any] = array.tolist()
    if wrong := next((one for one in values if isinstance(one, bool | str)), None):
        raise TypeError(f"{wrong!r} is not a number")
    return np.array([math.nan if one is None else _float(one) for one in values], np.float64)
