"""What conditions on a live feed or a recording may speak of."""

from __future__ import annotations

from collections.abc import Iterable

from sortiewright.expressions.value_types import PLAIN, TRUTH, ChoiceType, NumberType, Type
from sortiewright.expressions.vocabulary import Function, Vocabulary
from sortiewright.pack import CHANNELS, Channel


def channel_vocabulary(tanks: Iterable[str] = ()) -> Vocabulary:
    """Return the canonical channels as names, and ``fuel_in('tank')`` for each tank of a pack.

    Compass directions, latitudes and longitudes are plain numbers of degrees, as their names say.
    """
    fuel = Function((ChoiceType(tuple(tanks), "tanks"),), NumberType("kg"))
    return Vocabulary({name: _type(channel) for name, channel in CHANNELS.items()}, {"fuel_in": fuel})


def _type(channel: Channel) -> Type:
    if channel.kind == "truth":
        return TRUTH
    if channel.kind == "choice":
        return ChoiceType(channel.words, f"words of {channel.name}")
    return PLAIN if channel.unit == "deg" else NumberType(channel.unit)
