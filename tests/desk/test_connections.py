"""Connections that say little: each ends after a while, and others are answered. Over real sockets."""

import asyncio
import contextlib
import http.client
import socket
import threading
import time
from types import SimpleNamespace

import pytest
from starlette.applications import Starlette
from starlette.responses import PlainTextResponse, StreamingResponse
from starlette.routing import Route

from sortiewright.desk import DeskOptions, free_port
from sortiewright.desk.event_stream import Hub
from sortiewright.desk.options import Patience
from sortiewright.desk.serving import server_of

PATIENCE = Patience(request=0.6, stall=0.3, connections=12, connections_of_one=8)
LONG = 20.0  # s; however busy the machine


@pytest.fixture(scope="module")
def port():
    """Return the port of a small application behind the desk's own server, with little patience."""

    async def hello(request):
        return PlainTextResponse("hello")

    async def much(request):
        return PlainTextResponse("x" * 20_000_000)

    async def slow(request):
        async def said():
            for _ in range(1000):
                yield b"and so on"
                await asyncio.sleep(0.1)

        return StreamingResponse(said())

    app = Starlette(routes=[Route("/", hello), Route("/much", much), Route("/slow", slow)])
    app.state.desk = SimpleNamespace(hub=Hub(), sessions=SimpleNamespace(new_token=str))
    port = free_port(8711)
    ready = threading.Event()
    server = server_of(app, DeskOptions(port=port, patience=PATIENCE), lambda serving: ready.set())
    thread = threading.Thread(target=server.run)
    thread.start()
    assert ready.wait(LONG)
    yield port
    server.should_exit = True
    thread.join(LONG)


def connected(port):
    made = socket.create_connection(("127.0.0.1", port), LONG)
    made.settimeout(LONG)
    return made


def ended(one):
    """Read until a connection ends, and return what was said; TimeoutError if it does not."""
    said = b""
    try:
        while part := one.recv(65_536):
            said += part
    except ConnectionError:  # it was cut off
        pass
    one.close()
    return said


def is_answered(port):
    """Return whether somebody else is answered; a busy machine may lose patience with them, too."""
    end = time.monotonic() + LONG
    while time.monotonic() < end:
        asking = http.client.HTTPConnection("127.0.0.1", port, timeout=LONG)
        with contextlib.suppress(OSError, http.client.HTTPException), contextlib.closing(asking):
            asking.request("GET", "/")
            if asking.getresponse().read() == b"hello":
                return True
        time.sleep(0.02)
    return False


def test_a_connection_that_says_nothing_ends(port):
    assert ended(connected(port)) == b""
    assert is_answered(port)


def dripped(one, text):
    """Say a sign now and then, until nobody listens any more; return how many were said."""
    with one:
        for count, sign in enumerate(text):
            try:
                one.send(bytes([sign]))
            except ConnectionError:
                return count
            time.sleep(0.02)
    raise AssertionError("somebody listened to all of it")


# Known as slow headers: a header line now and then keeps a server waiting that counts from the last byte.
def test_a_request_that_drips_in_is_not_heard_to_its_end(port):
    assert dripped(connected(port), b"GET / HTTP/1.1\r\nHost: x\r\nX: " + b"a" * 1000) > 0
    assert is_answered(port)


def test_what_drips_in_after_an_answer_keeps_nothing_open(port):
    after = connected(port)
    after.sendall(b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 5000\r\n\r\n")

    assert b"405" in after.recv(65_536)
    assert dripped(after, b"b" * 1000) > 0


def test_who_asks_and_does_not_listen_is_left(port):
    deaf = socket.socket()
    deaf.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
    deaf.connect(("127.0.0.1", port))
    deaf.settimeout(LONG)
    deaf.sendall(b"GET /much HTTP/1.1\r\nHost: x\r\n\r\n")
    time.sleep(1.0)

    assert len(ended(deaf)) < 20_000_000
    assert is_answered(port)


def test_those_who_say_nothing_make_room_for_who_asks(port):
    held = [connected(port) for _ in range(5 * PATIENCE.connections)]

    assert is_answered(port)
    for one in held:
        one.close()


def test_one_address_is_answered_no_more_than_its_share_at_once(port):
    listening = [connected(port) for _ in range(PATIENCE.connections_of_one)]
    for one in listening:
        one.sendall(b"GET /slow HTTP/1.1\r\nHost: x\r\n\r\n")
        assert one.recv(65_536).startswith(b"HTTP/1.1 200")  # and more to come
    refused = ended(connected(port))
    for one in listening:
        one.close()

    assert refused.startswith(b"HTTP/1.1 503 ")
    head, _, body = refused.partition(b"\r\n\r\n")
    assert f"Content-Length: {len(body)}".encode() in head
    assert body.endswith(b"Close some.")
    assert is_answered(port)


def test_a_connection_may_ask_again_and_again(port):
    asking = http.client.HTTPConnection("127.0.0.1", port, timeout=LONG)
    for _ in range(5):
        asking.request("GET", "/")
        assert asking.getresponse().read() == b"hello"
    asking.close()
