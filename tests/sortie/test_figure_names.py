"""The names of figures before there is a plan: each figure of a plan has one, and its kind."""

import functools

import pint
import pytest

from sortiewright.sortie import Kind, convert, demo_sortie_path, load_sortie, plan
from sortiewright.sortie.figure_names import (
    SI_UNITS,
    WORDS_ONLY,
    figure_kinds,
    figure_unit,
    find_figure,
    possible_figures,
)

SORTIES = sorted(path.stem for path in demo_sortie_path().parent.glob("*.yaml"))

REGISTRY = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


@functools.cache
def planned(name):
    loaded = load_sortie(demo_sortie_path().with_name(f"{name}.yaml"))
    return plan(loaded.sortie, loaded.pack), loaded.pack.pack


@pytest.mark.parametrize("name", SORTIES)
def test_every_figure_of_a_plan_is_known_with_its_kind(name):
    made, pack = planned(name)
    known = {(one.section, one.name): one.kind for one in possible_figures(pack)}
    found = {
        (section.name, figure.name): figure.kind for section in made.sections for figure in section.figures
    }

    assert {place: kind for place, kind in found.items() if known.get(place) != kind} == {}


# What no plan ever has would be a name that a checklist may use in vain. These depend on the day: a band in
# which neither stop nor go fits, a brake energy that no speed reaches, cables that the field does not have, a
# runway that is not dry, a takeoff weight above that for landing, refuelling, an alternate.
def test_every_name_stands_in_the_plan_of_some_sortie():
    names, found = set(), set()
    for name in SORTIES:
        made, pack = planned(name)
        names |= {(pack.name, one.name) for one in possible_figures(pack)}
        found |= {(pack.name, figure.name) for section in made.sections for figure in section.figures}
    of_the_day = {"uncovered_band", "cable_3", "cable_4", "maximum_braking_speed", "over_landing_limit"}
    of_the_day |= {"touchdown_hydroplaning_speed", "fuel_taken_on", "alternate_fuel"}

    assert {name for _, name in names - found} <= of_the_day


def test_a_name_in_two_sections_means_the_first_and_each_can_be_named():
    made, pack = planned("demo")
    kinds = figure_kinds(pack)

    assert find_figure(made, "stall_speed") is made.figure("takeoff", "stall_speed")
    assert find_figure(made, "takeoff_stall_speed") is made.figure("takeoff", "stall_speed")
    assert find_figure(made, "landing_stall_speed") is made.figure("landing", "stall_speed")
    assert find_figure(made, "landing_mass") is made.figure("loading", "landing_mass")
    assert find_figure(made, "landing_landing_mass") is made.figure("landing", "landing_mass")
    assert {"landing_stall_speed", "loading_landing_mass", "landing_tyre_speed_margin"} <= kinds.keys()
    assert "takeoff_rotation_speed" not in kinds


def test_an_unknown_name_has_no_figure():
    assert find_figure(planned("demo")[0], "rotation_sped") is None


@pytest.mark.parametrize("name", SORTIES)
def test_figures_in_words_only_have_no_value(name):
    made, _ = planned(name)
    valued = {
        figure.name for section in made.sections for figure in section.figures if figure.value is not None
    }

    assert valued & WORDS_ONLY == set()


def test_names_follow_the_pack():
    of_twin, of_trainer = (figure_kinds(planned(name)[1]) for name in ("demo", "trainer_circuits"))

    assert "chute_maximum_cas" in of_twin
    assert "chute_maximum_cas" not in of_trainer
    assert "minimum_go_speed" not in of_trainer
    assert "run_up_rpm" in of_twin


# The unit registry of pint is the reference: the unit in which a kind is given to programs must measure what
# its SI unit measures, and one of it must be as large.
@pytest.mark.parametrize("kind", list(Kind))
@pytest.mark.parametrize("system", ["trade", "si"])
def test_the_si_unit_of_a_kind_measures_the_same(kind, system):
    if kind == Kind.COURSE:  # in degrees within a figure
        return
    value, unit = convert(300.0, kind, system)
    si_unit = SI_UNITS[kind].replace(".", "*") or "dimensionless"

    assert REGISTRY.Quantity(value, unit or "dimensionless").to(si_unit).magnitude == pytest.approx(300.0)


def test_a_difference_of_temperatures_has_a_unit_of_its_own():
    assert figure_unit("isa_deviation", Kind.TEMPERATURE) == "delta_degC"
    assert figure_unit("temperature", Kind.TEMPERATURE) == "K"
