"""The desk's budgets: from its start to its first page, and from an edit to every number repainted."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from http.cookiejar import CookieJar
from pathlib import Path
from typing import Any

import pytest
from desk_in_browser import BROWSER, Served

from sortiewright.desk import Shelf

REPAINTED = """async (value) => {
    const field = document.querySelector(".gauge input.number");
    const figure = document.querySelector(".key-figures");
    const before = figure.innerText;
    const begin = performance.now();
    field.value = value;
    field.dispatchEvent(new Event("change", { bubbles: true }));
    while (document.querySelector(".key-figures").innerText === before && performance.now() - begin < 5000)
        await new Promise((done) => requestAnimationFrame(done));
    await new Promise((done) => requestAnimationFrame(done));
    return performance.now() - begin;
}"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shutil.copy(Shelf().demo().file, tmp_path / "range.yaml")
    return tmp_path


@pytest.fixture
def served(folder: Path) -> Iterator[Served]:
    desk = Served(folder)
    yield desk
    desk.kill()


@pytest.fixture
def page(served: Served) -> Iterator[Any]:
    if BROWSER is None:
        pytest.skip("no Chromium on this machine")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as started:
        browser = started.chromium.launch(executable_path=BROWSER, args=["--no-sandbox"])
        opened = browser.new_page(viewport={"width": 1440, "height": 900})
        opened.goto(served.link)
        opened.wait_for_selector("#prepare")
        opened.wait_for_timeout(500)
        yield opened
        browser.close()


def test_from_start_to_first_page_against_importing_the_server(
    benchmark, folder: Path, report_ratio: Callable[[str], None]
):
    """The reference is what no server of this kind can go below: Python, Starlette, Jinja2 and uvicorn."""
    pages: list[str] = []

    def first_page() -> None:
        desk = Served(folder)
        opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(CookieJar()))
        pages.append(opener.open(desk.link).read().decode())
        times.append(time.perf_counter() - begin[0])
        desk.kill()

    times: list[float] = []
    begin = [0.0]

    def started() -> None:
        begin[0] = time.perf_counter()

    benchmark.pedantic(first_page, setup=started, rounds=7, warmup_rounds=1)

    assert all("<h1>" in page for page in pages)
    imports = []
    for _ in range(5):
        start = time.perf_counter()
        subprocess.run([sys.executable, "-c", "import starlette.applications, jinja2, uvicorn"], check=True)
        imports.append(time.perf_counter() - start)
    if benchmark.stats is not None:
        found = sorted(times[1:])
        report_ratio(
            f"desk: start to first page {found[len(found) // 2]:.2f} s (least {found[0]:.2f}; wanted 0.6); "
            f"importing its server {min(imports):.2f} s"
        )


def test_an_edit_to_every_number_repainted(benchmark, page: Any, report_ratio: Callable[[str], None]):
    first = int(re.sub(r"\D", "", page.input_value(".gauge input.number >> nth=0")))
    times: list[float] = []

    def edit() -> None:
        times.append(page.evaluate(REPAINTED, str(first - 100 * (len(times) + 1))))
        page.wait_for_timeout(700)

    benchmark.pedantic(edit, rounds=12, warmup_rounds=2)

    assert max(times) < 5000
    if benchmark.stats is not None:
        found = sorted(times[2:])
        report_ratio(
            f"desk: edit to numbers repainted {found[len(found) // 2]:.0f} ms (greatest {found[-1]:.0f}; "
            "wanted 150)"
        )
