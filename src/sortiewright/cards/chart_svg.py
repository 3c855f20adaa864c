"""A drawing written as SVG, for pages and printers; the cards' own templates draw the same data."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any
from xml.sax.saxutils import escape, quoteattr

from sortiewright.cards.drawing import LINE_HEIGHT, Drawing
from sortiewright.cards.schemes import SCHEMES, SchemeName
from sortiewright.cards.typeface import FAMILY

CAP_HEIGHT = 0.73
"""Of a capital of the typeface, in shares of the type size: what a line of text is centred by."""
STRIPE = 5.0
"""Points between the stripes of what lies beyond a limit."""


@dataclass(frozen=True, slots=True)
class Look:
    """How a path of one role is drawn: colours by their name in the scheme, weight in points."""

    stroke: str = ""
    weight: float = 0.0
    dash: str = ""
    fill: str = ""


LOOKS: dict[str, Look] = {
    "axis": Look("line", 0.9),
    "grid": Look("rule", 0.5),
    "hatched": Look(fill="hatch"),
    "inside": Look("line", 1.8, fill="paper"),
    "limit": Look("line", 2.2),
    "limit_dashed": Look("line", 1.5, "7 3 1.5 3"),
    "curve": Look("line", 2.6),
    "curve_dashed": Look("line", 2.6, "6 4"),
    "contour": Look("line", 1.1),
    "contour_dashed": Look("line", 1.1, "4 3"),
    "faint": Look("hatch", 0.8),
    "faint_dotted": Look("hatch", 0.9, "1.2 2.4"),
    "leader": Look("line", 0.9),
    "leader_dashed": Look("line", 0.9, "3 2"),
    "surface": Look("line", 1.6, fill="shade"),
    "uncovered": Look("hatch", 1.2, "4 3", fill="hatch"),
    "board": Look(fill="block"),
    "centreline": Look("hatch", 1.2, "9 7"),
    "cable": Look("line", 2.4),
    "release": Look("line", 3.0),
    "decision": Look("line", 1.4, "7 3 1.5 3"),
    "stop": Look("line", 2.6),
    "go": Look("line", 2.6, "6 4"),
    "burn": Look("line", 1.6),
}
"""Roles that charts use. Lines are told apart by weight and dash: in red light and on grey paper colour is
none."""

_INKS = {"ink": "ink", "second": "second", "board_ink": "block_ink"}
_STRIPED = frozenset({"hatched", "uncovered"})
_ANCHORS = {"right": "end", "center": "middle"}


def drawing_svg(drawing: Drawing, scheme: SchemeName, alternative: str) -> str:
    """Return the drawing as an SVG document in a scheme; ``alternative`` says in words what it shows.

    Lengths are points. The text is text, in the cards' typeface where there is one.
    """
    return data_svg(drawing.data(alternative), scheme)


def data_svg(data: dict[str, Any], scheme: SchemeName, *, titled: bool = True) -> str:
    """Return a drawing's ``data`` as an SVG document in a scheme.

    ``titled`` gives it a title as well, which browsers show under the pointer.
    """
    colours = SCHEMES[scheme]
    width, height = data["width"], data["height"]
    # Several charts may stand on one page, where names must differ.
    stripes = f"stripes-{data['name'].replace(' ', '-')}-{scheme}"
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:g}" width="{width:g}pt" '
        f'height="{height:g}pt" role="img" aria-label={quoteattr(data["alternative"])} '
        f'font-family="{FAMILY}, \'DejaVu Sans\', sans-serif" font-size="{data["size"]:g}" '
        # What nearly every part would say again.
        f'fill="{colours["ink"]}" stroke-linejoin="round" stroke-linecap="round">',
        *([f"<title>{escape(data['alternative'])}</title>"] if titled else ()),
        f'<defs><pattern id="{stripes}" width="{STRIPE:g}" height="{STRIPE:g}" '
        f'patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        f'<rect width="{STRIPE:g}" height="{STRIPE:g}" fill="{colours["paper"]}"/>'
        f'<path d="M0 0V{STRIPE:g}" stroke="{colours["hatch"]}" stroke-width="1.3"/></pattern></defs>',
        f'<rect width="{width:g}" height="{height:g}" fill="{colours["paper"]}"/>',
    ]
    for part in _merged(data["parts"]):
        if part["kind"] == "path":
            parts.append(_path(part, colours, stripes))
        elif part["kind"] == "mark":
            parts.append(_mark(part, colours))
        else:
            parts.append(_text(part, colours, float(data["size"])))
    return "\n".join([*parts, "</svg>"]) + "\n"


def _merged(parts: Sequence[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    """Yield the parts with the ``steps`` of each path; lines of one role that follow each other are one path.

    Words between them, such as those of an axis, follow them all. Areas stay apart: where two overlap, one
    path would leave a hole; and words on a ground of their own hide what is before them.
    """
    line: dict[str, Any] | None = None
    words: list[dict[str, Any]] = []
    for part in parts:
        if line is not None and part["kind"] == "text" and not part["ground"]:
            words.append(part)
            continue
        steps = _steps(part)
        if line is not None and part["kind"] == "path" and part["role"] == line["role"]:
            line["steps"] += steps
            continue
        if line is not None:
            yield from (line, *words)
            line, words = None, []
        if part["kind"] == "path" and not LOOKS[part["role"]].fill:
            line = {**part, "steps": steps}
        else:
            yield {**part, "steps": steps}
    if line is not None:
        yield from (line, *words)


def _steps(part: dict[str, Any]) -> str:
    return path_steps(part["points"], closed=part["closed"]) if part["kind"] == "path" else ""


def path_steps(points: Sequence[Sequence[float]], *, closed: bool = False) -> str:
    """Return a line through points as SVG's path data, to a tenth of a point, in steps from each to the next.

    SVG 2, section 9.3: a number ends where the next one's sign or second decimal point begins.
    """
    tenths = [(round(10 * x), round(10 * y)) for x, y in points]
    text = f"M{_tenths(tenths[0][0])}{_joined(tenths[0][1])}"
    at, steps = tenths[0], ""
    for x, y in tenths[1:]:
        if (x, y) != at:
            step = _joined(x - at[0]) if steps else _tenths(x - at[0])
            steps += step + _joined(y - at[1])
            at = x, y
    # What moves nowhere is a dot, drawn by its round ends.
    return f"{text}l{steps or '0 0'}{'Z' if closed else ''}"


def _tenths(count: int) -> str:
    """Return a number of tenths in as few signs as SVG takes."""
    whole, part = divmod(abs(count), 10)
    text = f"{whole or ''}.{part}" if part else f"{whole}"
    return f"-{text}" if count < 0 else text


def _joined(count: int) -> str:
    text = _tenths(count)
    return text if text.startswith("-") else f" {text}"


def _path(part: dict[str, Any], colours: dict[str, str], stripes: str) -> str:
    look = LOOKS[part["role"]]
    fill = "none"
    if look.fill:
        fill = f"url(#{stripes})" if part["role"] in _STRIPED else colours[look.fill]
    stroke = ""
    if look.stroke:
        stroke = f' stroke="{colours[look.stroke]}" stroke-width="{look.weight:g}"'
        if look.dash:
            stroke += f' stroke-linecap="butt" stroke-dasharray="{look.dash}"'
    return f'<path d="{part["steps"]}" fill="{fill}"{stroke}/>'


def _mark(part: dict[str, Any], colours: dict[str, str]) -> str:
    (x, y), half = part["at"], part["size"] / 2
    ink, paper = colours["ink"], colours["paper"]
    if part["shape"] == "square":
        box = f'x="{x - half:g}" y="{y - half:g}" width="{2 * half:g}" height="{2 * half:g}"'
        return f'<rect {box} stroke="{paper}" stroke-width="1"/>'
    if part["shape"] in ("up", "down"):
        foot, tip = (y + half, y - half) if part["shape"] == "up" else (y - half, y + half)
        return f'<path d="{path_steps([(x - half, foot), (x + half, foot), (x, tip)], closed=True)}"/>'
    inner, rim, weight = (ink, paper, 1.0) if part["shape"] == "disc" else (paper, ink, 1.6)
    circle = f'cx="{x:g}" cy="{y:g}" r="{half:g}"'
    return f'<circle {circle} fill="{inner}" stroke="{rim}" stroke-width="{weight:g}"/>'


def _text(part: dict[str, Any], colours: dict[str, str], size: float) -> str:
    left, top, width, height = part["box"]
    parts: list[str] = []
    if part["ground"]:
        x, y, wide, high = (_tenths(round(10 * one)) for one in (left - 1, top, width + 2, height))
        ground = f'x="{x}" y="{y}" width="{wide}" height="{high}"'
        parts.append(f'<rect {ground} fill="{colours["paper"]}"/>')
    align = part["align"]
    at = _tenths(round(10 * {"left": left, "right": left + width, "center": left + width / 2}[align]))
    line = LINE_HEIGHT * size
    first = top + (height - len(part["lines"]) * line) / 2 + (line + CAP_HEIGHT * size) / 2
    anchor = "" if align == "left" else f' text-anchor="{_ANCHORS[align]}"'
    ink = "" if part["role"] == "ink" else f' fill="{colours[_INKS[part["role"]]]}"'
    for row, words in enumerate(part["lines"]):
        weight = ' font-weight="bold"' if row < part["bold"] else ""
        y = _tenths(round(10 * (first + row * line)))
        parts.append(f'<text x="{at}" y="{y}"{anchor}{ink}{weight}>{escape(words)}</text>')
    return "".join(parts)
