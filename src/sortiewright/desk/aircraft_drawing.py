"""A sketch of any aircraft from above, from what its pack says: arms, side arms, wing, tanks, seats.

Drawn in centimetres, nose up: x to the right of the centre line, y aft of the datum. Wing area, span and mean
chord give the wing's taper and place; its sweep follows the stations under it. The rest is a sketch.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sortiewright.pack import Pack, Station

CM = 100.0
USUAL_SWEEP = 0.2
"""Sweep of the quarter chord, aft over side, where the stations do not show it."""
STATION_RADIUS = 33.0


@dataclass(frozen=True, slots=True)
class Glyph:
    """One store as drawn: an outline around (x, y)."""

    kind: str
    x: float
    y: float
    half_width: float
    half_length: float


@dataclass(frozen=True, slots=True)
class StationMark:
    """A station as drawn, with what hangs on it."""

    name: str
    label: str
    x: float
    y: float
    glyphs: tuple[Glyph, ...]


@dataclass(frozen=True, slots=True)
class TankMark:
    """A tank as drawn: its box, and how far it is filled from its aft end."""

    name: str
    x: float
    y: float
    width: float
    height: float
    filled: float


@dataclass(frozen=True, slots=True)
class Drawing:
    """Everything that is drawn; ``paths`` are the right halves of outlines by name, as SVG path data."""

    view_box: str
    paths: tuple[tuple[str, str], ...]
    stations: tuple[StationMark, ...]
    tanks: tuple[TankMark, ...]
    seats: tuple[tuple[str, float, float], ...]
    balance: float | None
    """Arm of the mean chord's quarter, where the eye looks for the balance."""


SHAPES = {
    "tank": (27.0, 105.0),
    "pod": (19.0, 88.0),
    "weapon": (14.0, 62.0),
    "practice": (11.0, 50.0),
    "missile": (7.0, 80.0),
    "rack": (10.0, 36.0),
}
"""Half width and half length of each kind of store."""


def drawing_of(pack: Pack, stores: Mapping[str, Sequence[str]], fuel: Mapping[str, float]) -> Drawing:
    """Return the drawing of an aircraft with these stores on its stations and this fuel in its tanks, kg."""
    frame, mass = pack.airframe, pack.mass
    half_span = frame.span * CM / 2
    half_body = max(0.055 * frame.span, frame.engine_side_arm + 0.42) * CM
    arms = [one.arm for one in (*mass.seats.values(), *mass.tanks.values(), *mass.stations.values())]
    nose = (min(*arms, frame.nose_wheel_arm) - 0.18 * frame.span) * CM
    tail = (max(*arms, frame.main_wheel_arm) + 0.22 * frame.span) * CM
    wing, tip_end = _wing(pack, half_span, half_body)
    bottom = max(tail, tip_end)
    margin = 24.0
    corner = f"{-half_span - margin:.0f} {nose - margin:.0f}"
    return Drawing(
        f"{corner} {2 * (half_span + margin):.0f} {bottom - nose + 2 * margin:.0f}",
        (
            ("wing", wing),
            ("tailplane", _tailplane(half_span, half_body, tail)),
            ("body", _body(nose, tail, half_body, min(seat.arm for seat in mass.seats.values()) * CM)),
        ),
        tuple(
            StationMark(name, _label(station, index), *_place(station), _glyphs(pack, station, stores, name))
            for index, (name, station) in enumerate(mass.stations.items(), 1)
        ),
        tuple(_tanks(pack, half_body, fuel)),
        tuple((seat.title or name, 0.0, seat.arm * CM) for name, seat in mass.seats.items()),
        (frame.mean_chord_leading_edge_arm + 0.25 * frame.mean_chord) * CM,
    )


def _place(station: Station) -> tuple[float, float]:
    return station.side_arm * CM, station.arm * CM


def _label(station: Station, index: int) -> str:
    number = re.match(r"[0-9]{1,2}\b", station.title)
    return number[0] if number else str(index)


def taper_of(area: float, span: float, mean_chord: float) -> float:
    """Return tip over root chord of the straight-tapered wing of this area, span and mean aerodynamic chord.

    Mean aerodynamic chord over mean chord is 4/3 (1 + t + t^2) / (1 + t)^2, between 1 and 4/3; outside it the
    nearest taper. Derivation: integral of chord squared over the span, divided by the area.
    """
    wanted = mean_chord * span / area
    low, high = 0.0, 1.0
    for _ in range(50):
        middle = (low + high) / 2
        ratio = 4 / 3 * (1 + middle + middle**2) / (1 + middle) ** 2
        low, high = (middle, high) if ratio > wanted else (low, middle)
    return (low + high) / 2


