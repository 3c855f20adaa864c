"""Takeoff and landing numbers of a two-seat twin jet, from its data and today's load, weather and runway."""

__version__ = "0.1.0"

CAUTION = (
    "For simulation and study only: the approved flight manual, local rules and licensed instructors "
    "decide for real aircraft."
)
"""Printed once on each artefact: a card set, a page's foot, a help text."""

__all__ = ["CAUTION", "__version__"]
