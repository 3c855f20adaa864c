"""Loading a sortie: one YAML file, checked against its pack."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from sortiewright.pack import (
    Document,
    InputError,
    LoadedPack,
    Pack,
    Problem,
    choice_hint,
    load_pack,
    parse_yaml,
    read_record,
    read_text_file,
)
from sortiewright.sortie.schema import AerodromeToday, Sortie

SORTIES = Path(__file__).parent.parent / "sorties"
"""The sorties that are shipped."""

Key = tuple[str | int, ...]


@dataclass(frozen=True)
class LoadedSortie:
    """A sortie, its pack, and the file they came from."""

    sortie: Sortie
    pack: LoadedPack
    path: Path
    document: Document


def demo_sortie_path() -> Path:
    """Return the shipped demo sortie's file."""
    return SORTIES / "demo.yaml"


def load_sortie(path: str | Path) -> LoadedSortie:
    """Return the sortie in a file (``-``: standard input), with the pack it names.

    A pack is named by a shipped pack's name or by a folder relative to the sortie's file. Raises ``InputError``
    with every fault of the sortie, or of the pack.
    """
    if str(path) == "-":
        return read_sortie(sys.stdin.read(), "standard input", Path.cwd())
    file = Path(path)
    return read_sortie(read_text_file(file, name=file.name), file.name, file.parent, file)


def read_sortie(text: str, name: str, folder: Path, path: Path | None = None) -> LoadedSortie:
    """Return the sortie that a text holds; packs named by path are looked for below ``folder``."""
    document = parse_yaml(text, name)
    sortie, _ = read_record(document, Sortie)
    loaded = load_pack(_pack_place(sortie.pack, folder))
    if problems := list(_faults(sortie, loaded.pack, document)):
        raise InputError(problems)
    return LoadedSortie(sortie, loaded, path or folder / name, document)


def takeoff_time(sortie: Sortie) -> datetime | None:
    """Return the takeoff time, UTC, or None where date and time do not make one (a fault, reported at loading)."""
    try:
        return datetime.strptime(
            f"{sortie.date} {sortie.time.upper().rstrip('Z').replace(':', '')}", "%Y-%m-%d %H%M"
        ).replace(tzinfo=UTC)
    except ValueError:
        return None


def _pack_place(name: str, folder: Path) -> str | Path:
    below = folder / name
    return below if ("/" in name or "\\" in name or name.startswith(".")) else name


def _faults(sortie: Sortie, pack: Pack, document: Document) -> Iterator[Problem]:
    if takeoff_time(sortie) is None:
        read = f"{sortie.date} {sortie.time}"
        yield document.problem(
            ("time",), read, "is no date and time", "Write date: 2026-05-14 and time: 09:40Z"
        )
    for seat in sortie.crew:
        if seat not in pack.mass.seats:
            yield _unknown(document, ("crew", seat), seat, pack.mass.seats, f"seats of {pack.name}")
    yield from _store_faults(sortie, pack, document)
    yield from _fuel_faults(sortie, pack, document)
    yield from _runway_faults(sortie.aerodrome, sortie.runway, ("aerodrome",), ("runway",), document)
    place = sortie.landing_place
    if place.aerodrome is not None:
        yield from _runway_faults(
            place.aerodrome,
            place.runway or "",
            ("landing_place", "aerodrome"),
            ("landing_place", "runway"),
            document,
        )
    elif place.runway is not None:
        yield from _runway_faults(
            sortie.aerodrome, place.runway, ("aerodrome",), ("landing_place", "runway"), document
        )
    choices = sortie.takeoff
    for key, name in (("power", choices.power), ("release_power", choices.release_power)):
        if name is not None and name not in pack.engine.settings:
            yield _unknown(document, ("takeoff", key), name, pack.engine.settings, f"settings of {pack.name}")
    for where, name in (("takeoff", choices.configuration), ("landing", sortie.landing.configuration)):
        if name is not None and name not in pack.aero.configurations:
            known = pack.aero.configurations
            yield _unknown(document, (where, "configuration"), name, known, f"configurations of {pack.name}")


