"""What a DIS entity state says in channels. What it cannot say stays missing: docs/live-feed.md lists it."""

from __future__ import annotations

from collections.abc import Iterator

from sortiewright.link.channel_values import Value
from sortiewright.link.counts import Refused
from sortiewright.link.entity_state import EntityState, Part
from sortiewright.link.geocentric import attitude, geodetic, local_velocity

HOUR_UNITS = 2**31  # of a timestamp (IEEE 1278.1, timestamp)
FARTHEST = 100_000.0  # m from the ellipsoid: no aircraft is higher, no field lower

# Bits of an air platform's appearance (SISO-REF-010, Platforms of the Air Domain).
_CANOPY = 9  # three bits; the values are from memory
_LIGHTS = {12: "landing_light_on", 13: "navigation_lights_on", 14: "anti_collision_lights_on"}
_AFTERBURNER = 16
_FROZEN = 21
_POWER_PLANT = 22
_CANOPIES = {1: 0.0, 2: 0.0, 4: 1.0, 5: 1.0}

# Classes of articulated parts (SISO-REF-010); a position is 0 stowed to 1 out (from memory).
_PARTS = {3072: "gear_position", 3104: "hook_position", 3136: "speedbrake_position"}
_FLAPS = (1056, 1088)
_SLATS = (1536, 1568)
_LEGS = (3584, 3616, 3648)
_POSITION = 1
_TURNING = (3, 4, 7, 8)  # dead reckoning algorithms that carry the body's rates


def hour_fraction(state: EntityState) -> float:
    """Return the seconds past the hour of a PDU's timestamp."""
    return (state.timestamp >> 1) * 3600.0 / HOUR_UNITS


def entity_channels(
    state: EntityState, *, geoid_height: float = 0.0, appearance: bool = True
) -> dict[str, Value]:
    """Return the channels of an entity state, SI.

    ``geoid_height`` is how far mean sea level lies above the ellipsoid there, m. Without ``appearance`` its
    bits are left out: a sender that fills in none says nothing by them.

    Raises ``Refused`` for a place that is not near the earth's surface.
    """
    if max(map(abs, state.location)) > 1e8:
        raise Refused("dis_place", f"{state.location}")
    place = geodetic(state.location)
    if abs(place.height) > FARTHEST:
        raise Refused("dis_place", f"{place.height:.0f} m above the ellipsoid")
    held, moving = attitude(state.euler, place), local_velocity(state.velocity, place)
    channels: dict[str, Value] = {
        "latitude_deg": place.latitude_deg,
        "longitude_deg": place.longitude_deg,
        "altitude": place.height - geoid_height,
        "ground_speed": moving.ground_speed,
        "track_deg": moving.track_deg,
        "vertical_speed": moving.climb,
        "pitch": held.pitch,
        "bank": held.bank,
        "true_heading_deg": held.true_heading_deg,
    }
    if state.algorithm in _TURNING:
        channels |= dict(zip(("roll_rate", "pitch_rate", "yaw_rate"), state.rates, strict=True))
    if appearance:
        channels |= _seen(state.appearance)
    channels |= dict(_moved(state.parts))
    return channels


def _seen(bits: int) -> dict[str, Value]:
    channels: dict[str, Value] = {name: bool(bits >> bit & 1) for bit, name in _LIGHTS.items()}
    channels["afterburner_stage"] = float(bits >> _AFTERBURNER & 1)
    channels["simulation_paused"] = bool(bits >> _FROZEN & 1)
    channels["engine_running"] = bool(bits >> _POWER_PLANT & 1)
    canopy = _CANOPIES.get(bits >> _CANOPY & 7)
    return channels if canopy is None else channels | {"canopy_position": canopy}


def _moved(parts: tuple[Part, ...]) -> Iterator[tuple[str, Value]]:
    """Yield the parts that tell a position as a share of their travel."""
    told = {part.part: part.value for part in parts if part.metric == _POSITION and 0.0 <= part.value <= 1.0}
    for number, name in _PARTS.items():
        if number in told:
            yield name, told[number]
    legs = [told[leg] for leg in _LEGS if leg in told]
    if len(legs) == len(_LEGS) and 3072 not in told:
        yield "gear_position", min(legs)  # down and locked only when every leg is
    for pair, name in ((_FLAPS, "flap_position"), (_SLATS, "slat_position")):
        if values := [told[side] for side in pair if side in told]:
            yield name, sum(values) / len(values)
