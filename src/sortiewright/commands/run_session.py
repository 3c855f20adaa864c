"""A crew at one terminal: deeds go to the run, and what has happened becomes lines to read."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sortiewright.pack import InputError
from sortiewright.procedures import (
    Already,
    Answered,
    CallOut,
    Deed,
    Deferred,
    Due,
    Joined,
    Left,
    Noted,
    Refusal,
    Skipped,
    TakenUp,
    call_outs,
    due,
    event_words,
    seat_title,
)

if TYPE_CHECKING:
    from sortiewright.procedures import CrewRun, ReadyProcedure, RunState

TOLD = Answered | Skipped | Deferred | TakenUp | Noted | Joined | Left
"""Events that are told as such; the others are told by what is called out."""


class Session:
    """A run, the seats that sit at this terminal, and the lines that nobody has fetched yet."""

    def __init__(self, run: CrewRun, seats: tuple[str, ...]) -> None:
        self.run, self.seats = run, seats
        self.is_over = False
        self._lines: list[str] = []
        self._fault = ""

    @property
    def state(self) -> RunState:
        """The run as this terminal knows it."""
        return self.run.state

    def fetch(self) -> list[str]:
        """Return the lines to be read since the last call."""
        lines, self._lines = self._lines, []
        return lines

    def say(self, *lines: str) -> None:
        """Add lines to be read."""
        self._lines += lines

    def do(self, deed: Deed, seat: str = "") -> None:
        """Propose a deed of a seat, the first one here where none is named, and tell what became of it."""
        before = self.state
        try:
            outcome = self.run.propose(deed, seat or self.seats[0])
        except InputError as fault:  # the log is held or damaged; the crew may try again
            self.say(f"Not done. {fault}")
            return
        self._tell(before, self.state)
        if isinstance(outcome, Refusal):
            self.say(f"No. {outcome.reason}")
        elif isinstance(outcome, Already) and not isinstance(deed, Joined | Left):
            self.say(outcome.words)

    def refresh(self) -> bool:
        """Take in what other terminals have done, and return whether there was anything."""
        before = self.state
        try:
            if not self.run.refresh():
                return False
        except InputError as fault:
            if str(fault) != self._fault:
                self.say(str(fault))
            self._fault = str(fault)
            return False
        self._tell(before, self.state)
        return True

    def join(self) -> None:
        """Say that the seats of this terminal are there."""
        for seat in self.seats:
            self.do(Joined(seat), seat)

    def leave(self) -> None:
        """Say that they are not any more."""
        for seat in self.seats:
            self.do(Left(seat), seat)

    def lose(self, seat: str) -> None:
        """Say that a seat elsewhere has gone without a word."""
        self.do(Left(seat))

    def turns(self, seat: str = "") -> list[tuple[Due, str]]:
        """Return each item awaited of the seats here, or of one of them, with the seat."""
        wanted = (seat,) if seat else self.seats
        awaited = [one for one in due(self.state) if not one.holding]
        return [(one, each) for one in awaited for each in one.seats if each in wanted]

    def hold(self) -> Due | None:
        """Return the hold that stops the list."""
        return next((one for one in due(self.state) if one.holding), None)

    def emergencies(self) -> list[ReadyProcedure]:
        """Return the abnormal and emergency lists: those for where the crew is first, then the worst."""
        current = self.state.current
        procedure = self.state.checklists.by_id.get(current.procedure) if current is not None else None
        here = {procedure.id, procedure.phase} if procedure is not None else set[str]()
        others = [one for one in self.state.checklists.others if one.kind != "normal"]
        return sorted(others, key=lambda one: (here.isdisjoint(one.applies_in), one.kind != "emergency"))

    def normal_lists(self) -> list[ReadyProcedure]:
        """Return the normal lists in order, the go-around last."""
        lists = self.state.checklists
        around = [one for one in (*lists.normal, *lists.others) if one.id == lists.go_around]
        return [*(one for one in lists.normal if one.id != lists.go_around), *around[:1]]

    def _tell(self, before: RunState, after: RunState) -> None:
        """Put what has happened, and what is called out for it, among the lines."""
        new = [event for event in after.history if event.id not in before.known]
        kept = {event.id for event in after.history}
        gone = [event for event in before.history if event.id not in kept]
        self.say(*(event_words(after, event) for event in new if isinstance(event.deed, TOLD)))
        self.say(*(f"Taken back: {event_words(before, event)}" for event in gone))
        for one in call_outs(before, after):
            self.say(*_called(after, one))


def hold_words(state: RunState, hold: Due) -> str:
    """Return what a hold waits for, from whom, and since when."""
    if hold.item.hold is None:
        return ""
    who = hold.item.hold.cleared_by_title or seat_title(state, hold.item.hold.cleared_by)
    since = f" since {hold.since:%H:%M:%S}Z" if hold.since is not None else ""
    return f"Hold: {hold.item.hold.awaits}, from {who}{since}"


def _called(state: RunState, one: CallOut) -> list[str]:
    """Return a call-out as lines: a challenge with what stands before it, what is wanted, and of whom."""
    turn = next((each for each in due(state) if each.place == one.place), None)
    if one.sort != "challenge" or turn is None:
        return [f"== {one.text} ==" if one.sort in ("list", "completion") else one.text]
    item = turn.item
    heads = ("WARNING", item.warnings), ("CAUTION", item.cautions), ("NOTE", item.notes)
    before = [f"{word}  {text}" for word, texts in heads for text in texts]
    who = (" or " if item.any_one else " and ").join(seat_title(state, seat) for seat in turn.seats)
    wanted = f": {item.response}" if item.response else ""
    place = f" ({item.place})" if item.place else ""
    return [*before, f"{item.number} {item.challenge}{wanted}{place} -- {who}"]
