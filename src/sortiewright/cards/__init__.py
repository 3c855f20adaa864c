"""Cards: a plan and its checklists printed for the kneeboard, as PDF and as one PNG a page."""

from sortiewright.cards.card_set import CardError, card_data
from sortiewright.cards.checklist_render import render_checklists
from sortiewright.cards.debrief_render import render_debrief
from sortiewright.cards.render import render_cards, render_one
from sortiewright.cards.schemes import SCHEMES, contrast

__all__ = [
    "SCHEMES",
    "CardError",
    "card_data",
    "contrast",
    "render_cards",
    "render_checklists",
    "render_debrief",
    "render_one",
]
