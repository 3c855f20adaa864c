"""The aircraft standing on its wheels: attitude, heights, which points touch, and where the tail strikes."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from sortiewright.pack_sampling.english_units import FOOT, INCH, POUND, POUND_FORCE
from sortiewright.pack_sampling.flight_model import FlightModel, model_fault
from sortiewright.pack_sampling.model_description import Contact, ModelDescription

SETTLING_TIME = 20.0  # s
MOST_NOSE_HIGH = 8.0  # deg on the wheels: more is a tail-wheel aircraft, or has fallen on its tail
MOST_BANK = 3.0  # deg


@dataclass(frozen=True)
class Point:
    """A point of the aircraft on the ground: metres aft of the centre of gravity along the runway, and up."""

    aft: float
    height: float


@dataclass(frozen=True)
class Stance:
    """The aircraft at rest on its wheels, loaded as the model comes. Lengths in metres, angles in degrees."""

    pitch_deg: float
    balance_x: float
    """Centre of gravity, inches in the model's axes."""
    balance_z: float
    balance_height: float
    weight: float
    """lb, as it stood."""
    pitch_radius: float
    """Radius of gyration about the axis through the wings, m."""
    main: Point
    nose: Point
    nose_load_share: float
    rolling_friction: float
    static_friction: float
    main_wheels: int
    tail_strike_deg: float | None
    """None where the model has no contact point behind the main wheels."""
    tail_strike_contact: str

    def point(self, x: float, z: float) -> Point:
        """Return where a point of the model's axes, inches, is on the ground."""
        aft, up = (x - self.balance_x) * INCH, (z - self.balance_z) * INCH
        pitch = math.radians(self.pitch_deg)
        return Point(
            aft * math.cos(pitch) + up * math.sin(pitch),
            self.balance_height - aft * math.sin(pitch) + up * math.cos(pitch),
        )

    def arm(self, x: float, z: float) -> float:
        """Return the arm, m aft of the model's own datum, of a point as it stands on the ground.

        In the attitude on the ground a point above the centre of gravity is a little farther aft than its
        station says; moments about the wheels want the former.
        """
        return self.balance_x * INCH + self.point(x, z).aft


def stand(model: FlightModel, description: ModelDescription) -> Stance:
    """Return how the aircraft stands on its wheels, engines off, brakes on, controls as they are.

    ``InputError`` where it does not stand on a nose wheel and main wheels.
    """
    wheels = [one for one in description.contacts if one.is_wheel]
    if not wheels:
        raise model_fault(model.name, "has no wheels: there is no takeoff run to compute")
    _put_down(model, description)
    pitch, bank = model.read("attitude/theta-deg"), model.read("attitude/phi-deg")
    if not (math.isfinite(pitch) and abs(bank) < MOST_BANK):
        raise model_fault(model.name, "does not come to rest upright on its wheels")
    touching = [
        (i, one)
        for i, one in enumerate(description.contacts)
        if one.is_wheel and model.read(f"{_unit(i)}/WOW") > 0.5
    ]
    balance = model.read("inertia/cg-x-in")
    ahead = [(i, one) for i, one in touching if one.x < balance]
    behind = [(i, one) for i, one in touching if one.x >= balance]
    centre_ahead = [one for _, one in ahead if abs(one.y) < CENTRE_LINE]
    if pitch > MOST_NOSE_HIGH or (ahead and not centre_ahead):
        raise model_fault(
            model.name, "stands on main wheels and a tail wheel: takeoff on a tail wheel is not modelled"
        )
    if not ahead or not behind:
        raise model_fault(model.name, "does not stand on a nose wheel and main wheels behind it")
    mains = [(i, one) for i, one in behind if _is_lowest(one, behind)]
    if not mains:
        raise model_fault(model.name, "has no main wheels that carry it")
    if not (min(one.y for _, one in mains) < -CENTRE_LINE and max(one.y for _, one in mains) > CENTRE_LINE):
        raise model_fault(model.name, "has no main wheels left and right of its centre line")
    height = model.read("position/h-agl-ft") * 12 * INCH
    base = Stance(
        pitch_deg=pitch,
        balance_x=balance,
        balance_z=model.read("inertia/cg-z-in"),
        balance_height=height,
        weight=model.read("inertia/weight-lbs"),
        pitch_radius=_pitch_radius(model),
        main=Point(0.0, 0.0),
        nose=Point(0.0, 0.0),
        nose_load_share=0.0,
        rolling_friction=_mean(model, mains, "rolling_friction_coeff"),
        static_friction=_mean(model, mains, "static_friction_coeff"),
        main_wheels=len(mains),
        tail_strike_deg=None,
        tail_strike_contact="",
    )
    return _with_wheels(base, model, [one for _, one in mains], centre_ahead, description)


