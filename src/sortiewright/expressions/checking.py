"""From the tree of Python's grammar to an expression of ours: what may stand there, and of which type."""

from __future__ import annotations

import ast
import math
import re

from sortiewright.expressions.calls import check_call
from sortiewright.expressions.comparisons import check_comparison
from sortiewright.expressions.dimensions import TEMPERATURE, product_unit, sum_unit
from sortiewright.expressions.errors import Fault
from sortiewright.expressions.folding import fold
from sortiewright.expressions.functions import BUILT_IN, UNIT_FUNCTIONS, USUAL_UNITS
from sortiewright.expressions.nodes import Arithmetic, Constant, Either, Every, Lookup, Negative, Node, Not
from sortiewright.expressions.value_types import TRUTH, ChoiceType, NumberType
from sortiewright.expressions.vocabulary import Function, Vocabulary
from sortiewright.pack import choice_hint

_PLAIN_NUMBER = re.compile(r"(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?\Z")
_SIGNS: dict[type[ast.operator], str] = {ast.Add: "+", ast.Sub: "-", ast.Mult: "*", ast.Div: "/"}
_OTHER_SIGNS: dict[type[ast.operator], tuple[str, str]] = {
    ast.BitAnd: ("&", "Write and"),
    ast.BitOr: ("|", "Write or"),
    ast.BitXor: ("^", "Write * for a power: x * x"),
    ast.Pow: ("**", "Write * for a power: x * x"),
    ast.Mod: ("%", "Write percent(85)"),
    ast.FloorDiv: ("//", "Write /"),
    ast.MatMult: ("@", ""),
    ast.LShift: ("<<", "Write <"),
    ast.RShift: (">>", "Write >"),
}
_MEANT_TRUE = frozenset({"true", "yes", "TRUE", "YES", "Yes"})
_MEANT_FALSE = frozenset({"false", "no", "FALSE", "NO", "No"})
_MEANT_MISSING = frozenset({"null", "none", "nil", "NULL", "nan", "unknown", "missing"})
_REFUSED: dict[type[ast.expr], tuple[str, str]] = {
    ast.Attribute: ("has a dot in it", "Names are written without dots"),
    ast.Subscript: ("has square brackets", "Names are written without brackets"),
    ast.Tuple: ("is a list", "Words in brackets stand only after in: x in ('a', 'b')"),
    ast.List: ("is a list", "Words in brackets stand only after in: x in ('a', 'b')"),
    ast.Set: ("is a list", "Words in brackets stand only after in: x in ('a', 'b')"),
    ast.IfExp: ("asks with if", "Write and, or, not"),
    ast.NamedExpr: ("gives a name to a value", "Write == to compare"),
}


