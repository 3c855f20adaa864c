"""What conditions may speak of: sortie and plan, controls and states of the cockpit, and today's values.

Facts that are calls are looked up by the call: ``("carries", "belly_tank")``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TypeAlias

from sortiewright.expressions import TRUTH, ChoiceType, Function, NumberType, Type, Vocabulary
from sortiewright.pack import Pack
from sortiewright.procedures.schema import Cockpit
from sortiewright.sortie import (
    RUNWAY_CONDITIONS,
    WORDS_ONLY,
    Kind,
    Plan,
    Sortie,
    facts_of_day,
    figure_kinds,
    figure_unit,
    find_figure,
)

Fact: TypeAlias = str | tuple[str, ...]
FactValue: TypeAlias = float | str | bool | None

_NUMBERS: dict[str, tuple[str, Kind]] = {
    "external_fuel": ("kg", Kind.MASS),
    "gust": ("m/s", Kind.WIND_SPEED),
    "landing_crosswind": ("m/s", Kind.WIND_SPEED),
}
"""Facts that are numbers and no figures: SI unit, and the kind as which they are shown."""
_TRUTHS = (
    "at_night",
    "standing_water",
    "landing_standing_water",
    "cable_rigged",
    "landing_cable_rigged",
    "chute_for_reject",
    "chute_for_landing",
    "lands_elsewhere",
)


def sortie_vocabulary(pack: Pack) -> Vocabulary:
    """Return what a condition on the sortie may use: figures of the plan, facts of the day, and calls.

    Figures that say all in words (``wind``, ``sunset``) cannot be compared and are left out.
    """
    kinds = figure_kinds(pack)
    names: dict[str, Type] = {
        name: NumberType(figure_unit(name, kind)) for name, kind in kinds.items() if name not in WORDS_ONLY
    }
    names |= {name: NumberType(unit) for name, (unit, _) in _NUMBERS.items()}
    names |= dict.fromkeys(_TRUTHS, TRUTH)
    configurations = ChoiceType(tuple(pack.aero.configurations), "configurations")
    conditions = ChoiceType(RUNWAY_CONDITIONS, "conditions")
    names |= {
        "takeoff_configuration": configurations,
        "landing_configuration": configurations,
        "takeoff_power": ChoiceType(tuple(pack.engine.settings), "settings"),
        "runway_condition": conditions,
        "landing_runway_condition": conditions,
    }
    stations = ChoiceType(tuple(pack.mass.stations), f"stations of {pack.name}")
    stores = ChoiceType(tuple(pack.stores), f"stores of {pack.name}")
    functions = {
        "carries": Function((stores,)),
        "carries_at": Function((stations, stores)),
        "loaded": Function((stations,)),
        "occupied": Function((ChoiceType(tuple(pack.mass.seats), f"seats of {pack.name}"),)),
    }
    return Vocabulary(names, functions)


def control_vocabulary(cockpit: Cockpit) -> Vocabulary:
    """Return what a condition on the cockpit may use: every control and state, a choice of its positions."""
    names: dict[str, Type] = {}
    for name, control in cockpit.controls.items():
        names[name] = ChoiceType(control.positions, "positions")
    for name, state in cockpit.states.items():
        names[name] = ChoiceType(state.values, "values")
    return Vocabulary(names, {})


def fact_values(sortie: Sortie, plan: Plan, pack: Pack) -> dict[Fact, FactValue]:
    """Return today's value of everything in ``sortie_vocabulary``: SI, None where nothing tells it.

    Raises ``SortieError`` or ``MetarError`` where the day itself cannot be read.
    """
    day = facts_of_day(sortie, pack)
    values: dict[Fact, FactValue] = {}
    for name, kind in figure_kinds(pack).items():
        if name not in WORDS_ONLY:
            figure = find_figure(plan, name)
            values[name] = None if figure is None else _compared(figure.value, kind)
    for name in (*_NUMBERS, *_TRUTHS):
        values[name] = getattr(day, name)
    values |= {
        "takeoff_configuration": day.takeoff_configuration,
        "landing_configuration": day.landing_configuration,
        "takeoff_power": day.takeoff_power,
        "runway_condition": day.runway_condition,
        "landing_runway_condition": day.landing_runway_condition,
    }
    everything = {store for carried in day.stores.values() for store in carried}
    values |= {("carries", store): store in everything for store in pack.stores}
    for station in pack.mass.stations:
        values["loaded", station] = station in day.stores
        for store in pack.stores:
            values["carries_at", station, store] = store in day.stores.get(station, ())
    values |= {("occupied", seat): there for seat, there in day.occupied.items()}
    return values


def fact_kinds(pack: Pack) -> Mapping[str, Kind]:
    """Return the kind as which each number of ``sortie_vocabulary`` is shown."""
    return figure_kinds(pack) | {name: kind for name, (_, kind) in _NUMBERS.items()}


def _compared(value: float | None, kind: Kind) -> float | None:
    return value if value is None or kind != Kind.COURSE else math.radians(value)
