"""Today's flight: what a sortie file says, and plan(): the one call that yields every number."""

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
    "THIN_SPACE",
    "Altimeter",
    "BalancePoint",
    "Curve",
    "Figure",
    "Kind",
    "LandingCase",
    "LoadLine",
    "LoadedSortie",
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
    "convert",
    "demo_sortie_path",
    "load_sortie",
    "plan",
    "plan_to_json",
    "read_sortie",
    "show",
]
