"""Handbook points as observations: published distances and speeds, read from a CSV file."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from sortiewright.air import standard_air
from sortiewright.pack import (
    InputError,
    Pack,
    Problem,
    QuantityError,
    TakeoffTechnique,
    choice_hint,
    read_text_file,
    shown,
    to_si,
)
from sortiewright.performance import Cases, fly_takeoff, make_cases, takeoff_setup
from sortiewright.recording.calibration_runs import Linear

Floats = NDArray[np.float64]

QUANTITIES = {"ground_run": "m", "distance_to_screen": "m", "lift_off_speed": "m/s"}
CONDITIONS = {
    "mass": "kg",
    "centre_of_gravity": "",
    "pressure_altitude": "m",
    "temperature": "K",
    "isa_deviation": "delta_degC",
    "headwind": "m/s",
    "slope": "",
    "drag_index": "",
}
NEEDED = ("quantity", "value", "tolerance", "mass")
STEP = 1e-3
SIGMAS_IN_A_TOLERANCE = 2.0


@dataclass(frozen=True, slots=True)
class HandbookPoint:
    """A published value, SI: ``sigma`` is half the tolerance, which is taken as 95 %."""

    quantity: str
    value: float
    sigma: float
    conditions: dict[str, float]

    def condition(self, name: str, otherwise: float = 0.0) -> float:
        """Return a condition, or what holds where none is stated."""
        return self.conditions.get(name, otherwise)


def read_points(path: Path | str) -> tuple[HandbookPoint, ...]:
    """Return the points of a CSV file: a line of names, then a point a line, each cell with its unit.

    ``quantity,value,tolerance,mass,temperature`` and ``ground_run,2450 ft,2 %,9500 lb,15 degC``. What is not
    stated: sea level, standard day, no wind, level, balanced at 25 % of the mean chord. Raises ``InputError``
    with every fault.
    """
    file = Path(path)
    text = read_text_file(file, name=file.name)
    lines = list(csv.reader(io.StringIO(text)))
    if not lines:
        raise InputError(
            [Problem(file.name, None, "", "", "this file is empty", f"Begin with {','.join(NEEDED)}")]
        )
    head = [cell.strip() for cell in lines[0]]
    problems = _head_problems(file.name, head)
    points: list[HandbookPoint] = []
    for number, cells in enumerate(lines[1:], 2):
        if problems or not any(cell.strip() for cell in cells):
            continue
        row = dict(zip(head, (cell.strip() for cell in cells), strict=False))
        found = _point(file.name, number, row)
        if isinstance(found, HandbookPoint):
            points.append(found)
        else:
            problems = [*problems, *found]
            break
    if not problems and not points:
        problems = [Problem(file.name, 1, "", "", "holds no point below its line of names")]
    if problems:
        raise InputError(problems)
    return tuple(points)


def _head_problems(file: str, head: Sequence[str]) -> list[Problem]:
    known = ("quantity", "value", "tolerance", *CONDITIONS)
    problems = [
        Problem(file, 1, "", shown(name), "is no column of points", choice_hint(name, known, "columns"))
        for name in head
        if name not in known
    ]
    problems += [Problem(file, 1, name, "", "this column is missing") for name in NEEDED if name not in head]
    return problems


def _point(file: str, line: int, row: dict[str, str]) -> HandbookPoint | list[Problem]:
    problems: list[Problem] = []

    def number(name: str, unit: str) -> float:
        try:
            return to_si(row.get(name, ""), unit)
        except QuantityError as error:
            problems.append(Problem(file, line, name, error.read, error.expected, error.hint))
            return float("nan")

    quantity = row.get("quantity", "")
    if quantity not in QUANTITIES:
        hint = choice_hint(quantity, QUANTITIES, "quantities")
        return [Problem(file, line, "quantity", shown(quantity), "cannot be calibrated with", hint)]
    value = number("value", QUANTITIES[quantity])
    written = row.get("tolerance", "")
    tolerance = (
        value * number("tolerance", "")
        if written.endswith("%")
        else number("tolerance", QUANTITIES[quantity])
    )
    conditions = {name: number(name, unit) for name, unit in CONDITIONS.items() if row.get(name)}
    if "mass" not in conditions:
        problems.append(
            Problem(file, line, "mass", "", "the value is missing", "Write it like this: 9500 lb")
        )
    if not problems and not (value > 0.0 and tolerance > 0.0):
        problems.append(Problem(file, line, "", "", "value and tolerance must be more than nought"))
    return problems or HandbookPoint(quantity, value, tolerance / SIGMAS_IN_A_TOLERANCE, conditions)


@dataclass
class PointModel:
    """Predicts points, each in units of its own sigma. Parameters: thrust, drag, friction, pitch rate."""

    pack: Pack
    technique: TakeoffTechnique
    points: Sequence[HandbookPoint]
    times: list[Floats] = field(init=False)
    observed: Floats = field(init=False)
    names: tuple[str, ...] = ("thrust", "drag", "friction", "pitch_rate")
    least_sigma: float = 1.0

    def __post_init__(self) -> None:
        self.times = [np.zeros(1) for _ in self.points]
        self._sigma = np.array([point.sigma for point in self.points])
        self.observed = np.array([point.value for point in self.points]) / self._sigma
        self._cases = _cases_of(self.pack, self.points)

    def start(self) -> Floats:
        """Return the factors of the pack as it is."""
        return np.ones(len(self.names))

    def at(self, parameters: Floats) -> Linear:
        """Return the prediction and how it changes with each factor, in one batch."""
        count = len(self.names)
        sets = np.vstack([parameters, parameters + STEP * np.eye(count)])
        values = self._values(sets) / self._sigma
        changes = (values[1:] - values[0]).T / STEP
        return Linear(values[0], changes, np.zeros((len(self.points), 0)))

    def _values(self, sets: Floats) -> Floats:
        """Return what our takeoff gives for each set and point, (sets, points), SI."""
        n = len(self.points)
        each = np.repeat(np.arange(len(sets)), n)
        cases = replace(
            self._cases.take(np.tile(np.arange(n), len(sets))),
            thrust_factor=sets[each, 0],
            drag_factor=sets[each, 1],
            friction_factor=sets[each, 2],
        )
        rate = self.technique.pitch_rate * sets[each, 3]
        flown = fly_takeoff(takeoff_setup(self.pack, cases, self.technique, pitch_rate=rate))
        by_name = {
            "ground_run": flown.ground_run,
            "distance_to_screen": flown.distance_to_screen,
            "lift_off_speed": flown.lift_off_cas,
        }
        table = {name: values.reshape(len(sets), n) for name, values in by_name.items()}
        found = np.stack([table[point.quantity][:, k] for k, point in enumerate(self.points)], axis=1)
        if not np.isfinite(found).all():
            bad = self.points[int(np.argwhere(~np.isfinite(found))[0, 1])]
            mass = bad.conditions["mass"] / 0.45359237
            raise ValueError(
                f"at {mass:.0f} lb the pack's aircraft does not take off: the point cannot be right"
            )
        return found


def _cases_of(pack: Pack, points: Sequence[HandbookPoint]) -> Cases:
    def column(name: str, otherwise: float = 0.0) -> Floats:
        return np.array([point.condition(name, otherwise) for point in points])

    air = standard_air(column("pressure_altitude"), column("isa_deviation"))
    temperature = np.array(
        [
            point.conditions.get("temperature", standard)
            for point, standard in zip(points, np.atleast_1d(air.temperature), strict=True)
        ]
    )
    frame = pack.airframe
    return make_cases(
        column("mass"),
        frame.mean_chord_leading_edge_arm + column("centre_of_gravity", 0.25) * frame.mean_chord,
        type(air)(air.pressure, temperature),
        drag_index=column("drag_index"),
        headwind=column("headwind"),
        slope=np.arctan(column("slope")),
    )
