"""What is called while it happens: the planned speeds of the takeoff run, and limits that are passed.

Each call comes once, and again only after what it speaks of has gone away by a margin.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, TypeAlias

from sortiewright.link.channel_values import Value
from sortiewright.link.takeoff_run import RunPoint, TakeoffRun
from sortiewright.pack import OutsideTable

if TYPE_CHECKING:
    from sortiewright.pack import Limits

Values: TypeAlias = Mapping[str, Value]
Tone: TypeAlias = Literal["note", "check"]

KNOT = 1852.0 / 3600.0
SPEED_MARGIN = 5.0 * KNOT  # below a speed limit before it is called again
POSITION_SHUT = 0.02  # share of travel under which gear or canopy count as up or shut
HELD = 0.3  # s that a limit must be passed: one wild sample is no exceedance


@dataclass(frozen=True, slots=True)
class CallOut:
    """Something said. ``check`` asks for a look; ``note`` only tells. Values are SI."""

    time: float
    name: str
    text: str
    tone: Tone
    value: float | None = None
    wanted: float | None = None


@dataclass(frozen=True, slots=True)
class PlannedSpeeds:
    """The plan's figures that are called, m/s calibrated and m from brake release; None: not called."""

    line_marker: float | None = None
    line_speed: float | None = None
    line_speed_minimum: float | None = None
    decision_speed: float | None = None
    refusal_speed: float | None = None
    rotation_speed: float | None = None


@dataclass(frozen=True, slots=True)
class LimitCall:
    """A limit held against live values. ``excess`` is None where it cannot be told, or does not apply.

    ``excess`` above 0 is a limit passed; below minus ``margin`` it may be called again.
    """

    name: str
    margin: float
    excess: Callable[[Values], float | None]
    text: Callable[[Values], str]


class CallOuts:
    """Turns live values into calls; give it every moment in order."""

    def __init__(self, speeds: PlannedSpeeds, limits: tuple[LimitCall, ...] = ()) -> None:
        self.speeds = speeds
        self.limits = limits
        self._run = TakeoffRun()
        self._said: set[str] = set()
        self._since: dict[str, float] = {}
        self._called: set[str] = set()

    def look(self, time: float, values: Values) -> list[CallOut]:
        """Return what is to be said at this moment."""
        return [*self._takeoff(time, values), *self._limits(time, values)]

    def _takeoff(self, time: float, values: Values) -> Iterator[CallOut]:
        speed = airspeed(values)
        before, here = self._run.move(time, values, speed)
        if here is None:
            self._said.clear()
            return
        if before is None or speed is None:
            return
        if (call := self._line_speed(before, here)) is not None and self._once("line_speed"):
            yield call
        for name, wanted, said in (
            ("decision_speed", self.speeds.decision_speed, "Decision speed {}"),
            ("refusal_speed", self.speeds.refusal_speed, "Refusal speed {}: past it a stop does not fit"),
            ("rotation_speed", self.speeds.rotation_speed, "Rotate, {}"),
        ):
            if wanted is not None and before.speed < wanted <= here.speed and self._once(name):
                yield CallOut(time, name, said.format(_knots(wanted)), "note", here.speed, wanted)

    def _line_speed(self, before: RunPoint, here: RunPoint) -> CallOut | None:
        marker, least = self.speeds.line_marker, self.speeds.line_speed_minimum
        if marker is None or not before.distance < marker <= here.distance:
            return None
        if not here.from_standstill:
            text = "Line speed not checked: the run did not begin from a standstill"
            return CallOut(here.time, "line_speed", text, "check")
        share = (marker - before.distance) / (here.distance - before.distance)
        speed = before.speed + share * (here.speed - before.speed)
        if least is None:
            return CallOut(here.time, "line_speed", f"Line speed {_knots(speed)}", "note", speed)
        if speed >= least:
            text = f"Line speed {_knots(speed)}, {_knots_up(least)} at least wanted"
            return CallOut(here.time, "line_speed", text, "note", speed, least)
        text = f"Line speed {_knots_down(speed)}, wanted {_knots_up(least)} at least"
        return CallOut(here.time, "line_speed", text, "check", speed, least)

    def _once(self, name: str) -> bool:
        new = name not in self._said
        self._said.add(name)
        return new

    def _limits(self, time: float, values: Values) -> Iterator[CallOut]:
        for limit in self.limits:
            excess = limit.excess(values)
            if excess is None or excess <= 0.0:
                self._since.pop(limit.name, None)
                # What cannot be told does not arm a limit anew: a feed that flickers would call for ever.
                if excess is not None and excess < -limit.margin:
                    self._called.discard(limit.name)
            elif time - self._since.setdefault(limit.name, time) >= HELD and limit.name not in self._called:
                self._called.add(limit.name)
                yield CallOut(time, limit.name, limit.text(values), "check")


