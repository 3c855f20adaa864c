"""Prepare in a browser: mouse, keyboard, two devices, a slider, and a file that somebody else writes."""

import pytest
from desk_in_browser import BROWSER, SIZES, page_of

from sortiewright.desk import Shelf

pytest.importorskip("playwright.sync_api")
pytestmark = pytest.mark.skipif(BROWSER is None, reason="no Chromium on this machine")

PANELS = [
    "load",
    "load?station=left_inboard",
    "place",
    "route?chosen=leg-6",
    "route?chosen=at56.8_-5.3",
    "crew",
    "choices",
    "sorties",
]


@pytest.fixture(scope="module")
def range_open(front, served):
    """Return the front seat's context with the user's own sortie open."""
    with page_of(front, f"{served.address}/prepare") as page:
        opening = (
            "id => fetch('/sortie', {method: 'POST', body: new URLSearchParams({sortie: id})}).then(() => 0)"
        )
        page.evaluate(opening, Shelf(served.folder).entries()[0].id)
    return front


def state(page):
    return page.locator("#prepare").get_attribute("data-state")


def figure(page, name):
    return page.locator(f"#key-{name} b").inner_text()


def repainted(page, before):
    page.wait_for_function(
        "before => document.getElementById('prepare').dataset.state !== before", arg=before
    )


def test_every_panel_is_open_to_everybody_and_fits_every_screen(range_open, served):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    for panel in PANELS:
        with page_of(range_open, f"{served.address}/prepare/{panel}") as page:
            found = []
            for scheme in ("day", "night"):
                page.evaluate("scheme => document.documentElement.dataset.scheme = scheme", scheme)
                found += [
                    (scheme, one["id"], [node["target"] for node in one["nodes"]])
                    for one in axe.run(page).response["violations"]
                ]
            widths = []
            for width, height in SIZES:
                page.set_viewport_size({"width": width, "height": height})
                widths.append(page.evaluate("document.documentElement.scrollWidth") <= width)

            assert (panel, found, page.said, widths) == (panel, [], [], [True] * 3)


def test_a_typed_value_repaints_the_figures_and_keeps_the_focus(range_open, served):
    with page_of(range_open, f"{served.address}/prepare") as page:
        before, weight = state(page), figure(page, "takeoff_mass")
        page.locator("#f-load-taxi-time").fill("25")
        page.keyboard.press("Tab")
        repainted(page, before)

        assert figure(page, "takeoff_mass") != weight
        assert page.locator("#key-takeoff_mass.changed .turn-down").count() == 1
        assert page.evaluate("document.activeElement.id") == "f-load-start-and-taxi-fuel"
        before = state(page)
        page.locator("#f-load-start-and-taxi-fuel").press("Escape")
        page.evaluate("document.activeElement.blur()")
        page.keyboard.press("z")
        repainted(page, before)
        assert figure(page, "takeoff_mass") == weight


def test_the_keyboard_alone_hangs_a_store(range_open, served):
    with page_of(range_open, f"{served.address}/prepare") as page:
        page.locator(".station-line").first.focus()
        page.keyboard.press("ArrowDown")
        page.keyboard.press("ArrowDown")
        page.keyboard.press("Enter")
        page.wait_for_selector(".offer")
        assert page.evaluate("document.activeElement.id") == "stores-title"
        before = state(page)
        page.locator(".offer").first.focus()
        page.keyboard.press("ArrowDown")
        page.keyboard.press("Enter")
        repainted(page, before)
        assert "Curlew" in page.locator(".hung").inner_text()
        page.evaluate("document.activeElement.blur()")
        page.keyboard.press("Escape")
        page.wait_for_selector(".stations")
        before = state(page)
        page.get_by_role("button", name="Undo").click()
        repainted(page, before)


def test_a_station_is_chosen_on_the_drawing(range_open, served):
    with page_of(range_open, f"{served.address}/prepare", SIZES[2]) as page:
        page.locator(".station-mark").nth(4).locator(".disc").click()
        page.wait_for_selector("#stores-title >> text=5 belly")
        assert page.locator(".station-mark.chosen").count() == 1
        assert 0 <= page.locator("#stores-title").bounding_box()["y"] < SIZES[2][1]


SLOW_DESK = """() => {
    const ask = window.fetch;
    window.asked = 0;
    window.fetch = async (...request) => {
        window.asked += String(request[0]).endsWith("/prepare/fuel");
        await new Promise(go => setTimeout(go, 700)); // longer than a moved slider waits for its next amount
        return ask(...request);
    };
}"""


def test_a_slider_ends_where_it_was_left_and_is_one_step_however_slow_the_desk_is(range_open, served):
    with page_of(range_open, f"{served.address}/prepare") as page:
        before = page.locator("#fuel-total-").input_value()
        page.evaluate(SLOW_DESK)
        page.locator(".slider").first.focus()
        for _ in range(8):
            page.keyboard.press("ArrowLeft")
            page.wait_for_timeout(40)
        wanted = page.locator(".slider").first.input_value()
        page.wait_for_function(
            "wanted => document.querySelector('.last-step').textContent.includes(wanted)", arg=wanted
        )

        assert page.locator("#fuel-total-").input_value() == wanted != before
        assert page.evaluate("asked") >= 2
        now = state(page)
        page.get_by_role("button", name="Undo").click()
        repainted(page, now)
        page.wait_for_function(
            "before => document.getElementById('fuel-total-').value === before", arg=before
        )


