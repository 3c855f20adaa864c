"""Checklists as a page of text: challenge, leaders and response, a column for each seat, holds in boxes."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from sortiewright.commands.output import terminal_width, wrapped

if TYPE_CHECKING:
    from rich.text import Text

    from sortiewright.procedures import Checklists, LeftOut, ReadyItem, ReadyProcedure
    from sortiewright.sortie import Plan

WIDEST = 100
"""Columns beyond which the eye loses its line between challenge and response."""
NUMBERS = 4
"""Columns of an item's number."""
MARKS = 3
"""Columns between the number and the challenge: killer and memory marks."""
_START = NUMBERS + MARKS
_BOX, _PLAIN_BOX = "┌─┐│└┘", "+-+|++"
_ADVICE = (("WARNING", "bold red"), ("CAUTION", "bold yellow"), ("NOTE", "bold"))


def page_text(
    lists: Checklists, chosen: Sequence[ReadyProcedure], plan: Plan, *, why: bool, amplified: bool
) -> list[Text]:
    """Return whose lists these are, what the marks mean, and each list."""
    from rich.text import Text

    letters = seat_letters(lists.seats)
    lines = [*wrapped(f"{plan.aerodrome}, runway {plan.runway.designator}, {plan.time}", style="dim")]
    pack = f"{plan.pack_title or plan.pack_name} ({plan.pack_name} {plan.pack_version})"
    lines += wrapped(f"{pack}, lists {lists.digest[:8]}", style="dim")
    lines += wrapped(_legend(lists, chosen, letters), style="dim")
    for one in chosen:
        lines += [Text(), *procedure_text(one, lists, letters, why=why, amplified=amplified)]
    whole = [gone for gone in lists.left_out if not gone.unknown]
    if why and whole:
        lines += [Text(), Text("Lists that do not apply today", style="bold")]
        for gone in whole:
            lines += wrapped(f"{gone.title}: {gone.because}", hanging=2)
    elif whole and len(chosen) > 1:
        lines += [Text(), *wrapped(f"{_count(len(whole), 'list')} left out today (--why)", style="dim")]
    return lines


