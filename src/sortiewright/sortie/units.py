"""How each kind of quantity is shown: in the trade's units or in SI, rounded to what a crew can use.

``convert`` gives full precision for programs, ``show`` a rounded text for people. Inside the program
everything stays SI; a compass course is in degrees, and a share of the mean chord, a slope and a gradient
(rise over distance) are plain ratios; a side moment is weight times arm, N m.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, NamedTuple

from sortiewright.sortie.figures import Figure, Kind

System = Literal["trade", "si"]
Altimeter = Literal["hPa", "inHg"]
Rounding = Literal["nearest", "up", "down"]

# Exact by definition: NIST SP 811 (2008), appendix B.8, and the international nautical mile (SP 811, 5.1.2).
FOOT = 0.3048  # m
INCH = 0.0254  # m
NAUTICAL_MILE = 1852.0  # m
KNOT = NAUTICAL_MILE / 3600  # m/s
POUND = 0.45359237  # kg
STANDARD_GRAVITY = 9.80665  # m/s2
POUND_FORCE = POUND * STANDARD_GRAVITY  # N
FOOT_POUND_FORCE = FOOT * POUND_FORCE  # J, N m
POUND_PER_SQUARE_INCH = POUND_FORCE / INCH**2  # Pa
# Conventional, NIST SP 811 (2008), appendix B.8.
INCH_OF_MERCURY = 3386.389  # Pa
ICE_POINT = 273.15  # K

NEVER = "never"
"""Stands for an infinite value: no runway is long enough, no speed is high enough."""
NONE_LEFT = "none"
"""Stands for a margin that is infinitely negative."""
MISSING = "—"
THIN_SPACE = "\u202f"
"""Between thousands, and between number and unit: the narrow space at which a line never breaks."""
MINUS = "−"


class Shown(NamedTuple):
    """A quantity as people read it: the number's text and the unit's, either of which may be empty."""

    number: str
    unit: str

    @property
    def text(self) -> str:
        """The number and its unit in one string."""
        gap = "" if not self.unit or self.unit == "°" else THIN_SPACE
        return f"{self.number}{gap}{self.unit}"


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: ``sign`` for people, ``name`` for programs, ``size`` in SI, and the ``step`` it is rounded to.

    ``offset`` is how far the scale's zero lies above SI's: value = SI / size - offset.
    """

    sign: str
    name: str
    size: float
    step: float
    offset: float = 0.0


TRADE: dict[Kind, Unit] = {
    Kind.RUNWAY_DISTANCE: Unit("ft", "ft", FOOT, 10),
    Kind.HEIGHT: Unit("ft", "ft", FOOT, 10),
    Kind.CAS: Unit("kt", "kt", KNOT, 1),
    Kind.TAS: Unit("kt", "kt", KNOT, 1),
    Kind.GROUND_SPEED: Unit("kt", "kt", KNOT, 1),
    Kind.WIND_SPEED: Unit("kt", "kt", KNOT, 1),
    Kind.MASS: Unit("lb", "lb", POUND, 10),
    Kind.ANGLE: Unit("°", "deg", math.pi / 180, 0.1),
    Kind.COURSE: Unit("°", "deg", 1.0, 1),
    Kind.TIME: Unit("s", "s", 1.0, 1),
    Kind.GRADIENT: Unit("ft/nm", "ft/nmi", FOOT / NAUTICAL_MILE, 10),
    Kind.CLIMB_RATE: Unit("ft/min", "ft/min", FOOT / 60, 10),
    Kind.ENERGY: Unit("Mft·lbf", "Mft*lbf", 1e6 * FOOT_POUND_FORCE, 0.1),
    Kind.PRESSURE: Unit("psi", "psi", POUND_PER_SQUARE_INCH, 1),
    Kind.ALTIMETER: Unit("hPa", "hPa", 100.0, 1),
    Kind.TEMPERATURE: Unit("°C", "degC", 1.0, 1, offset=ICE_POINT),
    Kind.PERCENT_MAC: Unit("%MAC", "percent", 0.01, 0.1),
    Kind.SIDE_MOMENT: Unit("ft·lb", "ft*lbf", FOOT_POUND_FORCE, 100),
    Kind.MASS_FLOW: Unit("lb/h", "lb/h", POUND / 3600, 10),
    Kind.FORCE: Unit("lbf", "lbf", POUND_FORCE, 10),
    Kind.FRACTION: Unit("%", "percent", 0.01, 0.1),
    Kind.NUMBER: Unit("", "", 1.0, 0.1),
    Kind.TRIM_UNITS: Unit("units", "", 1.0, 0.1),
    Kind.DISTANCE: Unit("nmi", "nmi", NAUTICAL_MILE, 1),
    Kind.LEVEL: Unit("ft", "ft", FOOT, 100),
    Kind.MACH: Unit("", "", 1.0, 0.01),
    Kind.SPECIFIC_RANGE: Unit("nmi/lb", "nmi/lb", NAUTICAL_MILE / POUND, 0.0001),
    Kind.LOAD_FACTOR: Unit("g", "", 1.0, 0.1),
    Kind.TURN_RATE: Unit("°/s", "deg/s", math.pi / 180, 0.1),
    Kind.TURN_RADIUS: Unit("ft", "ft", FOOT, 50),
}

