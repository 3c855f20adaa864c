"""Arithmetic on constants is done once, when the expression is read."""

from __future__ import annotations

import math

from sortiewright.expressions.functions import BUILT_IN
from sortiewright.expressions.nodes import Arithmetic, Call, Constant, Negative, Node
from sortiewright.expressions.value_types import NumberType
from sortiewright.expressions.values import Columns


def fold(node: Node) -> Node:
    """Return a constant in place of arithmetic on constants, and anything else as it is.

    Raises ``ValueError``, with a text that goes on from that of the part, where it comes to no number.
    """
    foldable = isinstance(node, Arithmetic | Negative) or (isinstance(node, Call) and node.name in BUILT_IN)
    of = node.type
    if not foldable or not isinstance(of, NumberType):
        return node
    if not all(isinstance(part, Constant) for part in node.parts()):
        return node
    value: float = node.evaluate(Columns({}))
    if math.isnan(value):
        raise ValueError("divides by zero")
    if math.isinf(value):
        raise ValueError("is too large a number")
    return Constant(node.start, node.end, value, of.unit)
