"""Calls: which functions there are, and what they take."""

from __future__ import annotations

import ast
from collections.abc import Sequence
from typing import TYPE_CHECKING

from sortiewright.expressions.dimensions import TEMPERATURE
from sortiewright.expressions.functions import BUILT_IN, UNIT_FUNCTIONS
from sortiewright.expressions.nodes import Call, Constant, Lookup, Node, Word
from sortiewright.expressions.value_types import PLAIN, ChoiceType, NumberType, Type
from sortiewright.expressions.vocabulary import Anything, Function, Parameter, SameNumber
from sortiewright.pack import choice_hint, suggestion

if TYPE_CHECKING:
    from sortiewright.expressions.checking import Checker


def check_call(checker: Checker, tree: ast.Call) -> Node | None:
    """Return a call of a function that the vocabulary or every expression has."""
    if not isinstance(tree.func, ast.Name):
        checker.fault(tree.func, "is not the name of a function")
        return None
    name = tree.func.id
    function = checker.functions.get(name)
    if function is None:
        checker.fault(tree.func, *_unknown_function(checker, name))
        return None
    starred = next((one for one in tree.args if isinstance(one, ast.Starred)), None)
    if tree.keywords or starred is not None:
        checker.fault(tree, "names its arguments, or unpacks them", "Write values with commas between them")
        return None
    if not function.accepts(len(tree.args)):
        checker.fault(tree, f"has {_counted(len(tree.args))}", _count_hint(name, function))
        return None
    arguments = [
        _argument(checker, name, function.parameter(place), argument)
        for place, argument in enumerate(tree.args)
    ]
    sound = tuple(one for one in arguments if one is not None)
    if len(sound) < len(arguments):
        return None
    return _called(checker, tree, name, function, sound)


def _unknown_function(checker: Checker, name: str) -> tuple[str, str]:
    if name in checker.names:
        return "is not a function", "Leave the brackets out"
    units = set(UNIT_FUNCTIONS)
    others = [one for one in checker.functions if one not in units]
    near = suggestion(name, checker.functions)
    return "is not a known function", near or choice_hint(name, others, "functions, beside units,")


def _counted(count: int) -> str:
    return f"{count or 'no'} argument{'' if count == 1 else 's'}"


def _count_hint(name: str, function: Function) -> str:
    wanted = len(function.parameters)
    hint = f"{name} takes {_counted(wanted)}{' or more' if function.repeats else ''}"
    return f"{hint}; for minutes write minutes(5)" if name == "min" else hint


def _argument(checker: Checker, name: str, parameter: Parameter, tree: ast.expr) -> Node | None:
    """Return an argument if it is what the parameter wants."""
    match parameter:
        case ChoiceType():
            return _word(checker, name, parameter, tree)
        case Anything():
            return checker.check(tree)
        case SameNumber():
            node = checker.number(tree)
            if node is not None and not parameter.temperatures and node.type == NumberType(TEMPERATURE):
                checker.fault(node, f"is {node.type}: {name} has no meaning on a scale that begins anywhere")
                return None
            return node
        case NumberType():
            return _number(checker, name, parameter, tree)
        case _:
            return checker.condition(tree)


def _word(checker: Checker, name: str, choice: ChoiceType, tree: ast.expr) -> Node | None:
    if isinstance(tree, ast.Name) and tree.id in choice.words:
        checker.fault(tree, "is a word without quotes", f"Write {name}('{tree.id}')")
        return None
    if not isinstance(tree, ast.Constant) or not isinstance(tree.value, str):
        checker.fault(tree, "is not a word in quotes", f"{name} takes one of the {choice.what}")
        return None
    if tree.value not in choice.words:
        hint = choice_hint(tree.value, choice.words, choice.what)
        checker.fault(tree, f"is not one of the {choice.what}", hint)
        return None
    return Word(tree.col_offset, tree.end_col_offset or 0, tree.value)


def _number(checker: Checker, name: str, wanted: NumberType, tree: ast.expr) -> Node | None:
    node = checker.number(tree)
    if node is None or node.type == wanted:
        return node
    if name in UNIT_FUNCTIONS:
        checker.fault(node, f"is {node.type} already", f"{name} takes a plain number")
        return None
    if isinstance(node, Constant) and node.value == 0 and node.type == PLAIN and wanted.unit != TEMPERATURE:
        return Constant(node.start, node.end, 0.0, wanted.unit)
    hint = checker.unit_hint(node, Constant(0, 0, 0.0, wanted.unit))
    checker.fault(node, f"is {node.type}, {name} takes {wanted} here", hint)
    return None


def _called(
    checker: Checker, tree: ast.Call, name: str, function: Function, arguments: tuple[Node, ...]
) -> Node | None:
    of = _result(checker, tree, name, function, arguments)
    if of is None:
        return None
    start, end = tree.col_offset, tree.end_col_offset or 0
    if function.apply is not None:
        call = Call(start, end, name, arguments, function.apply, of, function.reads)
        return checker.folded(call) if name in BUILT_IN else call
    fact: list[str | float | bool] = [name]
    for one in arguments:
        if not isinstance(one, Constant | Word):
            checker.fault(one, f"is not a constant: {name} is looked up, not computed")
            return None
        fact.append(one.value if isinstance(one, Constant) else one.word)
    return Lookup(start, end, tuple(fact), of)


def _result(
    checker: Checker, tree: ast.Call, name: str, function: Function, arguments: Sequence[Node]
) -> Type | None:
    same = _common_number(checker, tree, function, arguments)
    if same is None:
        return None
    if isinstance(function.result, SameNumber):
        return same
    if not callable(function.result):
        return function.result
    try:
        return function.result([one.type for one in arguments])
    except ValueError as error:
        checker.fault(tree, str(error))
        return None


def _common_number(
    checker: Checker, tree: ast.Call, function: Function, arguments: Sequence[Node]
) -> NumberType | None:
    """Return the one kind that all such arguments have; a bare 0 is of any but a temperature."""
    same = [
        (one, one.type)
        for place, one in enumerate(arguments)
        if isinstance(function.parameter(place), SameNumber) and isinstance(one.type, NumberType)
    ]
    of = next((kind for _, kind in same if kind != PLAIN), PLAIN)
    for one, kind in same:
        bare_zero = isinstance(one, Constant) and one.value == 0 and kind == PLAIN
        if kind != of and not (bare_zero and of.unit != TEMPERATURE):
            first = next(node for node, kind in same if kind == of)
            checker.fault(tree, f"mixes {of} and {kind}", checker.unit_hint(one, first))
            return None
    return of
