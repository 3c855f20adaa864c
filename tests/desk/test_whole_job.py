"""The whole job, two seats at two devices: by the mouse alone, and by the keyboard alone."""

import contextlib
import re
import time
from urllib.parse import urlsplit

import pytest
from desk_in_browser import BROWSER, PATIENCE, page_of
from run_at_desk import press, press_all

pytest.importorskip("playwright.sync_api")
pytestmark = [pytest.mark.slow, pytest.mark.skipif(BROWSER is None, reason="no Chromium on this machine")]

BETWEEN = 400  # ms; a second press that follows faster is taken for the first one's echo
MOST_TABS = 150
EMERGENCY = "Hot brakes"


class Device:
    """A seat's requests without its page, to go through items that this test is not about."""

    def __init__(self, context, address):
        self.context, self.address = context, address

    def get(self, path):
        return Answer(self.context.request.get(self.address + path))

    def post(self, path, data=None, headers=None):
        for _ in range(30):
            given = {"origin": self.address, **(headers or {})}
            answer = Answer(self.context.request.post(self.address + path, form=data or {}, headers=given))
            if answer.status_code != 429:
                break
            time.sleep(0.5)
        return answer


class Answer:
    def __init__(self, response):
        self.status_code, self.text = response.status, response.text()


def hands(page):
    """Have a page note which hand was used on it."""
    page.add_init_script(
        "window.addEventListener('keydown', () => sessionStorage.keys = '1', true);"
        "window.addEventListener('pointerdown', () => sessionStorage.mouse = '1', true);"
    )


def used(page):
    return page.evaluate("[sessionStorage.keys, sessionStorage.mouse].map(one => one ?? '')")


@contextlib.contextmanager
def seat(browser, served, size):
    """Open a page in a context of its own; at the end it has complained of nothing, and asked nobody else."""
    context = browser.new_context(accept_downloads=True)
    context.set_default_timeout(PATIENCE)
    with page_of(context, "about:blank", size) as page:
        hands(page)
        yield page
        assert page.said == []
        assert {urlsplit(url).netloc for url in page.asked if url.startswith("http")} == {
            urlsplit(served.address).netloc
        }
    context.close()


def entered(page, served):
    """Come in as whoever started the desk, by a link that is printed at its start."""
    served.kill()
    served.start()
    page.goto(served.link)
    page.wait_for_selector("#prepare")
    page.wait_for_timeout(300)


def code_of(page, served):
    text = page.context.request.get(f"{served.address}/crew").text()
    return re.search(r'class="code" aria-label="([^"]+)"', text)[1].replace(" ", "")


def part(page, name):
    page.locator(".stop a", has_text=name).click()
    page.wait_for_url(f"**/{name.lower()}")


def tab_to(page, wanted, text=""):
    """Press Tab until what matches a selector, and holds a text, has the focus."""
    has_focus = """([wanted, text]) => {
        const at = document.activeElement;
        return at.matches(wanted) && at.textContent.includes(text);
    }"""
    for _ in range(MOST_TABS):
        page.keyboard.press("Tab")
        if page.evaluate(has_focus, [wanted, text]):
            return
    raise AssertionError(f"the keyboard does not reach {wanted}")


def to_the_hold(devices):
    """Open the list whose first item waits for somebody else; the lists before it are not this test's."""
    assert press(devices[0], "open:power_on:::front", "the rest was done before").status_code == 200


def until_resumed(devices):
    press_all(devices, until=lambda deed: deed.startswith("resume"))


