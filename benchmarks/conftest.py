"""Benchmarks share the test support modules, and print their ratios at the end of a run."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

RATIOS: list[str] = []


@pytest.fixture
def report_ratio() -> Any:
    """Return a function that notes a line for the end of the run."""
    return RATIOS.append


def pytest_terminal_summary(terminalreporter: Any) -> None:
    for line in RATIOS:
        terminalreporter.write_line(line)


@pytest.fixture
def demo_sortie() -> Path:
    from sortiewright.sortie import demo_sortie_path

    return demo_sortie_path()
