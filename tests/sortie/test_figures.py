"""Every figure of every plan: named as the cards know it, of the right kind, with a method or a reason."""

import itertools
import math

import pytest

from sortiewright.sortie import Kind, load_sortie, plan, show
from sortiewright.sortie.load import SORTIES

METAR = "metar: METAR ZZCH 140920Z 28014G22KT 9999 SCT028 BKN045 16/09 Q1009"


@pytest.fixture(scope="module")
def plans(planned):
    """Return plans of all sorts: as shipped, and on days when something is lacking."""
    made = {}
    for path in SORTIES.glob("*.yaml"):
        loaded = load_sortie(path)
        made[path.stem] = plan(loaded.sortie, loaded.pack)
    made["no air"] = planned((METAR, "{}"))
    made["no runway left"] = planned(("length: 9000 ft\n      slope", "length: 600 ft\n      slope"))
    made["ice"] = planned(
        ("overrun: 900 ft", "condition: icy"),
        ("length: 9000 ft\n      slope", "length: 5000 ft\n      slope"),
    )
    made["too heavy to climb"] = planned(pack={"mass.basic_mass": 20500.0})
    made["no nose"] = planned(pack={"aero.pitch_control.moment_per_angle": 0.03})
    made["bare pack"] = planned(
        pack={
            "limits.gear_speed": None,
            "limits.crosswind_takeoff": None,
            "limits.tailwind": None,
            "limits.asymmetric_moment_takeoff": None,
            "wheels.energy_zones": (),
            "wheels.chute": None,
            "wheels.hook": None,
            "engine.run_up": (),
            "aero.directional_control": None,
        }
    )
    return made


def figures(plans):
    for name, made in plans.items():
        for section in made.sections:
            for figure in section.figures:
                yield f"{name}: {section.name}.{figure.name}", figure


def test_no_value_is_a_not_a_number(plans):
    for where, figure in figures(plans):
        for value in (figure.value, figure.low, figure.high):
            assert value is None or not math.isnan(value), where
    for made in plans.values():
        for reason in made.reasons:
            assert all(value is None or not math.isnan(value) for value in (reason.value, reason.limit)), (
                reason
            )
        for mark in made.runway.marks:
            assert math.isfinite(mark.distance), mark
        for case in made.landings:
            assert case.problem or not math.isnan(case.total), case


def test_a_figure_without_a_value_says_why_or_says_it_in_words(plans):
    for where, figure in figures(plans):
        if figure.value is None:
            assert figure.problem or figure.text, where
            assert not (figure.problem and figure.text), where
        assert figure.title, where
        assert figure.title[0] not in "abc" or figure.title == "of which gust", where


def test_everything_can_be_shown_in_both_systems(plans):
    for (where, figure), system in itertools.product(figures(plans), ("trade", "si")):
        shown = show(figure, system=system)
        assert shown.number, where
        assert "nan" not in shown.text.lower(), where
        assert "None" not in shown.text, where


# What is looked up or chosen needs no method; what is computed has one, so that a crew can ask where it comes
# from.
GIVEN = {
    "temperature", "qnh", "isa_deviation", "wind", "runway_length", "elevation", "slope", "basic_mass",
    "forward_limit",
    "aft_limit", "power", "flaps", "line_marker", "decision_speed_basis", "gust_increment",
    "landing_distance_available",
}  # fmt: skip


def test_every_computed_figure_says_how(plans):
    for where, figure in figures({"demo": plans["demo"], "trainer": plans["trainer_circuits"]}):
        if figure.name not in GIVEN and not figure.name.endswith("_oil_pressure"):
            assert figure.method, where


# What the cards, the command line and the desk ask for by name.
NAMES = {
    "weather": "temperature qnh pressure_altitude density_altitude isa_deviation wind headwind crosswind "
    "tailwind "
    "sunset",
    "field": "runway_heading_magnetic runway_length slope runway_condition_reading hydroplaning_speed",
    "loading": "basic_mass zero_fuel_mass fuel_at_ramp ramp_mass takeoff_mass landing_mass "
    "centre_of_gravity_takeoff "
    "centre_of_gravity_zero_fuel forward_limit aft_limit drag_index side_moment_takeoff trim",
    "run_up": "run_up_rpm run_up_exhaust_temperature run_up_fuel_flow run_up_oil_pressure run_up_nozzle "
    "military_rpm",
    "takeoff": "power flaps nosewheel_lift_off_speed rotation_speed lift_off_speed ground_run "
    "distance_to_screen "
    "stall_speed line_speed line_speed_minimum line_marker takeoff_attitude tail_strike_margin "
    "tyre_speed_margin "
    "gear_up_cas flap_up_cas power_reduction_cas climb_cas gear_limit_time",
    "engine_failure": "refusal_speed critical_engine_failure_speed critical_field_length minimum_go_speed "
    "decision_speed decision_speed_basis minimum_control_ground_speed accelerate_stop_at_decision "
    "accelerate_go_at_decision "
    "longest_safe_abort_marker brake_energy_at_decision single_engine_gradient_gear_down "
    "single_engine_gradient_gear_up single_engine_climb_cas single_engine_rate_gear_up",
    "landing": "landing_mass stall_speed approach_cas approach_angle_of_attack touchdown_cas gust_increment "
    "aerobrake_until_cas chute_maximum_cas go_around_gradient_gear_down go_around_gradient_gear_up "
    "landing_distance "
    "landing_distance_available tyre_speed_margin hook_limit cable_1",
}


