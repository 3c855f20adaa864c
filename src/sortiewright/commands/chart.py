"""Any chart of a sortie, drawn to a file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from cyclopts import Parameter

from sortiewright.commands.arguments import SortieFile
from sortiewright.commands.faults import UsageError
from sortiewright.commands.inputs import Height, Number
from sortiewright.commands.output import Row, System, aligned, print_text

if TYPE_CHECKING:
    from sortiewright.performance import ManoeuvreNumbers
    from sortiewright.sortie import LoadedSortie, Plan

# Spelled out again, so that the help needs no import of the card room; a test holds them equal.
Chart = Literal[
    "route",
    "profile",
    "fuel",
    "climb",
    "turn",
    "energy",
    "load-factor",
    "runway",
    "stop-or-go",
    "landing",
    "balance",
]
Scheme = Literal["day", "night", "print"]
USUAL_ALTITUDE, USUAL_MACH = 3_048.0, 0.6
"""Of turns where neither the sortie's route nor the command says: 10,000 ft."""


def chart(
    sortie: SortieFile,
    /,
    *,
    of: Chart = "route",
    out: Annotated[Path | None, Parameter(metavar="file")] = None,
    scheme: Scheme = "day",
    units: System = "trade",
    altitude: Height | None = None,
    mach: Number | None = None,
    power: Annotated[str | None, Parameter(metavar="setting")] = None,
    list: Annotated[bool, Parameter(negative="")] = False,
) -> int:
    """One chart of a sortie as SVG, PNG or PDF: route, fuel, climb, turn, runway and more.

    Example: sortiewright chart demo --of fuel --out fuel.svg

    Parameters
    ----------
    sortie
        A sortie file, - for standard input, or a shipped sortie such as demo.
    of
        What to draw; --list tells what each shows.
    out
        File to write; its ending says how: .svg, .png or .pdf. Where absent, the chart's name and .svg.
    scheme
        Colours: day, red on black for night, or black on white.
    units
        Units on the chart.
    altitude
        Of turns and V-n diagram, pressure altitude; the first exercise of the route, or 10,000 ft.
    mach
        Of turns; that of the first exercise, or 0.6.
    power
        Power setting of turns and excess power; the highest where absent.
    list
        Print which charts there are, and draw none.
    """
    from sortiewright import sortie as room
    from sortiewright.cards import CHARTS, TURNING, chart_of, write_chart

    loaded = room.load_sortie(sortie)
    if list:
        print_text(aligned([Row(name, shows) for name, shows in CHARTS.items()]))
        return 0
    asked = {"--altitude": altitude, "--mach": mach, "--power": power}
    if of not in TURNING and (given := [name for name, value in asked.items() if value is not None]):
        raise UsageError(f"{' and '.join(given)} is of the charts {', '.join(sorted(TURNING))} only")
    made = room.plan(loaded.sortie, loaded.pack)
    numbers = None
    is_own = any(value is not None for value in asked.values())
    if of in TURNING and (is_own or made.flight is None):
        numbers = _manoeuvres(loaded, made, altitude, mach, power)
    drawing = chart_of(made, of, system=units, scheme=scheme, manoeuvres=numbers)
    path = write_chart(
        drawing, Path(f"{of}.svg") if out is None else out, title=f"{made.callsign}: {of}", scheme=scheme
    )
    print(path)
    return 0


def _manoeuvres(
    loaded: LoadedSortie, made: Plan, altitude: float | None, mach: float | None, power: str | None
) -> ManoeuvreNumbers:
    """Return the numbers of turning as asked; what is not asked is as in the plan, or at takeoff weight."""
    from sortiewright import sortie as room

    pack = loaded.pack.pack
    if power is not None and power not in pack.engine.settings:
        raise UsageError(f'"{power}" is no power setting of the pack: {", ".join(pack.engine.settings)}')
    most = power or pack.engine.maximum or pack.engine.military
    if made.flight is not None:
        row = made.flight.turning
        return room.manoeuvres_at(
            pack,
            row.load,
            row.balance.mass,
            row.balance.drag_index,
            altitude=row.end_altitude if altitude is None else altitude,
            mach=row.mach if mach is None else mach,
            power=most,
            isa_deviation=row.isa_deviation,
        )
    loads = room.compute(loaded.sortie, pack).loads
    return room.manoeuvres_at(
        pack,
        loads.takeoff,
        loads.takeoff_balance.mass,
        loads.takeoff_balance.drag_index,
        altitude=USUAL_ALTITUDE if altitude is None else altitude,
        mach=USUAL_MACH if mach is None else mach,
        power=most,
    )
