"""How every chart looks: paper and ink by day, one red family by night, black on white in print.

Figures are made without pyplot, so nothing is shared between charts and any thread may draw.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path as FilePath
from typing import Any, Literal

import matplotlib
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure as MatplotlibFigure
from matplotlib.ticker import FuncFormatter, MaxNLocator

Figure = Any
Axes = Any
"""Matplotlib's own annotations are too loose for strict checking; its objects go by these names."""

Theme = Literal["day", "night", "print"]
Dash = str | tuple[int, tuple[float, ...]]

FONTS = FilePath(__file__).parent.parent / "assets" / "fonts"
FALLBACK = "DejaVu Sans"  # comes with matplotlib, and has the signs the cockpit font lacks
THIN_SPACE = "\N{THIN SPACE}"
DASHES: tuple[Dash, ...] = ("solid", (0, (6, 2)), (0, (1.2, 1.8)), (0, (8, 2, 1.5, 2)), (0, (3, 1.5)))
"""Told apart on a grey printer and in red light, where colour says nothing."""


@dataclass(frozen=True)
class ChartStyle:
    """Colours by meaning. ``warning`` and ``caution`` are for limits only; lines never use them by day."""

    theme: Theme
    paper: str
    card: str
    ink: str
    second_ink: str
    rule: str
    lines: tuple[str, ...]
    warning: str
    caution: str
    today: str


_STYLES: dict[Theme, ChartStyle] = {
    "day": ChartStyle(
        "day", "#eceae1", "#f8f7f2", "#16211f", "#47544f", "#c9c7ba",
        ("#16211f", "#1d4e89", "#0b6b4e", "#6a3d8f", "#5c5a4e"), "#a3200d", "#9a5b00", "#16211f",
    ),
    "night": ChartStyle(
        "night", "#0a0403", "#0a0403", "#ff6a4d", "#d9553c", "#4a1710",
        ("#ff8a70", "#d9553c", "#ff6a4d", "#b8452f", "#e0705a"), "#ff6a4d", "#d9553c", "#ff8a70",
    ),
    "print": ChartStyle(
        "print", "#ffffff", "#ffffff", "#000000", "#333333", "#b5b5b5",
        ("#000000", "#000000", "#000000", "#000000", "#000000"), "#000000", "#000000", "#000000",
    ),
}  # fmt: skip


def style_for(theme: Theme = "day") -> ChartStyle:
    """Return the colours of a theme."""
    return _STYLES[theme]


@cache
def font_families() -> tuple[str, ...]:
    """Return the families to write with, the cockpit font first where it is installed."""
    from matplotlib import font_manager

    manager: Any = font_manager.fontManager
    found = sorted(FONTS.glob("B612-*.ttf"))
    for file in found:
        manager.addfont(str(file))
    return ("B612", FALLBACK) if found else (FALLBACK,)


def text_settings(style: ChartStyle) -> dict[str, Any]:
    """Return what matplotlib wants to know to write a small text in the chart's own type.

    A dollar sign in a pack's title stays one: mathematics is not read out of texts.
    """
    return {"color": style.ink, "size": 8, "family": list(font_families()), "parse_math": False}


def new_figure(style: ChartStyle, title: str, *, size: tuple[float, float] = (6.6, 4.4)) -> Figure:
    """Return an empty figure with its title; ``size`` in inches."""
    figure: Figure = MatplotlibFigure(figsize=size, dpi=150, facecolor=style.paper, layout="constrained")
    FigureCanvasAgg(figure)
    figure.get_layout_engine().set(w_pad=0.08, h_pad=0.08)
    figure.suptitle(title, x=0.012, ha="left", **{**text_settings(style), "weight": "bold", "size": 11})
    return figure


def new_axes(figure: Figure, style: ChartStyle, x_label: str, y_label: str, *position: int) -> Axes:
    """Return axes in a figure; both labels carry their unit. ``position`` is rows, columns, number."""
    axes = figure.add_subplot(*(position or (1, 1, 1)))
    axes.set_facecolor(style.card)
    family = list(font_families())
    axes.set_xlabel(x_label, color=style.second_ink, family=family, size=9)
    axes.set_ylabel(y_label, color=style.second_ink, family=family, size=9)
    axes.grid(True, color=style.rule, linewidth=0.6)
    axes.set_axisbelow(True)
    axes.tick_params(colors=style.second_ink, labelsize=8, length=0, labelfontfamily=family)
    for side, spine in axes.spines.items():
        spine.set_visible(side in ("left", "bottom"))
        spine.set_color(style.second_ink)
    for axis in (axes.xaxis, axes.yaxis):
        axis.set_major_formatter(FuncFormatter(_tick_text))
        axis.set_major_locator(MaxNLocator(6, steps=[1, 2, 2.5, 5, 10]))
    return axes


