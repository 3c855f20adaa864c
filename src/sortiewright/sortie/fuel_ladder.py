"""The fuel ladder: what is planned at each point against what home takes, the tanks, the balance."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from sortiewright.pack import FuelTechnique, Pack
from sortiewright.performance import EnvelopeCheck, LoadState, check_envelope
from sortiewright.sortie.figures import Kind
from sortiewright.sortie.fuel_ways import external_fuel_aboard
from sortiewright.sortie.route_flown import (
    FlownRoute,
    LadderStep,
    PlacedPoint,
    ReturnFuel,
    RouteFault,
    RouteRow,
)
from sortiewright.sortie.units import show

Floats = NDArray[np.float64]

ON_THE_GROUND = frozenset({"start_and_taxi", "run_up"})
ROUNDING = 0.05  # kg, a tenth of a pound: no shortage


def ladder_of(
    pack: Pack, flown: FlownRoute, least: Sequence[float | None], ramp: LoadState
) -> tuple[LadderStep, ...]:
    """Return a step for each row; ``least`` kg by row, None where it means nothing."""
    steps: list[LadderStep] = []
    before = ramp
    outside = external_fuel_aboard(pack, ramp)
    for number, (row, needed) in enumerate(zip(flown.rows, least, strict=True)):
        check = envelope_check(pack, row)
        remarks = list(_remarks(pack, row, before, check, needed))
        had, outside = outside, external_fuel_aboard(pack, row.load)
        if had > ROUNDING >= outside and row.part != "release":
            remarks.append("external tanks empty")
        steps.append(
            LadderStep(
                row.title,
                number,
                row.fuel_aboard,
                needed,
                tanks_of(row.load),
                row.balance,
                check,
                row.elapsed,
                tuple(remarks),
            )
        )
        before = row.load
    return tuple(steps)


def tanks_of(load: LoadState) -> dict[str, float]:
    """Return fuel by internal tank, and by station as ``external:`` and its name, kg."""
    outside = {f"external:{name}": kg for name, kg in load.store_fuel.items() if name not in load.released}
    return {**load.fuel, **outside}


def envelope_check(pack: Pack, row: RouteRow) -> EnvelopeCheck:
    """Return where the balance at a row's end stands: in the gear-up envelope once airborne."""
    envelope = pack.mass.envelope
    if row.part not in ON_THE_GROUND and row.part != "approach" and pack.mass.envelope_gear_up is not None:
        envelope = pack.mass.envelope_gear_up
    return check_envelope(envelope, row.balance.mass, row.balance.share_of_chord)


def balance_faults(flown: FlownRoute, ladder: Sequence[LadderStep]) -> Iterator[RouteFault]:
    """Yield a caution for each point at which the centre of gravity leaves the envelope."""
    for step in ladder:
        if not step.check.inside:
            row = flown.rows[step.row]
            text = f"At {_place(row)}: {_outside(step.check, step.balance.share_of_chord)}"
            hint = "Change the load, the order of releases or the fuel"
            yield RouteFault(row.leg, text, hint, "caution", _key(row))


def shortage_faults(
    flown: FlownRoute, ladder: Sequence[LadderStep], book: FuelTechnique, needed_at_fix: float
) -> Iterator[RouteFault]:
    """Yield what is wrong where less is planned than it takes to get home: the first step, and the worst.

    ``needed_at_fix`` kg is what a way home leaves there. A shortage that leaves less than minimum fuel at the
    fix is a no-go.
    """
    short = [
        (step.least - step.planned, step)
        for step in ladder
        if step.least is not None and step.planned < step.least - ROUNDING and step.row < _fix_row(flown)
    ]
    if not short:
        return
    worst = max(short, key=lambda pair: pair[0])
    for lacking, step in (short[0], worst) if worst is not short[0] else (worst,):
        row = flown.rows[step.row]
        severe = lacking > needed_at_fix - book.minimum
        text = (
            f"At {_place(row)} {_mass(step.planned)} are left: {_mass(lacking)} less than bingo from there, "
            f"{_mass(step.least or 0.0)}"
        )
        hint = "Turn back earlier, fly a shorter route, or take more fuel"
        yield RouteFault(row.leg, text, hint, "no-go" if severe else "caution", _key(row))


