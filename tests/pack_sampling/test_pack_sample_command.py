"""The command: options are checked before anything is sampled, and nothing is written over."""

from pathlib import Path

import pytest

from sortiewright.commands.pack_sample import sample
from sortiewright.pack import FileError, InputError, load_pack
from sortiewright.procedures import load_procedures, prove
from sortiewright.sortie import load_sortie


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"name": "My Jet"}, "--name.*is not a pack's name"),
        ({"takeoff_flap": 24.0}, "--takeoff-flap.*24 is not a share"),
        ({"seats": 3}, "--seats.*3 is not a number of seats"),
    ],
)
def test_options_that_no_pack_can_have_are_refused_first(tmp_path: Path, options: dict[str, str], said: str):
    with pytest.raises(InputError, match=said):
        sample("T38", out=tmp_path / "new", **options)

    assert not (tmp_path / "new").exists()


def test_a_folder_in_use_is_refused_before_sampling(tmp_path: Path):
    (tmp_path / "kept.txt").write_text("mine", encoding="utf-8")

    with pytest.raises(FileError, match="is not an empty folder"):
        sample("T38", out=tmp_path)


@pytest.mark.slow
def test_the_command_writes_a_pack_that_loads_and_says_what_is_not_the_models(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    sample("T37", out=tmp_path / "trainer", name="trainer", takeoff_flap=0.4, seats=2)
    printed = " ".join(capsys.readouterr().out.split())

    assert printed.startswith("trainer written to")
    assert "Technique (rotation speed, attitude, approach) is a placeholder" in printed
    assert "Checklists and debrief rules are generic" in printed
    assert "lever at 0.4" in (tmp_path / "trainer" / "aero.yaml").read_text(encoding="utf-8")

    procedures = load_procedures(load_pack(tmp_path / "trainer"))
    first = load_sortie(tmp_path / "trainer" / "sorties" / "first.yaml")
    assert "sorties/first.yaml --checklists" in printed.replace("\\", "/")
    assert "The first sortie comes out as" in printed
    assert list(procedures.pack.mass.seats) == list(first.sortie.crew) == ["front", "rear"]
    assert prove(procedures).proved
