"""The climb and cruise card: the climb by schedule, ceilings, best climb, range, endurance, one engine."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import cas_from_mach, standard_air
from sortiewright.cards.chart_climb import climb_chart
from sortiewright.cards.reading import Reading, Row, row
from sortiewright.cards.sheet import Sheet
from sortiewright.cards.typeface import printable
from sortiewright.sortie import TAKEOFF, FlightNumbers, FlownRoute, Kind, level_text, show

Floats = NDArray[np.float64]

MOST_LEVELS = 8
CEILINGS = (
    "service_ceiling_takeoff",
    "combat_ceiling_takeoff",
    "service_ceiling_midway",
    "combat_ceiling_midway",
    "one_engine_ceiling",
)
BEST = (("range", "Farthest range"), ("endurance", "Longest endurance"), ("one_engine_range", "One engine"))


def climb_cruise_data(reading: Reading, sheet: Sheet) -> dict[str, Any]:
    """Return what the climb and cruise card shows; the plan has a route."""
    plan = reading.plan
    flight = plan.flight
    assert flight is not None
    chart = None
    if flight.climb is not None:
        drawing, words = climb_chart(
            flight, system=reading.system, width=sheet.width, text_size=sheet.sizes["note"]
        )
        chart = drawing.data(words)
    return {
        "schedule": printable(_schedule(reading, flight)),
        "climb": _climb_table(reading, flight),
        "best": _best_climb(reading, flight),
        "chart": chart,
        "ceilings": reading.rows("flight", CEILINGS),
        "cruise": [one for name, title in BEST if (one := _cruise(reading, name, title)) is not None],
        "descents": _descents(reading, plan.route),
        "problem": printable(flight.problems.get("climb", "")),
    }


def _schedule(reading: Reading, flight: FlightNumbers) -> str:
    parts: list[str] = []
    if flight.climb_cas is not None:
        parts.append(reading.text(flight.climb_cas, Kind.CAS))
    if flight.climb_mach is not None:
        parts.append(f"Mach {show(flight.climb_mach, Kind.MACH).number}")
    weight = reading.text(flight.takeoff.balance.mass, Kind.MASS)
    return f"{', then '.join(parts)}, {flight.power_title}, from {weight}; still air" if parts else ""


def _levels(reading: Reading, top: float) -> list[float]:
    """Return round heights up to ``top``, m: every 5,000 ft or 1,500 m, wider where there are many."""
    step = (5_000.0 * 0.3048) if reading.system == "trade" else 1_500.0
    count = int(top / step)
    wide = max(1, -(-count // MOST_LEVELS))
    return [step * number for number in range(wide, count + 1, wide)]


def _climb_table(reading: Reading, flight: FlightNumbers) -> dict[str, Any] | None:
    path = flight.climb
    if path is None:
        return None
    good = np.isfinite(path.time)
    height = path.altitude[good]
    rows: list[list[str]] = []
    for level in _levels(reading, float(height[-1])):
        if level < height[0]:
            continue
        time, fuel, distance = (
            float(np.interp(level, height, values[good])) for values in (path.time, path.fuel, path.distance)
        )
        minutes, seconds = divmod(round(time), 60)
        rows.append(
            [
                show(level, Kind.LEVEL, reading.system).number,
                f"{minutes}:{seconds:02d}",
                show(fuel, Kind.MASS, reading.system).number,
                show(distance, Kind.DISTANCE, reading.system).number,
            ]
        )
    units = [reading.unit(Kind.LEVEL)[0], "min", reading.unit(Kind.MASS)[0], reading.unit(Kind.DISTANCE)[0]]
    heads = ["To", "Time", "Fuel", "Distance"]
    return {"heads": heads, "units": units, "rows": [[printable(cell) for cell in one] for one in rows]}


def _best_climb(reading: Reading, flight: FlightNumbers) -> dict[str, Any] | None:
    """Return the speed of the greatest excess power at round heights, by which energy rises fastest."""
    summary = flight.summary
    if summary is None:
        return None
    rate, number = summary.best_rate[TAKEOFF], summary.best_mach[TAKEOFF]
    climbing = np.isfinite(rate) & (rate > 0.0)
    if not climbing.any():
        return None
    height: Floats = summary.altitude[climbing]
    best_mach: Floats = number[climbing]
    best_rate: Floats = rate[climbing]
    top = float(height[-1])
    rows: list[list[str]] = []
    for level in _levels(reading, top):
        mach = float(np.interp(level, height, best_mach))
        most = float(np.interp(level, height, best_rate))
        cas = float(cas_from_mach(mach, standard_air(level).pressure))
        rows.append(
            [
                show(level, Kind.LEVEL, reading.system).number,
                show(mach, Kind.MACH, reading.system).number,
                show(cas, Kind.CAS, reading.system).number,
                show(most, Kind.CLIMB_RATE, reading.system, rounding="down").number,
            ]
        )
    units = [reading.unit(Kind.LEVEL)[0], "Mach", reading.unit(Kind.CAS)[0], reading.unit(Kind.CLIMB_RATE)[0]]
    heads = ["At", "Best", "Speed", "Rate"]
    return {"heads": heads, "units": units, "rows": [[printable(cell) for cell in one] for one in rows]}


def _cruise(reading: Reading, name: str, title: str) -> Row | None:
    altitude = reading.figure("flight", f"{name}_altitude")
    if altitude is None:
        return None
    shown = show(altitude, Kind.LEVEL, reading.system)
    parts = [
        f"Mach {reading.figure_text('flight', f'{name}_mach')}",
        reading.figure_text("flight", f"{name}_fuel_flow"),
        reading.figure_text("flight", f"{name}_specific_range"),
    ]
    note = altitude.problem or ", ".join(part for part in parts if part.strip() not in ("", "Mach"))
    return row(title, shown, note=note, state="missing" if altitude.problem else "ok")


def _descents(reading: Reading, flown: FlownRoute | None) -> list[Row]:
    """Return each descent of the route of more than 2,000 ft: how far before its end it begins."""
    found: list[Row] = []
    for one in () if flown is None else flown.rows:
        if one.part != "descent" or one.start_altitude - one.end_altitude < 609.6:
            continue
        minutes, seconds = divmod(round(one.time), 60)
        low = level_text(one.end_altitude, flown.sea_level if flown else 0.0, reading.system)
        note = f"down to {low} in {minutes}:{seconds:02d}, {reading.text(one.fuel, Kind.MASS)}"
        title = f"Descent before {one.end.name}"
        found.append(row(title, show(one.distance, Kind.DISTANCE, reading.system, rounding="up"), note=note))
    return found
