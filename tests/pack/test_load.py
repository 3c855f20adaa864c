"""A valid pack loads as written; a broken one says where, what, and what to do."""

import math
import os
import pickle

import numpy as np
import pytest

from sortiewright.pack import FileError, InputError, Problem, load_pack, summarise_pack


def test_a_pack_loads_into_si(pack_folder):
    loaded = load_pack(pack_folder)
    pack = loaded.pack

    assert (pack.name, pack.version) == ("wren", "1.10")
    assert pack.airframe.wing_area == 18.0
    assert pack.airframe.tail_strike_attitude == pytest.approx(math.radians(14))
    assert pack.mass.envelope[0].centre_of_gravity == pytest.approx(0.20)
    assert pack.wheels.tyre_speed_limit == pytest.approx(160 * 1852 / 3600)
    assert pack.book[0].conditions == {"mass": "3000 kg", "rcr": "23"}
    assert loaded.notes.startswith("# Wren")
    assert loaded.remarks == ()


def test_tables_load_from_both_forms(pack_folder):
    pack = load_pack(pack_folder).pack
    thrust = pack.engine.settings["military"].thrust
    rpm = pack.engine.run_up[0].rpm

    # Half way in both axes: the mean of four cells of the CSV file, in lbf.
    middle = (3300 + 1900 + 3000 + 1800) / 4 * 4.4482216152605
    assert float(thrust(0.15, 10000 * 0.3048)) == pytest.approx(middle, rel=1e-12)
    assert thrust.name == "engine.settings.military.thrust"
    assert thrust.range_of("pressure_altitude") == (0.0, pytest.approx(6096.0))
    assert float(rpm(288.15)) == pytest.approx(1.0)
    lift = pack.aero.configurations["clean"].lift
    assert np.degrees(lift.axes[0]) == pytest.approx([-4, 0, 8, 16])
    assert lift.source == "Invented"


def test_a_csv_grid_may_be_turned(pack_folder):
    straight = load_pack(pack_folder).pack
    grid = pack_folder / "tables" / "military_thrust.csv"
    grid.write_text("pressure_altitude ft\\mach,0,0.3,0.6\n0,3300,3000,2900\n20000,1900,1800,1750\n")

    turned = load_pack(pack_folder).pack

    same = [pack.engine.settings["military"].thrust.values.tolist() for pack in (straight, turned)]
    assert same[0] == same[1]


def test_sources_are_kept_by_key_with_their_line(pack_folder):
    loaded = load_pack(pack_folder)

    source = loaded.sources["airframe.wing_area"]
    assert (source.text, source.note) == ("Invented, drawing 1", "without strakes")
    assert (source.file, source.line) == ("airframe.yaml", 1)
    assert loaded.sources["limits.gear_speed"].text == "Invented, placard"
    # A limit's note is a field of its own and stays there.
    assert loaded.pack.limits.flap_speed["landing"].note == "Flaps 30"
    assert "limits.flap_speed.landing" not in loaded.sources
    assert loaded.where("engine", "settings", "military", "thrust", "values") == "engine.yaml:12"


def test_the_digest_follows_content_not_line_ends(pack_folder):
    before = load_pack(pack_folder).digest
    mass = pack_folder / "mass.yaml"
    mass.write_bytes(mass.read_bytes().replace(b"\n", b"\r\n"))
    assert load_pack(pack_folder).digest == before

    table = pack_folder / "tables" / "rpm.csv"
    table.write_text(table.read_text().replace("101.5", "101.6"))
    assert load_pack(pack_folder).digest != before


def test_a_loaded_pack_travels_to_another_process(pack_folder):
    loaded = load_pack(pack_folder)

    again = pickle.loads(pickle.dumps(loaded))

    assert again.digest == loaded.digest
    assert float(again.pack.engine.settings["idle"].thrust(0.0, 0.0)) == pytest.approx(500.0)


def test_a_pack_is_found_by_folder_and_by_its_file(pack_folder, monkeypatch):
    assert load_pack(str(pack_folder)).pack.name == "wren"
    assert load_pack(pack_folder / "pack.yaml").pack.name == "wren"
    monkeypatch.chdir(pack_folder.parent)
    assert load_pack("wren").pack.name == "wren"


