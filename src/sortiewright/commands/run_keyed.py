"""A crew run on a screen with single keys."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Protocol

from sortiewright.commands.checklist_page import seat_letters
from sortiewright.commands.output import wrapped
from sortiewright.commands.run_keys import BACK, ENTER, ESCAPE
from sortiewright.commands.run_screen import in_columns, in_sight, page_lines
from sortiewright.commands.run_session import Session
from sortiewright.commands.run_verbs import obey
from sortiewright.procedures import run_page

if TYPE_CHECKING:
    from rich.text import Text

POLL = 0.15
MESSAGES = 5
"""Lines at the foot of the screen for what has happened."""
MENU = "123456789abcdefghijklmnopqrstuvwxyz"
WORDS = {
    "n": ("no", "It is not so. What do you see?"),
    "s": ("skip", "Leave it out: why?"),
    "o": ("override", "Go on without the clearance: why?"),
    "x": ("end", "Break the list off: why?"),
    "m": ("note", "Note:"),
    "d": ("disagree", "Number of the item, and what you see:"),
    ":": ("", "Command:"),
}
"""Keys that ask for words, and the command that takes them."""
PLAIN = {"p": "later", "u": "undo", ENTER: "ok", " ": "ok"}
CHOOSING = tuple("tclbe")
"""Keys that show a menu."""
OF_A_HOLD = ("c", "o")
OF_A_SEAT = ("ok", "later", "skip", "no")
ALL_KEYS = """\
Enter, Space  go on: answer, completion call, next list, resume
{seats}
n  not so: go to the list named for that, or disagree
d  disagree with an item that was answered
s  skip, with a reason          p  put off, where the list allows it
t  take up an item put off      c  hold is cleared: by whom
o  override a hold, with a reason
e  EMERGENCY and abnormal lists
l  open another list            x  break the list off, with a reason
b  go on earlier, after an interruption
u  undo                         m  note for the debrief
:  any command in words         q  leave; the run stays where it is"""


class Reader(Protocol):
    """Where keys come from."""

    def read(self, timeout: float) -> str:
        """Return a key, or an empty text when none was pressed in time."""
        ...


class Screen(Protocol):
    """What lines are drawn on."""

    def height(self) -> int:
        """Return how many lines there is room for."""
        ...

    def draw(self, lines: list[Text]) -> None:
        """Show these lines and nothing else."""
        ...


class KeyedRun:
    """Draws the run whenever it changes and turns keys into command lines."""

    def __init__(self, session: Session, keys: Reader, screen: Screen, tick: Callable[[], None]) -> None:
        self.session, self.keys, self.screen, self.tick = session, keys, screen, tick
        self._messages: list[str] = []
        self._drawn = ("", 0)
        titles = session.state.checklists.seats
        taken = {*WORDS, *PLAIN, *CHOOSING, "q", "?"}
        letters = {seat: letter.lower() for seat, letter in seat_letters(titles).items()}
        self._seat_keys = {key: seat for seat, key in letters.items() if key not in taken}

    def loop(self) -> None:
        """Show what there is to know at the beginning, then run until the crew leaves."""
        try:
            self._tell_keys("Press any key to begin")
        except EOFError:
            return
        while not self.session.is_over:
            try:
                key = self._key("")
            except EOFError:
                return
            self._press(key)

    def _press(self, key: str) -> None:
        if key == "q":
            self.session.is_over = True
        elif key in OF_A_HOLD and self.session.hold() is None:
            self.session.say("Nothing is held")
        elif key == "?":
            self._tell_keys("Press any key to go back")
        elif key in PLAIN:
            self._obey_with_seat(PLAIN[key])
        elif key in WORDS:
            command, question = WORDS[key]
            self._obey_with_seat(command, question)
        elif key in self._seat_keys:
            obey(self.session, self._seat_keys[key])
        elif key in CHOOSING:
            self._choose_and_obey(key)

    def _obey_with_seat(self, command: str, question: str = "") -> None:
        """Carry out a command, having asked for words, and for the seat where two are at different items."""
        seats = list(dict.fromkeys(seat for _, seat in self.session.turns()))
        if command in OF_A_SEAT and len({one.place for one, _ in self.session.turns()}) > 1:
            seat = self._choose("Which seat?", [(seat, seat) for seat in seats])
            if seat is None:
                return
            command = f"{seat} {command}"
        words = self._ask(question) if question else ""
        if words is not None:
            obey(self.session, f"{command} {words}".strip())

    def _choose_and_obey(self, key: str) -> None:
        session = self.session
        match key:
            case "e":
                lists = [(one.id, f"{one.kind[0].upper()}  {one.title}") for one in session.emergencies()]
                command, question = "emergency", "Call which list? E emergency, A abnormal"
            case "l":
                lists = [(one.id, one.title) for one in session.normal_lists()]
                command, question = "open", "Open which list?"
            case "c":
                checklists = session.state.checklists
                lists = [*checklists.parties, *checklists.seats]
                command, question = "clear", "Cleared by whom?"
            case "t":
                waiting = [one for one in run_page(session.state).outstanding if not one.taken_up]
                lists = [(str(count), one.item.challenge) for count, one in enumerate(waiting, start=1)]
                command, question = "take", "Take up which item?"
            case _:
                page = run_page(session.state).page
                rows = page.rows if page is not None and page.question else ()
                lists = [(str(row.item.number), row.item.challenge) for row in rows]
                command, question = "resume", "Go on at which item?"
        if not lists:
            self.session.say("There is nothing to choose from")
        elif (chosen := self._choose(question, lists)) is not None:
            self._open_or_do(command, chosen)

    def _open_or_do(self, command: str, chosen: str) -> None:
        before = self.session.state.seq
        obey(self.session, f"{command} {chosen}")
        if command == "open" and self.session.state.seq == before:
            self._collect()
            if reason := self._ask("Open it all the same: why? (Esc: no)"):
                obey(self.session, f"open {chosen} because {reason}")

    def _choose(self, question: str, choices: Sequence[tuple[str, str]]) -> str | None:
        """Return the chosen of (word, title); None where the crew thinks better of it."""
        shown = in_columns(
            [f"{MENU[count]}  {title}" for count, (_, title) in enumerate(choices[: len(MENU)])]
        )
        while True:
            key = self._key(f"{question} (Esc: none)", shown)
            if key == ESCAPE:
                return None
            if len(key) == 1 and 0 <= (at := MENU.find(key)) < len(choices):
                return choices[at][0]

    def _ask(self, question: str) -> str | None:
        """Return words typed to a question; None where the crew thinks better of it."""
        words = ""
        while True:
            key = self._key(f"{question} {words}_")
            if key == ENTER:
                return words.strip()
            if key == ESCAPE:
                return None
            if key == BACK:
                words = words[:-1]
            elif len(key) == 1 and key.isprintable():
                words += key

    def _key(self, prompt: str, menu: Iterable[str] = ()) -> str:
        """Return the next key; meanwhile take in what others do, and draw what has changed."""
        menu = tuple(menu)
        while True:
            self.session.refresh()
            self.tick()
            self._collect()
            self._draw(prompt, menu)
            if key := self.keys.read(POLL):
                return key

    def _collect(self) -> None:
        self._messages = [*self._messages, *self.session.fetch()][-40:]

    def _tell_keys(self, prompt: str) -> None:
        here = [(key, seat) for key, seat in self._seat_keys.items() if seat in self.session.seats]
        seats = "\n".join(f"{key}  {seat} seat answers" for key, seat in here)
        self._key(prompt, ALL_KEYS.format(seats=seats).splitlines())

    def _draw(self, prompt: str, menu: tuple[str, ...]) -> None:
        second = int(time.time())
        content = repr((prompt, menu, self._messages[-MESSAGES:], self.session.state.seq))
        if self._drawn == (content, second):
            return
        self._drawn = (content, second)
        self.screen.draw(self._page(prompt, menu))

    def _page(self, prompt: str, menu: tuple[str, ...]) -> list[Text]:
        from rich.text import Text

        page = run_page(self.session.state)
        body = [Text(line) for line in menu] or page_lines(page, self.session.seats, datetime.now(UTC))
        body = in_sight(body, self.screen.height() - MESSAGES - 3)
        foot = [line for one in self._messages[-MESSAGES:] for line in wrapped(one, indent=0, hanging=2)]
        foot = foot[-MESSAGES:]
        seats = "/".join(key for key, seat in self._seat_keys.items() if seat in self.session.seats)
        head = Text(f"Enter ok  {seats} seat  n no  s skip  c clear  e EMERGENCY  u undo  ? keys  q quit")
        head.stylize("reverse")
        rule = Text("-" * 40, style="dim")
        return [head, *body, rule, *foot, Text(prompt, style="bold") if prompt else Text("")]
