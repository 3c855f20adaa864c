"""What each handbook row is off by, before and after the fit, as a chart."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from sortiewright.pack import ChartStyle
    from sortiewright.pack_fitting.fitting import FittedRow, PackFit


def draw_residuals(
    fit: PackFit, file: Path, scheme: Literal["day", "night", "print"] = "day", *, title: str = ""
) -> Path:
    """Return the path of a chart of every row: percent off before (open) and after (filled) the fit.

    Rows run down in the order of the file; one that disagrees with the rest is crossed and named. The file's
    ending says whether it is PNG, SVG or PDF.
    """
    from sortiewright.pack import new_chart, save_chart, style_for  # matplotlib: half a second

    style = style_for(scheme)
    height = max(3.2, 1.2 + 0.19 * len(fit.rows))
    figure, axes = new_chart(
        style,
        title or f"Handbook rows: {fit.name}",
        "computed less printed, % (bar: the tolerance)",
        "",
        size=(7.4, min(height, 40.0)),
    )
    places = list(range(len(fit.rows)))
    before = [_share(row, row.before) for row in fit.rows]
    after = [_share(row, row.after) for row in fit.rows]
    axes.axvline(0.0, color=style.second_ink, linewidth=1.0)
    for place, row in zip(places, fit.rows, strict=True):
        half = 200.0 * row.point.sigma / row.point.value
        axes.plot(
            [-half, half], [place, place], color=style.rule, linewidth=5.0, solid_capstyle="butt", zorder=2
        )
    ink: dict[str, Any] = {"linestyle": "none", "markeredgecolor": style.lines[1], "zorder": 4}
    axes.plot(before, places, marker="o", markersize=4.5, markerfacecolor="none", label="before", **ink)
    axes.plot(after, places, marker="o", markersize=4.5, markerfacecolor=style.lines[1], label="after", **ink)
    _mark_disagreeing(axes, style, fit, after)
    axes.set_yticks(places)
    axes.set_yticklabels([row.point.label for row in fit.rows], fontsize=6.5)
    axes.set_ylim(len(places) - 0.5, -0.5)
    legend = axes.legend(loc="best", fontsize=8, frameon=False)
    for text in legend.get_texts():
        text.set_color(style.ink)
    return save_chart(figure, file)


def _mark_disagreeing(axes: Any, style: ChartStyle, fit: PackFit, after: list[float]) -> None:
    from sortiewright.pack import label_line

    for place, row in enumerate(fit.rows):
        if row.disagrees:
            axes.plot(
                [after[place]],
                [place],
                marker="x",
                markersize=9,
                markeredgewidth=2.0,
                color=style.lines[0],
                linestyle="none",
                zorder=6,
            )
            label_line(axes, style, after[place], place, "disagrees", xytext=(8, 0))


def _share(row: FittedRow, computed: float) -> float:
    return 100.0 * (computed - row.point.value) / row.point.value
