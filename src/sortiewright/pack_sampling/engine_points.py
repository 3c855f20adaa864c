"""Thrust and fuel flow of one engine, read with the aircraft held at a Mach number and height.

Time goes on while the aircraft is held, so spool speeds, propellers and fuel controls come to rest by
themselves and need not be set.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sortiewright.pack_sampling.english_units import FOOT, POUND, POUND_FORCE, POUNDS_A_SQUARE_FOOT
from sortiewright.pack_sampling.flight_model import FlightModel, NotAsAsked, model_fault
from sortiewright.pack_sampling.model_description import EngineMount, ModelDescription

Floats = NDArray[np.float64]

KINDS = ("turbine", "turboprop", "piston")
SPOOL_TIME = 12.0  # s from one power setting to another
NEXT_POINT = 2.0  # s from one point to its neighbour
WAITS = 15
CLOSE = 2e-4  # change over a wait, as a share of the greatest thrust, that counts as none
FUEL_KEPT = 0.6  # of the capacity: engines do not run dry while they are read
STANDING_AIR = 0.0
STANDING = 1e-4  # Mach: a propeller model may divide by airspeed


@dataclass(frozen=True)
class PowerPoint:
    """One engine's net thrust, N, and fuel flow, kg/s."""

    thrust: float
    fuel_flow: float


@dataclass(frozen=True)
class PowerGrid:
    """Thrust N and fuel flow kg/s over (Mach, pressure altitude m) at one throttle, standard day."""

    throttle: float
    mach: Floats
    pressure_altitude: Floats
    thrust: Floats
    fuel_flow: Floats