def _pitch_radius(model: FlightModel) -> float:
    # A slug ft2 is a pound-force foot second squared.
    inertia = model.read("inertia/iyy-slugs_ft2") * POUND_FORCE * FOOT
    return math.sqrt(inertia / (model.read("inertia/weight-lbs") * POUND))


def _put_down(model: FlightModel, description: ModelDescription) -> None:
    """Set the aircraft on flat ground at sea level and let it come to rest."""
    balance_x, balance_z = model.read("inertia/cg-x-in"), model.read("inertia/cg-z-in")
    pitch, above = _all_wheels_down(description, balance_x, balance_z)
    model.write("atmosphere/delta-T", 0.0)
    model.write("ic/terrain-elevation-ft", 0.0)
    model.write("ic/h-sl-ft", above / 12.0 + DROP)
    model.write("ic/vt-kts", 0.0)
    model.write("ic/phi-deg", 0.0)
    model.write("ic/theta-deg", pitch)
    for side in ("left", "right", "center"):
        model.write(f"fcs/{side}-brake-cmd-norm", 1.0)
    model.write("gear/gear-cmd-norm", 1.0)
    model.start()
    model.write("gear/gear-pos-norm", 1.0)
    model.let_go()
    model.run(SETTLING_TIME)


DROP = 0.05  # ft


def _all_wheels_down(description: ModelDescription, x: float, z: float) -> tuple[float, float]:
    """Return the pitch, deg, at which wheels ahead of and behind a centre of gravity touch together, and its
    height in inches: dropped on one wheel first, some models fall on their tails."""
    wheels = [one for one in description.contacts if one.is_wheel]
    ahead = min((one for one in wheels if one.x < x), key=lambda one: one.z, default=None)
    behind = min((one for one in wheels if one.x >= x), key=lambda one: one.z, default=None)
    if ahead is None or behind is None:
        return 0.0, z - min(one.z for one in wheels)
    slope = (behind.z - ahead.z) / (behind.x - ahead.x)
    if abs(slope) > math.tan(math.radians(MOST_NOSE_HIGH)):
        return 0.0, z - min(one.z for one in wheels)
    pitch = math.atan(slope)
    return math.degrees(pitch), (z - ahead.z) * math.cos(pitch) - (x - ahead.x) * math.sin(pitch)


def _with_wheels(
    base: Stance,
    model: FlightModel,
    mains: list[Contact],
    noses: list[Contact],
    description: ModelDescription,
) -> Stance:
    main = base.point(_middle(mains, "x"), _middle(mains, "z"))
    nose = base.point(_middle(noses, "x"), _middle(noses, "z"))
    share = main.aft / (main.aft - nose.aft)
    strikes = [
        (math.degrees(math.atan2(one.z - _middle(mains, "z"), one.x - _middle(mains, "x"))), one.name)
        for one in description.contacts
        if one.x > _middle(mains, "x") + 1.0 and one.z > min(m.z for m in mains)
    ]
    strike, name = min(strikes, default=(None, ""))
    if strike is not None and strike <= base.pitch_deg:
        strike, name = None, ""
    return replace(
        base,
        main=main,
        nose=nose,
        nose_load_share=min(max(share, 0.0), 0.5),
        tail_strike_deg=strike,
        tail_strike_contact=name,
    )


CENTRE_LINE = 12.0  # in: a wheel nearer the middle than this is a nose or tail wheel


def _unit(i: int) -> str:
    return f"gear/unit[{i}]" if i else "gear/unit"


def _is_lowest(one: Contact, touching: list[tuple[int, Contact]]) -> bool:
    return one.z <= min(other.z for _, other in touching) + 6.0


def _middle(contacts: list[Contact], axis: str) -> float:
    return sum(getattr(one, axis) for one in contacts) / len(contacts)


def _mean(model: FlightModel, contacts: list[tuple[int, Contact]], name: str) -> float:
    return sum(model.read(f"{_unit(i)}/{name}") for i, _ in contacts) / len(contacts)
