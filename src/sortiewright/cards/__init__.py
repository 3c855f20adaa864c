"""Cards: a plan and its checklists printed for the kneeboard, as PDF and as one PNG a page."""

from sortiewright.cards.card_set import TITLES, CardError, card_data, cards_of
from sortiewright.cards.chart_climb import climb_chart
from sortiewright.cards.chart_excess_power import excess_power_chart
from sortiewright.cards.chart_fuel import fuel_chart
from sortiewright.cards.chart_profile import profile_chart
from sortiewright.cards.chart_render import write_chart
from sortiewright.cards.chart_route import route_chart
from sortiewright.cards.chart_turn import turn_chart
from sortiewright.cards.chart_vn import load_factor_chart
from sortiewright.cards.charts import CHARTS, NEEDS_ROUTE, TURNING, ChartName, chart_of
from sortiewright.cards.checklist_render import render_checklists
from sortiewright.cards.debrief_render import render_debrief
from sortiewright.cards.render import render_cards, render_one
from sortiewright.cards.schemes import SCHEMES, contrast
from sortiewright.cards.screen_charts import RunwayDrawing, ScreenChart, screen_chart, screen_runway

__all__ = [
    "CHARTS",
    "NEEDS_ROUTE",
    "SCHEMES",
    "TITLES",
    "TURNING",
    "CardError",
    "ChartName",
    "RunwayDrawing",
    "ScreenChart",
    "card_data",
    "cards_of",
    "chart_of",
    "climb_chart",
    "contrast",
    "excess_power_chart",
    "fuel_chart",
    "load_factor_chart",
    "profile_chart",
    "render_cards",
    "render_checklists",
    "render_debrief",
    "render_one",
    "route_chart",
    "screen_chart",
    "screen_runway",
    "turn_chart",
    "write_chart",
]
