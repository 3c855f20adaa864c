"""Everything that a pack needs of a flight model, sampled in one go."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from sortiewright.pack_sampling.air_forces import (
    Setting,
    TrimmedForces,
    configure,
    require_air_forces,
    require_pitch_control,
    trimmed_forces,
)
from sortiewright.pack_sampling.controls import (
    Added,
    GroundEffect,
    PitchMoments,
    PitchTravel,
    SideControls,
    added_by,
    gear_travel,
    ground_effect,
    pitch_moments,
    pitch_travel,
    side_controls,
)
from sortiewright.pack_sampling.engine_points import (
    EngineStand,
    PowerGrid,
    burner_lights,
    military_throttle,
    require_engines,
    windmilling_drag_area,
)
from sortiewright.pack_sampling.english_units import FOOT, INCH, POUND_FORCE
from sortiewright.pack_sampling.flight_model import FlightModel, NotAsAsked, model_fault
from sortiewright.pack_sampling.loading import SampledLoad, read_load, with_seats
from sortiewright.pack_sampling.model_description import ModelDescription, describe
from sortiewright.pack_sampling.stance import Stance, stand
from sortiewright.pack_sampling.transients import SampledTransients, measure_transients

Floats = NDArray[np.float64]

ALPHA_LOWEST, ALPHA_HIGHEST = -12.0, 32.0  # deg: nobody flies beyond
ALPHA_STEP = 2.0
MACH_STEPS = (0.0, 0.2, 0.4, 0.6, 0.7, 0.8, 0.9, 1.0, 1.2, 1.4, 1.6, 1.8, 2.0, 2.2, 2.5)
SLOW_MACH = 0.5  # where a model says nothing of Mach numbers, it is one of slow flight
FLAP_MACH = 0.6
THRUST_MACH_STEPS = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 1.2, 1.4, 1.6, 1.8, 2.0)
PROPELLER_MACH_STEPS = (0.0, 0.03, 0.06, 0.09, 0.12, 0.16, 0.2, 0.25, 0.3, 0.35, 0.4, 0.5)
ALTITUDES = (-2000, 0, 2000, 4000, 6000, 8000, 10000, 15000, 20000, 25000, 30000, 36089, 40000, 45000)  # ft
CEILINGS = {"turbine": 45_000.0, "turboprop": 25_000.0, "piston": 12_000.0}
DEVIATIONS = (-50.0, -40.0, -30.0, -20.0, -10.0, 0.0, 10.0, 20.0, 30.0, 40.0)  # K
FACTOR_MACH, FACTOR_ALTITUDES = (0.1, 0.2), (0.0, 2000 * FOOT, 4000 * FOOT)
MIDDLE_FLAP = 0.5
NEAR = 0.25  # deg or hundredths of Mach: nodes nearer than this are one

Progress = Callable[[str], None]


@dataclass(frozen=True)
class SampledConfiguration:
    """Lift, drag and moments of one flap setting, gear up."""

    flap: float
    forces: TrimmedForces
    moments: PitchMoments


@dataclass(frozen=True)
class SampledPower:
    """One power setting: tables on a standard day and what temperature does."""

    grid: PowerGrid
    augmented: bool
    deviations: Floats
    thrust_factor: Floats
    fuel_flow_factor: Floats


@dataclass(frozen=True)
class SampledAircraft:
    """What was sampled. SI, but the model's own axes in inches."""

    model: str
    version: str
    description: ModelDescription
    stance: Stance
    wing_area: float
    span: float
    mean_chord: float
    reference_x: float
    reference_z: float
    load: SampledLoad
    configurations: dict[str, SampledConfiguration]
    gear: Added
    speedbrake: Added
    pitch: PitchTravel
    sides: SideControls
    effect: GroundEffect
    power: dict[str, SampledPower]
    transients: SampledTransients
    windmilling_drag_area: float
    engine_side_arm: float
    thrust_line_z: float
    """Inches, where the thrust line passes the centre of gravity."""
    thrust_inclination_deg: float
    remarks: list[str] = field(default_factory=list[str])