class Checker:
    """Turns a tree into parts of an expression, and collects every fault on the way.

    Its methods return None for what is faulty; the fault is then in ``faults``.
    """

    def __init__(self, text: str, vocabulary: Vocabulary) -> None:
        self.text = text
        self.names = vocabulary.names
        self.functions: dict[str, Function] = {**vocabulary.functions, **BUILT_IN}
        self.faults: list[Fault] = []

    def said(self, part: ast.expr | Node) -> str:
        """Return the text of a part in quotes, cut short."""
        start, end = place_of(part)
        text = self.text[start:end]
        text = text if len(text) <= 60 else text[:57] + "..."
        return text if text[:1] in "'\"" else f'"{text}"'

    def fault(self, part: ast.expr | Node, expected: str, hint: str = "", read: str | None = None) -> None:
        """Note a fault of a part; ``read`` is its text unless given."""
        self.faults.append(Fault(*place_of(part), self.said(part) if read is None else read, expected, hint))

    def check(self, tree: ast.expr) -> Node | None:
        """Return a part of an expression, of any type."""
        match tree:
            case ast.Constant():
                return self._constant(tree)
            case ast.Name():
                return self._name(tree)
            case ast.BoolOp():
                conditions = [self.condition(value) for value in tree.values]
                known = tuple(one for one in conditions if one is not None)
                if len(known) < len(conditions):
                    return None
                return (Every if isinstance(tree.op, ast.And) else Either)(*place_of(tree), known)
            case ast.UnaryOp():
                return self._unary(tree)
            case ast.BinOp():
                return self._arithmetic(tree)
            case ast.Compare():
                return check_comparison(self, tree)
            case ast.Call():
                return check_call(self, tree)
            case _:
                expected, hint = _REFUSED.get(type(tree), ("is not part of this language", ""))
                self.fault(tree, expected, hint)
                return None

    def condition(self, tree: ast.expr) -> Node | None:
        """Return a part that must be a condition."""
        if isinstance(tree, ast.Constant) and isinstance(tree.value, str):
            self.fault(tree, "is a word, a condition is wanted here", "Compare a choice with it: x == 'word'")
            return None
        node = self.check(tree)
        if node is None or node.type == TRUTH:
            return node
        hint = f"Compare it: {self.text[node.start : node.end]} {self._example(node)}"
        self.fault(node, f"is {node.type}, a condition is wanted here", hint)
        return None

    def number(self, tree: ast.expr) -> Node | None:
        """Return a part that must be a number."""
        node = self.check(tree)
        if node is None or isinstance(node.type, NumberType):
            return node
        self.fault(node, f"is {node.type}, a number is wanted here")
        return None

    def folded(self, node: Node) -> Node | None:
        """Return the part with arithmetic on constants done."""
        try:
            return fold(node)
        except ValueError as error:
            self.fault(node, str(error))
            return None

    def _example(self, node: Node) -> str:
        if isinstance(node.type, ChoiceType):
            return f"== '{node.type.words[0]}'" if node.type.words else "== 'word'"
        if isinstance(node.type, NumberType) and node.type.unit in USUAL_UNITS and node.type.unit:
            return f"> {USUAL_UNITS[node.type.unit][0]}(10)"
        return "> 10"

    def _constant(self, tree: ast.Constant) -> Node | None:
        start, end = place_of(tree)
        value: object = tree.value
        if isinstance(value, bool):
            return Constant(start, end, value)
        if isinstance(value, int | float):
            if not _PLAIN_NUMBER.match(self.text[start:end]):
                self.fault(tree, "is not a plain decimal number", "Write it in digits, without marks")
                return None
            number = float(self.text[start:end])
            if math.isinf(number):
                self.fault(tree, "is too large a number")
                return None
            return Constant(start, end, number)
        if value is None:
            self.fault(tree, "is not a value here", "Write known(x), or not known(x)")
        elif isinstance(value, str):
            hint = "Words in quotes are compared with a choice, or given to a function"
            self.fault(tree, "cannot stand here", hint)
        else:
            self.fault(tree, "is not part of this language")
        return None

    def _name(self, tree: ast.Name) -> Node | None:
        if (of := self.names.get(tree.id)) is not None:
            return Lookup(*place_of(tree), tree.id, of)
        self.fault(tree, *self.unknown_name(tree.id))
        return None

    def unknown_name(self, name: str) -> tuple[str, str]:
        """Return what is wrong with a name that means nothing, and a hint."""
        if name in UNIT_FUNCTIONS and name not in BUILT_IN.keys() - UNIT_FUNCTIONS.keys():
            return "is a unit, not a name", f"Write the number in brackets after it: {name}(15)"
        if name in self.functions:
            return "is a function", f"Write brackets after it: {name}(...)"
        for meant, word in ((_MEANT_TRUE, "True"), (_MEANT_FALSE, "False"), (_MEANT_MISSING, "not known(x)")):
            if name in meant:
                return "is not a known name", f"Write {word}"
        return "is not a known name", choice_hint(name, self.names, "names")

    def _unary(self, tree: ast.UnaryOp) -> Node | None:
        if isinstance(tree.op, ast.Not):
            condition = self.condition(tree.operand)
            return None if condition is None else Not(*place_of(tree), condition)
        if isinstance(tree.op, ast.Invert):
            self.fault(tree, "has a sign that is not part of this language", "Write not")
            return None
        part = self.number(tree.operand)
        if part is None or isinstance(tree.op, ast.UAdd):
            return part
        if part.type == NumberType(TEMPERATURE):
            self.fault(tree, "is the negative of a temperature", "Put the sign inside: degC(-5)")
            return None
        return self.folded(Negative(*place_of(tree), part))

    def _arithmetic(self, tree: ast.BinOp) -> Node | None:
        sign = _SIGNS.get(type(tree.op))
        if sign is None:
            other, hint = _OTHER_SIGNS[type(tree.op)]
            self.fault(tree, f"uses {other}, which is not part of this language", hint)
            return None
        left, right = self.number(tree.left), self.number(tree.right)
        if left is None or right is None:
            return None
        rule = sum_unit if sign in "+-" else product_unit
        unit = rule(sign, unit_of(left), unit_of(right))
        if unit is None:
            verb, joint = _VERBS[sign]
            hint = self.unit_hint(left, right) if sign in "+-" else ""
            self.fault(tree, f"{verb} {left.type} {joint} {right.type}", hint)
            return None
        return self.folded(Arithmetic(*place_of(tree), sign, left, right, unit))

    def unit_hint(self, left: Node, right: Node) -> str:
        """Return how a plain number of the two is given the other's unit, where one of them is one."""
        for plain, other in ((right, left), (left, right)):
            if not isinstance(plain, Constant) or plain.unit or not isinstance(other.type, NumberType):
                continue
            if units := USUAL_UNITS.get(other.type.unit, ()) if other.type.unit else ():
                number = self.text[plain.start : plain.end]
                return "Write " + " or ".join(f"{unit}({number})" for unit in units)
        return ""


_VERBS = {"+": ("adds", "and"), "-": ("subtracts", "and"), "*": ("multiplies", "by"), "/": ("divides", "by")}


def unit_of(node: Node) -> str:
    """Return the SI unit of a number."""
    return node.type.unit if isinstance(node.type, NumberType) else ""


def place_of(part: ast.expr | Node) -> tuple[int, int]:
    """Return where a part begins and ends in the text."""
    if isinstance(part, Node):
        return part.start, part.end
    return part.col_offset, part.end_col_offset or part.col_offset
