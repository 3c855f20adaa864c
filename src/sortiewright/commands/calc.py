"""Single computations that a crew asks for by hand."""

from cyclopts import App

from sortiewright.commands.help_page import HelpPage

app = App(
    name="calc",
    help="""Compute one thing by hand: air, speeds, wind, turns, places, sun, a weather report.

A quantity is a number in the unit that the help names, or a number with its unit: 5000, "1524 m", 1524m.

Example: sortiewright calc turn 450 --load-factor 5
""",
    help_format="plaintext",
    help_formatter=HelpPage(),
)

for module, names in {
    "calc_air": ("density_altitude", "airspeed", "hydroplaning", "metar"),
    "calc_wind": ("wind", "wind_triangle"),
    "calc_aircraft": ("turn", "weight_shift"),
    "calc_place": ("distance", "position", "variation", "sun"),
}.items():
    for name in names:
        app.command(f"sortiewright.commands.{module}:{name}", name=name.replace("_", "-"))
