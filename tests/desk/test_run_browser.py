"""A crew of two at their run in browsers: answers, holds, emergencies, lost connections, a killed server."""

import json
import re
import socket
import time

import pytest
from cut_network import CutNetwork
from desk_in_browser import BROWSER, PATIENCE, SIZES, count_ticks, page_of, ticks
from run_at_desk import press, press_all

pytest.importorskip("playwright.sync_api")
pytestmark = pytest.mark.skipif(BROWSER is None, reason="no Chromium on this machine")

BETWEEN = 400  # ms; a second press that follows faster is taken for the first one's echo


OF_A_LOST_DESK = re.compile("Failed to load|ERR_|htmx:sse:error")


class Seat:
    """A context's requests without its pages."""

    def __init__(self, context, served):
        self.context, self.served = context, served

    def get(self, path):
        return Answer(self.context.request.get(self.served.address + path))

    def post(self, path, data=None, headers=None):
        for _ in range(30):
            answer = Answer(
                self.context.request.post(
                    self.served.address + path,
                    form=data or {},
                    headers={"origin": self.served.address, **(headers or {})},
                )
            )
            if answer.status_code != 429:
                break
            time.sleep(0.5)
        return answer


class Answer:
    def __init__(self, response):
        self.status_code, self.text = response.status, response.text()


@pytest.fixture(scope="module")
def rear(browser, served, front):
    """Return a context that joined by the code, in the rear seat."""
    with page_of(front, f"{served.address}/crew") as page:
        code = page.locator(".code").inner_text()
    context = browser.new_context()
    context.set_default_timeout(PATIENCE)
    with page_of(context, f"{served.address}/join") as page:
        page.locator("#code").fill(code)
        page.get_by_label("Rear").check()
        page.get_by_role("button", name="Join").click()
        page.wait_for_url("**/run")
    yield context
    context.close()


@pytest.fixture
def run(front, rear, served):
    """Return the crew's two seats with a new run in hand."""
    seats = Seat(front, served), Seat(rear, served)
    assert seats[0].post("/run/begin").status_code == 200
    return seats


@pytest.fixture
def pages(front, rear, served, run):
    """Return a page of each seat at the run; nothing may have gone wrong in either."""
    with (
        page_of(front, f"{served.address}/run") as one,
        page_of(rear, f"{served.address}/run", (390, 844)) as other,
    ):
        for page in (one, other):
            page.wait_for_selector("#run")
        other.wait_for_timeout(300)  # their streams are open; what came before that is told again
        yield one, other
        for page in (one, other):
            assert [text for text in page.said if not OF_A_LOST_DESK.search(text)] == []


@pytest.fixture
def network(served):
    """Return a network to the desk that can be cut; cookies do not tell its port from the desk's."""
    made = CutNetwork(served.port)
    yield made
    made.mend()
    made.close()


def open_list(run, name):
    assert press(run[0], f"open:{name}:::front", "begins here").status_code == 200


def enter(page):
    page.keyboard.press("Enter")
    page.wait_for_timeout(BETWEEN)


def begin(page):
    """Open the first list, and wait until it is there: before that a second press is the same one again."""
    enter(page)
    page.wait_for_selector("h1 >> text=Walk-round")


def title(page):
    return page.locator("h1").inner_text()


def test_what_one_seat_answers_the_other_sees_and_each_sees_its_own_part(pages):
    front, rear = pages
    begin(front)
    rear.wait_for_selector("h1 >> text=Walk-round")
    enter(front)
    rear.wait_for_selector("#line-gear_pins .cell.said")
    front.wait_for_selector("#line-intake_covers button.cell.own.due")
    front.wait_for_selector(".list-about >> text=Rear seat connected")

    assert front.locator("#line-intake_covers button.cell.own.due").count() == 1
    assert rear.locator("#line-intake_covers button.cell").count() == 0
    assert rear.locator("#line-intake_covers .cell.other.hatched").count() == 1
    assert rear.locator(".hand [data-waits]").inner_text() == "Waiting for\nFront seat"


