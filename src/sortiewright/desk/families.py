"""Every part of the job that has pages, in the order of the ribbon."""

from __future__ import annotations

from sortiewright.desk.page_family import PageFamily

PARTS = (
    ("prepare", "Prepare", "1"),
    ("numbers", "Numbers", "2"),
    ("cards", "Cards", "3"),
    ("run", "Run", "4"),
    ("debrief", "Debrief", "5"),
    ("reference", "Reference", "6"),
)
"""Name, title and key of each part: what the ribbon shows before their modules are there."""


def load_families() -> tuple[PageFamily, ...]:
    """Return every family; slow the first time, as their modules import the rooms that compute."""
    from sortiewright.desk import (
        pages_cards,
        pages_debrief,
        pages_numbers,
        pages_prepare,
        pages_reference,
        pages_run,
    )

    return (
        pages_prepare.FAMILY,
        pages_numbers.FAMILY,
        pages_cards.FAMILY,
        pages_run.FAMILY,
        pages_debrief.FAMILY,
        pages_reference.FAMILY,
    )
