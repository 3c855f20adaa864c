"""What a pack may say of an aircraft type. Every value is SI once loaded; files write units.

Coordinates: ``arm`` is metres aft of the pack's datum; ``side_arm`` metres right of the centre line; heights
are metres above the ground with the aircraft on three wheels, struts static. Angles of attack and pitch are
measured from one body reference line. Moments are nose-up positive about ``moment_reference_arm`` and
``moment_reference_height``.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from sortiewright.pack.quantities import (
    Angle,
    AngularRate,
    Area,
    Energy,
    Force,
    Fraction,
    Length,
    Number,
    PerAngle,
    PositiveLength,
    Pressure,
    Speed,
    TemperatureDifference,
    Time,
)
from sortiewright.pack.schema_base import Model
from sortiewright.pack.schema_flight import ClimbTechnique, CruiseTechnique, DescentTechnique, FuelTechnique
from sortiewright.pack.schema_limits import Limits, Severity
from sortiewright.pack.schema_loading import MassAndBalance, Store
from sortiewright.pack.table_text import (
    AeroTable,
    ExhaustTemperatureTable,
    FrictionTable,
    FuelFlowReadingTable,
    FuelFlowTable,
    GroundEffectTable,
    LeastLiftTable,
    MachTable,
    ReadingTable,
    SpeedByMassTable,
    TemperatureFactorTable,
    ThrustTable,
)


class Airframe(Model):
    """Reference geometry and where the wheels and the thrust are."""

    wing_area: Annotated[Area, Field(gt=0)]
    span: PositiveLength
    mean_chord: PositiveLength
    mean_chord_leading_edge_arm: Length
    wing_height: PositiveLength
    moment_reference_arm: Length
    moment_reference_height: Length
    main_wheel_arm: Length
    nose_wheel_arm: Length
    centre_of_gravity_height: PositiveLength
    thrust_line_height: PositiveLength
    thrust_inclination: Angle = 0.0
    engine_side_arm: Length = 0.0
    pitch_radius_of_gyration: PositiveLength | None = None
    """Of the aircraft about its centre of gravity, nose up and down. Where it is absent the nose rises at
    its rate at once."""
    static_ground_attitude: Angle
    tail_strike_attitude: Angle
    tail_strike_attitude_struts_compressed: Angle | None = None


class Configuration(Model):
    """Aerodynamics of one flap and droop setting, gear up, no stores, out of ground effect."""

    title: str = ""
    lift: AeroTable
    drag: AeroTable
    maximum_lift: MachTable
    minimum_lift: LeastLiftTable | None = None
    pitching_moment_zero: Number = 0.0
    pitching_moment_slope: PerAngle = 0.0


class Increment(Model):
    """What a device adds to the coefficients of whatever configuration it is used with."""

    lift: Number = 0.0
    drag: Number = 0.0
    pitching_moment: Number = 0.0
    travel_time: Time = 0.0


class PitchControl(Model):
    """The pitch control in the ground roll, and what a trim unit means.

    ``moment_per_angle`` is the pitching moment of one radian of surface, nose up for positive (trailing edge
    up). ``trim_zero_angle + trim_units * trim_unit_angle`` is the surface with the stick neutral. Where
    ``trim_moves_full_travel`` is false, full aft stick reaches ``full_aft_angle`` whatever the trim.
    """

    moment_per_angle: PerAngle
    full_aft_angle: Angle
    full_forward_angle: Angle
    trim_unit_angle: Angle
    trim_zero_angle: Angle = 0.0
    trim_units_range: tuple[Number, Number]
    trim_moves_full_travel: bool = False
    lift_per_moment: Number = 0.0
    """Lift coefficient for each nose-up moment coefficient about the centre of gravity; a tail loses lift."""


class DirectionalControl(Model):
    """Rudder and roll control at full deflection, for one dead engine and uneven loads."""

    rudder_yawing_moment: Number
    roll_control_rolling_moment: Number
    asymmetric_drag_factor: Number = 0.0
    """Drag coefficient per square of the yawing moment coefficient that is trimmed out."""
    sideslip_drag: Number = 0.0
    """Drag coefficient per yawing moment coefficient beyond full rudder, which sideslip holds in the air."""


class Aero(Model):
    """Lift, drag and moments."""

    configurations: dict[str, Configuration]
    gear: Increment
    speedbrake: Increment = Increment()
    drag_per_index: Number = 0.0
    ground_effect: GroundEffectTable | None = None
    """Factor on drag due to lift against wing height over span; Anderson's formula where absent."""
    ground_effect_lift: GroundEffectTable | None = None
    """Factor on lift against wing height over span; none where absent."""
    pitch_control: PitchControl
    directional_control: DirectionalControl | None = None


