"""Every route there is, asked from elsewhere, by a stranger, with paths for names and with too much."""

import asyncio
import gzip
import re
import time

import pytest
from hostile_desk import HOST, ORIGIN, Hostile
from hostile_requests import routes_of
from raw_requests import Asked, Running

from sortiewright.desk import DeskOptions, Shelf, make_app
from sortiewright.desk.options import Patience

FORM = (b"content-type", b"application/x-www-form-urlencoded")
ALSO_OPEN = re.compile(r"/(enter|join|assets/)")
ELSEWHERE = [
    b"evil.example",
    b"127.0.0.1.evil.example:4711",
    b"192.168.1.7:4711",
    b"127.0.0.1@evil.example",
    b"",
]
OTHER_ORIGINS = [b"http://evil.example", b"null", b"http://127.0.0.1:4712", b"https://127.0.0.1:4711", b""]
# OWASP Web Security Testing Guide, "Testing Directory Traversal File Include": the usual disguises of "..".
LEADING_AWAY = [
    b"..%2f..%2f..%2fetc%2fpasswd",
    b"%2e%2e%2fsecret.yaml",
    b"..%5c..%5csecret.yaml",
    b"..%252f..%252fsecret.yaml",
    b"%2fetc%2fpasswd",
    b"..%c0%afsecret.yaml",
    b"secret.yaml%00.html",
    b"....%2f%2fsecret.yaml",
    b"file:%2f%2f%2fetc%2fpasswd",
    b"C:%5cwindows%5cwin.ini",
]


@pytest.fixture(scope="module")
def hostile(tmp_path_factory):
    return Hostile(tmp_path_factory.mktemp("home"))


@pytest.fixture(scope="module")
def running(hostile):
    with Running(hostile.app) as running:
        yield running
    assert running.faults == []


@pytest.fixture(scope="module")
def routes(hostile):
    """Return every route's path with something in its places, and its methods."""
    found = [(re.sub(r"\{[^}]*\}", "1", path).encode(), methods) for path, methods in routes_of(hostile.app)]
    assert len(found) > 60
    return found


def kept(hostile):
    """Return every file of the user and of the desk, with what it holds."""
    return {
        one.relative_to(hostile.home): one.read_bytes() for one in hostile.home.rglob("*") if one.is_file()
    }


# DNS rebinding: a page elsewhere whose name now leads to this machine sends its own name as Host.
@pytest.mark.parametrize("host", ELSEWHERE)
def test_no_route_answers_to_another_name_even_whoever_is_in(hostile, running, routes, host):
    for path, methods in routes:
        origin = (b"origin", b"http://" + host)
        answer = hostile.ask(running, "owner", Asked(methods[0], path), ((b"host", host), origin))
        assert answer.status == 421, path
        assert b"Thistle" not in answer.body


@pytest.mark.parametrize("origin", OTHER_ORIGINS)
def test_no_change_comes_from_another_origin(hostile, running, routes, origin):
    before = kept(hostile)
    for path, methods in routes:
        if methods == ["POST"]:
            answer = hostile.ask(running, "owner", Asked("POST", path), (HOST, (b"origin", origin)))
            assert answer.status == 403, path
    assert kept(hostile) == before


def test_no_route_shows_or_changes_anything_for_a_stranger(hostile, running, routes):
    before = kept(hostile)
    for path, methods in routes:
        for method in methods:
            answer = hostile.ask(
                running, "stranger", Asked(method, path, (FORM,), (b"code=AAAAAA&seat=front",))
            )
            if not ALSO_OPEN.match(path.decode()):
                assert answer.status == 403, path
            assert b"Thistle" not in answer.body
            assert "sortiewright_session" not in answer.header("set-cookie")
    assert kept(hostile) == before


def test_no_place_in_any_path_leads_to_a_file(hostile, running):
    for _ in range(1200):  # until the book is put together every address of it says so
        if hostile.ask(running, "owner", Asked("GET", b"/reference/lists/none")).status == 404:
            break
        time.sleep(0.1)
    for pattern, methods in routes_of(hostile.app):
        places = re.findall(r"\{[^}]*\}", pattern)
        for name in LEADING_AWAY if places else ():
            path = re.sub(r"\{[^}]*\}", name.decode(), pattern).encode()
            answer = hostile.ask(running, "owner", Asked(methods[0], path, (FORM,)))
            # To stop what is not there is done already.
            assert answer.status in (400, 404, 422) or answer.header("location") == "/cards", path
            assert b"root:" not in answer.body
            assert b"somebody else" not in answer.body


def test_no_route_takes_more_than_its_measure_whether_that_is_said_or_not(hostile, running, routes):
    said = (b"content-length", b"700000000")
    pieces = (b"a=" + b"b" * 400_000,) * 3
    for path, methods in routes:
        if methods != ["POST"]:
            continue
        assert hostile.ask(running, "owner", Asked("POST", path, (FORM, said))).status == 413, path
        answer = hostile.ask(running, "rear", Asked("POST", path, (FORM,), pieces))
        # What takes no body does not read it: it may be done, or refused for another reason.
        assert answer.status in (303, 400, 403, 404, 409, 413, 422), path