def sample_model(
    model: str,
    *,
    takeoff_flap: float | None = None,
    seats: int | None = None,
    progress: Progress = lambda _: None,
) -> SampledAircraft:
    """Return everything sampled from a model: one of the library by name, or the path of a model's file.

    ``takeoff_flap`` is the flap lever at takeoff, share of full travel; without it the setting of the lever
    nearest the middle. ``seats`` is how many a model without a crew gets, 1 or 2.
    ``InputError`` where the model cannot be used, with the reason.
    """
    try:
        return _sampled(model, takeoff_flap, seats, progress)
    except NotAsAsked as fault:
        raise model_fault(model, f"does not hold still to be read: {fault}") from None


def _sampled(name: str, takeoff_flap: float | None, seats: int | None, progress: Progress) -> SampledAircraft:
    remarks: list[str] = []
    model = FlightModel(name)
    description = describe(model)
    require_engines(model, description.engines)
    model.place(mach=0.3, altitude=0.0, alpha_deg=3.0)
    require_air_forces(model)
    require_pitch_control(model)
    progress("stance on its wheels")
    load = read_load(model, description)
    if seats is not None:
        try:
            load = with_seats(load, seats)
        except ValueError as fault:
            raise model_fault(name, str(fault), "Leave --seats out") from None
    model.command("fcs/throttle-cmd-norm", 0.0)
    stance = stand(model, description)
    progress("lift and drag")
    model.place(mach=0.3, altitude=0.0)
    travel = gear_travel(model)
    flaps = _flaps(model, description, takeoff_flap, remarks)
    alphas = _alphas(description, stance)
    machs = _grid(MACH_STEPS, description.mach_nodes, SLOW_MACH)
    configurations: dict[str, SampledConfiguration] = {}
    for title, flap in flaps.items():
        configure(model, Setting(flap=flap))
        low = [m for m in machs if m <= FLAP_MACH] if flap else machs
        forces = trimmed_forces(model, alphas, low, balance_x=stance.balance_x)
        configurations[title] = SampledConfiguration(flap, forces, pitch_moments(model, stance.pitch_deg))
        if forces.untrimmed:
            count = forces.lift.size
            remarks.append(
                f"{title}: at {forces.untrimmed} of {count} points full pitch control does not balance the "
                "aircraft; lift and drag there are those of full control."
            )
    takeoff = configurations["takeoff" if "takeoff" in configurations else "clean"]
    base = Setting(flap=takeoff.flap)
    gear = added_by(model, base, Setting(flap=takeoff.flap, gear=1.0), stance.pitch_deg)
    gear = Added(gear.lift, gear.drag, gear.moment, travel)
    brake = added_by(model, Setting(), Setting(speedbrake=1.0), stance.pitch_deg)
    configure(model, Setting(flap=takeoff.flap, gear=1.0))
    progress("controls and ground effect")
    effect = ground_effect(model, stance, tuple(alphas))
    drag_on_wheels = _on_table(takeoff, "drag", stance.pitch_deg)
    least = float(np.min(takeoff.forces.drag[:, _low_column(takeoff)]))
    pitch = pitch_travel(
        model,
        stance,
        table_lift=_on_table(takeoff, "lift", stance.pitch_deg) * effect.lift_in_pack + gear.lift,
        table_drag=least + (drag_on_wheels - least) * float(effect.factor[0]) + gear.drag,
        moments=takeoff.moments,
        gear_moment=gear.moment,
    )
    sides = side_controls(model, stance.pitch_deg)
    progress("throttle")
    power, transients, windmilling = _engines(model, description, remarks, progress)
    mounts = description.engines
    side, line_z, tilt = _thrust_line(model, len(mounts), stance)
    if model.missing:
        remarks.append(
            "Values that the model reads and only a larger simulator sets, taken as nought: "
            + ", ".join(model.missing[:6])
            + (" and more." if len(model.missing) > 6 else ".")
        )
    return SampledAircraft(
        model=model.name,
        version=model.version,
        description=description,
        stance=stance,
        wing_area=model.read("metrics/Sw-sqft") * FOOT**2,
        span=model.read("metrics/bw-ft") * FOOT,
        mean_chord=model.read("metrics/cbarw-ft") * FOOT,
        reference_x=model.read("metrics/aero-rp-x-in"),
        reference_z=model.read("metrics/aero-rp-z-in"),
        load=load,
        configurations=configurations,
        gear=gear,
        speedbrake=brake,
        pitch=pitch,
        sides=sides,
        effect=effect,
        power=power,
        transients=transients,
        windmilling_drag_area=windmilling,
        engine_side_arm=side,
        thrust_line_z=line_z,
        thrust_inclination_deg=tilt,
        remarks=remarks,
    )


