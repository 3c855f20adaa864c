"""Pitch control, trim, rudder and roll control, ground effect, gear and speedbrake: what each adds."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sortiewright.pack_sampling.air_forces import AirForces, Setting, configure, forces_at, pitch_surface
from sortiewright.pack_sampling.english_units import FOOT
from sortiewright.pack_sampling.flight_model import FAR_BELOW, FlightModel
from sortiewright.pack_sampling.stance import Stance

Floats = NDArray[np.float64]

GROUND_MACH = 0.2
SCALE = math.radians(20.0)  # rad that a model's full travel stands for where it gives no angle
TRIM_STEP = 0.1  # of the trim command: one trim unit
MANY_UNITS = 3.0
EFFECT_ALPHA = 8.0  # deg, a usual attitude at lift-off
HEIGHTS = (0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 1.25, 1.5, 2.0)  # over span
LEAST_LIFT_GAIN = 0.01
FREE_AIR = 100.0  # spans


@dataclass(frozen=True)
class Added:
    """What a device adds to the coefficients, and seconds for its travel."""

    lift: float = 0.0
    drag: float = 0.0
    moment: float = 0.0
    travel_time: float = 0.0


def gear_travel(model: FlightModel) -> float:
    """Return the seconds the gear takes down, 0 where it does not move."""
    configure(model, Setting(gear=0.0))
    return configure(model, Setting(gear=1.0))


def added_by(model: FlightModel, without: Setting, with_: Setting, alpha_deg: float) -> Added:
    """Return what the second setting has over the first, at low Mach number, pitch control neutral."""
    configure(model, without)
    before = forces_at(model, mach=GROUND_MACH, alpha_deg=alpha_deg, stick=0.0)
    time = configure(model, with_)
    after = forces_at(model, mach=GROUND_MACH, alpha_deg=alpha_deg, stick=0.0)
    return Added(after.lift - before.lift, after.drag - before.drag, after.moment - before.moment, time)


@dataclass(frozen=True)
class PitchMoments:
    """A configuration's moment, control neutral, gear up: at angle 0 and its slope, 1/rad."""

    zero: float
    slope: float


def pitch_moments(model: FlightModel, ground_alpha_deg: float) -> PitchMoments:
    """Return the straight line through the moment in the ground attitude and 8 deg above it."""
    low, high = (
        forces_at(model, mach=GROUND_MACH, alpha_deg=ground_alpha_deg + more, stick=0.0).moment
        for more in (0.0, 8.0)
    )
    slope = (high - low) / math.radians(8.0)
    return PitchMoments(low - slope * math.radians(ground_alpha_deg), slope)


@dataclass(frozen=True)
class PitchTravel:
    """The pitch control. Angles rad, trailing edge up; ``full_aft_moment`` is what full aft stick adds about
    the main wheels, as a moment coefficient, to a configuration's lift, drag and moment from its tables."""

    full_aft_angle: float
    full_forward_angle: float
    full_aft_moment: float
    trim_unit_moment: float
    trim_moves_full_travel: bool
    angle_is_measured: bool
    lift_per_moment: float
    """Lift coefficient that the control gives for each moment coefficient about the centre of gravity."""


def pitch_travel(
    model: FlightModel,
    stance: Stance,
    *,
    table_lift: float,
    table_drag: float,
    moments: PitchMoments,
    gear_moment: float,
) -> PitchTravel:
    """Return the pitch control with the configuration as it stands, wheels on the ground.

    ``table_lift`` and ``table_drag`` are what the pack's tables give there, gear out, and ``gear_moment`` the
    gear's: the moment of full aft stick is set so that the whole about the main wheels is the model's, with
    ground effect and with the lift that the tail loses.
    """
    on_wheels = _ground(model, stance)
    neutral, aft, forward = (on_wheels(stick) for stick in (0.0, -1.0, 1.0))
    chord = model.read("metrics/cbarw-ft") * FOOT
    reference = stance.point(model.read("metrics/aero-rp-x-in"), model.read("metrics/aero-rp-z-in"))
    lift_arm = stance.main.aft - reference.aft + stance.rolling_friction * stance.balance_height
    drag_arm = reference.height - stance.balance_height

    def about_wheels(lift: float, drag: float, moment: float) -> float:
        return moment + (lift * lift_arm + drag * drag_arm) / chord

    alpha = math.radians(stance.pitch_deg)
    tables = about_wheels(table_lift, table_drag, moments.zero + moments.slope * alpha + gear_moment)
    whole = about_wheels(aft.lift, aft.drag, aft.moment)
    measured = _moves_an_angle(model)
    scale = 1.0 if measured else SCALE
    trimmed, both = _with_trim(model, on_wheels)
    return PitchTravel(
        full_aft_angle=scale * (neutral.surface - aft.surface),
        full_forward_angle=scale * (neutral.surface - forward.surface),
        full_aft_moment=whole - tables,
        trim_unit_moment=(trimmed.moment - neutral.moment) / MANY_UNITS,
        trim_moves_full_travel=abs(both.moment - aft.moment)
        > 0.5 * abs(trimmed.moment - neutral.moment)
        > 0.0,
        angle_is_measured=measured,
        lift_per_moment=_lift_per_moment(neutral, aft, reference.aft / chord),
    )


def _lift_per_moment(neutral: AirForces, aft: AirForces, reference_aft: float) -> float:
    """Return the control's lift for its moment about the centre of gravity; 0 where it gives none.

    ``reference_aft``: of the moment reference behind the centre of gravity, in chords.
    """
    lift = aft.lift - neutral.lift
    moment = aft.moment - neutral.moment - lift * reference_aft
    return lift / moment if moment > LEAST_MOMENT else 0.0


