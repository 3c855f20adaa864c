"""How often somebody may ask: a bucket of tokens for each client, refilled at an even rate.

The token bucket is the one of RFC 2697 with a single rate; a client that waits gets its tokens back.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass


@dataclass
class Bucket:
    """What one client has left, and when that was."""

    tokens: float
    at: float


class Rates:
    """Token buckets by client.

    ``rate`` is tokens a second, ``burst`` how many a bucket holds. ``most`` bounds the memory: the clients
    seen longest ago are forgotten first.
    """

    def __init__(
        self, rate: float, burst: float, *, most: int = 4096, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self.rate, self.burst, self.most, self._clock = rate, burst, most, clock
        self._buckets: dict[str, Bucket] = {}

    def take(self, client: str, tokens: float = 1.0) -> float:
        """Take tokens and return 0, or take none and return the seconds to wait for them."""
        bucket = self._refilled(client)
        if bucket.tokens >= tokens:
            bucket.tokens -= tokens
            return 0.0
        return (tokens - bucket.tokens) / self.rate

    def wait(self, client: str) -> float:
        """Return the seconds until the next token, 0 if there is one; nothing is taken."""
        return max(0.0, (1.0 - self._refilled(client).tokens) / self.rate)

    def _refilled(self, client: str) -> Bucket:
        now = self._clock()
        bucket = self._buckets.pop(client, None) or Bucket(self.burst, now)
        bucket.tokens = min(self.burst, bucket.tokens + (now - bucket.at) * self.rate)
        bucket.at = now
        self._buckets[client] = bucket  # last in the order of insertion: the most recent
        while len(self._buckets) > self.most:
            del self._buckets[next(iter(self._buckets))]
        return bucket