def _store_faults(sortie: Sortie, pack: Pack, document: Document) -> Iterator[Problem]:
    load = sortie.load
    for name, carried in load.stores.items():
        key: Key = ("load", "stores", name)
        station = pack.mass.stations.get(name)
        if station is None:
            yield _unknown(document, key, name, pack.mass.stations, f"stations of {pack.name}")
            continue
        known = [store for store in carried if store in pack.stores]
        for store in carried:
            if store not in pack.stores:
                yield _unknown(document, key, store, pack.stores, f"stores of {pack.name}")
            elif not _may_hang(pack, store, known, station.carries):
                hint = choice_hint(store, station.carries, "stores this station carries")
                yield document.problem(key, f'"{store}"', f"does not fit on {station.title or name}", hint)
        total = sum(pack.stores[store].mass for store in known)
        total += load.fuel.external.get(name, sum(pack.stores[store].fuel_capacity for store in known))
        if total > station.maximum_load:
            yield document.problem(
                key,
                f"{total / LB:.0f} lb",
                f"is more than the {station.maximum_load / LB:.0f} lb this station carries",
            )
    for index, name in enumerate(load.release_order):
        if name not in load.stores:
            yield _unknown(document, ("load", "release_order", index), name, load.stores, "loaded stations")


def _may_hang(pack: Pack, store: str, carried: list[str], allowed: tuple[str, ...]) -> bool:
    """A store hangs on a station that carries it, or on a rack that the station carries."""
    if store in allowed:
        return True
    rack = any(pack.stores[other].kind == "rack" and other in allowed for other in carried if other != store)
    return rack and pack.stores[store].kind != "rack"


LB = 0.45359237  # kg, exact; messages speak pounds, as sortie files do


def _fuel_faults(sortie: Sortie, pack: Pack, document: Document) -> Iterator[Problem]:
    fuel = sortie.load.fuel
    for name, mass in fuel.tanks.items():
        key: Key = ("load", "fuel", "tanks", name)
        if name not in pack.mass.tanks:
            yield _unknown(document, key, name, pack.mass.tanks, f"tanks of {pack.name}")
        elif mass > pack.mass.tanks[name].capacity * (1 + 1e-9):
            yield _too_full(document, key, mass, pack.mass.tanks[name].capacity)
    capacity = sum(tank.capacity for tank in pack.mass.tanks.values())
    if fuel.total is not None and fuel.total > capacity * (1 + 1e-9):
        yield _too_full(document, ("load", "fuel", "total"), fuel.total, capacity)
    if fuel.total is not None and fuel.tanks:
        yield document.problem(
            ("load", "fuel", "total"), "total and tanks", "cannot both be given", "Keep one of them"
        )
    for name, mass in fuel.external.items():
        key = ("load", "fuel", "external", name)
        carried = sortie.load.stores.get(name, ())
        room = sum(pack.stores[store].fuel_capacity for store in carried if store in pack.stores)
        if room == 0.0:
            yield document.problem(key, f'"{name}"', "carries no tank", "Hang a tank there under load.stores")
        elif mass > room * (1 + 1e-9):
            yield _too_full(document, key, mass, room)


def _too_full(document: Document, key: Key, mass: float, capacity: float) -> Problem:
    return document.problem(
        key, f"{mass / LB:.0f} lb", f"is more than the tank holds: {capacity / LB:.0f} lb"
    )


def _runway_faults(
    aerodrome: AerodromeToday, runway: str, aerodrome_key: Key, runway_key: Key, document: Document
) -> Iterator[Problem]:
    name = aerodrome.name or aerodrome.icao or "this aerodrome"
    known = [one.designator for one in aerodrome.runways]
    if runway not in known:
        yield _unknown(document, runway_key, runway, known, f"runways of {name}")
    for index, one in enumerate(aerodrome.runways):
        key: Key = (*aerodrome_key, "runways", index)
        if (one.true_heading is None) == (one.magnetic_heading is None):
            yield document.problem(key, "", "needs true_heading or magnetic_heading, one of the two")
        if one.displaced_threshold >= one.length:
            yield document.problem((*key, "displaced_threshold"), "", "leaves no runway to land on")
        if one.start_offset >= one.length:
            yield document.problem((*key, "start_offset"), "", "lies beyond the runway's end")
    if aerodrome.icao is None and None in (aerodrome.latitude, aerodrome.longitude, aerodrome.elevation):
        yield document.problem(aerodrome_key, "", "needs icao, or latitude, longitude and elevation")


def _unknown(document: Document, key: Key, word: str, known: Iterable[str], what: str) -> Problem:
    return document.problem(key, f'"{word}"', f"is none of the {what}", choice_hint(word, list(known), what))
