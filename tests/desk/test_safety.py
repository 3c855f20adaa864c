"""Nobody comes in uninvited, nothing comes from elsewhere, and no answer tells more than a sentence."""

import functools
import os
import re
import stat

import pytest
from starlette.testclient import TestClient

from sortiewright.desk import DeskOptions, Shelf, make_app
from sortiewright.desk.rates import Rates
from sortiewright.desk.sessions import CODE_SIGNS, LIFETIME, JoinCode, Sessions

CHANGES = ["/scheme", "/units", "/seat", "/sortie", "/leave", "/crew/new-code"]
PAGES = [
    "/",
    "/prepare",
    "/numbers",
    "/numbers/table",
    "/crew",
    "/crew/present",
    "/events",
    "/ribbon",
    "/nowhere",
]


@pytest.mark.parametrize("path", PAGES)
def test_a_stranger_sees_no_page(stranger, path):
    answer = stranger.get(path)

    assert answer.status_code == 403
    assert "Thistle" not in answer.text


@pytest.mark.parametrize("path", CHANGES)
def test_a_stranger_changes_nothing(stranger, path):
    assert stranger.post(path).status_code == 403


def test_the_opening_link_works_once(app, stranger, another):
    token = app.state.desk.sessions.new_token()
    assert stranger.get(f"/enter?token={token}").status_code == 200
    later = TestClient(app, base_url="http://127.0.0.1:4711")

    assert later.get(f"/enter?token={token}").status_code == 403
    assert later.get("/enter?token=").status_code == 403
    assert later.get("/enter").status_code == 403
    assert stranger.get(f"/enter?token={token}").status_code == 200  # the browser that is in already


# MDN and RFC 6265bis: HttpOnly keeps scripts, SameSite=Strict keeps other sites from the cookie.
def test_the_session_cookie_is_for_this_site_and_no_script(app, stranger):
    answer = stranger.get(f"/enter?token={app.state.desk.sessions.new_token()}", follow_redirects=False)
    cookie = answer.headers["set-cookie"].lower()

    assert "httponly" in cookie
    assert "samesite=strict" in cookie


def test_a_changed_or_old_cookie_is_worth_nothing():
    now = [1000.0]
    sessions = Sessions(clock=lambda: now[0])
    visitor = sessions.new_visitor("rear")
    cookie = sessions.cookie(visitor)

    assert sessions.visitor(cookie) == visitor
    assert sessions.visitor(cookie.replace(".rear.0.", ".front.1.")) is None
    assert sessions.visitor(cookie[:-1] + ("0" if cookie[-1] != "0" else "1")) is None
    assert sessions.visitor(Sessions().cookie(visitor)) is None
    for nonsense in ("", "....", "a.b.c.d.e", "\x00", "é" * 50, cookie * 3):
        assert sessions.visitor(nonsense) is None
    now[0] += LIFETIME + 1
    assert sessions.visitor(cookie) is None


def test_the_key_outlives_the_server_and_is_its_owner_s_alone(tmp_path):
    visitor = Sessions(tmp_path / "data").new_visitor("front", owner=True)
    cookie = Sessions(tmp_path / "data").cookie(visitor)

    assert Sessions(tmp_path / "data").visitor(cookie) == visitor
    if os.name == "posix":
        assert stat.S_IMODE((tmp_path / "data" / "key").stat().st_mode) == 0o600


@pytest.mark.parametrize("seat", ["front", "rear", "watcher"])
def test_a_crew_joins_with_the_code_in_a_seat_of_its_own(owner, another, seat):
    word = {"front": "Front seat", "rear": "Rear seat", "watcher": "Watching"}[seat]

    assert f'data-key-says="Crew">{word}</a>' in another(seat).get("/numbers").text


def test_the_code_may_be_typed_as_it_is_shown(app, desk, stranger):
    code = f" {desk.code.code[:3].lower()} {desk.code.code[3:]} "

    assert (
        stranger.post("/join", data={"code": code, "seat": "rear"}, follow_redirects=False).status_code == 303
    )


def test_no_sign_of_a_code_can_be_taken_for_another():
    assert not set(CODE_SIGNS) & set("0O1IL2Z5S")
    assert len(JoinCode().code) == 6
    assert len({JoinCode().code for _ in range(50)}) > 45


def test_hundreds_of_wrong_codes_are_locked_out_and_the_right_one_after_them_too(desk, stranger):
    answers = [stranger.post("/join", data={"code": f"WRONG{n}"}).status_code for n in range(250)]
    right = stranger.post("/join", data={"code": desk.code.code})

    assert answers.count(403) <= 6
    assert 303 not in answers
    assert right.status_code == 429
    assert int(right.headers["retry-after"]) >= 1


