"""YAML events of a text, by ruamel.yaml in pure Python, with a fast way through rows of numbers."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError
from ruamel.yaml.events import CollectionEndEvent, CollectionStartEvent
from ruamel.yaml.reader import ReaderError
from ruamel.yaml.scanner import Scanner
from ruamel.yaml.tokens import ScalarToken

from sortiewright.pack.errors import Problem
from sortiewright.pack.yaml_data import DEEPEST, NUMBER_ROW

LARGEST_RECORDED = 20_000
"""Characters; a long sortie has three thousand."""
_NUMBER = r"[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?"
_ROW = re.compile(rf"\[[ ]*{_NUMBER}(?:[ ]*,[ ]*{_NUMBER})*[ ]*,?[ ]*\](?!\s*:)")


class NumberRowScanner(Scanner):
    """A scanner that reads a list of plain numbers on one line as one token.

    Packs are mostly tables. Two tokens a number cost ruamel.yaml four fifths of its time on them; numbers
    between brackets on one line can mean nothing else in YAML, so nothing is lost by taking the row at once.
    A row followed by a colon would be a key and is left to the ordinary way.
    """

    def fetch_flow_sequence_start(self) -> None:
        """Add one token for a row of numbers, or begin an ordinary list."""
        # ruamel.yaml has no types: everything it holds is untyped here.
        scanner: Any = self
        reader: Any = scanner.reader
        row = _ROW.match(reader.buffer, reader.pointer)
        if row is None or "\n" in row[0]:
            super().fetch_flow_sequence_start()
            return
        start = reader.get_mark()
        # A row stands on one line, so the position moves without looking at each character.
        length = len(row[0])
        reader.pointer += length
        reader.index += length
        reader.column += length
        scanner.remove_possible_simple_key()
        scanner.allow_simple_key = False
        scanner.tokens.append(ScalarToken(row[0][1:-1], False, start, reader.get_mark(), style=NUMBER_ROW))

    def stale_possible_simple_keys(self) -> None:
        """Forget keys that can no longer be keys; most of the time there are none."""
        scanner: Any = self
        if scanner.possible_simple_keys:
            super().stale_possible_simple_keys()


def yaml_events(text: str) -> Iterator[Any]:
    """Yield the events of a text; raises what ruamel.yaml raises."""
    yaml: Any = YAML(typ="safe", pure=True)
    yaml.Scanner = NumberRowScanner
    return yaml.parse(text)


def recorded_events(text: str) -> Iterator[Any]:
    """Yield the events of a text as ``yaml_events`` does; a short one read just now is not read again.

    Whoever edits a sortie asks for its data and for where they stand.
    """
    if len(text) > LARGEST_RECORDED:
        yield from yaml_events(text)
        return
    events, error = _recorded(text)
    yield from events
    if error is not None:
        raise error.with_traceback(None)


@lru_cache(maxsize=2)
def _recorded(text: str) -> tuple[tuple[Any, ...], Exception | None]:
    events: list[Any] = []
    depth = 0
    try:
        for event in yaml_events(text):
            events.append(event)  # one by one: those before a fault count as well
            depth += isinstance(event, CollectionStartEvent) - isinstance(event, CollectionEndEvent)
            if depth > DEEPEST:  # whoever reads the data stops here, and the rest could take long
                raise ValueError("deeper than is read")
    except Exception as error:  # on absurd text the library also fails with errors of its own code
        return tuple(events), error
    return tuple(events), None


def syntax_problem(name: str, text: str, error: Exception) -> Problem:
    """Return what ruamel.yaml found wrong with a text, in plain words at its line."""
    found: Any = error
    if isinstance(error, ReaderError):
        line = text.count("\n", 0, max(found.position - 1, 0)) + 1
        return Problem(
            name, line, "", "", f"the control character U+{found.character:04X} is not text", "Delete it"
        )
    if not isinstance(error, MarkedYAMLError):
        return Problem(name, None, "", "", f"this is not YAML ({type(error).__name__})")
    mark = found.problem_mark or found.context_mark
    line = mark.line + 1 if mark else None
    said = f"{found.problem or ''} {found.context or ''}"
    for fragment, words, hint in _PLAIN_WORDS:
        if fragment in said:
            return Problem(name, line, "", "", words, hint)
    return Problem(name, line, "", "", f"this is not YAML: {(found.problem or str(error)).splitlines()[0]}")


_PLAIN_WORDS: tuple[tuple[str, str, str], ...] = (
    ("mapping values are not allowed", 'a ":" is not expected here', 'Text that has ": " in it needs quotes'),
    (
        "could not find expected ':'",
        'this line is not "key: value"',
        "Is a colon, or a space after it, missing?",
    ),
    ("found character '\\t'", "a tab stands here", "Indent with spaces"),
    ("found a tab", "a tab stands here", "Indent with spaces"),
    ("found character '%'", "a value cannot begin with %", 'Put it in quotes: "%"'),
    ("found character '@'", "a value cannot begin with @", "Put it in quotes"),
    ("found character '`'", "a value cannot begin with `", "Put it in quotes"),
    ("expected ',' or ']'", 'a "," or the closing "]" is missing', ""),
    ("expected ',' or '}'", 'a "," or the closing "}" is missing', ""),
    ("found unexpected end of stream", "the text ends inside quotes", "Close them"),
    ("found unexpected document separator", "the text ends inside quotes", "Close them"),
    (
        "sequence entries are not allowed",
        'a "-" is not expected here',
        "Put the list on the lines below the key",
    ),
    ("expected <block end>", "this does not fit the lines above", "Check indentation, quotes and brackets"),
    ("but found '<stream end>'", "the file ends inside brackets", "Close them"),
    ("did not find expected", "this does not fit the lines above", "Check indentation, quotes and brackets"),
    (
        "found unknown escape character",
        "this backslash sequence is unknown",
        "Use single quotes, or write \\\\",
    ),
)
