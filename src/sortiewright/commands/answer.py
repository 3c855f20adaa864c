"""The answer of a computation made by hand: values that know their units, as a table or as JSON."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sortiewright.commands.output import (
    Output,
    Row,
    System,
    aligned,
    joined,
    print_json,
    print_text,
    wrapped,
)

_SIGNS = {"degC": "°C", "deg": "°", "deg/s": "°/s"}


@dataclass(frozen=True, slots=True)
class Measure:
    """How a kind of quantity is written: its SI unit, and unit and rounding step of each system."""

    si_unit: str
    trade: tuple[str, float]
    si: tuple[str, float]

    def unit(self, system: System) -> tuple[str, float]:
        """Return unit and rounding step."""
        return self.trade if system == "trade" else self.si


HEIGHT = Measure("m", ("ft", 10), ("m", 1))
DISTANCE = Measure("m", ("nmi", 0.1), ("km", 0.1))
LENGTH = Measure("m", ("ft", 10), ("m", 1))
ARM = Measure("m", ("in", 0.01), ("m", 0.001))
SPEED = Measure("m/s", ("kt", 1), ("m/s", 0.1))
MACH = Measure("", ("", 0.001), ("", 0.001))
RATIO = Measure("", ("", 0.01), ("", 0.01))
LOAD_FACTOR = Measure("g", ("g", 0.01), ("g", 0.01))
TEMPERATURE = Measure("K", ("degC", 0.1), ("degC", 0.1))
TEMPERATURE_DIFFERENCE = Measure("delta_degC", ("degC", 0.1), ("degC", 0.1))
DENSITY = Measure("kg/m3", ("kg/m3", 0.0001), ("kg/m3", 0.0001))
PRESSURE = Measure("Pa", ("hPa", 1), ("hPa", 1))
TYRE_PRESSURE = Measure("Pa", ("psi", 1), ("kPa", 1))
ANGLE = Measure("rad", ("deg", 0.1), ("deg", 0.1))
TURN_RATE = Measure("rad/s", ("deg/s", 0.1), ("deg/s", 0.1))
MASS = Measure("kg", ("lb", 1), ("kg", 1))
TIME = Measure("s", ("s", 1), ("s", 1))
# Compass directions and their differences are held in degrees, load factors in g.
COURSE = Measure("deg", ("deg", 1), ("deg", 1))
DEGREES = Measure("deg", ("deg", 0.1), ("deg", 0.1))
FIELD_STRENGTH = Measure("nT", ("nT", 100), ("nT", 100))
_AS_IT_IS = ("deg", "nT", "g")


@dataclass(frozen=True, slots=True)
class Line:
    """One line of an answer: a value in SI with its measure, or words; ``note`` stands beside it."""

    name: str
    label: str
    value: float | str | None
    measure: Measure = RATIO
    note: str = ""
    step: float | None = None

    def converted(self, system: System) -> tuple[float, str]:
        """Return the value at full precision in the unit of a system, and the unit."""
        from sortiewright.pack import unit_factor

        assert isinstance(self.value, int | float)
        unit, _ = self.measure.unit(system)
        if self.measure.si_unit in _AS_IT_IS:
            return float(self.value), unit
        scale, offset = unit_factor(unit, self.measure.si_unit)
        return (float(self.value) - offset) / scale, unit

    def written(self, system: System) -> tuple[str, str]:
        """Return number and unit as people read them; words have no unit."""
        if self.value is None:
            return "-", ""
        if isinstance(self.value, str):
            return self.value, ""
        value, unit = self.converted(system)
        if self.measure is COURSE:
            return f"{round(value) % 360 or 360:03d}", "°"
        step = self.step or self.measure.unit(system)[1]
        return number_text(value, step, signed=self.measure is TEMPERATURE_DIFFERENCE), _SIGNS.get(unit, unit)

    def data(self, system: System) -> Any:
        """Return what JSON holds of this line."""
        if not isinstance(self.value, int | float):
            return self.value
        value, unit = self.converted(system)
        return {"value": value, "unit": unit}


def number_text(value: float, step: float, *, signed: bool = False) -> str:
    """Return a value rounded to a multiple of ``step``, thousands apart: ``12 840``."""
    places = max(0, len(f"{step:.6f}".rstrip("0").partition(".")[2]))
    text = f"{round(value / step) * step:{'+' if signed else ''},.{places}f}".replace(",", " ")
    return text.lstrip("+-") if not text.strip("+-0. ") else text


@dataclass(frozen=True, slots=True)
class Answer:
    """What a computation made by hand gives: from what, which values, and what to know of them."""

    title: str
    given: tuple[Line, ...]
    lines: tuple[Line, ...]
    notes: tuple[str, ...] = ()


def print_answer(answer: Answer, output: Output) -> None:
    """Print an answer to stdout."""
    system = output.units
    if output.json:
        print_json(
            {
                "given": {line.name: line.data(system) for line in answer.given},
                "result": {line.name: line.data(system) for line in answer.lines},
                "notes": list(answer.notes),
            }
        )
        return
    from rich.text import Text

    given = ", ".join(
        f"{line.label} {joined(*line.written(system))}" for line in answer.given if line.value is not None
    )
    rows = [Row(line.label, *line.written(system), line.note) for line in answer.lines]
    parts = [Text(answer.title, style="bold")]
    if given:
        parts += wrapped(f"Given: {given}", style="dim")
    parts += aligned(rows)
    parts += [line for note in answer.notes for line in wrapped(note, style="dim")]
    print_text(parts)
