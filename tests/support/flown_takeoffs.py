"""Takeoffs flown by a flight model of JSBSim, and the same ones computed from a pack, side by side."""

from dataclasses import dataclass, replace

import numpy as np

from sortiewright.air import Air
from sortiewright.pack import Pack
from sortiewright.pack_sampling import FlownTakeoff, TakeoffOrder, fly_takeoff_script
from sortiewright.performance import accelerate_to, fly_takeoff, make_cases, reject, release, takeoff_setup

KNOT = 1852 / 3600
FOOT = 0.3048
FULL_BRAKE, ROLLING = 0.8, 0.02  # static_friction and rolling_friction of the wheels of the models used here


@dataclass(frozen=True)
class Pair:
    """A value computed from the pack and the same one flown."""

    computed: float
    flown: float

    @property
    def error(self) -> float:
        """Share by which the computed value is too large."""
        return self.computed / self.flown - 1.0


def configuration_of(flap: float) -> str:
    return {0.0: "clean", 1.0: "landing"}.get(flap, "takeoff")


def braking_at(command: float) -> float:
    """Return the friction of the braked wheels; the library goes from rolling to static friction with the
    brake command (its class FGLGear, as its documentation of the landing gear says)."""
    return ROLLING + command * (FULL_BRAKE - ROLLING)


def as_flown(pack: Pack, order: TakeoffOrder, power: str) -> Pack:
    """Return the pack with brakes, burner delay and technique of the order."""
    frame, wheels, takeoff = pack.airframe, pack.wheels, pack.technique.takeoff
    friction = braking_at(order.brake_command)
    table = replace(wheels.braking_friction, values=np.full_like(wheels.braking_friction.values, friction))
    rejected = takeoff.rejected.model_copy(
        update={"recognition": order.recognition, "brakes_on": order.brakes_after, "chute_commanded": None}
    )
    technique = takeoff.model_copy(
        update={
            "configuration": configuration_of(order.flap),
            "release_power": "military",
            "power": power,
            "engine_out_power": power,
            "rejected": rejected,
        }
    )
    # Statics: what a wheel of the nose carries at rest, and what braking adds; about the main wheels.
    lever = frame.centre_of_gravity_height / (frame.main_wheel_arm - frame.nose_wheel_arm)
    at_rest = AT_REST[pack.title.split()[0]]
    share = (at_rest + friction * lever) / (1.0 + friction * lever)
    times = pack.engine.transients.model_copy(update={"light_delay": order.advance_delay})
    return pack.model_copy(
        update={
            "wheels": wheels.model_copy(update={"braking_friction": table, "nose_load_share": share}),
            "engine": pack.engine.model_copy(update={"transients": times}),
            "technique": pack.technique.model_copy(update={"takeoff": technique}),
        }
    )


# Share of the weight on the nose wheel at rest, from the stations in the models' files with the fuel aboard.
AT_REST = {"T38": 0.05, "T37": 0.08, "F80C": 0.05}


def flown_and_computed(pack: Pack, model: str, order: TakeoffOrder) -> tuple[FlownTakeoff, dict[str, Pair]]:
    """Return a flown takeoff and its numbers, each beside the computed one.

    The computed takeoff is given what the pilot did: nosewheel off at the speed flown, then the mean rate of
    rotation flown. Nosewheel lift-off itself is compared as ``nosewheel_balance``.
    """
    flown = fly_takeoff_script(model, order)
    cases = make_cases(
        flown.mass, flown.balance_arm, Air(flown.pressure, flown.temperature), headwind=order.headwind
    )
    power = "maximum" if order.takeoff_throttle == 1.0 and "maximum" in pack.engine.settings else "military"
    changed = as_flown(pack, order, power)
    if order.reject_at is not None:
        setup = takeoff_setup(changed, cases, rotation_cas=order.rotation_cas)
        event = accelerate_to(setup, release(setup), np.array([flown.event_ground_speed]))
        stop = reject(setup, event)
        return flown, {"stop": Pair(float(stop.distance[0]), flown.stop_distance)}
    setup = takeoff_setup(
        changed,
        cases,
        rotation_cas=flown.nosewheel_off_cas,
        pitch_rate=flown.rotation_rate,
        takeoff_attitude=order.attitude,
    )
    failure = None if order.fail_engine_at is None else flown.event_ground_speed
    computed = fly_takeoff(setup, failure)
    return flown, {
        "ground run": Pair(float(computed.ground_run[0]), flown.ground_run),
        "lift-off speed": Pair(float(computed.lift_off_cas[0]), flown.lift_off_cas),
        "distance to 50 ft": Pair(float(computed.distance_to_screen[0]), flown.distance_to_screen),
        "nosewheel": Pair(float(computed.nosewheel_lift_off_cas[0]), flown.nosewheel_off_cas),
    }
