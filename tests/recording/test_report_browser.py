"""The report in a browser: it opens alone and without a complaint, and its charts answer mouse and keys."""

import shutil

import pytest
from debrief_samples import hostile_debrief, sample_debrief
from desk_in_browser import painted

from sortiewright.recording import report_page

playwright = pytest.importorskip("playwright.sync_api")
BROWSER = next(
    (path for name in ("chromium", "chromium-browser", "google-chrome") if (path := shutil.which(name))), None
)
pytestmark = pytest.mark.skipif(BROWSER is None, reason="no Chromium on this machine")


@pytest.fixture(scope="module")
def browser():
    with playwright.sync_playwright() as started:
        opened = started.chromium.launch(executable_path=BROWSER, args=["--no-sandbox"])
        yield opened
        opened.close()


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    folder = tmp_path_factory.mktemp("pages")
    for name, made in (("plain", sample_debrief()), ("hostile", hostile_debrief())):
        (folder / f"{name}.html").write_text(report_page(made), encoding="utf-8")
    return folder


@pytest.fixture
def opened(browser, files):
    """Return a function that opens a page and notes what it asks for and complains of."""
    pages = []

    def open_page(name="plain", width=1440, height=900):
        page = browser.new_page(viewport={"width": width, "height": height})
        page.said, page.asked = [], []
        page.on("console", lambda message: page.said.append(message.text))
        page.on("pageerror", lambda error: page.said.append(str(error)))
        page.on("dialog", lambda dialog: (page.said.append(dialog.message), dialog.dismiss()))
        page.on("request", lambda request: page.asked.append(request.url))
        page.goto((files / f"{name}.html").as_uri())
        page.wait_for_selector("#charts .line")
        pages.append(page)
        return page

    yield open_page
    for page in pages:
        page.close()


def ticks(page):
    """Return the times written along the top of the charts."""
    return page.locator("#charts .strip-row:first-child text.tick").all_text_contents()


@pytest.mark.parametrize("name", ["plain", "hostile"])
@pytest.mark.parametrize("size", [(1440, 900), (390, 844)])
def test_it_opens_alone_without_a_complaint(opened, name, size):
    page = opened(name, *size)

    assert page.said == []
    assert [url for url in page.asked if not url.startswith(("file:", "data:"))] == []
    assert len([url for url in page.asked if url.startswith("file:")]) == 1
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]


def test_on_a_phone_every_column_of_the_snapshots_is_in_sight(opened):
    page = opened("plain", 390, 844)
    table = page.locator("table.snapshots")
    box = table.bounding_box()

    assert box["x"] + box["width"] <= 390
    for link in table.locator("a.jump").all():
        at = link.bounding_box()
        assert at["x"] + at["width"] <= 390
        # WCAG 2.2 (W3C 2023), success criterion 2.5.8: a target is 24 by 24 pixels at least.
        assert min(at["width"], at["height"]) >= 24


def test_flags_of_findings_and_times_stay_inside_the_charts(opened):
    for size in ((1440, 900), (390, 844)):
        page = opened("plain", *size)
        charts = page.locator("#charts").bounding_box()
        for one in page.locator(
            "#charts .strip-row:first-child .flag, #charts .strip-row:first-child .tick"
        ).all():
            box = one.bounding_box()
            assert charts["x"] - 1 <= box["x"]
            assert box["x"] + box["width"] <= charts["x"] + charts["width"] + 1


def test_its_typeface_comes_with_it(opened):
    page = opened()

    assert page.evaluate("document.fonts.ready.then(() => document.fonts.check('16px B612'))")


def test_a_click_on_a_finding_shows_its_moment_in_the_charts(opened):
    page = opened()
    whole = ticks(page)
    page.locator(".finding a.jump").first.click()
    page.locator("#moment", has_text="At 1:02.0").wait_for()
    # The worst is the rotation at 62 s; a line at the moment in every chart, and values beside the titles.
    moments, charts = page.locator("#charts .moment").count(), page.locator("#charts .strip-row").count()

    assert moments == charts
    assert ticks(page) != whole
    assert page.evaluate("document.activeElement.id") == "charts"
    assert page.locator("#charts output").first.inner_text() != ""
    assert 0 <= page.locator("#strips").bounding_box()["y"] < 900


def test_the_keyboard_zooms_moves_and_shows_all(opened):
    page = opened()
    whole = ticks(page)
    page.locator("#charts").focus()
    for key in ("n", "+", "+", "ArrowRight", "Shift+ArrowRight"):
        before = page.locator("#moment").inner_text(), ticks(page)
        page.keyboard.press(key)
        painted(page)

        assert (page.locator("#moment").inner_text(), ticks(page)) != before, key
    page.keyboard.press("0")
    painted(page)

    assert ticks(page) == whole


def test_dragging_zooms_and_the_wheel_does_so_only_in_focus(opened):
    page = opened()
    whole = ticks(page)
    box = page.locator("#charts").bounding_box()
    page.mouse.move(box["x"] + 400, box["y"] - 40)
    page.mouse.wheel(0, 300)
    painted(page)

    assert ticks(page) == whole
    page.locator("#charts").scroll_into_view_if_needed()
    box = page.locator("#charts svg.strip").nth(1).bounding_box()
    middle = box["y"] + box["height"] / 2
    page.mouse.move(box["x"] + 300, middle)
    page.mouse.down()
    page.mouse.move(box["x"] + 500, middle)
    page.mouse.up()
    painted(page)
    dragged = ticks(page)

    assert dragged != whole
    page.mouse.wheel(0, -300)
    painted(page)

    assert ticks(page) not in (dragged, whole)


def test_night_is_red_on_black_and_print_black_on_white(opened):
    page = opened()
    page.click("#scheme")
    night = page.evaluate("getComputedStyle(document.body).color")
    page.emulate_media(media="print")
    paper = page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
    ink = page.evaluate("getComputedStyle(document.documentElement).color")

    assert night == "rgb(255, 122, 94)"
    assert (paper, ink) == ("rgb(255, 255, 255)", "rgb(0, 0, 0)")