def _wing(pack: Pack, half_span: float, half_body: float) -> tuple[str, float]:
    """Return the wing as a path, and how far aft it reaches."""
    frame = pack.airframe
    taper = max(taper_of(frame.wing_area, frame.span, frame.mean_chord), 0.12)
    root = 2 * frame.wing_area / (frame.span * (1 + taper)) * CM
    tip = taper * root
    mean_at = half_span / 3 * (1 + 2 * taper) / (1 + taper)
    slope = _sweep(pack, half_body) + 0.25 * (root - tip) / half_span
    leading = frame.mean_chord_leading_edge_arm * CM - slope * mean_at
    at_tip = leading + slope * half_span
    ends = (leading + root, at_tip + tip)
    path = f"M0 {leading:.0f}L{half_span:.0f} {at_tip:.0f}V{ends[1]:.0f}L0 {ends[0]:.0f}"
    return path, max(ends)


def _sweep(pack: Pack, half_body: float) -> float:
    """Return how far aft the stations under the wing lie for each step outboard."""
    outside = [_place(one) for one in pack.mass.stations.values() if abs(one.side_arm) * CM > half_body]
    sides = [abs(x) for x, _ in outside]
    if not sides or max(sides) - min(sides) < 10.0:
        return USUAL_SWEEP if pack.airframe.engine_side_arm > 0.0 else 0.06
    mean_x, mean_y = math.fsum(sides) / len(sides), math.fsum(y for _, y in outside) / len(outside)
    over = math.fsum((abs(x) - mean_x) * (y - mean_y) for x, y in outside)
    return over / math.fsum((x - mean_x) ** 2 for x in sides)


def _body(nose: float, tail: float, half: float, seat: float) -> str:
    shoulder, waist = seat + 0.3 * (tail - seat), tail - 0.16 * (tail - nose)
    corners = (
        ((0.42 * half, nose + 20), (0.6 * half, seat - 60), (0.7 * half, seat)),
        ((0.8 * half, seat + 60), (half, shoulder - 60), (half, shoulder)),
        ((half, shoulder + 60), (half, waist - 60), (half, waist)),
        ((half, waist + 80), (0.66 * half, tail - 50), (0.6 * half, tail)),
    )
    curves = ("C" + " ".join(f"{x:.0f} {y:.0f}" for x, y in three) for three in corners)
    return f"M0 {nose:.0f}{''.join(curves)}H0"


def _tailplane(half_span: float, half_body: float, tail: float) -> str:
    root, tip = 0.5 * half_body, 0.46 * half_span
    fore, aft = tail - 0.36 * half_span, tail + 10
    return f"M{root:.0f} {fore:.0f}L{tip:.0f} {tail - 70:.0f}V{aft:.0f}L{root:.0f} {tail - 20:.0f}"


def _tanks(pack: Pack, half_body: float, fuel: Mapping[str, float]) -> list[TankMark]:
    largest = max((tank.capacity for tank in pack.mass.tanks.values()), default=1.0)
    found: list[TankMark] = []
    for name, tank in pack.mass.tanks.items():
        size = math.sqrt(tank.capacity / largest)
        is_wing = abs(tank.side_arm) * CM > half_body
        width, height = (150 * size, 66 * size) if is_wing else (1.3 * half_body, 150 * size)
        share = min(max(fuel.get(name, 0.0) / tank.capacity, 0.0), 1.0)
        x, y = tank.side_arm * CM - width / 2, tank.arm * CM - height / 2
        found.append(TankMark(name, x, y, width, height, share))
    return found


def _glyphs(
    pack: Pack, station: Station, stores: Mapping[str, Sequence[str]], name: str
) -> tuple[Glyph, ...]:
    carried = [pack.stores[store].kind for store in stores.get(name, ()) if store in pack.stores]
    beside = [kind for kind in carried if kind != "rack"] or carried
    x, y = _place(station)
    found: list[Glyph] = []
    for index, kind in enumerate(beside[:6]):
        half_width, half_length = SHAPES.get(kind, SHAPES["weapon"])
        offset = (index - (min(len(beside), 6) - 1) / 2) * (2 * half_width + 6)
        found.append(Glyph(kind, x + offset, y, half_width, half_length))
    return tuple(found)
