"""Single keys from a terminal, on POSIX and on Windows."""

from __future__ import annotations

import codecs
import os
import sys
import time
from collections import deque
from types import TracebackType
from typing import Any

ESCAPE, ENTER, BACK = "escape", "enter", "back"
_NAMES = {"\x1b": ESCAPE, "\r": ENTER, "\n": ENTER, "\x7f": BACK, "\x08": BACK}
INTERRUPT, END = "\x03", "\x04"


class Keys:
    """Reads one key at a time while it is entered; what is not a key of its own (arrows) is left out."""

    def __init__(self) -> None:
        self._waiting: deque[str] = deque()
        self._decoder = codecs.getincrementaldecoder("utf-8")("replace")
        self._before: Any = None

    def __enter__(self) -> Keys:
        if sys.platform != "win32":
            import termios
            import tty

            self._before = termios.tcgetattr(sys.stdin.fileno())
            tty.setcbreak(sys.stdin.fileno())
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        if sys.platform != "win32" and self._before is not None:
            import termios

            termios.tcsetattr(sys.stdin.fileno(), termios.TCSADRAIN, self._before)

    def read(self, timeout: float) -> str:
        """Return a key, or an empty text when none came in time; ``EOFError`` when there is no more."""
        if not self._waiting:
            self._wait(timeout)
        key = self._waiting.popleft() if self._waiting else ""
        if key == END:
            raise EOFError
        if key == INTERRUPT:
            raise KeyboardInterrupt
        return _NAMES.get(key, key)

    def _wait(self, timeout: float) -> None:
        if sys.platform == "win32":
            self._wait_windows(timeout)
        else:
            self._wait_posix(timeout)

    def _wait_posix(self, timeout: float) -> None:
        import select

        file = sys.stdin.fileno()
        if not select.select([file], [], [], timeout)[0]:
            return
        raw = os.read(file, 1024)
        if not raw:
            raise EOFError
        text = self._decoder.decode(raw)
        # An arrow or function key sends several signs at once, the first of them an escape.
        if text.startswith("\x1b") and len(text) > 1:
            return
        self._waiting.extend(text)

    def _wait_windows(self, timeout: float) -> None:
        if sys.platform == "win32":
            import msvcrt

            end = time.monotonic() + timeout
            while not msvcrt.kbhit():
                if time.monotonic() >= end:
                    return
                time.sleep(0.02)
            key = msvcrt.getwch()
            if key in ("\x00", "\xe0"):
                msvcrt.getwch()
            else:
                self._waiting.append(key)
