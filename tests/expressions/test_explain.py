"""Why a condition is as it is, and what it is made of."""

import pytest

from sortiewright.expressions import Atom, parse_expression

KNOT = 1852 / 3600  # m/s, exact (NIST SP 811, B.6)
TODAY = {
    "crosswind": 9 * KNOT,
    "headwind": 12 * KNOT,
    "temperature": 276.15,
    "at_night": False,
    "cable_rigged": True,
    "runway_condition": "dry",
    "load_factor": 1.0,
    ("carries", "belly_tank"): False,
    ("carries", "wing_tank"): True,
}


def shown(name, value):
    """Show a value as a card would: whole knots, yes and no."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value / KNOT:.0f} kt" if isinstance(value, float) else value


@pytest.mark.parametrize(
    ("text", "because"),
    [
        ("carries('belly_tank')", "carries('belly_tank') is no"),
        ("not carries('belly_tank')", "carries('belly_tank') is no"),
        ("at_night", "at_night is no"),
        ("crosswind > kt(15)", "crosswind > kt(15): crosswind is 9 kt"),
        ("kt(15) < crosswind", "kt(15) < crosswind: crosswind is 9 kt"),
        ("crosswind > headwind", "crosswind > headwind: crosswind is 9 kt, headwind is 12 kt"),
        ("crosswind + crosswind > kt(20)", "crosswind + crosswind > kt(20): crosswind is 9 kt"),
        ("runway_condition in ('wet', 'icy')", "runway_condition in ('wet', 'icy'): runway_condition is dry"),
        ("side_moment > 0", "side_moment > 0: side_moment is not known"),
        ("carries_at('left', 'wing_tank')", "carries_at('left', 'wing_tank') is not known"),
        ("known(side_moment)", "known(side_moment): side_moment is not known"),
        # A conjunction is false by its false parts, true by all; a disjunction the other way round.
        ("cable_rigged and at_night", "at_night is no"),
        ("at_night and carries('belly_tank')", "at_night is no; carries('belly_tank') is no"),
        ("cable_rigged and carries('wing_tank')", "cable_rigged is yes; carries('wing_tank') is yes"),
        ("cable_rigged or at_night", "cable_rigged is yes"),
        ("at_night or carries('belly_tank')", "at_night is no; carries('belly_tank') is no"),
        ("side_moment > 0 and at_night", "at_night is no"),
        ("side_moment > 0 and cable_rigged", "side_moment > 0: side_moment is not known"),
        ("side_moment > 0 or at_night", "side_moment > 0: side_moment is not known"),
        (
            "not (cable_rigged and crosswind < kt(15))",
            "cable_rigged is yes; crosswind < kt(15): crosswind is 9 kt",
        ),
        ("kt(5) < crosswind < kt(8)", "crosswind < kt(8): crosswind is 9 kt"),
        ("at_night or at_night", "at_night is no"),
        ("True", "True"),
        ("at_night and False", "at_night is no; False"),
    ],
)
def test_explanation_names_what_settles_it(text, because, vocabulary):
    assert parse_expression(text, vocabulary).explain(TODAY, shown) == because


def test_explanation_shows_si_and_trade_units_where_nobody_says_otherwise(vocabulary):
    expression = parse_expression("crosswind > kt(15) or temperature < degC(0)", vocabulary)

    assert expression.explain(TODAY) == (
        "crosswind > kt(15): crosswind is 4.6 m/s (9.0 kt); temperature < degC(0): temperature is 3.0 degC"
    )


def test_text_of_several_lines_is_explained_on_one(vocabulary):
    expression = parse_expression("cable_rigged\n  and at_night\n", vocabulary)

    assert expression.explain(TODAY) == "at_night is no"
    assert "\n" not in str(expression)


@pytest.mark.parametrize(
    ("text", "operator", "fact", "constant"),
    [
        ("at_night", "is", "at_night", True),
        ("carries('belly_tank')", "is", ("carries", "belly_tank"), True),
        ("known(crosswind)", "known", "crosswind", True),
        ("crosswind > kt(36)", ">", "crosswind", pytest.approx(36 * KNOT)),
        ("kt(36) <= crosswind", ">=", "crosswind", pytest.approx(36 * KNOT)),
        ("kt(36) < crosswind", ">", "crosswind", pytest.approx(36 * KNOT)),
        ("kt(36) > crosswind", "<", "crosswind", pytest.approx(36 * KNOT)),
        ("kt(36) >= crosswind", "<=", "crosswind", pytest.approx(36 * KNOT)),
        ("kt(36) == crosswind", "==", "crosswind", pytest.approx(36 * KNOT)),
        ("kt(36) != crosswind", "!=", "crosswind", pytest.approx(36 * KNOT)),
        ("crosswind != 2 * kt(18)", "!=", "crosswind", pytest.approx(36 * KNOT)),
        ("temperature < degC(5)", "<", "temperature", 278.15),
        ("external_fuel > 0", ">", "external_fuel", 0.0),
        ("climb_gradient > percent(2.5)", ">", "climb_gradient", 0.025),
        ("load_factor < -2", "<", "load_factor", -2.0),
        ("fuel_in('front') < lb(0)", "<", ("fuel_in", "front"), 0.0),
        ("runway_condition == 'dry'", "==", "runway_condition", "dry"),
        ("'dry' != runway_condition", "!=", "runway_condition", "dry"),
        ("runway_condition in ('dry', 'wet')", "in", "runway_condition", ("dry", "wet")),
        ("runway_condition not in ('dry',)", "not in", "runway_condition", ("dry",)),
        ("at_night == True", "==", "at_night", True),
        ("False != at_night", "!=", "at_night", False),
        ("crosswind > headwind", "opaque", None, None),
        ("abs(crosswind) > kt(3)", "opaque", None, None),
        ("crosswind + kt(3) > kt(5)", "opaque", None, None),
        ("at_night == cable_rigged", "opaque", None, None),
        ("known(crosswind > kt(3))", "opaque", None, None),
        ("runway_condition == alternate_condition", "opaque", None, None),
    ],
)
def test_atom_has_the_form_of_its_fact_against_a_constant(text, operator, fact, constant, vocabulary):
    expression = parse_expression(text, vocabulary)
    (atom,) = expression.atoms

    assert (atom.text, atom.operator, atom.fact, atom.constant) == (text, operator, fact, constant)
    assert atom.facts == expression.facts


def test_atoms_come_in_the_order_of_the_text(vocabulary):
    expression = parse_expression("not at_night or (kt(5) < crosswind < kt(9) and True)", vocabulary)

    assert [atom.text for atom in expression.atoms] == ["at_night", "kt(5) < crosswind", "crosswind < kt(9)"]
    assert all(isinstance(atom, Atom) for atom in expression.atoms)
    assert expression.joined([True, None, True]) is None
    assert expression.joined([True, None, False]) is False
    assert expression.joined([False, None, None]) is True


def test_as_many_truths_as_atoms_are_wanted(vocabulary):
    with pytest.raises(ValueError, match="1 truths for 2 atoms"):
        parse_expression("at_night and cable_rigged", vocabulary).joined([True])


def test_number_has_no_atoms(vocabulary):
    assert parse_expression("crosswind", vocabulary, None).atoms == ()