def airspeed(values: Values) -> float | None:
    """Return the calibrated airspeed, or the indicated one where only that is known."""
    found = _number(values, "calibrated_airspeed")
    return _number(values, "indicated_airspeed") if found is None else found


def limit_calls(limits: Limits) -> tuple[LimitCall, ...]:
    """Return the calls of a pack's limits that live values can be held against."""
    calls: list[LimitCall] = []
    if limits.maximum_cas is not None:
        calls.append(_speed_call("maximum_cas", limits.maximum_cas.value, "Airspeed", None))
    if limits.gear_speed is not None:
        calls.append(_speed_call("gear_speed", limits.gear_speed.value, "Gear not up", "gear_position"))
    if (canopy := limits.canopy_open_ground_speed) is not None:
        calls.append(_canopy_call(canopy.value))
    if (mach := limits.maximum_mach) is not None:
        calls.append(
            LimitCall(
                "maximum_mach",
                0.02,
                lambda values: _over(_number(values, "mach_number"), mach.value),
                lambda values: f"Mach {_number(values, 'mach_number') or 0.0:.2f}, limit {mach.value:.2f}",
            )
        )
    return (*calls, *_load_factor_calls(limits))


def _speed_call(name: str, limit: float, what: str, out: str | None) -> LimitCall:
    """Return the call of a speed that must not be passed, while ``out`` is not stowed where it is given."""

    def excess(values: Values) -> float | None:
        over = _over(airspeed(values), limit)
        if out is None or over is None:
            return over
        position = _number(values, out)
        if position is None:
            return None
        # Stowed is as good as slow: the limit may be called again when it comes out once more.
        return over if position > POSITION_SHUT else -math.inf

    def text(values: Values) -> str:
        return f"{what} {_knots(airspeed(values) or 0.0)}, limit {_knots(limit)}"

    return LimitCall(name, SPEED_MARGIN, excess, text)


def _canopy_call(limit: float) -> LimitCall:
    def excess(values: Values) -> float | None:
        position, over = _number(values, "canopy_position"), _over(_number(values, "ground_speed"), limit)
        if position is None or over is None:
            return None
        return over if position > POSITION_SHUT else -math.inf

    def text(values: Values) -> str:
        return f"Canopy open {_knots(_number(values, 'ground_speed') or 0.0)}, limit {_knots(limit)}"

    return LimitCall("canopy_open_ground_speed", SPEED_MARGIN, excess, text)


def _load_factor_calls(limits: Limits) -> Iterator[LimitCall]:
    def said(values: Values) -> str:
        return f"{_number(values, 'load_factor_normal') or 0.0:.1f} g"

    if (table := limits.load_factor_positive) is not None:

        def most(values: Values) -> float | None:
            mass = _number(values, "gross_mass")
            try:
                return None if mass is None else float(table(mass))
            except OutsideTable:
                return None

        yield LimitCall(
            "load_factor_positive",
            0.3,
            lambda values: _over(_number(values, "load_factor_normal"), most(values)),
            lambda values: f"{said(values)}, limit {most(values) or 0.0:.1f} at this weight",
        )
    if (least := limits.load_factor_negative) is not None:
        yield LimitCall(
            "load_factor_negative",
            0.3,
            lambda values: _over(least.value, _number(values, "load_factor_normal")),
            lambda values: f"{said(values)}, limit {least.value:.1f}",
        )


def _over(value: float | None, limit: float | None) -> float | None:
    return None if value is None or limit is None else value - limit


def _number(values: Values, name: str) -> float | None:
    found = values.get(name)
    return None if isinstance(found, bool | str) else found


def _knots(speed: float) -> str:
    return f"{speed / KNOT:.0f}"


def _knots_up(speed: float) -> str:
    """Return a speed that must be reached: rounded up, so that what is shown is enough."""
    return f"{math.ceil(speed / KNOT - 1e-6):.0f}"


def _knots_down(speed: float) -> str:
    return f"{math.floor(speed / KNOT + 1e-6):.0f}"
