"""What a crew types in a run: a line a command, in words. The screen's keys are short for the same lines."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, TypeVar

from sortiewright.commands.run_session import Session, hold_words
from sortiewright.pack import suggestion
from sortiewright.procedures import (
    Answered,
    Cleared,
    Completed,
    Deferred,
    Disagreed,
    Due,
    Ended,
    Interrupted,
    Noted,
    Opened,
    Overridden,
    Resumed,
    Skipped,
    TakenUp,
    Undone,
    due,
    last_undoable,
    next_list,
    outstanding,
    run_page,
    seat_title,
)

if TYPE_CHECKING:
    from sortiewright.procedures import ReadyProcedure

HELP = """\
ok                  go on: answer, make the completion call, open the next list, resume
front, rear         that seat answers as the list wants it (short: f, r)
front says WORDS    that seat answers in its own words
no WORDS            it is not so: go to the list named for that, or disagree
disagree N WORDS    item N is not as it was answered
skip REASON         leave the item out
later               put the item off, where its list names a later moment
take N              take up a deferred item, counted as shown
clear WHO           the hold is cleared, and who cleared it
override REASON     go on without the clearance
emergency NAME      call an abnormal or emergency list; without a name: which there are
open NAME           open a list, the next one without a name; open NAME because WHY out of order
complete            the completion call
end REASON          break the list off
resume N            go on at item N after an interruption
undo                take back the last thing done at this terminal
note WORDS          keep words for the debrief
show, lists, help, quit
A seat may stand before a command: rear skip REASON. Commands may be cut short."""
Choice = TypeVar("Choice")


def obey(session: Session, line: str) -> None:
    """Carry out one line."""
    first, _, rest = line.strip().partition(" ")
    rest = rest.strip()
    seat = _seat_named(session, first)
    if seat is None:
        _obey_verb(session, "", first, rest)
    elif seat not in session.seats:
        here = " and ".join(seat_title(session.state, one) for one in session.seats)
        session.say(f"This terminal is for {here}, not for {seat_title(session.state, seat)}")
    elif rest:
        verb, _, words = rest.partition(" ")
        _obey_verb(session, seat, verb, words.strip())
    else:
        _answer(session, seat, "")


def _obey_verb(session: Session, seat: str, word: str, rest: str) -> None:
    word = word.lower() or "ok"
    fits = [word] if word in VERBS else [verb for verb in VERBS if verb.startswith(word)]
    if len(fits) == 1:
        VERBS[fits[0]](session, seat, rest)
    elif fits:
        session.say(f'"{word}" may be {", ".join(fits[:-1])} or {fits[-1]}: write more of it')
    else:
        near = suggestion(word, [*VERBS, *session.seats])
        session.say(f'"{word}" is no command. {near or "Write help for all of them"}')


def _seat_named(session: Session, word: str) -> str | None:
    """Return the seat that a word names: its key, or its first letter where that is its own."""
    keys = [key for key, _ in session.state.checklists.seats]
    fits = [key for key in keys if word.lower() in (key, key[0])]
    return fits[0] if len(fits) == 1 else None


def _one_turn(session: Session, seat: str) -> tuple[Due, str] | None:
    """Return the item meant and the seat that acts; None, having said why, where that is not clear."""
    turns = session.turns(seat)
    if len({one.place for one, _ in turns}) == 1:
        return turns[0]
    if turns:
        names = " or ".join(dict.fromkeys(each for _, each in turns))
        session.say(f"Each seat is at its own item: name the seat first, {names}")
    elif (hold := session.hold()) is not None:
        session.say(hold_words(session.state, hold))
    elif awaited := due(session.state):
        who = " and ".join(seat_title(session.state, each) for each in awaited[0].seats)
        session.say(f"{who} is awaited: {awaited[0].item.challenge}")
    else:
        session.say("No item is awaited now")
    return None


def _answer(session: Session, seat: str, words: str) -> None:
    if (turn := _one_turn(session, seat)) is not None:
        session.do(Answered(turn[0].place, words), turn[1])


def _ok(session: Session, seat: str, _: str) -> None:
    page = run_page(session.state)
    if due(session.state):
        _answer(session, seat, "")
    elif page.page is None and page.following is None:
        session.say("The run is at its end. Write quit")
    elif page.page is None:
        _open(session, seat, "")
    elif page.page.question:
        _resume(session, seat, "")
    else:
        _complete(session, seat, "")


def _no(session: Session, seat: str, words: str) -> None:
    if (turn := _one_turn(session, seat)) is None:
        return
    one, actor = turn
    branches = one.item.branch is not None
    session.do(Answered(one.place, words, wanted=False) if branches else Disagreed(one.place, words), actor)


def _disagree(session: Session, seat: str, rest: str) -> None:
    number, _, why = rest.partition(" ")
    page = run_page(session.state).page
    row = next((row for row in page.rows if str(row.item.number) == number), None) if page else None
    if row is None:
        session.say("Write the number of the item, then what you see: disagree 4 light is out")
    else:
        session.do(Disagreed(row.place, why), seat)


def _skip(session: Session, seat: str, reason: str) -> None:
    if (turn := _one_turn(session, seat)) is not None:
        session.do(Skipped(turn[0].place, reason), turn[1])


def _later(session: Session, seat: str, _: str) -> None:
    if (turn := _one_turn(session, seat)) is not None:
        session.do(Deferred(turn[0].place), turn[1])


def _take(session: Session, seat: str, rest: str) -> None:
    waiting = [one for one in outstanding(session.state) if not one.taken_up]
    chosen = waiting[0] if len(waiting) == 1 and not rest else _counted(rest, waiting)
    if chosen is not None:
        session.do(TakenUp(chosen.place), seat)
        return
    session.say("Which one? Write take and its number" if waiting else "Nothing is put off")
    for count, one in enumerate(waiting, start=1):
        session.say(f"{count}  {one.item.challenge}, until {one.item.until} ({one.title})")


def _clear(session: Session, seat: str, who: str) -> None:
    if (hold := session.hold()) is None:
        session.say("Nothing is held")
        return
    by = _giver(session, who)
    session.do(Cleared(hold.place, by), by if by in session.seats else seat)


def _giver(session: Session, who: str) -> str:
    """Return the key of the party or seat that words name; the words, where they name none."""
    named = (*session.state.checklists.parties, *session.state.checklists.seats)
    wanted = who.lower().replace("_", " ").strip()
    fits = [key for key, title in named if wanted and _begins(wanted, key, title)]
    return fits[0] if len(fits) == 1 else who.strip()


def _override(session: Session, seat: str, reason: str) -> None:
    hold = session.hold()
    if hold is None:
        session.say("Nothing is held")
    else:
        session.do(Overridden(hold.place, reason), seat)


def _emergency(session: Session, seat: str, name: str) -> None:
    lists = session.emergencies()
    if not name:
        session.say("Which one? Write emergency and its number or name")
        session.say(*(f"{count}  {one.title}, {one.kind}" for count, one in enumerate(lists, start=1)))
    elif (chosen := _list_named(session, name, lists)) is not None:
        session.do(Interrupted(chosen.id), seat)


def _open(session: Session, seat: str, rest: str) -> None:
    name, _, reason = rest.partition("because")
    if name.strip():
        chosen = _list_named(session, name.strip(), session.normal_lists())
    elif (chosen := next_list(session.state)) is None:
        session.say("Which one? Write open and its number or name")
        _lists(session, seat, "")
    if chosen is not None:
        session.do(Opened(chosen.id, reason.strip()), seat)


def _complete(session: Session, seat: str, name: str) -> None:
    current = session.state.current
    if name:
        chosen = _list_named(session, name, [*session.normal_lists(), *session.emergencies()])
        if chosen is not None:
            session.do(Completed(chosen.id), seat)
    elif current is not None:
        session.do(Completed(current.procedure), seat)
    else:
        session.say("No list is open")


def _end(session: Session, seat: str, reason: str) -> None:
    current = session.state.current
    if current is None:
        session.say("No list is open")
    else:
        session.do(Ended(current.procedure, reason), seat)


def _resume(session: Session, seat: str, number: str) -> None:
    page = run_page(session.state).page
    if page is None or not page.question:
        session.say("No list waits to be resumed")
        return
    rows = [row for row in page.rows if str(row.item.number) == number]
    if number and not rows:
        session.say(f'No item has the number "{number}"')
        return
    rows = rows or [row for row in page.rows if row.status == "later"]
    session.do(Resumed(page.procedure.id, rows[0].item.id if rows else ""), seat)


def _undo(session: Session, seat: str, _: str) -> None:
    event = last_undoable(session.state, [seat] if seat else session.seats)
    if event is None:
        session.say("Nothing that was done here can be taken back now")
    else:
        session.do(Undone(event.id), event.actor)


def _note(session: Session, seat: str, words: str) -> None:
    session.do(Noted(words), seat)


def _show(session: Session, *_: str) -> None:
    from sortiewright.commands.run_screen import page_lines

    session.say(*(line.plain.rstrip() for line in page_lines(run_page(session.state), session.seats)))


def _lists(session: Session, *_: str) -> None:
    ends = {one.procedure: one.end or "open" for one in session.state.lists}
    for count, one in enumerate(session.normal_lists(), start=1):
        session.say(f"{count}  {one.title}{f', {ends[one.id]}' if one.id in ends else ''}")


def _help(session: Session, *_: str) -> None:
    session.say(*HELP.splitlines())


def _quit(session: Session, *_: str) -> None:
    session.is_over = True


def _counted(text: str, choices: Sequence[Choice]) -> Choice | None:
    """Return the choice that a number counts to."""
    return choices[int(text) - 1] if text.isdecimal() and 0 < int(text[:6]) <= len(choices) else None


def _list_named(session: Session, name: str, lists: Sequence[ReadyProcedure]) -> ReadyProcedure | None:
    """Return the list that a number, a name or its beginning means; None, having said why, where none."""
    if (counted := _counted(name, lists)) is not None:
        return counted
    wanted = name.lower().replace("_", " ").strip()
    fits = [one for one in lists if _begins(wanted, one.id, one.title)]
    exact = [one for one in fits if wanted in (one.id.replace("_", " "), one.title.lower())]
    if len(exact or fits) == 1:
        return (exact or fits)[0]
    if fits:
        session.say(f'"{name}" may be {" or ".join(one.title for one in fits)}: write more of it')
    else:
        near = suggestion(name, [one.id for one in lists])
        session.say(f'No list is called "{name}". {near}'.rstrip())
    return None


def _begins(wanted: str, key: str, title: str) -> bool:
    return key.replace("_", " ").startswith(wanted) or title.lower().startswith(wanted)


VERBS: dict[str, Callable[[Session, str, str], None]] = {
    "ok": _ok,
    "says": _answer,
    "no": _no,
    "disagree": _disagree,
    "skip": _skip,
    "later": _later,
    "take": _take,
    "clear": _clear,
    "override": _override,
    "emergency": _emergency,
    "open": _open,
    "complete": _complete,
    "end": _end,
    "resume": _resume,
    "undo": _undo,
    "note": _note,
    "show": _show,
    "lists": _lists,
    "help": _help,
    "quit": _quit,
}
