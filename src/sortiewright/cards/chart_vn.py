"""The V-n diagram: load factor over calibrated airspeed, with what the wing gives and what is allowed."""

from __future__ import annotations

import math
from textwrap import wrap

import numpy as np

from sortiewright.cards.chart_frame import ASPECT, TEXT_SIZE, WIDTH, Chart
from sortiewright.cards.drawing import Drawing
from sortiewright.performance import ManoeuvreNumbers
from sortiewright.sortie import MINUS, Kind, System, convert, show

SIDEROOM, HEADROOM = 0.07, 0.9
LONGEST_LINE = 26
"""Signs of a store's title in one line of a label."""
UNLIMITED = 9.0
"""Load factor up to which a diagram is drawn where the pack sets no limit."""


def load_factor_chart(
    numbers: ManoeuvreNumbers,
    *,
    system: System = "trade",
    row: int = 0,
    width: float = WIDTH,
    text_size: float = TEXT_SIZE,
    aspect: float = ASPECT,
) -> tuple[Drawing, str]:
    """Return the V-n diagram of one case, and in words what it shows; ``width`` in points."""
    envelope, limits = numbers.envelope, numbers.limits
    chart = Chart("load factor diagram", width, text_size, f"{MINUS}0", aspect=aspect)
    size = convert(1.0, Kind.CAS, system)[0]
    cas, top, bottom = (part[row] for part in (envelope.cas * size, envelope.top, envelope.bottom))
    if not math.isfinite(float(limits.positive[row])):
        top = np.minimum(top, UNLIMITED)
    has_bottom = bool(np.isfinite(bottom).any())
    bare = float(numbers.aircraft_limits.positive[row])
    highest = max(float(np.nanmax(top)), bare if math.isfinite(bare) else 0.0) + HEADROOM
    lowest = float(np.nanmin(bottom)) - HEADROOM if has_bottom else 0.0
    last = float(cas[-1])
    scale = chart.set_scale((0.0, last * (1.0 + SIDEROOM)), (lowest, highest))
    chart.drawing.rectangle(chart.plot, "hatched")
    over, under = scale.line(cas, top), scale.line(cas, bottom)
    if not under:
        under = scale.line([0.0, last], [0.0, 0.0])
    chart.drawing.path([*over, *reversed(under)], "inside", closed=True)
    chart.lines += [over, under, [over[-1], under[-1]]]
    nought = scale.line([0.0, last], [0.0, 0.0])
    chart.drawing.path(nought, "faint")
    level = scale.line([float(envelope.stall_cas[row]) * size, last], [1.0, 1.0])
    if len(level) > 1:
        chart.drawing.path(level, "faint_dotted")
    place = show(float(numbers.altitude[row]), Kind.HEIGHT, system).text
    mass = show(float(numbers.mass[row]), Kind.MASS, system).text
    unit = show(0.0, Kind.CAS, system).unit
    chart.axes(f"Calibrated airspeed, {unit}", "Load factor, g", f"{place}, {mass}")
    # In this order labels choose their places; the lines are there before any of them does.
    _points(chart, numbers, row, size, system)
    _rolling(chart, numbers, row, size)
    _bare(chart, numbers, row, last)
    _names(chart, numbers, row, size, system)
    homeless = chart.set_labels()
    if len(level) > 1:
        chart.on_line("1 g", level, (0.75, 0.6, 0.9, 0.4))
    words = f"Load factor over airspeed at {place} and {mass}. {chart.told()}."
    return chart.drawing, words + (f" Without room: {'; '.join(homeless)}." if homeless else "")


def _rolling(chart: Chart, numbers: ManoeuvreNumbers, row: int, size: float) -> None:
    """Draw what is allowed while rolling, from where the wing gives it."""
    limit = float(numbers.limits.rolling[row])
    if not math.isfinite(limit):
        return
    envelope = numbers.envelope
    cas, stall = envelope.cas[row] * size, envelope.stall[row]
    able = np.flatnonzero(stall >= limit)
    if not able.size:
        return
    first = float(cas[0])
    if (at := int(able[0])) > 0:
        part = (limit - stall[at - 1]) / (stall[at] - stall[at - 1])
        first = float(cas[at - 1] + part * (cas[at] - cas[at - 1]))
    last = float(cas[-1])
    chart.line([first, last], [limit, limit], "limit_dashed")
    lines = [f"Rolling {limit:.1f} g", *_other(numbers, row, numbers.limits.rolling_by[row])]
    shares = (0.6, 0.4, 0.8, 0.2)
    chart.want("rolling", lines, [chart.scale.at(first + s * (last - first), limit) for s in shares], bold=1)