def _flaps(
    model: FlightModel, description: ModelDescription, wanted: float | None, remarks: list[str]
) -> dict[str, float]:
    """Return the flap commands of the configurations; clean alone where flaps do not move."""
    configure(model, Setting())
    before = [model.read(name) for name in ("fcs/flap-pos-norm", "fcs/flap-pos-deg")]
    configure(model, Setting(flap=1.0))
    after = [model.read(name) for name in ("fcs/flap-pos-norm", "fcs/flap-pos-deg")]
    configure(model, Setting())
    if before == after:
        remarks.append("The model has no flaps that its flap lever moves: it has one configuration, clean.")
        return {"clean": 0.0}
    takeoff = wanted
    if takeoff is None:
        between = [one for one in description.flap_settings if 0.0 < one < 1.0]
        takeoff = min(between, key=lambda one: abs(one - MIDDLE_FLAP), default=MIDDLE_FLAP)
    if takeoff in (0.0, 1.0):
        return (
            {"clean": 0.0, "landing": 1.0}
            if takeoff == 0.0
            else {"clean": 0.0, "takeoff": 1.0, "landing": 1.0}
        )
    return {"clean": 0.0, "takeoff": takeoff, "landing": 1.0}


def _alphas(description: ModelDescription, stance: Stance) -> list[float]:
    """Return the angles of attack to sample: where tables bend, and between."""
    low = max(description.alpha_range_deg[0], ALPHA_LOWEST)
    high = min(description.alpha_range_deg[1], ALPHA_HIGHEST)
    if not low < stance.pitch_deg < high:
        low, high = min(low, stance.pitch_deg - 1.0), max(high, stance.pitch_deg + 1.0)
    first, last = math.ceil(low / ALPHA_STEP), math.floor(high / ALPHA_STEP)
    steps = [ALPHA_STEP * i for i in range(first, last + 1)]
    nodes = [a for a in (*description.alpha_nodes_deg, low, high) if low <= a <= high]
    return _merged(nodes, steps, NEAR)


def _grid(steps: Sequence[float], nodes: Sequence[float], without: float) -> list[float]:
    """Return the Mach numbers to sample: where tables bend, and usual ones as far as the tables go."""
    end = max(nodes) if nodes and max(nodes) > 0.0 else without
    return _merged([0.0, end, *nodes], [m for m in steps if m <= end], NEAR / 100)


def _merged(nodes: Sequence[float], steps: Sequence[float], near: float) -> list[float]:
    """Return both in order; a step near a node gives way to it, and so does a node near the one before."""
    kept: list[float] = []
    for node in sorted(set(nodes)):
        if not kept or node - kept[-1] > near:
            kept.append(node)
    return sorted([*kept, *(s for s in steps if all(abs(s - node) > near for node in kept))])


def _low_column(one: SampledConfiguration) -> int:
    return int(np.argmin(np.abs(one.forces.mach - 0.2)))


