"""The turn chart: rate of turn over Mach number, instantaneous and sustained, inside the limits."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from sortiewright.cards.chart_frame import ASPECT, TEXT_SIZE, WIDTH, Chart, Floats, at_power
from sortiewright.cards.drawing import Drawing
from sortiewright.cards.labels import Point
from sortiewright.performance import ManoeuvreNumbers, level_turn
from sortiewright.sortie import Kind, System, convert, show

HEADROOM, SIDEROOM = 1.13, 0.05
STEPS_OF_RADIUS = (1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0)
MOST_RADII, MOST_LOADS = 4, 9
MOST_SAMPLES = 80

Family = tuple[str, Sequence[Point], tuple[float, ...]]
"""A label, the line it stands on, and where along it."""


def turn_chart(
    numbers: ManoeuvreNumbers,
    *,
    system: System = "trade",
    row: int = 0,
    width: float = WIDTH,
    text_size: float = TEXT_SIZE,
    aspect: float = ASPECT,
) -> tuple[Drawing, str]:
    """Return the turn chart of one case, and in words what it shows; ``width`` in points."""
    chart = Chart("turn chart", width, text_size, "00", aspect=aspect)
    mach = numbers.turn_mach[row]
    tightest = np.degrees(numbers.instantaneous_curve.turn.rate[row])
    high = HEADROOM * float(np.nanmax(tightest)) if np.isfinite(tightest).any() else 1.0
    room = SIDEROOM * (float(mach[-1]) - float(mach[0])) + 0.02
    scale = chart.set_scale((max(0.0, float(mach[0]) - room), float(mach[-1]) + room), (0.0, high))
    chart.drawing.rectangle(chart.plot, "hatched")
    finite = np.isfinite(tightest)
    edge = scale.line(mach[finite], tightest[finite])
    if len(edge) > 1:
        feet = [(edge[0][0], chart.plot.bottom), *edge, (edge[-1][0], chart.plot.bottom)]
        chart.drawing.path(feet, "inside", closed=True)
    families = _families(chart, numbers, row, system)
    chart.lines += [edge, [edge[-1], (edge[-1][0], chart.plot.bottom)]] if edge else []
    chart.drawing.path(edge, "curve")
    held = np.degrees(numbers.sustained_curve.turn.rate[row])
    low, fast = numbers.level_mach[row]
    ends = zip([low, *mach, fast], [0.0, *held, 0.0], strict=True)
    line = [(x, y) for x, y in ends if math.isfinite(x) and math.isfinite(y)]
    sustained = chart.line([x for x, _ in line], [y for _, y in line], "curve_dashed")
    place = show(float(numbers.altitude[row]), Kind.HEIGHT, system).text
    mass = show(float(numbers.mass[row]), Kind.MASS, system).text
    chart.axes("Mach number", "Rate of turn, °/s", f"{place}, {mass}")
    _corner(chart, numbers, row, system)
    _today(chart, numbers, row, system)
    _names(chart, numbers, row, system)
    if sustained:
        words = ["Sustained", f"at {at_power(numbers.power_title)}"]
        chart.want("sustained", words, chart.along(sustained[len(sustained) // 8 :]), bold=1)
    homeless = chart.set_labels()
    # Last, as they may stand anywhere along their lines.
    for text, points, shares in families:
        chart.on_line(text, points, shares, off_lines=True)
    words = f"Rate of turn over Mach number at {place} and {mass}. {chart.told()}."
    return chart.drawing, words + (f" Without room: {'; '.join(homeless)}." if homeless else "")


def _families(chart: Chart, numbers: ManoeuvreNumbers, row: int, system: System) -> list[Family]:
    """Draw lines of one load factor and of one radius, inside the limits only, and return their labels."""
    families: list[Family] = []
    curve = numbers.instantaneous_curve
    top = float(np.nanmax(curve.turn.load_factor[row], initial=0.0))
    mach, most = numbers.turn_mach[row], curve.turn.rate[row]
    sound = float(curve.tas[row, 0] / mach[0])
    fine = np.linspace(float(mach[0]), float(mach[-1]), MOST_SAMPLES)
    allowed: Floats = np.interp(fine, mach, np.where(np.isfinite(most), most, 0.0))
    for load in range(2, math.ceil(top - 0.15), max(1, math.ceil(top / MOST_LOADS))):
        rate = level_turn(fine * sound, load_factor=float(load)).rate
        points = _inside(chart, fine, rate, allowed)
        if len(points) > 1:
            chart.drawing.path(points, "faint")
            families.append((f"{load} g", points, (0.93, 0.86, 0.78, 0.7, 0.6, 0.5, 0.4, 0.3)))
    unit = convert(1.0, Kind.RUNWAY_DISTANCE, system)[0]
    tightest = float(np.nanmin(curve.turn.radius[row], initial=np.inf)) * unit
    for radius in _radii(tightest):
        rate = fine * sound / (radius / unit)
        points = _inside(chart, fine, rate, allowed)
        if len(points) > 1:
            chart.drawing.path(points, "faint_dotted")
            said = show(radius / unit, Kind.RUNWAY_DISTANCE, system, rounding="nearest").text
            families.append((said, points, (0.9, 0.8, 0.7, 0.6, 0.5, 0.4)))
    return families


def _inside(chart: Chart, mach: Floats, rate: Floats, allowed: Floats) -> list[tuple[float, float]]:
    """Return the points of a line under the limit, its ends drawn out to where it crosses it."""
    over = rate - allowed
    good = over <= 0.0
    xs, ys = mach[good], rate[good]
    cross = np.flatnonzero(good[1:] != good[:-1])
    for cell in cross:
        part = over[cell] / (over[cell] - over[cell + 1])
        xs = np.append(xs, mach[cell] + part * (mach[cell + 1] - mach[cell]))
        ys = np.append(ys, rate[cell] + part * (rate[cell + 1] - rate[cell]))
    order = np.argsort(xs)
    return chart.scale.line(xs[order].tolist(), np.degrees(ys[order]).tolist())


def _radii(tightest: float) -> list[float]:
    """Return a few round radii from the tightest one on, in the unit that is shown."""
    if not (math.isfinite(tightest) and tightest > 0.0):
        return []
    power = 10.0 ** math.floor(math.log10(tightest))
    steps = [power * ten * lead for ten in (1.0, 10.0) for lead in STEPS_OF_RADIUS]
    return [step for step in steps if step > 1.04 * tightest][:MOST_RADII]


def _corner(chart: Chart, numbers: ManoeuvreNumbers, row: int, system: System) -> None:
    corner = numbers.corner
    mach, rate = float(corner.mach[row]), float(np.degrees(corner.turn.rate[row]))
    if not math.isfinite(rate) or not chart.scale.x[0] <= mach <= chart.scale.x[1]:
        return
    point = chart.scale.at(mach, rate)
    chart.mark(point, "square", size=6.5)
    speed = show(float(corner.cas[row]), Kind.CAS, system).text
    chart.want("corner", [f"Corner {speed}", f"Mach {mach:.2f}, {rate:.1f} °/s"], [point], bold=1)


def _today(chart: Chart, numbers: ManoeuvreNumbers, row: int, system: System) -> None:
    """Mark today's Mach number: a disc for what is sustained there, a ring for what is possible at all."""
    mach = float(numbers.mach[row])
    held = float(np.degrees(numbers.sustained.turn.rate[row]))
    most = float(np.degrees(numbers.instantaneous.turn.rate[row]))
    speed = show(float(numbers.cas[row]), Kind.CAS, system).text
    lines, points = [f"Today {speed}"], list[tuple[float, float]]()
    for rate, shape, word in ((most, "ring", "instantaneous"), (held, "disc", "sustained")):
        if math.isfinite(rate):
            points.append(chart.scale.at(mach, rate))
            chart.mark(points[-1], shape, size=7.5)
            lines.append(f"{rate:.1f} °/s {word}")
    chart.want("today", lines, points[::-1], bold=1)