SI: dict[Kind, Unit] = TRADE | {
    Kind.RUNWAY_DISTANCE: Unit("m", "m", 1.0, 5),
    Kind.HEIGHT: Unit("m", "m", 1.0, 5),
    Kind.CAS: Unit("m/s", "m/s", 1.0, 0.5),
    Kind.TAS: Unit("m/s", "m/s", 1.0, 0.5),
    Kind.GROUND_SPEED: Unit("m/s", "m/s", 1.0, 0.5),
    Kind.WIND_SPEED: Unit("m/s", "m/s", 1.0, 0.5),
    Kind.MASS: Unit("kg", "kg", 1.0, 5),
    Kind.GRADIENT: Unit("%", "percent", 0.01, 0.1),
    Kind.CLIMB_RATE: Unit("m/s", "m/s", 1.0, 0.1),
    Kind.ENERGY: Unit("MJ", "MJ", 1e6, 0.1),
    Kind.PRESSURE: Unit("kPa", "kPa", 1e3, 10),
    Kind.SIDE_MOMENT: Unit("N·m", "N*m", 1.0, 100),
    Kind.MASS_FLOW: Unit("kg/s", "kg/s", 1.0, 0.01),
    Kind.FORCE: Unit("kN", "kN", 1e3, 0.1),
    Kind.DISTANCE: Unit("km", "km", 1e3, 1),
    Kind.LEVEL: Unit("m", "m", 1.0, 50),
    Kind.SPECIFIC_RANGE: Unit("km/kg", "km/kg", 1e3, 0.001),
    Kind.TURN_RADIUS: Unit("m", "m", 1.0, 10),
}

MERCURY = Unit("inHg", "inHg", INCH_OF_MERCURY, 0.01)
CELSIUS_STEP = Unit("°C", "delta_degC", 1.0, 1)

DIFFERENCES = frozenset({"isa_deviation"})
"""Figures of kind TEMPERATURE that are a difference of two temperatures, shown with their sign."""

# A shown number must not promise more than the computed one: what is needed rounds up, what there is down.
SAFE_SIDE: dict[str, Rounding] = {
    "runway_length": "down",
    "runway_for_takeoff": "down",
    "landing_distance_available": "down",
    "longest_safe_abort_marker": "down",
    "line_marker": "nearest",
    "refusal_speed": "down",
    "decision_speed": "down",
    "maximum_braking_speed": "down",
    "line_speed": "up",
    "line_speed_minimum": "up",
    "minimum_go_speed": "up",
    "minimum_control_ground_speed": "up",
    "hydroplaning_speed": "down",
    "chute_maximum_cas": "down",
    "brake_energy_at_decision": "up",
    "brake_energy": "up",
    "takeoff_fuel": "down",
    "landing_fuel": "down",
    "touchdown_hydroplaning_speed": "down",
    "gear_limit_time": "down",
    "single_engine_gradient_gear_down": "down",
    "single_engine_gradient_gear_up": "down",
    "go_around_gradient_gear_down": "down",
    "go_around_gradient_gear_up": "down",
    "hook_limit": "down",
    "single_engine_rate_gear_up": "down",
    "bingo": "up",
    "bingo_one_engine": "up",
    "bingo_gear_down": "up",
    "bingo_trapped_external": "up",
    "joker": "up",
    "alternate_fuel": "up",
    "fuel_at_fix": "down",
    "route_landing_fuel": "down",
    "radius": "down",
    "service_ceiling_takeoff": "down",
    "service_ceiling_midway": "down",
    "combat_ceiling_takeoff": "down",
    "combat_ceiling_midway": "down",
    "one_engine_ceiling": "down",
    "load_factor_limit": "down",
}


FINER = {"elevation": 1.0}
"""Figures that are known to more than a number of their kind is shown to: their step in the shown unit."""


def rounding_of(name: str, kind: Kind) -> Rounding:
    """Return the direction in which the named figure is rounded, so that the text stays on the safe side."""
    if name in SAFE_SIDE:
        return SAFE_SIDE[name]
    if name.endswith("margin"):
        return "down"
    return "up" if kind == Kind.RUNWAY_DISTANCE else "nearest"