def test_a_crew_gets_from_the_shelf_to_the_debrief_with_the_mouse_alone(browser, served):
    with seat(browser, served, (1440, 900)) as front, seat(browser, served, (820, 1180)) as rear:
        entered(front, served)
        front.locator(".panels a", has_text="Sortie").first.click()
        front.locator(".pick-button", has_text="range").first.click()
        front.wait_for_selector(".file-state >> text=range")

        # A link with the code in it, as the picture on the crew page has it: nothing is typed.
        rear.goto(f"{served.address}/join?code={code_of(front, served)}")
        rear.get_by_text("Rear", exact=True).click()
        rear.get_by_role("button", name="Join").click()
        rear.wait_for_url("**/run")
        part(rear, "Numbers")
        rear.wait_for_selector("#numbers .headline")
        rear.wait_for_timeout(400)  # its stream is open

        before = rear.locator("#numbers .headline").inner_text()
        front.locator(".panels a", has_text="Load").click()
        front.locator(".station-mark.loaded .reach").first.click()
        front.locator(".hung button", has_text="Take off").first.click()
        front.wait_for_selector(".key-figure.changed .was")
        rear.wait_for_function(
            "before => document.querySelector('#numbers .headline').innerText !== before", arg=before
        )

        part(front, "Numbers")
        slider = front.locator("#failure-speed")
        slider.scroll_into_view_if_needed()
        said = front.locator("#failure-says").inner_text()
        box = slider.bounding_box()
        front.mouse.move(box["x"] + 0.5 * box["width"], box["y"] + box["height"] / 2)
        front.mouse.down()
        front.mouse.move(box["x"] + 0.2 * box["width"], box["y"] + box["height"] / 2, steps=4)
        front.mouse.up()
        assert front.locator("#failure-says").inner_text() != said
        assert re.search(r"\d", front.locator("#failure [data-distance]").first.inner_text())

        part(front, "Cards")
        front.locator(".page-link").first.click()
        front.wait_for_selector("#one-page[open] img")
        front.locator("#one-page [data-close]").click()
        with front.expect_download() as taken:
            front.locator(".take a", has_text="PDF").first.click()
        assert taken.value.path().read_bytes().startswith(b"%PDF-")

        part(front, "Run")
        front.get_by_role("button", name="Begin the run").click()
        part(rear, "Run")
        front.wait_for_timeout(BETWEEN)
        front.locator(".hand .main").click()
        front.wait_for_timeout(BETWEEN)
        front.locator("button.cell.due").first.click()
        rear.wait_for_selector(".cell.said")
        devices = Device(front.context, served.address), Device(rear.context, served.address)
        to_the_hold(devices)
        rear.wait_for_selector(".hold.held")
        rear.wait_for_timeout(BETWEEN)
        holder = next(one for one in (rear, front) if one.locator(".hand-main button").count())
        holder.locator(".hand-main button").first.click()
        holder.wait_for_selector(".hold >> text=cleared by")
        front.locator("#emergency").click()
        front.locator("#emergencies .call:visible", has_text=EMERGENCY).first.click()
        for page in (front, rear):
            page.wait_for_selector(".run.special .stopped")
        until_resumed(devices)
        front.wait_for_selector(".question")
        front.wait_for_timeout(BETWEEN)
        front.locator(".hand .main").click()
        rear.wait_for_selector(".run:not(.special)")

        part(front, "Debrief")
        front.get_by_role("button", name="Use the example recording").click()
        front.wait_for_selector(".strip canvas")
        front.locator(".finding-button").first.click()
        front.wait_for_function("() => window.deskDebrief.charts.span < 60")

        part(front, "Reference")
        front.locator("#page a", has_text="Emergency").first.click()
        front.wait_for_selector("#page a[href^='/reference/lists/']")
        front.locator("#page a[href^='/reference/lists/']").first.click()
        front.wait_for_url("**/reference/lists/*")

        assert [used(page)[0] for page in (front, rear)] == ["", ""]


