"""Two hundred devices at one run, and somebody who guesses at the code: nothing lost, nobody in, no fault."""

import asyncio
import re
import shutil
from urllib.parse import urlencode

import pytest
from desk_in_browser import Served

from sortiewright.desk import Shelf

CROWD = 198
GUESSES = 1000


class Device:
    """A device that speaks HTTP/1.1 (RFC 9112) by itself, as no browser opens two hundred."""

    def __init__(self, served):
        self.served, self.cookie = served, ""

    async def ask(self, method, path, form=None):
        """Return status, headers and body; what comes too fast is asked again, as the answer says."""
        while True:
            status, head, body = await self._once(method, path, form)
            if status != 429 or path == "/join":
                return status, head, body
            await asyncio.sleep(float(re.search(r"retry-after: (\d+)", head)[1]))

    async def _once(self, method, path, form):
        reader, writer = await self._sent(method, path, form)
        head = (await reader.readuntil(b"\r\n\r\n")).decode().lower()
        if found := re.search(r"set-cookie: (sortiewright_session=[^;]+)", head):
            self.cookie = found[1]
        body = await reader.read()
        writer.close()
        return int(head.split()[1]), head, body.decode()

    async def _sent(self, method, path, form):
        body = urlencode(form or {}).encode()
        port = self.served.port
        reader, writer = await asyncio.open_connection("127.0.0.1", port, limit=1 << 20)
        lines = [
            f"{method} {path} HTTP/1.1",
            f"Host: 127.0.0.1:{port}",
            f"Origin: http://127.0.0.1:{port}",
            f"Cookie: {self.cookie}",
            "Accept: application/json",
            "Content-Type: application/x-www-form-urlencoded",
            f"Content-Length: {len(body)}",
            "Connection: close",
        ]
        writer.write("\r\n".join(lines).encode() + b"\r\n\r\n" + body)
        await writer.drain()
        return reader, writer

    async def hear(self, wanted, heard):
        """Listen to the run until a text comes; put this device among those that heard it."""
        while True:
            reader, writer = await self._sent("GET", "/events?topics=run", None)
            head = (await reader.readuntil(b"\r\n\r\n")).decode().lower()
            if head.split()[1] == "200":
                break
            writer.close()
            await asyncio.sleep(1)
        try:
            while wanted not in (await reader.readuntil(b"\n")).decode():
                pass
            heard.append(self)
        finally:
            writer.close()


@pytest.fixture
def served(tmp_path):
    shutil.copy(Shelf().demo().file, tmp_path / "range.yaml")
    desk = Served(tmp_path)
    yield desk
    desk.kill()
    assert "Traceback" not in desk.said


async def joined(served, code):
    device = Device(served)
    status, _, body = await device.ask("POST", "/join", {"code": code, "seat": "watcher"})
    while status == 429:
        await asyncio.sleep(1)
        status, _, body = await device.ask("POST", "/join", {"code": code, "seat": "watcher"})
    assert status == 303, body
    return device


def test_two_hundred_devices_follow_one_run_and_guesses_at_the_code_lead_nowhere(served):
    async def story():
        front = Device(served)
        await front.ask("GET", served.link.removeprefix(served.address))
        code = re.search(r'class="code" aria-label="([^"]+)"', (await front.ask("GET", "/crew"))[2])[1]
        assert (await front.ask("POST", "/run/begin"))[0] == 303
        devices = await asyncio.gather(*(joined(served, code.replace(" ", "")) for _ in range(CROWD)))
        heard = []
        listening = [asyncio.create_task(one.hear("Gear pins: IN, three", heard)) for one in devices]
        while True:  # until all streams are open
            present = (await front.ask("GET", "/crew/present"))[2]
            if present.count("<li>") >= CROWD:
                break
            await asyncio.sleep(0.5)
        for deed in ("open:walk_round:::front", "answer:walk_round:gear_pins:1:front"):
            status, _, body = await front.ask("POST", "/run/deeds", {"deed": deed})
            assert status == 200, body
        await asyncio.wait_for(asyncio.gather(*listening), 30)
        assert len(heard) == CROWD

        stranger, answers = Device(served), []
        for at in range(0, GUESSES, 50):
            guesses = (
                stranger.ask("POST", "/join", {"code": f"AAA{n:03}", "seat": "front"})
                for n in range(at, at + 50)
            )
            answers += [status for status, _, _ in await asyncio.gather(*guesses)]
        # Five at once and one in 12 s: what a minute and more of guessing would get is far below 1,000.
        assert set(answers) == {403, 429}
        assert answers.count(403) <= 15
        assert stranger.cookie == ""
        deed = {"deed": "answer:walk_round:intake_covers:1:front"}
        assert (await front.ask("POST", "/run/deeds", deed))[0] == 200

    asyncio.run(story())
