"""Where on its takeoff run the aircraft is: the distance from where it last stood, while its wheels roll."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

from sortiewright.link.channel_values import Value

STANDS = 1.0  # m/s under which the aircraft stands
TAXIES = 20.0  # m/s of ground speed that a taxi does not reach (39 kt); common practice, no source
LONGEST_STEP = 1.0  # s between moments over which a distance can be told
LONGEST_ROLL_TO_TAXI_SPEED = 400.0  # m: who comes to 39 kt slower than that was taxiing; no source


class RunPoint(NamedTuple):
    """A moment of the run: s, m from the standstill, m/s of airspeed."""

    time: float
    distance: float
    speed: float
    from_standstill: bool


@dataclass(slots=True)
class TakeoffRun:
    """Follows ground speed and wheels moment by moment."""

    _time: float | None = None
    _ground_speed: float = 0.0
    _distance: float = 0.0
    _known: bool = False
    """Whether the distance is one from a standstill."""
    _running: bool = False
    _last: RunPoint | None = None

    def move(
        self, time: float, values: Mapping[str, Value], speed: float | None
    ) -> tuple[RunPoint | None, RunPoint | None]:
        """Return the moment before and this one, None where the aircraft is not on a takeoff run."""
        ground_speed, rolls = values.get("ground_speed"), _on_wheels(values)
        if isinstance(ground_speed, bool | str) or ground_speed is None or rolls is None or speed is None:
            return self._last, self._last  # a moment that cannot be told ends nothing
        self._add(time, ground_speed)
        if not rolls or ground_speed < STANDS:
            self._running = False
        elif not self._running and ground_speed >= TAXIES:
            self._running = True
            self._known = self._known and self._distance <= LONGEST_ROLL_TO_TAXI_SPEED
        elif self._running and ground_speed < 0.5 * TAXIES:
            self._running = False  # it was given up, or it was a landing
        before = self._last if self._running else None
        self._last = RunPoint(time, self._distance, speed, self._known) if self._running else None
        return before, self._last

    def _add(self, time: float, ground_speed: float) -> None:
        """Add the way since the last moment; a gap leaves the distance unknown until the next standstill."""
        step = None if self._time is None else time - self._time
        if ground_speed < STANDS:
            self._distance, self._known = 0.0, True
        elif step is None or not 0.0 <= step <= LONGEST_STEP:
            self._known = False
        else:
            self._distance += 0.5 * (ground_speed + self._ground_speed) * step
        self._time, self._ground_speed = time, ground_speed


def _on_wheels(values: Mapping[str, Value]) -> bool | None:
    """Return whether a main wheel bears weight; None where neither is told."""
    told = [
        values[name]
        for name in ("weight_on_wheels_left", "weight_on_wheels_right")
        if values.get(name) is not None
    ]
    return any(told) if told else None
