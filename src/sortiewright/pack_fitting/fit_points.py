"""Handbook points as rows of a CSV file: a quantity, its value, and the conditions it is printed for."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path

from sortiewright.pack import (
    InputError,
    Pack,
    Problem,
    QuantityError,
    choice_hint,
    read_text_file,
    shown,
    to_si,
    unit_factor,
)

FIT_QUANTITIES: Mapping[str, str] = {
    "ground_run": "m",
    "distance_to_screen": "m",
    "lift_off_speed": "m/s",
    "stall_speed": "m/s",
    "rate_of_climb": "m/s",
    "time_to_climb": "s",
    "fuel_to_climb": "kg",
    "distance_to_climb": "m",
    "fuel_flow": "kg/s",
    "approach_speed": "m/s",
    "landing_roll": "m",
    "landing_distance": "m",
}
"""What a row may be about, and its SI unit. Speeds are calibrated; fuel flow is of all engines, level."""

FIT_CONDITIONS: Mapping[str, str] = {
    "mass": "kg",
    "centre_of_gravity": "",
    "pressure_altitude": "m",
    "to_altitude": "m",
    "temperature": "K",
    "isa_deviation": "delta_degC",
    "headwind": "m/s",
    "slope": "",
    "runway_condition_reading": "",
    "drag_index": "",
    "mach": "",
    "cas": "m/s",
}
FIT_WORDS = ("configuration", "power", "chute")
"""Conditions that are words: a configuration and a power setting of the pack, yes or no."""

IN_FLIGHT = frozenset(("rate_of_climb", "fuel_flow"))
CLIMBS = frozenset(("time_to_climb", "fuel_to_climb", "distance_to_climb"))
COLUMNS = ("row", "quantity", "value", "unit", "tolerance", *FIT_CONDITIONS, *FIT_WORDS)
NEEDED = ("quantity", "value", "unit", "mass")
TOLERANCE = 0.01  # share, where a row states none
SIGMAS_IN_A_TOLERANCE = 2.0


@dataclass(frozen=True, slots=True)
class FitPoint:
    """A row, SI: ``sigma`` is half its tolerance, which is taken as 95 %; ``unit`` is the one it was written
    in."""

    name: str
    line: int
    quantity: str
    value: float
    sigma: float
    unit: str
    conditions: Mapping[str, float]
    words: Mapping[str, str]

    def condition(self, name: str, otherwise: float = 0.0) -> float:
        """Return a condition, or what holds where none is stated."""
        return self.conditions.get(name, otherwise)

    @property
    def label(self) -> str:
        """The row as messages name it."""
        place = f"{self.quantity}, line {self.line}"
        return f"{self.name} ({place})" if self.name else place


def read_fit_points(path: Path | str, pack: Pack) -> tuple[FitPoint, ...]:
    """Return the rows of a CSV file: a line of names, a line of units, then a row a line.

    The units line names the unit of every condition that has one; the unit of a value is in its own row.
    Without a column ``unit`` there is no line of units either, and each cell carries its own: ``2450 ft``, as
    the points of a calibration do.
    Lines that begin with ``#`` are comments. Raises ``InputError`` with every fault, among them rows of one
    quantity and the same conditions whose values lie further apart than both tolerances.
    """
    file = Path(path)
    text = read_text_file(file, name=file.name)
    lines = [
        (number, [cell.strip() for cell in next(csv.reader(io.StringIO(line)))])
        for number, line in enumerate(text.split("\n"), 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if not lines:
        hint = f"Begin with the names {','.join(NEEDED)}, then a line of units"
        raise InputError([Problem(file.name, None, "", "", "holds no points", hint)])
    reading = _Reading(file.name, lines[0][1], pack)
    reading.check_head(lines[0][0])
    first = 2 if reading.has_units_line else 1
    if not reading.problems and reading.has_units_line:
        reading.read_units(*(lines[1] if len(lines) > 1 else (lines[0][0] + 1, [])))
    points: list[FitPoint] = []
    if not reading.problems:
        rows = [reading.point(number, cells) for number, cells in lines[first:]]
        points = [row for row in rows if row is not None]
        if not rows:
            where = "units" if reading.has_units_line else "names"
            reading.add(lines[first - 1][0], "", "", f"there are no points below the line of {where}")
    problems = reading.problems or contradictions(file.name, points)
    if problems:
        raise InputError(problems)
    return tuple(points)


def contradictions(file: str, points: Sequence[FitPoint]) -> list[Problem]:
    """Return a fault for each two rows that say different things of one case.

    Values may differ by as much as both tolerances together: beyond, both cannot be right.
    """
    problems: list[Problem] = []
    for one, other in combinations(points, 2):
        same = (one.quantity, one.conditions, one.words) == (other.quantity, other.conditions, other.words)
        allowed = SIGMAS_IN_A_TOLERANCE * (one.sigma + other.sigma)
        if same and abs(one.value - other.value) > allowed:
            read = f"{in_unit(other.value, other.unit, other.quantity):g} {other.unit}"
            first = f"{in_unit(one.value, one.unit, one.quantity):g} {one.unit}"
            expected = f"contradicts {one.label}: {first} in the same conditions"
            hint = "One of the two is misread, or a condition is missing"
            problems.append(Problem(file, other.line, other.quantity, read, expected, hint))
    return problems


def in_unit(value: float, unit: str, quantity: str) -> float:
    """Return an SI value in the unit that its row is written in."""
    scale, offset = unit_factor(unit, FIT_QUANTITIES[quantity])
    return (value - offset) / scale


class _Reading:
    """One file being read: its columns and units, and the faults so far."""

    def __init__(self, file: str, head: Sequence[str], pack: Pack) -> None:
        self.file, self.head, self.pack = file, list(head), pack
        self.units: dict[str, str] = {}
        self.problems: list[Problem] = []
        self.has_units_line = "unit" in head

    def add(self, line: int, key: str, read: str, expected: str, hint: str = "") -> None:
        self.problems.append(Problem(self.file, line, key, read, expected, hint))

    def check_head(self, line: int) -> None:
        for name in self.head:
            if name not in COLUMNS:
                self.add(
                    line, "", shown(name), "is no column of points", choice_hint(name, COLUMNS, "columns")
                )
        for name in sorted({name for name in self.head if self.head.count(name) > 1}):
            self.add(line, "", shown(name), "stands twice in the line of names")
        for name in NEEDED:
            if name not in self.head and name != "unit":
                self.add(line, name, "", "this column is missing")

    def read_units(self, line: int, cells: Sequence[str]) -> None:
        row = dict(zip(self.head, cells, strict=False))
        wanted = {name: unit for name, unit in FIT_CONDITIONS.items() if name in self.head and unit}
        if row.get("quantity") or not any(row.get(name) for name in wanted):
            example = ",".join(_usual_unit(name) if name in wanted else "" for name in self.head)
            hint = f"Put it below the names: {example}"
            self.add(line, "", "", "the line of units is missing", hint)
            return
        for name, si_unit in wanted.items():
            unit = row.get(name, "")
            try:
                unit_factor(unit, si_unit) if unit else to_si("1", si_unit)
            except QuantityError as error:
                self.add(
                    line,
                    name,
                    shown(unit) if unit else "",
                    "is not a unit for it" if unit else "has no unit",
                    error.hint,
                )
            self.units[name] = unit
        for name in self.head:
            if row.get(name) and name not in wanted and row[name] != "%":
                self.add(line, name, shown(row[name]), "a unit does not belong here", "Leave the cell empty")
            elif row.get(name) == "%":
                self.units[name] = "%"

    def point(self, line: int, cells: Sequence[str]) -> FitPoint | None:
        """Return a row; None where it has a fault, which is noted."""
        before = len(self.problems)
        if len(cells) > len(self.head):
            self.add(
                line,
                "",
                f"{len(cells)} cells",
                f"do not fit the {len(self.head)} names",
                "Is there a decimal comma? Write a decimal point",
            )
            return None
        row = dict(zip(self.head, cells, strict=False))
        quantity = row.get("quantity", "")
        if not quantity and not self.has_units_line:
            hint = "A line of units wants a column unit too; or write each cell with its unit: 2450 ft"
            self.add(line, "quantity", "", "is missing", hint)
            return None
        if quantity not in FIT_QUANTITIES:
            hint = choice_hint(quantity, FIT_QUANTITIES, "quantities")
            self.add(line, "quantity", shown(quantity), "is not a quantity that can be fitted", hint)
            return None
        unit = row.get("unit", "") if self.has_units_line else _unit_in(row.get("value", ""))
        written = row.get("value", "").removesuffix(unit) if not self.has_units_line else row.get("value", "")
        value = self._number(line, "value", written.strip(), unit, FIT_QUANTITIES[quantity])
        sigma = self._tolerance(line, row.get("tolerance", ""), unit, value, quantity) / SIGMAS_IN_A_TOLERANCE
        conditions = {
            name: self._number(line, name, row[name], self.units.get(name, ""), unit)
            for name, unit in FIT_CONDITIONS.items()
            if row.get(name)
        }
        words = {name: row[name] for name in FIT_WORDS if row.get(name)}
        self._check_conditions(line, quantity, conditions, words)
        if len(self.problems) > before:
            return None
        if not (value > 0.0 and sigma > 0.0):
            self.add(line, "value", "", "value and tolerance must be more than nought")
            return None
        name = row.get("row", "")
        return FitPoint(name, line, quantity, value, sigma, unit, conditions, words)

    def _number(self, line: int, name: str, text: str, unit: str, si_unit: str) -> float:
        try:
            return to_si(f"{text} {unit}".strip(), si_unit)
        except QuantityError as error:
            read, expected = (shown(text), error.expected) if text else ("", "the value is missing")
            self.add(line, name, read, expected, error.hint if text else "")
            return float("nan")

    def _tolerance(self, line: int, text: str, unit: str, value: float, quantity: str) -> float:
        if not text:
            return TOLERANCE * abs(value)
        if text.endswith("%"):
            return abs(value) * self._number(line, "tolerance", text, "", "")
        if _unit_in(text):
            return self._number(line, "tolerance", text, "", FIT_QUANTITIES[quantity])
        scale, _ = unit_factor(unit, FIT_QUANTITIES[quantity]) if value == value else (1.0, 0.0)
        return scale * self._number(line, "tolerance", text, "", "")

    def _check_conditions(
        self, line: int, quantity: str, conditions: Mapping[str, float], words: Mapping[str, str]
    ) -> None:
        wanted = ["mass", *(["pressure_altitude"] if quantity in IN_FLIGHT else [])]
        wanted += ["to_altitude"] if quantity in CLIMBS else []
        for name in wanted:
            if name not in conditions:
                self.add(line, name, "", f"the value is missing, {quantity} needs it")
        if quantity in IN_FLIGHT and not ("mach" in conditions or "cas" in conditions):
            self.add(line, "mach", "", f"the speed is missing: {quantity} needs mach or cas")
        if quantity in CLIMBS and not {"mach", "cas"} & conditions.keys() and not self.pack.technique.climb:
            self.add(line, "cas", "", "the speed is missing, and the pack states no climb")
        known = {
            "configuration": list(self.pack.aero.configurations),
            "power": list(self.pack.engine.settings),
            "chute": ["yes", "no"],
        }
        for name, word in words.items():
            if word not in known[name]:
                hint = choice_hint(word, known[name], f"in {self.pack.name}")
                self.add(line, name, shown(word), f"is not a {name.replace('_', ' ')} of the pack", hint)
        if words.get("chute") == "yes" and self.pack.wheels.chute is None:
            self.add(line, "chute", shown("yes"), "asks for a chute, and the pack has none")


def _unit_in(text: str) -> str:
    """Return the unit that a cell carries behind its number; empty where it carries none."""
    found = re.fullmatch(r"[-+0-9.eE]+\s*([^-+0-9.\s].*)", text)
    return found[1] if found else ""


def _usual_unit(name: str) -> str:
    return {
        "mass": "lb",
        "pressure_altitude": "ft",
        "to_altitude": "ft",
        "temperature": "degC",
        "isa_deviation": "delta_degC",
    }.get(name, "kt")
