"""A page whose commands are run: what each prints must stand below it.

``python tests/support/guide_page.py docs/make-a-pack.md`` writes the real output into the page.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import shlex
import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from sortiewright.cli import run

ROOT = Path(__file__).resolve().parents[2]
POINTS = ROOT / "tests" / "data" / "handbook_points" / "whinchat.csv"
BLOCK = re.compile(r"^```(\w+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


def blocks(text: str, run_one) -> Iterator[tuple[str, str]]:
    """Each console block as it stands and as it should; files that the page shows are written on the way."""
    shutil.copy(POINTS, "points.csv")
    for kind, body in BLOCK.findall(text):
        name = re.match(r"# (\w+/[\w.]+)\n", body)
        if kind == "yaml" and name:
            Path(name[1]).write_text(body, encoding="utf-8")
        elif kind == "console":
            said = []
            for line in body.splitlines():
                if line.startswith("$ sortiewright "):
                    said += [line, *run_one(shlex.split(line)[2:]).splitlines()]
            yield body, "\n".join(said) + "\n"


def printed(arguments: list[str]) -> str:
    """What a command prints, remarks last."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        run(arguments)
    return out.getvalue() + err.getvalue()


def main() -> None:
    """Write the output of every command into the page."""
    page = Path(sys.argv[1]).resolve()
    text = page.read_text(encoding="utf-8")
    os.environ["COLUMNS"] = "80"
    with tempfile.TemporaryDirectory() as folder, contextlib.chdir(folder):
        for old, new in blocks(text, printed):
            text = text.replace(f"```console\n{old}```", f"```console\n{new}```", 1)
    page.write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
