"""Whatever stands in files of procedures: loading reads it or says what is wrong, and tailoring goes on.

``SORTIEWRIGHT_FULL=1`` breaks ten times as many.
"""

import functools
import os
import random

import pytest
from small_procedures import FILES, pack_with

from sortiewright.pack import InputError
from sortiewright.procedures import load_procedures, tailor_checklists
from sortiewright.sortie import demo_sortie_path, load_sortie, plan

PIECES = [
    *"{}[]:,'\"#&*!%@-\n \t0",
    "  ",
    ": ",
    "- ",
    "null",
    "true",
    "ON",
    "front",
    "battery",
    "{x}",
    "kt(",
    "()",
    "é",
]
"""What is put in: signs that mean something to YAML, to conditions or to texts, and words of the files."""


@functools.cache
def day():
    loaded = load_sortie(demo_sortie_path())
    return loaded.sortie, plan(loaded.sortie, loaded.pack)


def broken(chance: random.Random, text: str) -> str:
    """Return a text with one to three places changed: words put in, taken out, doubled, or lines swapped."""
    for _ in range(chance.randint(1, 3)):
        at = chance.randrange(len(text))
        end = min(at + chance.choice([1, 1, 2, 5, 20, 80]), len(text))
        match chance.randrange(4):
            case 0:
                text = text[:at] + chance.choice(PIECES) + text[at:]
            case 1:
                text = text[:at] + text[end:]
            case 2:
                text = text[:at] + chance.choice(PIECES) + text[end:]
            case _:
                text = text[:end] + text[at:end] + text[end:]
    return text


def try_one(seed: int, folder) -> bool:
    """Load and tailor one broken set of files; return whether it could be read."""
    chance = random.Random(seed)
    name = chance.choice(list(FILES))
    loaded = pack_with(folder, FILES | {name: broken(chance, FILES[name])})
    try:
        procedures = load_procedures(loaded)
    except InputError:
        return False
    tailor_checklists(procedures, *day())
    return True


def test_broken_files_are_read_or_refused_in_words(tmp_path):
    read = [try_one(seed, tmp_path) for seed in range(120)]

    assert 5 < sum(read) < 115


@pytest.mark.slow
def test_many_broken_files_are_read_or_refused_in_words(tmp_path):
    count = 3000 if os.environ.get("SORTIEWRIGHT_FULL") else 300
    read = [try_one(seed, tmp_path) for seed in range(1000, 1000 + count)]

    assert 0.05 * count < sum(read) < 0.95 * count
