"""DIS entity states, read from bytes that an independent library wrote.

Source of the bytes and their values: ``tests/data/link/entity_states.json``, made with opendis 1.0 and
pyproj 3.7
by ``tools/make_entity_states.py``. Bits and part numbers: SISO-REF-010 as enumerated by Open-DIS.
"""

import json
import math
import struct
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sortiewright.link.counts import Refused
from sortiewright.link.entity_channels import entity_channels, hour_fraction
from sortiewright.link.entity_state import EntityState, read_entity_state
from sortiewright.link.geocentric import attitude, geodetic

FILE = Path(__file__).parents[1] / "data" / "link" / "entity_states.json"
STATES = json.loads(FILE.read_text(encoding="utf-8"))["states"]
FLOAT32 = 1e-6  # relative; angles and speeds travel as 32-bit floats


def bytes_of(state, **changes):
    """Return a state's bytes with single fields written over, by their offset in IEEE 1278.1."""
    places = {"version": (0, ">B"), "pdu": (2, ">B"), "timestamp": (4, ">I"), "length": (8, ">H")}
    places |= {"count": (19, ">B"), "x": (48, ">d"), "psi": (72, ">f"), "appearance": (84, ">I")}
    data = bytearray(bytes.fromhex(state["bytes"]))
    for name, value in changes.items():
        offset, form = places[name]
        struct.pack_into(form, data, offset, value)
    return bytes(data)


def test_every_field_is_where_the_other_library_put_it():
    for one in STATES:
        read = read_entity_state(bytes_of(one))

        assert list(read.entity) == one["entity"]
        assert (read.version, read.force, read.kind, read.domain) == (7, 1, 1, 2)
        assert read.timestamp == one["timestamp"]
        assert read.appearance == one["appearance"]
        assert read.marking == "PLOVER 1"
        assert read.location == tuple(one["place"])
        assert read.velocity == pytest.approx(one["velocity"], rel=FLOAT32, abs=1e-5)
        assert read.euler == pytest.approx(one["euler"], rel=FLOAT32, abs=1e-7)
        assert read.rates == pytest.approx(one["rates"], rel=FLOAT32)
        assert len(read.parts) == 5


def test_places_are_those_of_another_library():
    for one in STATES:
        place = geodetic(tuple(one["place"]))

        assert place.latitude_deg == pytest.approx(one["latitude_deg"], abs=1e-11)
        assert place.longitude_deg == pytest.approx(one["longitude_deg"], abs=1e-11)
        assert place.height == pytest.approx(one["height"], abs=1e-6)


def test_attitudes_are_those_of_another_library():
    for one in STATES:
        held = attitude(tuple(one["euler"]), geodetic(tuple(one["place"])))
        turned = (held.true_heading_deg - one["true_heading_deg"] + 180.0) % 360.0 - 180.0

        assert turned == pytest.approx(0.0, abs=1e-8)
        assert held.pitch == pytest.approx(one["pitch"], abs=1e-9)
        assert held.bank == pytest.approx(one["bank"], abs=1e-9)


def test_channels_say_what_was_flown():
    for one in STATES:
        said = entity_channels(read_entity_state(bytes_of(one)))
        north, east, down = one["velocity_local"]

        assert said["altitude"] == pytest.approx(one["height"], abs=1e-6)
        assert said["ground_speed"] == pytest.approx(math.hypot(north, east), abs=1e-3)
        assert said["vertical_speed"] == pytest.approx(-down, abs=1e-3)
        assert math.radians(said["track_deg"]) == pytest.approx(
            math.atan2(east, north) % (2 * math.pi), abs=1e-4
        )
        assert said["pitch"] == pytest.approx(one["pitch"], abs=1e-6)
        assert said["roll_rate"] == pytest.approx(one["rates"][0], rel=FLOAT32)
        assert said["gear_position"] == pytest.approx(one["gear"], rel=FLOAT32)
        assert said["hook_position"] == pytest.approx(one["hook"], rel=FLOAT32)
        assert said["speedbrake_position"] == pytest.approx(one["speedbrake"], rel=FLOAT32)
        assert said["flap_position"] == pytest.approx(sum(one["flaps"]) / 2, rel=FLOAT32)


@pytest.mark.parametrize(
    ("bit", "channel", "value"),
    [
        (12, "landing_light_on", True),
        (13, "navigation_lights_on", True),
        (14, "anti_collision_lights_on", True),
        (16, "afterburner_stage", 1.0),
        (21, "simulation_paused", True),
        (22, "engine_running", True),
    ],
)
def test_each_bit_of_the_appearance_is_its_own_channel(bit, channel, value):
    dark = entity_channels(read_entity_state(bytes_of(STATES[0], appearance=0)))
    lit = entity_channels(read_entity_state(bytes_of(STATES[0], appearance=1 << bit)))

    assert {name for name in lit if lit[name] != dark[name]} == {channel}
    assert lit[channel] == value


def test_what_dis_cannot_carry_is_missing_and_not_made_up():
    said = entity_channels(read_entity_state(bytes_of(STATES[0])))

    for name in ("calibrated_airspeed", "angle_of_attack", "load_factor_normal", "fuel_mass", "gross_mass"):
        assert name not in said
    assert not any(name.startswith("weight_on_wheels") for name in said)


def test_timestamp_is_a_share_of_the_hour():
    read = read_entity_state(bytes_of(STATES[0], timestamp=(2**30 << 1) | 1))

    assert hour_fraction(read) == 1800.0  # half of 2**31 units


@pytest.mark.parametrize(
    ("changes", "cause"),
    [
        ({"version": 4}, "dis_version"),
        ({"pdu": 2}, "dis_other_pdu"),
        ({"length": 143}, "dis_length"),
        ({"length": 60_000}, "dis_length"),
        ({"count": 6}, "dis_length"),
        ({"count": 255}, "dis_length"),
        ({"x": math.nan}, "dis_not_finite"),
        ({"x": math.inf}, "dis_not_finite"),
        ({"psi": math.nan}, "dis_not_finite"),
        ({"x": 0.0}, "dis_place"),
        ({"x": 1e300}, "dis_place"),
    ],
    ids=str,
)
def test_what_is_wrong_has_its_cause(changes, cause):
    with pytest.raises(Refused) as refused:
        entity_channels(read_entity_state(bytes_of(STATES[0], **changes)))

    assert refused.value.cause == cause


@given(st.binary(max_size=300), st.integers(0, 224))
def test_no_bytes_do_anything_but_read_or_be_refused(noise, place):
    whole = bytes.fromhex(STATES[0]["bytes"])
    for data in (noise, whole[:place] + noise + whole[place + len(noise) :], whole[:place]):
        try:
            read = read_entity_state(data)
        except Refused:
            continue
        assert isinstance(read, EntityState)
        try:
            said = entity_channels(read)
        except Refused:
            continue
        assert all(math.isfinite(value) for value in said.values())
