"""Single computations that a crew asks for by hand."""

from cyclopts import App

from sortiewright.commands.calc_air import airspeed, density_altitude, hydroplaning, metar
from sortiewright.commands.calc_aircraft import turn, weight_shift
from sortiewright.commands.calc_flight import climb, cruise, descent
from sortiewright.commands.calc_place import distance, position, sun, variation
from sortiewright.commands.calc_wind import wind, wind_triangle

app = App(name="calc", group_parameters="Options")

for command in (
    density_altitude,
    airspeed,
    wind,
    wind_triangle,
    hydroplaning,
    turn,
    weight_shift,
    climb,
    cruise,
    descent,
    distance,
    position,
    variation,
    sun,
    metar,
):
    app.command(command)