def _on_table(one: SampledConfiguration, what: str, alpha_deg: float) -> float:
    table: Floats = getattr(one.forces, what)
    values: Floats = table[:, _low_column(one)]
    return float(np.interp(alpha_deg, one.forces.alpha_deg, values))


_FUNCTIONS = {"idle": "IdleThrust", "military": "MilThrust", "maximum": "AugThrust"}


def _engines(
    model: FlightModel, description: ModelDescription, remarks: list[str], progress: Progress
) -> tuple[dict[str, SampledPower], SampledTransients, float]:
    mounts = description.engines
    first = mounts[0]
    configure(model, Setting())
    stand_ = EngineStand(model, description)
    stand_.place(0.2, 0.0)
    stand_.start()
    military = military_throttle(model, mounts)
    augmented = burner_lights(stand_, military)
    if first.burner_method is not None and not augmented:
        remarks.append("The engine file names a burner that full throttle does not light: not sampled.")
    throttles = {"idle": 0.0, "military": military} | ({"maximum": 1.0} if augmented else {})
    altitudes = [a * FOOT for a in ALTITUDES if a <= CEILINGS[first.kind]]
    power: dict[str, SampledPower] = {}
    for name, throttle in throttles.items():
        progress(f"thrust and fuel flow, {name}")
        if first.has_propeller or first.kind != "turbine":
            machs = list(PROPELLER_MACH_STEPS)
        else:
            nodes = description.thrust_mach_nodes.get(_FUNCTIONS[name], ())
            machs = _grid(THRUST_MACH_STEPS, nodes, 1.0)
        grid = stand_.grid(throttle, machs, altitudes)
        thrust, flow, spread = stand_.temperature_factors(
            throttle, DEVIATIONS, mach=FACTOR_MACH, pressure_altitude=FACTOR_ALTITUDES
        )
        if spread > NOTABLE_SPREAD and name != "idle":
            remarks.append(
                f"{name}: the effect of temperature on thrust is one table for all places; below 4,000 ft "
                f"and Mach 0.2 the model's departs from it by up to {100 * spread:.1f} %."
            )
        power[name] = SampledPower(grid, name == "maximum", np.array(DEVIATIONS), thrust, flow)
    _require_thrust(model, power, len(mounts))
    progress("changes of power")
    transients = measure_transients(stand_, military, augmented=augmented)
    return power, transients, windmilling_drag_area(stand_)


def _require_thrust(model: FlightModel, power: dict[str, SampledPower], engines: int) -> None:
    """Raise ``InputError`` where full throttle could not even roll the empty aircraft."""
    grid = power["military"].grid
    standing = float(grid.thrust[0, int(np.argmin(np.abs(grid.pressure_altitude)))]) * engines
    share = standing / (model.read("inertia/empty-weight-lbs") * POUND_FORCE)
    if share < LEAST_THRUST_SHARE:
        hint = "Its throttle may belong to a larger simulator, or its engine needs a start of its own"
        raise model_fault(
            model.name, f"pulls {100 * share:.0f} % of its empty weight at full throttle, standing", hint
        )


LEAST_THRUST_SHARE = 0.06  # friction alone takes 2 %
NOTABLE_SPREAD = 0.005


def _thrust_line(model: FlightModel, count: int, stance: Stance) -> tuple[float, float, float]:
    """Return side arm m, height of the line at the centre of gravity in inches, and inclination deg."""
    names = [f"propulsion/engine[{i}]" if i else "propulsion/engine" for i in range(count)]
    x, y, z = (
        np.array([model.read(f"{name}/{axis}-position") for name in names]) for axis in ("x", "y", "z")
    )
    tilt = float(np.mean([model.read(f"{name}/pitch-angle-rad") for name in names]))
    line = float(np.mean(z - (stance.balance_x - x) * math.tan(-tilt)))
    return float(np.mean(np.abs(y))) * INCH, line, math.degrees(tilt)
