"""Conditions: one small language for checklists, live confirmation and debrief rules.

``parse_expression`` checks a text against a ``Vocabulary`` once; the ``Expression`` is then asked for one
moment or for whole columns.
"""

from __future__ import annotations

from sortiewright.expressions.atoms import Atom
from sortiewright.expressions.channel_names import channel_vocabulary
from sortiewright.expressions.errors import ExpressionError, Fault
from sortiewright.expressions.expression import Expression, parse_expression
from sortiewright.expressions.functions import BUILT_IN
from sortiewright.expressions.value_types import PLAIN, TRUTH, ChoiceType, NumberType, TruthType, Type
from sortiewright.expressions.values import Choices, Columns, Fact, Truth
from sortiewright.expressions.vocabulary import Anything, Function, SameNumber, Vocabulary

__all__ = [
    "BUILT_IN",
    "PLAIN",
    "TRUTH",
    "Anything",
    "Atom",
    "ChoiceType",
    "Choices",
    "Columns",
    "Expression",
    "ExpressionError",
    "Fact",
    "Fault",
    "Function",
    "NumberType",
    "SameNumber",
    "Truth",
    "TruthType",
    "Type",
    "Vocabulary",
    "channel_vocabulary",
    "parse_expression",
]
