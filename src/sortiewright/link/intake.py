"""From a datagram to values: decoded, checked, on a clock that only goes forward, and counted."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, TypeAlias

from sortiewright.link.channel_values import AS_IT_IS, CLOCK, Factor, Value, checked
from sortiewright.link.counts import Counts, Refused
from sortiewright.link.entity_channels import entity_channels, hour_fraction
from sortiewright.link.entity_state import EntityState, looks_like_dis, read_entity_state
from sortiewright.link.feed_clock import FeedClock, SequenceWatch
from sortiewright.link.messages import LONGEST, Hello, Sample, read_message
from sortiewright.pack import CHANNELS

Sender: TypeAlias = Any
"""Where a datagram came from; compared only."""
Entity: TypeAlias = tuple[int, int, int]

MOST_A_SECOND = 4000  # datagrams that are looked at: 60 Hz, tens of times over
SILENT = 2.0  # s after which another sender may take over
MOST_HELLOS = 8
IN_SI: Mapping[str, Factor] = {}


@dataclass(frozen=True, slots=True)
class Update:
    """Values of one moment. ``time`` is s since the feed began; ``arrived`` on our steady clock."""

    time: float
    arrived: float
    values: Mapping[str, Value]
    begins_anew: bool = False
    """Whether the sender's clock or numbering had begun again: what was known before is of another run."""


@dataclass
class Intake:
    """Takes datagrams one at a time; keeps a bounded amount whatever comes.

    One sender is listened to at a time. Another takes over once it has been silent for two seconds. Of a DIS
    exercise one entity is followed: ``entity``, or the first that comes.
    """

    entity: Entity | None = None
    most_a_second: int = MOST_A_SECOND
    geoid_height: float = 0.0
    counts: Counts = field(default_factory=Counts)
    hellos: OrderedDict[str | int, Mapping[str, Factor]] = field(default_factory=OrderedDict[Any, Any])
    sender_name: str = ""
    marking: str = ""
    _sender: Sender = None
    _heard: float = -1e9
    _allowance: float = 0.0
    _filled: float | None = None
    _clock: FeedClock = field(default_factory=FeedClock)
    _sequence: SequenceWatch = field(default_factory=SequenceWatch)
    _appears: bool = False

    def take(self, datagram: bytes, sender: Sender, now: float) -> Update | None:
        """Return what a datagram adds, or None; it is counted either way. ``now`` s on a steady clock."""
        self.counts.received += 1
        self.counts.received_bytes += len(datagram)
        try:
            self._let_in(datagram, now)
            update = self._read(datagram, sender, now)
        except Refused as refused:
            self.counts.refuse(refused.cause, refused.said)
            return None
        self.counts.accepted += 1
        self._sender, self._heard = sender, now
        self.counts.missing = self._sequence.missing
        return update

    def _let_in(self, datagram: bytes, now: float) -> None:
        """Refuse what comes too fast, before anything is spent on it."""
        since = 1.0 if self._filled is None else max(now - self._filled, 0.0)
        self._allowance = min(self._allowance + since * self.most_a_second, float(self.most_a_second))
        self._filled = now
        if self._allowance < 1.0:
            raise Refused("flood")
        self._allowance -= 1.0
        if not datagram:
            raise Refused("empty")
        if len(datagram) > LONGEST:
            raise Refused("oversize", f"{len(datagram)} bytes")

    def _read(self, datagram: bytes, sender: Sender, now: float) -> Update | None:
        other = self._sender is not None and sender != self._sender
        if other and now - self._heard <= SILENT:
            raise Refused("other_sender", f"{sender}")
        message = read_entity_state(datagram) if looks_like_dis(datagram) else read_message(datagram)
        if other:
            # What the silent one numbered and named means nothing from here on.
            self._sequence.begin()
            self.hellos.clear()
        if isinstance(message, EntityState):
            return self._of_entity(message, now)
        if isinstance(message, Hello):
            self._greet(message)
            return None
        return self._of_sample(message, now)

    def _greet(self, hello: Hello) -> None:
        self.hellos[hello.key] = hello.units
        self.hellos.move_to_end(hello.key)
        if len(self.hellos) > MOST_HELLOS:
            self.hellos.popitem(last=False)
        self.sender_name = hello.sender

    def _of_sample(self, sample: Sample, now: float) -> Update:
        if sample.units is not None and sample.units not in self.hellos:
            # Its numbers could be in any unit: better none than wrong ones.
            raise Refused("unknown_units", f"u: {sample.units}")
        units = IN_SI if sample.units is None else self.hellos[sample.units]
        order = self._sequence.note(sample.sequence)
        if order == "again":
            raise Refused("duplicate", f"seq {sample.sequence}")
        self.counts.reordered += order == "earlier"
        values: dict[str, Value] = {}
        for name, raw in sample.values.items():
            self._keep(values, name, raw, units)
        return self._update(sample.time, now, values, begins_anew=order == "anew")

    def _keep(self, values: dict[str, Value], name: str, raw: Any, units: Mapping[str, Factor]) -> None:
        channel = CHANNELS.get(name)
        if channel is None or name == CLOCK:
            self.counts.refuse_value("unknown_channel", name)
            return
        value, cause = checked(channel, raw, units.get(name, AS_IT_IS))
        if cause is not None:
            self.counts.refuse_value(cause, f"{name}: {raw!r:.40}")
            return
        self.counts.values += 1
        values[name] = value

    def _of_entity(self, state: EntityState, now: float) -> Update:
        if self.entity is None:
            self.entity = state.entity
        if state.entity != self.entity:
            raise Refused("dis_other_entity", ":".join(map(str, state.entity)))
        self._appears = self._appears or state.appearance != 0
        values = entity_channels(state, geoid_height=self.geoid_height, appearance=self._appears)
        self.marking = state.marking
        self.counts.values += len(values)
        return self._update(self._clock.of_hour(hour_fraction(state), now), now, values)

    def _update(
        self, sent: float, now: float, values: dict[str, Value], *, begins_anew: bool = False
    ) -> Update:
        time, jumped = self._clock.advance(sent, now, begins_anew=begins_anew)
        self.counts.restarts += jumped
        return Update(time, now, values, jumped)
