"""What is done at a point of the route: how long it takes, and what is aboard after it."""

from __future__ import annotations

from datetime import timedelta
from math import nan

from sortiewright.pack import Pack
from sortiewright.performance import LoadState
from sortiewright.sortie.route_day import RouteDay
from sortiewright.sortie.route_pieces import Piece, PieceState


def until_seconds(day: RouteDay, clock: str) -> float:
    """Return a time of day as seconds after brake release; one before the takeoff's is the next day's."""
    hours, minutes, *seconds = (int(part) for part in clock.removesuffix("Z").split(":"))
    midnight = day.brake_release.replace(hour=0, minute=0, second=0)
    moment = midnight + timedelta(hours=hours, minutes=minutes, seconds=sum(seconds))
    if moment < day.brake_release:
        moment += timedelta(days=1)
    return (moment - day.brake_release).total_seconds()


def stay_time(day: RouteDay, piece: Piece, state: PieceState, elapsed: float) -> float:
    """Return how long a stay or turn takes, s, its change of speed included."""
    at = piece.at
    assert at is not None
    if at.orbit is not None:
        if at.orbit.until is not None:
            return until_seconds(day, at.orbit.until) - elapsed
        return at.orbit.time or 0.0
    if at.refuel is not None:
        if at.refuel.time is not None:
            return at.refuel.time
        return state.fuel_on / at.refuel.rate if at.refuel.rate else 0.0
    if at.task is not None:
        return at.task.time
    return state.turn_time if at.turn is not None else nan


def action_load(day: RouteDay, piece: Piece, load: LoadState, state: PieceState) -> LoadState:
    """Return the load after a release or a refuelling, whose fuel it notes in ``state``."""
    at = piece.at
    assert at is not None
    if at.release is not None:
        gone = frozenset(at.release)
        fuel = {name: kg for name, kg in load.store_fuel.items() if name not in gone}
        state.fuel_dropped = load.total_fuel - sum(load.fuel.values()) - sum(fuel.values())
        return LoadState(load.crew, load.fuel, load.stores, fuel, load.released | gone)
    assert at.refuel is not None
    room = room_for_fuel(day.pack, load)
    state.fuel_on = room if at.refuel.fuel is None else min(at.refuel.fuel, room)
    return filled(day.pack, load, state.fuel_on)


def room_for_fuel(pack: Pack, load: LoadState) -> float:
    """Return how much more fuel the tanks that are still on the aircraft take, kg."""
    return sum(sum(rooms.values()) for rooms in _rooms(pack, load))


def filled(pack: Pack, load: LoadState, fuel: float) -> LoadState:
    """Return the load with fuel taken on: the tanks that empty last are filled first."""
    inside, outside, left = dict(load.fuel), dict(load.store_fuel), fuel
    for rooms in _rooms(pack, load):
        room = sum(rooms.values())
        share = min(left / room, 1.0) if room > 0.0 else 0.0
        for name, kg in rooms.items():
            tanks = inside if name in inside else outside
            tanks[name] += share * kg
        left -= share * room
    return LoadState(load.crew, inside, load.stores, outside, load.released)


def _rooms(pack: Pack, load: LoadState) -> list[dict[str, float]]:
    """Return the room of each tank by feed group, the last to empty first."""
    groups: list[dict[str, float]] = []
    for group in reversed(pack.mass.feed_order):
        rooms: dict[str, float] = {}
        for name in group:
            if name in load.fuel:
                rooms[name] = max(pack.mass.tanks[name].capacity - load.fuel[name], 0.0)
            elif name == "external":
                for station, kg in load.store_fuel.items():
                    holds = sum(pack.stores[store].fuel_capacity for store in load.stores[station])
                    rooms[station] = max(holds - kg, 0.0)
        groups.append(rooms)
    return groups