def test_a_list_is_gone_through_with_the_mouse_alone_and_said_to_be_complete(pages, run):
    front, _ = pages
    open_list(run, "stores_walk_round")
    front.wait_for_selector("h1 >> text=Stores")
    for _ in range(4):
        front.locator("button.cell.due").first.click()
        front.wait_for_timeout(BETWEEN)
    front.locator(".hand .main >> text=Stores complete").click()

    front.wait_for_selector("h1 >> text=Next: Cockpit entry")


def test_a_hold_is_boxed_tells_how_long_and_is_cleared_by_whom_it_waits_for(pages, run):
    front, rear = pages
    open_list(run, "power_on")
    rear.wait_for_selector(".is-hold .hold.held >> text=Crew chief")
    rear.wait_for_selector(".waited >> text=/waiting (0:0[1-9]|0:[1-5]|[1-9])/")
    front.wait_for_selector(".is-hold")
    assert front.locator("#line-battery button.cell").count() == 1
    front.locator("#line-battery button.cell").click()
    front.wait_for_selector("#run-news >> text=Crew chief clears it, or override it with a reason")
    rear.wait_for_timeout(BETWEEN)
    rear.keyboard.press("h")

    front.wait_for_selector("#line-ground_power .hold >> text=cleared by Crew chief")
    front.wait_for_selector("#line-ground_power button.cell.due")


def test_an_emergency_is_two_touches_away_and_leads_back_to_where_the_list_stopped(pages, run):
    front, rear = pages
    open_list(run, "taxi")
    press_all(run, until=lambda deed: deed.startswith("complete:taxi"))
    front.wait_for_selector("h1 >> text=Taxi")
    rear.locator("#emergency").click()
    rear.locator("#emergencies .call:visible", has_text="Hot brakes").first.click()
    for page in pages:
        page.wait_for_selector(".run.special h1 >> text=Hot brakes")
    assert "Stopped Taxi" in front.locator(".stopped").inner_text()
    press_all(run, until=lambda deed: deed.startswith("resume"))
    front.wait_for_selector(".question")
    asked = front.locator(".question").inner_text()

    assert asked.startswith("Taxi was interrupted. Last answered: ")
    assert asked.count(", ") >= 2
    enter(front)
    front.wait_for_selector("h1 >> text=Taxi")
    assert front.locator(".question").count() == 0


def test_words_are_asked_for_and_need_no_keyboard(pages):
    front, rear = pages
    begin(front)
    front.keyboard.press("s")
    front.locator("#ask-offered >> text=Done before").click()
    rear.wait_for_selector("#line-gear_pins .said-words >> text=Front seat left it out: Done before")
    front.wait_for_selector("#line-gear_pins .said-words")
    front.wait_for_timeout(BETWEEN)
    front.keyboard.press("n")
    front.locator("#ask-words").fill("One cover is loose")
    front.locator("#ask-words").press("Enter")
    rear.wait_for_selector("#line-intake_covers .said-words >> text=Front seat disagrees: One cover is loose")
    front.wait_for_selector("#line-intake_covers .said-words")
    front.wait_for_timeout(BETWEEN)
    front.keyboard.press("z")
    rear.wait_for_selector("#line-intake_covers .said-words", state="detached")


def test_arrows_walk_the_list_and_enter_answers_where_they_stand(pages):
    front, _ = pages
    begin(front)
    front.keyboard.press("ArrowDown")
    assert front.evaluate("document.activeElement.closest('.line').id") == "line-gear_pins"
    front.keyboard.press("ArrowDown")
    enter(front)
    front.wait_for_selector("#run-news >> text=Gear pins comes first")
    front.keyboard.press("ArrowUp")
    enter(front)

    front.wait_for_selector("#line-gear_pins .cell.said")


