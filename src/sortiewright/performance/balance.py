"""Mass and balance: the load sheet, the path of the balance through the burn and releases, the envelope."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sortiewright.pack import EnvelopePoint, Pack, Store

Floats = NDArray[np.float64]

EXTERNAL = "external"
STEPS_A_GROUP = 4


class MassItem(NamedTuple):
    """Something with a mass (kg) at an arm (m aft of datum) and a side arm (m right of the centre line)."""

    title: str
    group: str
    """fixed, crew, fuel or store."""
    mass: float
    arm: float
    side_arm: float = 0.0


@dataclass(frozen=True, slots=True)
class LoadState:
    """What is aboard: crew by seat, fuel by internal tank (kg), stores by station in the order they hang.

    ``store_fuel`` is kg by station, for stations that carry tanks. ``released`` stations have let their
    stores go: racks stay, and of the rest what the pack says remains.
    """

    crew: Mapping[str, float]
    fuel: Mapping[str, float]
    stores: Mapping[str, tuple[str, ...]] = field(default_factory=dict[str, tuple[str, ...]])
    store_fuel: Mapping[str, float] = field(default_factory=dict[str, float])
    released: frozenset[str] = frozenset()

    @property
    def total_fuel(self) -> float:
        """All fuel aboard, usable or not, kg."""
        return sum(self.fuel.values()) + sum(self.store_fuel.values())


@dataclass(frozen=True, slots=True)
class Balance:
    """Sums over the items: kg, m aft of datum, share of the mean chord, kg m to the right."""

    mass: float
    arm: float
    share_of_chord: float
    side_moment: float
    drag_index: float


@dataclass(frozen=True, slots=True)
class EnvelopeCheck:
    """Where a balance stands in the envelope: limits at its mass as shares of the mean chord.

    NaN limits: the envelope does not reach that mass. ``margin`` is the distance to the nearer limit,
    negative outside.
    """

    forward_limit: float
    aft_limit: float
    margin: float

    @property
    def inside(self) -> bool:
        """Whether the balance lies within the envelope, its edge included."""
        return self.margin >= -1e-9


@dataclass(frozen=True, slots=True)
class BurnStep:
    """One point of the path: what has happened, and the balance then."""

    title: str
    load: LoadState
    balance: Balance
    check: EnvelopeCheck


def centre_of_gravity(masses: ArrayLike, arms: ArrayLike) -> Floats:
    """Return sum(m x) / sum(m) over the last axis: FAA-H-8083-1, Weight and Balance Handbook, chapter 2."""
    m, x = np.asarray(masses, dtype=np.float64), np.asarray(arms, dtype=np.float64)
    return np.sum(m * x, axis=-1) / np.sum(m, axis=-1)


def share_of_mean_chord(arm: ArrayLike, leading_edge_arm: float, mean_chord: float) -> Floats:
    """Return a balance arm as a share of the mean aerodynamic chord (FAA-H-8083-1, chapter 3)."""
    return (np.asarray(arm, dtype=np.float64) - leading_edge_arm) / mean_chord


def arm_after_shift(
    total: ArrayLike, arm: ArrayLike, moved: ArrayLike, from_arm: ArrayLike, to_arm: ArrayLike
) -> Floats:
    """Return the balance arm after ``moved`` mass goes from one arm to another within ``total``."""
    return np.asarray(arm) + np.asarray(moved) * (np.asarray(to_arm) - np.asarray(from_arm)) / np.asarray(
        total
    )


def mass_to_shift(
    total: ArrayLike, arm: ArrayLike, wanted: ArrayLike, from_arm: ArrayLike, to_arm: ArrayLike
) -> Floats:
    """Return the mass to move between two arms so that the balance arm becomes ``wanted`` (FAA-H-8083-1, ch.
    2)."""
    span = np.asarray(to_arm, dtype=np.float64) - np.asarray(from_arm, dtype=np.float64)
    if np.any(span == 0.0):
        raise ValueError("the two arms are the same: moving mass between them changes nothing")
    return np.asarray(total) * (np.asarray(wanted) - np.asarray(arm)) / span


def load_items(pack: Pack, load: LoadState) -> list[MassItem]:
    """Return every line of the load sheet, heaviest group first: aircraft, crew, stores, fuel."""
    return _dry_items(pack, load) + _fuel_items(pack, load)


def _dry_items(pack: Pack, load: LoadState) -> list[MassItem]:
    mass = pack.mass
    items = [MassItem("Basic aircraft", "fixed", mass.basic_mass, mass.basic_arm)]
    items += [
        MassItem(s.title or name, "fixed", s.fixed_mass, s.arm, s.side_arm)
        for name, s in mass.stations.items()
        if s.fixed_mass > 0.0
    ]
    items += [
        MassItem(f"{mass.seats[name].title}", "crew", kg, mass.seats[name].arm)
        for name, kg in load.crew.items()
    ]
    for name, carried in load.stores.items():
        station = mass.stations[name]
        for store_name in carried:
            store = pack.stores[store_name]
            kg = store.remains_mass if _has_left(store, name, load) else store.mass
            if kg > 0.0:
                items.append(
                    MassItem(
                        f"{store.title}, {station.title or name}", "store", kg, station.arm, station.side_arm
                    )
                )
    return items


def _fuel_items(pack: Pack, load: LoadState) -> list[MassItem]:
    mass = pack.mass
    items: list[MassItem] = []
    for name, kg in load.fuel.items():
        tank = mass.tanks[name]
        items.append(
            MassItem(f"Fuel, {tank.title or name}", "fuel", kg, tank_arm(pack, name, kg), tank.side_arm)
        )
    for name, kg in load.store_fuel.items():
        if name not in load.released:
            station = mass.stations[name]
            offset = next(
                (pack.stores[s].fuel_arm_offset for s in load.stores[name] if pack.stores[s].fuel_capacity),
                0.0,
            )
            items.append(
                MassItem(f"Fuel, {station.title or name}", "fuel", kg, station.arm + offset, station.side_arm)
            )
    return items


def tank_arm(pack: Pack, name: str, fuel: float) -> float:
    """Return the arm of ``fuel`` kg in a tank: linear from the last fuel's arm to the full tank's."""
    tank = pack.mass.tanks[name]
    empty = tank.arm if tank.arm_empty is None else tank.arm_empty
    return empty + (tank.arm - empty) * min(max(fuel / tank.capacity, 0.0), 1.0)


def balance_of(
    pack: Pack, load: LoadState, *, gear_up: bool = False, dry: list[MassItem] | None = None
) -> Balance:
    """Return the sums over the load sheet; ``dry`` are its lines without fuel, if they are known already."""
    mass = moment = side = 0.0
    for items in (_dry_items(pack, load) if dry is None else dry, _fuel_items(pack, load)):
        for _, _, kg, at, aside in items:
            mass += kg
            moment += kg * at
            side += kg * aside
    if gear_up:
        moment += pack.mass.basic_mass * pack.mass.gear_retraction_arm_change
    arm = moment / mass
    frame = pack.airframe
    share = (arm - frame.mean_chord_leading_edge_arm) / frame.mean_chord
    return Balance(mass, arm, share, side, drag_index(pack, load))


def _has_left(store: Store, station: str, load: LoadState) -> bool:
    """Whether a store was released: racks stay when what hung on them goes."""
    return station in load.released and store.kind != "rack"


def drag_index(pack: Pack, load: LoadState) -> float:
    """Return the sum of drag indices of what hangs on the stations."""
    total = 0.0
    for name, carried in load.stores.items():
        for store_name in carried:
            store = pack.stores[store_name]
            total += store.remains_drag_index if _has_left(store, name, load) else store.drag_index
    return total


def check_envelope(envelope: Sequence[EnvelopePoint], mass: float, share: float) -> EnvelopeCheck:
    """Return where (mass, share) stands in the envelope polygon."""
    crossings: list[float] = []
    count = len(envelope)
    for index, corner in enumerate(envelope):
        other = envelope[(index + 1) % count]
        low, high = (corner, other) if corner.mass <= other.mass else (other, corner)
        if low.mass <= mass <= high.mass:
            if high.mass == low.mass:
                crossings += [low.centre_of_gravity, high.centre_of_gravity]
            else:
                part = (mass - low.mass) / (high.mass - low.mass)
                crossings.append(
                    low.centre_of_gravity + part * (high.centre_of_gravity - low.centre_of_gravity)
                )
    if not crossings:
        return EnvelopeCheck(float("nan"), float("nan"), -float("inf"))
    forward, aft = min(crossings), max(crossings)
    return EnvelopeCheck(forward, aft, min(share - forward, aft - share))


def burn_path(
    pack: Pack, load: LoadState, *, gear_up: bool = False, steps: int = STEPS_A_GROUP
) -> list[BurnStep]:
    """Return the balance from ``load`` down to unusable fuel, in the pack's feed order.

    Members of a group empty together, each in proportion to what it holds. Every group's end is a point, with
    ``steps`` points on the way, as an arm that moves with fuel makes the path a curve.
    """
    dry = _dry_items(pack, load)
    path = [burn_step(pack, "start", load, gear_up, dry)]
    current = load
    for group in pack.mass.feed_order:
        start = current
        full = _usable(pack, start, group)
        if sum(full.values()) <= 0.0:
            continue
        for part in range(1, steps + 1):
            current = _burnt(start, full, part / steps)
            title = f"{' and '.join(_title(pack, name) for name in group)} empty" if part == steps else ""
            path.append(burn_step(pack, title, current, gear_up, dry))
    return path


def fuel_after(pack: Pack, load: LoadState, burnt: float) -> LoadState:
    """Return the load with ``burnt`` kg used in feed order; ValueError if there is not as much usable
    fuel."""
    left, current = burnt, load
    for group in pack.mass.feed_order:
        full = _usable(pack, current, group)
        have = sum(full.values())
        if have <= 0.0:
            continue
        share = min(left / have, 1.0)
        current = _burnt(current, full, share)
        left -= share * have
        if left <= 1e-9:
            return current
    if left > 1e-6:
        raise ValueError(
            f"{burnt:.0f} kg are to be burnt, only {burnt - left:.0f} kg of usable fuel are aboard"
        )
    return current


def usable_fuel(pack: Pack, load: LoadState) -> float:
    """Return the fuel that can be burnt, kg."""
    return sum(sum(_usable(pack, load, group).values()) for group in pack.mass.feed_order)


def release_path(
    pack: Pack, load: LoadState, order: Sequence[str], *, gear_up: bool = True
) -> list[BurnStep]:
    """Return the balance after each station of ``order`` lets its stores go, one after another."""
    path: list[BurnStep] = []
    current = load
    for name in order:
        fuel = {station: kg for station, kg in current.store_fuel.items() if station != name}
        current = LoadState(current.crew, current.fuel, current.stores, fuel, current.released | {name})
        title = f"{pack.mass.stations[name].title or name} released"
        path.append(burn_step(pack, title, current, gear_up))
    return path


def _usable(pack: Pack, load: LoadState, group: Sequence[str]) -> dict[str, float]:
    """Return usable kg by tank or station of a feed group; station names are prefixed, as they may clash."""
    usable: dict[str, float] = {}
    for name in group:
        if name == EXTERNAL:
            for station, kg in load.store_fuel.items():
                if station not in load.released:
                    unusable = sum(pack.stores[s].fuel_unusable for s in load.stores[station])
                    usable[f"{EXTERNAL}:{station}"] = max(kg - unusable, 0.0)
        elif name in load.fuel:
            usable[name] = max(load.fuel[name] - pack.mass.tanks[name].unusable, 0.0)
    return usable


def _burnt(load: LoadState, usable: Mapping[str, float], share: float) -> LoadState:
    fuel, outside = dict(load.fuel), dict(load.store_fuel)
    for name, kg in usable.items():
        if name.startswith(f"{EXTERNAL}:"):
            outside[name.partition(":")[2]] -= share * kg
        else:
            fuel[name] -= share * kg
    return LoadState(load.crew, fuel, load.stores, outside, load.released)


def burn_step(
    pack: Pack, title: str, load: LoadState, gear_up: bool = False, dry: list[MassItem] | None = None
) -> BurnStep:
    """Return one point of a path: a title, and the balance of a load with its place in the envelope."""
    balance = balance_of(pack, load, gear_up=gear_up, dry=dry)
    envelope = pack.mass.envelope
    if gear_up and pack.mass.envelope_gear_up is not None:
        envelope = pack.mass.envelope_gear_up
    return BurnStep(title, load, balance, check_envelope(envelope, balance.mass, balance.share_of_chord))


def _title(pack: Pack, name: str) -> str:
    return "external tanks" if name == EXTERNAL else (pack.mass.tanks[name].title or name).lower()
