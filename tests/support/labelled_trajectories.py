"""Real trajectories with an independent labeller's phases, and ours of the same samples in its terms."""

from __future__ import annotations

import gzip
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np

from sortiewright.recording import Recording, flights_of

FILE = Path(__file__).parent.parent / "data" / "trajectories" / "labelled.csv.gz"
FOOT = 0.3048  # m
KNOT = 1852.0 / 3600.0  # m/s

# The labeller knows ground, climb, descent, cruise and level; cruise is level flight that is high and fast.
THEIRS = {"GND": "ground", "CL": "climb", "DE": "descent", "CR": "level", "LVL": "level", "NA": ""}
OURS = {
    **dict.fromkeys(("lift_off", "clean_up", "climb", "go_around"), "climb"),
    **dict.fromkeys(("descent", "approach", "flare"), "descent"),
    **dict.fromkeys(("cruise", "manoeuvre"), "level"),
}


@dataclass(frozen=True)
class Labelled:
    """One trajectory: times s, altitude m, and for each sample the labeller's word and ours."""

    number: int
    time: np.ndarray
    altitude: np.ndarray
    theirs: dict[int, np.ndarray]
    """By its window, s; an empty word where it gives none."""
    ours: np.ndarray


def labelled(file: Path = FILE) -> list[Labelled]:
    """Return all trajectories of the excerpt."""
    lines = gzip.decompress(file.read_bytes()).decode().splitlines()[1:]
    rows = [line.split(",") for line in lines]
    numbers = np.array([int(row[0]) for row in rows])
    starts = [*np.flatnonzero(np.diff(numbers, prepend=-1)).tolist(), len(rows)]
    return [_one(rows[begin:end]) for begin, end in pairwise(starts)]


def _one(rows: list[list[str]]) -> Labelled:
    time, altitude, speed, rate = (np.array([float(row[column]) for row in rows]) for column in range(1, 5))
    recording = Recording(
        "trajectory",
        time,
        {
            "altitude": altitude * FOOT,
            "ground_speed": speed * KNOT,
            "vertical_speed": rate * FOOT / 60.0,
        },
        np.empty(0, dtype=np.intp),
    )
    ours = np.full(len(time), "ground", dtype="<U8")
    for flight in flights_of(recording):
        for phase in flight.phases:
            ours[phase.begin : phase.end] = OURS.get(phase.name, "ground")
    theirs = {
        window: np.array([THEIRS[row[column]] for row in rows]) for window, column in ((60, 5), (20, 6))
    }
    return Labelled(int(rows[0][0]), time, altitude, theirs, ours)
