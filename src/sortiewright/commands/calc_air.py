"""Computations on the air: density altitude, airspeeds, hydroplaning, a weather report in words."""

from __future__ import annotations

import sys
from typing import Annotated

from cyclopts import Parameter

from sortiewright.commands import answer as out
from sortiewright.commands.answer import Answer, Line, print_answer
from sortiewright.commands.faults import UsageError
from sortiewright.commands.inputs import (
    AltimeterSetting,
    Height,
    Number,
    Speed,
    Temperature,
    TemperatureDifference,
    TyrePressure,
)
from sortiewright.commands.output import FOR_PEOPLE, Output


def density_altitude(
    *,
    temperature: Temperature,
    elevation: Height | None = None,
    qnh: AltimeterSetting | None = None,
    pressure_altitude: Height | None = None,
    output: Output = FOR_PEOPLE,
) -> None:
    """Density altitude at a field, from its elevation and altimeter setting or its pressure altitude.

    Example: sortiewright calc density-altitude --elevation 5000 --qnh 1013 --temperature 30

    Parameters
    ----------
    temperature
        Outside air temperature.
    elevation
        Of the field above sea level; wants --qnh beside it.
    qnh
        Altimeter setting: 1013, 29.92, Q1013 or A2992.
    pressure_altitude
        Instead of elevation and altimeter setting.
    """
    if (pressure_altitude is None) == (elevation is None) or (elevation is None) != (qnh is None):
        raise UsageError("give --elevation and --qnh, or --pressure-altitude alone")
    from sortiewright.air import (
        Air,
        air_at_field,
        density_altitude_rule_of_thumb,
        standard_pressure,
        standard_temperature,
    )

    if pressure_altitude is not None:
        air = Air(standard_pressure(pressure_altitude), temperature)
    else:
        assert elevation is not None
        assert qnh is not None
        air = air_at_field(elevation, qnh, temperature)
    height = float(air.pressure_altitude)
    rule = float(density_altitude_rule_of_thumb(height, temperature))
    answer = Answer(
        "Density altitude",
        (
            Line("elevation", "elevation", elevation, out.HEIGHT, step=1),
            Line("qnh", "QNH", qnh, out.PRESSURE, step=0.1),
            Line("given_pressure_altitude", "pressure altitude", pressure_altitude, out.HEIGHT, step=1),
            Line("temperature", "outside air", temperature, out.TEMPERATURE),
        ),
        (
            Line("density_altitude", "Density altitude", float(air.density_altitude), out.HEIGHT),
            Line("pressure_altitude", "Pressure altitude", height, out.HEIGHT),
            Line(
                "standard_temperature",
                "Standard temperature there",
                float(standard_temperature(height)),
                out.TEMPERATURE,
            ),
            Line("isa_deviation", "ISA deviation", float(air.isa_deviation), out.TEMPERATURE_DIFFERENCE),
            Line("station_pressure", "Station pressure (QFE)", float(air.pressure), out.PRESSURE, step=0.1),
            Line("density", "Air density", float(air.density), out.DENSITY),
            Line("density_ratio", "Share of sea-level density", float(air.sigma), out.RATIO, step=0.001),
            Line(
                "rule_of_thumb",
                "Rule of thumb",
                rule,
                out.HEIGHT,
                "pressure altitude and 120 ft for each degree off standard",
            ),
        ),
        ("The air is taken as dry.",),
    )
    print_answer(answer, output)


