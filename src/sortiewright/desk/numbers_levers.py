"""The few levers of a what-if: what a crew would change on the day, from a form into the sortie."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from sortiewright.pack import Pack
from sortiewright.sortie import Kind, Plan, Sortie, System, convert, show

LONGEST = 20
"""Characters of one field that are read."""
KNOT = 1852.0 / 3600.0  # m/s
POUND = 0.45359237  # kg


@dataclass(frozen=True, slots=True)
class Lever:
    """One field: a number of a kind between two limits (SI), or one of the ``choices``."""

    name: str
    title: str
    kind: Kind = Kind.NUMBER
    low: float = 0.0
    high: float = math.inf
    choices: tuple[tuple[str, str], ...] = ()
    hint: str = ""


@dataclass(frozen=True)
class Variant:
    """What one side of the strip changes: as typed, as understood (SI, or a choice), and what is wrong."""

    letter: str
    typed: dict[str, str] = field(default_factory=dict[str, str])
    values: dict[str, Any] = field(default_factory=dict[str, Any])
    problems: dict[str, str] = field(default_factory=dict[str, str])

    @property
    def is_used(self) -> bool:
        """Whether anything is changed."""
        return bool(self.values) and not self.problems

    @property
    def key(self) -> tuple[tuple[str, Any], ...]:
        """What it is remembered by."""
        return tuple(sorted(self.values.items()))


def levers_of(sortie: Sortie, pack: Pack) -> tuple[Lever, ...]:
    """Return the levers that a sortie has."""
    runways = tuple((one.designator, one.designator) for one in sortie.aerodrome.runways)
    powers = _powers(pack)
    usable = sum(tank.capacity for tank in pack.mass.tanks.values())
    found = [
        Lever("runway", "Runway", choices=runways) if len(runways) > 1 else None,
        Lever("fuel", "Internal fuel at ramp", Kind.MASS, 0.0, usable),
        Lever("power", "Takeoff power", choices=powers) if len(powers) > 1 else None,
        Lever("temperature", "Temperature", Kind.TEMPERATURE, 183.15, 338.15),
        Lever("wind_from", "Wind from, true", Kind.COURSE, 0.0, 360.0),
        Lever("wind_speed", "Wind speed", Kind.WIND_SPEED, 0.0, 199.0 * KNOT, hint="steady, without gusts"),
        Lever("reading", "Runway condition", Kind.NUMBER, 0.0, 26.0, hint="dry 23, wet 12, icy 5"),
    ]
    return tuple(one for one in found if one is not None)


def _powers(pack: Pack) -> tuple[tuple[str, str], ...]:
    engine = pack.engine
    names = dict.fromkeys(name for name in (engine.maximum, engine.military) if name)
    return tuple((name, engine.settings[name].title or name) for name in names)


def planned_words(lever: Lever, sortie: Sortie, pack: Pack, plan: Plan, system: System) -> str:
    """Return what a lever stands at in the plan, as it is read."""

    def said(section: str, name: str) -> str:
        try:
            return show(plan.figure(section, name), system=system).text
        except KeyError:
            return "not known"

    readers: dict[str, Callable[[], str]] = {
        "runway": lambda: sortie.runway,
        "fuel": lambda: _internal_fuel(sortie, pack, system),
        "power": lambda: said("takeoff", "power"),
        "temperature": lambda: said("weather", "temperature"),
        "wind_from": lambda: said("weather", "wind"),
        "wind_speed": lambda: "",
        "reading": lambda: said("field", "runway_condition_reading").partition(",")[0],
    }
    return readers[lever.name]()


def _internal_fuel(sortie: Sortie, pack: Pack, system: System) -> str:
    fuel, tanks = sortie.load.fuel, pack.mass.tanks
    if fuel.total is not None:
        return show(fuel.total, Kind.MASS, system).text
    total = sum(fuel.tanks.get(name, tank.capacity) for name, tank in tanks.items())
    words = show(total, Kind.MASS, system).text
    return words if fuel.tanks else f"{words}, full"


def unit_of(lever: Lever, system: System) -> str:
    """Return the sign of the unit that a lever's number is typed in."""
    return "" if lever.choices else show(0.0, lever.kind, system).unit


