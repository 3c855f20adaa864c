"""Everything a crew asks of turning, climbing and pulling today, in one call."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import cas_from_mach, standard_pressure
from sortiewright.pack import Pack
from sortiewright.performance.excess_power import ExcessPowerGrid, excess_power_grid
from sortiewright.performance.level_flight import FlightCases, FlightSetup, flight_point, power_setting
from sortiewright.performance.limited_turns import (
    LimitedTurn,
    SustainedTurn,
    turns_at,
)
from sortiewright.performance.load_factor_diagram import (
    CornerSpeed,
    LoadFactorEnvelope,
    load_factor_envelope,
)
from sortiewright.performance.turn_limits import ManoeuvreLimits, mach_ends, manoeuvre_limits

Floats = NDArray[np.float64]

TURN_POINTS = 42
CLOSER_AT_STALL = 1.5


@dataclass(frozen=True, slots=True)
class ManoeuvreNumbers:
    """Turns, V-n diagram and excess power of a batch at one pressure altitude and Mach number.

    ``instantaneous`` and ``sustained`` are those at ``mach``, (n,). ``turn_mach`` (n, k) runs from the stall
    to the speed limit, or the end of the tables, with ``turn_cas`` m/s; the two ``*_curve`` are over it.
    ``level_mach`` (n, 2) are the Mach numbers between which level flight can be held, NaN where that is the
    end of the curve: there the sustained turn goes down to none. ``energy_rate`` m/s, (n,), is the specific
    excess power at ``mach`` and the load factor of the grid, NaN where that cannot be flown.
    ``aircraft_limits`` are the limits with nothing hanging.
    """

    altitude: Floats
    mach: Floats
    cas: Floats
    mass: Floats
    power: str
    power_title: str
    store_titles: Mapping[str, str]
    limits: ManoeuvreLimits
    aircraft_limits: ManoeuvreLimits
    instantaneous: LimitedTurn
    sustained: SustainedTurn
    turn_mach: Floats
    turn_cas: Floats
    instantaneous_curve: LimitedTurn
    sustained_curve: SustainedTurn
    level_mach: Floats
    corner: CornerSpeed
    envelope: LoadFactorEnvelope
    excess_power: ExcessPowerGrid
    energy_rate: Floats


def manoeuvre_numbers(
    pack: Pack,
    setup: FlightSetup,
    cases: FlightCases,
    *,
    altitude: float,
    mach: float,
    power: str,
    stores: Collection[str] = (),
    load_factor: float = 1.0,
) -> ManoeuvreNumbers:
    """Return turns, corner speed, V-n diagram and specific excess power for a batch with what hangs.

    Parameters
    ----------
    altitude : m
        Pressure altitude of turns and V-n diagram; excess power covers all heights of the tables.
    power
        Setting of sustained turns and of excess power.
    stores
        Names of what hangs, for their limits; their mass and drag are in ``cases``.
    load_factor : g
        Of excess power.

    Raises
    ------
    OutsideTable
        Where a table of the pack does not reach the height, the Mach number, a mass or the day's temperature.
    ValueError
        For a power setting or a store that the pack has not.
    """
    count = cases.count
    envelope = load_factor_envelope(pack, setup, cases, altitude=altitude, stores=stores)
    setting = power_setting(pack, power)
    slowest, fastest = mach_ends(setup, setting.thrust)
    # Where even one g is out of reach the curve is a point at the end, without a turn.
    begin = np.where(np.isfinite(envelope.stall_mach), envelope.stall_mach, slowest)
    end = np.maximum(np.minimum(envelope.end_mach, fastest), begin)
    # The rate of turn rises steeply from the stall: points stand closer there.
    share = np.linspace(0.0, 1.0, TURN_POINTS - 1) ** CLOSER_AT_STALL
    even = begin[:, None] + (end - begin)[:, None] * share
    corner = envelope.corner.mach
    # The corner is a point of the curve, or its tip would be cut.
    numbers = np.sort(
        np.column_stack([even, np.where((corner >= begin) & (corner <= end), corner, end)]), axis=1
    )
    # A hair above the stall, which rounding would put on the wrong side.
    numbers[:, 0] *= 1.0 + 1e-7
    every = np.column_stack([np.full(count, mach), numbers])
    level = np.full(every.shape, altitude)
    tightest, held, point = turns_at(
        pack, setup, cases, envelope.limits, altitude=level, mach=every, power=power
    )
    rate_here = point.energy_rate[:, 0]
    if load_factor != 1.0:
        rate_here = flight_point(
            pack, setup, cases, power,
            mass=cases.mass, pressure_altitude=altitude, mach=mach, load_factor=load_factor,
        ).energy_rate  # fmt: skip
    pressure = standard_pressure(altitude)
    return ManoeuvreNumbers(
        np.full(count, altitude),
        np.full(count, mach),
        np.full(count, float(cas_from_mach(mach, pressure))),
        cases.mass,
        power,
        setting.title or power.replace("_", " "),
        {name: pack.stores[name].title for name in stores},
        envelope.limits,
        manoeuvre_limits(pack, setup, cases),
        tightest.columns(0),
        held.columns(0),
        numbers,
        np.asarray(cas_from_mach(numbers, pressure)),
        tightest.columns(slice(1, None)),
        held.columns(slice(1, None)),
        _level_mach(numbers, point.energy_rate[:, 1:]),
        envelope.corner,
        envelope,
        excess_power_grid(pack, setup, cases, power, load_factor=load_factor, stores=stores),
        np.where(load_factor <= tightest.turn.load_factor[:, 0], rate_here, np.nan),
    )


def _level_mach(mach: Floats, energy_rate: Floats) -> Floats:
    """Return where excess power first rises and last falls through nought, (n, 2), by straight lines."""
    over = np.where(np.isfinite(energy_rate), energy_rate, -1.0)
    ends = np.full((len(mach), 2), np.nan)
    for row, excess in enumerate(over):
        if not (good := np.flatnonzero(excess >= 0.0)).size:
            continue
        for side, at, beside in ((0, good[0], good[0] - 1), (1, good[-1], good[-1] + 1)):
            if 0 <= beside < len(excess):
                part = excess[at] / (excess[at] - excess[beside])
                ends[row, side] = mach[row, at] + part * (mach[row, beside] - mach[row, at])
    return ends
