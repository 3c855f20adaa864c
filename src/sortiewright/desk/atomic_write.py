"""Writing a file so that it is never half there: beside it first, then in its place in one step."""

from __future__ import annotations

import os
import tempfile
from contextlib import suppress
from pathlib import Path


def write_whole(file: Path, content: bytes) -> None:
    """Put bytes in a file's place; a crash leaves the old file or the new one, whole. Raises ``OSError``."""
    handle, name = tempfile.mkstemp(prefix=f".{file.name}.", suffix=".tmp", dir=file.parent)
    beside = Path(name)
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(content)
            out.flush()
            os.fsync(out.fileno())
        # A temporary file is its owner's alone; what replaces a file is read by whoever read that.
        mode = file.stat().st_mode & 0o777 if file.exists() else 0o644
        with suppress(OSError):
            beside.chmod(mode)
        beside.replace(file)
    except BaseException:
        with suppress(OSError):
            beside.unlink()
        raise
