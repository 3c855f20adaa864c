"""Work that takes longer than a page may wait: a worker thread, its steps, its end, and a way to stop it."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Generic, Literal, TypeVar

log = logging.getLogger(__name__)

State = Literal["waiting", "running", "done", "failed", "cancelled"]
Result = TypeVar("Result")


class Cancelled(Exception):
    """Somebody asked for the work to be stopped; raised between its steps, inside its thread."""


@dataclass(eq=False)
class Work(Generic[Result]):
    """One piece of work. ``steps`` is how many it has; ``words`` says which is under way."""

    steps: int
    told: Callable[[], None]
    """Called from the worker thread, and from the server's, whenever something changed."""
    state: State = "waiting"
    words: str = "waiting for its turn"
    done: int = 0
    fault: str = ""
    result: Result | None = None
    _wanted: bool = field(default=True, repr=False)
    _task: asyncio.Task[None] | None = field(default=None, repr=False)

    @property
    def is_over(self) -> bool:
        """Whether nothing more will happen."""
        return self.state in ("done", "failed", "cancelled")

    def step(self, words: str) -> None:
        """Note that a step begins; raises ``Cancelled`` once the work was cancelled. For its own thread."""
        if not self._wanted:
            raise Cancelled
        self.done += self.words != "waiting for its turn"
        self.words = words
        self.told()

    def cancel(self) -> None:
        """Stop at the next step; whoever looks sees it stopped now."""
        if not self.is_over:
            self._wanted, self.state = False, "cancelled"
            self.told()

    def begin(
        self,
        make: Callable[[Callable[[str], None]], Result],
        faults: tuple[type[Exception], ...],
        turn: asyncio.Semaphore,
    ) -> None:
        """Run ``make`` in a thread as soon as it is its turn. ``faults`` are shown in their own words."""
        self._task = asyncio.create_task(self._run(make, faults, turn))

    async def within(self, seconds: float) -> None:
        """Wait for the end, but no longer than this."""
        if self._task is not None and not self._task.done():
            await asyncio.wait([self._task], timeout=seconds)

    async def _run(
        self,
        make: Callable[[Callable[[str], None]], Result],
        faults: tuple[type[Exception], ...],
        turn: asyncio.Semaphore,
    ) -> None:
        async with turn:
            if self.is_over:
                return
            self.state = "running"
            try:
                found = await asyncio.to_thread(make, self.step)
            except Cancelled:
                return
            except asyncio.CancelledError:  # the server stops
                self.cancel()
                raise
            except faults as fault:
                self._end("failed", str(fault))
            except Exception:  # a fault of ours must not leave a page waiting for ever
                log.exception("work in the background failed")
                self._end("failed", "Something went wrong here; where the desk was started it says what.")
            else:
                self.result = found
                self._end("done", "")

    def _end(self, state: State, fault: str) -> None:
        if self.state == "running":
            self.state, self.fault = state, fault
            self.done = self.steps if state == "done" else self.done
            self.told()
