"""Loads that cannot be: what a pack's stations say of conditions that speak of stores."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from typing import TypeAlias

from sortiewright.pack import Pack
from sortiewright.procedures.proof_conditions import Conditions, FactKey

Clause: TypeAlias = tuple[tuple[int, bool], ...]
"""Facts and truths that are never all so at once."""
MOST_STATIONS = 10
"""Stations for one store beyond which no clause is made of them all: 2 to that power are the clauses."""


def impossible_loads(conditions: Conditions, pack: Pack) -> tuple[Clause, ...]:
    """Return which truths of ``carries``, ``carries_at`` and ``loaded`` exclude each other.

    What is carried at a station is carried, and loads it; what is carried hangs at some station that takes
    it; a loaded station holds something that it takes. The proof would otherwise tell of loads that nobody
    can hang.
    """
    return tuple(dict.fromkeys([*_upwards(conditions, pack), *_downwards(conditions, pack)]))


def _upwards(conditions: Conditions, pack: Pack) -> Iterator[Clause]:
    index = conditions.index
    for key, fact in index.items():
        if not isinstance(key, tuple) or key[0] != "carries_at":
            continue
        _, station, store = key
        if station in pack.mass.stations and store not in pack.mass.stations[station].carries:
            yield ((fact, True),)
        for above in (("carries", store), ("loaded", station)):
            if above in index:
                yield ((fact, True), (index[above], False))


def _downwards(conditions: Conditions, pack: Pack) -> Iterator[Clause]:
    index, stations = conditions.index, pack.mass.stations
    for key, fact in index.items():
        if isinstance(key, str):
            continue
        match key:
            case ("carries", store):
                places = [name for name, station in stations.items() if store in station.carries]
                denials: list[list[FactKey]] = [
                    [("carries_at", place, store), ("loaded", place)] for place in places
                ]
            case ("loaded", place) if place in stations:
                denials = [
                    [("carries_at", place, store), ("carries", store)] for store in stations[place].carries
                ]
            case _:
                continue
        known = [[index[one] for one in ways if one in index] for ways in denials]
        if all(known) and len(known) <= MOST_STATIONS:
            for combination in product(*known):
                yield ((fact, True), *((one, False) for one in dict.fromkeys(combination)))
