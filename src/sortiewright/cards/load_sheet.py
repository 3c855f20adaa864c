"""The load sheet: what is aboard by group, with mass, arm and moment, and the sum."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from sortiewright.cards.reading import Reading, Row
from sortiewright.cards.typeface import printable
from sortiewright.sortie import MINUS, THIN_SPACE, Kind, LoadLine, System, convert, show

INCH = 0.0254  # m, exact by definition (NIST SP 811, 2008, appendix B.8)
GROUPS = {"fixed": "Aircraft", "crew": "Crew", "fuel": "Fuel", "store": "Stores"}


def load_groups(reading: Reading) -> list[dict[str, Any]]:
    """Return the load sheet by group, in the order in which groups first occur."""
    lines = reading.plan.load
    names = list(dict.fromkeys(line.group for line in lines))
    return [
        {
            "title": GROUPS.get(name, name.capitalize()),
            "lines": [load_row(reading.system, line) for line in counted(lines, name)],
        }
        for name in names
    ]


def counted(lines: Iterable[LoadLine], group: str) -> list[LoadLine]:
    """Return the lines of a group, equal ones as one with their count, and without the group's own name."""
    alike: dict[tuple[str, float, float, float], int] = {}
    for line in lines:
        if line.group == group:
            key = line.title, line.mass, line.arm, line.side_arm
            alike[key] = alike.get(key, 0) + 1
    prefix = f"{GROUPS.get(group, group)}, "
    return [
        LoadLine(
            f"{count} × {short}" if count > 1 else short[:1].upper() + short[1:],
            count * mass,
            arm,
            side_arm,
            group,
        )
        for (title, mass, arm, side_arm), count in alike.items()
        for short in [title.removeprefix(prefix)]
    ]


def load_total(reading: Reading) -> Row:
    """Return the sum of the load sheet."""
    lines = reading.plan.load
    mass = sum(line.mass for line in lines)
    arm = sum(line.mass * line.arm for line in lines) / mass if mass else 0.0
    return load_row(reading.system, LoadLine("Total", mass, arm))


def load_row(system: System, line: LoadLine) -> Row:
    """Return one line of the load sheet: mass, arm and moment, and the side arm where it has one."""
    side = ""
    if line.side_arm:
        where = "right" if line.side_arm > 0 else "left"
        side = f"{arm_text(abs(line.side_arm), system)}{THIN_SPACE}{arm_unit(system)} {where}"
    return {
        "title": printable(line.title),
        "mass": show(line.mass, Kind.MASS, system, step=1).number,
        "arm": arm_text(line.arm, system),
        "moment": moment_text(line.mass, line.arm, system),
        "side": printable(side),
    }


def load_units(system: System) -> list[str]:
    """Return the units of mass, arm and moment."""
    return [show(0.0, Kind.MASS, system).unit, arm_unit(system), moment_unit(system)]


def arm_unit(system: System) -> str:
    """Return the unit of arms."""
    return "in" if system == "trade" else "m"


def moment_unit(system: System) -> str:
    """Return the unit of moments: thousands of inch-pounds, or kg m."""
    return "in·lb/1000" if system == "trade" else "kg·m"


def arm_text(arm: float, system: System) -> str:
    """Return an arm aft of the datum, m, in the sheet's unit."""
    return fixed(arm / INCH, 1) if system == "trade" else fixed(arm, 3)


def moment_text(mass: float, arm: float, system: System) -> str:
    """Return mass times arm, kg and m, in the sheet's unit."""
    if system == "trade":
        return fixed(convert(mass, Kind.MASS)[0] * arm / INCH / 1000, 1)
    return fixed(mass * arm, 0)


def fixed(value: float, places: int) -> str:
    """Return a number with a fixed count of decimals, as columns of figures need."""
    return f"{value:,.{places}f}".replace(",", THIN_SPACE).replace("-", MINUS)
