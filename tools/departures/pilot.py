"""A pilot of a few loops: taxies, lines up, takes off and climbs in a flight model, as ordered."""

from __future__ import annotations

import math
from collections.abc import Callable, Generator

import jsbsim
from orders import Departure
from truth import Truth

from sortiewright.pack_sampling import rate_command, usual_pitch_power

STEP = 1.0 / 120.0  # s
EARTH_RADIUS, ECCENTRICITY_SQUARED = 6_378_137.0 / 0.3048, 0.00669437999014  # ft; the ellipsoid WGS 84
TURN_RATE = 5.0  # deg/s on the ground at the turning speed of 12 kt
PITCH_BANDWIDTH, PITCH_CLOSING, PITCH_HOLD = 4.0, 3.0, 2.5
Script = Generator[None, None, None]


def clip(value: float, low: float, high: float) -> float:
    """Return a value kept between two limits."""
    return min(max(value, low), high)


def turned(heading: float, course: float) -> float:
    """Return how far a heading lies to the right of a course, deg, -180 to 180."""
    return (heading - course + 180.0) % 360.0 - 180.0


class Pilot:
    """The model and the loops that hold what the script asks for, stepped at 120 Hz."""

    def __init__(self, order: Departure) -> None:
        """Load the model and stand beside the runway, engines idling."""
        self.order, self.day, self.how = order, order.day, order.technique
        self.feet = self.feet_a_degree()
        self.f = jsbsim.FGFDMExec(None)
        self.f.set_debug_level(0)
        self.f.load_model("T38")
        self.course = (self.day.heading_deg + 180.0) % 360.0
        self.taxi_speed: float | None = 0.0
        """Held by levers and brakes, kt; None: levers as set."""
        self.line: float | None = None
        """Followed at this distance right of the centre line, ft, when on the runway's heading."""
        self.rudder_sum = 0.0
        self.stick = 0.0
        self.stick_sum = 0.0
        self.attitude: float | None = None
        self.most_rate = self.how.pitch_rate
        self.stick_full = False
        self.bank = 0.0
        self.levers = 0.0
        self.ground = 0.0
        self.engine_out = False
        self.truth: Truth | None = None
        self._stand()

    def _stand(self) -> None:
        f, day = self.f, self.day
        standard = 15.0 - 0.0019812 * day.elevation_ft
        f["simulation/randomseed"] = self.order.seed
        f["atmosphere/P-sl-psf"] = day.qnh_hpa * 2.0885434
        f["atmosphere/delta-T"] = 1.8 * (day.temperature_c - standard)
        f["ic/terrain-elevation-ft"] = day.elevation_ft
        f["ic/h-agl-ft"] = 3.3
        f["ic/psi-true-deg"] = self.course if self.how.taxies else day.heading_deg
        self.course = self.course if self.how.taxies else day.heading_deg
        north, east = self.place(*((self.start_at(), 640.0) if self.how.taxies else (560.0, 0.0)))
        f["ic/lat-geod-deg"] = day.lat + north / self.feet[0]
        f["ic/long-gc-deg"] = day.lon + east / self.feet[1]
        f.run_ic()
        f["propulsion/set-running"] = -1
        for i, fuel in enumerate(self.order.fuel_lb):
            f[f"propulsion/tank[{i}]/contents-lbs"] = fuel
        along, across = -1.6878 * day.headwind_kt, 1.6878 * day.crosswind_from_left_kt
        turn = math.radians(day.heading_deg)
        f["atmosphere/wind-north-fps"] = along * math.cos(turn) - across * math.sin(turn)
        f["atmosphere/wind-east-fps"] = along * math.sin(turn) + across * math.cos(turn)
        if day.turbulence_fps:
            f["atmosphere/turb-type"] = 3
            f["atmosphere/turbulence/milspec/windspeed_at_20ft_AGL-fps"] = day.turbulence_fps
            f["atmosphere/turbulence/milspec/severity"] = 2
        f["gear/gear-cmd-norm"] = f["gear/gear-pos-norm"] = 1.0
        f["fcs/flap-cmd-norm"] = self.how.flap
        f["fcs/speedbrake-cmd-norm"] = self.how.speedbrake
        self.brakes(1.0)

    def start_at(self) -> float:
        """Return where it is parked, ft along the runway: far enough to reach taxi speed and slow down."""
        fast = 1.6878 * self.how.taxi_kt
        return 880.0 if self.how.taxi_kt < 20.0 else 880.0 + fast * fast / (0.05 * 32.2)

    def feet_a_degree(self) -> tuple[float, float]:
        """Return the feet in a degree of latitude and of longitude at the field."""
        turn = math.radians(self.day.lat)
        flat = 1.0 - ECCENTRICITY_SQUARED * math.sin(turn) ** 2
        across = EARTH_RADIUS / math.sqrt(flat)
        along = across * (1.0 - ECCENTRICITY_SQUARED) / flat
        height = self.day.elevation_ft
        return math.radians(along + height), math.radians((across + height) * math.cos(turn))

    def place(self, along: float, across: float) -> tuple[float, float]:
        """Return feet north and east of the threshold for feet along the runway and right of it."""
        turn = math.radians(self.day.heading_deg)
        return (
            along * math.cos(turn) - across * math.sin(turn),
            along * math.sin(turn) + across * math.cos(turn),
        )

    def position(self) -> tuple[float, float]:
        """Return feet along the runway from the threshold, and right of its centre line."""
        north = (self.f["position/lat-geod-deg"] - self.day.lat) * self.feet[0]
        farther = self.f["position/long-gc-deg"] - self.day.lon
        if abs(farther) > 180.0:  # across the date line
            farther -= math.copysign(360.0, farther)
        east = farther * self.feet[1]
        turn = math.radians(self.day.heading_deg)
        return (
            north * math.cos(turn) + east * math.sin(turn),
            east * math.cos(turn) - north * math.sin(turn),
        )

    def ground_speed(self) -> float:
        """Return ground speed, kt."""
        return self.f["velocities/vg-fps"] / 1.6878099

    def airspeed(self) -> float:
        """Return calibrated airspeed, kt."""
        return self.f["velocities/vc-kts"]

    def height(self) -> float:
        """Return height over that on the wheels, ft."""
        return self.f["position/h-agl-ft"] - self.ground

    def mains(self) -> bool:
        """Return whether a main wheel carries weight."""
        return self.f["gear/unit[1]/WOW"] > 0.5 or self.f["gear/unit[2]/WOW"] > 0.5

    def brakes(self, share: float) -> None:
        """Press both brakes."""
        for side in ("left", "right", "center"):
            self.f[f"fcs/{side}-brake-cmd-norm"] = share

    def throttle(self, left: float, right: float | None = None) -> None:
        """Set the levers; taxi speed is no longer held."""
        self.taxi_speed = None
        self.f["fcs/throttle-cmd-norm[0]"] = left
        self.f["fcs/throttle-cmd-norm[1]"] = left if right is None else right

    def note(self, name: str) -> None:
        """Note a moment."""
        if self.truth is not None:
            self.truth.note(name)

    def step(self) -> None:
        """Fly one step."""
        if self.taxi_speed is not None:
            self._hold_taxi_speed(self.taxi_speed)
        self._steer()
        self._pitch()
        bank = 0.0 if self.mains() else self.bank
        roll = 0.015 * (bank - self.f["attitude/phi-deg"]) - 0.15 * self.f["velocities/p-rad_sec"]
        self.f["fcs/aileron-cmd-norm"] = clip(roll, -0.5, 0.5)
        self.f.run()
        if self.truth is not None:
            self.truth.watch()

    def _hold_taxi_speed(self, wanted: float) -> None:
        f = self.f
        if wanted <= 0.0:
            self.levers = 0.0
            before = f["fcs/left-brake-cmd-norm"]
            goal = 1.0 if self.ground_speed() < 0.3 else clip(0.02 * self.ground_speed() + 0.12, 0.12, 0.3)
            self.brakes(before + clip(goal - before, -0.6 * STEP, 0.6 * STEP))
        else:
            short = wanted - self.ground_speed()
            self.levers = clip(self.levers + 0.02 * short * STEP, 0.0, 0.35)
            if short < -0.5:
                self.levers = max(0.0, self.levers - 0.1 * STEP)
            before = f["fcs/left-brake-cmd-norm"]
            goal = clip(-0.02 * (short + 1.0), 0.0, 0.2)
            self.brakes(max(goal, before - 0.8 * STEP))
        most = 0.0 if wanted <= 0.0 else 0.42
        goal = clip(self.levers + 0.06 * (wanted - self.ground_speed()), 0.0, most)
        before = f["fcs/throttle-cmd-norm[0]"]
        now = before + clip(goal - before, -0.5 * STEP, 0.15 * STEP)
        f["fcs/throttle-cmd-norm[0]"] = f["fcs/throttle-cmd-norm[1]"] = now

    def _steer(self) -> None:
        f = self.f
        speed = max(self.ground_speed(), 1.0)
        aim = self.course
        if self.line is not None:
            limit = 20.0 if speed < 30.0 else 6.0
            aim += clip(0.25 * (self.line - self.position()[1]) * 20.0 / max(speed, 20.0), -limit, limit)
        off = turned(f["attitude/psi-deg"], aim)
        if speed < 3.0:
            f["fcs/steer-cmd-norm"] = f["fcs/rudder-cmd-norm"] = 0.0
            return
        failed = self.engine_out
        if not self.mains() and not failed:
            f["fcs/steer-cmd-norm"] = f["fcs/rudder-cmd-norm"] = 0.0
            return
        rate = math.degrees(f["velocities/r-rad_sec"])
        if self.taxi_speed is None:
            # On the run feet move nosewheel and rudder together; steering counts right, rudder left.
            wanted = 0.21 * off + 0.15 * rate + self.rudder_sum
            if abs(wanted) < 1.0:
                self.rudder_sum += 0.2 * off * STEP
            f["fcs/steer-cmd-norm"] = clip(-wanted, -1.0, 1.0) * min(1.0, 100.0 / speed)
            f["fcs/rudder-cmd-norm"] = clip(wanted, -1.0, 1.0) if speed > 30.0 else 0.0
            return
        wanted = clip(-0.8 * off, -TURN_RATE * speed / 12.0, TURN_RATE * speed / 12.0)
        wanted = clip(wanted, -0.11 * 1845.0 / speed, 0.11 * 1845.0 / speed) if speed > 12.0 else wanted
        command = 0.2 * wanted * (12.0 / speed) + 0.05 * (wanted - rate) * (12.0 / speed)
        f["fcs/steer-cmd-norm"] = clip(command, -1.0, 1.0)

    def _pitch(self) -> None:
        """Raise the nose at the ordered rate and hold the attitude; the stick moves at the ordered rate."""
        f = self.f
        if self.attitude is None:
            wanted = 0.0
        elif self.stick_full:
            wanted = 1.0
        else:
            goal = clip(
                PITCH_HOLD * (self.attitude - f["attitude/theta-deg"]), -self.most_rate, self.most_rate
            )
            wanted, self.stick_sum = rate_command(
                math.radians(goal),
                f["velocities/q-rad_sec"],
                self.stick_sum,
                power=self._power(),
                bandwidth=PITCH_BANDWIDTH,
                closing=PITCH_CLOSING,
                step=STEP,
            )
        most = self.how.stick_rate * STEP
        self.stick += clip(wanted - self.stick, -most, most)
        f["fcs/elevator-cmd-norm"] = -self.stick

    def _power(self) -> float:
        names = "aero/qbar-psf", "metrics/Sw-sqft", "metrics/cbarw-ft", "inertia/iyy-slugs_ft2"
        return usual_pitch_power(*(self.f[name] for name in names))

    def take_over_stick(self) -> None:
        """Begin to meter a pull that was full until now."""
        self.stick_full = False
        self.stick_sum = self.stick * self._power()

    def wait(self, until: Callable[[], bool], longest: float = 300.0) -> Script:
        """Go on until something is so."""
        begun = self.f.get_sim_time()
        while not until() and self.f.get_sim_time() - begun < longest:
            self.step()
            yield

    def for_(self, seconds: float) -> Script:
        """Go on for some seconds."""
        return self.wait(lambda: False, seconds)
