"""Today's flight: what a sortie file says, and plan(): the one call that yields every number."""

from sortiewright.sortie.conditions import Conditions, cases_of, stop_chute
from sortiewright.sortie.day_facts import RUNWAY_CONDITIONS, DayFacts, facts_of_day, occupied_seats
from sortiewright.sortie.figure_names import (
    WORDS_ONLY,
    FigureName,
    figure_kinds,
    figure_unit,
    find_figure,
    possible_figures,
)
from sortiewright.sortie.figures import (
    BalancePoint,
    Curve,
    Figure,
    Kind,
    LandingCase,
    LoadLine,
    Plan,
    Reason,
    RunwayMark,
    RunwayPicture,
    Section,
    Verdict,
)
from sortiewright.sortie.load import LoadedSortie, PackLoader, demo_sortie_path, load_sortie, read_sortie
from sortiewright.sortie.loading import internal_fuel, stays
from sortiewright.sortie.numbers import Numbers, compute
from sortiewright.sortie.numbers_flight import MIDWAY, TAKEOFF, FlightNumbers, manoeuvres_at
from sortiewright.sortie.place import SortieError
from sortiewright.sortie.planning import plan
from sortiewright.sortie.route_files import route_geojson, route_gpx
from sortiewright.sortie.route_flight import fly_route
from sortiewright.sortie.route_flown import (
    FlownRoute,
    FuelPlan,
    LadderStep,
    PlacedPoint,
    ReturnFuel,
    RouteFault,
    RouteRow,
)
from sortiewright.sortie.route_text import ON_THE_WAY, PARTS, clock, legs_of, level_text, row_place
from sortiewright.sortie.schema import Sortie, WeatherToday
from sortiewright.sortie.section_fuel import PROFILES, return_from_farthest, worst_step
from sortiewright.sortie.to_json import plan_to_json
from sortiewright.sortie.units import (
    MINUS,
    MISSING,
    NEVER,
    NONE_LEFT,
    THIN_SPACE,
    Altimeter,
    Rounding,
    Shown,
    System,
    convert,
    show,
)

__all__ = [
    "MIDWAY",
    "MINUS",
    "MISSING",
    "NEVER",
    "NONE_LEFT",
    "ON_THE_WAY",
    "PARTS",
    "PROFILES",
    "RUNWAY_CONDITIONS",
    "TAKEOFF",
    "THIN_SPACE",
    "WORDS_ONLY",
    "Altimeter",
    "BalancePoint",
    "Conditions",
    "Curve",
    "DayFacts",
    "Figure",
    "FigureName",
    "FlightNumbers",
    "FlownRoute",
    "FuelPlan",
    "Kind",
    "LadderStep",
    "LandingCase",
    "LoadLine",
    "LoadedSortie",
    "Numbers",
    "PackLoader",
    "PlacedPoint",
    "Plan",
    "Reason",
    "ReturnFuel",
    "Rounding",
    "RouteFault",
    "RouteRow",
    "RunwayMark",
    "RunwayPicture",
    "Section",
    "Shown",
    "Sortie",
    "SortieError",
    "System",
    "Verdict",
    "WeatherToday",
    "cases_of",
    "clock",
    "compute",
    "convert",
    "demo_sortie_path",
    "facts_of_day",
    "figure_kinds",
    "figure_unit",
    "find_figure",
    "fly_route",
    "internal_fuel",
    "legs_of",
    "level_text",
    "load_sortie",
    "manoeuvres_at",
    "occupied_seats",
    "plan",
    "plan_to_json",
    "possible_figures",
    "read_sortie",
    "return_from_farthest",
    "route_geojson",
    "route_gpx",
    "row_place",
    "show",
    "stays",
    "stop_chute",
    "worst_step",
]