def seat_letters(seats: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Return a letter for each seat: the first of its name where that is its own, else a digit."""
    names = [name for name, _ in seats]
    firsts = [name[0].upper() for name in names]
    if len(set(firsts)) == len(firsts):
        return dict(zip(names, firsts, strict=True))
    return {name: str(number) for number, name in enumerate(names, 1)}


def _legend(lists: Checklists, chosen: Iterable[ReadyProcedure], letters: dict[str, str]) -> str:
    items = [item for one in chosen for item in one.items]
    words = [f"{letters[name]} {title.lower()}" for name, title in lists.seats]
    if any(item.any_one and len(item.seats) > 1 for item in items):
        words.append("/ whoever is first")
    if any(item.killer for item in items):
        words.append("! must not be missed")
    if any(item.memory for item in items):
        words.append("M from memory")
    return ", ".join(words)


def procedure_text(
    procedure: ReadyProcedure, lists: Checklists, letters: dict[str, str], *, why: bool, amplified: bool
) -> list[Text]:
    """Return one list: its heading, its items, and the call that ends it."""
    from rich.text import Text

    kind = [] if procedure.kind == "normal" else [procedure.kind]
    apart = ["each seat its own"] if procedure.pace == "apart" else []
    lines = [Text(procedure.title, style="bold")]
    about = f"({procedure.id})  {', '.join([*kind, procedure.style, *apart])}"
    if len(procedure.title) + 2 + len(about) <= terminal_width():
        lines[0].append(f"  {about}", style="dim not bold")
    else:
        lines += wrapped(about, style="dim")
    for label, text in (("When", procedure.entry), ("Not if", procedure.not_if)):
        lines += wrapped(f"{label}: {text}", hanging=2) if text else []
    part = ""
    for item in procedure.items:
        if item.part and item.part != part:
            part = item.part
            lines.append(Text(f"  {part.capitalize()}", style="underline"))
        lines += item_text(item, letters, amplified=amplified)
    lines += _ending(procedure, lists)
    lines += _absent([gone for gone in procedure.left_out if not gone.unknown], why)
    return lines


def _ending(procedure: ReadyProcedure, lists: Checklists) -> list[Text]:
    from rich.text import Text

    lines = [Text(f"{' ' * _START}-- {procedure.complete} --", style="bold")]
    for text in procedure.status:
        lines += wrapped(f"Afterwards: {text}", indent=_START, hanging=2)
    then = {"resume": "Then back to where it was called from", "end": "Then the sortie ends"}.get(
        procedure.then, ""
    )
    if procedure.then in lists.by_id:
        then = f"Then: {lists.by_id[procedure.then].title}"
    return [*lines, *(wrapped(then, indent=_START, style="dim") if then else [])]


def _absent(left_out: Sequence[LeftOut], why: bool) -> list[Text]:
    if not left_out:
        return []
    if not why:
        return wrapped(f"{_count(len(left_out), 'item')} left out today (--why)", indent=_START, style="dim")
    lines: list[Text] = []
    for gone in left_out:
        text = f"{gone.number:>{NUMBERS - 1}} left out: {gone.title}. {gone.because}"
        lines += wrapped(text, indent=0, hanging=NUMBERS, style="dim")
    return lines


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"


def item_text(item: ReadyItem, letters: dict[str, str], *, amplified: bool = False) -> list[Text]:
    """Return one item with what stands before it and what hangs on it."""
    lines: list[Text] = []
    for (word, style), texts in zip(_ADVICE, (item.warnings, item.cautions, item.notes), strict=True):
        for text in texts:
            lines += _advice(word, text, style)
    if item.hold is not None:
        lines += boxed(f"HOLD  {item.hold.awaits} ({item.hold.cleared_by_title.lower()})")
    lines += _challenge_and_response(item, letters)
    if item.branch is not None:
        case = f" ({item.branch.case})" if item.branch.case else ""
        lines += _below(f"If not{case}: {item.branch.title}")
    if item.until:
        lines += _below(f"May wait. {item.until}")
    if item.problem:
        lines += _below(f"No value. {item.problem}", "yellow")
    if amplified and item.why:
        lines += _below(item.why, "dim")
    return lines


def _challenge_and_response(item: ReadyItem, letters: dict[str, str]) -> list[Text]:
    """Return the line with leaders between the two; where both do not fit, the response has its own line."""
    from rich.text import Text

    marks = f"{'!' if item.killer else ' '}{'M' if item.memory else ' '}"
    seats = _seat_column(item, letters)
    start = f"{item.number:>{NUMBERS - 1}} {marks} "
    room = min(terminal_width(), WIDEST) - len(start) - len(seats) - 2
    challenge, *more = _folded(item.challenge, room) or [""]
    response = _folded(item.response, room - 4)
    style = "bold" if item.killer or item.memory else ""
    lines = [Text(start).append(challenge, style=style)]
    lines += [Text(" " * len(start)).append(one, style=style) for one in more]
    if response and len(response) == 1 and len(lines[-1]) - len(start) + len(response[0]) + 5 <= room:
        first = response.pop(0)
        dots = room - (len(lines[-1]) - len(start)) - len(first) - 2
        lines[-1].append(f" {'.' * dots} ", style="dim").append(first, style="bold")
        lines[-1].append(f"  {seats}")
        return lines
    lines[-1].append(" " * (len(start) + room - len(lines[-1]))).append(f"  {seats}")
    for number, one in enumerate(response):
        dots = "." * (room - len(one) - 1) + " " if number == 0 else " " * (room - len(one))
        lines.append(Text(" " * len(start)).append(dots, style="dim").append(one, style="bold"))
    return lines


def _seat_column(item: ReadyItem, letters: dict[str, str]) -> str:
    between = "/" if item.any_one and len(item.seats) > 1 else " "
    return between.join(letter if seat in item.seats else " " for seat, letter in letters.items())


def _advice(word: str, text: str, style: str) -> list[Text]:
    hang = len("WARNING") + 2
    first, *rest = wrapped(f"{word:<{hang}}{text}", indent=_START, hanging=hang)
    first.stylize(style, _START, _START + len(word))
    return [first, *rest]


def _below(text: str, style: str = "") -> list[Text]:
    return wrapped(text, indent=_START + 2, hanging=2, style=style)


def boxed(text: str) -> list[Text]:
    """Return a text in a frame, of plain signs where the output has no others."""
    from rich.text import Text

    try:
        _BOX.encode(sys.stdout.encoding or "ascii")
        corner, dash, right, bar, low, low_right = _BOX
    except (UnicodeEncodeError, LookupError):
        corner, dash, right, bar, low, low_right = _PLAIN_BOX
    room = min(terminal_width(), WIDEST) - _START - 4
    rows = _folded(text, room)
    width = max(len(row) for row in rows)
    indent = " " * _START
    frame = [f"{indent}{corner}{dash * (width + 2)}{right}"]
    frame += [f"{indent}{bar} {row.ljust(width)} {bar}" for row in rows]
    frame.append(f"{indent}{low}{dash * (width + 2)}{low_right}")
    return [Text(line, style="bold") for line in frame]


def _folded(text: str, width: int) -> list[str]:
    import textwrap

    return textwrap.wrap(text, max(width, 20), break_long_words=False)
