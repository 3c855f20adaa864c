"""From text to the tree of Python's own grammar, whatever the text is.

Python's parser meets only text that is short, printable and not deeply nested; everything that it still
refuses becomes a fault with a place and, where the slip is a common one, a hint.
"""

from __future__ import annotations

import ast
import re

from sortiewright.expressions.errors import ExpressionError, Fault
from sortiewright.expressions.functions import UNITS

LONGEST = 1000
"""Characters of an expression."""
DEEPEST = 40
"""Levels of nesting, of brackets and of everything else."""

_QUOTED = re.compile(r"'[^'\n]*'|\"[^\"\n]*\"")
# Either could end a text before we think that it ends.
_REFUSED = re.compile(r"#|\\|'''|\"\"\"")
# Python's marks for other sorts of text: bytes, raw text, text with values in it.
_MARKED_QUOTE = re.compile(r"(?<!\w)(?:[bfrtu]|[bft]r|r[bft])(?=['\"])", re.ASCII | re.IGNORECASE)
_HINTS = {"#": "Leave the remark out"}
_NUMBER = r"(?<!\w)(?:\d++(?:\.\d*+)?|\.\d++)(?:[eE][-+]?\d++)?+"
_NUMBER_THEN_WORD = re.compile(rf"({_NUMBER})( *)((?:[A-Za-z_%]|°[CF]?)\w*(?:/\w+)?)", re.ASCII)
_OPERATORS_OF_PYTHON = frozenset({"and", "or", "not", "in", "is", "if", "else", "for"})
_SPELLED = (
    {unit: name for units in reversed(UNITS.values()) for name, unit in units.items() if unit}
    | {name: name for units in UNITS.values() for name in units}
    | {"%": "percent", "°C": "degC", "°": "deg"}
)
_FOREIGN = {
    "≤": "Write <=",
    "≥": "Write >=",
    "≠": "Write !=",
    "×": "Write *",
    "·": "Write *",
    "÷": "Write /",
    "−": "Write -",
    "–": "Write -",
    "“": 'Write straight quotes: "',
    "”": 'Write straight quotes: "',
    "\N{LEFT SINGLE QUOTATION MARK}": "Write straight quotes: '",
    "\N{RIGHT SINGLE QUOTATION MARK}": "Write straight quotes: '",
    "∧": "Write and",
    "\N{LOGICAL OR}": "Write or",
    "¬": "Write not",
    "\N{NO-BREAK SPACE}": "Write a plain space",
}
_SLIPS: tuple[tuple[re.Pattern[str], str], ...] = (
    (re.compile(r"&&"), "Write and"),
    (re.compile(r"\|\|"), "Write or"),
    (re.compile(r"!(?!=)"), "Write not"),
    (re.compile(r"=[<>]"), "Write <= or >="),
    (re.compile(r"<>"), "Write !="),
    (re.compile(r"(?<![=<>!:])=(?!=)"), "Write == to compare"),
    (re.compile(r"\bin\s*\(\s*([-+\d.]+)\s*\)"), r"Write inch(\1) for inches"),
    (re.compile(r"\b(?:AND|And)\b"), "Write and"),
    (re.compile(r"\b(?:OR|Or)\b"), "Write or"),
    (re.compile(r"\b(?:NOT|Not)\b"), "Write not"),
)


def read_text(text: str) -> tuple[str, ast.expr]:
    """Return the text with every blank as one space character, and its tree.

    Raises ``ExpressionError`` for anything that is not an expression.
    """
    if len(text) > LONGEST:
        said = f"is {len(text)} characters long"
        beyond = Fault(LONGEST, LONGEST + 1, "It", said, f"An expression has at most {LONGEST}")
        raise ExpressionError(text[: LONGEST + 1], [beyond])
    text = re.sub(r"[\t\n\r\f\v]", " ", text)
    if not text.strip():
        raise ExpressionError(
            text, [Fault(0, max(1, len(text)), "Nothing", "stands here", "Write a condition")]
        )
    masked = _QUOTED.sub(lambda quoted: "'" + "_" * (len(quoted[0]) - 2) + "'", text)
    if faults := [*_numbers_with_units(masked), *_odd_signs(text, masked), *_nesting(masked)]:
        raise ExpressionError(text, faults)
    return text, _parse(text, masked)


