"""A flight model as its pilot has it: standing at the field, levers and stick, and what the instruments say.

SI; angles rad; positions along and right of the runway, metres. Commands are shares of travel: aft, right
wing down, right foot and right turn positive.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from sortiewright.air import WGS84
from sortiewright.flying.briefing import Briefing, Field
from sortiewright.flying.control_powers import ControlPowers, measure_control_powers
from sortiewright.flying.loading_model import load_as_planned
from sortiewright.pack_sampling import (
    FOOT,
    KNOT,
    POUND,
    POUNDS_A_SQUARE_FOOT,
    RANKINE,
    EngineStand,
    FlightModel,
    Stance,
    burner_lights,
    describe,
    indexed,
    military_throttle,
    model_fault,
    shut_down,
    stand,
)

POUND_FORCE = 4.4482216152605  # N, exact
SETTLE_TIME = 4.0  # s on the wheels before anything begins


@dataclass(frozen=True, slots=True)
class Seen:
    """What the pilot sees at one moment."""

    time: float
    along: float
    right: float
    height: float
    """Of the wheels."""
    altitude: float
    ground_speed: float
    vertical_speed: float
    cas: float
    tas: float
    course: float
    """Of the track, to the right of the runway's."""
    heading: float
    """To the right of the runway's."""
    pitch: float
    bank: float
    roll_rate: float
    pitch_rate: float
    yaw_rate: float
    angle_of_attack: float
    sideslip: float
    dynamic_pressure: float
    mass: float
    nose_on: bool
    mains_on: bool

    @property
    def climb_angle(self) -> float:
        """Return the angle of the flight path through the air."""
        return math.asin(min(max(self.vertical_speed / max(self.tas, 1.0), -1.0), 1.0))


_NUMBERS = {
    "time": ("simulation/sim-time-sec", 1.0),
    "latitude": ("position/lat-geod-deg", 1.0),
    "longitude": ("position/long-gc-deg", 1.0),
    "altitude": ("position/h-sl-ft", FOOT),
    "height": ("position/h-agl-ft", FOOT),
    "north": ("velocities/v-north-fps", FOOT),
    "east": ("velocities/v-east-fps", FOOT),
    "vertical_speed": ("velocities/h-dot-fps", FOOT),
    "cas": ("velocities/vc-kts", KNOT),
    "tas": ("velocities/vtrue-kts", KNOT),
    "heading": ("attitude/psi-rad", 1.0),
    "pitch": ("attitude/theta-rad", 1.0),
    "bank": ("attitude/phi-rad", 1.0),
    "roll_rate": ("velocities/p-rad_sec", 1.0),
    "pitch_rate": ("velocities/q-rad_sec", 1.0),
    "yaw_rate": ("velocities/r-rad_sec", 1.0),
    "angle_of_attack": ("aero/alpha-rad", 1.0),
    "sideslip": ("aero/beta-rad", 1.0),
    "dynamic_pressure": ("aero/qbar-psf", POUNDS_A_SQUARE_FOOT),
    "mass": ("inertia/weight-lbs", POUND),
}


