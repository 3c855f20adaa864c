"""Takeoffs flown by a flight model of JSBSim, and the same ones computed from a pack, side by side.

Flown now, where the library is there, or read from tests/data/flight_model_takeoffs, where
tools/fly_flight_model_takeoffs.py has put what it flew.
"""

import csv
import math
from dataclasses import dataclass, fields, replace
from pathlib import Path

import numpy as np

from sortiewright.air import Air
from sortiewright.pack import DirectionalControl, Pack
from sortiewright.pack_sampling import FlownTakeoff, TakeoffOrder, fly_takeoff_script
from sortiewright.performance import (
    Cases,
    TakeoffSetup,
    accelerate_to,
    fly_takeoff,
    make_cases,
    reject,
    release,
    takeoff_setup,
)

KNOT = 1852 / 3600
FOOT = 0.3048
FULL_BRAKE, ROLLING = 0.8, 0.02  # static_friction and rolling_friction of the wheels of the models used here
PITCH_RADIUS = {"T38": 3.12, "T37": 1.94, "737": 6.56, "c172p": 1.48}  # m, pack sample with JSBSim 1.3.3
FLOWN = Path(__file__).parents[1] / "data" / "flight_model_takeoffs"


@dataclass(frozen=True)
class Pair:
    """A value computed from the pack and the same one flown."""

    computed: float
    flown: float

    @property
    def error(self) -> float:
        """Share by which the computed value is too large."""
        return self.computed / self.flown - 1.0


@dataclass(frozen=True)
class Condition:
    """A stored condition, as ordered and as flown; the stop is that of the same run given up."""

    name: str
    drawn: bool
    order: TakeoffOrder
    flown: FlownTakeoff
    stop_distance: float
    stop_event_speed: float


def stored(model: str) -> list[Condition]:
    """Return the conditions that were flown with a model."""
    with (FLOWN / f"{model}.csv").open(encoding="utf-8", newline="") as stream:
        return [_condition(row) for row in csv.DictReader(stream)]


def _condition(row: dict[str, str]) -> Condition:
    ordered = {
        one.name: None if (text := row[f"order_{one.name}"]) == "" else float(text)
        for one in fields(TakeoffOrder)
        if f"order_{one.name}" in row
    }
    seen = {one.name: float(row[one.name]) if row.get(one.name) else math.nan for one in fields(FlownTakeoff)}
    return Condition(
        row["condition"],
        row["kind"] == "drawn",
        TakeoffOrder(**ordered),
        FlownTakeoff(**seen),
        float(row["rejected_stop_distance"]),
        float(row["rejected_event_ground_speed"]),
    )


def configuration_of(flap: float) -> str:
    return {0.0: "clean", 1.0: "landing"}.get(flap, "takeoff")


def braking_at(command: float) -> float:
    """Return the friction of the braked wheels; the library goes from rolling to static friction with the
    brake command (its class FGLGear, as its documentation of the landing gear says)."""
    return ROLLING + command * (FULL_BRAKE - ROLLING)


def power_of(pack: Pack, order: TakeoffOrder) -> str:
    full = order.takeoff_throttle == 1.0 and "maximum" in pack.engine.settings
    return "maximum" if full else "military"


def as_flown(pack: Pack, order: TakeoffOrder, balance_arm: float) -> Pack:
    """Return the pack with brakes, burner delay and technique of the order."""
    frame, wheels, takeoff = pack.airframe, pack.wheels, pack.technique.takeoff
    friction = braking_at(order.brake_command)
    table = replace(wheels.braking_friction, values=np.full_like(wheels.braking_friction.values, friction))
    rejected = takeoff.rejected.model_copy(
        update={"recognition": order.recognition, "brakes_on": order.brakes_after, "chute_commanded": None}
    )
    power = power_of(pack, order)
    technique = takeoff.model_copy(
        update={
            "configuration": configuration_of(order.flap),
            "release_power": "military",
            "power": power,
            "engine_out_power": power,
            "rejected": rejected,
        }
    )
    # Statics: what the wheel of the nose carries at rest, and what braking adds; about the main wheels.
    wheelbase = frame.main_wheel_arm - frame.nose_wheel_arm
    lever = frame.centre_of_gravity_height / wheelbase
    at_rest = (frame.main_wheel_arm - balance_arm) / wheelbase
    share = (at_rest + friction * lever) / (1.0 + friction * lever)
    times = pack.engine.transients.model_copy(update={"light_delay": order.advance_delay})
    return pack.model_copy(
        update={
            "wheels": wheels.model_copy(update={"braking_friction": table, "nose_load_share": share}),
            "engine": pack.engine.model_copy(update={"transients": times}),
            "technique": pack.technique.model_copy(update={"takeoff": technique}),
        }
    )


