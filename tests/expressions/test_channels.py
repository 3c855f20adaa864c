"""The channels that conditions on a feed or a recording may name."""

import re

import pytest

from sortiewright.expressions import TRUTH, ChoiceType, NumberType, channel_vocabulary, parse_expression
from sortiewright.pack import CHANNELS, KINDS


@pytest.mark.parametrize("channel", CHANNELS.values(), ids=list(CHANNELS))
def test_channel_says_what_its_values_are(channel):
    assert re.fullmatch(r"[a-z]+(_[a-z]+)*", channel.name)
    assert channel.title[0].isupper()
    assert (channel.unit == "deg") == channel.name.endswith("_deg")
    assert channel.unit in KINDS or channel.unit == "deg"
    assert (channel.kind == "choice") == bool(channel.words)
    assert (channel.kind == "number") == (channel.usual is not None)


@pytest.mark.parametrize("channel", [one for one in CHANNELS.values() if one.usual], ids=lambda one: one.name)
def test_usual_range_has_a_width(channel):
    low, high = channel.usual

    assert low < high


# ISO 2533: 288.15 K and a speed of sound of 340.294 m/s at sea level, the tropopause at 11 000 m.
@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("outside_air_temperature", 288.15),
        ("true_airspeed", 340.294),
        ("load_factor_normal", 1.0),
        ("pressure_altitude", 11_000.0),
    ],
)
def test_standard_values_are_usual(name, value):
    low, high = CHANNELS[name].usual

    assert low < value < high


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("outside_air_temperature", 15.0),  # degC for K
        ("altitude", 30_000.0),  # ft for m
        ("calibrated_airspeed", 600.0),  # kt for m/s
        ("pitch", 10.0),  # deg for rad
        ("flap_position", 50.0),  # percent for a share
        ("oil_pressure", -1.0),
    ],
)
def test_values_in_another_unit_are_unusual(name, value):
    low, high = CHANNELS[name].usual

    assert not low <= value <= high


@pytest.mark.parametrize(
    "name", ["throttle", "engine_speed", "exhaust_temperature", "fuel_flow", "engine_running"]
)
def test_engine_channels_come_for_one_engine_and_for_two(name):
    assert {name, f"{name}_left", f"{name}_right"} <= CHANNELS.keys()


def test_one_airspeed_is_enough():
    assert {one.name for one in CHANNELS.values() if one.one_of == "airspeed"} == {
        "calibrated_airspeed",
        "indicated_airspeed",
    }


def test_vocabulary_has_every_channel_by_its_type():
    names = channel_vocabulary().names

    assert names.keys() == CHANNELS.keys()
    assert names["weight_on_wheels_left"] == TRUTH
    assert names["calibrated_airspeed"] == NumberType("m/s")
    assert names["track_deg"] == NumberType("")
    assert names["drag_chute"] == ChoiceType(("stowed", "deployed", "released"))


def test_fuel_of_each_tank_can_be_asked_for():
    expression = parse_expression("fuel_in('front') < lb(500)", channel_vocabulary(["front", "rear"]))

    assert expression.truth({("fuel_in", "front"): 100.0}) is True
    assert expression.facts == {("fuel_in", "front")}