def unit_of(
    kind: Kind, system: System = "trade", *, altimeter: Altimeter = "hPa", difference: bool = False
) -> Unit:
    """Return the unit in which a kind is shown."""
    if kind == Kind.ALTIMETER and altimeter == "inHg" and system == "trade":
        return MERCURY
    if kind == Kind.TEMPERATURE and difference:
        return CELSIUS_STEP
    return (TRADE if system == "trade" else SI)[kind]


def convert(
    value: float,
    kind: Kind,
    system: System = "trade",
    *,
    altimeter: Altimeter = "hPa",
    difference: bool = False,
) -> tuple[float, str]:
    """Return the value in the unit it is shown in, at full precision, and the unit's name for programs."""
    unit = unit_of(kind, system, altimeter=altimeter, difference=difference)
    return value / unit.size - unit.offset, unit.name


def show(
    value: float | Figure | None,
    kind: Kind | None = None,
    system: System = "trade",
    *,
    altimeter: Altimeter = "hPa",
    rounding: Rounding | None = None,
    difference: bool = False,
    step: float | None = None,
) -> Shown:
    """Return how a value, or a figure, is read by people: number and unit.

    A figure brings its own kind, its text where words say more, and the safe direction of rounding.
    ``rounding`` and ``step`` (in the shown unit) override the kind's. Without ``rounding`` a runway distance
    rounds up, as one that is needed; pass ``down`` for one that is available. Infinite shows as "never",
    None or NaN as a dash.
    """
    if isinstance(value, Figure):
        if value.text:
            return Shown(value.text, "")
        kind = value.kind if kind is None else kind
        rounding = rounding or rounding_of(value.name, kind)
        difference = difference or value.name in DIFFERENCES
        step = step or FINER.get(value.name)
        value = value.value
    if kind is None:
        raise TypeError("show: a bare value needs its kind")
    if value is None or math.isnan(value):
        return Shown(MISSING, "")
    if math.isinf(value):
        return Shown(NEVER if value > 0 else NONE_LEFT, "")

    unit = unit_of(kind, system, altimeter=altimeter, difference=difference)
    shown = value / unit.size - unit.offset
    rounding = rounding or rounding_of("", kind)
    if kind == Kind.TIME:
        return show_time(shown, rounding)
    if kind == Kind.COURSE:
        return Shown(f"{int(round_to(shown, 1, rounding)) % 360 or 360:03d}", unit.sign)
    step = step or unit.step
    number = group_thousands(round_to(shown, step, rounding), decimals(step))
    if kind == Kind.ALTIMETER:  # set digit by digit, so never grouped
        number = number.replace(THIN_SPACE, "")
    if kind in (Kind.NUMBER, Kind.FRACTION) and "." in number:
        number = number.rstrip("0").rstrip(".")
    if difference and shown > 0:
        number = "+" + number
    if kind == Kind.GRADIENT and system == "trade":
        percent = group_thousands(round_to(100 * value, 0.1, rounding), 1)
        return Shown(number, f"{unit.sign} ({percent}{THIN_SPACE}%)")
    return Shown(number, unit.sign)


def round_to(value: float, step: float, rounding: Rounding = "nearest") -> float:
    """Return the value as a multiple of ``step``; ``up`` is towards plus infinity, ``down`` towards minus."""
    steps = value / step
    if abs(steps - round(steps)) < 1e-6:  # a multiple but for its binary tail stays where it is
        return round(steps) * step
    whole = {"nearest": math.floor(steps + 0.5), "up": math.ceil(steps), "down": math.floor(steps)}[rounding]
    return whole * step


def decimals(step: float) -> int:
    """Return how many decimals a multiple of ``step`` needs."""
    return max(0, -math.floor(math.log10(step) + 1e-9))


def group_thousands(value: float, places: int = 0) -> str:
    """Return the number with thin spaces between thousands and a true minus sign."""
    text = f"{value:,.{places}f}".replace(",", THIN_SPACE)
    if text.startswith("-"):
        text = text[1:] if not text.strip("-0.") else MINUS + text[1:]
    return text


def show_time(seconds: float, rounding: Rounding = "nearest") -> Shown:
    """Return a duration: tenths of a second under ten seconds, minutes and seconds from two minutes on."""
    if abs(seconds) < 10:
        return Shown(group_thousands(round_to(seconds, 0.1, rounding), 1), "s")
    whole = int(round_to(seconds, 1, rounding))
    if abs(whole) < 120:
        return Shown(group_thousands(whole), "s")
    sign = MINUS if whole < 0 else ""
    return Shown(f"{sign}{abs(whole) // 60}:{abs(whole) % 60:02d}", "min")
