"""Every landing of the day in one batch, and the one-engine go-around."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import approach_gust_increment, tas_from_cas
from sortiewright.pack import Configuration, OutsideTable, Pack
from sortiewright.performance import (
    Balance,
    Cases,
    ClimbGradient,
    Landing,
    climb_gradient,
    joined,
    land,
)
from sortiewright.sortie.conditions import Conditions, cases_of, landing_chute
from sortiewright.sortie.schema import Sortie
from sortiewright.sortie.uncertainty import half_width, with_errors

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class LandingRow:
    """One landing that was computed: what it assumes, and its row in the batch."""

    name: str
    title: str
    runway_condition_reading: float
    chute: bool
    result: Landing | None
    row: int
    problem: str = ""


STANDARD_SURFACES = (("dry", 23.0), ("wet", 12.0), ("icy", 5.0))


def land_everywhere(
    sortie: Sortie, pack: Pack, conditions: Conditions, light: Balance, heavy: Balance
) -> tuple[tuple[LandingRow, ...], dict[str, float | None]]:
    """Return every landing case, and the half-widths of today's.

    ``light`` is the balance at touchdown, ``heavy`` that of a return at takeoff weight.
    """
    wanted = _landing_cases(sortie, pack, conditions)
    problem = "; ".join(conditions.missing)
    if problem:
        return tuple(LandingRow(c.name, c.title, c.reading, c.chute, None, 0, problem) for c in wanted), {}
    errors = with_errors(cases_of(conditions, light))
    try:
        result = _land(sortie, pack, conditions, light, heavy, wanted, errors)
    except OutsideTable:
        return tuple(_landing_alone(sortie, pack, conditions, light, heavy, case) for case in wanted), {}
    first = len(wanted)
    widths = {
        "landing_distance": half_width(result.total[first:]),
        "approach_cas": half_width(result.approach_cas[first:]),
    }
    rows = [LandingRow(c.name, c.title, c.reading, c.chute, result, row) for row, c in enumerate(wanted)]
    planned = landing_chute(sortie, pack, conditions)
    if pack.technique.landing.no_flap_configuration is not None:
        today = conditions.runway_condition_reading
        no_flap = WantedLanding("no_flap", "No flap, today", today, planned)
        rows.insert(-1, _landing_alone(sortie, pack, conditions, light, heavy, no_flap))
    return tuple(rows), widths


@dataclass(frozen=True, slots=True)
class WantedLanding:
    """A landing that is wanted: its surface, and whether the chute opens."""

    name: str
    title: str
    reading: float
    chute: bool


def _landing_cases(sortie: Sortie, pack: Pack, conditions: Conditions) -> list[WantedLanding]:
    """Return the landings with the day's flap: by surface and chute, and at takeoff weight."""
    has_chute = pack.wheels.chute is not None
    today = conditions.runway_condition_reading
    wanted: list[WantedLanding] = []
    for chute in [True, False] if has_chute else [False]:
        suffix, words = ("_chute", ", chute") if chute else ("", ", no chute" if has_chute else "")
        wanted.append(WantedLanding(f"today{suffix}", f"Today{words}", today, chute))
        wanted += [
            WantedLanding(f"{name}{suffix}", f"{name.capitalize()}{words}", reading, chute)
            for name, reading in STANDARD_SURFACES
        ]
    planned = landing_chute(sortie, pack, conditions)
    wanted.append(WantedLanding("immediate_return", "Return at takeoff weight, today", today, planned))
    return wanted


def _land(
    sortie: Sortie,
    pack: Pack,
    conditions: Conditions,
    light: Balance,
    heavy: Balance,
    wanted: list[WantedLanding],
    errors: Cases | None,
) -> Landing:
    """Return the wanted landings as one batch, today's with its errors after them."""
    no_flap = wanted[0].name == "no_flap"
    technique = pack.technique.landing
    usual, full = cases_of(conditions, light), cases_of(conditions, heavy)
    batches = [
        (full if case.name == "immediate_return" else usual).with_reading(
            case.reading, conditions.standing_water
        )
        for case in wanted
    ]
    chutes = [case.chute for case in wanted]
    if errors is not None:
        batches.append(errors)
        chutes += [landing_chute(sortie, pack, conditions)] * errors.count
    return land(
        pack,
        joined(batches),
        configuration=technique.no_flap_configuration if no_flap else sortie.landing.configuration,
        angle_of_attack=None if no_flap else sortie.landing.on_speed_angle_of_attack,
        gust_increment=_gust(conditions),
        chute=np.array(chutes),
    )


def _landing_alone(
    sortie: Sortie, pack: Pack, conditions: Conditions, light: Balance, heavy: Balance, case: WantedLanding
) -> LandingRow:
    """Return one landing by itself; outside a table it spoils no other."""
    try:
        result = _land(sortie, pack, conditions, light, heavy, [case], None)
    except OutsideTable as error:
        return LandingRow(case.name, case.title, case.reading, case.chute, None, 0, str(error))
    return LandingRow(case.name, case.title, case.reading, case.chute, result, 0)


def go_around(
    sortie: Sortie, pack: Pack, conditions: Conditions, light: Balance, rows: tuple[LandingRow, ...]
) -> tuple[ClimbGradient | None, ClimbGradient | None, float]:
    """Return the one-engine climb from the approach, gear down and up, and its true airspeed."""
    first = next((row for row in rows if row.result is not None), None)
    if pack.engine.count == 1 or first is None or first.result is None:
        return None, None, float("nan")
    cases = cases_of(conditions, light)
    name = sortie.landing.configuration or pack.technique.landing.configuration
    power = pack.technique.takeoff.engine_out_power or pack.technique.takeoff.power
    cas = first.result.approach_cas[first.row : first.row + 1]
    speed = np.asarray(tas_from_cas(cas, cases.air))
    try:
        down, up = gear_down_and_up(pack, cases, pack.aero.configurations[name], speed, power)
    except OutsideTable:
        return None, None, float(speed[0])
    return down, up, float(speed[0])


def gear_down_and_up(
    pack: Pack, cases: Cases, configuration: Configuration, tas: Floats, power: str
) -> tuple[ClimbGradient, ClimbGradient]:
    """Return the climb with one engine dead, gear down and gear up, from one batch."""
    both = climb_gradient(
        pack,
        cases.repeated(2),
        configuration,
        np.repeat(tas, 2),
        power,
        failed_engines=1,
        gear=np.array([1.0, 0.0]),
    )
    down, up = (
        ClimbGradient(both.angle[k : k + 1], both.rate[k : k + 1], both.angle_of_attack[k : k + 1])
        for k in (0, 1)
    )
    return down, up


def _gust(conditions: Conditions) -> float:
    """Return how far the gust is over the mean wind, m/s."""
    wind = conditions.weather.wind
    return 0.0 if wind is None else 2.0 * float(approach_gust_increment(wind))
