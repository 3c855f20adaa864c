"""What became of every datagram: nothing that a socket delivered goes uncounted."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import Literal, get_args

Refusal = Literal[
    "empty",
    "oversize",
    "flood",
    "other_sender",
    "not_utf8",
    "not_json",
    "nesting",
    "duplicate_key",
    "not_a_message",
    "bad_time",
    "bad_sequence",
    "bad_unit",
    "unknown_units",
    "duplicate",
    "dis_length",
    "dis_version",
    "dis_other_pdu",
    "dis_other_entity",
    "dis_not_finite",
    "dis_place",
]
"""Why a datagram was not used."""
ValueRefusal = Literal["unknown_channel", "wrong_type", "not_finite", "out_of_range", "unknown_word"]
"""Why one value of a datagram was not used; the others were."""

REFUSALS: dict[str, str] = {
    "empty": "Nothing in it",
    "oversize": "Longer than 8,192 bytes",
    "flood": "More a second than are looked at",
    "other_sender": "From another sender while one was being listened to",
    "not_utf8": "Not UTF-8",
    "not_json": "Not JSON",
    "nesting": "Nested deeper than a message is",
    "duplicate_key": "A key twice",
    "not_a_message": "JSON, but no message of the feed",
    "bad_time": "Time missing or no finite number",
    "bad_sequence": "Sequence number missing or no whole number from 0",
    "bad_unit": "A unit that its channel does not have",
    "unknown_units": "Its list of units has not come",
    "duplicate": "The same sequence number again",
    "dis_length": "DIS, shorter or longer than it says",
    "dis_version": "DIS of another version than 5 to 7",
    "dis_other_pdu": "DIS, but no entity state",
    "dis_other_entity": "DIS, but of another entity",
    "dis_not_finite": "DIS with a number that is not finite",
    "dis_place": "DIS with a place not near the earth's surface",
}
"""Each cause in words."""
VALUE_REFUSALS: dict[str, str] = {
    "unknown_channel": "No channel has the name",
    "wrong_type": "A number, a truth or a word was wanted",
    "not_finite": "Not a finite number",
    "out_of_range": "Beyond any possible value",
    "unknown_word": "Not one of the channel's words",
}

assert REFUSALS.keys() == set(get_args(Refusal))
assert VALUE_REFUSALS.keys() == set(get_args(ValueRefusal))

LONGEST_EXAMPLE = 160


class Refused(Exception):
    """A datagram is not used. ``said`` tells what stood there."""

    def __init__(self, cause: Refusal, said: str = "") -> None:
        super().__init__(cause, said)
        self.cause: Refusal = cause
        self.said = said


@dataclass(slots=True)
class Counts:
    """Running totals. ``received`` is always ``accepted`` and all ``refused`` together."""

    received: int = 0
    received_bytes: int = 0
    accepted: int = 0
    refused: Counter[Refusal] = field(default_factory=Counter[Refusal])
    values: int = 0
    values_refused: Counter[ValueRefusal] = field(default_factory=Counter[ValueRefusal])
    reordered: int = 0
    """Accepted, though a later one had come before."""
    missing: int = 0
    """Sequence numbers that have not come, between the first and the newest."""
    restarts: int = 0
    """Times that the sender's clock or numbering began anew."""
    socket_errors: int = 0
    examples: dict[str, str] = field(default_factory=dict[str, str])
    """By cause: what the first one had, printable and shortened."""

    def refuse(self, cause: Refusal, said: str = "") -> None:
        """Count a datagram that is not used."""
        self.refused[cause] += 1
        self._keep(cause, said)

    def refuse_value(self, cause: ValueRefusal, said: str) -> None:
        """Count a value that is not used."""
        self.values_refused[cause] += 1
        self._keep(cause, said)

    def _keep(self, cause: str, said: str) -> None:
        if said and cause not in self.examples:
            shortened = said if len(said) <= LONGEST_EXAMPLE else f"{said[:LONGEST_EXAMPLE]}..."
            # What arrives may try to steer a terminal.
            self.examples[cause] = "".join(one if one.isprintable() else " " for one in shortened)

    @property
    def adds_up(self) -> bool:
        """Whether every datagram is in one of the totals."""
        return self.received == self.accepted + self.refused.total()


def counts_data(counts: Counts) -> dict[str, object]:
    """Return the totals as JSON has them."""
    return {
        "received": counts.received,
        "received_bytes": counts.received_bytes,
        "accepted": counts.accepted,
        "refused": dict(sorted(counts.refused.items())),
        "values": counts.values,
        "values_refused": dict(sorted(counts.values_refused.items())),
        "reordered": counts.reordered,
        "missing": counts.missing,
        "restarts": counts.restarts,
        "socket_errors": counts.socket_errors,
        "examples": dict(sorted(counts.examples.items())),
    }
