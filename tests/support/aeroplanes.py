"""Aeroplanes for tests: the shipped ones, and those of published worked examples as packs.

A worked example written as a pack runs through the very code that packs use.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from sortiewright.pack import (
    Aero,
    Airframe,
    Configuration,
    DirectionalControl,
    Engine,
    EngineTransients,
    EnvelopePoint,
    Increment,
    LandingTechnique,
    MassAndBalance,
    Pack,
    PitchControl,
    PowerSetting,
    RejectedTakeoff,
    Seat,
    Table,
    TakeoffTechnique,
    Tank,
    Technique,
    Wheels,
    load_pack,
    make_table,
)

MACHS = np.linspace(0.0, 0.6, 25)
INSTANT = EngineTransients(idle_to_military=0.0, military_to_idle=0.0, failure_decay=0.0)


@cache
def shipped(name: str) -> Pack:
    """Return a shipped pack, loaded once."""
    return load_pack(name).pack


def balance_arm(pack: Pack, share) -> float:
    """Return the arm, m, of a balance at a share of the mean chord."""
    return pack.airframe.mean_chord_leading_edge_arm + share * pack.airframe.mean_chord


def constant_power(thrust, *, mach=MACHS) -> PowerSetting:
    """One engine whose thrust depends on Mach only: a number, or a function of Mach."""
    values = np.array([thrust(m) if callable(thrust) else thrust for m in mach], dtype=float)
    grid = np.repeat(values[:, None], 2, axis=1)
    axes = {"mach": mach, "pressure_altitude": [-2000.0, 20000.0]}
    return PowerSetting(
        thrust=make_table("thrust", axes, grid), fuel_flow=make_table("fuel_flow", axes, np.ones_like(grid))
    )


def polar_table(name: str, function, alphas, machs=(0.0, 0.6)) -> Table:
    """A table over angle of attack (rad) and Mach of a function of angle of attack."""
    values = np.array([[function(a)] * len(machs) for a in alphas], dtype=float)
    return make_table(name, {"angle_of_attack": alphas, "mach": machs}, values)


def make_pack(
    *,
    wing_area,
    lift,
    drag,
    maximum_lift,
    thrust,
    engines=2,
    idle_thrust=0.0,
    alphas=None,
    span=30.0,
    wing_height=3.0,
    ground_attitude=0.0,
    ground_effect=None,
    braking_friction=0.3,
    rolling_friction=0.03,
    takeoff=None,
    landing=None,
    transients=None,
    windmilling=0.0,
    **wheels,
) -> Pack:
    """A pack with one configuration called 'only', whose pitch control raises the nose at any speed."""
    alphas = np.radians(np.linspace(-5.0, 20.0, 51)) if alphas is None else alphas
    configuration = Configuration(
        lift=polar_table("lift", lift, alphas),
        drag=polar_table("drag", drag, alphas),
        maximum_lift=make_table("maximum_lift", {"mach": [0.0, 0.6]}, [maximum_lift] * 2),
    )
    return Pack(
        name="example",
        title="Example",
        version="1",
        airframe=Airframe(
            wing_area=wing_area,
            span=span,
            mean_chord=4.0,
            mean_chord_leading_edge_arm=10.0,
            wing_height=wing_height,
            moment_reference_arm=11.0,
            moment_reference_height=2.0,
            main_wheel_arm=12.0,
            nose_wheel_arm=2.0,
            centre_of_gravity_height=2.0,
            thrust_line_height=2.0,
            static_ground_attitude=ground_attitude,
            tail_strike_attitude=np.radians(30.0),
        ),
        aero=Aero(
            configurations={"only": configuration},
            gear=Increment(),
            ground_effect=ground_effect,
            pitch_control=PitchControl(
                moment_per_angle=50.0,
                full_aft_angle=0.5,
                full_forward_angle=-0.5,
                trim_unit_angle=0.01,
                trim_units_range=(0.0, 10.0),
            ),
            directional_control=DirectionalControl(
                rudder_yawing_moment=0.05, roll_control_rolling_moment=0.05
            ),
        ),
        engine=Engine(
            count=engines,
            settings={"idle": constant_power(idle_thrust), "military": constant_power(thrust)},
            transients=transients or INSTANT,
            windmilling_drag_area=windmilling,
        ),
        mass=MassAndBalance(
            basic_mass=1000.0,
            basic_arm=11.0,
            seats={"front": Seat(title="Front", arm=5.0, standard_mass=0.0)},
            tanks={"main": Tank(capacity=1000.0, arm=11.0)},
            fuel_density=800.0,
            feed_order=(("main",),),
            stations={},
            envelope=(
                EnvelopePoint(mass=0.0, centre_of_gravity=0.1),
                EnvelopePoint(mass=1e6, centre_of_gravity=0.1),
                EnvelopePoint(mass=1e6, centre_of_gravity=0.4),
            ),
            maximum_ramp_mass=1e6,
            maximum_takeoff_mass=1e6,
            maximum_landing_mass=1e6,
        ),
        wheels=Wheels(
            rolling_friction=rolling_friction,
            braking_friction=make_table(
                "braking_friction", {"runway_condition_reading": [3.0, 26.0]}, [braking_friction] * 2
            ),
            main_tyre_pressure=1e6,
            tyre_speed_limit=1000.0,
            **wheels,
        ),
        technique=Technique(
            takeoff=takeoff
            or TakeoffTechnique(
                configuration="only",
                power="military",
                rotation_speed_over_stall=1.2,
                pitch_rate=np.radians(3.0),
                takeoff_attitude=np.radians(15.0),
                engine_out_reaction=0.0,
                rejected=RejectedTakeoff(recognition=0.0, brakes_on=0.0),
            ),
            landing=landing
            or LandingTechnique(
                configuration="only", on_speed_angle_of_attack=np.radians(8.0), glide_angle=np.radians(3.0)
            ),
        ),
    )
