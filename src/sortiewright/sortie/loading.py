"""The load of the day as the physics wants it: crew, stores, and fuel by tank."""

from __future__ import annotations

from collections.abc import Iterable

from sortiewright.pack import Pack
from sortiewright.performance import LoadState, fuel_after, usable_fuel
from sortiewright.sortie.schema import Sortie

DEFAULT_LANDING_SHARE = 0.2


def ramp_load(sortie: Sortie, pack: Pack) -> LoadState:
    """Return what is aboard at the ramp, before start."""
    crew = {name: seat.standard_mass for name, seat in pack.mass.seats.items()}
    # A mass of nothing is an empty seat, not a mass left out.
    crew |= {name: member.mass for name, member in sortie.crew.items() if member.mass is not None}
    stores = {name: tuple(carried) for name, carried in sortie.load.stores.items()}
    outside: dict[str, float] = {}
    for name, carried in stores.items():
        room = sum(pack.stores[store].fuel_capacity for store in carried)
        if room > 0.0:
            outside[name] = sortie.load.fuel.external.get(name, room)
    return LoadState(crew, internal_fuel(sortie, pack), stores, outside)


def internal_fuel(sortie: Sortie, pack: Pack) -> dict[str, float]:
    """Return fuel by internal tank, kg; a total fills first the tanks that empty last."""
    tanks, fuel = pack.mass.tanks, sortie.load.fuel
    if fuel.total is None:
        return {name: fuel.tanks.get(name, tank.capacity) for name, tank in tanks.items()}
    filled: dict[str, float] = dict.fromkeys(tanks, 0.0)
    left = fuel.total
    for group in reversed(pack.mass.feed_order):
        members = [name for name in group if name in tanks]
        room = sum(tanks[name].capacity for name in members)
        share = min(left / room, 1.0) if room > 0.0 else 0.0
        for name in members:
            filled[name] = share * tanks[name].capacity
        left -= share * room
    return filled


def ground_fuel(sortie: Sortie, pack: Pack) -> float:
    """Return the fuel from start to brake release, kg."""
    if sortie.load.start_and_taxi_fuel is not None:
        return sortie.load.start_and_taxi_fuel
    if sortie.load.taxi_time is not None and pack.mass.taxi_fuel_flow is not None:
        return sortie.load.taxi_time * pack.mass.taxi_fuel_flow
    return 0.0


def landing_load(
    sortie: Sortie, pack: Pack, takeoff: LoadState, flown: LoadState | None = None
) -> tuple[LoadState, bool]:
    """Return what is aboard at touchdown, and whether its fuel was assumed rather than given.

    ``flown`` is what a route leaves aboard: it gives the fuel where the sortie does not, and what has been
    released.
    """
    wanted = sortie.load.landing_fuel
    assumed = wanted is None and flown is None
    if flown is not None and wanted is None:
        load = flown
    else:
        if wanted is None:
            wanted = DEFAULT_LANDING_SHARE * takeoff.total_fuel
        burnt = min(max(takeoff.total_fuel - wanted, 0.0), usable_fuel(pack, takeoff))
        load = fuel_after(pack, takeoff, burnt)
    gone = load.released if flown is None else load.released | flown.released
    if sortie.landing.stores == "released":
        released = [name for name, carried in load.stores.items() if not stays(pack, carried)]
        gone |= frozenset(sortie.load.release_order or released)
    if gone != load.released:
        fuel = {name: kg for name, kg in load.store_fuel.items() if name not in gone}
        load = LoadState(load.crew, load.fuel, load.stores, fuel, gone)
    return load, assumed


def zero_fuel_load(pack: Pack, load: LoadState) -> LoadState:
    """Return the load with its usable fuel gone; what cannot be used is still aboard."""
    fuel = {name: min(kg, pack.mass.tanks[name].unusable) for name, kg in load.fuel.items()}
    outside = {
        name: min(kg, sum(pack.stores[store].fuel_unusable for store in load.stores[name]))
        for name, kg in load.store_fuel.items()
    }
    return LoadState(load.crew, fuel, load.stores, outside, load.released)


def stays(pack: Pack, carried: Iterable[str]) -> str:
    """Return the title of a store that its station cannot let go, or an empty text where there is none."""
    known = (pack.stores[name] for name in carried if name in pack.stores)
    return next((store.title for store in known if not store.jettisonable), "")