class Cockpit:
    """A loaded model at the field of a briefing, engines idling, brakes on."""

    def __init__(self, model_name: str, briefing: Briefing, *, takeoff_flap: float | None = None) -> None:
        """Load, measure and place it. ``InputError`` where the model cannot be flown, and why."""
        self.model = model = FlightModel(model_name)
        self.briefing = briefing
        self.description = describe(model)
        model.place(mach=0.3, altitude=0.0)
        self.engines = EngineStand(model, self.description)
        self.engines.start()
        self.step_time = model.step_time
        self.dry_throttle = military_throttle(model, self.description.engines)
        self.has_burner = self.dry_throttle < 1.0 and burner_lights(self.engines, self.dry_throttle)
        self.powers: ControlPowers = measure_control_powers(model, briefing.landing.approach_cas)
        self.takeoff_flap = self._takeoff_flap(takeoff_flap) if briefing.takeoff.flaps else 0.0
        self.landing_flap = 1.0 if briefing.landing.flaps else 0.0
        self.full_flap = self._full_flap()
        model.command("fcs/flap-cmd-norm", self.takeoff_flap)
        model.command("gear/gear-cmd-norm", 1.0)
        self.stance: Stance = stand(model, self.description)
        self._wheels()
        self.failed: int | None = None
        self.began = 0.0
        """The library's clock when the flight began, s."""
        self.remarks: list[str] = []
        self.place = Place(briefing.field)
        self._numbers = [(self._getter(name), scale) for name, scale in _NUMBERS.values()]
        self._mains = [self._getter(f"{_unit(i)}/WOW") for i in self.main_units]
        self._nose = self._getter(f"{_unit(self.nose_unit)}/WOW")

    def _getter(self, name: str) -> Callable[[], float]:
        self.model.read(name)
        node: Any = self.model.executive.get_property_manager().get_node(name)
        return node.get_double_value

    def _takeoff_flap(self, wanted: float | None) -> float:
        if wanted is not None:
            return wanted
        between = [one for one in self.description.flap_settings if 0.0 < one < 1.0]
        return min(between, key=lambda one: abs(one - MIDDLE_FLAP), default=MIDDLE_FLAP)

    def _full_flap(self) -> dict[str, float]:
        """Return what each of the library's flap positions reads with the lever all the way down."""
        self.model.place(mach=0.2, altitude=1000.0)
        self.model.command("fcs/flap-cmd-norm", 1.0)
        names = ("fcs/flap-pos-norm", "fcs/flap-pos-deg")
        self.model.settle(names, longest=60.0)
        return {name: self.model.read(name) for name in names}

    def _wheels(self) -> None:
        """Find nose and main wheels, the base between them, and how far the nose wheel steers."""
        wheels = [(i, one) for i, one in enumerate(self.description.contacts) if one.is_wheel]
        ahead = [(i, one) for i, one in wheels if one.x < self.stance.balance_x]
        behind = [(i, one) for i, one in wheels if one.x >= self.stance.balance_x]
        self.nose_unit = ahead[0][0]
        lowest = min(one.z for _, one in behind)
        mains = sorted(((i, one) for i, one in behind if one.z <= lowest + 6.0), key=lambda pair: pair[1].y)
        self.main_units = [i for i, _ in mains]
        self.wheelbase = self.stance.main.aft - self.stance.nose.aft
        self.steer_limit = math.radians(max(one.steer_deg for _, one in ahead))

    def stand_at(self, along: float, right: float, course: float) -> None:
        """Stand on the ground there, engines idling, loaded as planned, and let everything settle."""
        model, field = self.model, self.briefing.field
        latitude, longitude = self.place.position(along, right)
        for name in ("ic/vt-kts", "ic/phi-deg", "ic/alpha-deg", "ic/beta-deg", "ic/gamma-deg"):
            model.write(name, 0.0)
        for axis in "pqr":
            model.write(f"ic/{axis}-rad_sec", 0.0)
        model.write("ic/terrain-elevation-ft", field.elevation / FOOT)
        model.write("ic/lat-geod-deg", latitude)
        model.write("ic/long-gc-deg", longitude)
        model.write("ic/h-sl-ft", (field.elevation + self.stance.balance_height) / FOOT)
        model.write("ic/theta-deg", self.stance.pitch_deg)
        model.write("ic/psi-true-deg", (field.true_heading_deg + math.degrees(course)) % 360.0)
        self._air()
        model.let_go()
        model.write("atmosphere/wind-north-fps", field.wind_to_north / FOOT)
        model.write("atmosphere/wind-east-fps", field.wind_to_east / FOOT)
        self.engines.start()
        self.brakes(1.0)
        self.throttle(0.0)
        self.remarks += load_as_planned(model, self.description, self.briefing.load)
        model.run(SETTLE_TIME)
        if (thrust := self._thrust_standing()) < LEAST_THRUST * self.seen().mass * 9.80665:
            share = 100.0 * thrust / (self.seen().mass * 9.80665)
            raise model_fault(
                model.name, f"pulls {share:.0f} % of its weight at full throttle: it cannot take off"
            )

    def _air(self) -> None:
        """Make the air over the field the plan's: its temperature, and the pressure read back there."""
        model, field = self.model, self.briefing.field
        standard = STANDARD_TEMPERATURE - LAPSE * field.elevation
        model.write("atmosphere/delta-T", (field.temperature - standard) / RANKINE)
        sea = "atmosphere/P-sl-psf"
        for _ in range(AIR_ITERATIONS):
            model.start()
            found = model.read("atmosphere/P-psf") * POUNDS_A_SQUARE_FOOT
            model.write(sea, model.read(sea) * field.pressure / found)
        model.start()

    def _thrust_standing(self) -> float:
        """Return the dry thrust of all engines at a standstill, N, with the lever all the way forward."""
        self.brakes(1.0)
        self.throttle(self.dry_throttle)
        self.model.run(SPOOL_TIME)
        self.static_thrust = self.thrust()
        self.throttle(0.0)
        self.model.run(SPOOL_TIME)
        load_as_planned(self.model, self.description, self.briefing.load)
        self.model.run(0.0)
        return self.static_thrust

    def thrust(self) -> float:
        """Return the thrust of all engines, N."""
        return POUND_FORCE * sum(
            self.model.read(f"{indexed('propulsion/engine', i)}/thrust-lbs")
            for i in range(len(self.description.engines))
        )

    def seen(self) -> Seen:
        """Return what there is to see now."""
        (
            time, latitude, longitude, altitude, height, north, east, vertical, cas, tas, heading,
            pitch, bank, p, q, r, alpha, beta, dynamic, mass,
        ) = [get() * scale for get, scale in self._numbers]  # fmt: skip
        along, right = self.place.along_and_right(latitude, longitude)
        time -= self.began
        runway = self.place.heading
        ground_speed = math.hypot(north, east)
        course = math.atan2(east, north) - runway if ground_speed > 1.0 else heading - runway
        wheels = height - self.stance.balance_height
        wheels -= self.stance.main.aft * (math.sin(pitch) - math.sin(math.radians(self.stance.pitch_deg)))
        return Seen(
            time, along, right, wheels, altitude, ground_speed, vertical, cas, tas,
            math.remainder(course, 2.0 * math.pi), math.remainder(heading - runway, 2.0 * math.pi),
            pitch, bank, p, q, r, alpha, beta, dynamic, mass,
            self._nose() > 0.5, any(get() > 0.5 for get in self._mains),
        )  # fmt: skip

    def run(self, steps: int) -> None:
        """Let the simulation go on."""
        for _ in range(steps):
            self.model.run(0.0)

    def throttle(self, command: float) -> None:
        """Set all levers."""
        for i in range(len(self.description.engines)):
            self.model.write(indexed("fcs/throttle-cmd-norm", i), command)

    def brakes(self, command: float) -> None:
        """Press all brakes."""
        for side in ("left", "right", "center"):
            self.model.write(f"fcs/{side}-brake-cmd-norm", command)

    def braking(self, friction: float) -> float:
        """Return the brake command that gives the main wheels a braking friction."""
        return min(max(friction / self.stance.static_friction, 0.0), 1.0)

    def stick(self, aft: float, right: float) -> None:
        """Move the stick."""
        self.model.write("fcs/elevator-cmd-norm", self.powers.pitch_sign * aft)
        self.model.write("fcs/aileron-cmd-norm", self.powers.roll_sign * right)

    def trim(self, aft: float) -> None:
        """Trim nose up, where the model has a trim."""
        command = self.powers.pitch_sign * min(max(aft, -1.0), 1.0)
        self.model.write_where_it_is("fcs/pitch-trim-cmd-norm", command)

    def feet(self, rudder: float, steering: float) -> None:
        """Push the rudder, and turn the nosewheel by an angle, rad."""
        self.model.write("fcs/rudder-cmd-norm", self.powers.yaw_sign * rudder)
        command = steering / self.steer_limit if self.steer_limit else 0.0
        self.model.write("fcs/steer-cmd-norm", min(max(command, -1.0), 1.0))

    def gear(self, down: bool) -> None:
        """Move the gear lever."""
        self.model.write("gear/gear-cmd-norm", 1.0 if down else 0.0)

    def flaps(self, share: float) -> None:
        """Move the flap lever."""
        self.model.write("fcs/flap-cmd-norm", share)

    def lean(self) -> None:
        """Set the mixture of piston engines for the height."""
        if self.description.engines[0].kind == "piston":
            self.engines.lean()

    def fail_engine(self) -> None:
        """Stop the first engine, which is on the left, for good."""
        self.failed = 0
        shut_down(self.model, 0)

    def power_throttle(self, power: str, idle: str, maximum: str | None) -> float:
        """Return the lever position of a power setting of the pack; one it has between idle and military is
        flown at military."""
        if power == maximum and self.has_burner:
            return 1.0
        return 0.0 if power == idle else self.dry_throttle


