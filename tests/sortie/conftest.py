"""A sortie of the shipped twin with every sort of key in it, for tests to read, break and plan."""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from sortiewright.pack import InputError, load_pack
from sortiewright.sortie import LoadedSortie, Plan, plan, read_sortie

SORTIE = """\
title: Range detail
callsign: Thistle 21
squadron: 9 Squadron
date: 2026-05-14
time: 09:40Z
pack: dotterel
crew:
  front: {name: I. Marrow, mass: 225 lb}
  rear: {name: P. Quill}
load:
  fuel: {}
  stores:
    belly: belly_tank
    left_inboard: [triple_rack, plover_bomb]
    right_inboard: [triple_rack, plover_bomb]
  release_order: [left_inboard, right_inboard]
  taxi_time: 14 min
  landing_fuel: 2600 lb
aerodrome:
  icao: ZZCH
  name: Corran Head
  latitude: 56.214
  longitude: -5.083
  elevation: 212 ft
  runways:
    - designator: "26"
      true_heading: 258 deg
      length: 9000 ft
      slope: 0.3 %
      overrun: 900 ft
      start_offset: 150 ft
      cables:
        - {name: departure cable, distance: 7000 ft}
    - designator: "08"
      true_heading: 78 deg
      length: 9000 ft
runway: "26"
weather:
  metar: METAR ZZCH 140920Z 28014G22KT 9999 SCT028 BKN045 16/09 Q1009
"""
NAME = "today.yaml"
Change = tuple[str, str]


@pytest.fixture(scope="session", autouse=True)
def packs_read_once() -> Iterator[None]:
    """Read each pack once: the same files are asked for some hundred times."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("sortiewright.sortie.load.load_pack", functools.cache(load_pack))
        yield


def changed(changes: tuple[Change, ...]) -> str:
    text = SORTIE
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} must stand once in the sortie"
        text = text.replace(old, new)
    return text


@pytest.fixture
def sortie_text() -> Callable[..., str]:
    """Return a function that gives the sortie's text with some words replaced: ``(old, new), ...``."""
    return lambda *changes: changed(changes)


@pytest.fixture
def read(tmp_path: Path) -> Callable[..., LoadedSortie]:
    """Return a function that reads the sortie with some words replaced."""
    return lambda *changes: read_sortie(changed(changes), NAME, tmp_path)


@pytest.fixture
def faults(tmp_path: Path) -> Callable[..., list[str]]:
    """Return a function that reads the sortie with some words replaced and returns the lines of its
    faults."""

    def lines(*changes: Change) -> list[str]:
        try:
            read_sortie(changed(changes), NAME, tmp_path)
        except InputError as error:
            return str(error).split("\n")
        return []

    return lines


@pytest.fixture(scope="session")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., Plan]:
    """Return a function that plans the sortie with words replaced, and values of the pack or sortie set.

    ``planned(("26", "08"), pack={"wheels.tyre_speed_limit": 80.0}, sortie={"load.landing_fuel": None})``
    """
    folder = tmp_path_factory.mktemp("sorties")

    @functools.cache
    def loaded(changes: tuple[Change, ...]) -> LoadedSortie:
        return read_sortie(changed(changes), NAME, folder)

    @functools.cache
    def as_written(changes: tuple[Change, ...]) -> Plan:
        return plan(loaded(changes).sortie, loaded(changes).pack)

    def make(
        *changes: Change, pack: dict[str, Any] | None = None, sortie: dict[str, Any] | None = None
    ) -> Plan:
        if pack is None and sortie is None:
            return as_written(changes)
        day, aircraft = loaded(changes).sortie, loaded(changes).pack.pack
        for path, value in (sortie or {}).items():
            day = with_value(day, path, value)
        for path, value in (pack or {}).items():
            aircraft = with_value(aircraft, path, value)
        return plan(day, dataclasses.replace(loaded(changes).pack, pack=aircraft))

    make.day = lambda *changes: loaded(changes).sortie  # type: ignore[attr-defined]
    return make


def with_value(record: Any, path: str, value: Any) -> Any:
    """Return the record with the value at a dotted path replaced."""
    name, _, rest = path.partition(".")
    if isinstance(record, dict):
        return {**record, name: with_value(record[name], rest, value) if rest else value}
    new = with_value(getattr(record, name), rest, value) if rest else value
    return record.model_copy(update={name: new})