def test_many_addresses_together_are_locked_out_as_well():
    now = [0.0]
    code = JoinCode(clock=lambda: now[0])
    tried = 0
    for n in range(1000):
        if not code.wait(f"10.0.0.{n}"):
            assert not code.matches("NOTIT!", f"10.0.0.{n}")
            tried += 1

    assert tried == 30
    now[0] += 61.0
    assert code.wait("10.0.0.1") == 0.0


# RFC 2697: tokens come back at the committed rate, up to the burst size.
def test_a_bucket_refills_at_its_rate_up_to_its_burst():
    now = [0.0]
    rates = Rates(2.0, 3.0, clock=lambda: now[0])

    assert [rates.take("a") for _ in range(4)] == [0.0, 0.0, 0.0, 0.5]
    now[0] += 0.5
    assert [rates.take("a"), rates.take("a")] == [0.0, 0.5]
    now[0] += 3600
    assert [rates.take("a") for _ in range(4)] == [0.0, 0.0, 0.0, 0.5]
    assert rates.take("b") == 0.0


def test_the_memory_of_clients_is_bounded():
    rates = Rates(1.0, 1.0, most=100)
    for n in range(1000):
        rates.take(str(n))

    assert len(rates._buckets) == 100


def test_a_watcher_looks_and_changes_only_its_own_colours(owner, another, desk):
    watcher = another("watcher")
    before = desk.current.entry
    other = next(entry.id for entry in desk.shelf.entries() if entry.name == "short_wet")

    assert watcher.get("/numbers").status_code == 200
    assert watcher.post("/sortie", data={"sortie": other}).status_code == 403
    assert watcher.post("/seat", data={"seat": "front"}).status_code == 403
    assert watcher.post("/scheme", data={"scheme": "night"}).status_code == 200
    assert desk.current.entry == before
    assert desk.code.code not in watcher.get("/crew").text.replace(" ", "")


def test_only_the_owner_sends_everybody_away(owner, another):
    rear = another("rear")
    assert rear.post("/crew/new-code").status_code == 403
    assert rear.get("/numbers").status_code == 200
    assert owner.post("/crew/new-code").status_code == 200

    assert rear.get("/numbers").status_code == 403
    assert owner.get("/numbers").status_code == 200


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1.evil.example", "192.168.1.7", "", "[::2]:4711", "a b"]
)
def test_another_host_name_is_not_answered(app, host):
    client = TestClient(app, base_url="http://127.0.0.1:4711")

    answer = client.get("/join", headers={"host": host})
    assert answer.status_code == 421
    assert "Join the crew" not in answer.text


@pytest.mark.parametrize("host", ["127.0.0.1:4711", "localhost", "LOCALHOST:80", "[::1]:4711"])
def test_loopback_names_are_answered(app, host):
    client = TestClient(app, base_url="http://127.0.0.1:4711")

    assert client.get("/join", headers={"host": host}).status_code == 200


def test_names_in_the_network_are_answered_only_where_it_was_asked_for():
    def answered(lan):
        app = make_app(Shelf(), DeskOptions(lan=lan, names=frozenset({"192.168.1.7"})))
        return TestClient(app, base_url="http://192.168.1.7:4711").get("/join").status_code

    assert [answered(True), answered(False)] == [200, 421]


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:4712"},
        {"origin": "https://127.0.0.1:4711"},
        {"origin": ""},
        {"origin": "http://127.0.0.1:4711.evil.example"},
    ],
)
def test_a_change_from_another_origin_is_refused(owner, headers):
    assert owner.post("/units", data={"units": "si"}, headers=headers).status_code == 403


def test_a_change_without_an_origin_is_refused_unless_the_browser_vouches_for_it(owner):
    del owner.headers["origin"]

    assert owner.post("/units", data={"units": "si"}).status_code == 403
    assert (
        owner.post("/units", data={"units": "si"}, headers={"sec-fetch-site": "cross-site"}).status_code
        == 403
    )
    assert (
        owner.post("/units", data={"units": "si"}, headers={"sec-fetch-site": "same-origin"}).status_code
        == 200
    )


# W3C Fetch Metadata: a page elsewhere that draws ours into itself says so; a link that is followed navigates.
def test_another_site_may_link_to_a_page_but_not_draw_it(owner):
    site = {"sec-fetch-site": "cross-site"}

    assert owner.get("/numbers", headers={**site, "sec-fetch-mode": "no-cors"}).status_code == 403
    assert owner.get("/numbers", headers={**site, "sec-fetch-mode": "navigate"}).status_code == 200


