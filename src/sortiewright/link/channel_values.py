"""One value of a feed: the unit it came in, and whether it is a value of its channel at all."""

from __future__ import annotations

import math
from functools import cache
from typing import Any, TypeAlias

from sortiewright.link.counts import ValueRefusal
from sortiewright.pack import CHANNELS, COMMON_UNITS, Channel, listed, suggestion, unit_factor

Value: TypeAlias = float | bool | str | None
"""Of a channel: SI, or None where the sender says that it is not known."""
Factor: TypeAlias = tuple[float, float]
"""SI = value * scale + offset."""

GREATEST = 1e9
"""SI size that no channel reaches: beyond it a number is damage, not a measurement."""
CLOCK = "time"
"""The channel that a message carries as its own time."""

AS_IT_IS: Factor = (1.0, 0.0)


class UnknownUnit(ValueError):
    """A unit that a channel does not have; the message is a sentence."""


@cache
def unit_of(channel: str, unit: str) -> Factor:
    """Return how a number in a unit becomes the channel's SI value.

    Only units written out in ``COMMON_UNITS``: text from the network is not handed to a unit library.
    Raises ``UnknownUnit`` for a channel without a unit, and for a unit of something else.
    """
    known = CHANNELS.get(channel)
    if known is None:
        raise UnknownUnit(f'"{channel}" is no channel. {suggestion(channel, CHANNELS)}'.strip())
    if known.kind != "number":
        raise UnknownUnit(f"{channel} has no unit")
    if known.unit == "deg":
        units: dict[str, Factor] = {"deg": AS_IT_IS, "rad": (180.0 / math.pi, 0.0)}
    elif known.unit == "":
        units = {"": AS_IT_IS, "%": (0.01, 0.0), "percent": (0.01, 0.0)}
    else:
        units = {one: unit_factor(one, known.unit) for one in COMMON_UNITS[known.unit]}
    if unit not in units:
        raise UnknownUnit(f'"{unit}" is no unit of {channel}. Write one of: {listed(units)}')
    return units[unit]


def checked(channel: Channel, raw: Any, factor: Factor = AS_IT_IS) -> tuple[Value, ValueRefusal | None]:
    """Return a value as its channel has it, or why it is none.

    Truths may come as true and false or as 1 and 0. None is a value: the sender does not know.
    """
    if raw is None:
        return None, None
    if channel.kind == "choice":
        return _word(channel, raw)
    if channel.kind == "truth":
        return (bool(raw), None) if raw in (0, 1) else (None, "wrong_type")
    if isinstance(raw, bool) or not isinstance(raw, int | float):
        return None, "wrong_type"
    try:
        number = float(raw)
    except OverflowError:  # an integer of hundreds of digits
        return None, "out_of_range"
    if not math.isfinite(number):
        return None, "not_finite"
    number = number * factor[0] + factor[1]
    return (None, "out_of_range") if abs(number) > GREATEST else (number, None)


def _word(channel: Channel, raw: Any) -> tuple[Value, ValueRefusal | None]:
    if not isinstance(raw, str):
        return None, "wrong_type"
    return (raw, None) if raw in channel.words else (None, "unknown_word")
