"""The packs that come with the program load, say where their numbers come from, and can be drawn."""

import subprocess
import sys

import pytest

from sortiewright.pack import draw_pack, load_pack, pack_names, packs_available, summarise_pack

NAMES = pack_names()


def test_both_demonstration_packs_are_there():
    assert {"dotterel", "whinchat"} <= set(NAMES)
    assert [entry.name for entry in packs_available()] == NAMES
    assert all(entry.title and entry.version and entry.summary for entry in packs_available())


@pytest.mark.parametrize("name", NAMES)
def test_a_shipped_pack_loads_and_can_be_summed_up(name):
    loaded = load_pack(name)

    assert loaded.pack.name == name
    assert loaded.sources
    assert loaded.remarks == ()
    assert len(loaded.digest) == 64
    assert all(row.value != "" for row in summarise_pack(loaded))


@pytest.mark.parametrize(("name", "theme"), [(name, "night" if i else "day") for i, name in enumerate(NAMES)])
def test_a_shipped_pack_can_be_drawn(name, theme, tmp_path):
    files = draw_pack(load_pack(name).pack, tmp_path, theme)

    assert all(path.stat().st_size > 5000 for path in files)


# What a start of the program may not wait for.
def test_the_face_and_a_load_need_neither_pint_nor_matplotlib_nor_scipy():
    code = (
        "import sys; from sortiewright.pack import load_pack; load_pack('dotterel');"
        "print([name for name in ('pint', 'matplotlib', 'scipy') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert done.stdout.strip() == "[]"


def test_every_name_of_the_face_is_there():
    import sortiewright.pack as face

    assert all(getattr(face, name) is not None for name in face.__all__)