# W3C Content Security Policy Level 3; OWASP Secure Headers Project for the others.
@pytest.mark.parametrize("path", ["/numbers", "/join", "/nowhere", "/assets/0/tokens.css"])
def test_every_answer_carries_the_policy(owner, path):
    headers = owner.get(path).headers
    policy = dict(part.partition(" ")[::2] for part in headers["content-security-policy"].split("; "))

    assert policy.pop("default-src") == "'none'"
    assert policy == {
        "script-src": "'self'",
        "style-src": "'self'",
        "img-src": "'self' data:",
        "font-src": "'self'",
        "connect-src": "'self'",
        "form-action": "'self'",
        "frame-ancestors": "'none'",
        "base-uri": "'none'",
    }
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "same-origin"
    assert headers["cross-origin-opener-policy"] == "same-origin"
    assert headers["cross-origin-resource-policy"] == "same-origin"
    assert headers["cache-control"] in ("no-store", "no-cache")


def test_a_body_that_is_too_large_is_refused_whether_it_says_so_or_not(owner, heading):
    def in_parts():
        for _ in range(300):
            yield b"a" * 10_000

    said = owner.post("/units", content=b"a" * 2_000_000)
    unsaid = owner.post(
        "/units", content=in_parts(), headers={"content-type": "application/x-www-form-urlencoded"}
    )

    assert [said.status_code, unsaid.status_code] == [413, 413]
    assert heading(said) == "Too large"


def test_too_many_requests_are_told_to_wait(request, monkeypatch):
    # However slow the machine, no time passes: the bucket is not refilled.
    monkeypatch.setattr("sortiewright.desk.guard.Rates", functools.partial(Rates, clock=lambda: 0.0))
    owner = request.getfixturevalue("owner")
    answers = [owner.get("/assets/0/nothing.css") for _ in range(500)]

    assert answers[-1].status_code == 429
    assert int(answers[-1].headers["retry-after"]) >= 1
    assert answers[0].status_code == 404


@pytest.mark.parametrize(
    "name",
    [
        "..%2f..%2fapp.py",
        "%2e%2e/app.py",
        "..",
        "tokens.css%00",
        "%2fetc%2fpasswd",
        "app.py",
        "C:%5cwindows%5cwin.ini",
    ],
)
def test_no_path_of_a_request_reaches_a_file(owner, name):
    answer = owner.get(f"/assets/0/{name}")

    assert answer.status_code == 404
    assert "import" not in answer.text


@pytest.mark.parametrize("id", ["../demo", "demo", "/etc/passwd", "", "demo.yaml", "\x00", "a" * 5000])
def test_a_sortie_is_opened_by_the_shelf_s_id_only(owner, desk, id):
    before = desk.current.entry

    assert owner.post("/sortie", data={"sortie": id}).status_code == 404
    assert desk.current.entry == before


def test_a_fault_of_the_program_is_a_page_without_a_trace(owner, desk, heading, monkeypatch, caplog):
    monkeypatch.setattr(desk, "opened", None)

    answer = owner.get("/numbers")
    assert answer.status_code == 500
    assert heading(answer) == "A fault of the program"
    assert "Traceback" not in answer.text
    assert "NoneType" not in answer.text
    assert "NoneType" in caplog.text


def test_a_refusal_reaches_htmx_as_a_notice(owner):
    answer = owner.get("/nowhere", headers={"hx-request": "true"})

    assert answer.status_code == 404
    assert answer.headers["hx-retarget"] == "#notice"
    assert re.fullmatch(r'<p class="notice">.*</p>', answer.text)


HOSTILE = [
    b"\xff\xfe",
    b"a=%zz&b=%00",
    b"--x\r\n\r\n--x--",
    b"scheme=" + b"a" * 900_000,
    b"&" * 5000,
    b"a[]=1;b",
]


@pytest.mark.parametrize("path", ["/scheme", "/units", "/seat", "/sortie", "/join", "/leave"])
@pytest.mark.parametrize(
    "kind", ["application/x-www-form-urlencoded", "multipart/form-data; boundary=x", "text/a"]
)
def test_a_hostile_form_gets_a_page_never_a_fault(owner, path, kind):
    for body in HOSTILE:
        answer = owner.post(path, content=body, headers={"content-type": kind}, follow_redirects=False)
        assert answer.status_code < 500, body[:20]