MIDDLE_FLAP = 0.5
AIR_ITERATIONS = 3
STANDARD_TEMPERATURE, LAPSE = 288.15, 0.0065  # K, K/m: ISO 2533
SPOOL_TIME = 12.0  # s from idle to full, and back
LEAST_THRUST = 0.06  # of the weight


def _unit(i: int) -> str:
    return f"gear/unit[{i}]" if i else "gear/unit"


class Place:
    """Metres along the runway and right of it, and latitude and longitude: flat, good to a metre in 5 km."""

    def __init__(self, field: Field) -> None:
        self.latitude, self.longitude = field.latitude_deg, field.longitude_deg
        self.heading = math.radians(field.true_heading_deg)
        radius, flattening = WGS84.equatorial_radius, WGS84.flattening
        squared = flattening * (2.0 - flattening)
        turn = math.radians(field.latitude_deg)
        flat = 1.0 - squared * math.sin(turn) ** 2
        across = radius / math.sqrt(flat)
        self.north = math.radians(across * (1.0 - squared) / flat + field.elevation)
        self.east = math.radians((across + field.elevation) * math.cos(turn))

    def position(self, along: float, right: float) -> tuple[float, float]:
        """Return latitude and longitude, degrees."""
        north = along * math.cos(self.heading) - right * math.sin(self.heading)
        east = along * math.sin(self.heading) + right * math.cos(self.heading)
        longitude = self.longitude + east / self.east
        return self.latitude + north / self.north, (longitude + 180.0) % 360.0 - 180.0

    def along_and_right(self, latitude: float, longitude: float) -> tuple[float, float]:
        """Return metres along the runway and right of it."""
        north = (latitude - self.latitude) * self.north
        east = math.remainder(longitude - self.longitude, 360.0) * self.east
        return (
            north * math.cos(self.heading) + east * math.sin(self.heading),
            east * math.cos(self.heading) - north * math.sin(self.heading),
        )