def airspeed(
    *,
    altitude: Height,
    cas: Speed | None = None,
    tas: Speed | None = None,
    eas: Speed | None = None,
    mach: Number | None = None,
    temperature: Temperature | None = None,
    isa_deviation: TemperatureDifference | None = None,
    output: Output = FOR_PEOPLE,
) -> None:
    """Calibrated, equivalent and true airspeed and Mach number, from any one of them.

    Example: sortiewright calc airspeed --cas 300 --altitude 20000 --temperature -15

    Parameters
    ----------
    altitude
        Pressure altitude.
    cas
        Calibrated airspeed.
    tas
        True airspeed.
    eas
        Equivalent airspeed.
    mach
        Mach number.
    temperature
        Outside (static) air temperature; standard where neither it nor --isa-deviation is given.
    isa_deviation
        Degrees above standard temperature, instead of --temperature.
    """
    given = [
        Line("given_cas", "CAS", cas, out.SPEED),
        Line("given_eas", "EAS", eas, out.SPEED),
        Line("given_tas", "TAS", tas, out.SPEED),
        Line("given_mach", "Mach", mach, out.MACH),
    ]
    given = [line for line in given if line.value is not None]
    if len(given) != 1:
        raise UsageError("give one of --cas, --tas, --eas and --mach")
    if temperature is not None and isa_deviation is not None:
        raise UsageError("give --temperature or --isa-deviation, not both")
    if any(speed is not None and speed < 0.0 for speed in (cas, eas, tas, mach)):
        raise UsageError("a speed must be zero or more")
    from sortiewright import air as physics

    air = physics.standard_air(altitude, isa_deviation or 0.0)
    if temperature is not None:
        air = physics.Air(air.pressure, temperature)
    if cas is not None:
        true_airspeed = physics.tas_from_cas(cas, air)
    elif eas is not None:
        true_airspeed = physics.tas_from_eas(eas, air.density)
    elif mach is not None:
        true_airspeed = physics.tas_from_mach(mach, air.temperature)
    else:
        assert tas is not None
        true_airspeed = tas
    number = physics.mach_from_tas(true_airspeed, air.temperature)
    answer = Answer(
        "Airspeed",
        (
            *given,
            Line("altitude", "pressure altitude", altitude, out.HEIGHT, step=1),
            Line("temperature", "outside air", float(air.temperature), out.TEMPERATURE),
        ),
        (
            Line("mach", "Mach number", float(number), out.MACH),
            Line("cas", "Calibrated airspeed", float(physics.cas_from_tas(true_airspeed, air)), out.SPEED),
            Line(
                "eas",
                "Equivalent airspeed",
                float(physics.eas_from_tas(true_airspeed, air.density)),
                out.SPEED,
            ),
            Line("tas", "True airspeed", float(true_airspeed), out.SPEED),
            Line(
                "total_temperature",
                "Total air temperature",
                float(physics.total_temperature(number, air.temperature)),
                out.TEMPERATURE,
            ),
            Line("isa_deviation", "ISA deviation", float(air.isa_deviation), out.TEMPERATURE_DIFFERENCE),
            Line("density_altitude", "Density altitude", float(air.density_altitude), out.HEIGHT),
        ),
    )
    print_answer(answer, output)


def hydroplaning(tyre_pressure: TyrePressure, /, *, output: Output = FOR_PEOPLE) -> None:
    """Ground speed at which a tyre rides on standing water, by the three factors in use.

    Example: sortiewright calc hydroplaning 215

    Parameters
    ----------
    tyre_pressure
        Inflation pressure (psi).
    """
    from sortiewright.air import hydroplaning_speed

    def speed(name: str, label: str, note: str) -> Line:
        factor = {"rolling": "rolling", "spin_up": "spin_up", "handbook": "handbook"}[name]
        return Line(name, label, float(hydroplaning_speed(tyre_pressure, factor)), out.SPEED, note)  # type: ignore[arg-type]

    answer = Answer(
        "Hydroplaning",
        (Line("tyre_pressure", "tyre pressure", tyre_pressure, out.TYRE_PRESSURE),),
        (
            speed(
                "spin_up", "At touchdown", "7.7 times the root of psi: a standing tyre does not start to turn"
            ),
            speed("handbook", "Handbook value", "8.6 times the root of psi"),
            speed("rolling", "Rolling", "9.0 times the root of psi: a turning tyre loses the ground"),
        ),
        (
            "Ground speeds, for water deeper than the tread. "
            "Factors: NASA TM-85652 (7.7), FAA-H-8083-3 (8.6), NASA TN D-2056 (9.0).",
        ),
    )
    print_answer(answer, output)


def metar(*report: Annotated[str, Parameter(allow_leading_hyphen=True)], output: Output = FOR_PEOPLE) -> None:
    """Weather report in plain words, with what is missing or odd in it.

    Example: sortiewright calc metar "METAR XQBF 141200Z 24015G25KT 9999 BKN030 22/12 Q1009"

    Parameters
    ----------
    report
        The report, best in quotes; - reads it from standard input.
    """
    from sortiewright.commands.metar_words import print_weather

    text = sys.stdin.read() if report in (("-",), ()) else " ".join(report)
    print_weather(text, output)
