"""Tables of the invented demonstration aircraft: made as they say, and believable for their class."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

ROOT = Path(__file__).resolve().parents[2]
TABLES = ROOT / "src" / "sortiewright" / "packs" / "dotterel" / "tables"


@pytest.fixture(scope="module")
def make(tool: Callable[[str], ModuleType]) -> ModuleType:
    return tool("make_dotterel_tables")


@pytest.fixture(scope="module")
def check(tool: Callable[[str], ModuleType]) -> ModuleType:
    return tool("check_dotterel")


def cells(text: str) -> tuple[list[list[str]], str]:
    rows = [line.split(",") for line in text.splitlines() if line and not line.startswith("#")]
    return rows[1:], ",".join(rows[0])


def test_the_generator_writes_the_tables_that_are_shipped(make: ModuleType):
    made = make.aerodynamic_tables() | make.engine_tables()

    assert sorted(made) == sorted(path.name for path in TABLES.glob("*.csv"))
    for name, text in made.items():
        rows, header = cells(text)
        shipped, shipped_header = cells((TABLES / name).read_text(encoding="utf-8"))
        # One unit of the last digit written: mathematics libraries differ in the last bit.
        digits = {len(cell.partition(".")[2]) for row in shipped for cell in row[1:]}

        assert header == shipped_header
        assert [row[0] for row in rows] == [row[0] for row in shipped]
        assert np.allclose(
            [[float(cell) for cell in row[1:]] for row in rows],
            [[float(cell) for cell in row[1:]] for row in shipped],
            rtol=0,
            atol=1.01 * 10.0 ** -max(digits),
        )


# Anderson, Fundamentals of Aerodynamics, section 5.5 (from memory): Helmbold's equation for a swept wing,
# after Kuechemann, and its subsonic compressible form. Another road to the slope than DATCOM's.
@pytest.mark.parametrize("mach", [0.0, 0.3, 0.6, 0.8])
def test_lift_curve_slope_agrees_with_the_swept_helmbold_equation(make: ModuleType, mach: float):
    section = 2 * np.pi * make.SECTION_EFFICIENCY * np.cos(make.HALF_CHORD_SWEEP)
    ratio = section / (np.pi * make.ASPECT_RATIO)
    helmbold = section / (np.sqrt(1 - (mach * np.cos(make.HALF_CHORD_SWEEP)) ** 2 + ratio**2) + ratio)

    assert make.lift_curve_slope(mach) == pytest.approx(helmbold, rel=0.005)


# ISO 2533: at 11,000 m geopotential 216.65 K and 226.32 hPa; at 15,000 m 120.446 hPa (from memory).
def test_the_generator_s_atmosphere_is_the_standard_one(make: ModuleType):
    theta, delta = make.standard_ratios(np.array([0.0, 11_000.0, 15_000.0]) / 0.3048)

    assert theta * 288.15 == pytest.approx([288.15, 216.65, 216.65], abs=1e-9)
    assert delta * 1013.25 == pytest.approx([1013.25, 226.32, 120.446], rel=2e-5)


# NACA Report 1135, table I: at Mach 1 pressure over total pressure 0.5283, temperature 0.8333. Below the
# break of the rating, Mattingly's maximum thrust goes with total pressure alone.
def test_maximum_thrust_below_the_break_follows_total_pressure(make: ModuleType):
    assert make.thrust_lapse("maximum", 1.0, 0.85, 1.0) == pytest.approx(1 / 0.5283, rel=2e-4)


def test_drag_is_least_at_zero_lift(make: ModuleType):
    alpha = np.radians(np.linspace(-8, 8, 1601))
    for name in ("clean", "takeoff", "landing"):
        for mach in (0.0, 0.3, 0.6):
            least = np.argmin(make.drag(name, alpha, mach))

            assert abs(make.lift(name, alpha, mach)[least]) < 0.01


def test_the_lift_tables_reach_maximum_lift_and_not_more(check: ModuleType):
    for name, configuration in check.AERO.configurations.items():
        for mach in configuration.maximum_lift.axes[0]:
            peak = configuration.lift.values[:, np.searchsorted(configuration.lift.axes[1], mach)].max()
            share = peak / float(configuration.maximum_lift(mach))

            assert 0.99 < share <= 1.0005, (name, mach)


def test_power_settings_stand_in_order_near_the_ground(check: ModuleType):
    for mach in (0.0, 0.2, 0.4, 0.6):
        for height in (-600.0, 0.0, 2000.0, 3000.0):
            settings = [check.ENGINE.settings[name] for name in ("idle", "run_up", "military", "maximum")]
            thrust = [float(setting.thrust(mach, height)) for setting in settings]
            fuel = [float(setting.fuel_flow(mach, height)) for setting in settings]

            assert thrust == sorted(thrust)
            assert fuel == sorted(fuel)
            assert fuel[0] > 0


def test_run_up_readings_of_fuel_flow_are_the_engine_s_own(check: ModuleType):
    for reading in check.ENGINE.run_up:
        setting = check.ENGINE.settings[reading.setting]
        outside = np.array([243.15, 263.15, 288.15, 308.15, 323.15])
        own = float(setting.fuel_flow(0.0, 0.0)) * setting.fuel_flow_temperature_factor(outside - 288.15)

        assert reading.fuel_flow(outside) == pytest.approx(own, rel=0.005)


# Bounds from here on: common practice, no source. What a twin with afterburners of 40,000 to 60,000 lb does.
CLASS = "common practice, no source"


@pytest.mark.parametrize(
    ("quantity", "low", "high"),
    [
        ("thrust over weight at 38,000 lb", 0.6, 1.0),
        ("zero-lift drag", 0.018, 0.030),
        ("gear and landing flap drag", 0.04, 0.08),
        ("clean maximum lift", 1.0, 1.4),
        ("maximum fuel flow klb/h", 50, 90),
        ("military fuel flow klb/h", 15, 25),
        ("idle fuel flow klb/h", 2, 3),
        ("internal fuel klb", 10, 16),
    ],
)
def test_the_aircraft_lies_inside_its_class(check: ModuleType, quantity: str, low: float, high: float):
    clean, landing = (check.AERO.configurations[name] for name in ("clean", "landing"))

    def flow(setting: str) -> float:
        return 2 * float(check.ENGINE.settings[setting].fuel_flow(0.0, 0.0)) * 3600 / check.LB / 1000

    alphas = np.radians(np.linspace(-6, 6, 241))
    flap = landing.drag(alphas, 0.2).min() - clean.drag(alphas, 0.2).min()
    values = {
        "thrust over weight at 38,000 lb": 2 * check.at(38_000).thrust("maximum", 0.0) / (38_000 * check.LBF),
        "zero-lift drag": clean.drag(alphas, 0.2).min(),
        "gear and landing flap drag": check.AERO.gear.drag + flap,
        "clean maximum lift": float(clean.maximum_lift(0.2)),
        "maximum fuel flow klb/h": flow("maximum"),
        "military fuel flow klb/h": flow("military"),
        "idle fuel flow klb/h": flow("idle"),
        "internal fuel klb": sum(tank.capacity for tank in check.MASS.tanks.values()) / check.LB / 1000,
    }

    assert low <= values[quantity] <= high, CLASS


# Common practice, no source: as above.
def test_takeoffs_of_every_load_lie_inside_the_class(check: ModuleType):
    for name, stores in check.LOADS.items():
        mass, cg, index, path = check.load(stores)
        found = check.takeoff(mass, cg, index)
        one = check.Aircraft(check.PACK, mass, cg)

        assert mass <= check.MASS.maximum_takeoff_mass, name
        assert 0.28 <= cg <= 0.32, name
        assert 0.25 <= min(path) <= max(path) <= 0.34, name
        assert 100 <= found["nosewheel"] <= 140, name
        assert 140 <= found["lift_off"] <= 190, name
        assert found["nosewheel"] < found["rotation"] < found["lift_off"], name
        assert 1800 <= found["run_ft"] <= 4500, name
        assert 3 <= check.trim_units(one, 200 * check.KT) <= 9, name


# Common practice, no source: as above.
def test_landings_lie_inside_the_class(check: ModuleType):
    for weight in (28_000, 31_000, 35_000, 39_500):
        assert 130 <= check.approach(weight, "landing")["speed"] <= 165
        assert check.approach(weight, "landing")["over_stall"] >= 1.2

    assert 4000 <= check.landing_roll(39_500, 23, chute=False)[0] <= 8000
    assert 3000 <= check.landing_roll(39_500, 23, chute=True)[0] <= 5000
    assert 95 <= check.minimum_control(check.at(38_000)) / check.KT <= 115


# Instrument departures assume 200 ft/nmi (TERPS, from memory), 0.033.
def test_one_engine_climbs_away_at_every_load_on_a_standard_day(check: ModuleType):
    mass = check.MASS.maximum_takeoff_mass
    heaviest = check.Aircraft(check.PACK, mass, check.USUAL_CG, index=100)

    assert check.single_engine_gradient(heaviest, gear=True) > 0.033


# Common practice, no source: on a warm day too one engine climbs, gear up, with what is carried every day.
def test_one_engine_climbs_with_ordinary_loads_on_a_warm_day(check: ModuleType):
    for name in ("clean", "practice", "belly tank", "wing tanks", "wing tanks, pod", "gun and bombs"):
        mass, cg, index, _ = check.load(check.LOADS[name])
        one = check.Aircraft(check.PACK, mass, cg, check.standard_day(0.0, 20.0), index=index)

        assert check.single_engine_gradient(one, gear=False) > 0.033, name


# Common practice, no source: the brakes hold to about 85 %, where gauges show about 450 degC and 4,000 lb/h.
def test_run_up_reads_as_in_the_class(check: ModuleType):
    reading = next(reading for reading in check.ENGINE.run_up if reading.setting == "run_up")
    one, held = check.at(38_000), float(check.WHEELS.braking_friction(23))
    holds = held * (1 - check.WHEELS.nose_load_share) * one.weight

    assert float(reading.rpm(288.15)) == pytest.approx(0.85, abs=0.005)
    assert float(reading.exhaust_temperature(288.15)) - 273.15 == pytest.approx(450, abs=10)
    assert float(reading.fuel_flow(288.15)) * 3600 / check.LB == pytest.approx(4000, rel=0.01)
    assert 2 * one.thrust("run_up", 0.0) < min(holds, check.WHEELS.maximum_brake_force)
    assert 2 * one.thrust("military", 0.0) > min(holds, check.WHEELS.maximum_brake_force)


# 14 CFR 23.735, KE = 0.0443 W V^2 / N (from memory), worked in tests/data/external_checks, X-D09 and X-D10:
# 24.5 Mft.lbf a wheel for 46,000 lb from 155 kt, 18.5 for 58,000 lb from 120 kt. Danger begins between them.
def test_danger_begins_between_the_stops_of_the_class(check: ModuleType):
    group = json.loads((ROOT / "tests/data/external_checks/group_d.json").read_text(encoding="utf-8"))
    known = {one["id"]: one["expected"] for one in group["checks"]}
    wheel = {name: known[name]["energy_exact"]["value"] for name in ("X-D09", "X-D10")}
    danger = check.WHEELS.energy_zones[2].above / check.MFT_LBF / check.WHEELS.braked_wheels

    assert check.energy_without_credit(46_000, 155) / 2 == pytest.approx(wheel["X-D09"], rel=0.002)
    assert wheel["X-D10"] < danger < wheel["X-D09"]


# Common practice, no source: what is done every day leaves the brakes in the normal zone, and a stop that
# begins there does not end in danger for want of the chute.
def test_brake_energy_zones_fit_the_brakes(check: ModuleType):
    normal, caution, danger = (zone.above / check.MFT_LBF for zone in check.WHEELS.energy_zones)
    landings = [check.landing_roll(39_500, reading, chute=False)[1] for reading in (23, 12, 5)]

    assert normal == 0.0
    assert max(landings) < 0.5 * caution
    for weight in (36_000, 43_000, 50_000):
        speeds = range(90, 170, 10)
        with_chute = [check.rejected(weight, speed, chute=True)[1] for speed in speeds]
        fails = [check.rejected(weight, speed, chute=False)[1] for speed in speeds]

        assert max(with_chute) > caution
        assert all(bad < danger for good, bad in zip(with_chute, fails, strict=True) if good < caution)
    # At full force the brakes reach danger within 4,000 ft: the zone lies where a real stop can end.
    assert danger * check.MFT_LBF / check.WHEELS.maximum_brake_force < 4000 * check.FT
