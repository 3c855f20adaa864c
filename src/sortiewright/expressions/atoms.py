"""What an expression is made of: its atoms, the conditions that are joined by ``and``, ``or`` and ``not``."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from sortiewright.expressions.nodes import (
    Among,
    Call,
    CompareNumbers,
    CompareTruths,
    Constant,
    Either,
    Every,
    Lookup,
    Node,
    Not,
    contrary,
    either,
    every,
    walk,
)
from sortiewright.expressions.values import UNKNOWN, Columns, Fact, Truth

Operator: TypeAlias = Literal["is", "known", "<", "<=", ">", ">=", "==", "!=", "in", "not in", "opaque"]
_TURNED: dict[str, Operator] = {"<": ">", "<=": ">=", ">": "<", ">=": "<=", "==": "==", "!=": "!="}


@dataclass(frozen=True, slots=True)
class Atom:
    """One condition: ``fact operator constant`` where it has that simple form.

    ============== ==================================== ====================
    operator       form                                 constant
    ============== ==================================== ====================
    is             a fact that is a truth               True
    known          ``known(fact)``                      True
    < <= > >=      a number against a constant          number, SI
    == !=          a number, a truth or one word        number, SI; bool; text
    in, not in     a choice among words                 tuple of words
    opaque         anything else                        None
    ============== ==================================== ====================
    """

    text: str
    operator: Operator
    fact: Fact | None
    constant: float | bool | str | tuple[str, ...] | None
    facts: frozenset[Fact]
    """Everything that it depends on."""


def facts_of(node: Node) -> frozenset[Fact]:
    """Return every name and constant call that a part depends on."""
    found: set[Fact] = set()
    for part in walk(node):
        if isinstance(part, Lookup):
            found.add(part.fact)
        elif isinstance(part, Call):
            found |= part.reads
    return frozenset(found)


def leaves(node: Node) -> Iterator[Node]:
    """Yield the conditions that ``and``, ``or`` and ``not`` join, in the order of the text."""
    if isinstance(node, Every | Either | Not):
        for part in node.parts():
            yield from leaves(part)
    elif not isinstance(node, Constant):
        yield node


def atom_of(text: str, node: Node) -> Atom:
    """Return a condition as an atom."""
    operator, fact, constant = _form(node)
    return Atom(text[node.start : node.end], operator, fact, constant, facts_of(node))


def joined(node: Node, truths: Sequence[bool | None]) -> bool | None:
    """Return the truth of the whole from that of its leaves in their order."""
    rest = iter(truths)
    whole = _joined(node, rest)
    return True if whole.yes else False if whole.no else None


def _joined(node: Node, rest: Iterator[bool | None]) -> Truth:
    match node:
        case Every():
            return every([_joined(part, rest) for part in node.conditions])
        case Either():
            return either([_joined(part, rest) for part in node.conditions])
        case Not():
            return contrary(_joined(node.condition, rest))
        case Constant():
            return node.evaluate(Columns({}))
        case _:
            truth = next(rest)
            return UNKNOWN if truth is None else Truth(truth, not truth)


_Form = tuple[Operator, Fact | None, "float | bool | str | tuple[str, ...] | None"]
_OPAQUE: _Form = ("opaque", None, None)


def _form(node: Node) -> _Form:
    match node:
        case Lookup():
            return "is", node.fact, True
        case Call(name="known", arguments=(Lookup(fact=fact),)):
            return "known", fact, True
        case Among(choice=Lookup(fact=fact)):
            return node.sign, fact, node.words[0] if node.sign in ("==", "!=") else node.words
        case CompareNumbers(left=Lookup(fact=fact), right=Constant(value=value)):
            return node.sign, fact, float(value)
        case CompareNumbers(left=Constant(value=value), right=Lookup(fact=fact)):
            return _TURNED[node.sign], fact, float(value)
        case (
            CompareTruths(left=Lookup(fact=fact), right=Constant(value=bool(value)))
            | CompareTruths(left=Constant(value=bool(value)), right=Lookup(fact=fact))
        ):
            return "==" if node.same else "!=", fact, value
        case _:
            return _OPAQUE
