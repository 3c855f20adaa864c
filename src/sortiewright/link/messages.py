"""The feed's messages as JSON: one object a datagram, read with suspicion and written in pieces that fit.

A sample is ``{"t": 12.35, "seq": 741, "v": {"pitch": 0.131}}``; with ``"u": 1`` its numbers are in the units
of the hello ``{"hello": 1, "units": {"calibrated_airspeed": "kt"}}``. JSON after RFC 8259.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, cast

from sortiewright.link.channel_values import CLOCK, Factor, UnknownUnit, Value, unit_of
from sortiewright.link.counts import Refused

LONGEST = 8192  # bytes that are looked at
FITS = 1400  # bytes that go through an Ethernet frame with room for tunnels (RFC 8085, section 3.2)
MOST_OPENED = 16  # brackets of one kind; a message opens two
LATEST = 1e12  # s: a clock beyond it is damage
GREATEST_SEQUENCE = 2**53  # up to which every JSON library counts exactly (RFC 8259, section 6)
LONGEST_NAME = 64

_SAMPLE_KEYS = {"t", "seq", "v", "u"}


@dataclass(frozen=True, slots=True)
class Hello:
    """A sender says which units its samples are in."""

    key: str | int
    units: Mapping[str, Factor]
    sender: str = ""


@dataclass(frozen=True, slots=True)
class Sample:
    """Values of one moment, as they came. ``time`` s on the sender's clock."""

    time: float
    sequence: int
    values: Mapping[str, Any]
    units: str | int | None = None
    """Key of the hello in whose units the numbers are; None: SI."""


def read_message(datagram: bytes) -> Hello | Sample:
    """Return what a datagram says. Raises ``Refused``, and nothing else whatever the bytes."""
    if len(datagram) > LONGEST:
        raise Refused("oversize", f"{len(datagram)} bytes")
    if max(datagram.count(b"{"), datagram.count(b"[")) > MOST_OPENED:
        raise Refused("nesting")
    try:
        text = datagram.decode("utf-8")
    except UnicodeDecodeError as error:
        raise Refused("not_utf8", str(error)) from None
    if not text.strip():
        raise Refused("empty")
    try:
        data: Any = json.loads(text, object_pairs_hook=_object)
    except (ValueError, RecursionError) as error:  # also of a number with thousands of digits
        raise Refused("not_json", str(error)) from None
    if not isinstance(data, dict):
        raise Refused("not_a_message", text)
    found = cast("dict[str, Any]", data)
    return _hello(found) if "hello" in found else _sample(found, text)


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) != len(pairs):
        names = [name for name, _ in pairs]
        raise Refused("duplicate_key", next(name for name in names if names.count(name) > 1))
    return made


def _hello(data: dict[str, Any]) -> Hello:
    key, raw, sender = data["hello"], data.get("units", {}), data.get("sender", "")
    if not _is_key(key) or not isinstance(raw, dict) or not isinstance(sender, str):
        raise Refused("not_a_message", "hello, units or sender of another kind")
    units: dict[str, Factor] = {}
    for channel, unit in cast("dict[str, Any]", raw).items():
        if len(channel) > LONGEST_NAME or not isinstance(unit, str) or len(unit) > LONGEST_NAME:
            raise Refused("bad_unit", f"{channel}: {unit}")
        try:
            units[channel] = unit_of(channel, unit)
        except UnknownUnit as error:
            raise Refused("bad_unit", str(error)) from None
    return Hello(key, units, sender)


def _sample(data: dict[str, Any], text: str) -> Sample:
    if unknown := data.keys() - _SAMPLE_KEYS:
        raise Refused("not_a_message", f"keys {', '.join(sorted(unknown))}")
    if not isinstance(data.get("v"), dict):
        raise Refused("not_a_message", text)
    if (units := data.get("u")) is not None and not _is_key(units):
        raise Refused("not_a_message", "u of another kind")
    return Sample(_time(data.get("t")), _sequence(data.get("seq")), data["v"], units)


def _is_key(raw: Any) -> bool:
    if isinstance(raw, str):
        return len(raw) <= LONGEST_NAME
    return isinstance(raw, int) and not isinstance(raw, bool) and abs(raw) <= GREATEST_SEQUENCE


def _time(raw: Any) -> float:
    # Compared as it came: an integer of hundreds of digits cannot become a float.
    if isinstance(raw, bool) or not isinstance(raw, int | float) or not -LATEST <= raw <= LATEST:
        raise Refused("bad_time", str(raw)[:LONGEST_NAME])
    return float(raw)


def _sequence(raw: Any) -> int:
    if isinstance(raw, bool) or not isinstance(raw, int) or not 0 <= raw <= GREATEST_SEQUENCE:
        raise Refused("bad_sequence", str(raw)[:LONGEST_NAME])
    return raw


def hello_text(key: str | int, units: Mapping[str, str], sender: str = "") -> bytes:
    """Return a hello as a datagram."""
    return _compact({"hello": key, "sender": sender, "units": dict(units)})


def sample_texts(time: float, sequence: int, values: Mapping[str, Value]) -> Iterator[bytes]:
    """Yield the values of one moment as datagrams that fit, numbered from ``sequence`` on; SI.

    Floats keep every digit; one that is not finite is sent as null, because JSON has no word for it.
    """
    pieces = [_piece(name, value) for name, value in values.items() if name != CLOCK]
    head = f'{{"t":{time!r},"seq":'
    room = FITS - len(head) - 24 - len(',"v":{}}\n')
    held: list[str] = []
    length = 0
    for piece in pieces:
        if held and length + len(piece) + 1 > room:
            yield _joined(head, sequence, held)
            sequence, held, length = sequence + 1, [], 0
        held.append(piece)
        length += len(piece) + 1
    yield _joined(head, sequence, held)


def _joined(head: str, sequence: int, pieces: list[str]) -> bytes:
    return f'{head}{sequence},"v":{{{",".join(pieces)}}}}}\n'.encode("ascii")


def _piece(name: str, value: Value) -> str:
    missing = isinstance(value, float) and not math.isfinite(value)
    return f"{json.dumps(name)}:{json.dumps(None if missing else value)}"


def _compact(data: dict[str, Any]) -> bytes:
    return json.dumps(data, separators=(",", ":")).encode("ascii") + b"\n"
