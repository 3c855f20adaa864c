"""A crew run line by line: for pipes, for screen readers, and for terminals that can do no more."""

from __future__ import annotations

import queue
import sys
import threading
from collections.abc import Callable
from typing import TextIO

from sortiewright.commands.run_session import Session
from sortiewright.commands.run_verbs import obey

POLL = 0.2
"""Seconds between looks at what other terminals have done."""


def plain_run(session: Session, lines: TextIO, tick: Callable[[], None]) -> None:
    """Read commands and print what happens, until there is no more to read or the crew quits."""
    incoming: queue.Queue[str | None] = queue.Queue()
    threading.Thread(target=_read, args=(lines, incoming), daemon=True).start()
    _print(session)
    while not session.is_over:
        try:
            line = incoming.get(timeout=POLL)
        except queue.Empty:
            session.refresh()
            tick()
        else:
            if line is None:
                break
            session.refresh()
            if line.strip():
                obey(session, line)
        _print(session)


def _read(lines: TextIO, incoming: queue.Queue[str | None]) -> None:
    try:
        for line in lines:
            incoming.put(line)
    except (OSError, ValueError):  # closed while we waited
        pass
    incoming.put(None)


def _print(session: Session) -> None:
    for line in session.fetch():
        print(line)
    sys.stdout.flush()
