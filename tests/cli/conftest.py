"""Running commands inside the test's process, in an empty folder, as a pipe of 80 columns would see them."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from sortiewright.cli import run

CHECKS = Path(__file__).parents[1] / "data" / "external_checks"


class Ran(NamedTuple):
    """What a command left behind."""

    code: int
    out: str
    err: str

    @property
    def json(self):
        """What stdout holds, read as JSON."""
        return json.loads(self.out)


@pytest.fixture
def command(capsys, monkeypatch, tmp_path) -> Callable[..., Ran]:
    """Return a function that runs one command line and returns its exit code and output."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("FORCE_COLOR", raising=False)

    def ran(*arguments: str) -> Ran:
        capsys.readouterr()
        code = run(arguments)
        return Ran(code, *capsys.readouterr())

    return ran


@pytest.fixture(scope="session")
def checks() -> dict[str, dict]:
    """Return the external checks by id; the files name the source of each."""
    return {
        one["id"]: one
        for path in CHECKS.glob("group_*.json")
        for one in json.loads(path.read_text(encoding="utf-8"))["checks"]
    }