def read_variant(
    letter: str, fields: Mapping[str, str], levers: tuple[Lever, ...], system: System
) -> Variant:
    """Return what a form's fields (``a.fuel``) say of one variant; nothing raises."""
    variant = Variant(letter)
    for lever in levers:
        text = fields.get(f"{letter}.{lever.name}", "").strip()
        if not text:
            continue
        variant.typed[lever.name] = text[:LONGEST]
        try:
            variant.values[lever.name] = _read(lever, text, system)
        except ValueError as wrong:
            variant.problems[lever.name] = str(wrong)
    has_wind = "wind_from" in variant.values or "wind_speed" in variant.values
    if has_wind and not ({"wind_from", "wind_speed"} <= variant.values.keys()):
        missing = "wind_speed" if "wind_from" in variant.values else "wind_from"
        if missing not in variant.problems:
            variant.problems[missing] = "Give the wind's direction and its speed"
    return variant


def _read(lever: Lever, text: str, system: System) -> Any:
    if lever.choices:
        if text not in dict(lever.choices):
            raise ValueError(f"Choose one of {', '.join(title for _, title in lever.choices)}")
        return text
    try:
        number = float(text.replace("\u202f", "").replace(" ", "").replace("−", "-").replace(",", "."))
    except ValueError:
        raise ValueError(f"Write a number{_in(unit_of(lever, system))}") from None
    zero, one = convert(0.0, lever.kind, system)[0], convert(1.0, lever.kind, system)[0]
    value = (number - zero) / (one - zero)
    slack = 1e-6 * max(1.0, abs(lever.high) if math.isfinite(lever.high) else 1.0)
    if not (math.isfinite(value) and lever.low - slack <= value <= lever.high + slack):
        low = show(lever.low, lever.kind, system, rounding="nearest").number
        high = show(lever.high, lever.kind, system, rounding="nearest").text
        if lever.kind == Kind.COURSE:
            low, high = "0", "360°"
        raise ValueError(f"It is {low} to {high}")
    return min(max(value, lever.low), lever.high)


def _in(unit: str) -> str:
    return f", in {unit}" if unit else ""


def changed(sortie: Sortie, variant: Variant) -> Sortie:
    """Return the sortie with a variant's levers in it."""
    values = variant.values
    load, weather, takeoff, field = sortie.load, sortie.weather, sortie.takeoff, sortie.aerodrome
    designator = values.get("runway", sortie.runway)
    if "fuel" in values:
        fuel = load.fuel.model_copy(update={"total": values["fuel"], "tanks": {}})
        load = load.model_copy(update={"fuel": fuel})
    if "power" in values:
        takeoff = takeoff.model_copy(update={"power": values["power"]})
    day = {name: values[name] for name in ("temperature", "wind_from", "wind_speed") if name in values}
    if "wind_speed" in day:
        day["gust"] = None
    if day:
        weather = weather.model_copy(update=day)
    if "reading" in values:
        reported = {"runway_condition_reading": values["reading"], "condition": None}
        runways = tuple(
            one.model_copy(update=reported) if one.designator == designator else one for one in field.runways
        )
        field = field.model_copy(update={"runways": runways})
    return sortie.model_copy(
        update={
            "load": load,
            "weather": weather,
            "takeoff": takeoff,
            "aerodrome": field,
            "runway": designator,
        }
    )


def quick_ways(sortie: Sortie, pack: Pack, plan: Plan, system: System) -> tuple[tuple[str, str, str], ...]:
    """Return what crews ask most: title, lever and text to type, for the first variant."""
    names = {lever.name for lever in levers_of(sortie, pack)}
    found: list[tuple[str, str, str]] = []
    others = [one.designator for one in sortie.aerodrome.runways if one.designator != sortie.runway]
    if "runway" in names and others:
        found.append((f"Runway {others[0]}", "runway", others[0]))
    fuel = _internal_mass(sortie, pack)
    step = 2_000.0 * POUND if system == "trade" else 1_000.0
    if fuel > step:
        words = show(step, Kind.MASS, system).text
        text = f"{convert(fuel - step, Kind.MASS, system)[0]:.0f}"
        found.append((f"{words} less fuel", "fuel", text))
    if "power" in names and pack.engine.maximum:
        found.append(("No burner", "power", pack.engine.military))
    try:
        temperature = plan.figure("weather", "temperature").value
    except KeyError:
        temperature = None
    if temperature is not None:
        text = f"{convert(temperature + 10.0, Kind.TEMPERATURE, system)[0]:.0f}"
        found.append(("10 °C warmer", "temperature", text))
    found.append(("Wet runway", "reading", "12"))
    return tuple(found)


def _internal_mass(sortie: Sortie, pack: Pack) -> float:
    fuel = sortie.load.fuel
    if fuel.total is not None:
        return fuel.total
    return sum(fuel.tanks.get(name, tank.capacity) for name, tank in pack.mass.tanks.items())
