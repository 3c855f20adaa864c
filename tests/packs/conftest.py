"""The scripts in tools/, loaded as modules."""

from __future__ import annotations

import importlib
import sys
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import pytest

TOOLS = Path(__file__).resolve().parents[2] / "tools"


@pytest.fixture(scope="session")
def tool() -> Callable[[str], ModuleType]:
    """Return the script of a name; scripts import one another as they do when they are run."""
    if str(TOOLS) not in sys.path:
        sys.path.append(str(TOOLS))
    return importlib.import_module
