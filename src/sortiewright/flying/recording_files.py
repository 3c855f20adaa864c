"""The files of a scripted flight: the recording, which debrief reads as it is, and the truth beside it."""

from __future__ import annotations

import gzip
import json
from pathlib import Path

from sortiewright.flying.flight import FlownFlight
from sortiewright.pack import FileError

ENDINGS = (".csv", ".csv.gz")


def truth_file(out: Path) -> Path:
    """Return where the truth of a recording stands: ``flight.truth.json`` beside ``flight.csv.gz``."""
    return out.with_name(f"{_stem(out)}.truth.json")


def require_recording_file(out: Path, *, replace: bool) -> None:
    """Raise ``FileError`` where a recording cannot be written there, before anything is flown."""
    if not out.name.endswith(ENDINGS) or not _stem(out):
        raise FileError(str(out), "is no name for a recording", "Write flight.csv or flight.csv.gz")
    if out.is_dir():
        raise FileError(str(out), "is a folder")
    for file in (out, truth_file(out)):
        if file.exists() and not replace:
            raise FileError(str(file), "is there already", "Write over it with --replace")


def write_flight(flight: FlownFlight, out: Path) -> tuple[Path, Path]:
    """Write recording and truth, and return their files. The same flight gives the same bytes."""
    out.parent.mkdir(parents=True, exist_ok=True)
    lines = [",".join(flight.names), ",".join(flight.units), *(",".join(row) for row in flight.rows)]
    data = ("\n".join(lines) + "\n").encode()
    if out.name.endswith(".gz"):
        with (
            out.open("wb") as file,
            gzip.GzipFile("", "wb", compresslevel=6, fileobj=file, mtime=0) as packed,
        ):
            packed.write(data)
    else:
        out.write_bytes(data)
    truth = truth_file(out)
    text = json.dumps(flight.truth, indent=1, ensure_ascii=False, allow_nan=False)
    truth.write_text(f"{text}\n", encoding="utf-8")
    return out, truth


def _stem(out: Path) -> str:
    return out.name.removesuffix(".gz").removesuffix(".csv")
