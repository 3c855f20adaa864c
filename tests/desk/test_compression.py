"""Text crosses the air compressed, for whom it may; streams and pages with a secret go as they are."""

import gzip
import re

import pytest
from hostile_requests import routes_of
from starlette.applications import Starlette
from starlette.responses import PlainTextResponse, Response, StreamingResponse
from starlette.routing import Route
from starlette.testclient import TestClient

from sortiewright.desk.compression import Compressed

LONG = "Thistle, cleared for takeoff. " * 200


async def words(request):
    return PlainTextResponse(LONG, headers={"Cache-Control": "public, immutable"})


async def picture(request):
    return Response(LONG.encode(), media_type="image/png")


async def short(request):
    return PlainTextResponse("Thistle")


async def stream(request):
    async def said():
        yield f"data: {LONG}\n\n"
        yield "data: and more\n\n"

    return StreamingResponse(said(), media_type="text/event-stream")


ROUTES = {"/words": words, "/picture": picture, "/short": short, "/stream": stream, "/crew": words}


@pytest.fixture
def client():
    return TestClient(Compressed(Starlette(routes=[Route(path, made) for path, made in ROUTES.items()])))


def raw(client, path, takes="gzip, br"):
    """Return an answer's headers and its bytes as they were sent."""
    with client.stream("GET", path, headers={"accept-encoding": takes}) as answer:
        return answer.headers, b"".join(answer.iter_raw())


def test_text_is_sent_as_a_gzip_that_others_unpack(client):
    for _ in range(2):  # the second time it is one that was kept
        headers, body = raw(client, "/words")

        assert headers["content-encoding"] == "gzip"
        assert headers["vary"] == "Accept-Encoding"
        assert int(headers["content-length"]) == len(body) < len(LONG) / 10
        assert gzip.decompress(body).decode() == LONG


# RFC 9110, section 12.5.3: a weight of 0 means "not acceptable".
@pytest.mark.parametrize(
    ("takes", "comes"),
    [
        ("gzip", True),
        ("br, GZIP;q=0.5", True),
        ("gzip;q=1.0", True),
        ("gzip;q=0", False),
        ("gzip; q=0.000, br", False),
        ("identity", False),
        ("", False),
        ("not-gzip", False),
    ],
)
def test_who_does_not_take_a_gzip_gets_none(client, takes, comes):
    headers, body = raw(client, "/words", takes)

    assert ("content-encoding" in headers) == comes
    assert comes or body.decode() == LONG


@pytest.mark.parametrize("path", ["/picture", "/short", "/stream", "/crew"])
def test_pictures_little_texts_streams_and_the_page_with_the_join_code_go_as_they_are(client, path):
    headers, body = raw(client, path)

    assert "content-encoding" not in headers
    assert LONG.encode() in body or path == "/short"


# Whoever hears how long an answer is can tell what is in it beside his own words (BREACH, 2013).
def test_the_desk_compresses_its_pages_but_none_with_the_join_code(owner):
    code = owner.app.state.desk.code.code
    packed = set()
    for path, methods in routes_of(owner.app):
        # Cards are pressed, which takes a while; a stream has no end.
        if "GET" in methods and not re.search(r"[{]|/cards|/events|/enter", path):
            answer = owner.get(path)
            if "content-encoding" in answer.headers:
                packed.add(path)
                assert code not in re.sub(r"<[^>]*>|\s", "", answer.text), path
                assert code not in answer.text, path

    assert {"/prepare", "/numbers", "/debrief"} <= packed
    assert not packed & {"/crew", "/join", "/run"}