class EngineStand:
    """The engines of a model, run at throttle commands; the first is read, and all must agree."""

    def __init__(self, model: FlightModel, description: ModelDescription) -> None:
        self.model, self.mounts = model, description.engines
        require_engines(model, self.mounts)
        self.greatest = 1.0
        self._fuel = tuple(
            (
                f"propulsion/tank[{i}]/contents-lbs" if i else "propulsion/tank/contents-lbs",
                one.capacity * FUEL_KEPT,
            )
            for i, one in enumerate(description.tanks)
        )

    def start(self) -> None:
        """Have all engines run, as after a start, without its sequence."""
        self.refuel()
        self._levers("mixture", 1.0)
        if mounted_pistons(self.mounts):
            self.model.write_where_it_is("propulsion/magneto_cmd", 3.0)
            # Some constant-speed propellers set running with fine pitch stop the engine at once.
            self._levers("advance", 0.0)
            self.model.run(0.0)
            self.model.write("propulsion/set-running", -1)
            self.model.run(0.0)
            self.lean()
        else:
            self.model.write("propulsion/set-running", -1)
        self._levers("advance", 1.0)

    def _levers(self, lever: str, position: float) -> None:
        for i in range(len(self.mounts)):
            self.model.write_where_it_is(indexed(f"fcs/{lever}-cmd-norm", i), position)

    def refuel(self) -> None:
        """Fill the tanks again to where they were."""
        for name, contents in self._fuel:
            self.model.write_where_it_is(name, contents)

    def throttle(self, command: float) -> None:
        """Set all throttle levers."""
        for i in range(len(self.mounts)):
            self.model.write(indexed("fcs/throttle-cmd-norm", i), command)

    def place(self, mach: float, altitude: float, temperature_deviation: float = 0.0) -> None:
        """Hold the aircraft at a Mach number and geometric height, m, engines running."""
        self.model.place(
            mach=mach,
            altitude=altitude / FOOT,
            temperature_deviation=temperature_deviation,
            least_mach=STANDING,
        )
        self.refuel()
        if mounted_pistons(self.mounts):
            self.lean()

    def lean(self) -> None:
        """Set the mixture in proportion to pressure: fully rich, a piston engine stops at height."""
        richness = min(self.model.read("atmosphere/P-psf") / STANDARD_PRESSURE, 1.0)
        self._levers("mixture", richness)

    def read(self) -> PowerPoint:
        """Return thrust along the nozzle axis and fuel flow of the first engine as they are now."""
        thrust = self.model.read("propulsion/engine/thrust-lbs") * POUND_FORCE
        flow = self.model.read("propulsion/engine/fuel-flow-rate-pps") * POUND
        if not (math.isfinite(thrust) and math.isfinite(flow)):
            raise NotAsAsked("thrust is not finite")
        return PowerPoint(thrust, flow)

    def settled(self, first_wait: float = NEXT_POINT) -> PowerPoint:
        """Return thrust and fuel flow once neither changes any more; the mean where they never rest."""
        self.model.run(first_wait)
        before = now = self.read()
        for _ in range(WAITS):
            self.refuel()
            self.model.run(NEXT_POINT)
            before, now = now, self.read()
            self.greatest = max(self.greatest, abs(now.thrust))
            flow_scale = max(abs(now.fuel_flow), 1e-6)
            rests = abs(now.thrust - before.thrust) < CLOSE * self.greatest
            if rests and abs(now.fuel_flow - before.fuel_flow) < 10 * CLOSE * flow_scale:
                return now
        return PowerPoint((before.thrust + now.thrust) / 2, (before.fuel_flow + now.fuel_flow) / 2)

    def grid(self, throttle: float, mach: Sequence[float], pressure_altitude: Sequence[float]) -> PowerGrid:
        """Return thrust and fuel flow over Mach and pressure altitude, m, on a standard day."""
        thrust = np.zeros((len(mach), len(pressure_altitude)))
        flow = np.zeros_like(thrust)
        self.throttle(throttle)
        for j, altitude in enumerate(pressure_altitude):
            first = True
            for i, m in enumerate(mach):
                self.place(m, altitude)
                if first:
                    self.start()
                point = self.settled(SPOOL_TIME if first else NEXT_POINT)
                first = False
                thrust[i, j], flow[i, j] = point.thrust, point.fuel_flow
        return PowerGrid(throttle, np.array(mach), np.array(pressure_altitude), thrust, flow)

    def temperature_factors(
        self,
        throttle: float,
        deviations: Sequence[float],
        *,
        mach: Sequence[float],
        pressure_altitude: Sequence[float],
    ) -> tuple[Floats, Floats, float]:
        """Return the factors on thrust and fuel flow at these deviations, K, and how far from one for all
        places the factor on thrust is.

        Mean over the places given. Height is chosen so that pressure, not height, is the same. Where the
        places have nothing in common, as an idling propeller that pulls in one and brakes in another, thrust
        is left as it is.
        """
        self.throttle(throttle)
        thrust: list[list[float]] = []
        flow: list[list[float]] = []
        for altitude in pressure_altitude:
            for m in mach:
                standard = self._at_pressure(m, altitude, 0.0)
                points = [self._at_pressure(m, altitude, deviation) for deviation in deviations]
                if standard.thrust <= 0.0 or standard.fuel_flow <= 0.0:
                    continue
                thrust.append([point.thrust / standard.thrust for point in points])
                flow.append([point.fuel_flow / standard.fuel_flow for point in points])
        if not thrust:
            return np.ones(len(deviations)), np.ones(len(deviations)), 0.0
        factors = np.array(thrust)
        spread = float(np.max(np.abs(factors - factors.mean(axis=0))))
        if spread > NOTHING_IN_COMMON:
            factors = np.ones_like(factors)
        return np.maximum(factors.mean(axis=0), 0.0), np.maximum(np.mean(flow, axis=0), 0.0), spread

    def _at_pressure(self, mach: float, pressure_altitude: float, deviation: float) -> PowerPoint:
        """Return the point at this pressure altitude, m, on a day that much warmer than standard."""
        height = pressure_altitude
        for _ in range(PRESSURE_ITERATIONS):
            self.place(mach, height, deviation)
            self.model.run(0.0)
            height += pressure_altitude - self.model.read("atmosphere/pressure-altitude") * FOOT
        self.place(mach, height, deviation)
        return self.settled()


PRESSURE_ITERATIONS = 2
NOTHING_IN_COMMON = 0.5
STANDARD_PRESSURE = 2116.22  # lb/ft2, sea level (ISO 2533: 101 325 Pa)