LEAST_MOMENT = 1e-3


def _ground(model: FlightModel, stance: Stance) -> Callable[[float], AirForces]:
    """Return the forces on the wheels as a function of the stick."""

    def on_wheels(stick: float) -> AirForces:
        return forces_at(
            model,
            mach=GROUND_MACH,
            alpha_deg=stance.pitch_deg,
            stick=stick,
            altitude=0.0,
            terrain=-stance.balance_height / FOOT,
        )

    return on_wheels


def _with_trim(model: FlightModel, on_wheels: Callable[[float], AirForces]) -> tuple[AirForces, AirForces]:
    """Return the forces some trim units nose up, stick neutral and stick aft."""
    model.write("fcs/pitch-trim-cmd-norm", -TRIM_STEP * MANY_UNITS)
    trimmed, both = on_wheels(0.0), on_wheels(-1.0)
    model.write("fcs/pitch-trim-cmd-norm", 0.0)
    return trimmed, both


def _moves_an_angle(model: FlightModel) -> bool:
    """Return whether the model moves its pitch control as an angle, not only as a share of its travel."""
    return model.read("fcs/elevator-pos-norm") == 0.0 and pitch_surface(model) != 0.0


@dataclass(frozen=True)
class SideControls:
    """Moment coefficients of full rudder and full roll control, on span, and the drag of a sideslip for each
    yawing moment coefficient that it gives; nought where a sideslip does not turn the nose back."""

    yawing_moment: float
    rolling_moment: float
    sideslip_drag: float


def side_controls(model: FlightModel, alpha_deg: float) -> SideControls:
    """Return what full rudder and full roll control give, configuration as it stands."""
    span = model.read("metrics/bw-ft")

    def side(rudder: float = 0.0, roll: float = 0.0, beta_deg: float = 0.0) -> tuple[float, float, float]:
        model.command("fcs/rudder-cmd-norm", rudder)
        model.command("fcs/aileron-cmd-norm", roll)
        model.place(mach=GROUND_MACH, altitude=0.0, alpha_deg=alpha_deg, beta_deg=beta_deg)
        model.run(SIDE_TIME)
        q_s = model.read("aero/qbar-psf") * model.read("metrics/Sw-sqft")
        yaw, roll_moment = (model.read(f"moments/{axis}-aero-lbsft") / (q_s * span) for axis in "nl")
        return yaw, roll_moment, model.read("forces/fwx-aero-lbs") / q_s

    yawed, rolled, slipped = side(rudder=1.0), side(roll=1.0), side(beta_deg=SIDESLIP)
    neutral = side()
    stiffness, drag = slipped[0] - neutral[0], slipped[2] - neutral[2]
    return SideControls(
        abs(yawed[0] - neutral[0]),
        abs(rolled[1] - neutral[1]),
        max(drag / stiffness, 0.0) if stiffness > LEAST_STIFFNESS else 0.0,
    )


SIDE_TIME = 1.5  # s
SIDESLIP = 4.0  # deg, a usual one with an engine dead
LEAST_STIFFNESS = 1e-4


@dataclass(frozen=True)
class GroundEffect:
    """Factors on drag due to lift and on lift over height of the reference point over span, and the latter on
    the wheels (1: none)."""

    height_over_span: Floats
    factor: Floats
    lift: Floats
    lift_factor: float

    @property
    def lift_matters(self) -> bool:
        """Whether lift in ground effect is worth a table."""
        return bool(np.abs(self.lift - 1.0).max() > LEAST_LIFT_GAIN and self.lift.min() > 0.0)

    @property
    def lift_in_pack(self) -> float:
        """The factor on lift on the wheels that the pack will have."""
        return float(self.lift[0]) if self.lift_matters else 1.0


def ground_effect(model: FlightModel, stance: Stance, alphas_deg: tuple[float, ...]) -> GroundEffect:
    """Return the ground effect of the configuration as it stands. ``alphas_deg``: angles of its drag table,
    whose least drag counts as drag without lift."""
    span = model.read("metrics/bw-ft")
    reference = stance.point(model.read("metrics/aero-rp-x-in"), model.read("metrics/aero-rp-z-in"))
    on_wheels = max(reference.height / FOOT / span, 0.02)

    def level(alpha_deg: float, terrain: float = FAR_BELOW) -> AirForces:
        return forces_at(
            model, mach=GROUND_MACH, alpha_deg=alpha_deg, stick=0.0, terrain=terrain, free_of_rate=False
        )

    least = min(level(alpha).drag for alpha in alphas_deg)
    free = level(EFFECT_ALPHA)
    above = (reference.height - stance.balance_height) / FOOT  # of the reference over the centre of gravity
    heights = [0.98 * on_wheels, *(h for h in HEIGHTS if h > on_wheels)]
    factors: list[float] = []
    lifts: list[float] = []
    for height in heights:
        # Raised by its pitch, the reference point moves a little; a hundredth of a span changes nothing here.
        terrain = -(height * span - above)
        point = level(EFFECT_ALPHA, terrain)
        factors.append(max((point.drag - least) / (free.drag - least), 0.0))
        lifts.append(point.lift / free.lift)
    return GroundEffect(
        np.array([*heights, FREE_AIR]), np.array([*factors, 1.0]), np.array([*lifts, 1.0]), lifts[0]
    )
