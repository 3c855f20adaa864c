"""Factors on a pack's own numbers, by name: what handbook points may correct, and where it stands.

A name is a quantity, and where the pack has several of it the one that is meant: ``thrust.military``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any, cast

from pydantic import BaseModel

from sortiewright.pack.errors import Path
from sortiewright.pack.schema import Pack
from sortiewright.pack.table import Table


@dataclass(frozen=True, slots=True)
class PackFactor:
    """A number, or several that go together, that may be wrong by one factor.

    ``paths`` are the keys it multiplies, from the part on. ``known_to`` is one standard deviation of the
    factor where nothing was measured; ``least`` and ``most`` bound it: beyond, it is another aircraft.
    """

    name: str
    title: str
    paths: tuple[Path, ...]
    known_to: float
    least: float
    most: float

    def value(self, pack: Pack) -> float | None:
        """Return the pack's own number, SI, where it is one and no table."""
        found = value_at(pack, self.paths[0])
        return float(found) if isinstance(found, int | float) else None


def pack_factors(pack: Pack) -> dict[str, PackFactor]:
    """Return every factor that this pack may have, by name; a number that is nought has none.

    What is known without measuring is common practice, no source.
    """
    return {
        factor.name: factor
        for make in (_engine_factors, _air_factors, _wheel_factors, _technique_factors)
        for factor in make(pack)
        if all(_is_scalable(value_at(pack, path)) for path in factor.paths)
    }


def with_factors(pack: Pack, factors: Mapping[str, float]) -> Pack:
    """Return a pack whose numbers are multiplied by these factors; ``KeyError`` for a name it has not."""
    if not factors:
        return pack
    known = pack_factors(pack)
    for name, factor in factors.items():
        for path in known[name].paths:
            pack = cast("Pack", _changed(pack, path, lambda value, by=factor: _times(value, by)))
    return pack


def value_at(record: Any, path: Path) -> Any:
    """Return what stands at a key path of a loaded pack."""
    for key in path:
        record = getattr(record, str(key)) if isinstance(record, BaseModel) else record[key]
    return record


def _engine_factors(pack: Pack) -> list[PackFactor]:
    settings = pack.engine.settings
    flows = tuple(("engine", "settings", name, "fuel_flow") for name in settings)
    return [
        *(
            PackFactor(
                f"thrust.{name}", f"Thrust, {name}", (("engine", "settings", name, "thrust"),), 0.05, 0.6, 1.6
            )
            for name in settings
        ),
        PackFactor("fuel_flow", "Fuel flow, every setting", flows, 0.05, 0.6, 1.6),
    ]


def _air_factors(pack: Pack) -> list[PackFactor]:
    found: list[PackFactor] = []
    for name in pack.aero.configurations:
        at: Path = ("aero", "configurations", name)
        found += [
            PackFactor(f"drag.{name}", f"Drag, {name}", ((*at, "drag"),), 0.1, 0.5, 2.0),
            PackFactor(
                f"maximum_lift.{name}", f"Maximum lift, {name}", ((*at, "maximum_lift"),), 0.05, 0.6, 1.6
            ),
        ]
    return [
        *found,
        PackFactor("gear_drag", "Drag of the gear", (("aero", "gear", "drag"),), 0.3, 0.3, 3.0),
        PackFactor("drag_per_index", "Drag per index", (("aero", "drag_per_index"),), 0.3, 0.25, 3.9),
    ]


def _wheel_factors(pack: Pack) -> list[PackFactor]:
    found = [
        PackFactor("rolling_friction", "Rolling friction", (("wheels", "rolling_friction"),), 0.3, 0.3, 3.0),
        PackFactor("braking_friction", "Braking friction", (("wheels", "braking_friction"),), 0.2, 0.3, 3.0),
    ]
    if pack.wheels.chute is not None:
        path: Path = ("wheels", "chute", "drag_area")
        found.append(PackFactor("chute_drag_area", "Drag area of the chute", (path,), 0.2, 0.3, 3.0))
    return found


def _technique_factors(pack: Pack) -> list[PackFactor]:
    takeoff: Path = ("technique", "takeoff")
    by_mass = pack.technique.takeoff.rotation_speed is not None
    rotation = "rotation_speed" if by_mass else "rotation_speed_over_stall"
    alpha: Path = ("technique", "landing", "on_speed_angle_of_attack")
    return [
        PackFactor("rotation_speed", "Rotation speed", ((*takeoff, rotation),), 0.05, 0.7, 1.4),
        PackFactor("pitch_rate", "Pitch rate in the rotation", ((*takeoff, "pitch_rate"),), 0.3, 0.3, 3.0),
        PackFactor("on_speed_angle_of_attack", "Angle of attack on speed", (alpha,), 0.1, 0.6, 1.6),
    ]


def _is_scalable(value: Any) -> bool:
    return bool(value.values.any()) if isinstance(value, Table) else value is not None and value != 0.0


def _times(value: Any, factor: float) -> Any:
    return replace(value, values=value.values * factor) if isinstance(value, Table) else value * factor


def _changed(record: Any, path: Path, change: Callable[[Any], Any]) -> Any:
    """Return a record with the value at a path changed, and all else shared with the one given."""
    if not path:
        return change(record)
    key, rest = path[0], path[1:]
    if isinstance(record, BaseModel):
        changed = _changed(getattr(record, str(key)), rest, change)
        return record.model_copy(update={str(key): changed})
    return {**record, key: _changed(record[key], rest, change)}
