"""The checks that several kinds of fault share: names that must exist, conditions that must be read."""

from __future__ import annotations

import keyword
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from sortiewright.expressions import ExpressionError, Vocabulary, channel_vocabulary, parse_expression
from sortiewright.pack import Pack, Problem, choice_hint, shown
from sortiewright.procedures.filling import slot_faults
from sortiewright.procedures.places import KeyPath
from sortiewright.procedures.vocabulary import control_vocabulary, sortie_vocabulary
from sortiewright.sortie import figure_kinds

if TYPE_CHECKING:
    from sortiewright.procedures.loading import Procedures


class Checks:
    """What the procedures of one pack are held against."""

    def __init__(self, procedures: Procedures) -> None:
        self.procedures = procedures
        self.pack: Pack = procedures.pack
        self.seats = tuple(procedures.pack.mass.seats)
        self.of_sortie = sortie_vocabulary(procedures.pack)
        self.of_cockpit = control_vocabulary(procedures.cockpit)
        self.of_channels = channel_vocabulary(self.pack.mass.tanks)
        self._kinds = figure_kinds(procedures.pack)
        cockpit = procedures.cockpit
        self.positions = {name: one.positions for name, one in cockpit.controls.items()}
        self.positions |= {name: one.values for name, one in cockpit.states.items()}

    def problem(self, path: KeyPath, read: str, expected: str, hint: str = "") -> Problem:
        """Return a fault at a key path."""
        return self.procedures.places.problem(path, read, expected, hint)

    def known(self, path: KeyPath, word: str, choices: Iterable[str], what: str) -> Iterator[Problem]:
        """Yield a fault where a word is none of the choices."""
        names = list(choices)
        if word not in names:
            yield self.problem(path, shown(word), f"is none of the {what}", choice_hint(word, names, what))

    def once(self, path: KeyPath, words: Sequence[str]) -> Iterator[Problem]:
        """Yield a fault for each word that stands twice in a list."""
        for number, word in enumerate(words):
            if word in words[:number]:
                yield self.problem((*path, number), shown(word), "stands here twice")

    def is_name(self, path: KeyPath, name: str) -> Iterator[Problem]:
        """Yield a fault where conditions could not speak of a name."""
        if not name.isidentifier() or not name.isascii() or keyword.iskeyword(name):
            hint = "Letters, digits and _ only, beginning with a letter, and no word of the conditions"
            yield self.problem(path, shown(name), "cannot be used as a name", hint)

    def has_text(self, path: KeyPath, text: str, expected: str = "is empty") -> Iterator[Problem]:
        """Yield a fault where there is nothing to read."""
        if not text.strip():
            yield self.problem(path, "", expected)

    def sets(self, path: KeyPath, changes: Mapping[str, str]) -> Iterator[Problem]:
        """Yield what is wrong with controls and states that are set."""
        for name, position in changes.items():
            here = (*path, name)
            yield from self.known(here, name, self.positions, "controls and states")
            if name in self.positions:
                yield from self.known(here, position, self.positions[name], f"positions of {name}")

    def condition(self, path: KeyPath, text: str, vocabulary: Vocabulary) -> Iterator[Problem]:
        """Yield what is wrong with a condition; an empty one is none."""
        if not text:
            return
        try:
            parse_expression(text, vocabulary)
        except ExpressionError as error:
            for fault in error.faults:
                is_part = len(error.text) > fault.end - fault.start
                where = f"{fault.read} (character {fault.start + 1})" if is_part else fault.read
                yield self.problem(path, where, fault.expected, fault.hint)

    def texts(self, path: KeyPath, texts: Mapping[str, Sequence[str]]) -> Iterator[Problem]:
        """Yield what is wrong with the numbers that texts ask for, by key."""
        for key, lines in texts.items():
            for line in lines:
                for fault in slot_faults(line, self.pack, self._kinds):
                    yield self.problem((*path, key), fault.read, fault.expected, fault.hint)
