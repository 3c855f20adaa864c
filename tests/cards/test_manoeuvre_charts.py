"""Turn, excess power and V-n charts: what they show is what was computed, and it can be read."""

import re
from itertools import combinations, product
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from aeroplanes import shipped
from manoeuvring import POWERS, STORES

from sortiewright.cards import (
    SCHEMES,
    excess_power_chart,
    load_factor_chart,
    turn_chart,
)
from sortiewright.cards.axes import plot_area
from sortiewright.cards.chart_excess_power import _levels
from sortiewright.cards.chart_svg import drawing_svg
from sortiewright.cards.labels import Box
from sortiewright.pack import load_pack
from sortiewright.performance import (
    flight_point,
    flight_setup,
    make_flight_cases,
    manoeuvre_numbers,
)

CHARTS = {
    "turn": turn_chart,
    "excess power": excess_power_chart,
    "load factor": load_factor_chart,
}
WHERE = {"dotterel": (16_500.0, 4_500.0, 0.8), "whinchat": (3_100.0, 3_000.0, 0.45)}
FOOT, KNOT = 0.3048, 1852.0 / 3600.0


def svg_of(chart, found, scheme="day", **changes):
    drawing, words = chart(found, **changes)
    return drawing_svg(drawing, scheme, words)


def numbers(name, *, stores=(), power=None, **changes):
    pack = shipped(name)
    mass, altitude, mach = WHERE[name]
    where = {"altitude": altitude, "mach": mach, "power": power or POWERS[name][-1], "stores": stores}
    return manoeuvre_numbers(pack, flight_setup(pack), make_flight_cases(mass), **(where | changes))


def texts(svg):
    return [part.text for part in ElementTree.fromstring(svg).iter("{http://www.w3.org/2000/svg}text")]


def parts(drawing, kind, role=None):
    return [p for p in drawing.parts if p["kind"] == kind and (role is None or p["role"] == role)]


@pytest.mark.parametrize("name", list(WHERE))
@pytest.mark.parametrize("chart", list(CHARTS))
def test_texts_lie_on_the_picture_and_none_covers_another(chart, name):
    for stores, system in product(((), STORES[name]), ("trade", "si")):
        drawing, _ = CHARTS[chart](numbers(name, stores=stores), system=system)
        page = Box(-1.0, -1.0, drawing.width + 2.0, drawing.height + 2.0)

        assert len(drawing.text_boxes) > 10
        assert all(box.within(page) for box in drawing.text_boxes)
        covered = [pair for pair in combinations(drawing.text_boxes, 2) if pair[0].overlaps(pair[1])]
        assert covered == []


@pytest.mark.parametrize("name", list(WHERE))
@pytest.mark.parametrize("chart", list(CHARTS))
def test_no_text_hides_a_sign(chart, name):
    drawing, _ = CHARTS[chart](numbers(name, stores=STORES[name]))
    signs = [Box(p["at"][0] - 2.0, p["at"][1] - 2.0, 4.0, 4.0) for p in parts(drawing, "mark")]

    assert signs
    assert not any(box.overlaps(sign) for box in drawing.text_boxes for sign in signs)


@pytest.mark.parametrize("scheme", list(SCHEMES))
@pytest.mark.parametrize("chart", list(CHARTS))
def test_svg_is_well_formed_and_has_the_colours_of_its_scheme_only(chart, scheme):
    svg = svg_of(CHARTS[chart], numbers("whinchat"), scheme)
    root = ElementTree.fromstring(svg)
    colours = set(re.findall(r"#[0-9a-f]{6}", svg))

    assert root.get("role") == "img"
    assert root.get("aria-label") == root.find("{http://www.w3.org/2000/svg}title").text
    assert colours <= set(SCHEMES[scheme].values())
    for colour in colours:
        red, green, blue = (int(colour[at : at + 2], 16) for at in (1, 3, 5))
        if scheme == "night":
            assert max(green, blue) <= 0.6 * red + 3
        if scheme == "print":
            assert red == green == blue


def test_a_name_out_of_a_pack_is_text_and_never_markup():
    pack = shipped("whinchat")
    carrier = pack.stores["practice_carrier"].model_copy(update={"title": 'Carrier <b> & "four"'})
    odd = pack.model_copy(update={"stores": {**pack.stores, "practice_carrier": carrier}})
    found = manoeuvre_numbers(
        odd,
        flight_setup(odd),
        make_flight_cases(3_100.0),
        altitude=3_000.0,
        mach=0.45,
        power="takeoff_power",
        stores=("practice_carrier",),
    )
    svg = svg_of(load_factor_chart, found)

    assert 'Carrier <b> & "four"' in texts(svg)
    assert "<b>" not in svg