def test_a_form_in_another_alphabet_is_refused(hostile, running):
    for charset in (b"undefined", b"idna", b"unicode_escape", b"utf-16", b'"utf-7"'):
        kind = b"multipart/form-data; boundary=x; charset=" + charset
        body = b'--x\r\nContent-Disposition: form-data; name="units"\r\n\r\n\\ud800\r\n--x--\r\n'
        assert (
            hostile.ask(
                running, "owner", Asked("POST", b"/units", ((b"content-type", kind),), (body,))
            ).status
            == 415
        )


def sent_slowly(pieces, patience):
    """Return a coroutine that sends a form, each piece after so many seconds, and returns the status."""
    app = make_app(Shelf(), DeskOptions(port=4711, patience=patience))
    sessions = app.state.desk.sessions
    cookie = sessions.cookie(sessions.new_visitor("front", owner=True))
    scope = {
        "type": "http", "method": "POST", "path": "/units", "query_string": b"", "scheme": "http",
        "http_version": "1.1", "root_path": "", "client": ("127.0.0.9", 5), "server": None, "state": {},
        "headers": [HOST, ORIGIN, FORM, (b"cookie", f"sortiewright_session={cookie}".encode())],
    }  # fmt: skip
    sent = []

    async def receive():
        after, piece = next(pieces)
        await asyncio.sleep(after)
        return {"type": "http.request", "body": piece, "more_body": True}

    async def send(message):
        sent.append(message)

    async def asked():
        await app(scope, receive, send)
        return sent[0]["status"]

    return asked()


def test_half_a_form_is_not_waited_for_long(running):
    pieces = iter([(0, b"units="), (30, b"si")])
    started = time.monotonic()

    assert running.run(sent_slowly(pieces, Patience(pause=0.2))) == 408
    assert time.monotonic() - started < 10


def test_a_form_that_drips_in_is_not_waited_for_either(running):
    pieces = ((0.02, b"a") for _ in range(2_000))
    started = time.monotonic()

    assert running.run(sent_slowly(pieces, Patience(pause=0.3))) == 408
    assert time.monotonic() - started < 10


def rows(count):
    return "time s,airspeed kt\n" + "\n".join(f"{at / 10},{at % 200}" for at in range(count))


RECORDINGS = {
    "empty lines.csv": b"\n" * 1000,
    "nothing but noughts.csv": b"\x00" * 100_000,
    "../../../secret.yaml": rows(5).encode(),
    'a"; filename="b.csv': rows(50).encode(),
    "cut off.csv.gz": gzip.compress(rows(5000).encode())[:-500],
    "a bomb.csv.gz": gzip.compress(b"\x00" * 60_000_000, 9),
    "picture.parquet": b"PAR1" + b"\xff" * 5000 + b"PAR1",
    "wide.csv": (",".join(f"c{n}" for n in range(2_000)) + "\n" + "1," * 1_999 + "1\n").encode(),
    "one long line.csv": b"a" * 3_000_000,
    "strange numbers.csv": b"time s,airspeed kt\n0,nan\n1,inf\n2,-inf\n3,1e999\n-5,0x10\n4,\xff\n",
    "backwards.csv": b"time s,airspeed kt\n5,1\n4,2\n3,3\n3,3\n",
    "script.csv": b"time s,<script>alert(1)</script>\n0,1\n1,2\n2,3\n",
    "half.csv": b'time s,"air\n' + b'speed"",kt\n"0,1\n',
}


def test_whatever_is_dropped_as_a_recording_is_looked_at_or_refused_in_words(hostile, running):
    for name, content in RECORDINGS.items():
        kind = b"multipart/form-data; boundary=edge"
        shown = name.replace('"', "%22").encode()
        body = (
            b'--edge\r\nContent-Disposition: form-data; name="recording"; filename="' + shown + b'"\r\n'
            b"Content-Type: text/csv\r\n\r\n" + content + b"\r\n--edge--\r\n"
        )
        taken = hostile.ask(
            running, "rear", Asked("POST", b"/debrief/upload", ((b"content-type", kind),), (body,))
        )
        assert taken.status == 303, name
        address = taken.header("location").encode()
        assert re.fullmatch(rb"/debrief/[0-9a-f]{12}/map", address)
        for _ in range(300):
            page = hostile.ask(running, "rear", Asked("GET", address))
            assert page.status in (200, 422), name
            if b"<progress" not in page.body:
                break
            time.sleep(0.1)
        assert b"<script>alert" not in page.body
        assert b"Traceback" not in page.body
        assert str(hostile.home).encode() not in page.body
        answer = hostile.ask(running, "rear", Asked("POST", address.replace(b"/map", b"/forget")))
        assert answer.status == 303
    assert sorted(one.name for one in hostile.home.iterdir()) == ["cards", "secret.yaml", "sorties"]
