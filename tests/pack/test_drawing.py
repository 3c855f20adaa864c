"""Drawings of a pack: they say what they show, in the colours of their theme, nothing over anything."""

import itertools

import matplotlib.pyplot
import numpy as np
import pytest
from PIL import Image

from sortiewright.pack import (
    draw_drag,
    draw_envelope,
    draw_fuel_flow,
    draw_lift,
    draw_pack,
    draw_thrust,
    load_pack,
    style_for,
)
from sortiewright.pack.chart_style import number_text

DRAWINGS = [draw_lift, draw_drag, draw_thrust, draw_fuel_flow, draw_envelope]


@pytest.fixture
def pack(pack_folder):
    return load_pack(pack_folder).pack


def texts(figure):
    return [text for axes in figure.axes for text in axes.texts if text.get_text()]


def numbers(figure):
    """Return the tick labels that are drawn: matplotlib keeps some beyond the ends of its axes."""
    axes = [axis for axes in figure.axes for axis in (axes.xaxis, axes.yaxis)]
    return [
        label
        for axis in axes
        for place, label in zip(axis.get_majorticklocs(), axis.get_majorticklabels(), strict=True)
        if min(axis.get_view_interval()) <= place <= max(axis.get_view_interval())
    ]


@pytest.mark.parametrize("draw", DRAWINGS)
def test_axes_carry_units_and_lines_their_own_labels(draw, pack):
    figure = draw(pack)

    labels = [label for axes in figure.axes for label in (axes.get_xlabel(), axes.get_ylabel())]
    assert all(labels)
    assert all(axes.get_legend() is None for axes in figure.axes)
    assert len(texts(figure)) >= len(figure.axes)


@pytest.mark.parametrize("draw", DRAWINGS)
def test_no_label_lies_on_another(draw, pack):
    figure = draw(pack)
    figure.draw_without_rendering()
    boxes = [text.get_window_extent().shrunk(0.9, 0.7) for text in (*texts(figure), *numbers(figure))]

    assert not [1 for a, b in itertools.combinations(boxes, 2) if a.overlaps(b)]


@pytest.mark.parametrize("draw", DRAWINGS)
def test_everything_written_is_on_the_page(draw, pack):
    figure = draw(pack)
    figure.draw_without_rendering()
    page = figure.bbox

    for text in texts(figure):
        box = text.get_window_extent()
        assert page.x0 <= box.x0, text.get_text()
        assert box.x1 <= page.x1, text.get_text()


# The look: nothing white, blue or green at night. In a red family red is never less than green or blue.
@pytest.mark.parametrize("draw", DRAWINGS)
def test_night_is_red_only(draw, pack, tmp_path):
    figure = draw(pack, "night")
    figure.savefig(tmp_path / "night.png", facecolor=figure.get_facecolor())
    red, green, blue = (
        np.asarray(Image.open(tmp_path / "night.png").convert("RGB")).astype(int).reshape(-1, 3).T
    )

    assert (red >= green).all()
    assert (green + 1 >= blue).all()
    assert blue.max() <= 0x70 + 2


def luminance(colour):
    def linear(part):
        return part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4

    red, green, blue = (linear(int(colour[i : i + 2], 16) / 255) for i in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


# WCAG 2.2, success criterion 1.4.6 (text, 7:1) and 1.4.11 (graphics, 3:1), with its relative luminance.
@pytest.mark.parametrize("theme", ["day", "night", "print"])
def test_contrast_is_enough_to_read(theme):
    style = style_for(theme)

    def contrast(colour, ground):
        light, dark = sorted((luminance(colour), luminance(ground)), reverse=True)
        return (light + 0.05) / (dark + 0.05)

    assert contrast(style.ink, style.card) >= 7
    assert contrast(style.ink, style.paper) >= 7
    assert contrast(style.second_ink, style.paper) >= 4.5
    assert all(contrast(line, style.card) >= 3 for line in style.lines)


def test_files_are_written_in_each_kind_and_come_out_the_same_again(pack, tmp_path):
    first = draw_pack(pack, tmp_path / "a", "day", "svg")
    again = draw_pack(pack, tmp_path / "b", "day", "svg")

    assert [path.name for path in first] == [
        "lift.svg",
        "drag.svg",
        "thrust.svg",
        "fuel_flow.svg",
        "envelope.svg",
    ]
    assert [path.read_bytes() for path in first] == [path.read_bytes() for path in again]
    assert matplotlib.pyplot.get_fignums() == []


def test_today_stands_in_the_envelope(pack):
    figure = draw_envelope(pack, points=[(0.28, 3000.0, "takeoff"), (0.30, 2500.0, "landing")])

    written = [text.get_text().strip() for text in texts(figure)]
    assert {"takeoff", "landing"} <= set(written)


def test_a_dollar_sign_in_a_title_stays_one(pack_files, pack_folder):
    engine = pack_files["engine.yaml"].replace("Full power", "Full $power_{1$")
    (pack_folder / "engine.yaml").write_text(engine, "utf-8")

    draw_thrust(load_pack(pack_folder).pack).draw_without_rendering()


def test_numbers_are_printed_with_thin_thousands_and_a_true_minus():
    assert number_text(12500) == "12\N{THIN SPACE}500"
    assert number_text(-400) == "\N{MINUS SIGN}400"
    assert number_text(0.35) == "0.35"
