"""Drawings of a pack's tables, for the eye that finds a wrong digit faster than any check."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from pathlib import Path as FilePath
from typing import Any, Literal

import numpy as np
from matplotlib.patches import Polygon
from numpy.typing import NDArray

from sortiewright.pack.chart_style import (
    DASHES,
    Axes,
    ChartStyle,
    Figure,
    Theme,
    label_line,
    label_line_ends,
    new_axes,
    new_chart,
    new_figure,
    number_text,
    save_chart,
    style_for,
    text_settings,
    write,
)
from sortiewright.pack.schema import Configuration, Pack
from sortiewright.pack.schema_loading import EnvelopePoint
from sortiewright.pack.table import Table
from sortiewright.pack.units import COMMON_UNITS

Units = Literal["trade", "si"]
Floats = NDArray[np.float64]

DRAWN_ALTITUDES = 6
"""Most lines in one panel: more cannot be labelled."""


def draw_lift(pack: Pack, theme: Theme = "day", *, mach: float = 0.2) -> Figure:
    """Return lift coefficient over angle of attack for each configuration, with its maximum and on-speed."""
    style = style_for(theme)
    title = f"{pack.title}: lift at Mach {mach:g}"
    figure, axes = new_chart(style, title, "Angle of attack, deg", "Lift coefficient")
    ends: list[tuple[float, float, str, str]] = []
    for i, (name, configuration) in enumerate(pack.aero.configurations.items()):
        colour, dash = _line(style, i)
        alpha = _angles(configuration.lift)
        lift = configuration.lift(alpha, _inside(configuration.lift, "mach", mach))
        axes.plot(np.degrees(alpha), lift, color=colour, linestyle=dash, linewidth=1.6)
        greatest = float(configuration.maximum_lift(_inside(configuration.maximum_lift, "mach", mach)))
        angle = _where_reached(alpha, lift, greatest)
        axes.plot(angle, greatest, marker="_", markersize=16, color=colour, mew=1.6)
        label = f"{_short(configuration, name)}, max {greatest:.2f}"
        ends.append((float(np.degrees(alpha[-1])), float(lift[-1]), label, colour))
    _mark_on_speed(axes, style, pack, mach)
    axes.margins(x=0.02, y=0.1)
    _label(figure, style, [(axes, ends)])
    return figure


def draw_drag(pack: Pack, theme: Theme = "day", *, mach: float = 0.2) -> Figure:
    """Return the drag polar of each configuration, gear up, up to its maximum lift."""
    style = style_for(theme)
    title = f"{pack.title}: drag at Mach {mach:g}, gear up"
    figure, axes = new_chart(style, title, "Drag coefficient", "Lift coefficient")
    ends: list[tuple[float, float, str, str]] = []
    for i, (name, configuration) in enumerate(pack.aero.configurations.items()):
        colour, dash = _line(style, i)
        drag, lift = _polar(configuration, mach)
        axes.plot(drag, lift, color=colour, linestyle=dash, linewidth=1.6)
        ends.append((float(drag[-1]), float(lift[-1]), _short(configuration, name), colour))
    axes.set_xlim(left=0.0)
    _label(figure, style, [(axes, ends)])
    return figure


def draw_thrust(pack: Pack, theme: Theme = "day", *, units: Units = "trade") -> Figure:
    """Return net thrust of one engine over Mach number, a panel a power setting and a line an altitude."""
    unit = "lbf" if units == "trade" else "kN"
    return _engine_chart(pack, theme, "net thrust of one engine", unit, "N", lambda s: s.thrust, units)


def draw_fuel_flow(pack: Pack, theme: Theme = "day", *, units: Units = "trade") -> Figure:
    """Return fuel flow of one engine over Mach number, a panel a power setting and a line an altitude."""
    unit = "lb/h" if units == "trade" else "kg/s"
    return _engine_chart(pack, theme, "fuel flow of one engine", unit, "kg/s", lambda s: s.fuel_flow, units)


def draw_envelope(
    pack: Pack,
    theme: Theme = "day",
    *,
    units: Units = "trade",
    points: Sequence[tuple[float, float, str]] = (),
) -> Figure:
    """Return the centre of gravity envelope; outside is hatched.

    ``points`` are today's: share of mean chord, mass in kg, and what it is; they are joined in their order.
    """
    style = style_for(theme)
    unit = "lb" if units == "trade" else "kg"
    scale = COMMON_UNITS["kg"][unit]
    title = f"{pack.title}: centre of gravity"
    figure, axes = new_chart(
        style, title, "Centre of gravity, % mean chord", f"Gross weight, {unit}", size=(6.0, 5.2)
    )
    corners = _corners(pack.mass.envelope, scale)
    up = _corners(pack.mass.envelope_gear_up or (), scale)
    everything = np.vstack([corners, up]) if len(up) else corners
    marked = np.array([(100.0 * share, mass / scale) for share, mass, _ in points]).reshape(-1, 2)
    everything = np.vstack([everything, marked])
    low, high = everything.min(axis=0), everything.max(axis=0)
    room = 0.12 * (high - low)
    axes.set_xlim(low[0] - room[0], high[0] + room[0])
    axes.set_ylim(low[1] - room[1], high[1] + room[1])
    axes.patch.set(hatch="////", edgecolor=style.rule)
    axes.add_patch(Polygon(corners, closed=True, facecolor=style.card, edgecolor=style.ink, linewidth=1.8))
    if len(up):
        outline = {"fill": False, "edgecolor": style.second_ink, "linestyle": DASHES[1], "linewidth": 1.2}
        axes.add_patch(Polygon(up, closed=True, **outline))
        corner = float(up[:, 0].min()), float(up[:, 1].min())
        label_line(axes, style, *corner, "gear up", color=style.second_ink, xytext=(1, -8))
    _mass_lines(figure, axes, style, pack, scale, unit)
    if len(marked):
        axes.plot(marked[:, 0], marked[:, 1], "o-", color=style.today, markersize=5, linewidth=1.2, zorder=6)
        for (x, y), (_, _, text) in zip(marked, points, strict=True):
            write(axes, style, float(x), float(y), f"  {text}", va="center", weight="bold")
    return figure


DRAWINGS: dict[str, Callable[[Pack, Theme], Figure]] = {
    "lift": draw_lift,
    "drag": draw_drag,
    "thrust": draw_thrust,
    "fuel_flow": draw_fuel_flow,
    "envelope": draw_envelope,
}


def draw_pack(pack: Pack, folder: FilePath, theme: Theme = "day", kind: str = "png") -> list[FilePath]:
    """Return the files written: every drawing of a pack, as ``png``, ``svg`` or ``pdf``."""
    folder.mkdir(parents=True, exist_ok=True)
    return [save_chart(draw(pack, theme), folder / f"{name}.{kind}") for name, draw in DRAWINGS.items()]


def _line(style: ChartStyle, index: int) -> tuple[str, Any]:
    return style.lines[index % len(style.lines)], DASHES[index % len(DASHES)]


def _inside(table: Table, axis: str, wanted: float) -> float:
    low, high = table.range_of(axis)
    return min(max(wanted, low), high)


def _angles(lift: Table) -> Floats:
    low, high = lift.range_of("angle_of_attack")
    return np.unique(np.concatenate([np.linspace(low, high, 121), lift.axes[0]]).clip(low, high))


def _short(configuration: Configuration, name: str) -> str:
    """Return the title without what it explains in brackets: a label on a line has little room."""
    return (configuration.title or name).partition(" (")[0]


def _where_reached(alpha: Floats, lift: Floats, greatest: float) -> float:
    """Return the angle (deg) where the curve first reaches the maximum, or comes nearest to it."""
    reached = np.flatnonzero(lift >= greatest)
    index = int(reached[0]) if len(reached) else int(np.argmax(lift))
    return math.degrees(alpha[index])


def _mark_on_speed(axes: Axes, style: ChartStyle, pack: Pack, mach: float) -> None:
    landing = pack.technique.landing
    lift = pack.aero.configurations[landing.configuration].lift
    angle = landing.on_speed_angle_of_attack
    value = float(lift(angle, _inside(lift, "mach", mach)))
    axes.plot(math.degrees(angle), value, "o", color=style.today, markersize=5, zorder=6)
    place = {"ha": "right", "va": "bottom", "weight": "bold"}
    write(axes, style, math.degrees(angle) - 0.5, value, "on speed", **place)


def _polar(configuration: Configuration, mach: float) -> tuple[Floats, Floats]:
    """Return drag and lift over the angles both tables hold, up to the maximum lift."""
    lift_table, drag_table = configuration.lift, configuration.drag
    low = max(lift_table.range_of("angle_of_attack")[0], drag_table.range_of("angle_of_attack")[0])
    high = min(lift_table.range_of("angle_of_attack")[1], drag_table.range_of("angle_of_attack")[1])
    alpha = np.linspace(low, high, 161)
    lift = lift_table(alpha, _inside(lift_table, "mach", mach))
    drag = drag_table(alpha, _inside(drag_table, "mach", mach))
    last = int(np.argmax(lift)) + 1
    return drag[:last], lift[:last]


def _engine_chart(
    pack: Pack,
    theme: Theme,
    what: str,
    unit: str,
    si_unit: str,
    table_of: Callable[[Any], Table],
    units: Units,
) -> Figure:
    style = style_for(theme)
    settings = list(pack.engine.settings.items())
    columns = 1 if len(settings) == 1 else 2
    rows = math.ceil(len(settings) / columns)
    figure = new_figure(style, f"{pack.title}: {what}, {unit}", size=(4.1 * columns + 0.6, 2.6 * rows + 0.6))
    scale = COMMON_UNITS[si_unit][unit]
    height_unit = "ft" if units == "trade" else "m"
    pending: list[tuple[Axes, list[tuple[float, float, str, str]]]] = []
    for number, (name, setting) in enumerate(settings, 1):
        table = table_of(setting)
        axes = new_axes(figure, style, "Mach", unit, rows, columns, number)
        axes.set_title(setting.title or name, loc="left", **{**text_settings(style), "size": 9})
        ends: list[tuple[float, float, str, str]] = []
        mach = table.axes[0]
        above_sea = table.axes[1][table.axes[1] >= 0.0]
        for i, height in enumerate(
            _some(above_sea if len(above_sea) > 1 else table.axes[1], DRAWN_ALTITUDES)
        ):
            values = table(mach, height) / scale
            # The lower, the heavier the ink: altitude is one quantity and takes one colour.
            width = 2.0 - 0.25 * i
            axes.plot(mach, values, color=style.lines[0], linewidth=width)
            text = f"{number_text(round(height / COMMON_UNITS['m'][height_unit]))} {height_unit}"
            ends.append((float(mach[-1]), float(values[-1]), text, style.second_ink))
        axes.set_ylim(bottom=min(0.0, 1.1 * float(np.min(table.values)) / scale))
        axes.margins(x=0.0)
        pending.append((axes, ends))
    for axes, ends in pending:
        _label(figure, style, [(axes, ends)])
    return figure


def _some(steps: Floats, most: int) -> Floats:
    """Return at most so many of the steps, evenly chosen, first and last among them."""
    if len(steps) <= most:
        return steps
    return steps[np.unique(np.round(np.linspace(0, len(steps) - 1, most)).astype(int))]


def _label(
    figure: Figure,
    style: ChartStyle,
    charts: Sequence[tuple[Axes, list[tuple[float, float, str, str]]]],
    spacing: float = 10.0,
) -> None:
    """Label line ends; the layout is settled first, for the labels to keep apart on the page."""
    figure.draw_without_rendering()
    for axes, ends in charts:
        label_line_ends(axes, style, ends, spacing=spacing)


def _corners(points: Sequence[EnvelopePoint], scale: float) -> Floats:
    return np.array([(100.0 * point.centre_of_gravity, point.mass / scale) for point in points]).reshape(
        -1, 2
    )


def _mass_lines(figure: Figure, axes: Axes, style: ChartStyle, pack: Pack, scale: float, unit: str) -> None:
    ends: list[tuple[float, float, str, str]] = []
    for label, mass in (
        ("max ramp", pack.mass.maximum_ramp_mass),
        ("max takeoff", pack.mass.maximum_takeoff_mass),
        ("max landing", pack.mass.maximum_landing_mass),
    ):
        axes.axhline(mass / scale, color=style.second_ink, linewidth=0.8, linestyle=DASHES[2])
        text = f"{label}\n{number_text(round(mass / scale))} {unit}"
        ends.append((axes.get_xlim()[1], mass / scale, text, style.second_ink))
    _label(figure, style, [(axes, ends)], spacing=22.0)
