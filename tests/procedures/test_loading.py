"""A pack's folder of procedures, read: what it holds, where it stands, and what is wrong with its files."""

import hashlib

import pytest
from small_procedures import FILES, LISTS, changed, fault_lines, pack_with, shipped, small_procedures

from sortiewright.pack import InputError
from sortiewright.procedures import has_procedures, load_procedures


def test_every_file_beside_the_two_holds_procedures(tmp_path):
    found = small_procedures(tmp_path)
    (tmp_path / "procedures" / "more.yaml").write_text(
        "taxi_back:\n  title: Taxi back\n  kind: abnormal\n  then: resume\n  items:\n"
        "    - {id: a, challenge: A, response: B, seat: front}\n",
        encoding="utf-8",
    )
    more = load_procedures(pack_with(tmp_path, {}))

    assert list(found.procedures) == ["before_start", "before_takeoff", "go_around", "no_airspeed"]
    assert list(more.procedures)[-1] == "taxi_back"
    assert found.pack.name == "dotterel"
    assert found.order.sortie == ("before_start", "before_takeoff")
    assert [item.id for item in found.procedures["before_start"].items] == [
        "battery",
        "rear_harness",
        "belly",
        "fuel",
    ]


# YAML 1.2.2, section 10.3.2: in the core schema ON, OFF, YES and NO are text. That 1 stays text is ours:
# these files hold words only.
def test_positions_stay_as_they_are_written(tmp_path):
    cockpit = small_procedures(tmp_path).cockpit

    assert cockpit.controls["battery"].positions == ("OFF", "ON")
    assert cockpit.controls["tank_selector"].positions == ("1", "2", "BELLY")
    assert cockpit.controls["tank_selector"].at_start == ("1", "2")
    assert cockpit.states["weight_on_wheels"].values == ("YES", "NO")


def test_a_text_may_stand_where_a_list_is_wanted(tmp_path):
    found = small_procedures(tmp_path).procedures

    assert found["before_takeoff"].items[1].notes == ("The gust counts.",)
    assert found["no_airspeed"].status == ("No speed is to be trusted.",)


def test_every_key_knows_its_file_and_line(tmp_path):
    found = small_procedures(tmp_path)
    lines = LISTS.split("\n")
    line = next(number for number, text in enumerate(lines, 1) if "crosswind > kt(10)" in text)

    assert found.where("procedures", "before_takeoff", "items", 1, "when") == f"procedures/lists.yaml:{line}"
    assert found.where("order", "invariants", 1, "first").startswith("procedures/order.yaml:")
    assert found.where("controls", "battery") == "procedures/controls.yaml:2"


def test_a_key_that_is_not_written_has_the_line_of_what_holds_it(tmp_path):
    found = small_procedures(tmp_path)

    assert found.where("procedures", "before_start", "when") == found.where("procedures", "before_start")


def test_sources_are_taken_off_and_kept(tmp_path):
    found = small_procedures(
        tmp_path, ("lists", "  phase: ground", "  phase: ground\n  source: common practice")
    )

    assert found.sources["procedures/lists.yaml"].text == "invented"
    assert found.sources["before_start"].text == "common practice"


def test_a_note_for_readers_of_the_file_on_an_item_is_remarked(tmp_path):
    found = small_procedures(tmp_path, ("lists", "notes: The gust counts.", "note: The gust counts."))

    assert found.procedures["before_takeoff"].items[1].notes == ()
    assert len(found.remarks) == 1
    assert "the crew reads notes" in found.remarks[0]


# The digest is a SHA-256 (FIPS 180-4); reckoned here again from the bytes on disk.
def test_the_digest_is_of_all_files(tmp_path):
    found = small_procedures(tmp_path)
    total = hashlib.sha256()
    for name in ("controls", "lists", "order"):
        text = (tmp_path / "procedures" / f"{name}.yaml").read_text(encoding="utf-8").rstrip()
        total.update(f"procedures/{name}.yaml\0{text}\0".encode())

    assert found.digest == total.hexdigest()


def test_line_ends_do_not_change_the_digest_and_words_do(tmp_path):
    first = small_procedures(tmp_path).digest
    for path in (tmp_path / "procedures").glob("*.yaml"):
        path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    same = load_procedures(pack_with(tmp_path, {})).digest
    other = small_procedures(tmp_path, ("lists", "response: MAX", "response: MIL")).digest

    assert first == same
    assert first != other