def cases_of(flown: FlownTakeoff, order: TakeoffOrder) -> Cases:
    air = Air(flown.pressure, flown.temperature)
    return make_cases(flown.mass, flown.balance_arm, air, headwind=order.headwind)


def _pairs(setup: TakeoffSetup, order: TakeoffOrder, flown: FlownTakeoff) -> dict[str, Pair]:
    computed = fly_takeoff(setup, None if order.fail_engine_at is None else flown.event_ground_speed)
    return {
        "ground run": Pair(float(computed.ground_run[0]), flown.ground_run),
        "lift-off speed": Pair(float(computed.lift_off_cas[0]), flown.lift_off_cas),
        "distance to 50 ft": Pair(float(computed.distance_to_screen[0]), flown.distance_to_screen),
        "nosewheel": Pair(float(computed.nosewheel_lift_off_cas[0]), flown.nosewheel_off_cas),
    }


def takeoff_pairs(pack: Pack, order: TakeoffOrder, flown: FlownTakeoff) -> dict[str, Pair]:
    """Return the numbers of a takeoff, computed and flown.

    The computed takeoff is given what the pilot did: nosewheel off at the speed flown, then the mean rate of
    rotation flown. Nosewheel lift-off itself is compared as ``nosewheel``: the least speed for it on the
    thrust that is alive, where the stick was full aft before.
    """
    seen = as_flown(pack, order, flown.balance_arm)
    at_once = seen.airframe.model_copy(update={"pitch_radius_of_gyration": None})  # the rate is the mean one
    setup = takeoff_setup(
        seen.model_copy(update={"airframe": at_once}),
        cases_of(flown, order),
        rotation_cas=flown.nosewheel_off_cas,
        pitch_rate=flown.rotation_rate,
        takeoff_attitude=order.attitude,
    )
    return _pairs(setup, order, flown)


def with_inertia(pack: Pack, model: str) -> Pack:
    """Return the pack with what ``pack sample`` reads of how fast the model turns its nose up, and with the
    stick travel of the scripted pilot; the packs of the tests hold the mean rate that was seen."""
    frame = pack.airframe.model_copy(update={"pitch_radius_of_gyration": PITCH_RADIUS[model]})
    takeoff = pack.technique.takeoff.model_copy(update={"stick_travel_time": 1.0})
    technique = pack.technique.model_copy(update={"takeoff": takeoff})
    return pack.model_copy(update={"airframe": frame, "technique": technique})


def ordered_pairs(pack: Pack, order: TakeoffOrder, flown: FlownTakeoff) -> dict[str, Pair]:
    """Return the numbers of a takeoff computed from the order alone, as a plan is, and flown."""
    setup = takeoff_setup(
        as_flown(pack, order, flown.balance_arm),
        cases_of(flown, order),
        rotation_cas=order.rotation_cas,
        pitch_rate=order.pitch_rate,
        takeoff_attitude=order.attitude,
    )
    return _pairs(setup, order, flown)


def stop_pair(pack: Pack, order: TakeoffOrder, flown: FlownTakeoff, event_speed: float, stop: float) -> Pair:
    """Return where the run given up at a ground speed stops, computed and flown."""
    changed = as_flown(pack, order, flown.balance_arm)
    setup = takeoff_setup(changed, cases_of(flown, order), rotation_cas=order.rotation_cas)
    computed = reject(setup, accelerate_to(setup, release(setup), np.array([event_speed])))
    return Pair(float(computed.distance[0]), stop)


def stored_pairs(pack: Pack, one: Condition) -> dict[str, Pair]:
    """Return the numbers of a stored condition, computed and flown, its stop among them."""
    stop = stop_pair(pack, one.order, one.flown, one.stop_event_speed, one.stop_distance)
    return {**takeoff_pairs(pack, one.order, one.flown), "stop": stop}


def flown_and_computed(pack: Pack, model: str, order: TakeoffOrder) -> tuple[FlownTakeoff, dict[str, Pair]]:
    """Fly a takeoff now and return it with its numbers, each beside the computed one."""
    flown = fly_takeoff_script(model, order)
    if order.reject_at is None:
        return flown, takeoff_pairs(pack, order, flown)
    return flown, {"stop": stop_pair(pack, order, flown, flown.event_ground_speed, flown.stop_distance)}


def with_sampled_rudder(pack: Pack) -> Pack:
    """Return the T38's pack with the rudder that was sampled and is left out of it; see its aero.yaml.

    Values of ``sortiewright pack sample T38`` with JSBSim 1.3.3. By hand from the model's file: drag by
    sideslip 0.05/0.26 for each radian, yawing moment 0.1, so 1.92; side force turned into the wind adds a
    little.
    """
    rudder = DirectionalControl(
        rudder_yawing_moment=0.007, roll_control_rolling_moment=0.03377, sideslip_drag=2.004
    )
    return pack.model_copy(update={"aero": pack.aero.model_copy(update={"directional_control": rudder})})
