"""The physics: forces, balance, takeoff, abort, landing."""

from sortiewright.performance.balance import (
    Balance,
    BurnStep,
    EnvelopeCheck,
    LoadState,
    MassItem,
    arm_after_shift,
    balance_of,
    burn_path,
    burn_step,
    centre_of_gravity,
    check_envelope,
    fuel_after,
    load_items,
    mass_to_shift,
    release_path,
    share_of_mean_chord,
    usable_fuel,
)
from sortiewright.performance.batches import in_pieces
from sortiewright.performance.best_climb import EnergyClimb, Objective, energy_climb
from sortiewright.performance.best_flight import BestLevel, FlightSummary, flight_summary
from sortiewright.performance.book import BookResult, check_book
from sortiewright.performance.cases import Cases, joined, make_cases
from sortiewright.performance.ceiling import COMBAT_RATE, SERVICE_RATE, Ceiling, climb_ceiling
from sortiewright.performance.climb_fit import FlyableClimb, flyable_schedule
from sortiewright.performance.climb_path import FlownPath
from sortiewright.performance.climb_schedule import (
    Bend,
    Segment,
    Slant,
    SpeedChange,
    SteadySpeed,
    crossover_altitude,
    fly_schedule,
    schedule_cas,
    two_speed_climb,
)
from sortiewright.performance.control import minimum_control_ground_speed, roll_control_speed
from sortiewright.performance.cruise import CruiseLeg, CruisePoint, best_cruise, cruise_distance, cruise_fuel
from sortiewright.performance.descent import DescentSchedule, fly_descent
from sortiewright.performance.energy import (
    energy_zone,
    heat_left,
    kinetic_energy_per_wheel,
    maximum_braking_speed,
)
from sortiewright.performance.excess_power import ExcessPowerGrid, GridMark, excess_power_grid
from sortiewright.performance.field_length import (
    Curves,
    FieldLengths,
    field_lengths,
    reject,
    speed_at_distance,
    stop_and_go,
    stop_go_curves,
    stop_means,
    takeoff_and_curves,
)
from sortiewright.performance.forces import (
    coefficients,
    fuel_flow_per_engine,
    ground_effect,
    stall_speed,
    thrust_per_engine,
)
from sortiewright.performance.gradient import ClimbGradient, climb_gradient
from sortiewright.performance.ground_run import RunState
from sortiewright.performance.height_change import climb_stretches, descent_stretches, schedule_mach
from sortiewright.performance.interpolation import on_line
from sortiewright.performance.landing import (
    AirDistance,
    Landing,
    air_distance,
    approach_speed,
    land,
    landing_means,
)
from sortiewright.performance.layered_flight import (
    LayeredFlight,
    LayeredPath,
    Stretch,
    fly_layered,
    layered_path,
)
from sortiewright.performance.level_flight import (
    FlightCases,
    FlightPoint,
    FlightSetup,
    LevelFlight,
    energy_height,
    flight_point,
    flight_setup,
    height_of,
    make_flight_cases,
    steady_level_flight,
)
from sortiewright.performance.limited_turns import (
    LimitedTurn,
    SustainedTurn,
    instantaneous_turn,
    sustained_turn,
)
from sortiewright.performance.load_factor_diagram import (
    CornerSpeed,
    LoadFactorEnvelope,
    corner_speed,
    load_factor_envelope,
)
from sortiewright.performance.manoeuvres import ManoeuvreNumbers, manoeuvre_numbers
from sortiewright.performance.nosewheel import nosewheel_lift_off_speed
from sortiewright.performance.optimal_climb import NoOptimum, OptimalClimb, optimised_climb
from sortiewright.performance.return_cases import (
    AirAbove,
    CruiseSpeed,
    HomePower,
    HomeProfiles,
    HomeStarts,
    WayHome,
)
from sortiewright.performance.return_climb import quickest_climb
from sortiewright.performance.return_fuel import way_home
from sortiewright.performance.return_radius import OutAndBack, out_and_back
from sortiewright.performance.speed_range import level_speed_range
from sortiewright.performance.stopping import Stop, StopMeans, stop_from
from sortiewright.performance.stopping_path import StopPath, stop_path
from sortiewright.performance.takeoff import (
    Takeoff,
    TakeoffSetup,
    accelerate_to,
    continue_from,
    fly_takeoff,
    release,
    takeoff_setup,
)
from sortiewright.performance.trim import takeoff_trim
from sortiewright.performance.turn import LevelTurn, level_turn
from sortiewright.performance.turn_costs import TurnCost, turn_cost
from sortiewright.performance.turn_limits import ManoeuvreLimits, manoeuvre_limits

