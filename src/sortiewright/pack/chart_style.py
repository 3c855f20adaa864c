"""How every chart looks: paper and ink by day, one red family by night, black on white in print.

Figures are made without pyplot, so nothing is shared between charts and any thread may draw.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path as FilePath
from typing import Any, Literal

from matplotlib import rc_context
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


def new_figure(style: ChartStyle, title: str, *, size: tuple[float, float] = (6.6, 4.4)) -> Figure:
    """Return an empty figure with its title; ``size`` in inches."""
    figure: Figure = MatplotlibFigure(figsize=size, dpi=150, facecolor=style.paper, layout="constrained")
    FigureCanvasAgg(figure)
    figure.get_layout_engine().set(w_pad=0.08, h_pad=0.08)
    figure.suptitle(
        title, x=0.012, ha="left", color=style.ink, family=list(font_families()), weight="bold", size=11
    )
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
    settings = {"color": style.ink, "size": 8, "family": list(font_families()), "bbox": box, "zorder": 5}
    return axes.text(x, y, text, **{**settings, **options})


def label_line(axes: Axes, style: ChartStyle, x: float, y: float, text: str, **options: Any) -> Any:
    """Return a label set just right of a point, as at the end of a line."""
    place = {"xytext": (4, 0), "textcoords": "offset points", "va": "center", "ha": "left"}
    settings = {"color": style.ink, "size": 8, "family": list(font_families()), "annotation_clip": False}
    return axes.annotate(text, (x, y), **{**place, **settings, **options})


def label_line_ends(
    axes: Axes, style: ChartStyle, ends: Sequence[tuple[float, float, str, str]], *, spacing: float = 10.0
) -> None:
    """Write a label at the right end of each line (x, y, text, colour), apart by ``spacing`` points.

    Call it when the limits of the axes are final: the labels keep apart in the units of the page.
    """
    to_page, dots_per_point = axes.transData, axes.figure.dpi / 72.0
    heights = [float(to_page.transform((x, y))[1]) / dots_per_point for x, y, _, _ in ends]
    for index, height in zip(range(len(ends)), _spread(heights, spacing), strict=True):
        x, y, text, colour = ends[index]
        label_line(axes, style, x, y, text, color=colour, xytext=(4, height - heights[index]))


def _spread(heights: Sequence[float], spacing: float) -> list[float]:
    """Return heights moved as little as needed to stand apart, in their order."""
    order = sorted(range(len(heights)), key=lambda i: heights[i])
    # Groups of labels that touch, each centred on the mean of where its labels want to be.
    groups: list[list[int]] = []
    for index in order:
        groups.append([index])
        while (
            len(groups) > 1
            and _bottom(groups[-1], heights, spacing) < _top(groups[-2], heights, spacing) + spacing
        ):
            last = groups.pop()
            groups[-1] += last
    moved = list(heights)
    for group in groups:
        start = _bottom(group, heights, spacing)
        for position, index in enumerate(group):
            moved[index] = start + position * spacing
    return moved


def _bottom(group: Sequence[int], heights: Sequence[float], spacing: float) -> float:
    return sum(heights[i] for i in group) / len(group) - spacing * (len(group) - 1) / 2.0


def _top(group: Sequence[int], heights: Sequence[float], spacing: float) -> float:
    return _bottom(group, heights, spacing) + spacing * (len(group) - 1)


def save_chart(figure: Figure, path: FilePath) -> FilePath:
    """Return the path after saving a figure there as PNG, SVG or PDF by its ending.

    The files hold no date, so that the same chart gives the same bytes.
    """
    kind = path.suffix.lower()
    metadata = {".svg": {"Date": None}, ".pdf": {"CreationDate": None}}.get(kind, {})
    with rc_context({"svg.hashsalt": "sortiewright"}):  # else the names inside an SVG are random
        figure.savefig(path, facecolor=figure.get_facecolor(), metadata=metadata)
    return path
