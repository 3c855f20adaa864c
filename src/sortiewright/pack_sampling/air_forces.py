"""Lift, drag and pitching moment of one configuration, read with the aircraft held still in the air.

Moments in a model may depend on how fast the angle of attack changes, and held still it would change as lift
and weight say. Each point is therefore read on two flight paths, level and steep, between which that rate
differs, and carried to a rate of nought along the straight line through both.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sortiewright.pack_sampling.flight_model import FAR_BELOW, FlightModel, NotAsAsked, model_fault

Floats = NDArray[np.float64]

STEEP = 40.0  # deg of climb on which each point is read a second time; with the angle of attack under 90
STICK = (-1.0, -0.5, 0.0, 0.5, 1.0)
SURFACE_TIME, SURFACE_LOOK = 1.5, 0.1  # s for a control surface and the flight controls to settle
RESTING = 1e-7  # change of a coefficient over a look that counts as none


@dataclass(frozen=True)
class AirForces:
    """Coefficients at one point, moment about the aerodynamic reference point, nose up positive."""

    lift: float
    drag: float
    moment: float
    surface: float
    """Pitch control, share of its travel, nose DOWN positive as in the model."""


@dataclass(frozen=True)
class Setting:
    """Commands of flaps, gear and speedbrake, shares."""

    flap: float = 0.0
    gear: float = 0.0
    speedbrake: float = 0.0


def configure(model: FlightModel, setting: Setting) -> float:
    """Command flaps, gear and speedbrake and wait until they are there; return the seconds they took."""
    commands = {
        "fcs/flap-cmd-norm": setting.flap,
        "gear/gear-cmd-norm": setting.gear,
        "fcs/speedbrake-cmd-norm": setting.speedbrake,
    }
    for name, value in commands.items():
        model.command(name, value)
    return model.settle(POSITIONS)


POSITIONS = ("fcs/flap-pos-norm", "fcs/flap-pos-deg", "gear/gear-pos-norm", "fcs/speedbrake-pos-norm")


def read_forces(model: FlightModel) -> tuple[Floats, float]:
    """Return (lift, drag, moment about the reference point) coefficients now, and the rate of angle of
    attack, rad/s."""
    area, chord = model.read("metrics/Sw-sqft"), model.read("metrics/cbarw-ft")
    q_s = model.read("aero/qbar-psf") * area
    forward = (model.read("inertia/cg-x-in") - model.read("metrics/aero-rp-x-in")) / 12.0
    below = (model.read("inertia/cg-z-in") - model.read("metrics/aero-rp-z-in")) / 12.0
    along, down = model.read("forces/fbx-aero-lbs"), model.read("forces/fbz-aero-lbs")
    # The library gives moments about the centre of gravity: take off r x F, r from there to the reference.
    moment = model.read("moments/m-aero-lbsft") - (below * along - forward * down)
    values = (model.read("forces/fwz-aero-lbs"), model.read("forces/fwx-aero-lbs"), moment / chord)
    return np.array(values) / q_s, model.read("aero/alphadot-rad_sec")


def forces_at(
    model: FlightModel,
    *,
    mach: float,
    alpha_deg: float,
    stick: float,
    altitude: float = 0.0,
    terrain: float = FAR_BELOW,
    free_of_rate: bool = True,
) -> AirForces:
    """Return the coefficients at one point; ``stick`` is the pitch command, nose down positive.

    ``free_of_rate`` false: as read in level flight, with the rate of angle of attack that it has there. Near
    the ground the steep path changes the height of the wing, and the line through both would magnify that.
    """
    model.command("fcs/elevator-cmd-norm", stick)
    seen: list[tuple[Floats, float]] = []
    for climb in (0.0, STEEP) if free_of_rate else (0.0,):
        model.place(mach=mach, altitude=altitude, alpha_deg=alpha_deg, climb_deg=climb, terrain=terrain)
        if climb == 0.0:
            _rest(model)
        else:
            model.run(4 * model.step_time)
        model.check_place(mach=mach, alpha_deg=alpha_deg)
        seen.append(read_forces(model))
    (first, rate), (second, other) = seen[0], seen[-1]
    still = first if abs(rate - other) < 1e-9 else first - rate * (second - first) / (other - rate)
    if not np.all(np.isfinite(still)):
        raise NotAsAsked(f"forces are not finite at Mach {mach:g}, angle of attack {alpha_deg:g} deg")
    lift, drag, moment = (float(value) for value in still)
    return AirForces(lift, drag, moment, pitch_surface(model))


def _rest(model: FlightModel) -> None:
    """Run until surfaces and forces no longer change, or so long that a control that never rests is caught
    before it has wandered off."""
    before = np.full(4, np.nan)
    for _ in range(round(SURFACE_TIME / SURFACE_LOOK)):
        model.run(SURFACE_LOOK)
        values, _ = read_forces(model)
        now = np.array([*values, pitch_surface(model)])
        if np.all(np.abs(now - before) < RESTING):
            return
        before = now


def pitch_surface(model: FlightModel) -> float:
    """Return where the pitch control stands, share of its travel, nose down positive.

    Models move one or the other of these properties; the library keeps those that are not moved at nought.
    """
    for name in ("fcs/elevator-pos-norm", "fcs/elevator-pos-rad", "fcs/elevator-pos-deg"):
        if (value := model.read(name)) != 0.0:
            return value
    return 0.0


@dataclass(frozen=True)
class TrimmedForces:
    """Lift and drag over (angle of attack, Mach), the pitch control holding the aircraft."""

    alpha_deg: Floats
    mach: Floats
    lift: Floats
    drag: Floats
    untrimmed: int
    """Points at which full travel does not balance the aircraft: taken at full travel."""


def trimmed_forces(
    model: FlightModel, alpha_deg: Sequence[float], mach: Sequence[float], *, balance_x: float
) -> TrimmedForces:
    """Return lift and drag in equilibrium about a centre of gravity, ``balance_x`` inches aft.

    Flaps and devices as they stand. Mach 0 is read at the library's least Mach number.
    """
    shape = len(alpha_deg), len(mach)
    lift, drag = np.zeros(shape), np.zeros(shape)
    untrimmed = 0
    for j, m in enumerate(mach):
        for i, alpha in enumerate(alpha_deg):
            points = [forces_at(model, mach=m, alpha_deg=alpha, stick=stick) for stick in STICK]
            lift[i, j], drag[i, j], held = _in_balance(model, points, alpha, balance_x)
            untrimmed += not held
    return TrimmedForces(np.array(alpha_deg), np.array(mach), lift, drag, untrimmed)


def _in_balance(
    model: FlightModel, points: Sequence[AirForces], alpha_deg: float, balance_x: float
) -> tuple[float, float, bool]:
    """Return lift and drag with the control where moments about the centre of gravity vanish."""
    arm = (balance_x - model.read("metrics/aero-rp-x-in")) / 12.0 / model.read("metrics/cbarw-ft")
    alpha = np.radians(alpha_deg)
    lift, drag, moment = (np.array([getattr(p, name) for p in points]) for name in ("lift", "drag", "moment"))
    about = moment + arm * (lift * np.cos(alpha) + drag * np.sin(alpha))
    if np.ptp(about) < 1e-9:
        return float(lift[2]), float(drag[2]), abs(float(about[2])) < 1e-6
    order = np.argsort(about)
    held = bool(about.min() <= 0.0 <= about.max())
    at = float(np.clip(0.0, about.min(), about.max()))
    trimmed_lift, trimmed_drag = (float(np.interp(at, about[order], v[order])) for v in (lift, drag))
    return trimmed_lift, trimmed_drag, held


def require_air_forces(model: FlightModel) -> None:
    """Raise ``InputError`` where the model has no lift: a ball, a rocket, an airship."""
    points = [forces_at(model, mach=0.25, alpha_deg=alpha, stick=0.0) for alpha in (0.0, 5.0)]
    slope = (points[1].lift - points[0].lift) / np.radians(5.0)
    if not slope > LEAST_LIFT_SLOPE:
        raise model_fault(
            model.name,
            f"gains {slope:.2f} of lift a radian of angle of attack: it has no wing that carries it",
        )


def require_pitch_control(model: FlightModel) -> None:
    """Raise ``InputError`` where the stick moves nothing: rotation could not be computed."""
    neutral, aft = (forces_at(model, mach=0.25, alpha_deg=3.0, stick=stick) for stick in (0.0, -1.0))
    if abs(aft.moment - neutral.moment) < LEAST_PITCH_MOMENT:
        raise model_fault(
            model.name, "does not answer to its stick while held still: its nose cannot be raised"
        )


LEAST_PITCH_MOMENT = 1e-3
LEAST_LIFT_SLOPE = 0.5  # 1/rad; a wing of aspect ratio 1 has 1.5 (slender wing theory)
