"""A small pack of an invented single-engine aircraft, for tests to read, break and mend."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

SIMPLE_FILES: dict[str, str] = {
    "pack.yaml": """\
name: wren
title: Wren
version: 1.10
summary: An invented single-engine trainer.
rights: Invented for these tests.
""",
    "airframe.yaml": """\
wing_area: {value: 18.0 m2, source: "Invented, drawing 1", note: "without strakes"}
span: 10.0 m
mean_chord: 1.9 m
mean_chord_leading_edge_arm: 2.5 m
wing_height: 1.2 m
moment_reference_arm: 3.0 m
moment_reference_height: 1.3 m
main_wheel_arm: 3.4 m
nose_wheel_arm: 1.0 m
centre_of_gravity_height: 1.2 m
thrust_line_height: 1.3 m
static_ground_attitude: 1 deg
tail_strike_attitude: 14 deg
""",
    "aero.yaml": """\
configurations:
  clean:
    title: Clean
    lift:
      source: Invented
      angle_of_attack: {unit: deg, values: [-4, 0, 8, 16]}
      mach: [0.0, 0.5]
      values:
        - [-0.2, -0.22]
        - [0.1, 0.11]
        - [0.8, 0.85]
        - [1.3, 1.35]
    drag: {file: tables/clean_drag.csv, source: "Invented, CSV"}
    maximum_lift: {mach: [0.0, 0.5], values: [1.3, 1.35]}
    pitching_moment_slope: -0.01 1/deg
  landing:
    title: Landing (flaps 30)
    lift:
      angle_of_attack: {unit: deg, values: [-4, 0, 8, 16]}
      mach: [0.0, 0.5]
      values:
        - [0.1, 0.1]
        - [0.5, 0.52]
        - [1.2, 1.22]
        - [1.7, 1.72]
    drag:
      angle_of_attack: {unit: deg, values: [-4, 0, 8, 16]}
      mach: [0.0, 0.5]
      values:
        - [0.06, 0.06]
        - [0.07, 0.07]
        - [0.12, 0.13]
        - [0.30, 0.32]
    maximum_lift: {mach: [0.0, 0.5], values: [1.7, 1.72]}
gear: {drag: 0.02}
pitch_control:
  moment_per_angle: 0.9 1/rad
  full_aft_angle: 20 deg
  full_forward_angle: -15 deg
  trim_unit_angle: 1 deg
  trim_units_range: [0, 10]
""",
    "engine.yaml": """\
count: 1
settings:
  idle:
    thrust: {unit: kN, mach: [0, 1], pressure_altitude: {unit: m, values: [0,6e3]}, values: [[.5,.3], [0, 0]]}
    fuel_flow:
      unit: kg/h
      mach: [0, 0.6]
      pressure_altitude: {unit: ft, values: [0, 20000]}
      values: [[120, 80], [130, 90]]
  military:
    title: Full power
    thrust: {file: tables/military_thrust.csv, unit: lbf}
    fuel_flow:
      unit: lb/h
      mach: [0, 0.6]
      pressure_altitude: {unit: ft, values: [0, 20000]}
      values:
        - [2000, 1200]
        - [2200, 1300]
    thrust_temperature_factor: {isa_deviation: {unit: degC, values: [-40, 0, 40]}, values: [1.05, 1.0, 0.85]}
transients: {idle_to_military: 4 s, military_to_idle: 2 s}
run_up:
  - setting: military
    rpm: {file: tables/rpm.csv, unit: "%"}
    oil_pressure: [30 psi, 60 psi]
""",
    "mass.yaml": """\
basic_mass: 2000 kg
basic_arm: 3.1 m
seats:
  front: {title: Front seat, arm: 2.0 m, standard_mass: 90 kg}
tanks:
  body: {capacity: 500 kg, arm: 3.0 m, unusable: 5 kg}
  wing: {capacity: 300 kg, arm: 3.1 m}
fuel_density: 6.7 lb/gal
feed_order: [[external], [wing], [body]]
stations:
  left: {arm: 3.0 m, side_arm: -2.0 m, maximum_load: 400 kg, carries: [drop_tank]}
  right: {arm: 3.0 m, side_arm: 2.0 m, maximum_load: 400 kg, carries: [drop_tank]}
