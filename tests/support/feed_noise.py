"""Datagrams of every bad kind among good ones, from a seed.

Run as a program it sends 100,000 of them through a real socket and prints what became of them:
``python tests/support/feed_noise.py [count]``.
"""

from __future__ import annotations

import asyncio
import json
import random
import socket
import struct
import sys
from collections.abc import Iterator
from pathlib import Path

FOLDER = Path(__file__).parents[1] / "data" / "link"
STATES = [
    bytes.fromhex(one["bytes"])
    for one in json.loads((FOLDER / "entity_states.json").read_text(encoding="utf-8"))["states"]
]
GOOD_VALUES = '{"pitch":0.1,"calibrated_airspeed":120.5,"canopy_locked":true,"master_arm":"safe"}'


def datagrams(seed: int, count: int) -> Iterator[tuple[str, bytes]]:
    """Yield senders and datagrams, about half of them good."""
    draw = random.Random(seed)
    for number in range(count):
        sender = "good" if draw.random() < 0.97 else "other"
        if draw.random() < 0.5:
            yield sender, good(number)
        else:
            yield sender, draw.choice(KINDS)(draw, number)


def good(number: int) -> bytes:
    return f'{{"t":{number / 60:.4f},"seq":{number},"v":{GOOD_VALUES}}}'.encode()


def values(text: str):
    """Return the maker of a sample with these values as they stand."""
    return lambda draw, n: f'{{"t":{n / 60},"seq":{n},"v":{text}}}'.encode()


def flipped(draw: random.Random, n: int) -> bytes:
    data = bytearray(draw.choice([good(n), draw.choice(STATES)]))
    for _ in range(draw.randrange(1, 8)):
        data[draw.randrange(len(data))] = draw.randrange(256)
    return bytes(data)


def dis(offset: int, form: str, value):
    def make(draw: random.Random, n: int) -> bytes:
        data = bytearray(STATES[0])
        struct.pack_into(form, data, offset, value)
        return bytes(data)

    return make


KINDS = [
    lambda draw, n: b"",
    lambda draw, n: b"   ",
    lambda draw, n: draw.randbytes(draw.randrange(1, 300)),
    lambda draw, n: draw.randbytes(9000),
    lambda draw, n: b"[" * draw.randrange(20, 8000),
    lambda draw, n: b'{"v":' * draw.randrange(20, 1500),
    lambda draw, n: good(n)[: draw.randrange(1, 60)],
    lambda draw, n: good(n) + good(n),
    lambda draw, n: b'{"t": "\xc3\x28", "seq": 1, "v": {}}',
    lambda draw, n: good(n).decode().encode("utf-16"),
    lambda draw, n: good(max(n - draw.randrange(1, 50), 0)),
    lambda draw, n: good(n + draw.randrange(1, 10**9)),
    lambda draw, n: b'{"t": NaN, "seq": 1, "v": {}}',
    lambda draw, n: b'{"t": 1, "seq": 1e3, "v": {}}',
    lambda draw, n: b'{"t": 1, "seq": 1, "seq": 2, "v": {}}',
    lambda draw, n: b'{"t": ' + b"9" * 6000 + b', "seq": 1, "v": {}}',
    lambda draw, n: f'{{"t": 1e11, "seq": {n}, "v": {{}}}}'.encode(),
    lambda draw, n: f'{{"hello": {n}, "units": {{"altitude": "ft"}}}}'.encode(),
    lambda draw, n: b'{"hello": 1, "units": {"altitude": "furlongs per fortnight"}}',
    lambda draw, n: f'{{"t":{n / 60},"seq":{n},"u":"none","v":{{}}}}'.encode(),
    lambda draw, n: b"null",
    lambda draw, n: b'"\\ud800"',
    values('{"pitch": NaN, "bank": -Infinity, "altitude": 1e400}'),
    values('{"pitch": ' + "9" * 400 + "}"),
    values('{"\\u001b[2J": 1, "\\ud800": 2, "__class__": 3, "time": 4}'),
    values('{"pitch": {"a": [1]}, "bank": "0", "canopy_locked": 7, "master_arm": "off"}'),
    values("[" * 8 + "]" * 8),
    flipped,
    lambda draw, n: draw.choice(STATES),
    lambda draw, n: draw.choice(STATES)[: draw.randrange(1, 224)],
    dis(48, ">d", float("nan")),
    dis(48, ">d", 0.0),
    dis(19, ">B", 255),
    dis(2, ">B", 20),
    dis(0, ">B", 3),
]


async def through_a_socket(count: int) -> None:
    """Send that many to a listener of ours over loopback, at a pace that its buffer takes, and print."""
    from sortiewright.link import Intake, counts_data, listen

    intake, port = Intake(most_a_second=10**9), asyncio.get_running_loop().create_future()
    over = asyncio.Event()
    listening = asyncio.create_task(listen(intake, lambda _: None, port=0, ready=port.set_result))
    address = ("127.0.0.1", await port)
    senders = {name: socket.socket(socket.AF_INET, socket.SOCK_DGRAM) for name in ("good", "other")}
    sent = 0
    for sender, datagram in datagrams(0, count):
        senders[sender].sendto(datagram, address)
        sent += 1
        if sent % 10 == 0:
            while intake.counts.received < sent and not listening.done():
                await asyncio.sleep(0)
    over.set()
    await asyncio.sleep(0.2)
    alive = not listening.done()
    listening.cancel()
    print(json.dumps({"sent": sent, "alive": alive, "adds_up": intake.counts.adds_up}))
    print(json.dumps(counts_data(intake.counts), indent=1))


if __name__ == "__main__":
    asyncio.run(through_a_socket(int(sys.argv[1]) if len(sys.argv) > 1 else 100_000))
