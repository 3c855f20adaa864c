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
from sortiewright.performance.book import BookResult, check_book
from sortiewright.performance.cases import Cases, joined, make_cases
from sortiewright.performance.control import minimum_control_ground_speed, roll_control_speed
from sortiewright.performance.energy import (
    energy_zone,
    heat_left,
    kinetic_energy_per_wheel,
    maximum_braking_speed,
)
from sortiewright.performance.field_length import (
    Curves,
    FieldLengths,
    field_lengths,
    reject,
    speed_at_distance,
    stop_and_go,
    stop_go_curves,
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
from sortiewright.performance.interpolation import on_line
from sortiewright.performance.landing import AirDistance, Landing, air_distance, approach_speed, land
from sortiewright.performance.nosewheel import nosewheel_lift_off_speed
from sortiewright.performance.stopping import Stop, StopMeans, stop_from
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

__all__ = [
    "AirDistance",
    "Balance",
    "BookResult",
    "BurnStep",
    "Cases",
    "ClimbGradient",
    "Curves",
    "EnvelopeCheck",
    "FieldLengths",
    "Landing",
    "LevelTurn",
    "LoadState",
    "MassItem",
    "RunState",
    "Stop",
    "StopMeans",
    "Takeoff",
    "TakeoffSetup",
    "accelerate_to",
    "air_distance",
    "approach_speed",
    "arm_after_shift",
    "balance_of",
    "burn_path",
    "burn_step",
    "centre_of_gravity",
    "check_book",
    "check_envelope",
    "climb_gradient",
    "coefficients",
    "continue_from",
    "energy_zone",
    "field_lengths",
    "fly_takeoff",
    "fuel_after",
    "fuel_flow_per_engine",
    "ground_effect",
    "heat_left",
    "in_pieces",
    "joined",
    "kinetic_energy_per_wheel",
    "land",
    "level_turn",
    "load_items",
    "make_cases",
    "mass_to_shift",
    "maximum_braking_speed",
    "minimum_control_ground_speed",
    "nosewheel_lift_off_speed",
    "on_line",
    "reject",
    "release",
    "release_path",
    "roll_control_speed",
    "share_of_mean_chord",
    "speed_at_distance",
    "stall_speed",
    "stop_and_go",
    "stop_from",
    "stop_go_curves",
    "takeoff_and_curves",
    "takeoff_setup",
    "takeoff_trim",
    "thrust_per_engine",
    "usable_fuel",
]