def test_a_summary_has_a_row_for_what_a_crew_asks_first(pack_folder):
    rows = {row.label: (row.value, row.unit) for row in summarise_pack(load_pack(pack_folder))}

    assert rows["wing area"] == (18.0, "m2")
    assert rows["usable internal fuel"] == (795.0, "kg")
    assert rows["static thrust of one, Full power"][0] == pytest.approx(3300 * 4.4482216152605)


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("no such pack", "no such pack  there is no such pack"),
        ("doterel", 'doterel  there is no such pack. Did you mean "dotterel"?'),
        ("", ".  this folder holds no pack. A pack has a pack.yaml and its parts beside it"),
        ("a\0b", "there is no such pack"),
        ("x" * 5000, "there is no such pack"),
    ],
)
def test_an_unknown_name_is_refused(name, said, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(InputError) as caught:
        load_pack(name)

    assert said in str(caught.value)


def test_a_folder_or_file_that_is_no_pack_is_refused_in_one_line(tmp_path):
    (tmp_path / "notes.txt").write_text("words")
    for path, said in (
        (tmp_path, "this folder holds no pack"),
        (tmp_path / "notes.txt", "a pack is a folder"),
    ):
        with pytest.raises(InputError) as caught:
            load_pack(path)
        assert said in str(caught.value)
        assert len(caught.value.problems) == 1


AIRFRAME, AERO, ENGINE, MASS = "airframe.yaml", "aero.yaml", "engine.yaml", "mass.yaml"
CSV = "tables/clean_drag.csv"
FIRST_ROW = "- [-0.2, -0.22]"

ONE_FAULT = [
    # Numbers and units
    (
        AIRFRAME,
        "10.0 m",
        "10.0 mtr",
        '2  span: "10.0 mtr" is not a length: "mtr" is not a known unit. Write one of:',
    ),
    (AIRFRAME, "10.0 m", "10.0 kg", '2  span: "10.0 kg" is not a length: "kg" measures mass, not length.'),
    (AIRFRAME, "10.0 m", "10,0 m", '2  span: "10,0 m" is not a quantity. Write a number and a unit: 10.0 m'),
    (AIRFRAME, "10.0 m", "10", "2  span: 10 has no unit. Write a number and a unit: 10 m"),
    (AIRFRAME, "10.0 m", ".nan", "2  span: nan is not a finite number"),
    (AIRFRAME, "10.0 m", "", "2  span: the value is missing. Write it like this: 3.2 m"),
    (AIRFRAME, "10.0 m", "[10 m]", "2  span: a list is not a length."),
    (AIRFRAME, "10.0 m", "{m: 10}", "2  span: a mapping is not a length."),
    (AIRFRAME, "10.0 m", "true", "2  span: true is not a length."),
    (AIRFRAME, "10.0 m", "-1 m", '2  span: "-1 m" must be greater than 0'),
    (AIRFRAME, "18.0 m2", "-1 m2", '1  wing_area: "-1 m2" must not be negative'),
    (MASS, "2000 kg", "-2000 kg", '1  basic_mass: "-2000 kg" must be greater than 0'),
    (
        MASS,
        "lb/gal",
        "lb/gl",
        '8  fuel_density: "6.7 lb/gl" is not a density: "lb/gl" is not a known unit. Did you',
    ),
    # Wrong kinds of value
    (ENGINE, "count: 1", "count: 7", "1  count: 7 must be at most 4"),
    (ENGINE, "count: 1", "count: one", '1  count: "one" does not fit here. A whole number is wanted'),
    (ENGINE, "count: 1", "count: true", '1  count: "true" does not fit here. A whole number is wanted'),
    (ENGINE, "[30 psi, 60 psi]", "[30 psi]", "25  run_up[0].oil_pressure[1]: an entry is missing."),
    (
        ENGINE,
        "[30 psi, 60 psi]",
        "30 psi",
        '25  run_up[0].oil_pressure: "30 psi" does not fit here. A list of 2',
    ),
    (
        MASS,
        "front: {",
        "front: 3 #{",
        "4  seats.front: 3 does not fit here. A mapping is wanted with title, arm,",
    ),
    (
        "stores.yaml",
        "Drop tank",
        "370",
        "1  drop_tank.title: 370 does not fit here. Text is wanted, so put it in quotes",
    ),
    (
        "limits.yaml",
        "no-go",
        "nogo",
        '1  gear_speed.severity: "nogo" is not one of: no-go, caution. Did you mean "no-go"',
    ),
    ("pack.yaml", "name: wren", "name: My Wren", '1  name: "My Wren" cannot be used as a name here.'),
    ("pack.yaml", "title: Wren\n", "", "1  title: is missing. Text is wanted"),
    ("pack.yaml", "rights:", "engine: {}\nrights:", "5  engine: does not belong here. See engine.yaml"),
    # Tables inline
    (
        AERO,
        FIRST_ROW,
        "- [-0.2]",
        "9  configurations.clean.lift.values[0]: 1 entries do not fit mach, which has 2 steps",
    ),
    (AERO, FIRST_ROW, "- [-0.2, ~]", "9  configurations.clean.lift.values[0][1]: a value is missing."),
    (
        AERO,
        FIRST_ROW,
        "- [-0.2, .nan]",
        "9  configurations.clean.lift.values[0][1]: nan is not a finite number",
    ),
    (AERO, FIRST_ROW, "- [-0.2, x]", '9  configurations.clean.lift.values[0][1]: "x" is not a number'),
    (AERO, FIRST_ROW, "- 5", "9  configurations.clean.lift.values[0]: 5 is not a list."),
    (ENGINE, "unit: lbf", "unit: lb", '12  settings.military.thrust.unit: "lb" measures mass, not force.'),
    (ENGINE, ", unit: lbf", "", "12  settings.military.thrust: the unit of the values, a force, is missing."),
    (
        "wheels.yaml",
        "0.08, 0.2",
        "0.08, 2",
        "2  braking_friction.values[1]: 2 is outside what this table can hold,",
    ),
    (
        "wheels.yaml",
        "[4, 12, 26]",
        "[4, 4, 26]",
        "2  braking_friction.runway_condition_reading[1]: 4 does not lie above",
    ),
    # Names of files
    (
        AERO,
        CSV,
        "../secret.csv",
        '13  configurations.clean.drag.file: this is not a file of the pack: "../secret.csv".',
    ),
    (AERO, CSV, "/etc/passwd", "13  configurations.clean.drag.file: this is not a file of the pack:"),
    (
        AERO,
        CSV,
        "tables/no.csv",
        '13  configurations.clean.drag.file: there is no such file: "tables/no.csv"',
    ),
    (AERO, CSV, "tables", "13  configurations.clean.drag.file: this is a folder, a file is wanted"),
    # Names that must exist, and values that must fit
    (
        "technique.yaml",
        "configuration: clean",
        "configuration: claen",
        '2  takeoff.configuration: "claen" is not one of',
    ),
    (
        "technique.yaml",
        "military",
        "milltary",
        '3  takeoff.power: "milltary" is not one of the power settings. Did you',
    ),
    (
        "limits.yaml",
        "  landing:",
        "  lading:",
        '3  flap_speed.lading: "lading" is not one of the configurations. Did',
    ),
    (
        MASS,
        "[wing], [body]",
        "[wing, body], [wing]",
        '9  feed_order[2][0]: "wing" empties a second time here.',
    ),
    (MASS, "[wing], ", "", '9  feed_order: the tank "wing" never empties.'),
    (MASS, "[external], ", "", "9  feed_order: the tanks carried as stores never empty."),
    (
        MASS,
        "unusable: 5 kg",
        "unusable: 500 kg",
        "6  tanks.body.unusable: 500 kg (1102 lb) must be less than the capacity",
    ),
    (
        AIRFRAME,
        "3.4 m",
        "0.4 m",
        "8  main_wheel_arm: 0.40 m (1.3 ft) must lie aft of nose_wheel_arm, 1.00 m (3.3 ft)",
    ),
    (
        AIRFRAME,
        "14 deg",
        "0 deg",
        "13  tail_strike_attitude: 0.00 deg must be more than static_ground_attitude, 1.00",
    ),
    (
        MASS,
        "basic_arm: 3.1 m",
        "basic_arm: 4 m",
        "2  basic_arm: 4.00 m (13.1 ft) must lie between the wheels,",
    ),
    (MASS, "24 %MAC", "40 %MAC", "13  envelope: the edges from corners 1 and 3 cross."),
    (
        MASS,
        "3200 kg",
        "3700 kg",
        "19  maximum_takeoff_mass: 3550 kg (7826 lb) must not be less than maximum_landing_mass",
    ),
    (
        "wheels.yaml",
        "[4, 12, 26]",
        "[6, 12, 26]",
        "2  braking_friction: axis runway_condition_reading, 6 to 26, must",
    ),
    (
        "wheels.yaml",
        "9 MJ",
        "4 MJ",
        "7  energy_zones[1].above: 4.00 MJ (2.95 Mft.lbf) must be more than the zone before",
    ),
    (
        ENGINE,
        "[1.05, 1.0, 0.85]",
        "[1.05, 0.9, 0.85]",
        "20  settings.military.thrust_temperature_factor: 0.900 on a",
    ),
    (
        ENGINE,
        "30 psi, 60 psi",
        "60 psi, 30 psi",
        "25  run_up[0].oil_pressure: 414 kPa (60 psi) to 207 kPa (30 psi) must",
    ),
    ("technique.yaml", "pitch_rate: 3", "pitch_rate: 0", "5  takeoff.pitch_rate: 0 must be greater than 0"),
    (
        "technique.yaml",
        "[2000, 3600]",
        "[2400, 3600]",
        "4  takeoff.rotation_speed: axis mass, 2400 kg (5291 lb) to 3600",
    ),
    ("stores.yaml", ", kind: tank", "", "1  drop_tank.fuel_capacity: is for tanks only, this is a weapon."),
    ("stores.yaml", "mass: 60 kg", "mass: 450 kg", None),
]


@pytest.mark.parametrize(
    ("file", "old", "new", "said"), ONE_FAULT, ids=[f"{i} {case[0]}" for i, case in enumerate(ONE_FAULT)]
)
def test_one_slip_is_one_line_at_its_place(faults, file, old, new, said):
    lines = faults({file: (old, new)})

    if said is None:  # a store too heavy for both stations
        assert [line.split("  ")[0] for line in lines] == ["mass.yaml:11", "mass.yaml:12"]
        return
    assert len(lines) == 1, lines
    assert lines[0].startswith(f"{file}:{said}")


CSV_FAULT = [
    ("0,0.025,0.026", "0,0.025", ":4  2 cells do not fit the header's 3. Fill every cell"),
    ("0,0.025,0.026", "0,0,025,0.026", ":4  4 cells do not fit the header's 3. Is there a decimal comma?"),
    ("0.025,0.026", "0.025,1O", ':4  column 3: "1O" is not a number'),
    ("0.025,0.026", "0.025,", ":4  column 3: a value is missing. Every cell needs one"),
    ("0.025,0.026", "0.025,.nan", ':4  column 3: ".nan" is not a number'),
    ("8,0.06", "-1,0.06", ":5  angle_of_attack.values[2]: -1 does not lie above 0 before it."),
    ("angle_of_attack deg", "angle_of_attack ft", ':2  angle_of_attack: "ft" measures length, not angle.'),
    (
        "angle_of_attack deg",
        "angle_of_attack",
        ":2  angle_of_attack: the unit of angle is missing. Write it behind",
    ),
    ("angle_of_attack deg", "alpha deg", ":2  a table over alpha and mach does not fit here."),
    ("angle_of_attack deg \\ mach", "angle_of_attack deg", ":2  a header of 3 cells is not one of two."),
]


@pytest.mark.parametrize(("old", "new", "said"), CSV_FAULT)
def test_a_slip_in_a_csv_file_is_found_at_its_line(faults, old, new, said):
    lines = faults({CSV: (old, new)})

    assert len(lines) == 1, lines
    assert lines[0].startswith(f"{CSV}{said}")


def test_a_misspelt_key_names_the_right_one(faults):
    assert faults({AIRFRAME: ("span: 10.0 m", "spam: 10.0 m")}) == [
        "airframe.yaml:1  span: is missing. A length is wanted, for example 3.2 m",
        'airframe.yaml:2  "spam" is not a known key. Did you mean "span"?',
    ]


def test_a_misspelt_axis_is_named_with_the_one_that_is_missing(faults):
    lines = faults({"wheels.yaml": ("runway_condition_reading:", "runway_condition:")})

    assert lines == [
        'wheels.yaml:2  braking_friction: "runway_condition" is not a key of this table. '
        'Did you mean "runway_condition_reading"?',
        "wheels.yaml:2  braking_friction: the axis runway_condition_reading is missing. "
        "This table is over runway_condition_reading",
    ]


def test_faults_of_all_files_come_at_once_in_order(faults):
    lines = faults(
        {
            AIRFRAME: ("10.0 m", "10,0 m"),
            AERO: (FIRST_ROW, "- [-0.2, x]"),
            ENGINE: "count: [\n",
            MASS: ("2000 kg", "-2000 kg"),
            "limits.yaml": ("no-go", "maybe"),
            CSV: ("8,0.06", "8,z"),
            "wheels.yaml": None,
        }
    )

    assert [line.split("  ")[0] for line in lines] == [
        "airframe.yaml:2",
        "aero.yaml:9",
        "engine.yaml:2",
        "mass.yaml:1",
        "wheels.yaml",
        "limits.yaml:1",
        "tables/clean_drag.csv:5",
    ]


@pytest.mark.parametrize(
    ("file", "text", "said"),
    [
        (AIRFRAME, "", "airframe.yaml  this file is empty. Write its keys, or delete it"),
        (AIRFRAME, "just words", 'airframe.yaml:1  "just words" is not a mapping.'),
        (AIRFRAME, "- a\n", "airframe.yaml:1  a list is not a mapping."),
        ("book.yaml", "a: b\n", 'book.yaml:1  a mapping is not a list. Begin each entry with "- "'),
        (
            "book.yaml",
            "- 3\n",
            'book.yaml:1  [0]: "3" does not fit here. A mapping is wanted with quantity, value,',
        ),
        (CSV, "", "tables/clean_drag.csv:1  this file holds no table."),
        (CSV, "# nothing\n\n", "tables/clean_drag.csv:1  this file holds no table."),
        (AIRFRAME, None, "airframe.yaml  there is no such file"),
        ("pack.yaml", None, "pack.yaml  there is no such file"),
    ],
)
def test_a_file_without_what_it_should_hold(faults, file, text, said):
    lines = faults({file: text})

    assert len(lines) == 1, lines
    assert lines[0].startswith(said)


def test_parts_that_may_be_left_out(faults):
    assert faults({"book.yaml": None, "limits.yaml": None, "notes.md": None}) == []


def test_a_binary_table_and_a_huge_file_are_named(pack_folder):
    (pack_folder / CSV).write_bytes(b"\x89PNG\0\0")
    with (pack_folder / "mass.yaml").open("wb") as file:
        file.truncate(100_000_000)

    with pytest.raises(InputError) as caught:
        load_pack(pack_folder)

    assert str(caught.value).split("\n") == [
        "mass.yaml  this file is larger than 2 MB. Is it the right file?",
        "tables/clean_drag.csv:1  this is a binary file, text is wanted",
    ]


@pytest.mark.skipif(os.name == "nt", reason="links need rights on Windows")
def test_a_link_out_of_the_folder_is_not_followed(pack_folder, tmp_path):
    outside = tmp_path / "secret.csv"
    (pack_folder / CSV).rename(outside)
    (pack_folder / CSV).symlink_to(outside)

    with pytest.raises(InputError) as caught:
        load_pack(pack_folder)

    said = 'this leads out of the pack\'s folder: "tables/clean_drag.csv". Copy the file into the pack'
    assert str(caught.value) == f"aero.yaml:13  configurations.clean.drag.file: {said}"


def test_a_file_with_nearly_the_right_name_is_remarked(pack_folder):
    (pack_folder / "limits.yaml").rename(pack_folder / "limit.yaml")

    assert load_pack(pack_folder).remarks == (
        'limit.yaml  this file is not read. Did you mean "limits.yaml"?',
    )


def test_a_wrapped_value_may_stand_anywhere(faults):
    wrapped = "{value: [4, 12, 26], source: x}"

    assert (
        faults({MASS: ("maximum_ramp_mass: 3600 kg", "maximum_ramp_mass: {value: 3600 kg, note: y}")}) == []
    )
    assert (
        faults({MASS: ("[[external], [wing], [body]]", "{value: [[external], [wing], [body]], source: x}")})
        == []
    )
    lines = faults({"wheels.yaml": ("[4, 12, 26]", wrapped)})
    assert lines[0].startswith(
        'wheels.yaml:2  braking_friction.runway_condition_reading: "value" is not a key'
    )


def test_the_message_shows_fifty_lines_at_most():
    many = [Problem("f.yaml", i, "key", "1", "is wrong") for i in range(1, 61)]

    lines = str(InputError(many)).split("\n")

    assert len(lines) == 51
    assert lines[0] == "f.yaml:1  key: 1 is wrong"
    assert lines[-1] == "and 10 more faults"
    assert len(InputError(many).problems) == 60


def test_a_file_error_is_an_input_error():
    assert str(FileError("a.yaml", "there is no such file", "Is it there?")) == (
        "a.yaml  there is no such file. Is it there?"
    )