def test_presses_made_without_a_connection_are_kept_shown_and_sent_once(pages, front, network):
    _, rear = pages
    with page_of(front, f"{network.address}/run") as page:
        begin(page)
        enter(page)
        for one in (page, rear):
            one.wait_for_selector("#line-gear_pins .cell.said")
        network.cut()
        page.wait_for_selector("html.cut-off")
        enter(page)
        enter(page)
        page.wait_for_selector("#queue >> text=2 presses are not sent yet")
        assert page.locator(".hand-main .main").inner_text() == "5 Tyres\nNo cord, no cuts"
        assert page.locator(".of-turn:visible").count() == 0
        assert page.locator("[data-not-sent]:visible").count() == 2
        assert rear.locator(".cell.said").count() == 1
        network.mend()
        rear.wait_for_selector("#line-pitot_cover .cell.said")
        page.wait_for_selector("#queue", state="hidden")
        page.wait_for_selector("#line-pitot_cover .cell.said")

        assert rear.locator(".cell.said").count() == 3
        assert page.locator("[data-not-sent]:visible").count() == 0


def test_an_emergency_can_be_read_without_a_connection_and_is_called_when_there_is_one(pages, front, network):
    _, rear = pages
    with page_of(front, f"{network.address}/run") as page:
        enter(page)
        rear.wait_for_selector(".is-due")
        network.cut()
        page.wait_for_selector("html.cut-off")
        page.keyboard.press("e")
        page.locator("#emergencies .book .call", has_text="Brake fire").click()
        page.wait_for_selector("[data-list=brake_fire] details[open] li >> nth=2")
        network.mend()

        rear.wait_for_selector(".run.special h1 >> text=Brake fire")


def test_a_server_that_is_killed_loses_nothing_that_it_has_acknowledged(pages, served):
    front, rear = pages
    begin(front)
    for _ in range(3):
        enter(front)
    rear.wait_for_selector("#line-pitot_cover .cell.said")
    served.kill()
    assert "Traceback" not in served.said
    front.wait_for_selector("html.cut-off")
    enter(front)  # while nobody is there
    served.start()
    for page in pages:
        page.wait_for_selector("html:not(.cut-off)", state="attached")
        page.wait_for_selector("#line-tyres .cell.said")

    assert rear.locator(".cell.said").count() == 4
    assert title(rear) == "Walk-round"


def test_a_tablet_that_slept_shows_the_run_as_it_is_when_it_wakes(pages, run):
    front, rear = pages
    open_list(run, "cockpit_entry")
    rear.wait_for_selector("h1 >> text=Cockpit entry")
    sleep = """asleep => {
        Object.defineProperty(document, "hidden", { configurable: true, get: () => asleep });
        document.dispatchEvent(new Event("visibilitychange"));
    }"""
    rear.evaluate(sleep, True)
    rear.wait_for_timeout(500)
    open_list(run, "taxi")
    press_all(run, until=lambda deed: deed.startswith("complete:taxi"))
    press(run[0], "call:hot_brakes:::front")
    front.wait_for_selector(".run.special h1 >> text=Hot brakes")
    assert title(rear) == "Cockpit entry"
    rear.evaluate(sleep, False)

    rear.wait_for_selector(".run.special h1 >> text=Hot brakes")
    assert "Stopped Taxi" in rear.locator(".stopped").inner_text()


def test_a_device_speaks_only_if_it_is_asked_to_and_only_what_concerns_its_seat(pages, run):
    listen = """() => { window.spoken = []; speechSynthesis.speak = one => window.spoken.push(one.text); }"""
    front, rear = pages
    for page in pages:
        page.evaluate(listen)
    open_list(run, "power_on")
    front.wait_for_selector(".is-hold")
    assert front.evaluate("window.spoken") == []
    rear.wait_for_selector(".is-hold")
    rear.keyboard.press("v")
    rear.wait_for_selector("#voice >> text=Voice is on")
    rear.evaluate("window.spoken.length = 0")
    rear.keyboard.press("h")
    front.wait_for_selector("#line-ground_power button.cell.due")
    rear.wait_for_function("() => window.spoken.length > 0")
    rear.wait_for_timeout(200)  # and nothing after it

    assert rear.evaluate("window.spoken") == ["Ground power connected: cleared by Crew chief"]
    assert front.evaluate("window.spoken") == []
    rear.keyboard.press("v")


