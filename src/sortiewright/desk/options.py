"""What the desk is started with."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

LOOPBACK = "127.0.0.1"
PORT = 4711
LOOPBACK_NAMES = frozenset({"127.0.0.1", "localhost", "::1"})
DATA_FOLDER = ".desk"
"""What the desk keeps for itself, below the user's folder."""


@dataclass(frozen=True, slots=True)
class Patience:
    """How long the desk waits for those who say little, seconds, and how many connections it keeps."""

    request: float = 10.0
    """For a whole request, from a connection's begin or from the answer before."""
    idle: float = 5.0
    """For the first byte of a further request."""
    pause: float = 20.0
    """Within a body; nobody holds a page's worker by sending half a form."""
    slowest: float = 10_000.0
    """Bytes a second of a body, after one such pause: a tenth of a poor wireless network."""
    stall: float = 60.0
    """For a reader that takes nothing; a device that fell asleep comes back for what it missed."""
    connections: int = 900
    connections_of_one: int = 300
    """From one address: two hundred devices behind one, and pages that are open."""


@dataclass(frozen=True)
class DeskOptions:
    """How one desk is run.

    ``folder`` is where the user's sorties lie and results go; None keeps nothing. ``lan`` lets other devices
    join with a code; ``names`` are this machine's own names and addresses there, and the only ones it answers
    to besides loopback.
    """

    folder: Path | None = None
    port: int = PORT
    lan: bool = False
    names: frozenset[str] = frozenset()
    patience: Patience = Patience()

    @property
    def hosts(self) -> frozenset[str]:
        """Every name that a request may be addressed to."""
        return LOOPBACK_NAMES | self.names if self.lan else LOOPBACK_NAMES

    @property
    def data_folder(self) -> Path | None:
        """Where the desk keeps what must outlive it: the key of its cookies, the logs of runs."""
        return None if self.folder is None else self.folder / DATA_FOLDER