def test_the_plan_gives_every_figure_that_is_asked_for(plans):
    made = plans["demo"]
    for section, names in NAMES.items():
        have = {figure.name for figure in made.section(section).figures}
        assert set(names.split()) <= have, section
    marks = {mark.name for mark in made.runway.marks}
    assert {
        "line_speed",
        "nosewheel_lift_off",
        "rotation",
        "lift_off",
        "screen",
        "decision",
        "decision_stop",
    } <= marks
    assert {"continue_lift_off", "continue_screen", "touchdown", "landing_stop"} <= marks
    assert {"refusal"} <= {mark.name for mark in plans["short_wet"].runway.marks}
    assert {"uncovered_band"} <= {
        figure.name for figure in plans["short_wet"].section("engine_failure").figures
    }
    assert {curve.name for curve in made.curves} == {
        "stop_distance",
        "go_distance",
        "go_screen_distance",
        "speed_over_distance",
    }


def test_names_are_unique_within_a_section(plans):
    for made in plans.values():
        sections = [section.name for section in made.sections]
        assert len(sections) == len(set(sections))
        for section in made.sections:
            names = [figure.name for figure in section.figures]
            assert len(names) == len(set(names)), section.name


# By how they are named in the field: a speed of the airspeed indicator, one over the ground, a distance, a
# weight.
KINDS = {
    Kind.CAS: (
        "_cas",
        "rotation_speed",
        "lift_off_speed",
        "decision_speed",
        "refusal_speed",
        "line_speed",
        "stall_speed",
    ),
    Kind.GROUND_SPEED: ("hydroplaning_speed", "maximum_braking_speed", "tyre_speed_margin", "hook_limit"),
    Kind.WIND_SPEED: ("headwind", "crosswind", "tailwind", "gust_increment"),
    Kind.MASS: ("_mass", "fuel_at_ramp"),
    Kind.RUNWAY_DISTANCE: (
        "_distance",
        "ground_run",
        "distance_to_screen",
        "field_length",
        "_marker",
        "runway_length",
    ),
    Kind.GRADIENT: ("single_engine_gradient_gear_up", "go_around_gradient_gear_down"),
    Kind.PERCENT_MAC: ("centre_of_gravity_takeoff", "forward_limit", "aft_limit"),
    Kind.ENERGY: ("brake_energy", "brake_energy_at_decision"),
    Kind.ANGLE: ("_attitude", "_angle_of_attack", "pitch_at_lift_off", "tail_strike_margin"),
    Kind.MASS_FLOW: ("_fuel_flow",),
    Kind.PRESSURE: ("_oil_pressure",),
    Kind.FRACTION: ("_rpm", "_nozzle", "slope"),
    Kind.TEMPERATURE: ("_exhaust_temperature", "isa_deviation"),
}


@pytest.mark.parametrize(
    ("kind", "endings"), [pytest.param(kind, ends, id=str(kind)) for kind, ends in KINDS.items()]
)
def test_figures_are_of_the_kind_their_name_says(kind, endings, plans):
    found = [(where, figure) for where, figure in figures(plans) if figure.name.endswith(endings)]

    assert found
    assert {figure.kind for _, figure in found} == {kind}


# Magnitudes of the class (domain literature of jets of 40,000 to 60,000 lb, common practice): a unit that was
# mistaken, kt for m/s or lb for kg, would leave them.
@pytest.mark.parametrize(
    ("section", "name", "low", "high"),
    [
        ("loading", "takeoff_mass", 16_000, 27_000),
        ("takeoff", "lift_off_speed", 70, 100),
        ("takeoff", "ground_run", 500, 1500),
        ("engine_failure", "critical_field_length", 800, 2500),
        ("engine_failure", "brake_energy_at_decision", 20e6, 80e6),
        ("landing", "approach_cas", 65, 90),
        ("landing", "landing_distance", 800, 2500),
        ("loading", "centre_of_gravity_takeoff", 0.25, 0.34),
        ("run_up", "military_fuel_flow", 0.8, 1.6),
        ("takeoff", "takeoff_attitude", 0.1, 0.3),
    ],
)
def test_the_twin_is_of_its_class(section, name, low, high, plans):
    assert low < plans["demo"].figure(section, name).value < high


def test_what_the_pack_does_not_say_is_not_evaluated_rather_than_passed(plans):
    remarks = " ".join(plans["bare pack"].remarks)

    for name in ("crosswind at takeoff", "tailwind", "uneven load at takeoff", "brake energy"):
        assert f"Not evaluated, as the pack gives no limit: {name}" in remarks
    names = {figure.name for section in plans["bare pack"].sections for figure in section.figures}
    assert not names & {
        "brake_energy",
        "brake_energy_at_decision",
        "chute_maximum_cas",
        "hook_limit",
        "gear_limit_cas",
    }
    control = plans["bare pack"].figure("engine_failure", "minimum_control_ground_speed")
    assert control.value is None


def test_a_runway_that_no_stop_fits_has_no_decision_speed(plans):
    made = plans["no runway left"]
    decision = made.figure("engine_failure", "decision_speed")

    assert made.verdict == "no-go"
    assert decision.value is None
    assert decision.problem == "no stop fits in this runway from any speed"
    assert made.figure("engine_failure", "refusal_speed").text == "none: no stop fits"
