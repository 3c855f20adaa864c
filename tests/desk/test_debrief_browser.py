"""Debrief and cards in a browser: the mouse alone, the keyboard alone, every size, both colours."""

import io
import re

import pytest
from desk_in_browser import BROWSER, SIZES, choose_scheme, page_of, painted

pytest.importorskip("playwright.sync_api")
pytestmark = pytest.mark.skipif(BROWSER is None, reason="no Chromium on this machine")

CARDS = "/cards?kind=cards&card=runway&seat=front&paper=a5&scheme=day&units=trade"


@pytest.fixture(scope="module")
def debriefed(front, served):
    """Return the address of the example recording's debrief, reached with the mouse alone."""
    with page_of(front, f"{served.address}/debrief") as page:
        page.get_by_role("button", name="Use the example recording").click()
        page.wait_for_selector(".strip canvas")
        return page.url


def drawn(page, address):
    """Open a debrief and wait for its charts."""
    page.goto(address)
    page.wait_for_selector(".strip canvas")
    page.wait_for_function("() => document.getElementById('moment').textContent !== ''")


# axe-core's rules are those of WCAG 2.2 A and AA and its best practices.
@pytest.mark.parametrize("which", ["debrief", "map", "cards", "list"])
def test_axe_finds_nothing_and_every_target_suits_a_glove(front, served, debriefed, which):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    address, ready = {
        "debrief": (debriefed, ".strip canvas"),
        "map": (f"{debriefed}/map", "table.map"),
        "cards": (f"{served.address}{CARDS}", ".pages img"),
        "list": (f"{served.address}/debrief", ".kept li"),
    }[which]
    too_small = """() => [...document.querySelectorAll('button, .button, summary, select, .pick, label.tick')]
        .filter(one => one.checkVisibility())
        .map(one => [one.textContent.trim().slice(0, 30), one.getBoundingClientRect()])
        .filter(([, box]) => box.height < 47.9).map(([name, box]) => [name, box.height])"""
    with page_of(front, address) as page:
        page.wait_for_selector(ready)
        found = []
        asked = {"day": None, "night": {"runOnly": ["color-contrast"]}}  # all else is the same at night
        for scheme in asked:
            page.evaluate("scheme => document.documentElement.dataset.scheme = scheme", scheme)
            found += [
                (scheme, one["id"], [node["target"] for node in one["nodes"]][:3])
                for one in axe.run(page, options=asked[scheme]).response["violations"]
            ]
        assert found == []
        assert page.said == []
        for width, height in SIZES:
            page.set_viewport_size({"width": width, "height": height})
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            assert page.evaluate(too_small) == [], width


def test_a_finding_that_is_clicked_brings_every_chart_to_its_moment(front, debriefed):
    with page_of(front, debriefed) as page:
        drawn(page, debriefed)
        button = page.locator(".finding-button").nth(2)
        wanted = float(button.get_attribute("data-at"))
        button.click()
        page.wait_for_function("at => Math.abs(window.deskDebrief.charts.moment - at) < 0.1", arg=wanted)
        shown = page.evaluate(
            "window.deskDebrief.charts.plots.map(({chart}) => [chart.scales.x.min, chart.scales.x.max])"
        )

        assert len({tuple(one) for one in shown}) == 1
        assert shown[0][0] <= wanted <= shown[0][1]
        assert page.locator("#cursor").is_visible()


