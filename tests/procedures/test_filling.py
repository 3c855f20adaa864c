"""Numbers in the texts of checklists: those of the plan and of the pack, never written a second time."""

import dataclasses
import functools
import re

import pint
import pytest
from small_procedures import shipped

from sortiewright.pack import load_pack, parse_yaml, read_text_file
from sortiewright.procedures.filling import Filler, NoSlot, slots_of
from sortiewright.procedures.pack_values import NoPackValue, pack_value
from sortiewright.sortie import Figure, Kind, Section, demo_sortie_path, load_sortie, plan, show

THIN = "\u202f"
REGISTRY = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


@functools.cache
def demo():
    loaded = load_sortie(demo_sortie_path())
    return plan(loaded.sortie, loaded.pack)


def with_figure(figure, section="takeoff"):
    """Return the demo plan with one figure more."""
    made = demo()
    sections = tuple(
        dataclasses.replace(
            one, figures=(figure, *(other for other in one.figures if other.name != figure.name))
        )
        if one.name == section
        else one
        for one in made.sections
    )
    return dataclasses.replace(made, sections=sections)


def filled(text, figure=None, section="takeoff", system="trade"):
    made = demo() if figure is None else with_figure(figure, section)
    found = Filler(shipped().pack, made, system).fill(text)
    return found.text.replace(THIN, " "), found.problem


def figure(value, kind=Kind.CAS, name="rotation_speed", **more):
    return Figure(name, name.replace("_", " ").capitalize(), value, kind, **more)


KNOT = 1852 / 3600  # m/s, exact (NIST SP 811, 5.1.2)


def test_a_figure_stands_as_the_plan_shows_it():
    made = demo()
    for name in (
        "rotation_speed",
        "ground_run",
        "trim",
        "takeoff_mass",
        "qnh",
        "flaps",
        "line_marker",
        "refusal_speed",
    ):
        one = next(one for section in made.sections for one in section.figures if one.name == name)

        assert filled(f"{{{name}}}") == (show(one).text.replace(THIN, " "), "")
        assert filled(f"{{{name}}}", system="si") == (show(one, system="si").text.replace(THIN, " "), "")


def test_text_around_a_figure_stays():
    assert filled("At {rotation_speed}: nose up", figure(145.2 * KNOT)) == ("At 145 kt: nose up", "")


def test_a_text_without_braces_is_itself():
    assert filled("ON, light out") == ("ON, light out", "")


# What is needed rounds up and what there is rounds down, with or without a step: a line speed of 118.2 kt is
# not reached at 118, and a decision speed of 143.9 kt is passed at 145.
@pytest.mark.parametrize(
    ("name", "knots", "step", "shown"),
    [
        ("line_speed_minimum", 118.2, "", "119 kt"),
        ("line_speed_minimum", 118.2, ", to 5 kt", "120 kt"),
        ("decision_speed", 143.9, "", "143 kt"),
        ("decision_speed", 143.9, ", to 5 kt", "140 kt"),
        ("rotation_speed", 143.9, ", to 5 kt", "145 kt"),
        ("rotation_speed", 142.4, ", to 5 kt", "140 kt"),
    ],
)
def test_rounding_keeps_to_the_safe_side(name, knots, step, shown):
    assert filled(f"{{{name}{step}}}", figure(knots * KNOT, name=name))[0] == shown


# 5 kt make no round number of metres a second, so there the kind's own step of 0.5 m/s stands.
def test_a_step_that_is_not_round_in_the_other_units_is_left_out():
    assert filled("{rotation_speed, to 5 kt}", figure(75.1), system="si")[0] == "75.0 m/s"


def test_a_step_of_words_gives_the_number():
    one = figure(0.5 * 15, Kind.NUMBER, "runway_condition_reading", text="7.5, reported")

    assert filled("{runway_condition_reading}", one, "field")[0] == "7.5, reported"
    assert filled("{runway_condition_reading, to 1}", one, "field")[0] == "8"


