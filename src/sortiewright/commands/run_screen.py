"""A crew run as a page of text: every state has its own sign and word, colour only repeats them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from sortiewright.commands.checklist_page import seat_letters
from sortiewright.commands.output import terminal_width, wrapped

if TYPE_CHECKING:
    from rich.text import Text

    from sortiewright.procedures import ListPage, RunPage, RunRow, SeatCell

SIGNS = {"done": "[x]", "left out": "[-]", "put off": "[~]", "due": "[>]", "hold": "[#]", "later": "[ ]"}
_STYLES = {"due": "bold", "hold": "bold yellow", "put off": "yellow", "later": "dim", "left out": "yellow"}
WIDEST = 100
NORMAL_EDGE, SPECIAL_EDGE = "== ", "//// "


def page_lines(page: RunPage, here: Sequence[str], now: datetime | None = None) -> list[Text]:
    """Return a run as lines: whose it is, what is stopped or put off, and the list in hand."""
    from rich.text import Text

    lines = [*head_lines(page, here), *(Text(f"STOPPED  {one}", style="yellow") for one in page.stopped)]
    for count, one in enumerate((one for one in page.outstanding if not one.taken_up), start=1):
        lines += wrapped(
            f"PUT OFF {count}  {one.item.number} {one.item.challenge}. Until: {one.item.until} ({one.title})",
            indent=0,
            hanging=11,
            style="yellow",
        )
    if page.page is not None:
        return [*lines, *list_lines(page.page, page, now)]
    if page.following is not None:
        return [*lines, Text(f"Next: {page.following.title}", style="bold")]
    return [*lines, Text("The sortie is over" if page.over else "All lists are done", style="bold")]


def in_sight(lines: list[Text], room: int) -> list[Text]:
    """Return as many lines as there is room for, about the item awaited; say how many are out of sight."""
    from rich.text import Text

    room = max(room, 6)
    if len(lines) <= room:
        return lines
    signs = (SIGNS["due"], SIGNS["hold"])
    focus = next((at for at, line in enumerate(lines) if line.plain.startswith(signs)), 0)
    start = max(0, min(focus - room // 2, len(lines) - room))
    shown = lines[start : start + room]
    heading = [line for line in lines[:start] if line.plain.startswith((NORMAL_EDGE, SPECIAL_EDGE))]
    if start:
        shown[0] = Text(f"  ... {start + 1} lines above", style="dim")
        shown[1 : 1 + len(heading)] = []
        shown[:0] = heading  # what list this is, stays in sight
    if rest := len(lines) - start - room:
        shown[-1] = Text(f"  ... {rest + 1} lines below", style="dim")
    return shown


def in_columns(texts: Sequence[str], rows: int = 16) -> list[str]:
    """Return texts in as many columns as keep them within a number of rows, and the width has room for."""
    width = max((len(text) for text in texts), default=0) + 2
    columns = max(1, min(-(-len(texts) // rows), terminal_width() // width))
    deep = -(-len(texts) // columns)
    return ["".join(f"{text:<{width}}" for text in texts[at::deep]).rstrip() for at in range(deep)]


def head_lines(page: RunPage, here: Sequence[str]) -> list[Text]:
    """Return the title of the run and who is connected to it."""
    words = [page.title]
    for seat in page.seats:
        if seat.seat in here:
            words.append(f"{seat.title} here")
        elif seat.connected:
            words.append(f"{seat.title} connected")
        else:
            since = f" since {seat.since:%H:%M:%S}Z" if seat.since is not None else " yet"
            words.append(f"{seat.title} NOT CONNECTED{since}")
    return wrapped(" | ".join(words), indent=0, hanging=2, style="bold")


def list_lines(page: ListPage, run: RunPage, now: datetime | None) -> list[Text]:
    """Return a list: its heading, a row an item, the question it asks, and how it ends."""
    from rich.text import Text

    procedure = page.procedure
    count = f", {page.round}. time" if page.round > 1 else ""
    sort = "" if procedure.kind == "normal" else f"{procedure.kind.upper()}  "
    edge = SPECIAL_EDGE if sort else NORMAL_EDGE
    apart = ", each seat its own items" if procedure.pace == "apart" else ""
    lines = [Text(f"{edge}{sort}{procedure.title}{count}{apart} {edge.strip()}", style="bold")]
    for word, text in (("When", procedure.entry), ("Not if", procedure.not_if)):
        lines += wrapped(f"{word}: {text}", hanging=2) if text and sort else []
    letters = seat_letters((one.seat, one.title) for one in run.seats)
    part = ""
    for row in page.rows:
        if row.item.part and row.item.part != part:
            part = row.item.part
            lines.append(Text(f"  {part.capitalize()}", style="underline"))
        lines += row_lines(row, letters, now)
    if page.question:
        return [*lines, *wrapped(f"? {page.question}", indent=0, hanging=2, style="bold")]
    end = f"-- {page.remaining} to do --" if page.remaining else f"-- Say: {page.call} --"
    return [*lines, Text(end, style="dim" if page.remaining else "bold")]


def row_lines(row: RunRow, letters: dict[str, str], now: datetime | None) -> list[Text]:
    """Return one item: what stands before it while it is awaited, its line, and what was said."""
    from rich.text import Text

    awaited = row.status in ("due", "hold")
    lines: list[Text] = []
    if awaited:
        heads = ("WARNING", row.item.warnings), ("CAUTION", row.item.cautions), ("NOTE", row.item.notes)
        for word, texts in heads:
            for text in texts:
                lines += wrapped(f"{word}  {text}", indent=8, hanging=2, style="bold")
    style = _STYLES.get(row.status, "")
    marks = f"{'!' if row.item.killer else ' '}{'M' if row.item.memory else ' '}"
    start = f"{SIGNS[row.status]} {row.item.number:>2} {marks} "
    cells = {cell.seat: _cell(cell, letters) for cell in row.cells}
    seats = " ".join(cells.get(seat, "  ") for seat in letters)
    room = min(terminal_width(), WIDEST) - len(start) - len(seats) - 2
    line = Text(start, style=style)
    for number, part in enumerate(_pair(row.item.challenge, row.item.response, room)):
        line = Text(start if number == 0 else " " * len(start), style=style).append(part)
        lines.append(line)
    line.append(" " * max(0, room - (len(line) - len(start))) + "  " + seats)
    return [*lines, *_below(row, now)]


def _below(row: RunRow, now: datetime | None) -> Iterable[Text]:
    """Return what is said under an item's line."""
    words = [row.words] if row.words else []
    if row.held and row.status == "hold":
        words = [f"HOLD  {row.words}{_waiting(row.since, now)}"]
    elif row.held:
        words = [f"hold: {row.words}"]
    if row.status == "due":
        words += [row.item.place] if row.item.place else []
        if row.item.branch is not None:
            case = f" ({row.item.branch.case})" if row.item.branch.case else ""
            words.append(f"If not{case}: {row.item.branch.title}")
        words += [f"May wait until: {row.item.until}"] if row.item.until else []
        words += [f"No value: {row.item.problem}"] if row.item.problem else []
    style = "bold" if row.status == "hold" else ""
    return [line for one in words for line in wrapped(one, indent=10, hanging=2, style=style)]


