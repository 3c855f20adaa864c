"""Editor schemas agree with the loader on what is right, and catch what is plainly wrong."""

import pytest
from jsonschema import Draft202012Validator

from sortiewright.pack import pack_folder as folder_of
from sortiewright.pack import pack_json_schema, pack_names, parse_yaml
from sortiewright.pack.load import HEAD, PARTS, WORDS_ONLY

ALL = (HEAD, *PARTS)


def found_by(part, text):
    data = parse_yaml(text, part, numbers=part not in WORDS_ONLY).data
    return [error.json_path for error in Draft202012Validator(pack_json_schema(part)).iter_errors(data)]


# The meta-schema of JSON Schema 2020-12, as the jsonschema library carries it.
@pytest.mark.parametrize("part", ALL)
def test_each_is_a_valid_schema(part):
    Draft202012Validator.check_schema(pack_json_schema(part))


@pytest.mark.parametrize("part", ALL)
def test_a_valid_pack_passes(part, pack_files):
    assert found_by(part, pack_files[f"{part}.yaml"]) == []


@pytest.mark.parametrize("name", pack_names())
def test_shipped_packs_pass(name):
    for part in ALL:
        path = folder_of(name) / f"{part}.yaml"
        if path.exists():
            assert found_by(part, path.read_text("utf-8")) == [], part


@pytest.mark.parametrize(
    ("part", "old", "new"),
    [
        ("airframe", "span:", "spam:"),
        ("airframe", "10.0 m", "10"),
        ("airframe", "10.0 m", "10,0 m"),
        ("airframe", "10.0 m", "-1 m"),
        ("engine", "count: 1", "count: 9"),
        ("limits", "no-go", "maybe"),
        ("aero", "file:", "fil:"),
        ("aero", "tables/clean_drag.csv", "/etc/passwd"),
        ("engine", "[30 psi, 60 psi]", "[30 psi]"),
        ("mass", "mass: 1900 kg, centre_of_gravity: 20 %MAC", "mass: 1900 kg"),
        ("pack", "name: wren", "name: My Wren"),
    ],
)
def test_plain_slips_are_marked(part, old, new, pack_files):
    text = pack_files[f"{part}.yaml"]
    assert text.count(old) == 1

    assert found_by(part, text.replace(old, new)) != []


def test_units_and_meanings_are_described():
    schema = pack_json_schema("airframe")

    lengths = schema["$defs"]["positive_length"]["description"]
    assert lengths == "A length with its unit (m, ft, in, cm, mm, km, nmi, NM, mi): 3.2 m."
    aero = pack_json_schema("aero")["$defs"]["Aero"]["properties"]["ground_effect"]["description"]
    assert aero.startswith("Factor on drag due to lift")


def test_a_part_that_is_none_is_refused_with_the_nearest():
    with pytest.raises(ValueError, match='Did you mean "engine"'):
        pack_json_schema("engin")