def test_the_keyboard_alone_plays_steps_zooms_and_walks_the_findings(front, debriefed):
    with page_of(front, debriefed) as page:
        drawn(page, debriefed)
        moment = "window.deskDebrief.charts.moment"
        span = "window.deskDebrief.charts.span"
        page.keyboard.press("n")
        page.wait_for_function(f"() => {span} < 60")
        first = page.evaluate(moment)
        page.keyboard.press("n")
        page.wait_for_function(f"() => {moment} !== {first}")
        page.keyboard.press("0")
        page.wait_for_function(f"() => {span} > 300")
        page.locator("#charts").focus()
        before = page.evaluate(moment)
        page.keyboard.press("ArrowRight")
        stepped = page.evaluate(moment)
        wide = page.evaluate(span)
        page.keyboard.press("+")
        closer = page.evaluate(span)
        page.keyboard.press("Space")
        page.wait_for_function(f"() => {moment} > {stepped} + 2")
        page.keyboard.press("Space")
        held = page.evaluate(moment)
        page.wait_for_timeout(300)

        assert stepped > before
        assert closer < wide
        assert page.evaluate(moment) == held
        page.locator(".finding-button").first.focus()
        page.keyboard.press("ArrowDown")
        assert page.evaluate("document.activeElement.dataset.number") == "2"


def test_the_aircraft_on_the_runway_follows_the_cursor(front, debriefed):
    with page_of(front, debriefed) as page:
        drawn(page, debriefed)
        told = []
        for event in ("Brake release", "Lift-off"):
            time = page.evaluate(
                "title => window.deskDebrief.flight.events.find(one => one.title === title).time", event
            )
            page.evaluate("time => window.deskDebrief.charts.at(time)", time)
            painted(page)
            told.append(page.locator("#runway-picture text").last.text_content())
        # The sortie's run begins 150 ft along; lift-off was some 2,500 ft later.
        along = [int(re.sub(r"\D", "", one.partition("ft")[0])) for one in told]

        assert along[0] == pytest.approx(150, abs=15)
        assert along[1] == pytest.approx(2640, abs=120)


def test_a_recording_is_dropped_with_progress_and_its_columns_are_shown(front, served, tmp_path):
    rows = "\n".join(f"{at / 20:.2f},{at % 90},{at % 7}" for at in range(20_000))
    (tmp_path / "flight.csv").write_text(f"time s,airspeed kt,pitch deg\n{rows}\n", "utf-8")
    with page_of(front, f"{served.address}/debrief") as page:
        page.set_input_files("#recording", tmp_path / "flight.csv")
        page.get_by_role("button", name="Read it").click()
        page.wait_for_url("**/map")
        page.wait_for_selector("table.map")

        assert "flight.csv" in page.locator("h1").inner_text()
        assert page.input_value("input[name=column-pitch]") == "pitch deg"


def test_nothing_of_a_debrief_or_of_cards_is_white_or_blue_at_night(front, served, debriefed):
    import numpy as np
    from PIL import Image

    choose_scheme(front, served, "night")
    for address, ready in ((debriefed, ".strip canvas"), (f"{served.address}{CARDS}", ".pages img")):
        with page_of(front, address) as page:
            page.wait_for_selector(ready)
            page.wait_for_timeout(400)
            pixels = np.asarray(Image.open(io.BytesIO(page.screenshot())).convert("RGB")).astype(int)
            red, green, blue = np.moveaxis(pixels, -1, 0)

            assert np.all(green <= 0.55 * red + 8), address
            assert np.all(blue <= green + 4), address
    choose_scheme(front, served, "day")


def test_pages_of_cards_are_walked_one_by_one(front, served):
    with page_of(front, f"{served.address}/cards?kind=cards&card=takeoff&seat=front&paper=a5") as page:
        page.wait_for_selector(".pages img")
        count = page.locator(".page-link").count()
        page.locator(".page-link").first.focus()
        page.keyboard.press("Enter")
        page.wait_for_selector("#one-page[open]")
        page.keyboard.press("ArrowRight")
        told = page.locator("#one-page p").inner_text()
        page.keyboard.press("Escape")

        assert told == f"2 of {count}"
        assert not page.locator("#one-page").is_visible()


def test_a_choice_changes_the_pages_and_the_address_so_that_it_can_be_kept(front, served):
    with page_of(front, f"{served.address}{CARDS}") as page:
        page.wait_for_selector(".pages img")
        page.get_by_label("Night red").check()
        page.wait_for_url(re.compile("scheme=night"))
        page.wait_for_selector('#sheets[data-scheme-of="night"] .pages img')

        assert page.said == []