class PowerSetting(Model):
    """One lever position: net thrust and fuel flow of ONE installed engine.

    The two factors multiply the table's value by the outside temperature's departure from standard.
    """

    title: str = ""
    augmented: bool = False
    thrust: ThrustTable
    fuel_flow: FuelFlowTable
    thrust_temperature_factor: TemperatureFactorTable | None = None
    fuel_flow_temperature_factor: TemperatureFactorTable | None = None


class RunUpReadings(Model):
    """What the crew should read at one power setting on the ground, against outside air temperature."""

    setting: str
    rpm: ReadingTable | None = None
    exhaust_temperature: ExhaustTemperatureTable | None = None
    fuel_flow: FuelFlowReadingTable | None = None
    nozzle: ReadingTable | None = None
    oil_pressure: tuple[Pressure, Pressure] | None = None
    rpm_tolerance: Number = 0.01
    exhaust_temperature_tolerance: TemperatureDifference = 10.0
    fuel_flow_tolerance: Fraction = 0.05
    brakes_hold: bool = True


class EngineTransients(Model):
    """Times between power settings."""

    idle_to_military: Time
    light_delay: Time = 0.0
    light_to_full: Time = 0.0
    cancel_augmentation: Time = 0.5
    military_to_idle: Time
    failure_decay: Time = 1.0


class Engine(Model):
    """The engines: all alike."""

    count: Annotated[int, Field(ge=1, le=4)]
    settings: dict[str, PowerSetting]
    idle: str = "idle"
    military: str = "military"
    maximum: str | None = None
    transients: EngineTransients
    windmilling_drag_area: Area = 0.0
    run_up: tuple[RunUpReadings, ...] = ()


class EnergyZone(Model):
    """A brake energy zone begins here (sum over all braked wheels)."""

    title: str
    above: Energy
    severity: Severity | None = None
    cooling_time: Time = 0.0
    advice: str = ""


class DragChute(Model):
    """The drag chute."""

    drag_area: Area
    inflation_time: Time
    maximum_cas: Speed
    least_useful_cas: Speed = 0.0
    maximum_crosswind: Speed | None = None


class HookLimit(Model):
    """Highest ground speed at which the hook may take a cable, by mass."""

    maximum_ground_speed: SpeedByMassTable
    maximum_off_centre: Length | None = None


class Wheels(Model):
    """Friction, brakes, tyres, chute and hook."""

    rolling_friction: Annotated[Number, Field(ge=0, le=0.3)]
    braking_friction: FrictionTable
    """Braking force over normal force on the braked wheels, anti-skid included, against RCR."""
    hydroplaning_friction: Annotated[Number, Field(ge=0)] = 0.05
    nose_load_share: Fraction = 0.0
    """Share of the normal force on the nose wheel (not braked) with all wheels down."""
    maximum_brake_force: Force | None = None
    main_tyre_pressure: Pressure
    nose_tyre_pressure: Pressure | None = None
    tyre_speed_limit: Speed
    braked_wheels: Annotated[int, Field(ge=1)] = 2
    anti_skid: bool = False
    energy_zones: tuple[EnergyZone, ...] = ()
    chute: DragChute | None = None
    hook: HookLimit | None = None


