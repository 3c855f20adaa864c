"""What all tests share: where the project lies, and how hypothesis searches."""

import os
from pathlib import Path

import pytest
from hypothesis import settings
from read_once import parse_shipped_files_once

# No deadline: how long one example takes says more about the machine than about the code. In CI the same
# examples every time, so that a red run is about the change; on a desk new ones, so that they find more.
settings.register_profile("desk", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "desk")
parse_shipped_files_once()


@pytest.fixture(scope="session")
def project_root() -> Path:
    """Return the folder that holds pyproject.toml."""
    return Path(__file__).resolve().parents[1]
