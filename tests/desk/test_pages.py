"""Every page in its frame: ribbon, verdict, caution, choices."""

import re

import pytest

from sortiewright import CAUTION
from sortiewright.desk import Shelf

PARTS = ["prepare", "numbers", "cards", "run", "debrief", "reference"]


def stops(text):
    """Return the states that the ribbon shows, by part."""
    return dict(re.findall(r'class="stop stop-(\w+).*?mark mark-([\w-]+)', text, re.DOTALL))


def open_sortie(client, desk, name):
    id = next(entry.id for entry in desk.shelf.entries() if entry.name == name)
    return client.post("/sortie", data={"sortie": id}, follow_redirects=False)


@pytest.mark.parametrize("part", PARTS)
def test_every_part_has_a_page_that_says_the_caution_once(owner, part):
    answer = owner.get(f"/{part}")

    assert answer.status_code == 200
    assert answer.text.count(CAUTION) == 1
    assert answer.text.count("<h1") == 1
    assert f'class="stop stop-{part} here"' in answer.text


def test_the_first_address_leads_to_preparation(owner):
    assert owner.get("/").url.path == "/prepare"


def test_the_head_is_drawn_anew_by_itself_with_the_ribbon_of_its_page(owner):
    answer = owner.get("/ribbon?here=cards", headers={"hx-request": "true"})

    assert answer.status_code == 200
    assert answer.text.count('aria-current="page"') == 1
    assert stops(answer.text)["numbers"] == "fine"


def test_numbers_show_the_verdict_and_every_section_of_the_plan(owner, desk):
    text = owner.get("/numbers").text

    opened = desk.current.ready
    assert opened.plan.verdict == "go"
    assert "<b>GO</b>" in text
    for section in opened.plan.sections:
        assert f'id="section-{section.name}"' in text
        for figure in section.figures:
            assert f'id="figure-{figure.name}"' in text


# The first lines of sorties/short_wet.yaml and gusting_crosswind.yaml name their verdict.
@pytest.mark.parametrize(
    ("name", "shape"), [("demo", "fine"), ("gusting_crosswind", "caution"), ("short_wet", "no-go")]
)
def test_the_ribbon_shows_the_verdict_by_its_own_shape(owner, desk, name, shape):
    assert open_sortie(owner, desk, name).status_code == 303

    assert stops(owner.get("/numbers").text)["numbers"] == shape


def test_a_faulty_sortie_is_told_on_every_page_and_breaks_none(owner, desk, folder):
    file = folder / "range detail.yaml"
    assert open_sortie(owner, desk, "range detail").status_code == 303
    file.write_text(file.read_text("utf-8").replace("pack: dotterel", "pack: dottrel"), "utf-8")

    text = owner.get("/numbers").text
    assert "FAULTY" in text
    assert "dottrel" in text
    assert "did you mean" in text.lower()
    for part in PARTS:
        assert owner.get(f"/{part}").status_code == 200


def test_a_file_changed_outside_is_noticed(owner, desk, folder):
    file = folder / "range detail.yaml"
    open_sortie(owner, desk, "range detail")
    file.write_text(file.read_text("utf-8").replace("callsign: Thistle 21", "callsign: Thistle 77"), "utf-8")

    assert "Thistle 77" in owner.get("/numbers").text


def test_units_and_colours_are_a_device_s_own_choice(owner, another):
    assert "<title>Numbers" in owner.get("/numbers").text
    owner.post("/units", data={"units": "si"})
    owner.post("/scheme", data={"scheme": "night"})
    mine, theirs = owner.get("/numbers").text, another("rear").get("/numbers").text

    assert 'data-scheme="night"' in mine
    assert 'data-scheme="day"' in theirs
    assert '<span class="unit">kg</span>' in mine
    assert '<span class="unit">lb</span>' in theirs


@pytest.mark.parametrize(("path", "field"), [("/units", "units"), ("/scheme", "scheme"), ("/seat", "seat")])
def test_an_unknown_choice_is_refused_in_words(owner, heading, path, field):
    answer = owner.post(path, data={field: "<script>"})

    assert answer.status_code == 400
    assert heading(answer) == "That could not be read"
    assert "<script>" not in answer.text


def test_a_form_returns_to_the_page_it_came_from_and_nowhere_else(owner):
    def leads(referer):
        answer = owner.post(
            "/units", data={"units": "si"}, headers={"referer": referer}, follow_redirects=False
        )
        return answer.headers["location"]

    assert leads("http://127.0.0.1:4711/numbers?a=1") == "/numbers?a=1"
    assert leads("http://elsewhere.example/numbers") == "/prepare"
    assert leads("http://127.0.0.1:4711//elsewhere.example/") == "/elsewhere.example/"
    assert leads("nonsense") == "/prepare"


def test_pages_hold_no_inline_style_or_script(owner, another):
    for client, paths in ((owner, [f"/{part}" for part in PARTS] + ["/crew", "/join", "/nowhere"]),):
        for path in paths:
            text = client.get(path).text
            assert not re.search(r"\s(style|on\w+)=", text), path
            assert not re.search(r"<style|<script(?![^>]* src=)", text), path
            assert "hx-on" not in text
            assert "js:" not in text


def test_every_file_that_a_page_names_is_served_for_ever(owner):
    addresses = re.findall(r'(?:href|src)="(/assets/[^"]+)"', owner.get("/numbers").text)

    assert len(addresses) > 6
    for address in addresses:
        answer = owner.get(address)
        assert answer.status_code == 200
        assert "immutable" in answer.headers["cache-control"]
    assert owner.get(re.sub(r"/assets/\w+", "/assets/0123456789", addresses[0])).headers["cache-control"] == (
        "no-cache"
    )


# The budget of a page with all its files but recordings: 300 kB.
def test_a_page_with_its_files_and_fonts_weighs_under_300_kb(owner):
    page = owner.get("/numbers")
    addresses = set(re.findall(r'(?:href|src)="(/assets/[^"]+)"', page.text))
    base = next(address for address in addresses if address.endswith("tokens.css")).rpartition("/")[0]
    fonts = {
        f"{base}/{name}" for name in re.findall(r'url\("([^"]+)"\)', owner.get(f"{base}/tokens.css").text)
    }
    weight = len(page.content) + sum(len(owner.get(address).content) for address in addresses | fonts)

    assert len(fonts) == 3
    assert weight < 300_000


def test_ids_on_the_shelf_are_unique_and_lead_back(folder):
    shelf = Shelf(folder)
    entries = shelf.entries()

    assert len({entry.id for entry in entries}) == len(entries) >= 6
    assert all(shelf.find(entry.id) == entry for entry in entries)
    assert [entry.name for entry in entries][:2] == ["range detail", "demo"]
    assert entries[0].title() == "Range detail, two practice bombs a side"


def test_a_link_that_leads_out_of_the_folder_is_not_on_the_shelf(folder, tmp_path_factory):
    outside = tmp_path_factory.mktemp("outside") / "secret.yaml"
    outside.write_text("title: Not yours\n", "utf-8")
    try:
        (folder / "linked.yaml").symlink_to(outside)
    except OSError:
        pytest.skip("this system makes no links")

    assert "linked" not in [entry.name for entry in Shelf(folder).entries()]
    assert "secret" not in [entry.name for entry in Shelf(folder).entries()]
