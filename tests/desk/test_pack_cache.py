"""A pack is loaded once, and again as soon as one of its files, or its overlay, is another."""

import shutil

import pytest

from sortiewright.desk.current import opened_sortie
from sortiewright.desk.pack_cache import MOST_KEPT, PackCache
from sortiewright.desk.shelf import Shelf
from sortiewright.pack import FileError, load_pack, pack_folder


@pytest.fixture
def folder(tmp_path):
    """Return a copy of a shipped pack's folder."""
    return shutil.copytree(pack_folder("whinchat"), tmp_path / "whinchat")


def test_an_unchanged_pack_is_the_same_object(folder):
    packs = PackCache()

    assert packs(folder) is packs(folder)
    assert packs(folder).digest == load_pack(folder).digest


def test_a_pack_that_was_written_is_loaded_again(folder):
    packs = PackCache()
    before = packs(folder)
    file = folder / "mass.yaml"
    file.write_text(file.read_text("utf-8") + "# one more line\n", "utf-8")

    assert packs(folder) is not before
    assert packs(folder).digest != before.digest


def test_a_pack_that_cannot_be_read_any_more_is_told_not_remembered(folder):
    packs = PackCache()
    packs(folder)
    shutil.rmtree(folder)

    with pytest.raises(FileError):
        packs(folder)


def test_few_packs_are_kept(tmp_path):
    packs = PackCache()
    folders = [shutil.copytree(pack_folder("whinchat"), tmp_path / str(n)) for n in range(MOST_KEPT + 1)]
    first = packs(folders[0])
    for one in folders[1:]:
        packs(one)

    assert packs(folders[-1]) is packs(folders[-1])
    assert packs(folders[0]) is not first


def test_a_sortie_is_planned_alike_with_a_pack_that_was_kept():
    entry, packs = next(one for one in Shelf().entries() if one.name == "trainer_circuits"), PackCache()

    fresh = opened_sortie(entry)
    kept = [opened_sortie(entry, packs=packs) for _ in range(2)][1]

    figures = [
        [(one.name, one.value) for part in plan.sections for one in part.figures]
        for plan in (fresh.plan, kept.plan)
    ]
    assert repr(figures[0]) == repr(figures[1])
