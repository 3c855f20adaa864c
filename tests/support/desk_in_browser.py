"""A desk served by a process of its own, and pages of it in Debian's Chromium.

What a page is to wait for is given as a function, ``() => ...``: an expression in a text is worked out by the
browser only where it is true at once; after that the policy of our pages forbids it.
"""

import contextlib
import re
import shutil
import socket
import subprocess
import sys

BROWSER = next(
    (path for name in ("chromium", "chromium-browser", "google-chrome") if (path := shutil.which(name))), None
)
SIZES = [(1440, 900), (820, 1180), (390, 844)]
PATIENCE = 60_000  # ms; nothing waits so long but on a machine that does much else


class Served:
    """A desk served by a process of its own, which can be killed and started again."""

    def __init__(self, folder):
        self.folder = folder
        with socket.socket() as asked:
            asked.bind(("127.0.0.1", 0))
            self.port = asked.getsockname()[1]
        self.address = f"http://127.0.0.1:{self.port}"
        self.start()

    def start(self):
        command = [sys.executable, "-m", "sortiewright.cli", "desk", str(self.folder), "--no-browser"]
        self.process = subprocess.Popen(
            [*command, "--port", str(self.port)],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            encoding="utf-8",
        )
        self.link = re.search(r"http\S+", self.process.stdout.readline())[0]

    def kill(self):
        self.process.kill()
        self.said = self.process.communicate()[1]


@contextlib.contextmanager
def page_of(context, address, size=SIZES[0]):
    """Open a page and note what it asks for and complains of."""
    page = context.new_page()
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.said, page.asked = [], []
    page.on("console", lambda message: page.said.append(message.text))
    page.on("pageerror", lambda error: page.said.append(str(error)))
    page.on("request", lambda request: page.asked.append(request.url))
    page.goto(address)
    page.wait_for_load_state("load")
    try:
        yield page
    finally:
        page.close()


def painted(page):
    """Wait until what was asked of the page is on the screen: it draws in its next frame, early or late."""
    page.evaluate("() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")


def count_ticks(page):
    """Have a page count quarters of a second by its own timers, which are as late as those of its scripts."""
    page.evaluate("() => { window.ticks = 0; setInterval(() => (window.ticks += 1), 250); }")


def ticks(page):
    """Return the quarters of a second that the page has counted."""
    return page.evaluate("window.ticks")


def choose_scheme(context, served, scheme):
    context.add_cookies([{"name": "sortiewright_scheme", "value": scheme, "url": served.address}])