def test_live_values_stand_beside_items_confirm_them_and_are_struck_out_when_they_stop(pages, run, served):
    front, rear = pages
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        asked.bind(("127.0.0.1", 0))
        port = asked.getsockname()[1]
    open_list(run, "before_start")
    assert run[1].post("/run/listen", {"port": str(port)}).status_code == 403
    assert run[0].post("/run/listen", {"port": str(port)}).status_code == 200
    number = 0
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as sender:

        def send(**values):
            nonlocal number
            number += 1
            message = {"t": number * 0.1, "seq": number, "v": values}
            sender.sendto(json.dumps(message).encode(), ("127.0.0.1", port))

        beside = "[data-beside=parking_brake]"
        send(parking_brake_set=False, indicated_airspeed=100.0)
        rear.wait_for_selector(f"{beside} >> text=parking brake set: no")
        assert not rear.locator(f"{beside} .eye").is_visible()
        # 100 m/s are 194.4 kt: a knot is 1852 m an hour.
        rear.wait_for_selector(".dial >> text=194 kt")
        sent = time.monotonic()
        send(parking_brake_set=True, indicated_airspeed=100.0)
        rear.wait_for_selector(f"{beside}.seen .eye")
        assert rear.locator("#line-parking_brake .cell.said").count() == 0
        front.wait_for_selector(f"{beside}.seen")
        count_ticks(front)
        front.wait_for_selector(f"{beside}.stale")
        stale = time.monotonic() - sent
        late = ticks(front)
        line = front.locator(f"{beside} .now").evaluate("one => getComputedStyle(one).textDecorationLine")

        # Not before it is old; and then at once, by the page's own time.
        assert stale > 1.5
        assert late <= 16
        assert line == "line-through"
        assert not front.locator(f"{beside} .eye").is_visible()
    run[0].post("/run/stop-listening")


def test_pages_of_a_run_keep_nobody_out(front, served, run):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    open_list(run, "power_on")
    found = []

    def look(page, what):
        for one in axe.run(page).response["violations"]:
            found.append((what, one["id"], [node["target"] for node in one["nodes"]]))

    with page_of(front, f"{served.address}/run") as page:
        for scheme in ("day", "night"):
            page.evaluate("scheme => document.documentElement.dataset.scheme = scheme", scheme)
            look(page, scheme)
        for panel in ("emergencies", "lists"):
            page.locator(f"[data-opens={panel}]").click()
            look(page, panel)
            page.keyboard.press("Escape")
        for path in ("run/emergencies", "run/ask?deed=note::::front"):
            page.goto(f"{served.address}/{path}")
            look(page, path)

    assert found == []


def test_a_run_fits_every_screen_and_a_glove(front, served, run):
    too_small = """() => [...document.querySelectorAll('button, a.button, .cell, summary, input')]
        .filter(one => one.checkVisibility() && !one.matches('.number, [type=checkbox]'))
        .map(one => [one.textContent.trim() || one.className, one.getBoundingClientRect()])
        .filter(([, box]) => box.height < 48 || box.width < 48).map(([name]) => name)"""
    open_list(run, "start")
    with page_of(front, f"{served.address}/run") as page:
        for width, height in SIZES:
            page.set_viewport_size({"width": width, "height": height})
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            assert page.evaluate(too_small) == [], width


# Eyes used to the dark lose that to anything but red: no pixel is greener or bluer than the red family is.
def test_a_run_is_red_at_night(front, served, run):
    import io

    import numpy as np
    from PIL import Image

    open_list(run, "start")
    with page_of(front, f"{served.address}/run") as page:
        page.evaluate("document.documentElement.dataset.scheme = 'night'")
        for opens in ("", "emergencies", "lists"):
            if opens:
                page.locator(f"[data-opens={opens}]").click()
            page.wait_for_timeout(200)
            pixels = np.asarray(Image.open(io.BytesIO(page.screenshot(full_page=True))).convert("RGB"))
            red, green, blue = np.moveaxis(pixels.astype(int), -1, 0)
            page.keyboard.press("Escape")

            assert np.all(green <= 0.55 * red + 8), opens
            assert np.all(blue <= green + 4), opens
