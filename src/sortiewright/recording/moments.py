"""What a recording is divided into: sorties, phases, events."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

PhaseName = Literal[
    "parked",
    "start",
    "taxi",
    "hold",
    "line_up",
    "run_up",
    "takeoff_roll",
    "rejected_takeoff",
    "rotation",
    "lift_off",
    "clean_up",
    "climb",
    "cruise",
    "manoeuvre",
    "descent",
    "approach",
    "go_around",
    "flare",
    "touchdown",
    "landing_roll",
    "chute",
    "taxi_in",
    "shutdown",
    "unknown",
]
EventName = Literal[
    "engine_start",
    "taxi_begins",
    "holds",
    "lined_up",
    "power_set",
    "brake_release",
    "afterburner_lit",
    "rotation_begins",
    "nosewheel_off",
    "lift_off",
    "height_35_ft",
    "height_50_ft",
    "gear_up_selected",
    "gear_up",
    "flaps_up_selected",
    "flaps_up",
    "afterburner_out",
    "engine_failed",
    "levers_closed",
    "top_of_climb",
    "top_of_descent",
    "gear_down",
    "gate_1000_ft",
    "gate_500_ft",
    "gate_300_ft",
    "gate_50_ft",
    "go_around_begins",
    "touchdown",
    "bounce",
    "nosewheel_down",
    "chute_out",
    "brakes_on",
    "stopped",
    "shut_down",
]


@dataclass(frozen=True, slots=True)
class Phase:
    """A stretch of rows ``begin`` to ``end`` (exclusive) and its times, s."""

    name: PhaseName
    begin: int
    end: int
    begins: float
    ends: float


@dataclass(frozen=True, slots=True)
class Event:
    """A moment: ``time`` s, between samples where it can be told; ``row`` is the sample at or before it."""

    name: EventName
    time: float
    row: int
    basis: str = ""
    """What told it: weight on wheels, height and climb, pitch rate ..."""


@dataclass(frozen=True)
class Flight:
    """One sortie in a recording: from parked to parked, or as much of it as was recorded."""

    begin: int
    end: int
    phases: tuple[Phase, ...]
    events: tuple[Event, ...]
    """In the order of time. A touch-and-go gives several of a name."""
    labels: NDArray[np.intp]
    """Number of the phase in ``phases`` of each row from ``begin`` to ``end``."""
    notes: tuple[str, ...] = ()
    """What could not be told, and why."""

    def first(self, name: EventName) -> Event | None:
        """Return the first event of a name."""
        return next((event for event in self.events if event.name == name), None)