def indexed(name: str, i: int) -> str:
    """Return the name of an engine's property: the library gives the first no number."""
    return f"{name}[{i}]" if i else name


def mounted_pistons(mounts: Sequence[EngineMount]) -> bool:
    """Return whether the engines are piston engines."""
    return mounts[0].kind == "piston"


def require_engines(model: FlightModel, mounts: Sequence[EngineMount]) -> None:
    """Raise ``InputError`` where the engines are none, too many, of several kinds, or of a kind not read."""
    if not mounts:
        raise model_fault(model.name, "has no engine", "A glider or a thing that falls makes no takeoff run")
    if len(mounts) > MOST_ENGINES:
        raise model_fault(model.name, f"has {len(mounts)} engines: a pack has 1 to {MOST_ENGINES}")
    kinds = sorted({mount.kind for mount in mounts})
    if unknown := [kind for kind in kinds if kind not in KINDS]:
        raise model_fault(
            model.name, f"has {unknown[0]} engines: turbine, turboprop and piston engines can be sampled"
        )
    if len({mount.name for mount in mounts}) > 1:
        raise model_fault(model.name, "has engines of several types: in a pack all are alike")
    if mounts[0].kind == "turbine" and not model.has("propulsion/engine/thrust-lbs"):
        raise model_fault(model.name, "does not tell its engines' thrust")


MOST_ENGINES = 4


def military_throttle(model: FlightModel, mounts: Sequence[EngineMount]) -> float:
    """Return the highest throttle command at which no burner is lit, 1 where there is none."""
    method = mounts[0].burner_method
    if method is None or method == 0:
        return 1.0
    limit = 1.0 if method == 2 else BURNER_POSITION
    low, high = 0.0, 1.0
    if _position(model, 1.0) <= limit:
        return 1.0
    for _ in range(THROTTLE_ITERATIONS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if _position(model, middle) <= limit else (low, middle)
    return round(low, 6)


BURNER_POSITION = 0.99  # throttle position above which the library lights the burner of method 1
THROTTLE_ITERATIONS = 24


def _position(model: FlightModel, command: float) -> float:
    model.write("fcs/throttle-cmd-norm", command)
    model.run(THROTTLE_TIME)
    return model.read("fcs/throttle-pos-norm")


THROTTLE_TIME = 0.5  # s for the throttle to follow its lever, which it does at once in most models


def burner_lights(stand: EngineStand, military: float) -> bool:
    """Return whether full throttle gives the burner's thrust at all."""
    if stand.mounts[0].burner_method is None:
        return False
    stand.place(0.2, STANDING_AIR)
    stand.throttle(military)
    dry = stand.settled(SPOOL_TIME)
    stand.throttle(1.0)
    lit = stand.settled(SPOOL_TIME)
    return lit.thrust > dry.thrust * LIT_GAIN


LIT_GAIN = 1.02


def windmilling_drag_area(stand: EngineStand, *, mach: float = 0.3) -> float:
    """Return drag over dynamic pressure of a dead engine, m2, all engines shut down."""
    model = stand.model
    stand.throttle(0.0)
    stand.place(mach, STANDING_AIR)
    for i in range(len(stand.mounts)):
        shut_down(model, i)
    model.run(WINDMILL_TIME)
    drag = -model.read("propulsion/engine/thrust-lbs") * POUND_FORCE
    pressure = model.read("aero/qbar-psf") * POUNDS_A_SQUARE_FOOT
    stand.start()
    return max(drag, 0.0) / pressure


WINDMILL_TIME = 30.0  # s until a dead engine's rotation has settled


def shut_down(model: FlightModel, engine: int) -> None:
    """Stop an engine for good: fuel off, ignition off."""
    model.write("propulsion/active_engine", engine)
    model.write_where_it_is("propulsion/cutoff_cmd", 1.0)
    model.write_where_it_is("propulsion/magneto_cmd", 0.0)
    model.write(indexed("fcs/mixture-cmd-norm", engine), 0.0)
    model.write(f"propulsion/engine[{engine}]/set-running", 0.0)
    model.write("propulsion/active_engine", -1)