def test_what_one_device_edits_the_other_sees(range_open, served):
    with (
        page_of(range_open, f"{served.address}/prepare/crew") as one,
        page_of(range_open, f"{served.address}/prepare/load") as other,
    ):
        other.wait_for_timeout(600)  # its stream is open
        one.locator("#f-callsign").fill("Thistle 88")
        one.keyboard.press("Tab")
        other.wait_for_selector(".flight-name >> text=Thistle 88")
        other.wait_for_selector(".last-step >> text=Thistle 88")
        one.locator("#f-callsign").fill("Thistle 21")
        one.keyboard.press("Tab")
        other.wait_for_selector(".last-step >> text=Thistle 21")


def test_a_report_is_decoded_while_it_is_typed_and_the_rest_waits_for_the_end(range_open, served):
    with page_of(range_open, f"{served.address}/prepare/place") as page:
        before = state(page)
        box = page.locator("#f-weather-metar")
        box.fill("METAR ZZCH 141020Z 25006KT 3000 BR OVC008 12/11 Q0999")
        page.wait_for_selector("#decoded >> text=from 250° true")
        assert state(page) == before
        page.keyboard.press("Tab")
        repainted(page, before)
        before = state(page)
        page.get_by_role("button", name="Undo").click()
        repainted(page, before)
        assert "28014G22KT" in box.input_value()


def test_a_file_that_somebody_else_writes_is_shown_beside_the_changes(range_open, served):
    file = served.folder / "range.yaml"
    kept = file.read_text("utf-8")
    with page_of(range_open, f"{served.address}/prepare/crew") as page:
        page.wait_for_timeout(600)
        before = state(page)
        page.locator("#f-squadron").fill("Mine")
        page.keyboard.press("Tab")
        repainted(page, before)
        file.write_text(kept.replace("I. Marrow", "O. Sedge"), "utf-8")
        page.wait_for_selector("#changed-twice")
        assert (
            "O. Sedge" in page.locator(".line-theirs").first.inner_text()
            or page.get_by_text("O. Sedge").count()
        )
        page.get_by_role("button", name="Take theirs").click()
        page.wait_for_selector("#changed-twice", state="detached")
        assert page.locator("#f-crew-front-name").input_value() == "O. Sedge"
    file.write_text(kept, "utf-8")


def test_a_sortie_is_copied_opened_and_saved_with_the_mouse(range_open, served):
    with page_of(range_open, f"{served.address}/prepare/sorties") as page:
        page.locator("#copy-name").fill("Second range")
        page.get_by_role("button", name="Save a copy").click()
        page.wait_for_url("**/prepare")
        assert (served.folder / "second_range.yaml").is_file()
        before = state(page)
        page.locator("#f-load-taxi-time").fill("5")
        page.keyboard.press("Tab")
        repainted(page, before)
        page.get_by_role("button", name="Save", exact=True).click()
        page.wait_for_selector(".draft-mark", state="detached")
        assert "taxi_time: 5 min" in (served.folder / "second_range.yaml").read_text("utf-8")
        page.goto(f"{served.address}/prepare/sorties")
        page.locator(".pick-button").filter(has_text="yours").filter(has_text="range").first.click()
        page.wait_for_load_state("load")


def test_a_draft_is_there_again_after_the_server_was_killed(range_open, served):
    with page_of(range_open, f"{served.address}/prepare/crew") as page:
        before = state(page)
        page.locator("#f-callsign").fill("Thistle 55")
        page.keyboard.press("Tab")
        repainted(page, before)
        name = page.locator(".file-state b").inner_text()
        served.kill()
        assert "Traceback" not in served.said
        served.start()
        page.wait_for_selector("html:not(.cut-off)", state="attached")
        page.goto(f"{served.address}/prepare/sorties")
        page.locator(".pick-button", has_text="yours").filter(
            has=page.get_by_text(name, exact=True)
        ).first.click()
        page.wait_for_selector(".flight-name >> text=Thistle 55")
        page.get_by_role("button", name="Undo").click()
        page.wait_for_selector(".flight-name >> text=Thistle 21")


def test_the_chart_is_pressed_and_walked_and_the_page_is_no_larger_than_it_may_be(range_open, served):
    with page_of(range_open, f"{served.address}/prepare/route") as page:
        # Issue of the desk: 300 kB with all files.
        sizes = page.evaluate(
            "performance.getEntriesByType('resource').concat(performance.getEntriesByType('navigation'))"
            ".map(one => one.decodedBodySize)"
        )

        assert sum(sizes) < 300_000
        page.locator("#winds > summary").click()
        page.locator(".chart").click()  # in the middle of the demo's ring of points there is none
        page.wait_for_selector("#pin-name:focus")
        assert page.locator("#winds").get_attribute("open") is not None
        page.keyboard.press("Enter")
        page.wait_for_selector('#chosen-title:focus:has-text("P1")')
        page.locator(".chart-point", has_text="GARVEL").focus()
        page.keyboard.press("ArrowUp")
        assert page.evaluate("document.activeElement.textContent").split()[0] == "ZZCH"
        page.keyboard.press("Enter")
        page.wait_for_selector('#chosen-title:focus:has-text("ZZCH")')
        before = state(page)
        page.get_by_role("button", name="Undo").click()
        repainted(page, before)
