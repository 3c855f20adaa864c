"""The engine readings before release: one line a reading, one column an engine setting."""

from __future__ import annotations

from typing import Any

from sortiewright.cards.reading import Reading
from sortiewright.cards.typeface import printable
from sortiewright.sortie import THIN_SPACE, Figure, show

MOST_SETTINGS = 3
BETWEEN = ": "
"""Parts the engine setting from the reading in a figure's title: ``Idle: exhaust temperature``."""


def run_up_table(reading: Reading) -> dict[str, Any] | None:
    """Return the readings as a table, None where they are of one setting or too many."""
    figures = [figure for figure in reading.figures("run_up") if BETWEEN in figure.title]
    settings = list(dict.fromkeys(figure.title.split(BETWEEN, 1)[0] for figure in figures))
    if not 2 <= len(settings) <= MOST_SETTINGS or len(figures) < len(reading.figures("run_up")):
        return None
    names = list(dict.fromkeys(figure.title.split(BETWEEN, 1)[1] for figure in figures))
    by_title = {figure.title: figure for figure in figures}
    return {
        "settings": [printable(setting) for setting in settings],
        "lines": [line(reading, name, settings, by_title) for name in names],
    }


def line(reading: Reading, name: str, settings: list[str], by_title: dict[str, Figure]) -> dict[str, Any]:
    """Return one reading at every setting: value, and the range that it may have."""
    figures = [by_title.get(f"{setting}{BETWEEN}{name}") for setting in settings]
    shown = [None if figure is None else reading.shown(figure) for figure in figures]
    return {
        "title": printable(name[:1].upper() + name[1:]),
        "unit": next((one.unit for one in shown if one is not None and one.unit), ""),
        "cells": [
            {
                "number": "" if one is None else printable(one.number),
                "range": "" if figure is None else range_text(reading, figure),
            }
            for one, figure in zip(shown, figures, strict=True)
        ],
    }


def range_text(reading: Reading, figure: Figure) -> str:
    """Return the range of a reading, without its unit; empty where it has none."""
    if figure.low is None or figure.high is None or figure.low == figure.high:
        return figure.problem if figure.value is None and not figure.text else ""
    low, high = (
        show(value, figure.kind, reading.system, altimeter=reading.altimeter).number
        for value in (figure.low, figure.high)
    )
    return f"{low}{THIN_SPACE}–{THIN_SPACE}{high}"