class RejectedTakeoff(Model):
    """The timeline from the event to full braking, seconds after the event."""

    recognition: Time = 1.0
    brakes_on: Time = 3.0
    chute_commanded: Time | None = None


class TakeoffTechnique(Model):
    """How the book says this aircraft is taken off."""

    configuration: str
    power: str
    release_power: str | None = None
    """Setting held on the brakes before release; the rest is selected at release. None: rolling from idle."""
    rotation_speed_over_stall: Number | None = None
    rotation_speed: SpeedByMassTable | None = None
    """Calibrated airspeed where the pilot begins to raise the nose, against mass."""
    pitch_rate: AngularRate
    takeoff_attitude: Angle
    lift_off_speed_over_stall: Number = 1.1
    stick_aft_speed: Speed | None = None
    stick_travel_time: Time = 0.0
    """From neutral to full aft at rotation; counts where the radius of gyration is known."""
    screen_height: Length = 15.24
    continue_to: Literal["lift_off", "screen"] = "lift_off"
    gear_up_delay: Time = 2.0
    gear_up_least_cas: Speed | None = None
    flap_up_cas: Speed | None = None
    power_reduction_cas: Speed | None = None
    climb_cas: Speed | None = None
    single_engine_climb_cas_over_stall: Number = 1.2
    engine_out_reaction: Time = 1.0
    engine_out_power: str | None = None
    """Setting selected on the live engine after the reaction time; the takeoff setting where absent."""
    rejected: RejectedTakeoff = RejectedTakeoff()
    line_speed_marker: Length = 304.8
    """Distance from brake release of the acceleration check, moved to the nearest runway marker."""
    line_speed_least_tolerance: Speed = 1.5
    """What the crew can read: a smaller margin is called out, not hidden."""
    line_speed_most_tolerance: Speed = 5.0
    decision_speed_choice: Literal["highest", "lowest"] = "highest"
    """Which end of the allowed range is briefed: keep the stop as long as it fits, or go as soon as one
    engine can."""
    decision_speed_margin: Speed = 0.0
    """Kept inside that end of the range."""


class LandingTechnique(Model):
    """How the book says this aircraft is landed."""

    configuration: str
    on_speed_angle_of_attack: Angle
    no_flap_configuration: str | None = None
    glide_angle: Angle
    flare_load_factor: Number | None = None
    """None: flown onto the runway without a flare."""
    threshold_height: Length = 15.24
    touchdown_speed_share: Number = 1.0
    gust_share: Fraction = 0.5
    free_roll_time: Time = 2.0
    aerobrake_angle_of_attack: Angle | None = None
    aerobrake_until_cas: Speed | None = None
    chute_delay: Time = 2.0
    speedbrake: bool = False
    distance_factor: Number = 1.0


class Technique(Model):
    """How the book flies the aircraft; a sortie may choose otherwise.

    What is left out from ``climb`` on is asked for only where a sortie has a route.
    """

    takeoff: TakeoffTechnique
    landing: LandingTechnique
    climb: ClimbTechnique | None = None
    cruise: CruiseTechnique = CruiseTechnique()
    descent: DescentTechnique | None = None
    fuel: FuelTechnique | None = None


class BookPoint(Model):
    """A published or measured value to hold the computed one against."""

    quantity: str
    value: str
    tolerance: str
    conditions: dict[str, str] = Field(default_factory=dict[str, str])
    note: str = ""


class Pack(Model):
    """Everything that is true of an aircraft type."""

    name: Annotated[str, Field(pattern=r"^[a-z][a-z0-9_-]*$")]
    title: str
    version: str
    summary: str = ""
    rights: str = ""
    airframe: Airframe
    aero: Aero
    engine: Engine
    mass: MassAndBalance
    stores: dict[str, Store] = Field(default_factory=dict[str, Store])
    wheels: Wheels
    limits: Limits = Limits()
    technique: Technique
    book: tuple[BookPoint, ...] = ()
