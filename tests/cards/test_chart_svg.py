"""Drawings as SVG: short, and still the same picture."""

import math
import re
from itertools import pairwise

import numpy as np
import pytest

from sortiewright.cards.chart_svg import data_svg, path_steps
from sortiewright.cards.screen_charts import thinned


def drawn(steps):
    """Return the points of path data by SVG 2, section 9.3: moves, and lines in steps from point to point."""
    found = []
    for letter, numbers in re.findall(r"([Ml])([^MlZ]*)", steps):
        values = [float(one) for one in re.findall(r"-?(?:\d+\.?\d*|\.\d+)", numbers)]
        for x, y in zip(values[::2], values[1::2], strict=True):
            start = found[-1] if letter == "l" else (0.0, 0.0)
            found.append((start[0] + x, start[1] + y))
    return found


@pytest.mark.parametrize("seed", range(5))
def test_steps_lead_to_the_points_however_long_the_line(seed):
    points = np.random.default_rng(seed).uniform(-300, 900, (400, 2))

    away = np.abs(np.array(drawn(path_steps(points.tolist()))) - points)
    assert away.max() <= 0.0501  # rounded to a tenth, and no error adds up


def test_signs_and_points_part_numbers_as_the_standard_has_it():
    assert path_steps([(0.5, -0.5), (1.0, -0.75)]) == "M.5-.5l.5-.3"
    assert path_steps([(10, 20), (10, 20), (12.25, 20)]) == "M10 20l2.2 0"
    assert path_steps([(0, 0), (5, 0), (5, 5)], closed=True) == "M0 0l5 0 0 5Z"
    assert path_steps([(3, 4), (3, 4)]) == path_steps([(3, 4)] * 9) == "M3 4l0 0"  # a dot


def distance(point, line):
    """Return how far a point is from a line of straight stretches."""
    found = math.inf
    for (x0, y0), (x1, y1) in pairwise(line):
        square = (x1 - x0) ** 2 + (y1 - y0) ** 2
        share = ((point[0] - x0) * (x1 - x0) + (point[1] - y0) * (y1 - y0)) / square if square else 0.0
        share = min(max(share, 0.0), 1.0)
        found = min(found, math.dist(point, (x0 + share * (x1 - x0), y0 + share * (y1 - y0))))
    return found


def test_a_thinned_line_stays_beside_every_point_it_left_out():
    turn = np.linspace(0, 4 * np.pi, 600)
    spiral = np.column_stack((turn * np.cos(turn), turn * np.sin(turn))).tolist()

    kept = thinned(spiral, 0.2)
    assert len(kept) < 60
    assert kept[0] == spiral[0]
    assert kept[-1] == spiral[-1]
    assert max(distance(point, kept) for point in spiral) <= 0.2


def test_corners_closed_lines_and_points_on_one_spot_are_kept():
    square = [(0, 0), (5, 0), (10, 0), (10, 10), (0, 10), (0, 0)]

    assert thinned(square, 0.2) == [(0, 0), (10, 0), (10, 10), (0, 10), (0, 0)]
    assert thinned([(1, 1), (1, 1), (1, 1)], 0.2) == [(1, 1), (1, 1)]
    assert thinned([(1, 2)], 0.2) == [(1, 2)]


def part(role, *points):
    return {"kind": "path", "role": role, "points": points, "closed": False}


def words(text, *, ground=False):
    box = [0, 0, 10, 10]
    return {
        "kind": "text", "box": box, "lines": [text], "role": "ink", "align": "left", "bold": 0,
        "ground": ground, "name": text,
    }  # fmt: skip


def test_lines_of_one_look_are_one_path_unless_something_lies_between():
    tick, grid = part("axis", (0, 0), (0, 5)), part("grid", (0, 0), (9, 0))
    parts = [tick, words("0"), tick, words("1"), tick, words("2", ground=True), tick, grid, tick]
    data = {"name": "a", "width": 10, "height": 10, "size": 10, "alternative": "a", "parts": parts}

    svg = data_svg(data, "day")
    lines = re.findall(r'<path d="(M[^"]*)" fill="none"', svg)
    assert [line.count("M") for line in lines] == [3, 1, 1, 1]
    assert re.findall(r">(\d)</text>", svg) == ["0", "1", "2"]