def new_chart(
    style: ChartStyle, title: str, x_label: str, y_label: str, *, size: tuple[float, float] = (6.6, 4.4)
) -> tuple[Figure, Axes]:
    """Return a figure with one chart."""
    figure = new_figure(style, title, size=size)
    return figure, new_axes(figure, style, x_label, y_label)


def _tick_text(value: float, _: Any) -> str:
    return number_text(value)


def number_text(value: float) -> str:
    """Return a number as charts and cards print it: thin space for thousands, a true minus."""
    text = f"{value:,.0f}".replace(",", THIN_SPACE) if abs(value) >= 10_000 else f"{value:.6g}"
    return text.replace("-", "\N{MINUS SIGN}")


def write(axes: Axes, style: ChartStyle, x: float, y: float, text: str, **options: Any) -> Any:
    """Return a text put into a chart in the chart's own type, so that it stays readable over lines."""
    box = {"facecolor": style.card, "edgecolor": "none", "pad": 0.8, "alpha": 0.85}
    return axes.text(x, y, text, **{**text_settings(style), "bbox": box, "zorder": 5, **options})


def label_line(axes: Axes, style: ChartStyle, x: float, y: float, text: str, **options: Any) -> Any:
    """Return a label set just right of a point, as at the end of a line."""
    place = {"xytext": (4, 0), "textcoords": "offset points", "va": "center", "ha": "left"}
    settings = {**text_settings(style), "annotation_clip": False}
    return axes.annotate(text, (x, y), **{**place, **settings, **options})


def label_line_ends(
    axes: Axes, style: ChartStyle, ends: Sequence[tuple[float, float, str, str]], *, spacing: float = 10.0
) -> None:
    """Write a label at the right end of each line (x, y, text, colour), apart by ``spacing`` points.

    Call it when the limits of the axes are final: the labels keep apart in the units of the page, and above
    the lower edge, where the numbers of the axis stand.
    """
    points_per_dot = 72.0 / axes.figure.dpi
    heights = [float(axes.transData.transform((x, y))[1]) * points_per_dot for x, y, _, _ in ends]
    floor = float(axes.bbox.y0) * points_per_dot + 4.0
    for (x, y, text, colour), wanted, height in zip(
        ends, heights, _spread(heights, spacing, floor), strict=True
    ):
        label_line(axes, style, x, y, text, color=colour, xytext=(4, height - wanted))


def _spread(heights: Sequence[float], spacing: float, floor: float) -> list[float]:
    """Return heights moved as little as needed to stand apart and above a floor, in their order."""

    def bottom(group: Sequence[int]) -> float:
        centre = sum(heights[i] for i in group) / len(group)
        return max(centre - spacing * (len(group) - 1) / 2.0, floor)

    # Groups of labels that touch, each centred on the mean of where its labels want to be.
    groups: list[list[int]] = []
    for index in sorted(range(len(heights)), key=lambda i: heights[i]):
        groups.append([index])
        while len(groups) > 1 and bottom(groups[-1]) < bottom(groups[-2]) + spacing * len(groups[-2]):
            last = groups.pop()
            groups[-1] += last
    moved = list(heights)
    for group in groups:
        for position, index in enumerate(group):
            moved[index] = bottom(group) + position * spacing
    return moved


def save_chart(figure: Figure, path: FilePath) -> FilePath:
    """Return the path after saving a figure there as PNG, SVG or PDF by its ending.

    The files hold no date, so that the same chart gives the same bytes.
    """
    kind = path.suffix.lower()
    metadata = {".svg": {"Date": None}, ".pdf": {"CreationDate": None}}.get(kind, {})
    library: Any = matplotlib
    with library.rc_context({"svg.hashsalt": "sortiewright"}):  # else the names inside an SVG are random
        figure.savefig(path, facecolor=figure.get_facecolor(), metadata=metadata)
    return path
