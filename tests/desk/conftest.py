"""A desk to ask without a network, as whoever started it, as a crew that joined, and as a stranger."""

import re
import shutil

import pytest
from desk_in_browser import BROWSER, PATIENCE, Served
from starlette.testclient import TestClient

from sortiewright.desk import DeskOptions, Shelf, make_app

PORT = 4711
HERE = f"http://127.0.0.1:{PORT}"
FROM_OUR_PAGES = {"origin": HERE}
MOST_PLANS = 60


@pytest.fixture(scope="session", autouse=True)
def planned_once():
    """Plan a sortie with a pack once: every test opens a desk of its own over the same few sorties."""
    from sortiewright.sortie import plan

    made = {}

    def once(sortie, pack):
        key = sortie.model_dump_json(), id(pack)
        if key not in made:
            if len(made) >= MOST_PLANS:
                made.clear()
            made[key] = plan(sortie, pack), pack  # while the pack is here no other has its id
        return made[key][0]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("sortiewright.sortie.plan", once)
        yield


@pytest.fixture
def folder(tmp_path):
    """Return the folder of a user with one sortie of their own."""
    shutil.copy(Shelf().demo().file, tmp_path / "range detail.yaml")
    return tmp_path


@pytest.fixture
def app(folder):
    return make_app(Shelf(folder), DeskOptions(folder=folder, port=PORT))


@pytest.fixture
def desk(app):
    return app.state.desk


@pytest.fixture
def stranger(app):
    """Return a client that was not let in."""
    return TestClient(app, base_url=HERE, raise_server_exceptions=False, headers=FROM_OUR_PAGES)


@pytest.fixture
def another(app):
    """Return a function that makes a further client in a seat, joined by code."""

    def joined(seat):
        client = TestClient(app, base_url=HERE, raise_server_exceptions=False, headers=FROM_OUR_PAGES)
        answer = client.post(
            "/join", data={"code": app.state.desk.code.code, "seat": seat}, follow_redirects=False
        )
        assert answer.status_code == 303
        return client

    return joined


@pytest.fixture
def owner(app, stranger):
    """Return a client that came in by the link of whoever started the desk."""
    answer = stranger.get(f"/enter?token={app.state.desk.sessions.new_token()}", follow_redirects=False)
    assert answer.status_code == 303
    return stranger


@pytest.fixture
def heading():
    """Return a function that reads the first heading of a page."""

    def read(answer):
        return re.search(r"<h1>(.*?)</h1>", answer.text)[1]

    return read


# For a module each, not longer: while it is there, asyncio runs nothing else in this thread.
@pytest.fixture(scope="module")
def browser():
    """Return Chromium."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as started:
        opened = started.chromium.launch(executable_path=BROWSER, args=["--no-sandbox"])
        yield opened
        opened.close()


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    """Return a desk in a process of its own, over a folder with one sortie, range.yaml."""
    folder = tmp_path_factory.mktemp("sorties")
    shutil.copy(Shelf().demo().file, folder / "range.yaml")
    desk = Served(folder)
    yield desk
    desk.kill()
    assert "Traceback" not in desk.said


@pytest.fixture(scope="module")
def front(browser, served):
    """Return a context that came in by the printed link."""
    context = browser.new_context()
    context.set_default_timeout(PATIENCE)
    page = context.new_page()
    page.goto(served.link)
    page.wait_for_selector(".stamp-go")  # it opened early, and painted itself anew
    page.close()
    yield context
    context.close()
