"""What conditions of these tests speak of: an invented day and an invented jet."""

import pytest

from sortiewright.expressions import TRUTH, ChoiceType, Function, NumberType, Vocabulary

NAMES = {
    "crosswind": NumberType("m/s"),
    "headwind": NumberType("m/s"),
    "temperature": NumberType("K"),
    "takeoff_mass": NumberType("kg"),
    "external_fuel": NumberType("kg"),
    "fuel_flow": NumberType("kg/s"),
    "runway_length": NumberType("m"),
    "approach_angle": NumberType("rad"),
    "side_moment": NumberType("N.m"),
    "load_factor": NumberType(""),
    "climb_gradient": NumberType("m/m"),
    "time_to_go": NumberType("s"),
    "at_night": TRUTH,
    "cable_rigged": TRUTH,
    "runway_condition": ChoiceType(("dry", "wet", "icy"), "surfaces"),
    "alternate_condition": ChoiceType(("wet", "dry", "flooded"), "surfaces"),
    "gear_handle": ChoiceType(("UP", "DOWN"), "positions"),
}
FUNCTIONS = {
    "carries": Function((ChoiceType(("belly_tank", "wing_tank"), "stores"),)),
    "carries_at": Function((ChoiceType(("left", "right"), "stations"), ChoiceType(("wing_tank",), "stores"))),
    "fuel_in": Function((ChoiceType(("front", "rear"), "tanks"),), NumberType("kg")),
    "past": Function((NumberType("s"),)),
}


@pytest.fixture(scope="session")
def vocabulary():
    return Vocabulary(NAMES, FUNCTIONS)
