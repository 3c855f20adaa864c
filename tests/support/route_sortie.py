"""A sortie of the shipped twin with a short route, and the route as flown with words of it replaced."""

from __future__ import annotations

import functools
from pathlib import Path

from sortiewright.performance import LoadState, fuel_after
from sortiewright.sortie import LoadedSortie, read_sortie
from sortiewright.sortie.conditions import landing_conditions, takeoff_conditions
from sortiewright.sortie.loading import ground_fuel, ramp_load
from sortiewright.sortie.route_flight import fly_route
from sortiewright.sortie.route_flown import FlownRoute

TAKEOFF_TIME, TAKEOFF_SPEED = 27.0, 95.0  # s and m/s, to the screen: any will do

ROUTE_SORTIE = """\
title: Round the lochs
callsign: Thistle 21
date: 2026-05-14
time: 09:40Z
pack: dotterel
load:
  stores:
    belly: belly_tank
    left_inboard: [triple_rack, plover_bomb]
    right_inboard: [triple_rack, plover_bomb]
  taxi_time: 14 min
aerodrome:
  icao: ZZCH
  name: Corran Head
  latitude: 56.214
  longitude: -5.083
  elevation: 212 ft
  runways:
    - {designator: "26", true_heading: 258 deg, length: 9000 ft}
runway: "26"
weather:
  metar: METAR ZZCH 140920Z 28014KT 9999 SCT028 15/09 Q1009
route:
  points:
    ALFER: {latitude: 56.3, longitude: -7.2}
    BRENT: {latitude: 57.4, longitude: -7.0}
    CULLEN: {latitude: 57.5, longitude: -4.8}
    DORNA: {latitude: 56.6, longitude: -4.2}
  winds_aloft:
    - {altitude: 2000 ft, wind_from: 285 deg, wind_speed: 22 kt, temperature: 11 degC}
    - {flight_level: 100, wind_from: 290 deg, wind_speed: 36 kt, temperature: -5 degC}
    - {flight_level: 200, wind_from: 300 deg, wind_speed: 50 kt, temperature: -25 degC}
    - {flight_level: 300, wind_from: 300 deg, wind_speed: 70 kt, temperature: -46 degC}
  legs:
    - {to: ALFER, flight_level: 200}
    - {to: BRENT}
    - {to: CULLEN, mach: 0.7}
    - {to: DORNA}
    - {to: ZZCH}
"""
WINDS = ROUTE_SORTIE[ROUTE_SORTIE.index("  winds_aloft") : ROUTE_SORTIE.index("  legs")]
NO_WIND = (WINDS, "")

Change = tuple[str, str]


def load_route_sortie(*changes: Change) -> LoadedSortie:
    """Return the sortie with some words of it replaced; each must stand in it once."""
    text = ROUTE_SORTIE
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} must stand once in the sortie"
        text = text.replace(old, new)
    return read_sortie(text, "route.yaml", Path())


def even_wind(wind_from: float, speed: float) -> Change:
    """Return the change that gives the same wind, degrees and kt, at every level."""
    levels = "".join(
        f"    - {{flight_level: {level}, wind_from: {wind_from} deg, wind_speed: {speed} kt}}\n"
        for level in (5, 400)
    )
    return WINDS, f"  winds_aloft:\n{levels}"


def ramp_and_takeoff(loaded: LoadedSortie) -> tuple[LoadState, LoadState]:
    """Return what is aboard at the ramp, and after start and taxi."""
    sortie, pack = loaded.sortie, loaded.pack.pack
    ramp = ramp_load(sortie, pack)
    return ramp, fuel_after(pack, ramp, ground_fuel(sortie, pack))


def fly_loaded(loaded: LoadedSortie) -> FlownRoute:
    """Return the route of a sortie as flown."""
    sortie, pack = loaded.sortie, loaded.pack.pack
    start = takeoff_conditions(sortie)
    arrival = landing_conditions(sortie, start)
    return fly_route(sortie, pack, start, arrival, ramp_and_takeoff(loaded)[1], TAKEOFF_TIME, TAKEOFF_SPEED)


@functools.cache
def flown(*changes: Change) -> FlownRoute:
    """Return the route as flown, with words of the sortie replaced."""
    return fly_loaded(load_route_sortie(*changes))
