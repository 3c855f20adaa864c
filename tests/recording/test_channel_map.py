"""Channel maps: what they may say, and where it is said when they say what cannot be."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sampled_flight import FOOT, POUND, write_csv

from sortiewright.pack import CHANNELS, COMMON_UNITS, InputError, parse_yaml
from sortiewright.recording import ChannelMap, load_channel_map, map_text, proposed_map, read_recording

SAMPLES = Path(__file__).parents[1] / "data" / "recordings"
COLUMNS = {
    "t": np.arange(20.0),
    "a": np.linspace(100.0, 200.0, 20),
    "b": np.linspace(-1.0, 1.0, 20),
    "c": np.arange(20.0) % 3,
}


@pytest.fixture
def table(tmp_path):
    return write_csv(tmp_path / "flight.csv", COLUMNS, digits=17)


def written(tmp_path, text):
    path = tmp_path / "map.yaml"
    path.write_text(text, encoding="utf-8")
    return path


# NIST SP 811 (2008), appendix B.8: foot 0.3048 m, knot 0.514444 m/s, pound 0.45359237 kg; degree pi/180 rad;
# 32 F is 0 degC, 491.67 R is 273.15 K.
@pytest.mark.parametrize(
    ("channel", "use", "expected"),
    [
        ("altitude", "{column: a, unit: ft}", COLUMNS["a"] * 0.3048),
        ("ground_speed", "{column: a, unit: kt}", COLUMNS["a"] * 1852 / 3600),
        ("vertical_speed", "{column: a, unit: ft/min}", COLUMNS["a"] * 0.00508),
        ("fuel_mass", "{column: a, unit: lb}", COLUMNS["a"] * 0.45359237),
        ("pitch", "{column: b, unit: deg}", np.radians(COLUMNS["b"])),
        ("pitch", "{column: b, unit: deg, invert: true}", -np.radians(COLUMNS["b"])),
        ("true_heading_deg", "{column: a, unit: deg}", COLUMNS["a"]),
        ("true_heading_deg", "{column: a, unit: deg, offset: 250}", (COLUMNS["a"] + 250) % 360),
        ("latitude_deg", "{column: b, unit: rad}", np.degrees(COLUMNS["b"])),
        ("outside_air_temperature", "{column: a, unit: degF}", (COLUMNS["a"] - 32) / 1.8 + 273.15),
        ("outside_air_temperature", "{column: a, unit: degC, scale: 0.1}", COLUMNS["a"] * 0.1 + 273.15),
        ("engine_speed_left", "{column: a, unit: '%'}", COLUMNS["a"] / 100),
        ("flap_position", "{column: a, full: 200}", COLUMNS["a"] / 200),
        ("stick_pitch", "{column: b, invert: true}", -COLUMNS["b"]),
        ("load_factor_normal", "{column: a, unit: m/s2}", COLUMNS["a"] / 9.80665),
        ("weight_on_wheels_left", "{column: c, true: 2}", (COLUMNS["c"] == 2).astype(float)),
        ("weight_on_wheels_left", "{column: c, invert: true}", (COLUMNS["c"] < 0.5).astype(float)),
        ("altitude", "a", COLUMNS["a"]),
    ],
)
def test_a_column_becomes_a_channel_as_the_map_says(tmp_path, table, channel, use, expected):
    chosen = written(tmp_path, f"time: t\nchannels:\n  {channel}: {use}\n")

    assert np.allclose(read_recording(table, chosen).number(channel), expected, rtol=1e-9)


def test_words_of_a_choice_are_those_of_the_map(tmp_path, table):
    chosen = written(
        tmp_path, "time: t\nchannels:\n  drag_chute: {column: c, words: {0: stowed, 1: deployed}}\n"
    )
    found = read_recording(table, chosen).columns["drag_chute"].tolist()

    assert found[:3] == ["stowed", "deployed", ""]


def test_constants_fill_what_the_file_lacks_and_give_the_gross_weight(tmp_path, table):
    constants = "constants:\n  zero_fuel_mass: 7500 lb\n  pressure_altitude: 1500 ft\n  wind_from_deg: 240\n"
    chosen = written(tmp_path, f"time: t\nchannels:\n  fuel_mass: {{column: a, unit: lb}}\n{constants}")
    found = read_recording(table, chosen)

    assert np.allclose(found.number("gross_mass"), (COLUMNS["a"] + 7500) * POUND)
    assert np.allclose(found.number("pressure_altitude"), 1500 * FOOT)
    assert np.allclose(found.number("wind_from_deg"), 240.0)
    assert "zero fuel mass" in found.derived["gross_mass"]


FAULTS = {
    "channels:\n  ground_sped: a": ("map.yaml:3", '"ground_sped" is no channel', "ground_speed"),
    "channels:\n  altitude: {column: a, unit: kt}": ("map.yaml:3", "measures speed, not length", "ft"),
    "channels:\n  altitude: {column: a, unit: kmm}": ("map.yaml:3", "is not a known unit", "km"),
    "channels:\n  altitude: {column: q}": ("map.yaml:3", '"q" is no column of', "Its columns: t, a, b, c"),
    "channels:\n  altitude: {colum: a}": ("map.yaml:3", "is not a known key", "column"),
    "channels:\n  altitude: {unit: ft}": ("map.yaml:3", "is missing", ""),
    "channels:\n  pitch: {column: a, full: 3}": ("map.yaml:3", "is for positions", ""),
    "channels:\n  flap_position: {column: a, unit: deg}": ("map.yaml:3", "plain number", "Write full:"),
    "channels:\n  flap_position: {column: a, full: 0}": ("map.yaml:3", "must not be 0", ""),
    "channels:\n  altitude: {column: a, scale: 0}": ("map.yaml:3", "would make all values alike", ""),
    "channels:\n  drag_chute: {column: c, words: {1: open}}": ("map.yaml:3", "is no word", "deployed"),
    "channels:\n  drag_chute: {column: c, true: 1}": ("map.yaml:3", "is not a truth", ""),
    "channels:\n  time: a": ("map.yaml:3", "has a place of its own", ""),
    "channels: {}": ("map.yaml:2", "it takes no column", ""),
    "channels:\n  altitude: a\nconstants:\n  gross_mass: 11000": ("map.yaml:5", "has no unit", "11000 kg"),
    "channels:\n  altitude: a\nconstants:\n  gros_mass: 1 kg": ("map.yaml:5", "is no channel", "gross_mass"),
    "channels:\n  altitude: a\nconstants:\n  drag_chute: out": ("map.yaml:5", "cannot be constant", ""),
    "channels:\n  altitude: a\nwind:\n  north: {column: b, unit: ft}\n  east: b": (
        "map.yaml:5",
        "not speed",
        "",
    ),
}


@pytest.mark.parametrize(("text", "said"), FAULTS.items(), ids=[text[10:60] for text in FAULTS])
def test_a_fault_of_a_map_is_said_with_its_line_and_what_to_write(tmp_path, table, text, said):
    with pytest.raises(InputError) as caught:
        read_recording(table, written(tmp_path, f"time: t\n{text}\n"))
    message = str(caught.value)

    assert all(part in message for part in said), message


def test_all_faults_of_a_map_are_said_at_once(tmp_path, table):
    text = "time: t\nchannels:\n  altitud: a\n  pitch: {column: b, unit: kg}\n  bank: {column: b, unit: s}\n"
    with pytest.raises(InputError) as caught:
        read_recording(table, written(tmp_path, text))

    assert [problem.line for problem in caught.value.problems] == [3, 4, 5]


def test_every_column_that_is_not_there_is_named_with_its_near_ones(tmp_path, table):
    text = "time: t\nchannels:\n  altitude: A\n  pitch: bb\n  bank: b\n"
    with pytest.raises(InputError) as caught:
        read_recording(table, written(tmp_path, text))

    assert [problem.line for problem in caught.value.problems] == [3, 4]
    assert 'Did you mean "a"?' in str(caught.value)


def test_a_map_of_another_file_says_that_it_names_no_column(tmp_path, table):
    with pytest.raises(InputError, match="none of the columns that the map names is in it"):
        read_recording(table, written(tmp_path, "time: x\nchannels:\n  altitude: y\n  pitch: z\n"))


def test_a_map_that_is_no_yaml_or_not_there_is_refused(tmp_path, table):
    with pytest.raises(InputError, match="no such file"):
        read_recording(table, tmp_path / "none.yaml")
    with pytest.raises(InputError):
        read_recording(table, written(tmp_path, "time: [\n"))
    with pytest.raises(InputError, match="empty"):
        read_recording(table, written(tmp_path, ""))


@pytest.mark.parametrize("name", ["nominal", "flawed_departure"])
def test_a_written_proposal_is_a_map_that_reads_the_same_recording(tmp_path, name):
    path = SAMPLES / f"{name}.csv.gz"
    chosen = written(tmp_path, proposed_map(path).text())
    one, other = read_recording(path), read_recording(path, chosen)

    assert one.columns.keys() == other.columns.keys()
    assert all(np.array_equal(one.columns[key], other.columns[key], equal_nan=True) for key in one.columns)
    assert one.unmapped == other.unmapped


NAMES = st.text(
    st.characters(min_codepoint=32, max_codepoint=0x2FFF, exclude_categories=("Cs", "Cc")), min_size=1
)
NUMBERS = st.sampled_from(
    [
        name
        for name, one in CHANNELS.items()
        if one.kind == "number" and one.unit in COMMON_UNITS and name != "time"
    ]
)


@given(st.data())
@settings(max_examples=60)
def test_a_map_written_as_yaml_is_read_back_unchanged(data):
    channels = {}
    for channel in data.draw(st.lists(NUMBERS, unique=True, max_size=4)):
        units = list(COMMON_UNITS[CHANNELS[channel].unit])
        channels[channel] = {
            "column": data.draw(NAMES),
            "unit": data.draw(st.sampled_from(units)),
            "invert": data.draw(st.booleans()),
            "scale": data.draw(st.sampled_from([1.0, 0.01, -2.5])),
        }
    made = ChannelMap.model_validate({"time": {"column": data.draw(NAMES)}, "channels": channels})
    document = parse_yaml(map_text(made), "map.yaml")

    assert ChannelMap.model_validate(document.data) == made


def test_a_map_given_by_the_program_names_the_recording_in_its_fault(table):
    chosen = ChannelMap.model_validate({"time": "t", "channels": {"altitude": "nothing", "pitch": "b"}})
    with pytest.raises(InputError, match=r"flight\.csv  channels\.altitude"):
        read_recording(table, chosen)


def test_load_channel_map_remembers_its_file(tmp_path):
    chosen = load_channel_map(
        written(tmp_path, "time: t\nchannels:\n  ground_speed: {column: a, unit: kt}\n")
    )

    assert chosen.document is not None
    assert chosen.columns() == ("t", "a")
