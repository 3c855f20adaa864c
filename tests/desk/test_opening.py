"""The first page comes before the rooms that compute, and the desk ends as it began: cleanly."""

import re
import signal
import socket
import subprocess
import sys
import time

import pytest
from starlette.testclient import TestClient

from sortiewright.desk import DeskOptions, Shelf, free_port, make_app
from sortiewright.desk.serving import PortTaken

HERE = "http://127.0.0.1:4711"


def early_desk(folder):
    return make_app(Shelf(folder), DeskOptions(folder=folder), early=True)


def wait_until(fulfilled, seconds=120.0):
    ends = time.monotonic() + seconds
    while not fulfilled():
        assert time.monotonic() < ends
        time.sleep(0.02)


def test_a_page_asked_for_early_says_so_and_later_has_its_numbers(tmp_path):
    app = early_desk(tmp_path)
    link = f"/enter?token={app.state.desk.sessions.new_token()}"
    without_server = TestClient(app, base_url=HERE)  # nothing is loaded before the server runs
    text = without_server.get(link).text

    assert "data-opening" in text
    assert "COMPUTING" in text
    assert text.count("mark mark-unknown") == 7
    with TestClient(app, base_url=HERE, cookies=without_server.cookies) as client:
        wait_until(lambda: "data-opening" not in client.get("/numbers").text)
        assert 'id="figure-ground_run"' in client.get("/numbers").text


def test_parts_that_cannot_be_loaded_leave_a_desk_that_says_so(tmp_path, monkeypatch, caplog):
    def broken():
        raise ImportError("broken on purpose")

    monkeypatch.setattr("sortiewright.desk.opening.load_families", broken)
    app = early_desk(tmp_path)
    with TestClient(app, base_url=HERE, raise_server_exceptions=False) as client:
        client.get(f"/enter?token={app.state.desk.sessions.new_token()}", follow_redirects=False)
        wait_until(lambda: client.get("/numbers").status_code == 500)

        assert "A fault of the program" in client.get("/numbers").text
    assert "broken on purpose" in caplog.text


def test_a_taken_port_is_passed_over_or_told():
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]

        assert free_port(port) > port
        with pytest.raises(PortTaken, match=f"port {port}: in use by another program"):
            free_port(port, only=True)


@pytest.mark.skipif(sys.platform == "win32", reason="no signal to send")
def test_ctrl_c_ends_the_desk_with_a_page_open(tmp_path):
    command = [sys.executable, "-m", "sortiewright.cli", "desk", str(tmp_path), "--no-browser"]
    with subprocess.Popen(
        [*command, "--port", str(free_port(21_000))],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        encoding="utf-8",
    ) as served:
        link = re.search(r"http://([\d.]+):(\d+)(\S+)", served.stdout.readline())
        host, port, path = link.groups()
        asked = f"GET {path} HTTP/1.1\r\nHost: {host}:{port}\r\n\r\n"
        with socket.create_connection((host, int(port))) as entering:
            entering.sendall(asked.encode())
            cookie = re.search(r"(?i)set-cookie: ([^;]+)", entering.recv(4000).decode())[1]
        with socket.create_connection((host, int(port))) as page:
            asked = f"GET /events?topics=plan HTTP/1.1\r\nHost: {host}:{port}\r\nCookie: {cookie}\r\n\r\n"
            page.sendall(asked.encode())
            assert b"event: beat" in page.recv(4000) + page.recv(4000)
            served.send_signal(signal.SIGINT)
            _, said = served.communicate(timeout=120)

    assert served.returncode == 0
    assert "Traceback" not in said
