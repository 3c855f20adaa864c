"""Write src/sortiewright/pack/key_meanings.csv from docs/pack-format.md: python tools/make_key_meanings.py

What a key means is said once, on that page; a new pack's comments are taken from it.
"""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "pack-format.md"
TABLE = ROOT / "src" / "sortiewright" / "pack" / "key_meanings.csv"
HEAD = ("record", "key", "written_as", "if_left_out", "meaning")


def table() -> str:
    """Return the rows of every table of keys on the page, as CSV."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(HEAD)
    for record, body in re.findall(
        r"^### ([A-Z]\w+)\n(.*?)(?=^##|\Z)", PAGE.read_text(encoding="utf-8"), re.MULTILINE | re.DOTALL
    ):
        for line in body.splitlines():
            if line.startswith("| `"):
                cells = [cell.strip() for cell in line.strip().strip("|").split("|")]
                writer.writerow([record, cells[0].strip("`"), *cells[1:]])
    return stream.getvalue()


if __name__ == "__main__":
    TABLE.write_text(table(), encoding="utf-8", newline="\n")
