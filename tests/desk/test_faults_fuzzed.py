"""Whatever is sent to whichever route, by whomever: an answer in words, no fault, and nobody in.

``FUZZ_EXAMPLES=20000 pytest tests/desk/test_faults_fuzzed.py`` searches longer.
"""

import os
import re

import pytest
from hostile_desk import Hostile
from hostile_requests import SCRIPT, Drawer
from hypothesis import HealthCheck, given, note, settings
from hypothesis import strategies as st
from raw_requests import Running

SEARCH = settings(
    max_examples=int(os.environ.get("FUZZ_EXAMPLES", "60")),
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
OPEN_TO_ALL = re.compile(r"/(enter|join|assets/.*)$")
OF_ONES_OWN = ("/scheme", "/units", "/leave", "/enter", "/join")
FORBIDDEN = (b"Traceback", b'File "', b"site-packages", SCRIPT.encode())
TOLD_WAIT = 503
"""The one answer above 499 that is no fault: too many pages listen, or the log is held."""


@pytest.fixture(scope="module")
def hostile(tmp_path_factory):
    return Hostile(tmp_path_factory.mktemp("home"))


@pytest.fixture(scope="module")
def running(hostile):
    with Running(hostile.app) as running:
        yield running
    assert running.faults == []
    # Whatever was sent has touched no file but the user's own, and the cards in the folder that was named.
    assert sorted(one.name for one in hostile.home.iterdir()) == ["cards", "secret.yaml", "sorties"]
    assert (hostile.home / "secret.yaml").read_text("utf-8") == "title: of somebody else\n"
    assert {one.suffix for one in hostile.folder.iterdir()} <= {".yaml", ""}
    assert all(re.fullmatch(r"(cards|checklists)-.*\.(pdf|png)", one.name) for one in hostile.cards.iterdir())


@pytest.fixture(scope="module")
def drawer(hostile, running):
    pages, forms = hostile.crawled(running)
    assert len(pages) > 30
    assert len(forms) > 30
    return Drawer(hostile.app, pages, forms, hostile.cards)


@SEARCH
@given(data=st.data())
def test_no_request_to_any_route_is_a_fault_or_lets_anybody_in(hostile, running, drawer, data):
    seat = data.draw(st.sampled_from(["owner", "owner", "rear", "watcher", "stranger"]))
    asked = data.draw(Drawer.request(drawer))
    note(f"{seat}: {asked}")
    answer = hostile.ask(running, seat, asked)
    path = asked.target.partition(b"?")[0].decode()

    assert running.faults == []
    # 0: the visitor was gone before it had said all.
    assert answer.status < 500 or answer.status == TOLD_WAIT
    assert not any(text in answer.body for text in FORBIDDEN)
    assert not any(b"\r" in value or b"\n" in value for _, value in answer.headers)
    if answer.status:
        assert "default-src 'none'" in answer.header("content-security-policy")
    if 300 <= answer.status < 400:
        assert re.match(r"/(?![/\\])", answer.header("location"))
    if seat == "stranger":
        assert b"Thistle" not in answer.body
        assert "sortiewright_session" not in answer.header("set-cookie")
        if not OPEN_TO_ALL.match(path):
            assert answer.status in (400, 403, 413, 415)
    if seat == "watcher" and asked.method not in ("GET", "HEAD", "OPTIONS") and path not in OF_ONES_OWN:
        assert answer.status in (400, 403, 404, 413, 415)
