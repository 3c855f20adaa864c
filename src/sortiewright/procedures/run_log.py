"""The log of a crew run: one file to which events are added, each on the disk before it is acknowledged.

The file is an SQLite database with a rollback journal and ``synchronous = EXTRA``: a commit returns when
the pages, the journal and the folder have been flushed. A write-ahead log would let readers and writers
overlap, but at the pace of a crew nobody waits, and then the run would not be one file: its last events lie
in a second one, which a copy of the first leaves behind, and which a network folder cannot share.

Each row carries a SHA-256 over the row before it and itself, so that a damaged row is found wherever it lies,
and everything before it can be trusted.
"""

from __future__ import annotations

import hashlib
import sqlite3
import struct
from collections.abc import Generator, Iterable
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType

from sortiewright.pack import InputError, Problem
from sortiewright.procedures.events import Event, event_from_text, event_to_text

APPLICATION_ID = 0x53575231  # "SWR1" where SQLite keeps whose file it is (offset 68 of its header)
VERSION = 1
PATIENCE = 5.0
"""Seconds to wait for another program that is writing."""
_MAGIC = b"SQLite format 3\x00"
_FIRST = hashlib.sha256(b"sortiewright crew run").hexdigest()
_TABLE = """
CREATE TABLE events (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    text TEXT NOT NULL,
    chain TEXT NOT NULL
)
"""
_UNREADABLE = (sqlite3.Error, ValueError, OverflowError, RecursionError, MemoryError)


class DamagedLog(InputError):
    """A log holds something that no run wrote. ``events`` are those before it; they can be trusted."""

    def __init__(self, problem: Problem, events: tuple[Event, ...]) -> None:
        self.events = events
        super().__init__([problem])


class OutOfTurn(ValueError):
    """An event was appended whose number is not the next: another device was quicker."""


@dataclass(frozen=True, slots=True)
class Recovery:
    """What was saved from a damaged log, where it is now, and what is the matter with the old one."""

    path: Path
    events: tuple[Event, ...]
    damage: str


class RunLog:
    """An open log. Several processes may have one file open and append to it; each waits for its turn."""

    def __init__(self, path: Path, connection: sqlite3.Connection, events: Iterable[Event]) -> None:
        self.path = path
        self._connection = connection
        self._chain = _chain_of(events)
        self._seen = self._data_version()

    @classmethod
    def create(cls, path: Path, *, patience: float = PATIENCE) -> RunLog:
        """Return a new log; ``InputError`` if something is there already, or the place cannot be written."""
        with _faults_of(path):
            if path.exists() and path.stat().st_size > 0:
                raise InputError(
                    [_problem(path, "is there already", "Name another file, or leave it to be taken up")]
                )
            connection = sqlite3.connect(path, timeout=patience, isolation_level=None)
            try:
                _make_durable(connection)
                with _transaction(connection):
                    if not _has_events(connection):  # unless another process came between
                        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
                        connection.execute(f"PRAGMA user_version = {VERSION}")
                        connection.execute(_TABLE)
                events = _readable(connection)[0]
            except BaseException:
                connection.close()
                raise
        return cls(path, connection, events)

    @classmethod
    def open(cls, path: Path, *, patience: float = PATIENCE) -> RunLog:
        """Return the log in a file, every row checked.

        Raises ``DamagedLog`` with what can be trusted, or ``InputError`` where the file is locked, is no log,
        or was written by a newer version.
        """
        with _faults_of(path):
            _check_header(path)
            connection = sqlite3.connect(path, timeout=patience, isolation_level=None)
            try:
                events, fault = _readable(connection)
                if fault:
                    raise DamagedLog(_damage(path, events, fault), events)
            except BaseException:
                connection.close()
                raise
        return cls(path, connection, events)

    def events(self, after: int = 0) -> tuple[Event, ...]:
        """Return the events behind a number, in order; ``DamagedLog`` if one is not as it was written."""
        with _faults_of(self.path):
            return self._events(after)

    def append(self, event: Event) -> None:
        """Add one event; when this returns it is on the disk. ``OutOfTurn`` if its number is not the next."""
        with self.turn():
            self.add(event)

    @contextmanager
    def turn(self) -> Generator[None]:
        """Keep all others from writing; what ``add`` was given is on the disk when this ends."""
        with _faults_of(self.path), _transaction(self._connection):
            yield

    def add(self, event: Event) -> None:
        """Add an event inside ``turn``."""
        row = self._connection.execute("SELECT seq, chain FROM events ORDER BY seq DESC LIMIT 1").fetchone()
        last, chain = row or (0, _FIRST)
        if event.seq != last + 1:
            raise OutOfTurn(f"event {event.seq} cannot follow event {last}")
        text = event_to_text(event)
        values = (event.seq, event.id, text, _linked(chain, text))
        self._connection.execute("INSERT INTO events VALUES (?, ?, ?, ?)", values)

    def has_changed(self) -> bool:
        """Return whether another process has written since the last call."""
        with _faults_of(self.path):
            seen, self._seen = self._seen, self._data_version()
        return seen != self._seen

    def close(self) -> None:
        """Let go of the file."""
        self._connection.close()

    def __enter__(self) -> RunLog:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _events(self, after: int) -> tuple[Event, ...]:
        asked, after = after, min(after, len(self._chain) - 1)
        rows = self._connection.execute(
            "SELECT seq, id, text, chain FROM events WHERE seq > ? ORDER BY seq", (after,)
        ).fetchall()
        chain = self._chain[after]
        events: list[Event] = []
        for row in rows:
            event = _trusted(row, after + len(events) + 1, chain)
            if event is None:
                raise DamagedLog(_damage(self.path, events, "a row is not as it was written"), tuple(events))
            chain = row[3]
            events.append(event)
        self._chain[after + 1 :] = _chain_of(events, self._chain[after])[1:]
        return tuple(event for event in events if event.seq > asked)

    def _data_version(self) -> int:
        return self._connection.execute("PRAGMA data_version").fetchone()[0]


