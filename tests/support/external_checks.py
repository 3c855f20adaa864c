"""Checks from outside the project: tests/data/external_checks, whose files name the source of each value."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import pytest

FOLDER = Path(__file__).parents[1] / "data" / "external_checks"


@cache
def checks(group: str) -> dict:
    """Return the checks of a group by their id."""
    text = (FOLDER / f"group_{group}.json").read_text(encoding="utf-8")
    return {one["id"]: one for one in json.loads(text)["checks"]}


def check(identity: str) -> dict:
    """Return one check, such as ``X-E03``."""
    return checks(identity[2].lower())[identity]


def value(one: dict, name: str, unit: float = 1.0):
    """Return an input in SI, ``unit`` being the SI size of the file's unit."""
    return one["inputs"][name]["value"] * unit


def expected(one: dict, name: str, unit: float = 1.0):
    """Return an expected value in SI with the tolerance its source supports."""
    wanted, tolerance = one["expected"][name]["value"], one["tol"][name]
    if "rel" in tolerance:
        return pytest.approx(wanted * unit, rel=tolerance["rel"], abs=0.0)
    return pytest.approx(wanted * unit, rel=0.0, abs=tolerance["abs"] * unit)
