"""The optimum flown again on the pack's own tables: what its smoothing and its segments are worth.

The load factors of the optimum are flown open loop, by fourth-order Runge-Kutta over time, with the forces of
``flight_point``: no line of it is shared with the optimiser's equations.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import STANDARD_GRAVITY, standard_air
from sortiewright.pack import Pack
from sortiewright.performance.climb_path import FlownPath
from sortiewright.performance.level_flight import FlightCases, FlightSetup, flight_point
from sortiewright.performance.optimal_climb_model import HEIGHT_SCALE, ClimbBounds
from sortiewright.performance.optimal_climb_transcription import POINTS, ClimbNodes

Floats = NDArray[np.float64]

STEP = 2.0  # s at most; half of it moves the end by less than a metre


def fly_load_factors(
    pack: Pack,
    setup: FlightSetup,
    case: FlightCases,
    power: str,
    nodes: ClimbNodes,
    bounds: ClimbBounds,
) -> FlownPath:
    """Return the flight of one case under the load factors of ``nodes``, from their first state.

    Between the points of a segment the load factor is the polynomial through them. Forces are those of the
    nearest height and Mach number inside ``bounds``, should the flight stray from there.
    """
    mass = float(case.mass[0])
    state = np.array([nodes.states[0, 0] * HEIGHT_SCALE, 0.0, nodes.states[2, 0], mass, 0.0])
    warm = float(case.isa_deviation[0])
    state[1] = nodes.states[1, 0] * float(standard_air(state[0], warm).speed_of_sound)

    def rates(at: Floats, load: float) -> Floats:
        height = float(np.clip(at[0], *bounds.altitude))
        air = standard_air(height, warm)
        number = float(np.clip(at[1] / air.speed_of_sound, *bounds.mach))
        point = flight_point(
            pack,
            setup,
            case,
            power,
            mass=at[3],
            pressure_altitude=height,
            mach=number,
            load_factor=load,
        )
        sine, cosine = np.sin(at[2]), np.cos(at[2])
        cooler = standard_air(height).temperature / air.temperature
        return np.array(
            [
                at[1] * sine * cooler,
                STANDARD_GRAVITY * (point.energy_rate[0] / point.tas[0] - sine),
                STANDARD_GRAVITY * (load - cosine) / at[1],
                -point.fuel_flow[0],
                at[1] * cosine,
            ]
        )

    times, states = [0.0], [state]
    for first in range(0, len(nodes.time) - 1, POINTS):
        points = slice(first + 1, first + POINTS + 1)
        begin, end = float(nodes.time[first]), float(nodes.time[first + POINTS])
        load_at = _polynomial(nodes.time[points] - begin, nodes.load_factor[points])
        count = max(POINTS, int(np.ceil((end - begin) / STEP)))
        width = (end - begin) / count
        for number in range(count):
            here = number * width
            middle, last = load_at(here + 0.5 * width), load_at(here + width)
            one = rates(state, load_at(here))
            two = rates(state + 0.5 * width * one, middle)
            three = rates(state + 0.5 * width * two, middle)
            four = rates(state + width * three, last)
            state = state + width / 6.0 * (one + 2.0 * two + 2.0 * three + four)
            times.append(begin + here + width)
            states.append(state)
    height, tas, angle, left, way = np.array(states).T
    sound = standard_air(height, warm).speed_of_sound
    columns = (height, tas / sound, tas, np.array(times), mass - left, way, left, angle)
    return FlownPath(*(column[None] for column in columns))


def _polynomial(x: Floats, y: Floats) -> np.polynomial.Polynomial:
    return np.polynomial.Polynomial.fit(x, y, POINTS - 1)
