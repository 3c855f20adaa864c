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
    Density,
    Energy,
    Force,
    Fraction,
    Length,
    Mass,
    MassFlow,
    Moment,
    Number,
    PerAngle,
    PositiveLength,
    PositiveMass,
    Pressure,
    Speed,
    TemperatureDifference,
    Time,
)
from sortiewright.pack.schema_base import Model
from sortiewright.pack.schema_flight import ClimbTechnique, CruiseTechnique, DescentTechnique, FuelTechnique
from sortiewright.pack.table_text import (
    AeroTable,
    CrosswindTable,
    ExhaustTemperatureTable,
    FrictionTable,
    FuelFlowReadingTable,
    FuelFlowTable,
    GroundEffectTable,
    LeastLiftTable,
    LoadFactorTable,
    MachTable,
    ReadingTable,
    SpeedByMassTable,
    TemperatureFactorTable,
    ThrustTable,
)

Severity = Literal["no-go", "caution"]


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


class Seat(Model):
    """A crew seat and its occupant's default mass with kit."""

    title: str
    arm: Length
    standard_mass: Mass


class Tank(Model):
    """A fuel tank that is part of the aircraft."""

    title: str = ""
    capacity: PositiveMass
    arm: Length
    arm_empty: Length | None = None
    """Arm of the last fuel in the tank, where it differs; the arm moves linearly between the two."""
    side_arm: Length = 0.0
    unusable: Mass = 0.0


class Station(Model):
    """A place that carries stores."""

    title: str = ""
    arm: Length
    side_arm: Length
    maximum_load: PositiveMass
    carries: tuple[str, ...]
    fixed_mass: Mass = 0.0
    """Pylon or rack always mounted and not in the basic mass."""


class Store(Model):
    """Something hung on a station. A tank has ``fuel_capacity``."""

    title: str
    mass: Mass
    drag_index: Annotated[float, Field(ge=0)]
    remains_mass: Mass = 0.0
    """Rack or pylon left after release or jettison, part of ``mass``."""
    remains_drag_index: Annotated[float, Field(ge=0)] = 0.0
    fuel_capacity: Mass = 0.0
    fuel_unusable: Mass = 0.0
    fuel_arm_offset: Length = 0.0
    kind: Literal["tank", "practice", "weapon", "pod", "rack", "missile"] = "weapon"
    maximum_cas: Speed | None = None
    maximum_mach: Number | None = None
    maximum_load_factor: Number | None = None
    maximum_load_factor_rolling: Number | None = None
    minimum_load_factor: Number | None = None
    jettisonable: bool = True


class EnvelopePoint(Model):
    """A corner of the centre of gravity envelope: share of mean chord (``22.5 %MAC``) against mass."""

    mass: Mass
    centre_of_gravity: Annotated[Number, Field(ge=-1, le=2)]


class MassAndBalance(Model):
    """Masses, arms and the envelope."""

    basic_mass: PositiveMass
    basic_arm: Length
    gear_retraction_arm_change: Length = 0.0
    """Shift of the whole aircraft's balance on retraction, as mass moment over basic mass."""
    seats: dict[str, Seat]
    tanks: dict[str, Tank]
    fuel_density: Density
    feed_order: tuple[tuple[str, ...], ...]
    """Groups in the order they empty; a group's members empty together. ``external`` names all store
    tanks."""
    stations: dict[str, Station]
    envelope: tuple[EnvelopePoint, ...]
    envelope_gear_up: tuple[EnvelopePoint, ...] | None = None
    maximum_ramp_mass: PositiveMass
    maximum_takeoff_mass: PositiveMass
    maximum_landing_mass: PositiveMass
    taxi_fuel_flow: MassFlow | None = None
    """All engines together, idle and taxi."""


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


class Limit(Model):
    """A limit with no condition on it."""

    value: Number
    severity: Severity = "no-go"
    note: str = ""


class SpeedLimit(Model):
    """A speed that must not be passed; calibrated airspeed unless the limit's name says ground speed."""

    value: Speed
    severity: Severity = "no-go"
    note: str = ""


class CrosswindLimit(Model):
    """Greatest crosswind against RCR."""

    value: CrosswindTable
    severity: Severity = "no-go"
    note: str = ""


class MomentLimit(Model):
    """Greatest difference of side moments (mass times side arm, times standard gravity)."""

    value: Moment
    severity: Severity = "no-go"
    note: str = ""


class Limits(Model):
    """Limits the program checks by name. A limit left out is 'not evaluated'."""

    gear_speed: SpeedLimit | None = None
    flap_speed: dict[str, SpeedLimit] = Field(default_factory=dict[str, SpeedLimit])
    canopy_open_ground_speed: SpeedLimit | None = None
    nosewheel_steering_ground_speed: SpeedLimit | None = None
    maximum_cas: SpeedLimit | None = None
    maximum_mach: Limit | None = None
    crosswind_takeoff: CrosswindLimit | None = None
    crosswind_landing: CrosswindLimit | None = None
    crosswind_chute: SpeedLimit | None = None
    tailwind: SpeedLimit | None = None
    asymmetric_moment_takeoff: MomentLimit | None = None
    asymmetric_moment_landing: MomentLimit | None = None
    load_factor_positive: LoadFactorTable | None = None
    load_factor_rolling: LoadFactorTable | None = None
    load_factor_negative: Limit | None = None
    single_engine_climb_gradient: Limit | None = None
    sink_rate_touchdown: SpeedLimit | None = None
    angle_of_attack: dict[str, Angle] = Field(default_factory=dict[str, Angle])
    minimum_control_ground_speed: SpeedLimit | None = None


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
