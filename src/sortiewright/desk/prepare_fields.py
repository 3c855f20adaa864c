"""Fields of the forms: what a file says at a key, as it is written, with what is wrong with it beside it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from sortiewright.desk.editing import Path, Plain, check_path, pointer_of
from sortiewright.pack import Problem, key_text, record_shape, shape_at
from sortiewright.sortie import Sortie

NUMBER = r"[-+−]?(?:[0-9]+(?:[ \u202f,][0-9]{3})*(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][-+]?[0-9]+)?"
_QUANTITY = re.compile(rf"({NUMBER})\s*(.*)")

Control = Literal["text", "number", "choice", "area"]


@dataclass(frozen=True, slots=True)
class Choice:
    """One of the values that a field can take."""

    value: str
    title: str


YES_OR_NO = (Choice("true", "yes"), Choice("false", "no"))


@dataclass(frozen=True, slots=True)
class Field:
    """One field: ``pointer`` is its key as a JSON Pointer, ``unit`` what a bare number is taken in."""

    pointer: str
    id: str
    title: str
    value: str
    unit: str = ""
    placeholder: str = ""
    control: Control = "text"
    choices: tuple[Choice, ...] = ()
    problems: tuple[str, ...] = ()
    hint: str = ""
    words: str = ""
    """What it is, where several keys of the record at ``pointer`` hold it: a height, a speed, a heading."""


class Form:
    """Makes the fields of one text of a sortie."""

    def __init__(self, data: Mapping[str, Plain], problems: Sequence[Problem]) -> None:
        self.data, self.problems = data, problems
        self.placed: set[Problem] = set()
        """Problems that stand beside a field."""

    def value(self, *path: str | int) -> Plain | None:
        """Return what the text says at a key path, None if nothing."""
        found: Plain | None = self.data
        for key in path:
            if isinstance(found, Mapping):
                found = found.get(str(key))
            elif isinstance(found, Sequence) and not isinstance(found, str) and isinstance(key, int):
                found = found[key] if key < len(found) else None
            else:
                return None
        return found

    def text(self, *path: str | int) -> str:
        """Return the text at a key path; empty if there is none, or something larger."""
        found = self.value(*path)
        return found if isinstance(found, str) else ""

    def items(self, *path: str | int) -> Sequence[Plain]:
        """Return the list at a key path; one text is a list of one."""
        found = self.value(*path)
        if isinstance(found, str):
            return [found] if found else []
        return [] if found is None or isinstance(found, Mapping) else found

    def names(self, *path: str | int) -> list[str]:
        """Return the keys of the mapping at a key path."""
        found = self.value(*path)
        return list(found) if isinstance(found, Mapping) else []

    def problems_at(self, *path: str | int, below: bool = False) -> tuple[str, ...]:
        """Return what is wrong at a key path, or anywhere below it, in words."""
        key = key_text(path)
        found = [
            one
            for one in self.problems
            if one.key == key or (below and (one.key.startswith((f"{key}.", f"{key}["))))
        ]
        self.placed.update(found)
        return tuple(words_of(one) for one in found)

    def rest_at(self, *path: str | int) -> tuple[str, ...]:
        """Return what is wrong at or below a key path and stands beside no field made so far."""
        key = key_text(path)
        found = [
            one
            for one in self.problems
            if one not in self.placed and (one.key == key or one.key.startswith((f"{key}.", f"{key}[")))
        ]
        self.placed.update(found)
        return tuple(
            words_of(one) if one.key == key else f"{one.key[len(key) :].lstrip('.')}: {words_of(one)}"
            for one in found
        )

    @property
    def unplaced(self) -> tuple[str, ...]:
        """Return what is wrong and stands beside none of the fields made so far."""
        return tuple(str(one) for one in self.problems if one not in self.placed)

    def field(
        self,
        path: Path,
        title: str,
        *,
        unit: str = "",
        placeholder: str = "",
        choices: Sequence[Choice] = (),
        control: Control | None = None,
        hint: str = "",
    ) -> Field:
        """Return the field of a key path."""
        check_path(path)
        shape = shape_at(record_shape(Sortie), path)
        value, pointer = self.text(*path), pointer_of(path)
        if shape.sort == "quantity" and (found := _QUANTITY.fullmatch(value)):
            value, unit = found[1], found[2] or unit
        elif shape.sort == "quantity" and value:
            unit = ""  # what is written there is no quantity: it is shown as it is
        offered = tuple(choices)
        if not offered and shape.sort in ("choice", "flag"):
            offered = tuple(Choice(one, one.replace("_", " ")) for one in shape.choices) or YES_OR_NO
        if offered and value and value not in [one.value for one in offered]:
            offered = (*offered, Choice(value, value))
        sort: Control = "choice" if offered else "number" if shape.sort in ("quantity", "number") else "text"
        return Field(
            pointer,
            id_of(pointer),
            title,
            value,
            unit,
            placeholder,
            control or sort,
            offered,
            self.problems_at(*path),
            hint,
        )


def id_of(pointer: str) -> str:
    """Return the name that the field of a key has on the page."""
    return "f" + re.sub(r"[^A-Za-z0-9]+", "-", pointer)


def words_of(problem: Problem) -> str:
    """Return a problem as it stands beside its field: the field says where."""
    said = " ".join(part for part in (problem.read, problem.expected) if part)
    said = said[:1].upper() + said[1:]
    return f"{said}. {problem.hint}" if problem.hint else said


def quantity_text(value: str, unit: str) -> str:
    """Return what a person typed as a file has it: a bare number takes the field's unit."""
    typed = " ".join(value.replace("−", "-").split())
    found = _QUANTITY.fullmatch(typed)
    if found is None:
        return typed
    number = re.sub(r"[ \u202f,](?=[0-9]{3})", "", found[1])
    return f"{number} {found[2] or unit}".strip()
