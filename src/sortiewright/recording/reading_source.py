"""The bytes of a recording's file, plain or gzip, and its first part as text. Never the whole of garbage.

Only the first part decides whether a file is worth reading, so that a large file of something else is
refused at once. A gzip that breaks off gives what came before the break, and says so.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from sortiewright.pack import FileError

SAMPLE = 1_000_000
"""Bytes of content from which the layout is told."""
LARGEST_UNPACKED = 6_000_000_000
"""Bytes of a gzip's content beyond which it is refused: 80 hours of 40 channels at 60 Hz."""
MOST_TIMES = 600
"""Times its own size that the content of a gzip may be, once it is long. Four hundred columns at rest, with a
time that moves, come to 340; what is made to fill a disk, to 1,000."""
LONG = 200_000_000  # bytes
_CHUNK = 4_000_000
_GZIP = b"\x1f\x8b"
_PARQUET = b"PAR1"
_UTF16 = (b"\xff\xfe", b"\xfe\xff")


@dataclass(frozen=True)
class Source:
    """A file that can be opened: its first content bytes, and what kind it is."""

    path: Path
    size: int
    sample: bytes
    is_gzip: bool
    is_parquet: bool
    is_wide: bool
    """UTF-16 text."""

    @property
    def is_whole(self) -> bool:
        """Whether the sample is all there is, so that its last line is complete."""
        return len(self.sample) < SAMPLE


def open_source(path: Path) -> Source:
    """Return a file's beginning. Raises ``FileError`` for what cannot be opened, is empty or is binary."""
    name = str(path)
    try:
        if path.is_dir():
            raise FileError(name, "this is a folder, a recording is wanted")
        if path.exists() and not path.is_file():
            raise FileError(name, "this is no file, a recording is wanted")
        size = path.stat().st_size
        with path.open("rb") as file:
            head = file.read(SAMPLE)
    except FileNotFoundError:
        raise FileError(name, "there is no such file") from None
    except PermissionError:
        raise FileError(name, "you may not read this file") from None
    except (OSError, ValueError) as error:  # ValueError: a NUL in the path
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise FileError(name, f"this file cannot be read ({reason})") from None
    if not head:
        raise FileError(name, "this file is empty", "Was the recording stopped before it was written?")
    if head.startswith(_PARQUET):
        return Source(path, size, head, False, True, False)
    is_gzip = head.startswith(_GZIP)
    sample = _unpacked_head(name, head) if is_gzip else head
    is_wide = sample.startswith(_UTF16)
    if not is_wide and b"\0" in sample:
        raise FileError(
            name, "this is a binary file; a CSV table (plain or gzip) or a Parquet file is wanted"
        )
    return Source(path, size, sample, is_gzip, False, is_wide)


def _unpacked_head(name: str, head: bytes) -> bytes:
    try:
        content = zlib.decompressobj(wbits=31).decompress(head, SAMPLE)
    except zlib.error:
        raise FileError(name, "this file begins like a gzip, but it cannot be unpacked") from None
    if not content:
        raise FileError(name, "this gzip holds nothing that can be read", "Was it cut off while copying?")
    return content


def unpacked(source: Source) -> tuple[bytes, str]:
    """Return the content of a gzip, and why it ends early where it does, else an empty text.

    Content that breaks off ends with its last whole line. Raises ``FileError`` for too much content.
    """
    parts: list[bytes] = []
    reason = ""
    try:
        for part in _unpacked_parts(source.path, LARGEST_UNPACKED):
            parts.append(part)  # one by one: those before a break are kept
    except _Damaged as damaged:
        reason = str(damaged)
    content = b"".join(parts)
    return (content[: content.rfind(b"\n") + 1] if reason else content), reason


def check_unpacked(path: Path, most: int) -> None:
    """Unpack a gzip and keep nothing of it; ``FileError`` once it has more than ``most`` bytes of content.

    Any other file, and damage, pass: whoever reads them will say so.
    """
    with path.open("rb") as file:
        if file.read(2) != _GZIP:
            return
    with suppress(_Damaged):
        for _ in _unpacked_parts(path, most):
            pass


class _Damaged(Exception):
    """A gzip ends before its end."""


def _unpacked_parts(path: Path, most: int) -> Iterator[bytes]:
    """Yield the content of a gzip in pieces that fit into memory, whatever it holds.

    Raises ``FileError`` where it is more than ``most``, or so much more than the file that it is made up.
    Raises ``_Damaged`` after the last piece that could be read.
    """
    total = taken = 0
    unpacker = zlib.decompressobj(wbits=31)
    with path.open("rb") as file:
        pending = file.read(_CHUNK)
        while pending:
            try:
                part = unpacker.decompress(pending, _CHUNK)
            except zlib.error as error:
                raise _Damaged(f"the gzip is damaged ({error})") from None
            left = unpacker.unconsumed_tail or unpacker.unused_data
            total, taken = total + len(part), taken + len(pending) - len(left)
            if total > most:
                raise FileError(str(path), f"this gzip unpacks to more than {most / 1e9:g} GB")
            if total > LONG and total > MOST_TIMES * taken:
                raise FileError(
                    str(path),
                    f"this gzip unpacks to more than {MOST_TIMES} times its size; a recording does not",
                )
            yield part
            # What was cut off at the size of a piece comes out of nothing more.
            while len(part) == _CHUNK and not left and (part := unpacker.decompress(b"", _CHUNK)):
                total += len(part)
                yield part
            pending = left or file.read(_CHUNK)
            if unpacker.eof and pending:
                if not pending.startswith(_GZIP):
                    break  # padding after the last member
                unpacker = zlib.decompressobj(wbits=31)
    if not unpacker.eof:
        raise _Damaged("the gzip breaks off before its end")


def decoded_sample(source: Source) -> tuple[str, bool]:
    """Return the sample as text with ``\\n`` line ends, and whether it is UTF-8.

    What is not UTF-8 is taken as Windows' western code page, as older spreadsheets write it.
    """
    sample = source.sample
    if source.is_wide:
        return sample[: len(sample) // 2 * 2].decode("utf-16", errors="replace").replace("\r\n", "\n"), True
    # The cut may fall inside a letter.
    for cut in (0, 1, 2, 3):
        try:
            text = sample[: len(sample) - cut].decode("utf-8-sig")
        except UnicodeDecodeError:
            continue
        return text.replace("\r\n", "\n").replace("\r", "\n"), True
    return sample.decode("cp1252", errors="replace").replace("\r\n", "\n").replace("\r", "\n"), False