def _bare(chart: Chart, numbers: ManoeuvreNumbers, row: int, last: float) -> None:
    """Draw the limit of the aircraft with nothing on it, where stores lower it."""
    bare, loaded = (float(one.positive[row]) for one in (numbers.aircraft_limits, numbers.limits))
    if math.isfinite(bare) and bare > loaded + 0.05:
        chart.line([0.0, last], [bare, bare], "faint")
        anchors = [chart.scale.at(share * last, bare) for share in (0.8, 0.6, 0.4)]
        chart.want("bare", [f"Without stores {bare:.1f} g"], anchors)


def _points(chart: Chart, numbers: ManoeuvreNumbers, row: int, size: float, system: System) -> None:
    """Mark the corner, and today's speed at the load factor of its sustained turn."""
    corner, envelope = numbers.corner, numbers.envelope
    cas = float(corner.cas[row])
    if math.isfinite(cas):
        point = chart.scale.at(cas * size, float(numbers.limits.positive[row]))
        chart.mark(point, "square", size=6.5)
        chart.want("corner", [f"Corner {show(cas, Kind.CAS, system).text}"], [point], bold=1)
    today = float(numbers.cas[row])
    load = float(numbers.sustained.turn.load_factor[row])
    if math.isfinite(load) and today <= float(envelope.end_cas[row]):
        point = chart.scale.at(today * size, load)
        chart.mark(point, "disc", size=7.5)
        speed = show(today, Kind.CAS, system).text
        chart.want("today", [f"Today {speed}", f"{load:.1f} g held"], [point], bold=1)


def _names(chart: Chart, numbers: ManoeuvreNumbers, row: int, size: float, system: System) -> None:
    """Name the stall lines and the limits, each where it bounds the diagram."""
    envelope, limits, scale = numbers.envelope, numbers.limits, chart.scale
    cas, stall, negative = envelope.cas[row] * size, envelope.stall[row], envelope.negative_stall[row]
    most, least = float(limits.positive[row]), float(limits.negative[row])
    rising = (stall <= most) & (stall > 0.3)
    one = show(float(envelope.stall_cas[row]), Kind.CAS, system).text
    chart.want(
        "stall", ["Stall", f"1 g at {one}"], chart.along(scale.line(cas[rising], stall[rising])), bold=1
    )
    last = float(cas[-1])
    if math.isfinite(most) and (stall >= most).any():
        lines = [f"Limit {most:.1f} g", *_store(numbers, limits.positive_by[row])]
        flat = cas[stall >= most]
        chart.want("positive", lines, chart.along(scale.line(flat, np.full(flat.shape, most))), bold=1)
    if not math.isfinite(most) and (stall > UNLIMITED).any():
        beyond = cas[stall > UNLIMITED]
        line = scale.line(beyond, np.full(beyond.shape, UNLIMITED))
        chart.want("unlimited", ["No limit in the pack"], chart.along(line), bold=1)
    if np.isfinite(negative).any():
        falling = (negative >= least) & (negative < -0.2)
        chart.want(
            "negative stall", ["Negative stall"], chart.along(scale.line(cas[falling], negative[falling]))
        )
        if math.isfinite(least) and (negative <= least).any():
            lines = [
                f"Limit {least:.1f} g".replace("-", MINUS),
                *_other(numbers, row, limits.negative_by[row]),
            ]
            flat = cas[negative <= least]
            chart.want("negative", lines, chart.along(scale.line(flat, np.full(flat.shape, least))), bold=1)
    if envelope.is_at_limit[row]:
        end = show(float(envelope.end_cas[row]), Kind.CAS, system, rounding="down").text
        store = _other(numbers, row, limits.mach_by if _by_mach(numbers, row) else limits.cas_by)
        lines = [f"Speed limit {end}", *store]
    else:
        lines = ["End of the tables"]
    feet = [scale.at(last, share) for share in (0.5, -0.5, 2.0, 3.0) if scale.y[0] < share < scale.y[1]]
    chart.want("speed", lines, feet, bold=1)


def _by_mach(numbers: ManoeuvreNumbers, row: int) -> bool:
    return bool(numbers.envelope.end_mach[row] >= numbers.limits.maximum_mach * (1.0 - 1e-9))


def _other(numbers: ManoeuvreNumbers, row: int, name: str) -> list[str]:
    """Return ``_store``, nothing where the same store is named beside the positive limit."""
    limits, stall = numbers.limits, numbers.envelope.stall[row]
    is_named = bool((stall >= float(limits.positive[row])).any())
    return [] if is_named and str(name) == str(limits.positive_by[row]) else _store(numbers, name)


def _store(numbers: ManoeuvreNumbers, name: str) -> list[str]:
    """Return the title of the store that sets a limit in short lines, nothing where the aircraft does."""
    # What follows a comma is how the store is filled: the name is enough beside a line.
    return wrap(numbers.store_titles.get(str(name), "").split(",")[0], LONGEST_LINE)
