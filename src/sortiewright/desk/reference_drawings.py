"""The pack's own drawings as pictures, each drawn once for a pack, its colours and units."""

from __future__ import annotations

import asyncio
import io
from collections import OrderedDict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from sortiewright.desk.state import Preferences
    from sortiewright.pack import LoadedPack

MOST_KEPT = 20
NAMES = ("lift", "drag", "thrust", "fuel_flow", "envelope")
DOTS = 110.0
"""An inch: legible on a phone, and light."""


@dataclass
class Drawings:
    """Pictures that were drawn, at most ``MOST_KEPT``; one is drawn at a time, the machine has other work."""

    _kept: OrderedDict[tuple[object, ...], bytes] = field(
        default_factory=OrderedDict[tuple[object, ...], bytes]
    )
    _lock: asyncio.Lock = field(default_factory=asyncio.Lock)

    async def picture(self, loaded: LoadedPack, name: str, preferences: Preferences) -> bytes:
        """Return a drawing as PNG; KeyError for a name that there is not."""
        if name not in NAMES:
            raise KeyError(name)
        key = (loaded.digest, name, preferences.scheme, preferences.units)
        async with self._lock:
            if key not in self._kept:
                self._kept[key] = await asyncio.to_thread(drawn, loaded, name, preferences)
                while len(self._kept) > MOST_KEPT:
                    self._kept.popitem(last=False)
            return self._kept[key]


def drawn(loaded: LoadedPack, name: str, preferences: Preferences) -> bytes:
    """Return a drawing of a pack as PNG."""
    # Matplotlib takes half a second to import, and most readers never open a chapter with drawings.
    from sortiewright.pack import draw_drag, draw_envelope, draw_fuel_flow, draw_lift, draw_thrust

    pack, scheme, units = loaded.pack, preferences.scheme, preferences.units
    figure: Any
    if name == "lift":
        figure = draw_lift(pack, scheme)
    elif name == "drag":
        figure = draw_drag(pack, scheme)
    elif name == "thrust":
        figure = draw_thrust(pack, scheme, units=units)
    elif name == "fuel_flow":
        figure = draw_fuel_flow(pack, scheme, units=units)
    else:
        figure = draw_envelope(pack, scheme, units=units)
    buffer = io.BytesIO()
    figure.savefig(buffer, format="png", dpi=DOTS, facecolor=figure.get_facecolor())
    return buffer.getvalue()