# NIST SP 811 (2008), appendix B.8: 1 psi is 6.894 757 kPa, so 2 psi are 13.8 kPa.
def test_a_tolerance_stands_beside_the_number():
    oil = figure(35 * 6894.757, Kind.PRESSURE, "cabin_pressure")

    assert filled("{cabin_pressure, within 2 psi}", oil)[0] == "35 ± 2 psi"
    assert filled("{cabin_pressure, within 2 psi}", oil, system="si")[0] == "240 ± 13.8 kPa"


def test_a_tolerance_of_temperatures_is_a_difference():
    one = figure(288.15, Kind.TEMPERATURE, "temperature")

    assert filled("{temperature, within 3 degC}", one, "weather")[0] == "15 ± 3 °C"


def reading(low, high, kind=Kind.FRACTION, name="run_up_rpm"):
    return figure((low + high) / 2, kind, name, low=low, high=high)


def test_an_engine_reading_is_the_band_it_must_lie_in():
    assert filled("{run_up_rpm}", reading(0.8412, 0.8612), "run_up")[0] == "84.2–86.1 %"
    assert filled("{run_up_rpm}", reading(0.8412, 0.8700), "run_up")[0] == "84.2–87.0 %"
    assert filled("{run_up_rpm, to 1 %}", reading(0.8412, 0.8612), "run_up")[0] == "85–86 %"


# Both ends are rounded into the band: what the text allows, the pack allows.
@pytest.mark.parametrize("system", ["trade", "si"])
def test_a_band_never_allows_more_than_the_pack(system):
    names = [one.name for one in demo().section("run_up").figures if one.low is not None]

    assert len(names) > 8
    for name in names:
        one = demo().figure("run_up", name)
        text, _ = filled(f"{{{name}}}", system=system)
        match = re.fullmatch(r"([\d .]+)–([\d .]+) (.+)", text)
        assert match, text
        unit = {"%": "percent", "°C": "degC"}.get(match[3], match[3])
        wanted = {"°C": "K", "%": "dimensionless", "psi": "Pa", "kPa": "Pa", "lb/h": "kg/s", "kg/s": "kg/s"}[
            match[3]
        ]
        low, high = (
            REGISTRY.Quantity(float(part.replace(" ", "")), unit).to(wanted).magnitude
            for part in match.groups()[:2]
        )
        assert one.low - 1e-6 <= low < high <= one.high + 1e-6


def test_a_band_too_narrow_for_its_rounding_is_one_number():
    assert filled("{run_up_rpm}", reading(0.8411, 0.8412), "run_up")[0] == "84.1 %"


def test_a_spread_that_is_no_engine_reading_is_not_shown():
    assert filled("{rotation_speed}", figure(75.0, low=73.0, high=77.0))[0] == "146 kt"


def test_a_missing_value_is_a_dash_and_says_why():
    one = figure(None, problem="no temperature (weather.temperature)")

    assert filled("At {rotation_speed}", one) == (
        "At —",
        "Rotation speed: no temperature (weather.temperature)",
    )


def test_a_figure_that_today_has_none_is_a_dash():
    assert filled("{cable_4}") == ("—", "cable 4: today there is none")


def test_a_value_that_words_stand_for_is_not_missing():
    assert filled("{refusal_speed}", figure(None, name="refusal_speed", text="above lift-off")) == (
        "above lift-off",
        "",
    )


def test_an_infinite_value_is_an_answer():
    assert filled("{rotation_speed}", figure(float("inf")))[0] == "never"


def test_the_setting_is_in_the_unit_of_the_report():
    made = dataclasses.replace(demo(), extra={"altimeter": "inHg"})
    text = Filler(shipped().pack, made).fill("{qnh}").text

    assert text.replace(THIN, " ").endswith("inHg")