def reserve_faults(
    flown: FlownRoute, book: FuelTechnique, recovery: float, unusable: float, alternate: ReturnFuel | None
) -> Iterator[RouteFault]:
    """Yield what is wrong with the fuel left at the recovery fix and after the approach."""
    number = _fix_row(flown)
    if not flown.complete or number >= len(flown.rows):
        return
    row = flown.rows[number]
    usable = row.fuel_aboard - unusable
    hint = "Fly a shorter route or take more fuel"
    for name, limit, severity in (
        ("emergency fuel", book.emergency, "no-go"),
        ("minimum fuel", book.minimum, "no-go"),
        ("the recovery fuel", recovery, "caution"),
    ):
        if usable < limit - ROUNDING:
            text = f"At the recovery fix {_mass(usable)} can be used: less than {name}, {_mass(limit)}"
            yield RouteFault(row.leg, text, hint, "no-go" if severity == "no-go" else "caution", _key(row))
            break
    left = usable - book.approach
    if alternate is not None and np.isfinite(alternate.bingo):
        wanted = alternate.bingo - alternate.unusable
        if left < wanted - ROUNDING:
            text = (
                f"After the approach {_mass(left)} can be used: the alternate {alternate.to.name} takes "
                f"{_mass(wanted)} from there"
            )
            yield RouteFault(row.leg, text, "Decide for the alternate earlier", "caution", _key(row))


def last_return(
    flown: FlownRoute, ladder: Sequence[LadderStep], others: Sequence[float | None]
) -> tuple[float | None, PlacedPoint | None]:
    """Return the elapsed time s and place of the last moment from which home or the alternate can be reached.

    ``others`` kg is by row what the alternate takes. Fuel planned and needed go straight in time between the
    ends of rows. The last row's end where all of the route allows it; None where no point of it does.
    """
    margins: list[tuple[float, float]] = []
    place = flown.rows[-1].end if flown.rows else None
    for step, other in zip(ladder, others, strict=True):
        needed = [one for one in (step.least, other) if one is not None]
        if needed and flown.rows[step.row].part != "approach":
            margins.append((step.elapsed, step.planned - min(needed) + ROUNDING))
            place = flown.rows[step.row].end
    if not margins or margins[0][1] < 0.0:
        return None, None
    for (early, more), (late, less) in pairwise(margins):
        if less < 0.0:
            elapsed = early + (late - early) * more / (more - less)
            return elapsed, place_at(flown, elapsed)
    return margins[-1][0], place


def place_at(flown: FlownRoute, elapsed: float) -> PlacedPoint:
    """Return where the route is at an elapsed time, s."""
    if len(flown.track_elapsed) == 0:
        return flown.rows[-1].end
    at = [
        float(np.interp(elapsed, flown.track_elapsed, line))
        for line in (flown.track_latitude_deg, flown.track_longitude_deg)
    ]
    return PlacedPoint("last return", at[0], at[1])


def _fix_row(flown: FlownRoute) -> int:
    """Return the position of the row that ends at the recovery fix."""
    last = len(flown.rows) - 1
    return last - 1 if last > 0 and flown.rows[last].part == "approach" else last


def _remarks(
    pack: Pack, row: RouteRow, before: LoadState, check: EnvelopeCheck, least: float | None
) -> Iterator[str]:
    if not check.inside:
        yield _outside(check, row.balance.share_of_chord)
    for name, kg in row.load.fuel.items():
        tank = pack.mass.tanks[name]
        if before.fuel.get(name, 0.0) > tank.unusable + ROUNDING >= kg:
            yield f"{(tank.title or name).lower()} tank empty"
    if least is not None and row.fuel_aboard < least - ROUNDING:
        yield f"{_mass(least - row.fuel_aboard)} under bingo"


def _outside(check: EnvelopeCheck, share: float) -> str:
    at = show(share, Kind.PERCENT_MAC).text
    if not np.isfinite(check.forward_limit):
        return "the mass is outside the envelope of the centre of gravity"
    low, high = (show(limit, Kind.PERCENT_MAC).number for limit in (check.forward_limit, check.aft_limit))
    return f"centre of gravity {at} is outside {low} to {high}"


def _place(row: RouteRow) -> str:
    return f"{row.end.name}, leg {row.leg + 1}," if row.leg >= 0 else f"{row.end.name},"


def _mass(kilograms: float) -> str:
    return show(kilograms, Kind.MASS).text


def _key(row: RouteRow) -> tuple[str | int, ...]:
    return ("route", "legs", row.leg) if row.leg >= 0 else ("route",)
