"""The bytes of a recording's file, plain or gzip, and its first part as text. Never the whole of garbage.

Only the first part decides whether a file is worth reading, so that a large file of something else is
refused at once. A gzip that breaks off gives what came before the break, and says so.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass
from pathlib import Path

from sortiewright.pack import FileError

SAMPLE = 1_000_000
"""Bytes of content from which the layout is told."""
LARGEST_UNPACKED = 6_000_000_000
"""Bytes of a gzip's content beyond which it is refused: 80 hours of 40 channels at 60 Hz."""
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
    total = 0
    reason = ""
    unpacker = zlib.decompressobj(wbits=31)
    with source.path.open("rb") as file:
        pending = file.read(_CHUNK)
        while pending:
            try:
                part = unpacker.decompress(pending)
            except zlib.error as error:
                reason = f"the gzip is damaged ({error})"
                break
            parts.append(part)
            total += len(part)
            if total > LARGEST_UNPACKED:
                raise FileError(
                    str(source.path), f"this gzip unpacks to more than {LARGEST_UNPACKED / 1e9:g} GB"
                )
            pending = unpacker.unused_data or file.read(_CHUNK)
            if unpacker.eof and pending:
                if not pending.startswith(_GZIP):
                    break  # padding after the last member
                unpacker = zlib.decompressobj(wbits=31)
    if not reason and not unpacker.eof:
        reason = "the gzip breaks off before its end"
    content = b"".join(parts)
    return (content[: content.rfind(b"\n") + 1] if reason else content), reason


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