def _odd_signs(text: str, masked: str) -> list[Fault]:
    faults: list[Fault] = []
    for match in _REFUSED.finditer(text):
        if match[0] != "#" or masked[match.start()] == "#":
            faults.append(Fault(*match.span(), match[0], "cannot stand here", _HINTS.get(match[0], "")))
    for match in _MARKED_QUOTE.finditer(masked):
        hint = "Write plain words in quotes"
        faults.append(Fault(*match.span(), f'"{match[0]}"', "stands before a quote", hint))
    for place, sign in enumerate(masked):
        if not text[place].isprintable():
            faults.append(Fault(place, place + 1, f"A sign of code {ord(text[place])}", "cannot stand here"))
        elif not sign.isascii() and sign != "°":
            hint = _FOREIGN.get(sign, "Names are written in the letters a to z")
            faults.append(Fault(place, place + 1, f'"{sign}"', "cannot stand here", hint))
    return faults[:5]


def _numbers_with_units(masked: str) -> list[Fault]:
    """Return a fault for each ``15 kt``, and for numbers that run into a word."""
    faults: list[Fault] = []
    for match in _NUMBER_THEN_WORD.finditer(masked):
        number, gap, word = match.groups()
        place = match.span()
        if word in _OPERATORS_OF_PYTHON and gap:
            continue
        if name := _SPELLED.get(word) or _SPELLED.get(word.split("/")[0]):
            faults.append(Fault(*place, f'"{match[0]}"', "is not a quantity here", f"Write {name}({number})"))
        elif word in _OPERATORS_OF_PYTHON:
            faults.append(Fault(*place, f'"{match[0]}"', "runs together", f"Write {number} {word}"))
        elif gap:
            faults.append(Fault(*place, f'"{match[0]}"', "lacks a sign between number and word"))
        else:
            hint = "Write it in digits, without marks; names begin with a letter"
            faults.append(Fault(*place, f'"{match[0]}"', "is not a plain decimal number", hint))
    return faults


def _nesting(masked: str) -> list[Fault]:
    depth = 0
    for place, sign in enumerate(masked):
        depth += (sign in "([{") - (sign in ")]}")
        if depth > DEEPEST:
            return [_too_deep(place, place + 1)]
    return []


def _too_deep(start: int, end: int) -> Fault:
    return Fault(start, end, "It", "is nested too deeply", f"At most {DEEPEST} levels")


def _parse(text: str, masked: str) -> ast.expr:
    indent = len(text) - len(text.lstrip())
    try:
        body = ast.parse(text[indent:], mode="eval").body
    except SyntaxError as error:
        raise ExpressionError(text, [_misread(text, masked, indent, error)]) from None
    except (ValueError, RecursionError, MemoryError, OverflowError):
        raise ExpressionError(text, [_too_deep(0, len(text))]) from None
    _count_in_characters(body, text, indent)
    if _depth(body) > DEEPEST:
        raise ExpressionError(text, [_too_deep(0, len(text))])
    return body


def _count_in_characters(body: ast.expr, text: str, indent: int) -> None:
    """Change each part's place from bytes of what Python read to characters of the text."""
    for node in ast.walk(body):
        for attribute in ("col_offset", "end_col_offset"):
            if (byte := getattr(node, attribute, None)) is not None:
                read = byte if text.isascii() else len(text[indent:].encode()[:byte].decode(errors="ignore"))
                setattr(node, attribute, indent + read)


def _depth(body: ast.expr) -> int:
    """Return how deeply a tree is nested; with a list of its own, so that no depth is too much for it."""
    deepest, open_nodes = 0, [(body, 1)]
    while open_nodes:
        node, depth = open_nodes.pop()
        deepest = max(deepest, depth)
        open_nodes += [(part, depth + 1) for part in ast.iter_child_nodes(node) if isinstance(part, ast.expr)]
    return deepest


def _misread(text: str, masked: str, indent: int, error: SyntaxError) -> Fault:
    """Return a fault for what Python's grammar refuses: the slip if it is a common one, else the place."""
    for pattern, hint in _SLIPS:
        if match := pattern.search(masked):
            return Fault(*match.span(), f'"{match[0]}"', "is not part of this language", match.expand(hint))
    for opening, closing in ("()", "[]"):
        if masked.count(opening) != masked.count(closing):
            more = opening if masked.count(opening) > masked.count(closing) else closing
            place = masked.rindex(more) if more == closing else masked.index(more)
            return Fault(place, place + 1, f'"{more}"', "has no partner")
    place = len(text.rstrip()) - 1 if not error.offset else indent + error.offset - 1
    place = min(max(place, 0), len(text) - 1)
    if quote := next((sign for sign in "'\"" if masked.count(sign) % 2), ""):
        place = masked.rindex(quote)
        return Fault(place, place + 1, f"The quote {quote}", "is not closed")
    if place >= len(text.rstrip()) - 1:
        return Fault(place, place + 1, "It", "ends too early, or with a sign too many")
    word = text[place:].split()[0][:40]
    return Fault(place, place + len(word), f'"{word}"', "is not expected here")
