"""What a pack needs and a flight model does not say: each marked as a placeholder where it is written."""

from __future__ import annotations

import itertools
import math
import re

import numpy as np
from numpy.typing import NDArray

from sortiewright.pack_sampling.english_units import INCH
from sortiewright.pack_sampling.pack_text import Sourced, sourced
from sortiewright.pack_sampling.sampling import SampledAircraft, SampledConfiguration

PLACEHOLDER = "placeholder"

LIFT_OFF_OVER_STALL, APPROACH_OVER_STALL = 1.15, 1.3
LOW_MACH = 0.2
BELOW_STRIKE = 1.0  # deg
LEAST_ROTATION = 3.0  # deg above the ground attitude


def key_of(model: str) -> str:
    """Return a model's name as packs are named."""
    key = re.sub(r"[^a-z0-9_-]+", "_", model.casefold()).strip("_-")
    return key if key[:1].isalpha() else f"model_{key}"


def technique(aircraft: SampledAircraft) -> dict[str, object]:
    """Return a takeoff and landing technique that is possible, not anybody's."""
    names = aircraft.configurations
    takeoff = "takeoff" if "takeoff" in names else "clean"
    landing = "landing" if "landing" in names else "clean"
    augmented = "maximum" in aircraft.power
    angle = landing_angle(aircraft)
    return {
        "takeoff": {
            "configuration": takeoff,
            "power": "maximum" if augmented else "military",
            "release_power": Sourced(
                "military" if augmented else "idle", f"{PLACEHOLDER}: technique is not the model's"
            ),
            "rotation_speed_over_stall": Sourced("1.0", PLACEHOLDER),
            "pitch_rate": Sourced("3 deg/s", PLACEHOLDER),
            "stick_travel_time": Sourced("1 s", PLACEHOLDER),
            "takeoff_attitude": sourced(
                takeoff_attitude(aircraft),
                "deg",
                1,
                f"{PLACEHOLDER}: carries it at {LIFT_OFF_OVER_STALL:g} times the stall, below tail strike",
            ),
            "lift_off_speed_over_stall": Sourced(f"{LIFT_OFF_OVER_STALL:g}", PLACEHOLDER),
        },
        "landing": {
            "configuration": landing,
            "on_speed_angle_of_attack": sourced(
                angle, "deg", 1, f"{PLACEHOLDER}: {APPROACH_OVER_STALL:g} times stalling speed"
            ),
            **({"no_flap_configuration": "clean"} if lands_without_flap(aircraft) else {}),
            "glide_angle": Sourced("3 deg", PLACEHOLDER),
        },
    }


def takeoff_attitude(aircraft: SampledAircraft) -> float:
    """Return an attitude, deg, that gives lift-off at a usual margin over the stall, below tail strike."""
    one = aircraft.configurations.get("takeoff", aircraft.configurations["clean"])
    wanted = angle_for(one, LIFT_OFF_OVER_STALL, aircraft.gear.lift)
    strike = aircraft.stance.tail_strike_deg
    ground = aircraft.stance.pitch_deg
    if strike is not None:
        wanted = min(wanted, strike - BELOW_STRIKE)
    highest = float(one.forces.alpha_deg[-1])
    return min(max(wanted, ground + LEAST_ROTATION), highest)


def landing_angle(aircraft: SampledAircraft) -> float:
    """Return an on-speed angle of attack, deg, at a usual margin over the stall."""
    one = aircraft.configurations.get("landing", aircraft.configurations["clean"])
    return angle_for(one, APPROACH_OVER_STALL, aircraft.gear.lift)


def lands_without_flap(aircraft: SampledAircraft) -> bool:
    """Tell whether the angle of attack on speed is one for the clean wing too, and not far faster."""
    return "landing" in aircraft.configurations and no_flap_over_stall(aircraft) <= MOST_OVER_STALL


def no_flap_over_stall(aircraft: SampledAircraft) -> float:
    """Return the speed of the clean wing at the angle of attack on speed, over its own stall; inf without
    lift."""
    forces = aircraft.configurations["clean"].forces
    column = int(np.argmin(np.abs(forces.mach - LOW_MACH)))
    lift: NDArray[np.float64] = forces.lift[:, column] + aircraft.gear.lift
    there = float(np.interp(landing_angle(aircraft), forces.alpha_deg, lift))
    return math.sqrt(float(lift.max()) / there) if there > 0.0 else math.inf


