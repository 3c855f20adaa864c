"""The invented trainer: its tables come from their generator, the methods hold, the numbers fit the class."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import numpy as np
import pytest

from sortiewright.pack import load_pack

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "src" / "sortiewright" / "packs" / "whinchat"
POUND, KNOT, FOOT, POUND_FORCE = (
    0.45359237,
    1852.0 / 3600.0,
    0.3048,
    4.4482216152605,
)  # NIST SP 811, appendix B
GRAVITY = 9.80665


@pytest.fixture(scope="module")
def make():
    path = ROOT / "tools" / "make_whinchat_tables.py"
    spec = importlib.util.spec_from_file_location("make_whinchat_tables", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def pack():
    return load_pack(FOLDER).pack


def test_generator_reproduces_every_table_file(make):
    made = make.tables()

    assert {path.name for path in (FOLDER / "tables").iterdir()} == set(made)
    for name, text in made.items():
        assert (FOLDER / "tables" / name).read_text(encoding="utf-8") == text


def test_generator_writes_into_a_named_folder(make, tmp_path, capsys):
    assert make.main([str(tmp_path / "here")]) == 0

    assert (tmp_path / "here" / "lift_clean.csv").read_text(encoding="utf-8") == make.tables()[
        "lift_clean.csv"
    ]
    assert "neutral_point" in capsys.readouterr().out


def test_yaml_quotes_the_derived_numbers(make, pack):
    derived = make.derived()
    control = pack.aero.pitch_control

    # Each is printed to three digits or more in the YAML.
    assert pack.airframe.wing_area == make.WING_AREA
    assert pack.airframe.span == make.SPAN
    assert pack.airframe.mean_chord == pytest.approx(derived["mean_chord"], abs=0.0005)
    assert control.moment_per_angle == pytest.approx(derived["elevator_moment_per_angle"], abs=0.0005)
    assert pack.engine.windmilling_drag_area == pytest.approx(derived["windmilling_drag_area"], abs=0.0005)
    for configuration in pack.aero.configurations.values():
        slope = configuration.pitching_moment_slope
        assert slope == pytest.approx(derived["pitching_moment_slope"], abs=0.0005)


# Helmbold 1942 as in Anderson, Fundamentals of Aerodynamics, section 5.3 (from memory), with a section's
# slope k 2 pi: 2 pi A / (2 + sqrt((A / k)^2 + 4)), straight wing; Jones 1946 (NACA Report 835): pi A / 2 for
# the slender wing.
def test_lift_slope_has_helmbolds_and_jones_limits(make):
    section = make.SECTION_LIFT_CURVE_SHARE
    aspect = 6.0

    with_section = 2 * np.pi * aspect / (2 + np.sqrt((aspect / section) ** 2 + 4))
    assert make.lift_slope(0.0, aspect, 0.0) == pytest.approx(with_section, rel=1e-12)
    assert make.lift_slope(0.0, 1e-4, 0.0) / 1e-4 == pytest.approx(np.pi / 2, rel=1e-4)


# Prandtl and Glauert: an unswept wing of very large aspect ratio gains 1 / sqrt(1 - M^2).
def test_lift_slope_of_a_long_wing_follows_prandtl_and_glauert(make):
    ratio = make.lift_slope(0.6, 1e6, 0.0) / make.lift_slope(0.0, 1e6, 0.0)

    assert ratio == pytest.approx(1.25, rel=1e-5)


# Glauert's thin-aerofoil flap (Abbott and von Doenhoff, chapter 4; from memory): a flap of the whole chord is
# a change of incidence, and a quarter-chord flap has an effectiveness of 0.609.
def test_flap_effectiveness_of_thin_aerofoil_theory(make):
    assert make.thin_aerofoil_flap(1.0) == pytest.approx(1.0)
    assert make.thin_aerofoil_flap(0.25) == pytest.approx(0.609, abs=0.0005)


# ISO 2533:1975, table 5: at 11,000 m 216.65 K and 226.32 hPa; at 20,000 ft (6,096 m) 465.6 hPa.
def test_standard_ratios_agree_with_the_standard_atmosphere(make):
    theta, delta = make.standard_ratios(np.array([11000.0, 6096.0]) / FOOT)

    assert theta[0] * 288.15 == pytest.approx(216.65, abs=0.005)
    assert delta * 1013.25 == pytest.approx([226.32, 465.6], abs=0.05)


# Mason, Configuration Aerodynamics, chapter 7: drag divergence is where drag rises by 0.1 a unit of Mach
# number, and Korn's equation, unswept, kappa 0.87, 12 % thick, lift 0.3, gives 0.87 - 0.12 - 0.03 = 0.72.
def test_wave_drag_rises_by_a_tenth_a_mach_at_korns_divergence(make, monkeypatch):
    monkeypatch.setattr(make, "QUARTER_CHORD_SWEEP", 0.0)
    mach = np.array([0.72 - 1e-6, 0.72 + 1e-6])
    below, above = make.wave_drag(np.full(2, 0.3), mach)

    assert (above - below) / 2e-6 == pytest.approx(0.1, rel=1e-4)


# Mattingly, Heiser and Pratt, Aircraft Engine Design, 2nd edition, equation 2.55b over its 0.8, worked by
# hand at Mach 0.5, theta 0.9 and delta 0.7: theta_0 = 0.945 is below the throttle ratio 1, delta_0 = 0.7 x
# 1.05^3.5 = 0.83035; times 1 - 0.16 sqrt(0.5) = 0.88686 gives 0.7364. At theta 1.1, Mach 0: 1 - 24 x 0.1 / (9
# x 1.1) = 0.7576.
def test_thrust_lapse_worked_by_hand(make):
    assert make.military_lapse(0.5, 0.9, 0.7) == pytest.approx(0.7364, abs=0.0001)
    assert make.military_lapse(0.0, 1.1, 1.0) == pytest.approx(0.7576, abs=0.0001)


def test_lift_curves_are_smooth_below_stall_and_never_exceed_the_greatest_lift(make):
    for name in make.CONFIGURATIONS:
        lift, _ = make.lift(name)
        top = make.maximum_lift(name)

        assert (lift <= top + 1e-12).all()
        # The peak lies between table rows; the rows next to it come within half a percent.
        assert lift.max(axis=0) == pytest.approx(top, rel=0.005)
        rising = np.diff(lift, axis=0)
        steepest = make.aircraft_lift_slope(make.MACH[name]) * np.radians(1.0)
        assert (rising <= steepest + 1e-12).all()


# Common practice, no source: what single-engine jet trainers of three to four tonnes have.
def test_aerodynamics_lie_inside_the_class(pack):
    clean, takeoff, landing = (pack.aero.configurations[name] for name in ("clean", "takeoff", "landing"))

    def greatest(configuration):
        return float(configuration.maximum_lift(0.1))

    assert 0.018 <= clean.drag.values.min() <= 0.026
    assert 1.25 <= greatest(clean) <= 1.45
    assert 1.5 <= greatest(takeoff) <= 1.75
    assert 1.75 <= greatest(landing) <= 2.0
    per_degree = float(clean.lift(np.radians(5.0), 0.2) - clean.lift(np.radians(4.0), 0.2))
    assert 0.07 <= per_degree <= 0.10
    cl = clean.lift(clean.lift.axes[0], 0.3)
    best = (cl / clean.drag(clean.lift.axes[0], 0.3)).max()
    assert 10.0 <= best <= 14.0
    # Static margin at the aft limit, share of mean chord: 5 to 20 %.
    slope = np.radians(1.0) * clean.pitching_moment_slope / per_degree
    assert 0.05 <= 0.25 - slope - 0.30 <= 0.20


# Common practice, no source: takeoff thrust over weight 0.3 to 0.45; 0.5 to 1 % of thrust lost a degree on a
# warm day; consumption of a small turbojet 1.0 to 1.3 lb/h a pound; idle 4 to 8 %.
def test_engine_lies_inside_the_class(pack):
    power, idle = pack.engine.settings["takeoff_power"], pack.engine.settings["idle"]
    static = float(power.thrust(0.0, 0.0))
    weight = pack.mass.maximum_takeoff_mass * GRAVITY

    assert 2500 <= static / POUND_FORCE <= 3000
    assert 0.30 <= static / weight <= 0.45
    factor = power.thrust_temperature_factor
    assert 0.005 <= float(factor(0.0) - factor(20.0)) / 20.0 <= 0.010
    assert float(factor(-30.0)) == pytest.approx(1.0, abs=0.02)
    flow = float(power.fuel_flow(0.0, 0.0)) / POUND * 3600.0
    assert 1.0 <= flow / (static / POUND_FORCE) <= 1.3
    assert 0.04 <= float(idle.thrust(0.0, 0.0)) / static <= 0.08


# At 35,000 and 40,000 ft the engine is below its throttle ratio at every Mach number of the table (total
# temperature under 288.15 K), so thrust goes with pressure alone: 238.42 and 187.54 hPa (ISO 2533:1975, table
# 6).
def test_thrust_falls_with_height_and_with_pressure_up_there(pack):
    table = pack.engine.settings["takeoff_power"].thrust

    assert (np.diff(table.values, axis=1) < 0).all()
    # Tables are printed to a pound: half a pound in 477 is 0.1 %.
    ratio = table.values[:, -1] / table.values[:, -2]
    assert ratio == pytest.approx(187.54 / 238.42, rel=0.002)


# Common practice, no source: stalling and approach speeds and ground run of the class. The ground run is the
# textbook closed form with forces at 0.7 of lift-off speed (Anderson, Aircraft Performance and Design,
# section 6.7.1; from memory), standard day at sea level, maximum takeoff mass, lift-off at 1.15 stalling
# speeds.
def test_speeds_and_ground_run_lie_inside_the_class(pack):
    frame, takeoff, landing = pack.airframe, pack.technique.takeoff, pack.technique.landing
    weight, area = pack.mass.maximum_takeoff_mass * GRAVITY, pack.airframe.wing_area
    flaps = pack.aero.configurations["takeoff"]
    stall = np.sqrt(2 * weight / (1.225 * area * float(flaps.maximum_lift(0.13))))

    assert 80 <= stall / KNOT <= 90
    rotation = float(takeoff.rotation_speed(pack.mass.maximum_takeoff_mass))
    assert 1.02 <= rotation / stall <= 1.10

    lift_off = takeoff.lift_off_speed_over_stall * stall
    mach = 0.7 * lift_off / 340.294
    pressure = 0.5 * 1.225 * (0.7 * lift_off) ** 2 * area
    lift = pressure * float(flaps.lift(frame.static_ground_attitude, mach))
    drag = pressure * (float(flaps.drag(frame.static_ground_attitude, mach)) + pack.aero.gear.drag)
    thrust = float(pack.engine.settings[takeoff.power].thrust(mach, 0.0))
    net = thrust - drag - pack.wheels.rolling_friction * (weight - lift)
    run = lift_off**2 * weight / (2 * GRAVITY * net)
    assert 1400 <= run / FOOT <= 2600

    heavy = 7000 * POUND * GRAVITY
    cl = float(pack.aero.configurations["landing"].lift(landing.on_speed_angle_of_attack, 0.15))
    approach = np.sqrt(2 * heavy / (1.225 * area * cl))
    assert 98 <= approach / KNOT <= 106


# Plane statics of the brake-free aircraft: it must not sit on its tail, and the tail touches before it tips.
def test_wheels_stand_where_the_aircraft_neither_tips_nor_drags_its_tail(pack):
    frame = pack.airframe
    aft = (
        frame.mean_chord_leading_edge_arm
        + max(p.centre_of_gravity for p in pack.mass.envelope) * frame.mean_chord
    )
    behind = frame.main_wheel_arm - aft

    assert np.arctan2(behind, frame.centre_of_gravity_height) > frame.tail_strike_attitude
    nose_load = behind / (frame.main_wheel_arm - frame.nose_wheel_arm)
    # Common practice, no source: 8 to 15 % of the weight on the nose wheel.
    assert 0.08 <= nose_load <= 0.15


# The elevator trims the landing stall at the forward limit of the centre of gravity.
def test_elevator_reaches_the_landing_stall(pack, make):
    landing, frame = pack.aero.configurations["landing"], pack.airframe
    lift = landing.lift.values[:, 0]
    stall = float(landing.lift.axes[0][lift.argmax()])
    forward = min(p.centre_of_gravity for p in pack.mass.envelope)
    reference = (frame.moment_reference_arm - frame.mean_chord_leading_edge_arm) / frame.mean_chord
    moment = (
        landing.pitching_moment_zero
        + pack.aero.gear.pitching_moment
        + landing.pitching_moment_slope * stall
        + lift.max() * (forward - reference)
    )
    needed = -moment / pack.aero.pitch_control.moment_per_angle

    assert np.degrees(needed) <= np.degrees(pack.aero.pitch_control.full_aft_angle)


@pytest.fixture(scope="module")
def check(tool):
    return tool("check_whinchat")


# Common practice, no source: the class needs 1,400 to 2,600 ft and lifts off at 1.1 to 1.2 stalling speeds.
def test_takeoffs_lie_inside_the_class(check):
    for weight in (7400, 7900):
        found = check.takeoff(weight)

        assert 1400 <= found["run_ft"] <= 2600
        assert 1.1 <= found["over_stall"] <= 1.2
        assert found["nosewheel"] < float(check.PACK.technique.takeoff.rotation_speed(weight * POUND)) / KNOT


# Common practice, no source: a stop that any takeoff may need leaves the brakes in the normal zone; with
# ten knots of tailwind at the greatest mass it does not, and still is not dangerous.
def test_brake_energy_zones_fit_the_brakes(check):
    normal, caution, danger = (zone.above for zone in check.PACK.wheels.energy_zones)
    rotation = {weight: check.at(weight).rotation() / KNOT for weight in (7340, 7900)}
    _, roll = check.land(check.at(7500), chute=False)

    assert normal == 0.0
    assert roll.energy < caution
    assert check.rejected(7340, rotation[7340]).energy < 0.9 * caution
    assert check.rejected(7900, rotation[7900]).energy < caution
    assert caution < check.rejected(7900, rotation[7900] + 10).energy < danger


# 14 CFR 23.735, KE = 0.0443 W V^2 / N in ft.lbf, lb and kt (from memory), N 2.
def test_danger_begins_above_the_whole_energy_at_lift_off(check):
    danger = check.PACK.wheels.energy_zones[2].above / 1.3558179483 / 2

    assert danger > 0.0443 * 7900 * check.takeoff(7900)["lift_off"] ** 2 / 2
