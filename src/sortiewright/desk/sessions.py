"""Who is at the desk: signed cookies, the one-time link of whoever started it, and the code for joining."""

from __future__ import annotations

import hashlib
import hmac
import os
import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal, get_args

from sortiewright.desk.rates import Rates

Seat = Literal["front", "rear", "watcher"]
SEATS: tuple[Seat, ...] = get_args(Seat)

LIFETIME = 14 * 86_400  # s; a crew comes back to a sortie within days
# No letter or digit that can be taken for another when it is read out.
CODE_SIGNS = "ABCDEFGHJKMNPQRTUVWXY346789"
CODE_LENGTH = 6
# A wrong code costs a token: five at once, then one in 12 s; over all clients thirty, then one in 2 s.
# At that rate a search of half the 27^6 codes takes over six years.
WRONG_CODES_OF_ONE = (1 / 12, 5)
WRONG_CODES_OF_ALL = (1 / 2, 30)


@dataclass(frozen=True, slots=True)
class Visitor:
    """Somebody who was let in: which device, in which seat, and whether it started the desk."""

    id: str
    seat: Seat
    owner: bool


def seat_named(name: object) -> Seat | None:
    """Return the seat of that name, None if there is none."""
    for seat in SEATS:
        if seat == name:
            return seat
    return None


class Sessions:
    """Makes and reads the signed text of the session cookie.

    The signature is an HMAC-SHA-256 (RFC 2104) under a key that outlives the server, so a restart asks
    nobody to join again.
    """

    def __init__(self, data_folder: Path | None = None, *, clock: Callable[[], float] = time.time) -> None:
        self._file = None if data_folder is None else data_folder / "key"
        self._clock = clock
        self._key = self._read_key() or self._new_key()
        self._tokens: set[str] = set()

    def new_visitor(self, seat: Seat, *, owner: bool = False) -> Visitor:
        """Return a visitor that was not there before."""
        return Visitor(secrets.token_hex(8), seat, owner)

    def cookie(self, visitor: Visitor) -> str:
        """Return the text of a visitor's cookie."""
        body = f"{visitor.id}.{visitor.seat}.{int(visitor.owner)}.{int(self._clock())}"
        return f"{body}.{self._signature(body)}"

    def visitor(self, cookie: str) -> Visitor | None:
        """Return whose cookie it is; None if it was not made here, was changed or is too old."""
        body, _, signature = cookie.rpartition(".")
        parts = body.split(".")
        if len(parts) != 4 or not hmac.compare_digest(signature.encode(), self._signature(body).encode()):
            return None
        name, seat, owner, made = parts
        if self._clock() - int(made) > LIFETIME:
            return None
        found = seat_named(seat)
        return None if found is None else Visitor(name, found, owner == "1")

    def moved(self, visitor: Visitor, seat: Seat) -> Visitor:
        """Return the visitor in another seat."""
        return replace(visitor, seat=seat)

    def new_token(self) -> str:
        """Return a token that lets the one who started the desk in, once."""
        token = secrets.token_urlsafe(24)
        self._tokens.add(token)
        return token

    def use_token(self, token: str) -> bool:
        """Return whether the token was good; it is not any more."""
        found = next((one for one in self._tokens if hmac.compare_digest(one.encode(), token.encode())), None)
        self._tokens.discard(found or "")
        return found is not None

    def send_all_away(self) -> None:
        """Make every cookie void, those of the owner too."""
        self._key = self._new_key()

    def _signature(self, body: str) -> str:
        return hmac.new(self._key, body.encode(), hashlib.sha256).hexdigest()

    def _read_key(self) -> bytes | None:
        if self._file is None or not self._file.is_file():
            return None
        key = self._file.read_bytes()
        return key if len(key) == 32 else None

    def _new_key(self) -> bytes:
        key = secrets.token_bytes(32)
        if self._file is not None:
            self._file.parent.mkdir(parents=True, exist_ok=True)
            self._file.unlink(missing_ok=True)
            # Only its owner may read it, from the first byte on.
            with os.fdopen(os.open(self._file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
                file.write(key)
        return key


class JoinCode:
    """The code with which further devices join, and how fast wrong ones may be tried."""

    def __init__(self, *, clock: Callable[[], float] = time.monotonic) -> None:
        self.code = self._drawn()
        self._one = Rates(*WRONG_CODES_OF_ONE, clock=clock)
        self._all = Rates(*WRONG_CODES_OF_ALL, clock=clock)

    def renew(self) -> None:
        """Draw another code."""
        self.code = self._drawn()

    def wait(self, client: str) -> float:
        """Return the seconds until this client may try again, 0 if now."""
        return max(self._one.wait(client), self._all.wait(""))

    def matches(self, tried: str, client: str) -> bool:
        """Return whether the code is right; a wrong one counts. Call only when ``wait`` says 0."""
        plain = "".join(sign for sign in tried.upper() if sign.isalnum())
        if hmac.compare_digest(plain.encode(), self.code.encode()):
            return True
        self._one.take(client)
        self._all.take("")
        return False

    @staticmethod
    def _drawn() -> str:
        return "".join(secrets.choice(CODE_SIGNS) for _ in range(CODE_LENGTH))
