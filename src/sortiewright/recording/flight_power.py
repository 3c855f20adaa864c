"""What the engines do, told from whichever channels there are."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from sortiewright.recording.hysteresis import (
    Column,
    Floats,
    Truths,
    filled,
    held_truths,
    median_of_three,
    switched,
)
from sortiewright.recording.phase_limits import PhaseLimits
from sortiewright.recording.recording import Recording
from sortiewright.recording.signal_columns import Share, above, greatest, mask_of, most

SIDES = ("", "_left", "_right")
# Share of rated: windmilling and starting lie under it, idle over it. A fan turns much slower than a core.
_RUNNING_SPEED = {"engine_speed": 0.3, "fan_speed": 0.1}
_FULL_SPEED = 0.97  # of the most used: military power and above
_OFF_SHARE = 0.6  # of idle: an engine slower than this does not run on its own
_BURNER_FLOW_RATIO = 1.6  # a lit burner takes at least so many times the flow of military power


@dataclass(frozen=True)
class Engine:
    """One engine; a channel that is not recorded is None."""

    side: str
    """``_left``, ``_right``, or empty for a single one."""
    speed: Floats | None
    """Share of rated."""
    flow: Floats | None
    lever: Floats | None
    running: Truths | None
    idle: float
    """Engine speed at idle."""


@dataclass(frozen=True)
class Power:
    """All engines together."""

    share: Column | None
    """Of the engine that gives most: 0 at idle, 1 at the most used in the recording."""
    lever: Column | None
    """Of the lever furthest forward, share of travel."""
    burner: Truths | None
    """Whether any burner is lit."""
    off: Truths | None
    """Whether all engines are shut down."""
    engines: tuple[Engine, ...]
    basis: str
    """What told ``share``; empty where nothing did."""
    burner_basis: str
    notes: tuple[str, ...]


def power_of(recording: Recording, on_wheels: Truths, limits: PhaseLimits) -> Power:
    """Return what the engines did. Channels in order: engine speed, fan speed, throttle."""
    notes: list[str] = []
    name = next((name for name in ("engine_speed", "fan_speed") if _sides(recording, name)), "")
    engines = tuple(
        _engine(recording, side, name, on_wheels)
        for side in SIDES
        if any(recording.has(channel + side) for channel in (name or "engine_speed", "throttle", "fuel_flow"))
    )
    # An engine that failed, or ran at full power only, idles as the other does.
    idle = max((engine.idle for engine in engines), default=0.0)
    engines = tuple(replace(engine, idle=idle) for engine in engines)
    lever = greatest([engine.lever for engine in engines if engine.lever is not None])
    share, basis = _share(engines, name), name
    if share is None and lever is not None:
        full = most(lever, recording.rows)
        share, basis = (Share(lever, 0.0, full), "throttle") if full > 0.0 else (None, "")
        notes.append("No engine speed is recorded: power is told from the throttle.")
    if share is None:
        basis = ""
        notes.append("No channel shows power: takeoff power, run-up and closed levers cannot be told.")
    burner, burner_basis = _burner(recording, engines, lever, limits)
    return Power(share, lever, burner, _off(engines), engines, basis, burner_basis, tuple(notes))


def _sides(recording: Recording, name: str) -> bool:
    return any(recording.has(name + side) for side in SIDES)


def _engine(recording: Recording, side: str, name: str, on_wheels: Truths) -> Engine:
    def values(channel: str) -> Floats | None:
        return filled(recording.number(channel), recording.time) if recording.has(channel) else None

    speed = values(name + side) if name else None
    running = (
        held_truths(recording.number("engine_running" + side))
        if recording.has("engine_running" + side)
        else None
    )
    idle = 0.0
    if speed is not None:
        speed = median_of_three(speed)
        idle = _idle(speed, on_wheels, _RUNNING_SPEED[name])
    return Engine(side, speed, values("fuel_flow" + side), values("throttle" + side), running, idle)


def _idle(speed: Floats, on_wheels: Truths, floor: float) -> float:
    """Return the speed at idle: the low end of what a running engine does, on the ground where recorded."""
    running = speed > floor
    seen = speed[running & on_wheels]
    if not seen.size:
        seen = speed[running]
    if not seen.size:
        return 0.0
    # Of long recordings a thinned part will do: a percentile sorts.
    low = float(np.percentile(seen[:: max(1, seen.size // 20_000)], 5.0))
    most = max(float(speed.max()), 1.0)
    return low if low < 0.85 * most else 0.6 * most


def _share(engines: tuple[Engine, ...], name: str) -> Column | None:
    if not name:
        return None
    return greatest(
        [
            Share(engine.speed, engine.idle, max(_most(engine.speed) - engine.idle, 0.05))
            for engine in engines
            if engine.speed is not None
        ]
    )


def _most(speed: Floats) -> float:
    """Return the engine speed that counts as all: the most used, or rated where full power never was."""
    greatest = float(speed.max())
    return greatest if greatest > 0.95 else 1.0


def _off(engines: tuple[Engine, ...]) -> Truths | None:
    """Return where no engine runs, by speed, else by what says that it runs, else by fuel flow."""
    each: list[Truths] = []
    for engine in engines:
        if engine.speed is not None:
            each.append(engine.speed < _OFF_SHARE * engine.idle)
        elif engine.running is not None:
            each.append(~engine.running)
        elif engine.flow is not None:
            each.append(engine.flow < 1e-4)
    return np.logical_and.reduce(each) if each else None


def _burner(
    recording: Recording, engines: tuple[Engine, ...], lever: Column | None, limits: PhaseLimits
) -> tuple[Truths | None, str]:
    stages = [
        recording.number("afterburner_stage" + side)
        for side in SIDES
        if recording.has("afterburner_stage" + side)
    ]
    if stages:
        # A stage that is missing counts as none.
        return np.logical_or.reduce([one > 0.5 for one in stages]), "afterburner stage"
    if limits.burner_throttle is not None and lever is not None:
        return mask_of(above(lever, limits.burner_throttle), 0, recording.rows), "throttle"
    lit = [one for engine in engines for one in [_burner_by_flow(engine)] if one is not None]
    return (np.logical_or.reduce(lit), "fuel flow at full engine speed") if lit else (None, "")


def _burner_by_flow(engine: Engine) -> Truths | None:
    """Return where the flow at full engine speed is that of a burner; None where it is of one kind only."""
    if engine.speed is None or engine.flow is None:
        return None
    full = engine.speed >= _FULL_SPEED * _most(engine.speed)
    flows = engine.flow[full]
    if flows.size < 20:
        return None
    low, high = np.percentile(flows[:: max(1, flows.size // 20_000)], (2.0, 98.0))
    if low <= 0.0 or high < _BURNER_FLOW_RATIO * low:
        return None
    level = float(np.sqrt(low * high))
    return switched(engine.flow, above=1.05 * level, below=0.95 * level)