# Every number of the two files as their text has it is what a checklist shows in the same unit, so nothing is
# lost between a pack and its lists. The text is the outside reference.
@pytest.mark.parametrize("part", ["limits", "technique"])
@pytest.mark.parametrize("name", ["dotterel", "whinchat"])
def test_a_number_of_the_pack_is_shown_as_it_is_written(name, part):
    pack = load_pack(name)
    text = read_text_file(pack.folder / f"{part}.yaml")
    positions = parse_yaml(text, part)
    shown = 0
    for path in positions.positions:
        value = positions.data
        for key in path:
            value = value[key]
        if path[-1:] != ("value",) and not isinstance(value, str):
            continue
        keys = [str(key) for key in path if key != "value"]
        match = re.fullmatch(r"(-?[\d.]+) (kt|ft|deg|s|deg/s|ft\.lbf)", str(value))
        if not match or not all(key.isidentifier() for key in keys):
            continue
        found = pack_value(pack.pack, ".".join([part, *keys])).show("trade")
        unit = {"deg": "°", "deg/s": "°/s", "ft.lbf": "ft·lb"}.get(match[2], match[2])
        if found.unit == "ft/min":
            continue
        assert float(found.number.replace(THIN, "").replace("−", "-")) == float(match[1]), keys
        assert found.unit == unit
        shown += 1

    assert shown > 6


def test_a_sink_rate_is_shown_as_one():
    # 14 ft/s are 840 ft/min.
    assert filled("{limits.sink_rate_touchdown}")[0] == "840 ft/min"


def test_numbers_of_other_parts_of_the_pack():
    assert filled("{wheels.chute.maximum_cas}")[0] == show(
        shipped().pack.wheels.chute.maximum_cas, Kind.CAS
    ).text.replace(THIN, " ")
    assert filled("{mass.maximum_landing_mass}")[0] == "39 500 lb"
    assert filled("{engine.count}")[0] == "2"


# A limit in other units than it was set in is not round there: it is rounded to the side that keeps it.
def test_a_limit_in_other_units_stays_on_its_safe_side():
    limit = pack_value(shipped().pack, "limits.flap_speed.landing")
    shown = float(limit.show("si").number)

    assert limit.value - 0.5 <= shown <= limit.value
    least = pack_value(shipped().pack, "limits.minimum_control_ground_speed")
    assert least.value <= float(least.show("si").number) <= least.value + 0.5


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ("limits.gear_sped", 'is not in the pack: there is no "gear_sped"'),
        ("limits.gear_speed.value.more", 'is not in the pack: there is no "more"'),
        ("limits", "is no single number"),
        ("limits.flap_speed", "is no single number"),
        ("limits.crosswind_takeoff", "is no single number"),
        ("technique.takeoff.power", "is no single number"),
        ("wheels.anti_skid", "is no single number"),
        ("technique.takeoff.rotation_speed", "is no single number"),
        ("technique.landing.flare_load_factor", "is not given in this pack"),
        ("airframe.wing_area", "is in m2, which no card shows"),
        ("book.quantity", 'is not in the pack: there is no "book"'),
    ],
)
def test_a_path_that_leads_to_no_number_says_why(path, said):
    with pytest.raises(NoPackValue) as caught:
        pack_value(shipped().pack, path)

    assert caught.value.expected == said


@pytest.mark.parametrize(
    "text", ["{", "}", "{a{b}}", "{}", "{A}", "{a b}", "{a, }", "{a, to}", "{a, to 0 kt}"]
)
def test_braces_that_hold_nothing_are_refused(text):
    with pytest.raises(NoSlot):
        slots_of(text)


def test_slots_are_read_in_order():
    names = [(one.name, one.to, one.within) for one in slots_of("{a, to 5 kt} and {b.c, within 1 %, to 2}")]

    assert names == [("a", (5.0, "kt"), None), ("b.c", (2.0, ""), (1.0, "%"))]


def test_a_section_that_could_not_be_worked_out_says_why():
    made = demo()
    lost = Section("landing", "Landing", (figure(None, name="approach_cas", problem="no wind"),))
    made = dataclasses.replace(
        made, sections=tuple(lost if one.name == "landing" else one for one in made.sections)
    )

    assert Filler(shipped().pack, made).fill("{touchdown_cas}").problem == "touchdown cas: no wind"
