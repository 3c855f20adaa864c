"""What a scripted flight leaves: rows on the canonical channels, and the moments as they truly were."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from sortiewright.flying.cockpit import Cockpit, Seen
from sortiewright.pack import CHANNELS
from sortiewright.pack_sampling import FOOT, KNOT, POUND, RANKINE, indexed

_DIRECT: dict[str, tuple[str, float, int]] = {
    # channel: property, factor, decimals
    "latitude_deg": ("position/lat-geod-deg", 1.0, 7),
    "longitude_deg": ("position/long-gc-deg", 1.0, 7),
    "altitude": ("position/h-sl-ft", FOOT, 2),
    "ground_speed": ("velocities/vg-fps", FOOT, 3),
    "vertical_speed": ("velocities/h-dot-fps", FOOT, 3),
    "calibrated_airspeed": ("velocities/vc-kts", KNOT, 3),
    "true_airspeed": ("velocities/vtrue-kts", KNOT, 3),
    "mach_number": ("velocities/mach", 1.0, 4),
    "pressure_altitude": ("atmosphere/pressure-altitude", FOOT, 1),
    "outside_air_temperature": ("atmosphere/T-R", RANKINE, 2),
    "pitch": ("attitude/theta-rad", 1.0, 5),
    "bank": ("attitude/phi-rad", 1.0, 5),
    "true_heading_deg": ("attitude/psi-deg", 1.0, 3),
    "roll_rate": ("velocities/p-rad_sec", 1.0, 5),
    "pitch_rate": ("velocities/q-rad_sec", 1.0, 5),
    "yaw_rate": ("velocities/r-rad_sec", 1.0, 5),
    "load_factor_normal": ("accelerations/Nz", 1.0, 3),
    "load_factor_longitudinal": ("accelerations/Nx", 1.0, 3),
    "load_factor_lateral": ("accelerations/Ny", 1.0, 3),
    "angle_of_attack": ("aero/alpha-rad", 1.0, 5),
    "sideslip": ("aero/beta-rad", 1.0, 5),
    "gross_mass": ("inertia/weight-lbs", POUND, 1),
    "fuel_mass": ("propulsion/total-fuel-lbs", POUND, 1),
    "gear_position": ("gear/gear-pos-norm", 1.0, 3),
    "speedbrake_position": ("fcs/speedbrake-pos-norm", 1.0, 3),
    "brake_left": ("fcs/left-brake-cmd-norm", 1.0, 3),
    "brake_right": ("fcs/right-brake-cmd-norm", 1.0, 3),
}
PARKED_AIRSPEED = 15.0  # m/s: a standing aircraft's angle of attack is the breeze's, and is written as 0


@dataclass
class Moment:
    """Something that happened, at the exact step."""

    name: str
    time: float
    state: dict[str, float]


@dataclass
class Recorder:
    """Looks at the model after every step of the pilot's."""

    cockpit: Cockpit
    rate: float
    """Rows a second."""
    rows: list[list[str]] = field(default_factory=list[list[str]])
    moments: list[Moment] = field(default_factory=list[Moment])

    def __post_init__(self) -> None:
        model = self.cockpit.model
        sides = _sides(len(self.cockpit.description.engines))
        columns: list[tuple[str, Callable[[], float], float, int]] = []
        for name, (prop, factor, decimals) in _DIRECT.items():
            if model.has(prop):
                columns.append((name, self._getter(prop), factor, decimals))
        for side, i in sides.items():
            engine = indexed("propulsion/engine", i)
            for name, prop, factor, decimals in (
                (f"throttle{side}", indexed("fcs/throttle-cmd-norm", i), 1.0, 4),
                (f"fan_speed{side}", f"{engine}/n1", 0.01, 4),
                (f"engine_speed{side}", f"{engine}/n2", 0.01, 4),
                (f"fuel_flow{side}", f"{engine}/fuel-flow-rate-pps", POUND, 5),
            ):
                if model.has(prop):
                    columns.append((name, self._getter(prop), factor, decimals))
        self.columns = columns
        self.sides = sides
        self.due = -math.inf
        self._wheels = {
            "weight_on_wheels_nose": [self.cockpit.nose_unit],
            "weight_on_wheels_left": self.cockpit.main_units[: max(1, len(self.cockpit.main_units) // 2)],
            "weight_on_wheels_right": self.cockpit.main_units[-max(1, len(self.cockpit.main_units) // 2) :],
        }
        self._wows = {
            name: [self._getter(f"gear/unit[{i}]/WOW" if i else "gear/unit/WOW") for i in units]
            for name, units in self._wheels.items()
        }
        self._wind = [self._getter(f"atmosphere/total-wind-{way}-fps") for way in ("north", "east")]
        self._track = self._getter("flight-path/psi-gt-rad")
        self._flap = _flap_reader(self)
        self.names = [
            "time",
            *(name for name, *_ in columns),
            "height_above_ground", "track_deg", "wind_speed", "wind_from_deg", *self._wows,
            *(f"afterburner_stage{side}" for side in sides if self.cockpit.has_burner),
            "flap_position", "stick_pitch", "stick_roll", "pedals",
        ]  # fmt: skip
        self.before: Seen | None = None
        self.released_at: float | None = None
        self._controls = [self._getter(f"fcs/{name}-cmd-norm") for name in ("elevator", "aileron", "rudder")]
        self.gear_before = self.gear_position()

    def _getter(self, name: str) -> Callable[[], float]:
        self.cockpit.model.read(name)
        node: Any = self.cockpit.model.executive.get_property_manager().get_node(name)
        return node.get_double_value

    def gear_position(self) -> float:
        """Return where the gear is, 1 down."""
        return self.cockpit.model.read("gear/gear-pos-norm")

    def note(self, name: str, seen: Seen) -> None:
        """Note a moment."""
        self.moments.append(Moment(name, seen.time, self._state(seen)))

    def has(self, name: str) -> bool:
        """Return whether a moment has been noted."""
        return any(one.name == name for one in self.moments)

    def _state(self, seen: Seen) -> dict[str, float]:
        state = {
            "calibrated_airspeed": round(seen.cas, 3),
            "ground_speed": round(seen.ground_speed, 3),
            "height_above_ground": round(seen.height, 3),
            "vertical_speed": round(seen.vertical_speed, 3),
            "pitch": round(seen.pitch, 5),
            "runway_position": round(seen.along, 2),
            "side_offset": round(seen.right, 2),
            "gross_mass": round(seen.mass, 1),
        }
        if self.released_at is not None:
            state["distance_from_brake_release"] = round(seen.along - self.released_at, 2)
        return state

    def watch(self, seen: Seen) -> None:
        """Look at wheels, gear and height, and write a row when due."""
        before = self.before
        if before is not None:
            self._wheels_changed(before, seen)
            gear = self.gear_position()
            if gear != self.gear_before and gear in (0.0, 1.0):
                self.note("gear_down" if gear else "gear_up", seen)
            self.gear_before = gear
        self.before = seen
        if seen.time >= self.due:
            self.due = seen.time + 1.0 / self.rate - 1e-6
            self.rows.append(self._row(seen))

    def _wheels_changed(self, before: Seen, seen: Seen) -> None:
        if before.nose_on != seen.nose_on:
            self.note("nosewheel_on" if seen.nose_on else "nosewheel_off", seen)
        if before.mains_on != seen.mains_on:
            self.note("mains_on" if seen.mains_on else "mains_off", seen)

    def _row(self, seen: Seen) -> list[str]:
        cells = [_text(get() * factor, decimals) for _, get, factor, decimals in self.columns]
        if seen.tas < PARKED_AIRSPEED:
            for at, (name, *_) in enumerate(self.columns):
                if name in ("angle_of_attack", "sideslip"):
                    cells[at] = "0"
        north, east = (get() * FOOT for get in self._wind)
        speed = math.hypot(north, east)
        cells += [
            _text(seen.height, 3),
            _text(self._course_deg(seen), 3),
            _text(speed, 3),
            _text((math.degrees(math.atan2(east, north)) + 180.0) % 360.0, 2),
            *("1" if any(get() > 0.5 for get in one) else "0" for one in self._wows.values()),
        ]
        if self.cockpit.has_burner:
            lit = [
                self.cockpit.model.read(indexed("fcs/throttle-cmd-norm", i))
                > self.cockpit.dry_throttle + 1e-6
                and i != self.cockpit.failed
                for i in self.sides.values()
            ]
            cells += ["1" if one else "0" for one in lit]
        elevator, aileron, rudder = (get() for get in self._controls)
        powers = self.cockpit.powers
        cells += [
            _text(self._flap(), 3),
            _text(powers.pitch_sign * elevator, 4),
            _text(powers.roll_sign * aileron, 4),
            _text(powers.yaw_sign * rudder, 4),
        ]
        return [_text(seen.time, 4), *cells]

    def _is_lit(self, engine: int) -> bool:
        """Return whether an engine's burner is lit: its lever is past where dry power ends."""
        lever = self.cockpit.model.read(indexed("fcs/throttle-cmd-norm", engine))
        return lever > self.cockpit.dry_throttle + 1e-6 and engine != self.cockpit.failed

    def _course_deg(self, seen: Seen) -> float:
        """Return the track, true; standing still it is the heading."""
        if seen.ground_speed > 0.5:
            return math.degrees(self._track()) % 360.0
        return math.degrees(seen.heading + self.cockpit.place.heading) % 360.0

    def units(self) -> list[str]:
        """Return the unit of each column, as a row of units writes it."""
        return ["s" if name == "time" else _unit(name) for name in self.names]


def _unit(name: str) -> str:
    channel = CHANNELS[name]
    return channel.unit or "-"


def _sides(engines: int) -> dict[str, int]:
    """Return the engines that are recorded: the only one, or the outermost on either side."""
    return {"": 0} if engines == 1 else {"_left": 0, "_right": engines - 1}


def _text(value: float, decimals: int) -> str:
    text = f"{value:.{decimals}f}".rstrip("0").rstrip(".") if decimals else f"{value:.0f}"
    return "0" if text in ("-0", "") else text


def _flap_reader(recorder: Recorder) -> Callable[[], float]:
    """Return what reads the flaps, 0 to 1: models show them as a share, or in degrees alone."""
    model = recorder.cockpit.model
    full = recorder.cockpit.full_flap
    name = "fcs/flap-pos-norm" if full["fcs/flap-pos-norm"] > 0.0 else "fcs/flap-pos-deg"
    scale = full[name]
    if scale <= 0.0 or not model.has(name):
        return lambda: 0.0
    return lambda: model.read(name) / scale