# Second road: the forces themselves, at the points through which the line of nought was drawn.
@pytest.mark.parametrize(("name", "load_factor"), [("dotterel", 1.0), ("dotterel", 3.0), ("whinchat", 1.0)])
def test_excess_power_is_nought_along_the_heaviest_line(name, load_factor):
    found = numbers(name, load_factor=load_factor)
    grid, pack = found.excess_power, shipped(name)
    drawing, _ = excess_power_chart(found)
    plot = plot_area(drawing, "00")
    points = np.array([point for line in parts(drawing, "path", "curve") for point in line["points"]])
    low, high = grid.mach[0], grid.mach[-1]
    mach = low + (points[:, 0] - plot.left) / plot.width * 1.05 * (high - low)
    bottom, top = grid.altitude[0], grid.altitude[-1]
    altitude = bottom + (plot.bottom - points[:, 1]) / plot.height * (top - bottom)
    # The last point on either side may lie beyond the lift limit, where the line is hidden.
    lift = np.interp(mach, grid.lift_mach, grid.lift_altitude[0])
    seen = (altitude < lift) & (mach < high) & (altitude > bottom) & (altitude < top)
    rate = flight_point(
        pack,
        flight_setup(pack),
        make_flight_cases(found.mass[0]),
        found.power,
        mass=found.mass[0],
        pressure_altitude=altitude[seen][None, :],
        mach=mach[seen][None, :],
        load_factor=load_factor,
    ).energy_rate
    span = np.nanmax(grid.energy_rate)

    assert seen.sum() > 10
    # Between grid points the line is straight: a few hundredths of the greatest excess power.
    assert np.abs(rate).max() < 0.06 * span


def test_turn_chart_marks_corner_and_today_at_their_rates():
    found = numbers("dotterel", stores=STORES["dotterel"])
    drawing, words = turn_chart(found)
    plot = plot_area(drawing, "00")
    corner, most, held = (
        np.degrees(rate[0])
        for rate in (
            found.corner.turn.rate,
            found.instantaneous.turn.rate,
            found.sustained.turn.rate,
        )
    )
    signs = {p["shape"]: p["at"] for p in parts(drawing, "mark")}
    heights = {shape: (plot.bottom - at[1]) / plot.height for shape, at in signs.items()}

    assert set(signs) == {"square", "ring", "disc"}
    assert heights["ring"] / heights["square"] == pytest.approx(most / corner, rel=1e-3)
    assert heights["disc"] / heights["square"] == pytest.approx(held / corner, rel=1e-3)
    assert f"{held:.1f} °/s sustained" in words
    assert f"Corner {found.corner.cas[0] / KNOT:.0f}" in words


def test_load_factor_diagram_shows_each_limit_at_its_load_factor():
    found = numbers("dotterel", stores=STORES["dotterel"])
    drawing, words = load_factor_chart(found)
    plot = plot_area(drawing, "−0")
    limits = found.limits
    inside = np.array(parts(drawing, "path", "inside")[0]["points"])
    rolling = np.array(parts(drawing, "path", "limit_dashed")[0]["points"])
    top, bottom = inside[:, 1].min(), inside[:, 1].max()

    def load(y):
        share = (bottom - y) / (bottom - top)
        return limits.negative[0] + share * (limits.positive[0] - limits.negative[0])

    assert load(rolling[:, 1]) == pytest.approx([3.0, 3.0], abs=0.01)
    assert (limits.positive[0], limits.negative[0]) == (4.5, -1.0)
    assert inside[:, 0].max() <= plot.right
    for said in ("Limit 4.5 g", "Limit −1.0 g", "Rolling 3.0 g", "Pelican 390-gallon belly tank"):
        assert said in words


@pytest.mark.parametrize("chart", list(CHARTS))
def test_a_chart_is_as_high_as_it_is_asked_to_be(chart):
    heights = {
        aspect: CHARTS[chart](numbers("dotterel"), width=400.0, aspect=aspect)[0].height
        for aspect in (0.55, 0.7)
    }

    assert heights == pytest.approx({0.55: 220.0, 0.7: 280.0})


def test_units_are_those_asked_for():
    found = numbers("whinchat")
    trade = " ".join(texts(svg_of(excess_power_chart, found)))
    si = " ".join(texts(svg_of(excess_power_chart, found, system="si")))

    assert f"{found.energy_rate[0] / FOOT:.0f} ft/s" in trade
    assert f"{found.energy_rate[0]:.0f} m/s" in si
    assert not re.search(r"\bft\b", si)


@pytest.mark.parametrize("chart", list(CHARTS))
def test_a_pack_without_limits_or_negative_lift_is_drawn_too(chart):
    pack = load_pack(Path(__file__).parents[1] / "data" / "packs" / "t38_sampled").pack
    found = manoeuvre_numbers(
        pack,
        flight_setup(pack),
        make_flight_cases(4_800.0),
        altitude=3_000.0,
        mach=0.5,
        power=pack.engine.maximum or pack.engine.military,
    )
    drawing, words = CHARTS[chart](found)

    assert parts(drawing, "path")
    assert "nan" not in words
    assert "inf" not in svg_of(CHARTS[chart], found)
    assert ("End of the tables" in words) == (chart != "excess power")


@pytest.mark.parametrize("chart", list(CHARTS))
def test_nothing_held_or_nothing_allowed_is_drawn_as_that(chart):
    idle = numbers("dotterel", power="idle")
    beyond = numbers("dotterel", mach=1.7, stores=STORES["dotterel"], load_factor=6.0)
    high = numbers("whinchat", altitude=12_000.0, mach=0.3)
    for found in (idle, beyond, high):
        svg = svg_of(CHARTS[chart], found)

        assert "nan" not in svg
        assert "inf" not in svg


def test_levels_are_round_and_few():
    for least, most in ((-400.0, 520.0), (-3.0, 0.7), (-80.0, -2.0), (5.0, 5.1), (0.0, 0.0)):
        levels = _levels(least, most)

        assert len(levels) <= 12
        assert 0.0 in levels or most < 0.0
        assert all(level >= least for level in levels if level < 0.0)
