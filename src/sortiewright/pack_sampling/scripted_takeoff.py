"""A plain scripted pilot: the flight model flies a takeoff, continued or rejected, on a straight runway.

It gives numbers to hold a plan against that share nothing with the plan but the technique.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from sortiewright.pack_sampling.engine_points import EngineStand, indexed, military_throttle, shut_down
from sortiewright.pack_sampling.english_units import FOOT, INCH, KNOT, POUND, POUNDS_A_SQUARE_FOOT, RANKINE
from sortiewright.pack_sampling.flight_model import FlightModel, NotAsAsked
from sortiewright.pack_sampling.model_description import ModelDescription, describe
from sortiewright.pack_sampling.stance import Stance, stand
from sortiewright.pack_sampling.stick import rate_command, usual_pitch_power

SETTLE_TIME = 8.0  # s standing before the run-up
RUN_UP_TIME = 15.0  # s at release power: engines and fuel control have settled
LONGEST = 150.0  # s
STANDSTILL = 0.3  # m/s
SCREEN = 50 * FOOT
PITCH_BANDWIDTH, PITCH_CLOSING, PITCH_HOLD = 4.0, 3.0, 2.0  # 1/s: rate loop, its integral, attitude loop
STICK_RATE = 1.0  # full travels a second: pulled faster, the nosewheel hops
STEERING, STEERING_DAMPING, STEERING_CLOSING = 20.0, 30.0, 6.0  # per rad off the heading, its rate, its sum


@dataclass(frozen=True)
class TakeoffOrder:
    """How to take off. SI: m, m/s, K, kg, rad, s. Throttles are lever commands.

    ``release_throttle`` is held on the brakes, None for full military; ``takeoff_throttle`` follows
    ``advance_delay`` after release. ``fuel`` is the share of every tank's capacity.
    """

    rotation_cas: float
    pitch_rate: float
    attitude: float
    elevation: float = 0.0
    temperature_deviation: float = 0.0
    headwind: float = 0.0
    fuel: float = 0.9
    flap: float = 0.0
    release_throttle: float | None = None
    takeoff_throttle: float = 1.0
    advance_delay: float = 0.0
    fail_engine_at: float | None = None
    """Calibrated airspeed at which engine 1 stops."""
    reject_at: float | None = None
    """Calibrated airspeed of the event after which all levers close."""
    recognition: float = 1.0
    brakes_after: float = 3.0
    brake_command: float = 0.4


@dataclass(frozen=True)
class FlownTakeoff:
    """What came out. Distances m from brake release, speeds calibrated m/s, NaN where not reached."""

    mass: float
    balance_arm: float
    pressure: float
    temperature: float
    nosewheel_off_cas: float
    nosewheel_off_distance: float
    rotation_rate: float
    """Mean from nosewheel-off to nine tenths of the attitude, or to lift-off if that is first, rad/s."""
    lift_off_cas: float
    lift_off_pitch: float
    lift_off_time: float
    ground_run: float
    distance_to_screen: float
    stop_distance: float
    event_ground_speed: float
    farthest_off_centre: float


def fly_takeoff_script(model_name: str, order: TakeoffOrder) -> FlownTakeoff:
    """Return the takeoff that the flight model makes when flown as ordered."""
    return _Flight(FlightModel(model_name), order).fly()


class _Flight:
    """One takeoff. Distances are integrated from ground speed, step by step."""

    def __init__(self, model: FlightModel, order: TakeoffOrder) -> None:
        self.model, self.order = model, order
        self.description: ModelDescription = describe(model)
        model.place(mach=0.3, altitude=0.0)
        self.engines = EngineStand(model, self.description)
        self._fill()
        model.command("fcs/flap-cmd-norm", order.flap)
        model.command("gear/gear-cmd-norm", 1.0)
        self.stance: Stance = stand(model, self.description)
        self.main_units = [
            f"gear/unit[{i}]/WOW"
            for i, one in enumerate(self.description.contacts)
            if one.is_wheel and i and one.x > self.stance.balance_x
        ]
        self.nose_unit = next(
            f"gear/unit[{i}]/WOW" if i else "gear/unit/WOW"
            for i, one in enumerate(self.description.contacts)
            if one.is_wheel and one.x < self.stance.balance_x
        )
        self.distance = 0.0
        self.clock = 0.0
        self.stick = 0.0
        self.integral = 0.0
        self.held_off = 0.0

    def fly(self) -> FlownTakeoff:
        """Fly it from a standstill to the screen, or to the stop."""
        model, order = self.model, self.order
        dry = military_throttle(model, self.description.engines)
        self._stand_at_the_field()
        release = dry if order.release_throttle is None else order.release_throttle
        self._run_up(release)
        mass, arm = model.read("inertia/weight-lbs") * POUND, model.read("inertia/cg-x-in") * INCH
        air = model.read("atmosphere/P-psf") * POUNDS_A_SQUARE_FOOT, model.read("atmosphere/T-R") * RANKINE
        self._brakes(0.0)
        seen = _Seen()
        while self.clock < LONGEST and not seen.over:
            self._fly_step(release, seen)
        return FlownTakeoff(
            mass,
            arm,
            *air,
            seen.nose_cas,
            seen.nose_distance,
            seen.rotation_rate,
            seen.lift_off_cas,
            seen.lift_off_pitch,
            seen.lift_off_time,
            seen.ground_run,
            seen.screen,
            seen.stop,
            seen.event_speed,
            seen.off_centre,
        )

    def _fill(self) -> None:
        for i, tank in enumerate(self.description.tanks):
            name = indexed("propulsion/tank", i)
            self.model.write(f"{name}/contents-lbs", tank.capacity * self.order.fuel)

    def _stand_at_the_field(self) -> None:
        model, order = self.model, self.order
        model.write("atmosphere/delta-T", order.temperature_deviation / RANKINE)
        model.write("ic/terrain-elevation-ft", order.elevation / FOOT)
        model.write("ic/h-sl-ft", (order.elevation + self.stance.balance_height) / FOOT)
        for name in ("ic/vt-kts", "ic/phi-deg", "ic/psi-true-deg", "ic/alpha-deg", "ic/beta-deg"):
            model.write(name, 0.0)
        model.write("ic/theta-deg", self.stance.pitch_deg)
        model.start()
        model.write("atmosphere/wind-north-fps", -order.headwind / FOOT)
        model.let_go()

    def _run_up(self, release: float) -> None:
        self.engines.start()
        self._brakes(1.0)
        self.engines.throttle(0.0)
        self.model.run(SETTLE_TIME)
        self.engines.throttle(release)
        self.model.run(RUN_UP_TIME)
        self._fill()
        self.model.run(0.0)

    def _brakes(self, command: float) -> None:
        for side in ("left", "right", "center"):
            self.model.write(f"fcs/{side}-brake-cmd-norm", command)

    def _fly_step(self, release: float, seen: _Seen) -> None:
        model = self.model
        cas = model.read("velocities/vc-kts") * KNOT
        speed = model.read("velocities/v-north-fps") * FOOT
        if not math.isfinite(speed):
            raise NotAsAsked("the flight model's speed is not finite")
        self._levers(release, seen)
        self._events(cas, speed, seen)
        self._steer()
        self._pitch(cas, seen)
        step = model.step_time
        model.run(0.0)
        self.distance += 0.5 * (speed + model.read("velocities/v-north-fps") * FOOT) * step
        self.clock += step
        self._watch(seen)

    def _levers(self, release: float, seen: _Seen) -> None:
        order = self.order
        if seen.rejected_at is not None:
            since = self.clock - seen.rejected_at
            if since >= order.recognition:
                self.engines.throttle(0.0)
            if since >= order.brakes_after:
                self._brakes(order.brake_command)
        elif self.clock >= order.advance_delay:
            self.engines.throttle(order.takeoff_throttle)
        else:
            self.engines.throttle(release)

    def _events(self, cas: float, speed: float, seen: _Seen) -> None:
        order = self.order
        if order.reject_at is not None and seen.rejected_at is None and cas >= order.reject_at:
            seen.rejected_at, seen.event_speed = self.clock, speed
        if order.fail_engine_at is not None and not seen.failed and cas >= order.fail_engine_at:
            seen.failed, seen.event_speed = True, speed
            shut_down(self.model, 0)

    def _steer(self) -> None:
        """Keep the heading, north, with nosewheel and rudder, and the wings level."""
        model = self.model
        drift = model.read("position/long-gc-deg") * METRES_A_DEGREE
        aim = -_clip(CENTRING * drift, MOST_CORRECTION)
        off = math.remainder(model.read("attitude/psi-rad"), 2 * math.pi) - aim
        rate = model.read("velocities/r-rad_sec")
        wanted = STEERING * off + STEERING_DAMPING * rate + self.held_off
        if abs(wanted) < 1.0:
            self.held_off += STEERING_CLOSING * off * model.step_time
        # The library counts steering positive to the right and rudder positive to the left.
        model.write("fcs/steer-cmd-norm", _clip(-wanted, 1.0))
        model.write("fcs/rudder-cmd-norm", _clip(wanted, 1.0))
        bank, roll = model.read("attitude/phi-rad"), model.read("velocities/p-rad_sec")
        on_wheels = any(model.read(name) > 0.5 for name in self.main_units)
        level = 0.0 if on_wheels else -_clip(BANKING * off, MOST_BANK)
        model.write("fcs/aileron-cmd-norm", _clip(ROLL_HOLD * (level - bank) - roll, 1.0))

    def _pitch(self, cas: float, seen: _Seen) -> None:
        """Raise the nose at the ordered rate to the ordered attitude, stick moved at a human rate."""
        model, order = self.model, self.order
        if seen.rejected_at is not None or cas < order.rotation_cas:
            wanted = 0.0
        else:
            wanted = self._held_rate() if seen.nose_is_off else 1.0
        step = STICK_RATE * model.step_time
        self.stick += min(max(wanted - self.stick, -step), step)
        model.command("fcs/elevator-cmd-norm", -self.stick)

    def _held_rate(self) -> float:
        """Return the stick that raises the nose at the ordered rate, and holds the ordered attitude."""
        model, order = self.model, self.order
        pitch, rate = model.read("attitude/theta-rad"), model.read("velocities/q-rad_sec")
        command, self.integral = rate_command(
            _clip(PITCH_HOLD * (order.attitude - pitch), order.pitch_rate),
            rate,
            self.integral,
            power=self._pitch_power(),
            bandwidth=PITCH_BANDWIDTH,
            closing=PITCH_CLOSING,
            step=model.step_time,
        )
        return command

    def _pitch_power(self) -> float:
        """Return the pitch acceleration of full stick, rad/s2, for a usual tail."""
        names = "aero/qbar-psf", "metrics/Sw-sqft", "metrics/cbarw-ft", "inertia/iyy-slugs_ft2"
        return usual_pitch_power(*(self.model.read(name) for name in names))

    def _watch(self, seen: _Seen) -> None:
        model = self.model
        cas, pitch = model.read("velocities/vc-kts") * KNOT, model.read("attitude/theta-rad")
        speed = model.read("velocities/v-north-fps") * FOOT
        seen.off_centre = max(seen.off_centre, abs(model.read("position/long-gc-deg")) * METRES_A_DEGREE)
        if seen.rejected_at is not None:
            if speed < STANDSTILL:
                seen.stop, seen.over = self.distance, True
            return
        if not seen.nose_is_off and self.stick > 0.0 and model.read(self.nose_unit) < 0.5:
            seen.nose_is_off, self.integral = True, self.stick * self._pitch_power()
        if model.read(self.nose_unit) > 0.5:
            seen.nose_cas, seen.nose_distance = cas, self.distance
            seen.nose_pitch, seen.nose_time = pitch, self.clock
        if any(model.read(name) > 0.5 for name in self.main_units):
            seen.last_on_wheels = (cas, pitch, self.clock, self.distance)
            if pitch >= NEARLY * self.order.attitude and seen.nearly_raised is None:
                seen.nearly_raised = (self.clock, pitch)
        height = model.read("position/h-agl-ft") * FOOT - self.stance.balance_height
        if height >= SCREEN:
            seen.screen, seen.over = self.distance, True
            seen.lift_off_cas, seen.lift_off_pitch, seen.lift_off_time, seen.ground_run = seen.last_on_wheels
            raised_at, raised = seen.nearly_raised or (seen.lift_off_time, seen.lift_off_pitch)
            if raised_at > seen.nose_time:
                seen.rotation_rate = (raised - seen.nose_pitch) / (raised_at - seen.nose_time)


CENTRING, MOST_CORRECTION = 0.005, 0.1  # rad of heading for each metre off the centre line; rad
BANKING, MOST_BANK, ROLL_HOLD = 2.0, 0.14, 3.0  # bank per rad off the heading, rad, aileron per rad
NEARLY = 0.9  # of the ordered attitude: the last of it is approached ever more slowly
METRES_A_DEGREE = 111_195.0  # of a great circle on a sphere of 6371 km


@dataclass
class _Seen:
    """What has happened so far."""

    over: bool = False
    failed: bool = False
    rejected_at: float | None = None
    event_speed: float = math.nan
    nose_is_off: bool = False
    nose_cas: float = math.nan
    nose_pitch: float = math.nan
    nose_time: float = math.nan
    nearly_raised: tuple[float, float] | None = None
    rotation_rate: float = math.nan
    nose_distance: float = math.nan
    last_on_wheels: tuple[float, float, float, float] = (math.nan, math.nan, math.nan, math.nan)
    lift_off_cas: float = math.nan
    lift_off_pitch: float = math.nan
    lift_off_time: float = math.nan
    ground_run: float = math.nan
    screen: float = math.nan
    stop: float = math.nan
    off_centre: float = 0.0


def _clip(value: float, limit: float) -> float:
    return min(max(value, -limit), limit)
