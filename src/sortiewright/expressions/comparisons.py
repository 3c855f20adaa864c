"""Comparisons: what may be compared with what."""

from __future__ import annotations

import ast
from typing import TYPE_CHECKING

from sortiewright.expressions.dimensions import TEMPERATURE
from sortiewright.expressions.nodes import (
    Among,
    CompareChoices,
    CompareNumbers,
    CompareTruths,
    Comparison,
    Constant,
    Every,
    Node,
)
from sortiewright.expressions.value_types import TRUTH, ChoiceType, NumberType
from sortiewright.pack import choice_hint

if TYPE_CHECKING:
    from sortiewright.expressions.checking import Checker

_SIGNS: dict[type[ast.cmpop], Comparison] = {
    ast.Lt: "<",
    ast.LtE: "<=",
    ast.Gt: ">",
    ast.GtE: ">=",
    ast.Eq: "==",
    ast.NotEq: "!=",
}


def check_comparison(checker: Checker, tree: ast.Compare) -> Node | None:
    """Return a comparison, or for a chain of them, ``a < b < c``, all of its links together."""
    sides = [tree.left, *tree.comparators]
    # Each side is looked at once, though in a chain it stands in two links: its faults are told once.
    nodes = _sides(checker, sides)
    links = [
        _link(checker, sign, (sides[place], nodes[place]), (sides[place + 1], nodes[place + 1]))
        for place, sign in enumerate(tree.ops)
    ]
    sound = tuple(link for link in links if link is not None)
    if len(sound) < len(links):
        return None
    return sound[0] if len(sound) == 1 else Every(tree.col_offset, tree.end_col_offset or 0, sound)


_Side = tuple[ast.expr, Node | None]


def _sides(checker: Checker, sides: list[ast.expr]) -> list[Node | None]:
    """Return the parts on the sides; None for words and for what is faulty."""
    bare = [isinstance(side, ast.Name) and side.id not in checker.names for side in sides]
    nodes = [
        None if is_bare or words_of(side) is not None else checker.check(side)
        for side, is_bare in zip(sides, bare, strict=True)
    ]
    for place, (side, is_bare) in enumerate(zip(sides, bare, strict=True)):
        if not is_bare or not isinstance(side, ast.Name):
            continue
        beside = [node for node in nodes[max(0, place - 1) : place + 2] if node is not None]
        if any(isinstance(node.type, ChoiceType) and side.id in node.type.words for node in beside):
            checker.fault(side, "is a word without quotes", f"Write '{side.id}'")
        else:
            checker.check(side)
    return nodes


def words_of(tree: ast.expr) -> list[ast.Constant] | None:
    """Return the words of a text in quotes or of several in brackets, or None if it is anything else."""
    parts = tree.elts if isinstance(tree, ast.Tuple | ast.List | ast.Set) else [tree]
    words = [one for one in parts if isinstance(one, ast.Constant) and isinstance(one.value, str)]
    return words if len(words) == len(parts) else None


def _link(checker: Checker, sign: ast.cmpop, left: _Side, right: _Side) -> Node | None:
    place = (left[0].col_offset, right[0].end_col_offset or 0)
    if isinstance(sign, ast.In | ast.NotIn):
        return _inside(checker, place, left, right, isinstance(sign, ast.In))
    if isinstance(sign, ast.Is | ast.IsNot):
        _fault(checker, place, "uses is, which is not part of this language", "Write ==, or known(x)")
        return None
    for words, other in ((left, right), (right, left)):
        if words_of(words[0]) is not None:
            return _with_word(checker, place, _SIGNS[type(sign)], words[0], other)
    if left[1] is None or right[1] is None:
        return None
    return _values(checker, place, _SIGNS[type(sign)], left[1], right[1])


def _inside(checker: Checker, place: tuple[int, int], left: _Side, right: _Side, inside: bool) -> Node | None:
    words = words_of(right[0])
    if words is None or not isinstance(right[0], ast.Tuple | ast.List | ast.Set):
        if words is not None or right[1] is not None:
            checker.fault(right[0], "is not a list of words", "Write several in brackets: in ('a', 'b')")
        return None
    if not words:
        checker.fault(right[0], "is an empty list", "Write words in the brackets")
        return None
    choice = _choice(checker, left)
    checked = None if choice is None else _checked_words(checker, words, choice)
    if choice is None or checked is None:
        return None
    return Among(*place, choice, checked, inside, "in" if inside else "not in")


def _with_word(
    checker: Checker, place: tuple[int, int], sign: Comparison, words: ast.expr, other: _Side
) -> Node | None:
    if not isinstance(words, ast.Constant):
        checker.fault(words, f"cannot be compared with {sign}", "Write in before several words")
        return None
    choice = _choice(checker, other)
    if choice is None:
        return None
    if sign not in ("==", "!="):
        _fault(checker, place, f"compares words with {sign}", "Words are compared with == or !=, or in")
        return None
    checked = _checked_words(checker, [words], choice)
    return None if checked is None else Among(*place, choice, checked, sign == "==", sign)


def _choice(checker: Checker, side: _Side) -> Node | None:
    tree, node = side
    if words_of(tree) is not None:
        checker.fault(tree, "is a word, and so is what it is compared with", "Compare a choice with a word")
        return None
    if node is None:
        return None
    if not isinstance(node.type, ChoiceType):
        checker.fault(node, f"is {node.type}, it cannot be compared with a word")
        return None
    return node


def _checked_words(checker: Checker, words: list[ast.Constant], choice: Node) -> tuple[str, ...] | None:
    """Return the words if the choice can be each of them."""
    assert isinstance(choice.type, ChoiceType)
    known, what = choice.type.words, choice.type.what
    checked = tuple(str(one.value) for one in words)
    for tree, word in zip(words, checked, strict=True):
        if word not in known:
            said = f"is not one of the {what} of {checker.text[choice.start : choice.end]}"
            checker.fault(tree, said, choice_hint(word, known, what))
    return checked if all(word in known for word in checked) else None


def _values(
    checker: Checker, place: tuple[int, int], sign: Comparison, left: Node, right: Node
) -> Node | None:
    """Return a comparison of two parts that are neither words nor faulty."""
    match left.type, right.type:
        case NumberType(), NumberType():
            if left.type == right.type or _bare_zero(left, right) or _bare_zero(right, left):
                return CompareNumbers(*place, sign, left, right)
            _fault(checker, place, f"compares {left.type} with {right.type}", checker.unit_hint(left, right))
        case ChoiceType(words), ChoiceType(others):
            if sign not in ("==", "!="):
                _fault(checker, place, f"compares words with {sign}", "Words are compared with == or !=")
            elif not set(words) & set(others):
                _fault(checker, place, "compares two choices that have no word in common")
            else:
                return CompareChoices(*place, sign == "==", left, right)
        case _ if left.type == right.type == TRUTH:
            if sign in ("==", "!="):
                return CompareTruths(*place, sign == "==", left, right)
            _fault(checker, place, f"compares conditions with {sign}", "Write and, or, not, == or !=")
        case _:
            _fault(checker, place, f"compares {left.type} with {right.type}")
    return None


def _bare_zero(zero: Node, other: Node) -> bool:
    """Whether a part is a 0 that needs no unit: nothing is nothing in all but scales of temperature."""
    plain = isinstance(zero, Constant) and zero.unit == "" and zero.value == 0
    return plain and other.type != NumberType(TEMPERATURE)


def _fault(checker: Checker, place: tuple[int, int], expected: str, hint: str = "") -> None:
    checker.fault(Constant(*place, 0.0), expected, hint)