def _waiting(since: datetime | None, now: datetime | None) -> str:
    if since is None:
        return ""
    waited = "" if now is None else f", {_minutes((now - since).total_seconds())}"
    return f" (waiting since {since:%H:%M:%S}Z{waited})"


def _minutes(seconds: float) -> str:
    whole = max(0, int(seconds))
    return f"{whole // 60}:{whole % 60:02}"


def _cell(cell: SeatCell, letters: dict[str, str]) -> str:
    """Return a seat of a row: ``F+`` has answered, ``F?`` is awaited."""
    return f"{letters.get(cell.seat, cell.seat)}{'+' if cell.said else '?' if cell.due else ' '}"


def _pair(challenge: str, response: str, room: int) -> list[str]:
    """Return challenge and response joined by leaders; over two lines where one is too short."""
    import textwrap

    dots = room - len(challenge) - len(response) - 2
    if not response:
        return textwrap.wrap(challenge, max(room, 20)) or [""]
    if dots >= 3:
        return [f"{challenge} {'.' * dots} {response}"]
    parts = textwrap.wrap(response, max(room - 6, 20))
    return [
        *textwrap.wrap(challenge, max(room, 20)),
        *(f"{'.' * max(3, room - len(one) - 1)} {one}" for one in parts),
    ]