def test_a_crew_gets_from_the_shelf_to_the_debrief_with_the_keyboard_alone(browser, served):
    with seat(browser, served, (1440, 900)) as front, seat(browser, served, (390, 844)) as rear:
        entered(front, served)
        rear.goto(f"{served.address}/join")
        tab_to(rear, "#code")
        rear.keyboard.type(code_of(front, served))
        rear.keyboard.press("Enter")  # rear is chosen already
        rear.wait_for_url("**/run")
        rear.keyboard.press("2")
        rear.wait_for_selector("#numbers .headline")
        rear.wait_for_timeout(400)

        tab_to(front, ".panels a[href='/prepare/sorties']")
        front.keyboard.press("Enter")
        front.wait_for_url("**/prepare/sorties")
        tab_to(front, ".pick-button")
        with front.expect_navigation():
            front.keyboard.press("Enter")
        front.keyboard.press("1")
        front.wait_for_url("**/prepare")
        front.wait_for_selector(".gauge")
        before = rear.locator("#numbers .headline").inner_text()
        tab_to(front, ".gauge input.number")
        amount = int(re.sub(r"\D", "", front.evaluate("document.activeElement.value")))
        front.keyboard.press("Control+A")
        front.keyboard.type(str(amount - 1500))
        front.keyboard.press("Enter")
        front.wait_for_selector(".key-figure.changed .was")
        rear.wait_for_function(
            "before => document.querySelector('#numbers .headline').innerText !== before", arg=before
        )
        front.locator("body").evaluate("() => document.activeElement.blur()")
        front.keyboard.press("z")
        front.wait_for_selector(".key-figure:not(.changed)")

        front.keyboard.press("2")
        front.wait_for_selector("#failure-speed")
        said = front.locator("#failure-says").inner_text()
        front.keyboard.press("f")
        for _ in range(4):
            front.keyboard.press("ArrowLeft")
        assert front.locator("#failure-says").inner_text() != said
        front.evaluate("document.activeElement.blur()")

        front.keyboard.press("3")
        front.wait_for_selector(".pages img")
        tab_to(front, ".page-link")
        front.keyboard.press("Enter")
        front.wait_for_selector("#one-page[open] img")
        front.keyboard.press("Escape")
        with front.expect_download() as taken:
            front.keyboard.press("p")
        assert taken.value.path().read_bytes().startswith(b"%PDF-")

        front.keyboard.press("4")
        front.wait_for_url("**/run")
        if front.locator("#run").count():  # the run of before is still in hand
            Device(front.context, served.address).post("/run/away")
            front.reload()
        front.wait_for_selector("button.begin")
        front.keyboard.press("Enter")
        front.wait_for_selector(".hand .main")
        rear.keyboard.press("4")
        rear.wait_for_selector(".hand")
        front.wait_for_timeout(BETWEEN)
        front.keyboard.press("Enter")
        front.wait_for_timeout(BETWEEN)
        front.wait_for_selector("button.cell.due")
        front.keyboard.press("Enter")
        rear.wait_for_selector(".cell.said")
        devices = Device(front.context, served.address), Device(rear.context, served.address)
        to_the_hold(devices)
        rear.wait_for_selector(".hold.held")
        rear.wait_for_timeout(BETWEEN)
        rear.keyboard.press("h")
        rear.wait_for_selector(".hold >> text=cleared by")
        rear.wait_for_timeout(BETWEEN)
        rear.keyboard.press("e")
        rear.wait_for_selector("#emergencies .call:visible")
        tab_to(rear, "#emergencies .call", EMERGENCY)
        rear.keyboard.press("Enter")
        for page in (front, rear):
            page.wait_for_selector(".run.special .stopped")
        until_resumed(devices)
        front.wait_for_selector(".question")
        front.wait_for_timeout(BETWEEN)
        front.keyboard.press("Enter")
        rear.wait_for_selector(".run:not(.special)")

        front.keyboard.press("5")
        front.wait_for_url("**/debrief")
        front.keyboard.press("e")
        front.wait_for_selector(".strip canvas")
        front.wait_for_function("() => document.getElementById('moment').textContent !== ''")
        front.keyboard.press("n")
        front.wait_for_function("() => window.deskDebrief.charts.span < 60")

        front.keyboard.press("6")
        front.wait_for_selector("#search")
        front.keyboard.press("/")
        with front.expect_response(re.compile("q=brake")):
            front.keyboard.type("brake")
        front.wait_for_selector("#results li a")
        front.keyboard.press("ArrowDown")
        front.keyboard.press("Enter")
        front.wait_for_url(re.compile(r"/reference/.+"))

        assert [used(page)[1] for page in (front, rear)] == ["", ""]