def _names(chart: Chart, numbers: ManoeuvreNumbers, row: int, system: System) -> None:
    """Name the limits along the edge by what governs there."""
    curve, scale = numbers.instantaneous_curve, chart.scale
    mach, rate = numbers.turn_mach[row], np.degrees(curve.turn.rate[row])
    governed = curve.governed_by[row]
    is_lift = np.isin(governed, ("lift", "angle of attack"))
    if is_lift.any():
        by_angle = bool((governed == "angle of attack").any())
        lines = ["Lift limit", "angle of attack or stall"] if by_angle else ["Lift limit", "stall"]
        chart.want("lift", lines, chart.along(scale.line(mach[is_lift], rate[is_lift])), bold=1)
    if (is_load := governed == "load factor").any():
        limit = f"{float(numbers.limits.positive[row]):.1f} g"
        is_store = str(numbers.limits.positive_by[row]) in numbers.store_titles
        lines = [f"Load factor limit {limit}", *(["set by stores"] if is_store else [])]
        chart.want("load", lines, chart.along(scale.line(mach[is_load], rate[is_load])), bold=1)
    envelope = numbers.envelope
    end = show(float(envelope.end_cas[row]), Kind.CAS, system, rounding="down").text
    words = (
        ["Speed limit", f"{end}, Mach {float(envelope.end_mach[row]):.2f}"]
        if envelope.is_at_limit[row] and envelope.end_mach[row] <= mach[-1] * (1.0 + 1e-9)
        else ["End of the tables"]
    )
    last = float(rate[-1]) if math.isfinite(rate[-1]) else 0.0
    feet = [scale.at(float(mach[-1]), share * last) for share in (0.1, 0.25, 0.45, 0.65)]
    chart.want("speed", words, feet, bold=1)
