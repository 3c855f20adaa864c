"""Every kind of page that links lead to: no barrier, fits, is light, and asks nobody else."""

import os
import re
import time
from urllib.parse import urlsplit

import pytest
from desk_in_browser import BROWSER, SIZES, page_of
from hostile_requests import Forms, routes_of
from starlette.routing import compile_path

from sortiewright.desk import make_app

pytest.importorskip("playwright.sync_api")
pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(BROWSER is None, reason="no Chromium on this machine"),
    pytest.mark.skipif(
        not os.environ.get("SORTIEWRIGHT_FULL"),
        reason="the tests of each part look at its pages; SORTIEWRIGHT_FULL=1 walks every link",
    ),
]

FIRST = ["/prepare", "/numbers", "/crew", "/reference", "/run", "/debrief", "/cards", "/prepare/sorties"]
NOT_LOOKED_AT = re.compile(r"/numbers/charts/|/reference/(tables/|emergency|rules)|/print$|/run/ask")
"""Pages whose barriers and measures no other test of browsers looks for."""
LARGEST_PAGE = 300_000  # bytes, with all its files but recordings
OF_THEIR_OWN = ("/prepare/{panel}", "/reference/{chapter}")
"""Routes whose every page is another one; of the others one page is like the next."""
NO_PAGES = re.compile(
    r"/(assets|events|enter)|\.zip|/document/|/page/|/map\.yaml|/report\.|/drawings/|download"
)


def kinds():
    return [(path, compile_path(path)[0]) for path, methods in routes_of(make_app()) if "GET" in methods]


@pytest.fixture(scope="module")
def addresses(front, served):
    """Return one address of each kind of page."""
    left, seen, found = list(FIRST), set(), {}
    known = kinds()
    for _ in range(1200):  # until the book is put together every address of it says so
        if front.request.get(f"{served.address}/reference/lists/none").status == 404:
            break
        time.sleep(0.1)
    while left:
        target = left.pop(0)
        path = target.partition("?")[0]
        kind = next((one for one, pattern in known if pattern.match(path)), None)
        key = path if kind in OF_THEIR_OWN else (kind, "station=" in target)
        if target in seen or key in found or kind is None or NO_PAGES.search(target):
            continue
        seen.add(target)
        answer = front.request.get(served.address + target)
        text = answer.text()
        if answer.status == 200 and text.lstrip().lower().startswith("<!doctype"):
            found[key] = target
        reader = Forms()
        reader.feed(text)
        left += sorted(reader.links)
    return sorted(found.values())


# The budget of a page with all its files but recordings: 300 kB.
def test_every_page_that_links_lead_to_is_light(front, served, addresses):
    assert len(addresses) >= 20
    sizes = {}

    def size(address):
        if address not in sizes:
            sizes[address] = len(front.request.get(served.address + address).body())
        return sizes[address]

    weights = {}
    for address in addresses:
        page = front.request.get(served.address + address).body()
        files = set(re.findall(r'(?:href|src)="(/assets/[^"]+)"', page.decode()))
        base = next(one for one in files if one.endswith("tokens.css"))
        style = front.request.get(served.address + base).text()
        files |= {f"{base.rpartition('/')[0]}/{name}" for name in re.findall(r'url\("([^"]+)"\)', style)}
        weights[address] = len(page) + sum(size(one) for one in files)

    assert {address: weight for address, weight in weights.items() if weight >= LARGEST_PAGE} == {}


def test_pages_that_nobody_looks_at_elsewhere_have_no_barrier_fit_and_ask_nobody(front, served, addresses):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    faults = []
    for address in filter(NOT_LOOKED_AT.search, addresses):
        with page_of(front, served.address + address) as page:
            found = []
            asked = {"day": None, "night": {"runOnly": ["color-contrast"]}}  # all else is the same at night
            for scheme, options in asked.items():
                page.evaluate("scheme => document.documentElement.dataset.scheme = scheme", scheme)
                found += [
                    (scheme, one["id"], [node["target"] for node in one["nodes"]][:2])
                    for one in axe.run(page, options=options).response["violations"]
                ]
            for width, height in SIZES:
                page.set_viewport_size({"width": width, "height": height})
                if page.evaluate("document.documentElement.scrollWidth") > width:
                    found.append(("too wide", width))
            hosts = {urlsplit(url).netloc for url in page.asked if url.startswith("http")}
            if hosts != {urlsplit(served.address).netloc} or page.said:
                found.append(("asks or complains", hosts, page.said))
            if found:
                faults.append((address, found))
    assert faults == []
