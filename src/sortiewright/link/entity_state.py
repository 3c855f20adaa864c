"""The entity state PDU of IEEE 1278.1 (DIS, versions 5 to 7), read from its bytes: big-endian."""

from __future__ import annotations

import math
import struct
from dataclasses import dataclass

from sortiewright.link.counts import Refused

ENTITY_STATE = 1  # PDU type
VERSIONS = range(5, 8)  # 5: IEEE 1278.1-1995, 6: 1278.1A-1998, 7: 1278.1-2012

_HEADER = struct.Struct(">4BIH2x")
_BODY = struct.Struct(">3H2B8s8s3f3d3fIB15s3f3fB11sI")
_PART = struct.Struct(">2BHIf4x")
_ARTICULATED = 0  # record type of a variable parameter

LENGTH = _HEADER.size + _BODY.size
assert LENGTH == 144

Vector = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Part:
    """A moving part: its class (3072 the landing gear, ...) and what of it is told (1 its position, ...)."""

    part: int
    metric: int
    value: float


@dataclass(frozen=True, slots=True)
class EntityState:
    """What one PDU says, in its own axes and units: m, m/s, rad; see ``geocentric.py``."""

    version: int
    timestamp: int
    """Units of 2**-31 of an hour in the upper 31 bits; the lowest bit 1: synchronised clocks."""
    entity: tuple[int, int, int]
    """Site, application, entity."""
    force: int
    kind: int
    domain: int
    velocity: Vector
    location: Vector
    euler: Vector
    appearance: int
    algorithm: int
    """Of dead reckoning; 3, 4, 7 and 8 also turn the body, at ``rates``."""
    acceleration: Vector
    rates: Vector
    """rad/s about the body's axes."""
    marking: str
    parts: tuple[Part, ...]


def looks_like_dis(datagram: bytes) -> bool:
    """Return whether the first byte is a DIS version, which no JSON text begins with."""
    return len(datagram) > 0 and datagram[0] < 9


def read_entity_state(datagram: bytes) -> EntityState:
    """Return an entity state from a datagram. Raises ``Refused``, and nothing else whatever the bytes."""
    if len(datagram) < _HEADER.size:
        raise Refused("dis_length", f"{len(datagram)} bytes")
    version, _exercise, kind_of_pdu, _family, timestamp, length = _HEADER.unpack_from(datagram)
    if version not in VERSIONS:
        raise Refused("dis_version", f"version {version}")
    if kind_of_pdu != ENTITY_STATE:
        raise Refused("dis_other_pdu", f"PDU type {kind_of_pdu}")
    if not LENGTH <= length <= len(datagram):
        raise Refused("dis_length", f"{len(datagram)} bytes, {length} said")
    body = _BODY.unpack_from(datagram, _HEADER.size)
    site, application, number, force, count, entity_type, _other = body[:7]
    numbers, (appearance, algorithm, _unused) = body[7:16], body[16:19]
    turning, (_characters, marking, _capabilities) = body[19:25], body[25:]
    if not all(map(math.isfinite, (*numbers, *turning))):
        raise Refused("dis_not_finite")
    if LENGTH + count * _PART.size > length:
        raise Refused("dis_length", f"{count} parameters in {length} bytes")
    return EntityState(
        version,
        timestamp,
        (site, application, number),
        force,
        kind=entity_type[0],
        domain=entity_type[1],
        velocity=numbers[0:3],
        location=numbers[3:6],
        euler=numbers[6:9],
        appearance=appearance,
        algorithm=algorithm,
        acceleration=turning[0:3],
        rates=turning[3:6],
        marking=marking.rstrip(b"\0 ").decode("ascii", errors="replace"),
        parts=_parts(datagram, count),
    )


def _parts(datagram: bytes, count: int) -> tuple[Part, ...]:
    found: list[Part] = []
    for number in range(count):
        record, _change, _attached, kind, value = _PART.unpack_from(datagram, LENGTH + number * _PART.size)
        if record == _ARTICULATED and math.isfinite(value):
            # The metric is in the lowest five bits, the part above them (SISO-REF-010, articulated parts).
            found.append(Part(kind & ~31, kind & 31, value))
    return tuple(found)