envelope:
  - {mass: 1900 kg, centre_of_gravity: 20 %MAC}
  - {mass: 3600 kg, centre_of_gravity: 24 %MAC}
  - {mass: 3600 kg, centre_of_gravity: 36 %MAC}
  - {mass: 1900 kg, centre_of_gravity: 38 %MAC}
maximum_ramp_mass: 3600 kg
maximum_takeoff_mass: 3550 kg
maximum_landing_mass: 3200 kg
""",
    "stores.yaml": """\
drop_tank: {title: Drop tank, mass: 60 kg, drag_index: 8, fuel_capacity: 250 kg, kind: tank}
""",
    "wheels.yaml": """\
rolling_friction: 0.025
braking_friction: {runway_condition_reading: [4, 12, 26], values: [0.08, 0.2, 0.4]}
main_tyre_pressure: 120 psi
tyre_speed_limit: 160 kt
energy_zones:
  - {title: Caution, above: 5 MJ, severity: caution}
  - {title: Danger, above: 9 MJ, severity: no-go}
""",
    "limits.yaml": """\
gear_speed: {value: 160 kt, severity: no-go, source: "Invented, placard"}
flap_speed:
  landing: {value: 130 kt, note: Flaps 30}
load_factor_positive: {mass: {unit: kg, values: [2000, 3600]}, values: [7.0, 5.0]}
""",
    "technique.yaml": """\
takeoff:
  configuration: clean
  power: military
  rotation_speed: {unit: kt, mass: {unit: kg, values: [2000, 3600]}, values: [70, 95]}
  pitch_rate: 3 deg/s
  takeoff_attitude: 10 deg
landing:
  configuration: landing
  on_speed_angle_of_attack: 8 deg
  glide_angle: 3 deg
""",
    "book.yaml": """\
- quantity: ground_run
  value: 550 m
  tolerance: 10 %
  conditions: {mass: 3000 kg, rcr: 23}
""",
    "notes.md": "# Wren\nHow the numbers were chosen.\n",
    "tables/clean_drag.csv": """\
# A comment
angle_of_attack deg \\ mach,0.0,0.5
-4,0.03,0.031
0,0.025,0.026
8,0.06,0.062
16,0.25,0.27
""",
    "tables/military_thrust.csv": """\
mach \\ pressure_altitude ft,0,20000
0,3300,1900
0.3,3000,1800
0.6,2900,1750
""",
    "tables/rpm.csv": """\
outside_temperature degC,rpm %
-40,95
15,100
50,101.5
""",
}
"""Every file of the pack by its name in the folder."""


def write_pack(folder: Path, files: dict[str, str]) -> Path:
    """Return the folder after writing the files into it."""
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8")
    return folder


@pytest.fixture
def pack_files() -> dict[str, str]:
    """Return the texts of a valid pack, for a test to change."""
    return dict(SIMPLE_FILES)


@pytest.fixture
def pack_folder(tmp_path: Path) -> Path:
    """Return the folder of a valid pack."""
    return write_pack(tmp_path / "wren", SIMPLE_FILES)


@pytest.fixture
def faults(tmp_path: Path) -> Callable[..., list[str]]:
    """Return a function that loads the pack with some texts replaced and returns the lines of its faults.

    ``faults({"mass.yaml": ("2000 kg", "-2000 kg")})`` replaces within a file, a plain text replaces the file,
    None leaves the file out.
    """
    from sortiewright.pack import InputError, load_pack

    def load(changes: dict[str, str | tuple[str, str] | None]) -> list[str]:
        files = dict(SIMPLE_FILES)
        for name, change in changes.items():
            if change is None:
                del files[name]
            elif isinstance(change, str):
                files[name] = change
            else:
                old, new = change
                assert files[name].count(old) == 1, f"{old!r} must stand once in {name}"
                files[name] = files[name].replace(old, new)
        folder = write_pack(tmp_path / "broken", files)
        try:
            load_pack(folder)
        except InputError as error:
            return str(error).split("\n")
        return []

    return load
