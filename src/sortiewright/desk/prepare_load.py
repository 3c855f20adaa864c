"""The load: what hangs on each station, what may, and the fuel in each tank."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sortiewright.desk.aircraft_drawing import Drawing, drawing_of
from sortiewright.desk.prepare_fields import Field, Form
from sortiewright.desk.prepare_load_edits import MOST_ON_A_STATION, SLIDER_STEPS, names_at, opposite_of
from sortiewright.pack import Pack, unit_factor
from sortiewright.sortie import Kind, Sortie, System, internal_fuel, show, stays

MASS_UNITS: dict[System, str] = {"trade": "lb", "si": "kg"}


@dataclass(frozen=True, slots=True)
class Hung:
    """One store on a station."""

    index: int
    title: str
    mass: str


@dataclass(frozen=True, slots=True)
class Offer:
    """A store that may be hung on a station: directly, or on the rack that hangs there."""

    name: str
    title: str
    mass: str
    drag: str
    kind: str


@dataclass(frozen=True, slots=True)
class StationLine:
    """A station in the list: what hangs there, and what is wrong with it."""

    name: str
    label: str
    title: str
    words: str
    selected: bool
    problems: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StationCard:
    """The station that was chosen."""

    name: str
    title: str
    hung: tuple[Hung, ...]
    offers: tuple[Offer, ...]
    on_rack: tuple[Offer, ...]
    mass: str
    limit: str
    opposite: str
    opposite_title: str
    problems: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Gauge:
    """Fuel in a tank: number, slider and how much goes in. All in ``unit``."""

    what: str
    name: str
    title: str
    value: int
    most: int
    step: int
    unit: str
    share: float
    note: str = ""
    problems: tuple[str, ...] = ()
    is_given: bool = True


@dataclass(frozen=True, slots=True)
class ReleaseStep:
    """A station in the order of release."""

    index: int
    name: str
    title: str
    is_last: bool


@dataclass(frozen=True, slots=True)
class LoadPanel:
    """Everything that the page of the load shows."""

    drawing: Drawing
    stations: tuple[StationLine, ...]
    chosen: StationCard | None
    total: Gauge
    tanks: tuple[Gauge, ...]
    outside: tuple[Gauge, ...]
    fuel_is_full: bool
    fuel_problems: tuple[str, ...]
    fields: tuple[Field, ...]
    release: tuple[ReleaseStep, ...]
    can_follow: tuple[tuple[str, str], ...]
    release_problems: tuple[str, ...]


def load_panel(form: Form, pack: Pack, sortie: Sortie | None, chosen: str, units: System) -> LoadPanel:
    """Return the page of the load. ``sortie`` is the last that could be read, perhaps of an older text."""
    stores = {name: names_at(form, name) for name in form.names("load", "stores")}
    fuel = {} if sortie is None else internal_fuel(sortie, pack)
    total = sum(fuel.values())
    capacity = sum(tank.capacity for tank in pack.mass.tanks.values())
    given = form.value("load", "fuel", "total") is not None
    single = set(form.names("load", "fuel", "tanks"))
    titles = {name: station.title or name for name, station in pack.mass.stations.items()}
    tanks = tuple(
        _gauge(
            "tank",
            name,
            tank.title or name,
            fuel.get(name, tank.capacity),
            tank.capacity,
            units,
            problems=form.problems_at("load", "fuel", "tanks", name),
            is_given=name in single,
        )
        for name, tank in pack.mass.tanks.items()
    )
    order = [one for one in form.items("load", "release_order") if isinstance(one, str)]
    loaded = [name for name in stores if stores[name] and name not in order]
    return LoadPanel(
        drawing=drawing_of(pack, stores, fuel),
        stations=tuple(_lines(form, pack, stores, chosen)),
        chosen=_card(form, pack, stores, chosen, units) if chosen in pack.mass.stations else None,
        total=_gauge(
            "total",
            "",
            "Internal fuel",
            total,
            capacity,
            units,
            problems=form.problems_at("load", "fuel", "total"),
            is_given=given,
        ),
        tanks=tanks,
        outside=tuple(_outside(form, pack, stores, units)),
        fuel_is_full=not given and not single and not form.names("load", "fuel", "external"),
        fuel_problems=(*form.problems_at("load", "fuel"), *form.problems_at("load")),
        fields=_fields(form, units),
        release=tuple(
            ReleaseStep(index, name, titles.get(name, name), index == len(order) - 1)
            for index, name in enumerate(order)
        ),
        can_follow=tuple(
            (name, titles.get(name, name))
            for name in loaded
            if name in titles and not stays(pack, stores[name])
        ),
        release_problems=form.problems_at("load", "release_order", below=True),
    )


def _fields(form: Form, units: System) -> tuple[Field, ...]:
    unit = MASS_UNITS[units]
    return (
        form.field(("load", "taxi_time"), "Start to brake release", unit="min", placeholder="no taxi"),
        form.field(
            ("load", "start_and_taxi_fuel"),
            "or the fuel it takes",
            unit=unit,
            placeholder="by the time",
        ),
        form.field(
            ("load", "landing_fuel"), "Fuel at touchdown", unit=unit, placeholder="what the route leaves"
        ),
    )


def _gauge(
    what: str,
    name: str,
    title: str,
    amount: float,
    most: float,
    units: System,
    *,
    note: str = "",
    problems: tuple[str, ...] = (),
    is_given: bool = True,
) -> Gauge:
    unit = MASS_UNITS[units]
    size = unit_factor(unit, "kg")[0]
    value, top = round(amount / size), round(most / size)
    share = min(max(amount / most, 0.0), 1.0) if most > 0 else 0.0
    return Gauge(what, name, title, value, top, SLIDER_STEPS[unit], unit, share, note, problems, is_given)


def _outside(form: Form, pack: Pack, stores: Mapping[str, list[str]], units: System) -> list[Gauge]:
    from sortiewright.pack import QuantityError, to_si

    found: list[Gauge] = []
    for name, station in pack.mass.stations.items():
        room = sum(pack.stores[one].fuel_capacity for one in stores.get(name, ()) if one in pack.stores)
        said = form.text("load", "fuel", "external", name)
        problems = form.problems_at("load", "fuel", "external", name)
        if room <= 0.0:
            continue
        try:
            amount = to_si(said, "kg") if said else room
        except QuantityError:
            amount = room
        found.append(
            _gauge(
                "external",
                name,
                f"Tank on {station.title or name}",
                amount,
                room,
                units,
                problems=problems,
                is_given=bool(said),
            )
        )
    return found


def _lines(form: Form, pack: Pack, stores: Mapping[str, list[str]], chosen: str) -> Sequence[StationLine]:
    found: list[StationLine] = []
    for index, (name, station) in enumerate(pack.mass.stations.items(), 1):
        title = station.title or name
        label, _, rest = title.partition(" ")
        if not label.isdigit():
            label, rest = str(index), title
        found.append(
            StationLine(
                name,
                label,
                rest,
                _words(pack, stores.get(name, [])),
                name == chosen,
                form.problems_at("load", "stores", name, below=True),
            )
        )
    return found


def _words(pack: Pack, carried: Sequence[str]) -> str:
    """Return what hangs on a station in words: equal stores together."""
    titles = [pack.stores[one].title if one in pack.stores else one for one in carried]
    counted = {title: titles.count(title) for title in titles}
    return ", ".join(title if count == 1 else f"{count} × {title}" for title, count in counted.items())


def _card(form: Form, pack: Pack, stores: Mapping[str, list[str]], name: str, units: System) -> StationCard:
    station, carried = pack.mass.stations[name], stores.get(name, [])
    known = [one for one in carried if one in pack.stores]
    mass = sum(pack.stores[one].mass + pack.stores[one].fuel_capacity for one in known)
    has_rack = any(pack.stores[one].kind == "rack" and one in station.carries for one in known)
    full = len(carried) >= MOST_ON_A_STATION
    offers = [one for one in station.carries if one in pack.stores and not full]
    others = [
        one
        for one, store in pack.stores.items()
        if has_rack and not full and one not in station.carries and store.kind in ("weapon", "practice")
    ]
    opposite = opposite_of(pack, name)
    return StationCard(
        name,
        station.title or name,
        tuple(
            Hung(
                index,
                pack.stores[one].title if one in pack.stores else one,
                _mass(pack.stores[one].mass, units) if one in pack.stores else "not in the pack",
            )
            for index, one in enumerate(carried)
        ),
        tuple(_offer(pack, one, units) for one in offers),
        tuple(_offer(pack, one, units) for one in others),
        _mass(mass, units),
        _mass(station.maximum_load, units),
        opposite,
        pack.mass.stations[opposite].title or opposite if opposite else "",
        form.problems_at("load", "stores", name, below=True),
    )


def _offer(pack: Pack, name: str, units: System) -> Offer:
    store = pack.stores[name]
    return Offer(name, store.title, _mass(store.mass, units), f"{store.drag_index:g}", store.kind)


def _mass(value: float, units: System) -> str:
    return show(value, Kind.MASS, units, step=1.0).text
