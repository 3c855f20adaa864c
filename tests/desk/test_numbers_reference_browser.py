"""Numbers and reference in a browser: the slider, what follows a change, what if, the search, by keys."""

import re

import pytest
from desk_in_browser import BROWSER, SIZES, page_of

pytest.importorskip("playwright.sync_api")
pytestmark = pytest.mark.skipif(BROWSER is None, reason="no Chromium on this machine")

PAGES = [
    "numbers/what-if?a.power=military&b.reading=5&b.fuel=x",
    "reference?q=gear",
    "reference/limits",
    "reference/lists/abort",
    "reference/memory",
    "reference/notes",
]


@pytest.fixture(scope="module")
def ready(front, served):
    """Return a context in which the book is open."""
    with page_of(front, f"{served.address}/reference") as page:
        page.wait_for_selector("#contents")
    return front


# axe-core's rules are those of WCAG 2.2 A and AA and its best practices.
@pytest.mark.parametrize("path", PAGES)
def test_a_page_keeps_nobody_out_and_fits_every_screen(ready, served, path):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    with page_of(ready, f"{served.address}/{path}") as page:
        page.evaluate("document.querySelectorAll('details').forEach((one, n) => (one.open = n < 12))")
        page.wait_for_timeout(150)  # tables that were opened come by themselves
        found = []
        for scheme in ("day", "night"):
            page.evaluate("scheme => document.documentElement.dataset.scheme = scheme", scheme)
            for one in axe.run(page).response["violations"]:
                found.append((scheme, one["id"], [node["target"] for node in one["nodes"]][:3]))
        assert found == []
        for width, height in SIZES:
            page.set_viewport_size({"width": width, "height": height})
            assert page.evaluate("document.documentElement.scrollWidth") <= width, width
        assert page.said == []


def test_the_slider_walks_by_keys_and_asks_the_desk_nothing(ready, served):
    with page_of(ready, f"{served.address}/numbers") as page:
        page.keyboard.press("f")
        assert page.evaluate("document.activeElement.id") == "failure-speed"
        asked = len(page.asked)
        before = page.locator("[data-end=stop] [data-distance]").inner_text()
        at = page.locator(".over .fails").first.get_attribute("x1")
        for _ in range(30):
            page.keyboard.press("ArrowLeft")

        assert page.locator("[data-end=stop] [data-distance]").inner_text() != before
        assert float(page.locator(".over .fails").first.get_attribute("x1")[:-1]) < float(at[:-1])
        assert "As briefed: stop" in page.locator("#failure-speed").get_attribute("aria-valuetext")
        # Charts come when they are in sight, and the stream goes on: neither is for the slider.
        assert [url for url in page.asked[asked:] if not re.search(r"/(charts?|events|assets)\b", url)] == []
        page.keyboard.press("End")
        assert "As briefed: go on" in page.locator(".ends").inner_text()


def test_an_opened_number_stays_open_while_the_sortie_changes_under_it(ready, served):
    file = served.folder / "range.yaml"
    with page_of(ready, f"{served.address}/numbers") as page:
        opening = (
            "id => fetch('/sortie', {method: 'POST', body: new URLSearchParams({sortie: id})}).then(() => 0)"
        )
        from sortiewright.desk import Shelf

        page.evaluate(opening, Shelf(served.folder).entries()[0].id)
        page.wait_for_timeout(400)
        page.locator("#figure-ground_run summary").click()
        assert page.locator("#figure-ground_run .how").is_visible()
        before = page.locator("#figure-ground_run .value").inner_text()
        text = file.read_text("utf-8")
        file.write_text(text.replace("16/09", "34/09"), "utf-8")
        page.wait_for_function(
            "before => document.querySelector('#figure-ground_run .value').innerText !== before", arg=before
        )

        assert page.locator("#figure-ground_run .how").is_visible()
        assert page.evaluate("document.activeElement.closest('details').id") == "figure-ground_run"
        page.keyboard.press("Escape")
        assert not page.locator("#figure-ground_run .how").is_visible()
        page.keyboard.press("ArrowDown")
        assert page.evaluate("document.activeElement.closest('details').id") == "figure-distance_to_screen"
        file.write_text(text, "utf-8")


def test_charts_come_as_they_are_scrolled_to(ready, served):
    with page_of(ready, f"{served.address}/numbers") as page:
        page.locator("#chart-balance").scroll_into_view_if_needed()
        page.wait_for_selector("#chart-balance svg")

        assert "Envelope" in page.locator("#chart-balance svg").get_attribute("aria-label")


def test_a_variant_follows_what_is_typed_and_keeps_the_hand_in_its_field(ready, served):
    with page_of(ready, f"{served.address}/numbers") as page:
        page.keyboard.press("w")
        page.wait_for_url("**/what-if")
        page.locator("#a-reading").fill("5")
        page.wait_for_selector(".compared .is-less")

        assert page.evaluate("document.activeElement.id") == "a-reading"
        assert "a.reading=5" in page.url
        page.locator("#b-fuel").fill("x")
        page.wait_for_selector("#b-fuel-wrong")
        assert page.locator("#b-fuel").get_attribute("aria-invalid") == "true"


def test_the_book_is_searched_and_read_by_keyboard_alone(ready, served):
    with page_of(ready, f"{served.address}/reference") as page:
        page.keyboard.press("/")
        assert page.evaluate("document.activeElement.id") == "search"
        # What is found is shown while it is typed: the keys are for what is found last.
        with page.expect_response(re.compile(r"q=gear(\+|%20)speed")):
            page.keyboard.type("gear speed", delay=15)
        page.wait_for_selector("#results li:first-child a[href$='/limits#gear_speed'] mark >> text=/speed/i")
        page.keyboard.press("ArrowDown")
        page.keyboard.press("Enter")
        page.wait_for_url("**/reference/limits#gear_speed")
        page.wait_for_selector("#gear_speed[open] .how")

        assert "limits.yaml" in page.locator("#gear_speed .how").inner_text()
        page.keyboard.press("k")
        page.wait_for_url("**/reference")
