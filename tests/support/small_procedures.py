"""A small cockpit and three lists for the shipped twin, as files for tests to read and to break."""

from __future__ import annotations

import dataclasses
import functools
from pathlib import Path

from sortiewright.pack import InputError, LoadedPack, load_pack
from sortiewright.procedures import Procedures, load_procedures

CONTROLS = """\
controls:
  battery: {title: Battery, panel: left console, seats: front, positions: [OFF, ON], at_start: OFF}
  gear_handle: {title: Gear handle, panel: left panel, seats: front, positions: [UP, DOWN], at_start: DOWN}
  tank_selector: {title: Tank selector, panel: left console, positions: [1, 2, BELLY], at_start: [1, 2]}
states:
  weight_on_wheels: {title: Weight on wheels, values: [YES, NO], at_start: YES}
parties:
  tower: {title: Tower}
"""

ORDER = """\
sources: common practice, no source
sortie: [before_start, before_takeoff]
go_around: go_around
unchanged:
  gear_handle: nothing in these lists moves it
invariants:
  - id: gear_stays_down
    never: gear_handle == 'UP' and weight_on_wheels == 'YES'
    why: The legs fold.
  - id: power_first
    first: battery == 'ON'
    before: tank_selector == 'BELLY'
    why: The valve needs power.
  - id: battery_for_takeoff
    holds: battery == 'ON'
    at_end_of: before_takeoff
    when: at_night
    why: The lights need it.
"""

LISTS = """\
source: invented
before_start:
  title: Before start
  phase: ground
  pace: apart
  items:
    - {id: battery, challenge: Battery, response: ON, seat: front, sets: {battery: ON}, killer: true}
    - {id: rear_harness, challenge: Harness, response: FASTENED, seat: rear}
    - id: belly
      challenge: Tank selector
      response: BELLY
      seat: front
      when: carries('belly_tank')
      needs: battery == 'ON'
      sets: {tank_selector: BELLY}
    - id: fuel
      challenge: Fuel
      response: "{fuel_at_ramp}"
      seat: [front, rear]
before_takeoff:
  title: Before takeoff
  phase: takeoff
  items:
    - id: clearance
      challenge: Takeoff clearance
      seat: [front, rear]
      any_one: true
      response: Read back
      hold: {awaits: Clearance for takeoff, cleared_by: tower, after: battery == 'ON'}
    - id: wind
      challenge: Stick into wind
      response: "Held, {crosswind}"
      seat: front
      when: crosswind > kt(10)
      notes: The gust counts.
    - id: speeds
      challenge: Rotation, gear limit
      response: "{rotation_speed}, {limits.gear_speed}"
      seat: front
      seen: calibrated_airspeed > kt(80)
      if_not: {go: no_airspeed, case: No speed shown}
go_around:
  title: Go-around
  items:
    - {id: power, challenge: Throttles, response: MAX, seat: front}
no_airspeed:
  title: No airspeed
  kind: emergency
  style: read-do
  applies_in: [takeoff, before_start]
  entry: No speed is shown.
  items:
    - {id: attitude, challenge: Attitude, response: "{takeoff_attitude}", seat: front, memory: true}
    - {id: pitot, challenge: Pitot heat, response: ON, seat: front, part: follow-up}
  then: resume
  status: No speed is to be trusted.
"""

FILES = {"controls": CONTROLS, "order": ORDER, "lists": LISTS}


@functools.cache
def shipped(name: str = "dotterel") -> LoadedPack:
    """Return a shipped pack, read once."""
    return load_pack(name)


def pack_with(folder: Path, files: dict[str, str]) -> LoadedPack:
    """Return the twin with the given texts as its folder of procedures."""
    (folder / "procedures").mkdir(exist_ok=True)
    for name, text in files.items():
        (folder / "procedures" / f"{name}.yaml").write_text(text, encoding="utf-8")
    return dataclasses.replace(shipped(), folder=folder)


def changed(*changes: tuple[str, str, str]) -> dict[str, str]:
    """Return the files with some words replaced: ``(file, old, new)``; ``old`` stands once in the file."""
    files = dict(FILES)
    for name, old, new in changes:
        assert files[name].count(old) == 1, f"{old!r} must stand once in {name}"
        files[name] = files[name].replace(old, new)
    return files


def small_procedures(folder: Path, *changes: tuple[str, str, str]) -> Procedures:
    """Return the small procedures with some words replaced."""
    return load_procedures(pack_with(folder, changed(*changes)))


def fault_lines(folder: Path, *changes: tuple[str, str, str]) -> list[str]:
    """Return the faults of the small procedures with some words replaced, one line each."""
    try:
        small_procedures(folder, *changes)
    except InputError as error:
        return str(error).split("\n")
    return []