__all__ = [
    "COMBAT_RATE",
    "SERVICE_RATE",
    "AirAbove",
    "AirDistance",
    "Balance",
    "Bend",
    "BestLevel",
    "BookResult",
    "BurnStep",
    "Cases",
    "Ceiling",
    "ClimbGradient",
    "CornerSpeed",
    "CruiseLeg",
    "CruisePoint",
    "CruiseSpeed",
    "Curves",
    "DescentSchedule",
    "EnergyClimb",
    "EnvelopeCheck",
    "ExcessPowerGrid",
    "FieldLengths",
    "FlightCases",
    "FlightPoint",
    "FlightSetup",
    "FlightSummary",
    "FlownPath",
    "FlyableClimb",
    "GridMark",
    "HomePower",
    "HomeProfiles",
    "HomeStarts",
    "Landing",
    "LayeredFlight",
    "LayeredPath",
    "LevelFlight",
    "LevelTurn",
    "LimitedTurn",
    "LoadFactorEnvelope",
    "LoadState",
    "ManoeuvreLimits",
    "ManoeuvreNumbers",
    "MassItem",
    "NoOptimum",
    "Objective",
    "OptimalClimb",
    "OutAndBack",
    "RunState",
    "Segment",
    "Slant",
    "SpeedChange",
    "SteadySpeed",
    "Stop",
    "StopMeans",
    "StopPath",
    "Stretch",
    "SustainedTurn",
    "Takeoff",
    "TakeoffSetup",
    "TurnCost",
    "WayHome",
    "accelerate_to",
    "air_distance",
    "approach_speed",
    "arm_after_shift",
    "balance_of",
    "best_cruise",
    "burn_path",
    "burn_step",
    "centre_of_gravity",
    "check_book",
    "check_envelope",
    "climb_ceiling",
    "climb_gradient",
    "climb_stretches",
    "coefficients",
    "continue_from",
    "corner_speed",
    "crossover_altitude",
    "cruise_distance",
    "cruise_fuel",
    "descent_stretches",
    "energy_climb",
    "energy_height",
    "energy_zone",
    "excess_power_grid",
    "field_lengths",
    "flight_point",
    "flight_setup",
    "flight_summary",
    "fly_descent",
    "fly_layered",
    "fly_schedule",
    "fly_takeoff",
    "flyable_schedule",
    "fuel_after",
    "fuel_flow_per_engine",
    "ground_effect",
    "heat_left",
    "height_of",
    "in_pieces",
    "instantaneous_turn",
    "joined",
    "kinetic_energy_per_wheel",
    "land",
    "landing_means",
    "layered_path",
    "level_speed_range",
    "level_turn",
    "load_factor_envelope",
    "load_items",
    "make_cases",
    "make_flight_cases",
    "manoeuvre_limits",
    "manoeuvre_numbers",
    "mass_to_shift",
    "maximum_braking_speed",
    "minimum_control_ground_speed",
    "nosewheel_lift_off_speed",
    "on_line",
    "optimised_climb",
    "out_and_back",
    "quickest_climb",
    "reject",
    "release",
    "release_path",
    "roll_control_speed",
    "schedule_cas",
    "schedule_mach",
    "share_of_mean_chord",
    "speed_at_distance",
    "stall_speed",
    "steady_level_flight",
    "stop_and_go",
    "stop_from",
    "stop_go_curves",
    "stop_means",
    "stop_path",
    "sustained_turn",
    "takeoff_and_curves",
    "takeoff_setup",
    "takeoff_trim",
    "thrust_per_engine",
    "turn_cost",
    "two_speed_climb",
    "usable_fuel",
    "way_home",
]