def recover_log(damaged: DamagedLog, to: Path) -> Recovery:
    """Copy what a damaged log still says into a new one; the damaged file stays as it is."""
    with RunLog.create(to) as log, log.turn():
        for event in damaged.events:
            log.add(event)
    return Recovery(to, damaged.events, str(damaged))


def _chain_of(events: Iterable[Event], first: str = _FIRST) -> list[str]:
    chain = [first]
    for event in events:
        chain.append(_linked(chain[-1], event_to_text(event)))
    return chain


def _linked(chain: str, text: str) -> str:
    return hashlib.sha256(f"{chain}\n{text}".encode()).hexdigest()


def _trusted(row: tuple[object, ...], seq: int, chain: str) -> Event | None:
    """Return the event of a row, or None if it is not the one that was written there."""
    number, name, text, link = row
    if number != seq or not isinstance(text, str) or _linked(chain, text) != link:
        return None
    try:
        event = event_from_text(text)
    except _UNREADABLE:
        return None
    return event if (event.seq, event.id) == (seq, name) and event_to_text(event) == text else None


def _readable(connection: sqlite3.Connection) -> tuple[tuple[Event, ...], str]:
    """Return the events up to the first that cannot be trusted, and what is the matter with the rest."""
    events: list[Event] = []
    chain, fault = _FIRST, ""
    try:
        _make_durable(connection)
        for row in connection.execute("SELECT seq, id, text, chain FROM events ORDER BY seq"):
            event = _trusted(row, len(events) + 1, chain)
            if event is None:
                fault = f"event {len(events) + 1} is not as it was written"
                break
            events.append(event)
            chain = row[3]
        if not fault:
            # Rows that a damaged page hides leave no gap in the chain, but the database does not add up.
            fault = _integrity(connection)
    except sqlite3.Error as error:
        if _is_locked(error) or _code(error) == sqlite3.SQLITE_CANTOPEN:
            raise
        fault = str(error)
    except _UNREADABLE:  # SQLite quotes the damaged file, and Python cannot read the quotation
        fault = "the database cannot be read"
    return tuple(events), fault


def _integrity(connection: sqlite3.Connection) -> str:
    found = connection.execute("PRAGMA integrity_check(1)").fetchone()[0]
    return "" if found == "ok" else str(found).strip().splitlines()[-1]


def _has_events(connection: sqlite3.Connection) -> bool:
    query = "SELECT 1 FROM sqlite_master WHERE type = 'table' AND name = 'events'"
    return connection.execute(query).fetchone() is not None


def _check_header(path: Path) -> None:
    """Refuse what is no log before SQLite touches it: opening may change a file."""
    with path.open("rb") as file:
        header = file.read(100)
    if not header:
        raise InputError([_problem(path, "is empty, so it is no log of a crew run")])
    if header[:16] != _MAGIC or len(header) < 100:
        raise InputError([_problem(path, "is no log of a crew run", "Name a file that a run has written")])
    version, owner = struct.unpack(">I", header[60:64])[0], struct.unpack(">I", header[68:72])[0]
    if owner != APPLICATION_ID:
        raise InputError([_problem(path, "is a database of another program, no log of a crew run")])
    if version > VERSION:
        hint = "Read it with that version, or begin another log"
        raise InputError(
            [
                _problem(
                    path, f"was written by a newer version (format {version}; this one reads {VERSION})", hint
                )
            ]
        )


def _make_durable(connection: sqlite3.Connection) -> None:
    connection.execute("PRAGMA synchronous = EXTRA")
    connection.execute("PRAGMA fullfsync = ON")  # macOS: a plain fsync leaves the data in the drive's cache


@contextmanager
def _transaction(connection: sqlite3.Connection) -> Generator[None]:
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


@contextmanager
def _faults_of(path: Path) -> Generator[None]:
    """Turn what SQLite or the system says into a fault of the file, for the person who can mend it."""
    try:
        yield
    except sqlite3.Error as error:
        if _is_locked(error):
            hint = "Close the other program, then try again"
            raise InputError(
                [_problem(path, "is held by another program that does not let go of it", hint)]
            ) from None
        raise InputError([_problem(path, f"cannot be used: {error}")]) from None
    except OSError as error:
        raise InputError([_problem(path, f"cannot be used: {error.strerror or error}")]) from None


def _is_locked(error: sqlite3.Error) -> bool:
    return _code(error) in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)


def _code(error: sqlite3.Error) -> int:
    """Return SQLite's primary result code; 0 where Python itself raised the error."""
    return getattr(error, "sqlite_errorcode", 0) & 0xFF


def _damage(path: Path, events: Iterable[Event], fault: str) -> Problem:
    kept = len(tuple(events))
    words = f"is damaged: {fault}. {kept} event{'' if kept == 1 else 's'} before it can be read"
    return _problem(path, words if kept else f"is damaged: {fault}. No event can be read")


def _problem(path: Path, expected: str, hint: str = "") -> Problem:
    return Problem(path.name, None, "", "", expected, hint)
