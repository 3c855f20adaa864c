"""What commands print: aligned figures for people, JSON for programs. Remarks go to stderr."""

from __future__ import annotations

import json as json_format
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, Literal

from cyclopts import Parameter

if TYPE_CHECKING:
    from rich.text import Text

System = Literal["trade", "si"]

NARROWEST = 60
"""Columns below which a table is not squeezed further."""
_SIGNS = {"degC": "°C", "deg": "°", "deg/s": "°/s", "Mft.lbf": "Mft·lbf"}
_TYPOGRAPHIC = str.maketrans({"\u202f": " ", "\u2009": " ", "\u2212": "-", "\u2011": "-"})


@Parameter(name="*")
@dataclass(frozen=True)
class Output:
    """How a result is to be written."""

    json: Annotated[
        bool, Parameter(negative="", help="Print JSON at full precision, each value with its unit.")
    ] = False
    units: Annotated[System, Parameter(help="Units of what is printed.")] = "trade"


FOR_PEOPLE = Output()


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


def joined(number: str, unit: str) -> str:
    """Return number and unit in one text."""
    return f"{number}{'' if unit in ('', '°') else ' '}{unit}"


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a table of figures: words without a unit stand where the number would, aligned left."""

    label: str
    number: str
    unit: str = ""
    note: str = ""
    style: str = ""


def aligned(rows: Sequence[Row], *, indent: int = 2, labels: int = 0, numbers: int = 0) -> list[Text]:
    """Return rows with their numbers one under the other; notes wrap under themselves.

    ``labels`` and ``numbers`` are least widths, for tables that stand one under the other.
    """
    from rich.text import Text

    width = terminal_width()
    label_width = max([labels, *(len(row.label) for row in rows)])
    number_width = max([numbers, *(len(row.number) for row in rows if is_number(row.number))])
    units = max([0, *(len(row.unit) for row in rows if is_number(row.number))])
    start = indent + label_width + 2
    lines: list[Text] = []
    for row in rows:
        line = Text(" " * indent + row.label.ljust(label_width) + "  ", style=row.style)
        if is_number(row.number):
            gap = "" if row.unit.startswith("°") and row.unit != "°C" else " "
            line.append(row.number.rjust(number_width), style="bold").append(gap + row.unit)
            note_start = start + number_width + 1 + units + 2
            lines += _with_note(line, row.note, note_start, width)
        else:
            words = " ".join(part for part in (row.number, row.unit) if part)
            lines += _with_note(line, f"{words}  {row.note}".strip(), start, width, dim=False)
    return lines


def _with_note(line: Text, note: str, start: int, width: int, *, dim: bool = True) -> list[Text]:
    """Return a line and the note beside it, or below it where there is no room beside."""
    from rich.text import Text

    style = "dim" if dim else ""
    if not note:
        return [line]
    if width - start < 24:  # too narrow a strip to read
        return [line, *wrapped(note, indent=6, style=style)]
    first, *rest = _folded(note, width - start)
    line.append(" " * (start - len(line))).append(first, style=style)
    return [line, *(Text(" " * start + one, style=style) for one in rest)]


def is_number(text: str) -> bool:
    """Return whether a text is set with the numbers, at their right edge."""
    return not any(letter.isalpha() for letter in text) and len(text) <= 12


def wrapped(text: str, *, indent: int = 2, hanging: int = 0, style: str = "") -> list[Text]:
    """Return a text broken into lines of the terminal's width, the later ones further in by ``hanging``."""
    from rich.text import Text

    first, *rest = _folded(text, terminal_width() - indent, hanging) or [""]
    return [Text(" " * indent + first, style=style), *(Text(" " * indent + one, style=style) for one in rest)]


def _folded(text: str, width: int, hanging: int = 0) -> list[str]:
    import textwrap

    return textwrap.wrap(text, max(width, 20), subsequent_indent=" " * hanging, break_long_words=False)


def terminal_width() -> int:
    """Return the columns there are; 80 where the output is no terminal."""
    import shutil

    return max(shutil.get_terminal_size((80, 24)).columns, NARROWEST)


def print_text(lines: Iterable[Text]) -> None:
    """Print to stdout, coloured on a terminal only."""
    from rich.console import Console

    # Captured and written by ourselves: rich answers a closed pipe with exit code 1, which is a no-go here.
    console = Console(width=terminal_width(), highlight=False, markup=False, soft_wrap=True)
    with console.capture() as captured:
        for line in lines:
            console.print(line)
    sys.stdout.write("\n".join(one.rstrip() for one in captured.get().translate(_TYPOGRAPHIC).split("\n")))


def print_json(data: Any) -> None:
    """Print JSON to stdout; what is not a finite number must have been replaced before."""
    print(json_format.dumps(data, indent=2, ensure_ascii=False, allow_nan=False))


def remark(text: str) -> None:
    """Print a remark to stderr, after what stdout has had so far."""
    sys.stdout.flush()
    print(text.translate(_TYPOGRAPHIC), file=sys.stderr)


class Steps:
    """Tells on stderr, on a terminal only, which of some steps is under way; call it as each begins."""

    def __init__(self, total: int) -> None:
        self.total = total
        self._bar: Any = None
        self._task: Any = None

    def __enter__(self) -> Steps:
        if sys.stderr.isatty():
            from rich.console import Console
            from rich.progress import BarColumn, Progress, TextColumn

            columns = (BarColumn(bar_width=24), TextColumn("{task.description}"))
            self._bar = Progress(*columns, console=Console(stderr=True), transient=True)
            self._task = self._bar.add_task("", total=self.total)
            self._bar.start()
        return self

    def __call__(self, text: str) -> None:
        """Begin the next step."""
        if self._bar is not None:
            done = self._bar.tasks[0].description != ""
            self._bar.update(self._task, advance=1 if done else 0, description=text, refresh=True)

    def __exit__(self, *_: object) -> None:
        if self._bar is not None:
            self._bar.stop()
