"""What cannot be made a pack is refused in words."""

from pathlib import Path

import pytest

from sortiewright.pack import FileError, InputError
from sortiewright.pack_sampling import require_new_folder, sample_model, write_pack_folder


@pytest.mark.parametrize(
    ("model", "said"),
    [
        ("T39", 'is not an aircraft of JSBSim .*Did you mean "T38"'),
        ("SGS", "has no engine"),
        ("ball", "has no engine"),
        ("X15", "has rocket engines"),
        ("F450", "has electric engines"),
        ("XB-70", "has 6 engines: a pack has 1 to 4"),
        ("p51d", "tail wheel: takeoff on a tail wheel is not modelled"),
        ("Short_S23", "has no wheels"),
        ("Boeing314", "has no main wheels left and right"),
        ("Pterosaur", "has electric engines"),
        ("f22", "does not answer to its stick"),
    ],
)
def test_a_model_that_makes_no_pack_is_refused_with_the_reason(model: str, said: str):
    with pytest.raises(InputError, match=said):
        sample_model(model)


def test_a_file_that_is_no_model_is_refused(tmp_path: Path):
    broken = tmp_path / "broken" / "broken.xml"
    broken.parent.mkdir()
    broken.write_text("<fdm_config><metrics>", encoding="utf-8")

    with pytest.raises(InputError, match="model broken"):
        sample_model(str(broken))


def test_a_folder_that_holds_something_is_not_written_over(tmp_path: Path):
    write_pack_folder(tmp_path / "new", {"pack.yaml": "name: a\n", "tables/a.csv": "x\n"})
    require_new_folder(tmp_path / "other")

    assert (tmp_path / "new" / "tables" / "a.csv").read_text() == "x\n"
    with pytest.raises(FileError, match="not an empty folder"):
        require_new_folder(tmp_path / "new")
