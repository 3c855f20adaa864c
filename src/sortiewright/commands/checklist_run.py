"""The crew run at a terminal: one for both seats, or one a seat on the same log."""

from __future__ import annotations

import contextlib
import signal
import sys
from collections.abc import Callable, Generator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from sortiewright import CAUTION
from sortiewright.commands.arguments import SortieFile
from sortiewright.commands.faults import UsageError
from sortiewright.commands.output import Steps, System, remark

if TYPE_CHECKING:
    from rich.console import Console, ScreenContext
    from rich.text import Text

    from sortiewright.commands.run_session import Session
    from sortiewright.procedures import Checklists, CrewRun
    from sortiewright.sortie import Plan

BOTH = "both"


def checklist_run(
    sortie: SortieFile,
    /,
    *,
    seat: Annotated[str, Parameter(metavar="seat")] = BOTH,
    log: Annotated[Path | None, Parameter(metavar="file")] = None,
    new: Annotated[bool, Parameter(negative="")] = False,
    plain: Annotated[bool, Parameter(negative="")] = False,
    units: System = "trade",
) -> int:
    """Go through today's checklists, each item answered by its seat; every step is kept in a log.

    Example: sortiewright checklist run demo --seat front

    Parameters
    ----------
    sortie
        A sortie file, or a shipped sortie such as demo.
    seat
        The seat at this terminal, front or rear; another terminal takes the other. Both where absent.
    log
        Where the run is kept; one that is there goes on. Where absent, a file of today's date and callsign.
    new
        Begin a new run, though an unfinished one is there.
    plain
        Line by line, for screen readers and pipes: commands are read from standard input.
    units
        Units of the numbers in the lists.
    """
    from sortiewright.commands.run_files import Wanted, log_stem, run_by_date, run_in_file

    if sortie == "-":
        raise UsageError("A run reads its commands from standard input: name a sortie file, not -")
    lists, plan = todays_lists(sortie, units)
    seats = _seats(lists, seat)
    title = f"{plan.callsign}: {plan.title}" if plan.callsign else plan.title
    wanted = Wanted(lists, title, log_stem(plan.time[:10], plan.callsign or "run"))
    run, said = run_in_file(wanted, log, new=new) if log is not None else run_by_date(wanted, new=new)
    with run:
        is_plain = plain or not (sys.stdin.isatty() and sys.stdout.isatty())
        _attend(run, seats, said, is_plain=is_plain)
    return 0


def todays_lists(sortie: str, units: System) -> tuple[Checklists, Plan]:
    """Return the checklists of a sortie and its plan."""
    from sortiewright import sortie as room
    from sortiewright.procedures import load_procedures, tailor_checklists

    with Steps(3) as step:
        step("reading the sortie")
        loaded = room.load_sortie(sortie)
        procedures = load_procedures(loaded.pack)
        step("computing")
        plan = room.plan(loaded.sortie, loaded.pack)
        step("tailoring the checklists")
        lists = tailor_checklists(procedures, loaded.sortie, plan, units)
    for one in lists.remarks:
        remark(f"Remark: {one}")
    return lists, plan


def _seats(lists: Checklists, seat: str) -> tuple[str, ...]:
    from sortiewright.pack import choice_hint

    known = tuple(key for key, _ in lists.seats)
    if seat == BOTH:
        return known
    if seat not in known:
        raise UsageError(
            f'"{seat}" is no seat that is taken today. {choice_hint(seat, [*known, BOTH], "seats")}'
        )
    return (seat,)


def _attend(run: CrewRun, seats: tuple[str, ...], said: list[str], *, is_plain: bool) -> None:
    """Keep the run and this terminal together until the crew leaves it or the terminal goes away."""
    from sortiewright.commands.run_session import Session
    from sortiewright.procedures import Presence

    session = Session(run, seats)
    session.say(CAUTION, *said)
    presence = Presence(run.log.path, seats)
    try:
        with _stopped_by_signals():
            presence.give()
            session.join()
            session.say(*_where_it_stands(session, is_plain))
            tick = _watch(session, presence)
            if is_plain:
                from sortiewright.commands.run_plain import plain_run

                plain_run(session, sys.stdin, tick)
            else:
                _on_screen(session, tick)
    finally:
        presence.stop()
        session.leave()
    print(f"The run is kept in {run.log.path}")


def _where_it_stands(session: Session, is_plain: bool) -> list[str]:
    """Return what somebody who reads line by line is told at the beginning."""
    from sortiewright.commands.run_screen import page_lines
    from sortiewright.procedures import run_page

    if not is_plain:
        return []
    page = run_page(session.state)
    shown = [line.plain.rstrip() for line in page_lines(page, session.seats)]
    return [*shown, "Write ok to go on, help for all commands"]


def _watch(session: Session, presence: object) -> Callable[[], None]:
    """Return what is to be done again and again: give a sign, and notice the seat that gives none."""
    from sortiewright.procedures import Joined, Presence

    assert isinstance(presence, Presence)

    def tick() -> None:
        presence.give()
        for one in session.state.connections:
            if one.seat in session.seats:
                if not one.connected:  # another terminal took our silence for the end, when the machine slept
                    session.do(Joined(one.seat), one.seat)
            elif one.connected and presence.is_silent(one.seat):
                session.lose(one.seat)

    return tick


def _on_screen(session: Session, tick: Callable[[], None]) -> None:
    from rich.console import Console

    from sortiewright.commands.run_keyed import KeyedRun
    from sortiewright.commands.run_keys import Keys

    console = Console(highlight=False, markup=False)
    with Keys() as keys, console.screen(hide_cursor=True) as screen:
        KeyedRun(session, keys, _Terminal(console, screen), tick).loop()


class _Terminal:
    """A terminal's other screen, which leaves what was printed before as it was."""

    def __init__(self, console: Console, screen: ScreenContext) -> None:
        self._console, self._screen = console, screen

    def height(self) -> int:
        return self._console.height

    def draw(self, lines: list[Text]) -> None:
        from rich.text import Text as RichText

        self._screen.update(RichText("\n").join(lines))


@contextlib.contextmanager
def _stopped_by_signals() -> Generator[None]:
    """Leave in good order when the terminal is closed or the process is asked to end."""

    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    names = [name for name in ("SIGTERM", "SIGHUP", "SIGBREAK") if hasattr(signal, name)]
    before = {name: signal.signal(getattr(signal, name), stop) for name in names}
    try:
        yield
    finally:
        for name, handler in before.items():
            signal.signal(getattr(signal, name), handler)
