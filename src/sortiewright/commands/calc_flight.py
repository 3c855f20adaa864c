"""Computations on a flight above the circuit: climb, cruise, descent of a pack's aircraft."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

from cyclopts import Parameter

from sortiewright.commands import answer as out
from sortiewright.commands.answer import Answer, Line, Measure, print_answer
from sortiewright.commands.best_climb_answer import best_climb_answer
from sortiewright.commands.faults import UsageError
from sortiewright.commands.inputs import Distance, Height, Mass, Number, Speed, TemperatureDifference
from sortiewright.commands.output import FOR_PEOPLE, Output

if TYPE_CHECKING:
    from sortiewright.pack import Pack

PackPath = Annotated[str, Parameter(metavar="pack")]

FUEL_FLOW = Measure("kg/s", ("lb/h", 10), ("kg/h", 10))
SPECIFIC_RANGE = Measure("m/kg", ("nmi/lb", 0.0001), ("km/kg", 0.001))
DURATION = Measure("s", ("min", 0.1), ("min", 0.1))
VERTICAL_SPEED = Measure("m/s", ("ft/min", 10), ("m/s", 0.1))
SHARE = Measure("", ("%", 1), ("%", 1))

STANDARD_DAY = (
    "Standard temperature at every height, shifted by the deviation; heights are pressure altitudes."
)
FEET, KNOTS = 0.3048, 1852.0 / 3600.0


def climb(
    pack: PackPath,
    /,
    *,
    weight: Mass,
    to: Height,
    start: Height = 0.0,
    cas: Speed | None = None,
    mach: Number | None = None,
    start_cas: Speed | None = None,
    power: str | None = None,
    drag_index: Number = 0.0,
    isa_deviation: TemperatureDifference = 0.0,
    headwind: Speed = 0.0,
    failed_engines: int = 0,
    best: Literal["time", "fuel"] | None = None,
    output: Output = FOR_PEOPLE,
) -> None:
    """Time, fuel and distance of a climb at constant CAS, then Mach, and the ceilings.

    Example: sortiewright calc climb dotterel --weight 38000 --to 33000 --mach 0.86

    Parameters
    ----------
    pack
        Folder of a pack, or the name of a shipped one.
    weight
        At the start of the climb.
    to
        Pressure altitude to climb to.
    start
        Pressure altitude at the start.
    cas
        Calibrated airspeed of the lower part; the pack's climb speed where it has one.
    mach
        Mach number of the upper part: from where it is the lower of the two.
    start_cas
        Airspeed at the start, with level acceleration from there; the climb speed if not given.
    power
        Power setting; military if not given.
    drag_index
        Of everything carried.
    isa_deviation
        Air warmer than standard, at every height.
    headwind
        At every height; a tailwind is negative.
    failed_engines
        Engines that do not run.
    best
        Find the climb of least time or fuel, ending level at the Mach number, and steps to fly it; needs
        the extra `optimal`.
    """
    from sortiewright.pack import OutsideTable
    from sortiewright.performance import (
        COMBAT_RATE,
        SERVICE_RATE,
        SteadySpeed,
        climb_ceiling,
        flight_setup,
        fly_schedule,
        make_flight_cases,
        two_speed_climb,
    )

    aircraft = _pack(pack)
    climb_cas = cas if cas is not None else aircraft.technique.takeoff.climb_cas
    if climb_cas is None:
        raise UsageError("the pack has no climb speed: give --cas")
    if to <= start:
        raise UsageError("--to must be above --start")
    setting = power or aircraft.engine.military
    setup = flight_setup(aircraft, failed_engines=failed_engines)
    cases = make_flight_cases(weight, drag_index=drag_index, isa_deviation=isa_deviation, headwind=headwind)
    begin = (
        _slower_mach(climb_cas, mach, start) if start_cas is None else _slower_mach(start_cas, None, start)
    )
    if best is not None:
        if mach is None:
            raise UsageError("--best needs --mach: the Mach number at the top")
        if cas is not None:
            raise UsageError("--best finds the speeds: give no --cas")
        given = (
            *_given(weight, drag_index, isa_deviation, headwind, failed_engines),
            Line("start", "from", start, out.HEIGHT),
            Line("start_mach", "Mach", begin, out.MACH),
            Line("to", "to", to, out.HEIGHT),
            Line("mach", "Mach", mach, out.MACH),
            Line("power", "power", setting),
        )
        answer = best_climb_answer(
            aircraft,
            setup,
            cases,
            setting,
            aim=best,
            altitude=start,
            mach=begin,
            to_altitude=to,
            to_mach=mach,
            given=given,
            system=output.units,
        )
        print_answer(answer, output)
        return
    schedule = two_speed_climb(setting, cas=climb_cas, mach=mach)
    if start_cas is None:
        schedule = tuple(one for one in schedule if isinstance(one, SteadySpeed))
    flown = fly_schedule(aircraft, setup, cases, schedule, altitude=start, mach=begin, to_altitude=to)
    reached = bool(flown.reached[0])

    def ceiling(name: str, label: str, rate: float, words: str) -> Line:
        try:
            found = climb_ceiling(aircraft, setup, cases, setting, rate)
        except OutsideTable:
            return Line(name, label, None, out.HEIGHT, "above the heights of the pack's tables")
        note = f"{words} left, at this weight and Mach {float(found.mach[0]):.2f}"
        height = _value(found.pressure_altitude[0])
        return Line(name, label, height, out.HEIGHT, note if height is not None else f"never {words}")

    given = _given(weight, drag_index, isa_deviation, headwind, failed_engines)
    given += (
        Line("start", "from", start, out.HEIGHT),
        Line("to", "to", to, out.HEIGHT),
        Line("cas", "CAS", climb_cas, out.SPEED),
        Line("mach", "Mach", mach, out.MACH),
        Line("power", "power", setting),
    )
    lines = (
        Line("time", "Time", _value(flown.time[0, -1]), DURATION),
        Line("fuel", "Fuel", _value(flown.fuel[0, -1]), out.MASS),
        Line(
            "distance",
            "Distance",
            _value(flown.ground_distance(headwind)[0, -1]),
            out.DISTANCE,
            "over ground",
        ),
        Line("end_mach", "Mach at the top", _value(flown.mach[0, -1]), out.MACH),
        ceiling("service_ceiling", "Service ceiling", SERVICE_RATE, "100 ft/min"),
        ceiling("combat_ceiling", "Combat ceiling", COMBAT_RATE, "500 ft/min"),
    )
    notes = (STANDARD_DAY,)
    if not reached:
        notes = ("Not reached: this power does not climb or accelerate all the way.", *notes)
    print_answer(Answer(f"Climb, {aircraft.title}", given, lines, notes), output)


def cruise(
    pack: PackPath,
    /,
    *,
    weight: Mass,
    altitude: Height | None = None,
    mach: Number | None = None,
    aim: Literal["range", "endurance"] = "range",
    distance: Distance | None = None,
    power: str | None = None,
    drag_index: Number = 0.0,
    isa_deviation: TemperatureDifference = 0.0,
    headwind: Speed = 0.0,
    failed_engines: int = 0,
    output: Output = FOR_PEOPLE,
) -> None:
    """Fuel flow and specific range in cruise: at a point, or at the best altitude and Mach number.

    Example: sortiewright calc cruise dotterel --weight 38000 --altitude 30000 --distance 250

    Parameters
    ----------
    pack
        Folder of a pack, or the name of a shipped one.
    weight
        Now, or at the start of the distance.
    altitude
        Pressure altitude; the best one if not given.
    mach
        Mach number; the best one if not given.
    aim
        What the best is to serve: farthest over ground for the fuel, or longest.
    distance
        Over ground: gives the fuel it takes.
    power
        Highest power setting allowed; military if not given.
    drag_index
        Of everything carried.
    isa_deviation
        Air warmer than standard.
    headwind
        A tailwind is negative.
    failed_engines
        Engines that do not run.
    """
    from sortiewright.performance import (
        best_cruise,
        cruise_distance,
        flight_setup,
        make_flight_cases,
        steady_level_flight,
    )

    aircraft = _pack(pack)
    setup = flight_setup(aircraft, failed_engines=failed_engines)
    cases = make_flight_cases(weight, drag_index=drag_index, isa_deviation=isa_deviation, headwind=headwind)
    best = best_cruise(
        aircraft,
        setup,
        cases,
        "endurance" if aim == "endurance" else "ground_range",
        power=power,
        altitude=altitude,
        mach=mach,
    )
    height, number = float(best.pressure_altitude[0]), float(best.mach[0])
    if not height == height:
        raise UsageError("there is no level flight at this weight, altitude, Mach number and power")
    level = steady_level_flight(
        aircraft, setup, cases, mass=cases.mass, pressure_altitude=height, mach=number, power=power
    )
    lines = [
        Line("altitude", "Altitude", height, out.HEIGHT, "" if altitude is not None else f"best for {aim}"),
        Line("mach", "Mach", number, out.MACH, "" if mach is not None else f"best for {aim}"),
        Line("tas", "TAS", float(level.tas[0]), out.SPEED),
        Line("fuel_flow", "Fuel flow", float(level.fuel_flow[0]), FUEL_FLOW, "all engines"),
        Line(
            "specific_range",
            "Specific range",
            float(level.specific_range[0]),
            SPECIFIC_RANGE,
            "through the air",
        ),
        Line(
            "ground_specific_range", "Over ground", float(level.specific_range_over_ground[0]), SPECIFIC_RANGE
        ),
        Line(
            "power_share",
            "Power",
            float(level.power_share[0]),
            SHARE,
            "of the thrust from idle to the highest setting",
        ),
    ]
    if distance is not None:
        leg = cruise_distance(aircraft, setup, cases, distance, altitude=height, mach=number, power=power)
        lines += [
            Line("leg_fuel", "Fuel for the way", _value(leg.fuel[0]), out.MASS, "weight falling on the way"),
            Line("leg_time", "Time", _value(leg.time[0]), DURATION),
        ]
    notes = (STANDARD_DAY,)
    if best.at_edge[0]:
        notes = ("The best altitude is at the edge of the pack's tables: more may lie beyond.", *notes)
    given = (
        *_given(weight, drag_index, isa_deviation, headwind, failed_engines),
        Line("distance", "distance", distance, out.DISTANCE),
    )
    print_answer(Answer(f"Cruise, {aircraft.title}", given, tuple(lines), notes), output)


def descent(
    pack: PackPath,
    /,
    *,
    weight: Mass,
    start: Height,
    to: Height,
    cas: Speed,
    mach: Number | None = None,
    start_mach: Number | None = None,
    end_cas: Speed | None = None,
    speedbrake: bool = False,
    power: str | None = None,
    drag_index: Number = 0.0,
    isa_deviation: TemperatureDifference = 0.0,
    headwind: Speed = 0.0,
    output: Output = FOR_PEOPLE,
) -> None:
    """Time, fuel and distance of a descent at constant Mach, then CAS.

    Example: sortiewright calc descent dotterel --weight 32000 --start 33000 --to 2000 --cas 300 --mach 0.8

    Parameters
    ----------
    pack
        Folder of a pack, or the name of a shipped one.
    weight
        At the start of the descent.
    start
        Pressure altitude at the start.
    to
        Pressure altitude to descend to.
    cas
        Calibrated airspeed of the lower part.
    mach
        Mach number of the upper part, where it is the lower of the two.
    start_mach
        At the start, with level deceleration from there; that of the schedule if not given.
    end_cas
        Airspeed to slow down to at the end, level.
    speedbrake
        Out all the way.
    power
        Power setting; idle if not given.
    drag_index
        Of everything carried.
    isa_deviation
        Air warmer than standard.
    headwind
        At every height; a tailwind is negative.
    """
    from sortiewright.performance import DescentSchedule, flight_setup, fly_descent, make_flight_cases

    if to >= start:
        raise UsageError("--to must be below --start")
    aircraft = _pack(pack)
    setup = flight_setup(aircraft, speedbrake=1.0 if speedbrake else 0.0)
    cases = make_flight_cases(weight, drag_index=drag_index, isa_deviation=isa_deviation, headwind=headwind)
    flown = fly_descent(
        aircraft,
        setup,
        cases,
        DescentSchedule(cas, mach, power),
        altitude=start,
        mach=_slower_mach(cas, mach, start) if start_mach is None else start_mach,
        to_altitude=to,
        to_cas=end_cas,
    )
    given = (
        *_given(weight, drag_index, isa_deviation, headwind, 0),
        Line("start", "from", start, out.HEIGHT),
        Line("to", "to", to, out.HEIGHT),
        Line("cas", "CAS", cas, out.SPEED),
        Line("mach", "Mach", mach, out.MACH),
        Line("power", "power", power or aircraft.engine.idle),
        Line("speedbrake", "speedbrake", "out" if speedbrake else None),
    )
    time = float(flown.time[0, -1])
    lines = (
        Line("time", "Time", _value(time), DURATION),
        Line("fuel", "Fuel", _value(flown.fuel[0, -1]), out.MASS),
        Line(
            "distance",
            "Distance",
            _value(flown.ground_distance(headwind)[0, -1]),
            out.DISTANCE,
            "over ground",
        ),
        Line("mean_rate", "Mean rate of descent", _value((start - to) / time), VERTICAL_SPEED),
    )
    notes = (STANDARD_DAY,)
    if not flown.reached[0]:
        notes = ("Not reached: at this power it does not come down or slow down all the way.", *notes)
    print_answer(Answer(f"Descent, {aircraft.title}", given, lines, notes), output)


def _pack(path: str) -> Pack:
    from sortiewright.pack import load_pack

    return load_pack(path).pack


def _slower_mach(cas: float, mach: float | None, altitude: float) -> float:
    from sortiewright.air import mach_from_cas, standard_air

    number = float(mach_from_cas(cas, standard_air(altitude).pressure))
    return number if mach is None else min(number, mach)


def _value(number: float) -> float | None:
    """Return a number, or None where there is none."""
    return float(number) if number == number else None


def _given(
    weight: float, drag_index: float, isa_deviation: float, headwind: float, failed_engines: int
) -> tuple[Line, ...]:
    return (
        Line("weight", "weight", weight, out.MASS),
        Line("drag_index", "drag index", drag_index, out.RATIO, step=1),
        Line("isa_deviation", "off standard", isa_deviation or None, out.TEMPERATURE_DIFFERENCE),
        Line("headwind", "headwind", headwind or None, out.SPEED),
        Line(
            "failed_engines",
            "engines out",
            float(failed_engines) if failed_engines else None,
            out.RATIO,
            step=1,
        ),
    )