def test_a_pack_without_the_folder_has_no_procedures(tmp_path):
    loaded = pack_with(tmp_path, {})
    (tmp_path / "procedures").rmdir()

    assert not has_procedures(loaded)
    with pytest.raises(InputError, match="dotterel  has no procedures"):
        load_procedures(loaded)


@pytest.mark.parametrize(
    ("files", "line"),
    [
        ({"lists": LISTS}, "procedures/controls.yaml  there is no such file"),
        ({**FILES, "order": ""}, "procedures/order.yaml  this file is empty"),
        ({**FILES, "lists": ""}, "procedures/lists.yaml:1  this file is empty"),
        ({**FILES, "lists": "- a\n"}, "procedures/lists.yaml:1  a list is not a mapping of procedures"),
        ({**FILES, "lists": "before_start: soon\n"}, 'lists.yaml:1  before_start: "soon" is not a mapping'),
        ({**FILES, "lists": "Before start: {}\n"}, '"Before start" cannot be the name of a procedure'),
        ({**FILES, "lists": "a: [1, 2\n"}, "procedures/lists.yaml:2"),
        ({name: FILES[name] for name in ("controls", "order")}, "holds no procedure"),
    ],
)
def test_files_that_cannot_be_used_say_so(tmp_path, files, line):
    with pytest.raises(InputError) as caught:
        load_procedures(pack_with(tmp_path, files))

    assert line in str(caught.value)


def test_a_procedure_in_two_files_names_both(tmp_path):
    again = LISTS[LISTS.index("go_around:") : LISTS.index("no_airspeed:")]
    with pytest.raises(InputError) as caught:
        load_procedures(pack_with(tmp_path, {**FILES, "more": again}))

    said = '"go_around" stands in another file too. See procedures/lists.yaml:'
    assert str(caught.value).startswith(f"procedures/more.yaml:1  go_around: {said}")


def test_a_file_of_another_ending_is_remarked(tmp_path):
    loaded = pack_with(tmp_path, changed())
    (tmp_path / "procedures" / "taxi.yml").write_text("taxi: {}\n", encoding="utf-8")

    assert load_procedures(loaded).remarks == (
        "procedures/taxi.yml  this file is not read. Name it taxi.yaml",
    )


@pytest.mark.parametrize(
    ("change", "line"),
    [
        (
            ("lists", "challenge: Fuel\n", "chalenge: Fuel\n"),
            'before_start.items[3]: "chalenge" is not a known key.',
        ),
        (
            ("lists", "pace: apart", "pace: alone"),
            'before_start.pace: "alone" is not one of: together, apart',
        ),
        (
            ("lists", "id: belly\n", "id: Belly tank\n"),
            'items[2].id: "Belly tank" cannot be used as a name here',
        ),
        (
            ("lists", "any_one: true", "any_one: maybe"),
            'before_takeoff.items[0].any_one: "maybe" does not fit here',
        ),
        (
            ("controls", "positions: [UP, DOWN]", "positions: [DOWN]"),
            "controls.gear_handle.positions: a list has",
        ),
        (("order", "    why: The legs fold.\n", ""), "invariants[0].why: is missing"),
    ],
)
def test_what_does_not_fit_the_schema_is_told_with_its_key(tmp_path, change, line):
    faults = fault_lines(tmp_path, change)

    assert any(line in fault for fault in faults), faults


def test_faults_of_all_files_are_told_at_once_in_the_order_of_the_files(tmp_path):
    faults = fault_lines(
        tmp_path,
        ("lists", "pace: apart", "pace: alone"),
        ("controls", "title: Battery", "titel: Battery"),
        ("order", "    why: The legs fold.\n", ""),
    )
    files = [fault.split(":")[0] for fault in faults]

    assert sorted(set(files), key=files.index) == [
        "procedures/controls.yaml",
        "procedures/order.yaml",
        "procedures/lists.yaml",
    ]


def test_the_shipped_twin_is_not_changed_by_reading_it_from_elsewhere(tmp_path):
    small_procedures(tmp_path)

    assert shipped().folder != tmp_path
