"""Today's flight: what a sortie file says, and plan(): the one call that yields every number."""

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
from sortiewright.sortie.load import LoadedSortie, demo_sortie_path, load_sortie, read_sortie
from sortiewright.sortie.numbers import Numbers, compute
from sortiewright.sortie.place import SortieError
from sortiewright.sortie.planning import plan
from sortiewright.sortie.schema import Sortie
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
    "MINUS",
    "MISSING",
    "NEVER",
    "NONE_LEFT",
    "RUNWAY_CONDITIONS",
    "THIN_SPACE",
    "WORDS_ONLY",
    "Altimeter",
    "BalancePoint",
    "Curve",
    "DayFacts",
    "Figure",
    "FigureName",
    "Kind",
    "LandingCase",
    "LoadLine",
    "LoadedSortie",
    "Numbers",
    "Plan",
    "Reason",
    "Rounding",
    "RunwayMark",
    "RunwayPicture",
    "Section",
    "Shown",
    "Sortie",
    "SortieError",
    "System",
    "Verdict",
    "compute",
    "convert",
    "demo_sortie_path",
    "facts_of_day",
    "figure_kinds",
    "figure_unit",
    "find_figure",
    "load_sortie",
    "occupied_seats",
    "plan",
    "plan_to_json",
    "possible_figures",
    "read_sortie",
    "show",
]
