"""A value of the plan as plain data, with its unit."""

from __future__ import annotations

import math
from typing import Any

from sortiewright.sortie.figures import Kind
from sortiewright.sortie.units import NEVER, NONE_LEFT, System, convert


def quantity(
    value: float | None, kind: Kind, system: System, difference: bool = False
) -> dict[str, Any] | str | None:
    """Return a value with its unit; null where there is none."""
    if value is None or math.isnan(value):
        return None
    if math.isinf(value):
        return NEVER if value > 0.0 else NONE_LEFT
    number, unit = convert(value, kind, system, difference=difference)
    return {"value": number, "unit": unit}