MOST_OVER_STALL = 1.7


def angle_for(one: SampledConfiguration, over_stall: float, gear_lift: float) -> float:
    """Return the angle of attack, deg, whose lift carries the weight at a multiple of the stalling speed."""
    forces = one.forces
    column = int(np.argmin(np.abs(forces.mach - LOW_MACH)))
    lift: NDArray[np.float64] = forces.lift[:, column] + gear_lift
    top = int(np.argmax(lift))
    rising: NDArray[np.float64] = np.maximum.accumulate(lift[: top + 1])
    return float(np.interp(float(lift[top]) / over_stall**2, rising, forces.alpha_deg[: top + 1]))


def wheels(aircraft: SampledAircraft, source: str) -> dict[str, object]:
    """Return wheels: rolling friction is the model's, the rest placeholders."""
    stance = aircraft.stance
    brakes = f"{PLACEHOLDER}: the model's wheels hold {stance.static_friction:g} at full brake on any runway"
    return {
        "rolling_friction": sourced(min(stance.rolling_friction, 0.3), "", 4, source),
        "braking_friction": {
            "source": brakes,
            "runway_condition_reading": ["0", "5", "12", "23", "26"],
            "values": ["0.05", "0.08", "0.20", f"{DRY:.2f}", f"{DRY:.2f}"],
        },
        "nose_load_share": sourced(
            nose_share_braking(aircraft), "", 3, f"{source}: on its wheels, braking at {DRY:g}"
        ),
        "main_tyre_pressure": Sourced("150 psi", PLACEHOLDER),
        "tyre_speed_limit": Sourced(NO_TYRE_LIMIT, f"{PLACEHOLDER}: so high that it never stops anybody"),
        "braked_wheels": str(max(stance.main_wheels, 1)),
    }


NO_TYRE_LIMIT = "400 kt"
DRY = 0.40  # braking friction of the placeholder on a dry runway


def nose_share_braking(aircraft: SampledAircraft, friction: float = DRY) -> float:
    """Return the share of the load on the nose wheel while the main wheels brake with this friction.

    Moments about the main wheels, with the inertia force at the centre of gravity: braking loads the nose.
    """
    stance = aircraft.stance
    lever = stance.balance_height / (stance.main.aft - stance.nose.aft)
    return (stance.nose_load_share + friction * lever) / (1.0 + friction * lever)


def envelope(aircraft: SampledAircraft, whole: float) -> list[dict[str, str]]:
    """Return corners that hold every state of fuel, ``whole`` lb being the greatest mass."""
    low, high = balance_range(aircraft)
    lightest = 0.95 * aircraft.load.empty_weight
    top = float(np.ceil(whole))
    corners = [(lightest, low), (top, low), (top, high), (lightest, high)]
    return [
        {"mass": f"{mass:.0f} lb", "centre_of_gravity": f"{100 * share:.1f} %MAC"} for mass, share in corners
    ]


def balance_range(aircraft: SampledAircraft) -> tuple[float, float]:
    """Return the most forward and most aft centre of gravity, shares of mean chord, with a margin, ahead of
    the main wheels."""
    load, stance = aircraft.load, aircraft.stance
    base = load.empty_weight + sum(seat.weight for seat in load.seats)
    moment = load.empty_weight * load.empty_x + sum(seat.weight * seat.x for seat in load.seats)
    places: list[float] = [load.empty_x, moment / base]
    for parts in itertools.product((0.0, 1.0), repeat=min(len(load.tanks), MOST_TANKS)):
        fuel = [(part * tank.capacity, tank.x) for part, tank in zip(parts, load.tanks, strict=False)]
        weight = base + sum(mass for mass, _ in fuel)
        places.append((moment + sum(mass * x for mass, x in fuel)) / weight)
    leading = aircraft.reference_x * INCH - 0.25 * aircraft.mean_chord
    shares = [(place * INCH - leading) / aircraft.mean_chord for place in places]
    main = (stance.balance_x * INCH + stance.main.aft - leading) / aircraft.mean_chord
    low, high = min(shares) - BALANCE_MARGIN, min(max(shares) + BALANCE_MARGIN, main - 0.01)
    return max(min(low, high - BALANCE_MARGIN), -1.0), min(high, 2.0)


MOST_TANKS = 8
BALANCE_MARGIN = 0.02
