"""The route as a line to draw: places, heights, times and fuel along it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from sortiewright.sortie.route_flown import RouteRow
from sortiewright.sortie.route_lines import edge_values, flown_arrays
from sortiewright.sortie.route_pieces import PieceState

Floats = NDArray[np.float64]

LEVEL_POINTS = np.linspace(0.0, 1.0, 5)
STANDING = np.array([0.0, 1.0])


def track_of_rows(rows: Sequence[RouteRow], states: Sequence[PieceState | None]) -> Floats:
    """Return what to draw, (k, 6): degrees north and east, altitude m, distance m, elapsed s, fuel kg.

    ``states`` are the solved pieces of the rows, None for one flown by allowance. Between the ends of a row
    the line is the great circle: on legs under 500 km it lies within 100 m of the geodesic.
    """
    if not rows:
        return np.zeros((0, 6))
    shares: list[Floats] = []
    parts: list[Floats] = []
    done = 0.0
    for row, state in zip(rows, states, strict=True):
        share, part = _along(row, state)
        part[1] += done
        done += row.distance
        shares.append(share)
        parts.append(part)
    ends = np.radians(
        [(r.start.latitude_deg, r.start.longitude_deg, r.end.latitude_deg, r.end.longitude_deg) for r in rows]
    )
    counts = [len(share) for share in shares]
    latitude, longitude = _between(np.repeat(ends, counts, axis=0), np.concatenate(shares))
    return np.stack([latitude, longitude, *np.concatenate(parts, axis=1)], axis=1)


def _along(row: RouteRow, state: PieceState | None) -> tuple[Floats, Floats]:
    """Return shares of a row's way, and altitude, distance, elapsed time and fuel there, (4, k)."""
    if state is not None and state.paths and row.time > 0.0:
        time, fuel, _, ground, _ = flown_arrays(state)
        cells = min(int(state.cut), len(time) - 1) + 1
        times, burnt = _ending(time[:cells], row.time), _ending(fuel[:cells], row.fuel)
        altitude = _ending(edge_values(state, "altitude")[:cells], row.end_altitude)
        distance = _ending(ground[:cells], row.distance) if row.distance > 0.0 else 0.0 * times
        shares = distance / row.distance if row.distance > 0.0 else distance
    else:
        shares = LEVEL_POINTS if row.distance > 0.0 else STANDING
        altitude = row.start_altitude + (row.end_altitude - row.start_altitude) * shares
        times, burnt, distance = shares * row.time, shares * row.fuel, shares * row.distance
    left = row.fuel_aboard + row.fuel - row.fuel_on - burnt
    left[-1] = row.fuel_aboard
    return shares, np.array([altitude, distance, row.elapsed - row.time + times, left])


def _ending(values: Floats, last: float) -> Floats:
    """Return the values and one more."""
    longer = np.empty(len(values) + 1)
    longer[:-1], longer[-1] = values, last
    return longer


def _between(ends: Floats, shares: Floats) -> tuple[Floats, Floats]:
    """Return places at shares of the ways between ends (k, 4), radians; the result in degrees."""
    first, last = _unit(ends[:, 0], ends[:, 1]), _unit(ends[:, 2], ends[:, 3])
    angle = np.arccos(np.clip(np.sum(first * last, axis=0), -1.0, 1.0))
    apart = angle > 1e-9
    sine = np.where(apart, np.sin(angle), 1.0)
    before = np.where(apart, np.sin((1.0 - shares) * angle) / sine, 1.0 - shares)
    after = np.where(apart, np.sin(shares * angle) / sine, shares)
    x, y, z = before * first + after * last
    return np.degrees(np.arctan2(z, np.hypot(x, y))), np.degrees(np.arctan2(y, x))


def _unit(latitude: Floats, longitude: Floats) -> Floats:
    level = np.cos(latitude)
    return np.stack([level * np.cos(longitude), level * np.sin(longitude), np.sin(latitude)])
