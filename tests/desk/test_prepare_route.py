"""The route on its page, the landing elsewhere, and all that a sortie may say is said on some page."""

import html
import math
import re
from dataclasses import replace

import pytest
from ruamel.yaml import YAML
from starlette.datastructures import FormData
from starlette.testclient import TestClient

from sortiewright.desk import DeskOptions, Shelf, make_app
from sortiewright.desk import prepare_acts as acts
from sortiewright.desk.current import PACKS, opened_sortie
from sortiewright.desk.editing import Edit, edited
from sortiewright.desk.prepare_board import PANELS
from sortiewright.desk.prepare_words import KEYS, degrees_text, place_words
from sortiewright.desk.route_chart import chart_of
from sortiewright.desk.saving import save_copy
from sortiewright.pack import record_shape
from sortiewright.sortie import Sortie

IN_PLACE = {"hx-request": "true"}


@pytest.fixture
def routed(owner, desk):
    """Return the owner's client with a sortie of the user's open: the demo's."""
    id = next(entry.id for entry in desk.shelf.entries() if entry.name == "range detail")
    assert owner.post("/sortie", data={"sortie": id}, follow_redirects=False).status_code == 303
    return owner


@pytest.fixture(scope="module")
def demo():
    """Return the shipped demo sortie, opened."""
    return opened_sortie(Shelf().demo(), packs=PACKS)


class Sheet:
    """A sortie's text that forms edit, without a desk around it: nothing is planned until it is asked."""

    def __init__(self, opened, text=None):
        self.opened = replace(opened, text=opened.text if text is None else text)

    def do(self, form_act, /, **data):
        pairs = [
            (key, one)
            for key, value in data.items()
            for one in ([value] if isinstance(value, str) else value)
        ]
        edits, self.label = form_act(FormData(pairs), self.opened)
        self.opened = replace(self.opened, text=edited(self.opened.text, edits))

    def edit(self, key, value, **more):
        self.do(acts.edit_value, key=key, value=value, **more)

    def words(self, key, kind, value, **more):
        self.do(acts.edit_words, key=key, words=kind, value=value, **more)

    @property
    def text(self):
        return self.opened.text

    @property
    def said(self):
        return YAML(typ="safe", pure=True).load(self.text)

    @property
    def plan(self):
        return opened_sortie(self.opened.entry, draft=self.text, packs=PACKS).plan


@pytest.fixture
def sheet(demo):
    return Sheet(demo)


def post(client, path, at="route", **data):
    answer = client.post(f"/prepare/{path}", data={"at": at, **data}, headers=IN_PLACE)
    assert answer.status_code == 200
    return answer.text


def edit(client, key, value, at="route", **more):
    return post(client, "edit", at, key=key, value=value, **more)


def words(client, key, kind, value, **more):
    return post(client, "words", key=key, words=kind, value=value, **more)


def said(desk):
    return YAML(typ="safe", pure=True).load(desk.current.ready.text)


def seen_on(text):
    return re.search(r'name="seen" value="(\w+)"', text)[1]


def refusal(text):
    found = re.search(r'role="alert"[^>]*>([^<]*)', text)
    return html.unescape(found[1]) if found else ""


def key_of_shape(path):
    return "/" + "/".join("*" if isinstance(key, int) else key for key in path)


def leaves(shape, path=()):
    """Yield every key of a sortie that holds a value, list positions and names of mappings as 0 or *."""
    if shape.record is not None:
        for name in shape.record.model_fields:
            yield from leaves(shape.child(name), (*path, name))
    elif shape.sort in ("list", "mapping") and shape.item is not None and shape.item.record is not None:
        yield from leaves(shape.item, (*path, 0))
    else:
        yield key_of_shape(path)


BY_ACTS = {
    "/load/fuel/total": "gauge",
    "/load/fuel/tanks": "gauge",
    "/load/fuel/external": "gauge",
    "/load/stores": "stations",
    "/load/release_order": "order of release",
    "/runway": "use a runway",
    "/landing_place/runway": "use a runway, or a field while the landing is at the same field",
    "/aerodrome/icao": "look up",
    "/landing_place/aerodrome/icao": "look up",
    "/route/legs/*/then/*/release": "ticks",
}
"""Keys that are edited by something else than one field: each is tested here or in test_prepare.py."""


def test_every_key_that_a_sortie_may_have_is_edited_on_some_page(routed, desk, folder, sheet):
    for what in ("orbit", "refuel", "task", "turn"):
        sheet.do(acts.edit_then, act="add", index="2", do=what)
    sheet.edit("/route/recovery/alternate/at", "ZZCH")
    sheet.do(acts.edit_landing, act="begin", code="BIRK", designator="19", length="5100", unit="ft")
    sheet.do(acts.edit_runway, act="cable", field="landing", index="0")
    (folder / "range detail.yaml").write_text(sheet.text, "utf-8")
    pages = [f"/prepare/{name}" for name, _ in PANELS]
    pages += ["/prepare/route?chosen=leg-3", "/prepare/route?chosen=point-GARVEL"]
    found = set()
    for text in (routed.get(page, headers=IN_PLACE).text for page in pages):
        for form in re.findall(r"<form.*?</form>", text, re.DOTALL):
            if not (key := re.search(r'name="key" value="([^"]*)"', form)):
                continue
            pointer = re.sub(r"/[0-9]+(?=/|$)", "/*", html.unescape(key[1]))
            pointer = re.sub(r"^/(route/points|crew)/[^/]+", r"/\1/*", pointer)
            kind = re.search(r'name="words" value="(\w+)"', form)
            found |= {f"{pointer}/{one}" for one in KEYS[kind[1]]} if kind else {pointer}

    wanted = set(leaves(record_shape(Sortie)))
    assert len(wanted) > 150
    assert wanted - found - set(BY_ACTS) == set()


@pytest.mark.parametrize("what", ["orbit", "refuel", "release", "task", "turn"])
def test_what_is_begun_at_a_point_can_be_planned_at_once(sheet, what):
    if what == "release":
        sheet.do(acts.edit_then, act="leave", index="5", then="0")

    sheet.do(acts.edit_then, act="add", index="5", do=what)

    assert list(sheet.said["route"]["legs"][5]["then"][-1]) == [what]
    assert sheet.plan is not None


def test_what_is_done_at_a_point_is_edited_sorted_and_left_out(sheet):
    done = lambda: sheet.said["route"]["legs"][5]["then"]  # noqa: E731
    at = "/route/legs/5/then/1/task"
    sheet.edit(f"{at}/fuel_flow", "5200", unit="lb/h")
    assert "power" not in done()[1]["task"]  # one of the two: what was said last
    assert done()[1]["task"]["fuel_flow"] == "5200 lb/h"
    sheet.words(at, "level", "3000", unit="ft")
    assert done()[1]["task"]["altitude"] == "3000 ft"
    sheet.do(acts.edit_then, act="earlier", index="5", then="1")
    assert [next(iter(one)) for one in done()] == ["task", "release"]
    sheet.do(acts.edit_then, act="release", index="5", then="1", lets_go=["right_inboard"])
    assert done()[1] == {"release": ["right_inboard"]}
    sheet.do(acts.edit_then, act="release", index="5", then="1")  # none is wanted: there is no release
    sheet.do(acts.edit_then, act="leave", index="5", then="0")
    assert "then" not in sheet.said["route"]["legs"][5]
    sheet.edit("/route/legs/4/then/0/orbit/until", "10:08Z")
    assert sheet.said["route"]["legs"][4]["then"][0]["orbit"]["until"] == "10:08Z"
    assert "time" not in sheet.said["route"]["legs"][4]["then"][0]["orbit"]
    assert "# until the range is clear" in sheet.text


def test_a_time_on_target_takes_the_place_of_a_speed_and_a_speed_of_the_time(sheet):
    leg = lambda: sheet.said["route"]["legs"][6]  # noqa: E731
    sheet.edit("/route/legs/6/arrive", "10:25:40Z")
    assert leg() == {"to": "STRONE", "altitude": "1000 ft", "arrive": "10:25:40Z"}
    sheet.words("/route/legs/6", "speed", "430", unit="kt")
    assert leg() == {"to": "STRONE", "altitude": "1000 ft", "cas": "430 kt"}


def test_what_is_refused_stands_beside_its_field_with_what_was_typed(routed, desk):
    before = desk.current.ready.text
    field = "f-route-legs-3-speed"

    text = words(routed, "/route/legs/3", "speed", "quick & low", chosen="leg-4", beside=field)

    form = next(one for one in re.findall(r"<form.*?</form>", text, re.DOTALL) if f'id="{field}"' in one)
    assert 'value="quick &amp; low"' in form
    assert "is no speed" in refusal(form)
    assert f'aria-describedby="{field}-refused"' in form
    assert text.count('role="alert"') == 1
    assert desk.current.ready.text == before


def test_a_renamed_point_takes_its_uses_and_its_comment_along(routed, desk, folder):
    file = folder / "range detail.yaml"
    text = file.read_text("utf-8").replace(
        "    FENNOCH: {latitude", "    FENNOCH:  # by the lighthouse\n      {latitude"
    )
    text = text.replace("title: Recovery fix}", "title: Recovery fix}").replace(
        "    fix_altitude: 3000 ft", "    fix_altitude: 3000 ft\n    alternate: {at: FENNOCH}"
    )
    file.write_text(text, "utf-8")
    routed.get("/prepare/route")

    page = post(routed, "point", act="rename", name="FENNOCH", new="loch eil", chosen="point-FENNOCH")

    route = said(desk)["route"]
    uses = (route["legs"][-1]["to"], route["recovery"]["fix"], route["recovery"]["alternate"]["at"])
    assert uses == ("LOCH EIL",) * 3
    assert "FENNOCH" not in desk.current.ready.text
    assert "    LOCH EIL:  # by the lighthouse\n" in desk.current.ready.text
    assert desk.current.ready.plan is not None
    assert '<h3 id="chosen-title" tabindex="-1">LOCH EIL' in page
    assert "is a point TIRAN already" in refusal(
        post(routed, "point", act="rename", name="LOCH EIL", new="TIRAN")
    )
    assert said(desk)["route"]["points"].keys() >= {"LOCH EIL", "TIRAN"}
    post(routed, "undo")
    assert desk.current.ready.text == text


# A position is written in degrees, or in degrees and minutes, 60 a degree (ISO 6709, annex D).
@pytest.mark.parametrize(
    ("typed", "axis", "degrees"),
    [
        ("56.25", "latitude", 56.25),
        ("-5.08", "longitude", -5.08),
        ("56 15.0 N", "latitude", 56.25),
        ("N56°15.0′", "latitude", 56.25),
        ("56°15'36\"S", "latitude", -56.26),
        ("W 5 04 48", "longitude", -5.08),
        ("005°04.8'w", "longitude", -5.08),
    ],
)
def test_a_position_is_read_in_degrees_or_minutes(typed, axis, degrees):
    assert float(degrees_text(typed, axis)) == pytest.approx(degrees, abs=1e-5)


@pytest.mark.parametrize("typed", ["", "north", "56 61 N", "5 04.8 W", "N56 15 S", "56 15", "1 2 3 4 N"])
def test_what_is_no_latitude_is_refused(typed):
    with pytest.raises(ValueError, match="is no latitude"):
        degrees_text(typed, "latitude")


def test_a_position_that_is_shown_can_be_typed_again():
    for latitude, longitude in ((56.25, -5.08), (-0.01, 0.0), (89.9999, 179.99999), (-33.946, 151.177)):
        shown = place_words(latitude, longitude).split(" ")
        assert float(degrees_text(shown[0], "latitude")) == pytest.approx(latitude, abs=0.05 / 60 + 1e-5)
        assert float(degrees_text(shown[1], "longitude")) == pytest.approx(longitude, abs=0.05 / 60 + 1e-5)


def test_a_point_is_moved_added_and_flown_to(sheet):
    points = lambda: sheet.said["route"]["points"]  # noqa: E731
    sheet.edit("/route/points/GARVEL/latitude", "56 02.4 N")
    assert points()["GARVEL"]["latitude"] == pytest.approx(56.04)
    sheet.do(acts.edit_point, act="move", name="GARVEL", latitude="56.05", longitude="-5.9")
    assert (points()["GARVEL"]["latitude"], points()["GARVEL"]["longitude"]) == (56.05, -5.9)
    sheet.do(acts.edit_point, act="add", name="corrie", latitude="56.5", longitude="-5.2", where="9")
    assert [one["to"] for one in sheet.said["route"]["legs"][-2:]] == ["CORRIE", "FENNOCH"]
    with pytest.raises(ValueError, match="is used: leg 10"):
        sheet.do(acts.edit_point, act="remove", name="CORRIE")
    with pytest.raises(ValueError, match="already"):
        sheet.do(acts.edit_point, act="add", name="ZZCH", latitude="1", longitude="1")
    sheet.do(acts.edit_leg, act="remove", index="9")
    sheet.do(acts.edit_point, act="remove", name="CORRIE")
    assert "CORRIE" not in sheet.text
    # North along a meridian: NIMA TR8350.2, 3.3: its radius is a (1 - e2) / (1 - e2 sin2 lat)^1.5.
    sheet.do(acts.edit_point, act="from", name="ZZCH", bearing="0", distance="60", new="north")
    radius = 6378137.0 * (1 - 0.00669438) / (1 - 0.00669438 * math.sin(math.radians(56.71)) ** 2) ** 1.5
    assert points()["NORTH"]["latitude"] == pytest.approx(56.214 + math.degrees(60 * 1852 / radius), abs=1e-4)
    assert points()["NORTH"]["longitude"] == pytest.approx(-5.083, abs=1e-4)


def test_a_point_written_in_place_is_shown_placed_and_named(routed, desk, folder):
    file = folder / "range detail.yaml"
    file.write_text(
        file.read_text("utf-8").replace("{to: TIRAN}", "{to: {latitude: 56.48, longitude: -6.78}}"), "utf-8"
    )
    text = routed.get("/prepare/route?chosen=leg-2").text
    assert "56°28.8′N 6°46.8′W" in text
    edit(routed, "/route/legs/1/to/latitude", "56 30 N")

    post(routed, "point", act="name", where="1", name="islet", chosen="leg-2")

    assert said(desk)["route"]["legs"][1]["to"] == "ISLET"
    assert said(desk)["route"]["points"]["ISLET"] == {"latitude": 56.5, "longitude": -6.78}
    assert desk.current.ready.plan is not None


def test_legs_are_sorted_and_the_first_keeps_a_height(sheet):
    legs = lambda: sheet.said["route"]["legs"]  # noqa: E731
    sheet.do(acts.edit_leg, act="insert", index="0", value="FENNOCH")
    assert legs()[0] == {"to": "FENNOCH", "flight_level": 180}
    sheet.do(acts.edit_leg, act="remove", index="0")
    sheet.do(acts.edit_leg, act="remove", index="0")
    assert legs()[0] == {"to": "TIRAN", "flight_level": 180}
    sheet.do(acts.edit_leg, act="later", index="0")
    assert legs()[:2] == [
        {"to": "SKARVE", "arrive_altitude": "2500 ft", "flight_level": 180},
        {"to": "TIRAN", "flight_level": 180},
    ]


def test_a_press_that_is_sent_twice_is_done_once(routed, desk):
    press = {"act": "later", "index": "3", "seen": seen_on(routed.get("/prepare/route").text)}
    post(routed, "leg", **press)
    once = desk.current.ready.text

    text = post(routed, "leg", **press)

    assert desk.current.ready.text == once
    assert refusal(text) == ""


def test_a_press_on_a_page_whose_list_is_older_is_told_not_done(routed, desk):
    seen = seen_on(routed.get("/prepare/route").text)
    post(routed, "leg", act="remove", index="0")
    shorter = desk.current.ready.text

    text = post(routed, "leg", act="remove", index="3", seen=seen)

    assert desk.current.ready.text == shorter
    assert "changed on another page" in refusal(text)
    assert "changed" in refusal(edit(routed, "/route/legs/3/arrive", "10:00Z", seen=seen))
    edit(routed, "/callsign", "Thistle 3", seen=seen)  # names no position
    assert said(desk)["callsign"] == "Thistle 3"


def test_a_route_is_begun_there_and_back(sheet):
    sheet.do(acts.edit_route, act="forget")
    sheet.do(acts.edit_route, act="begin", new="p1", bearing="300", distance="60")

    assert [one["to"] for one in sheet.said["route"]["legs"]] == ["P1", "ZZCH"]
    assert sheet.plan.route.complete


def test_winds_and_the_alternate_are_written_and_taken_away(sheet):
    route = lambda: sheet.said["route"]  # noqa: E731
    sheet.do(acts.edit_wind, act="add", value="FL350")
    assert route()["winds_aloft"][-1] == {"flight_level": 350, "wind_from": "270 deg", "wind_speed": "20 kt"}
    sheet.words("/route/winds_aloft/0", "level", "3000", unit="ft")
    assert route()["winds_aloft"][0]["altitude"] == "3000 ft"
    for _ in range(7):
        sheet.do(acts.edit_wind, act="remove", index="0")
    assert "winds_aloft" not in route()
    sheet.edit("/route/recovery/alternate/at", "TIRAN")
    sheet.edit("/route/recovery/alternate/recovery_fuel", "1800", unit="lb")
    sheet.words("/route/recovery/alternate", "level", "FL100")
    assert route()["recovery"]["alternate"] == {
        "at": "TIRAN",
        "recovery_fuel": "1800 lb",
        "flight_level": 100,
    }
    sheet.edit("/route/recovery/alternate/at", "")
    assert "alternate" not in route()["recovery"]


# The inverse of what is drawn: each point's own place on the chart is its latitude and longitude.
def test_a_place_pressed_on_the_chart_is_the_place_that_is_drawn_there():
    places = {"A": (56.0, -5.0), "B": (57.3, -4.1), "C": (55.2, -7.7)}
    chart = chart_of(places, ["B", "C"], "A", chosen_leg=1, chosen_point="C", pin=(56.5, -5.5))

    for one in chart.points:
        latitude, longitude = places[one.name]
        assert chart.north - one.y * chart.latitude_step == pytest.approx(latitude, abs=1e-3)
        assert chart.west + one.x * chart.longitude_step == pytest.approx(longitude, abs=1e-3)
    assert chart.north - chart.pin[1] * chart.latitude_step == pytest.approx(56.5, abs=1e-3)
    assert chart.chosen_leg.startswith("M")
    assert [one.name for one in chart.points if one.is_chosen] == ["C"]
    assert chart_of(places, [], "A", pin=(10.0, 10.0)).pin is None
    alone = chart_of({"A": (56.0, -5.0)}, ["A"], "A")
    assert (alone.points[0].x, alone.points[0].y) == pytest.approx(
        (alone.width / 2, alone.height / 2), abs=0.1
    )


def test_what_is_chosen_is_opened_and_the_chart_leads_to_it(routed):
    text = routed.get("/prepare/route").text
    for name in ("GARVEL", "ZZCH"):
        assert f'href="/prepare/route?chosen=point-{name}"' in text
    pinned = routed.get("/prepare/route?chosen=at56.8_-5.3").text
    assert "Here: 56°48.0′N 5°18.0′W" in pinned
    assert 'class="pin"' in pinned
    assert routed.get("/prepare/route?chosen=leg-6", headers=IN_PLACE).text.count('class="leg-card"') == 1
    for nothing in ("leg-0", "leg-77", "point-NOWHERE", "at91_0", "at1_", "x" * 500):
        assert 'id="chosen-title"' not in routed.get(f"/prepare/route?chosen={nothing}").text


def test_the_sortie_lands_at_another_field_and_at_home_again(sheet):
    sheet.do(acts.edit_route, act="forget")
    before = sheet.text
    # The open list of airportsdata has it: Stornoway, 58.2 N 6.3 W.
    sheet.do(acts.edit_landing, act="begin", code="egpo", designator="18", length="7500", unit="ft")
    place = sheet.said["landing_place"]
    assert place["aerodrome"]["icao"] == "EGPO"
    assert place["aerodrome"]["latitude"] == pytest.approx(58.2, abs=0.1)
    # ICAO Annex 14, 5.2.2.4: the number is the magnetic bearing in tens of degrees.
    assert place["aerodrome"]["runways"] == [
        {"designator": "18", "magnetic_heading": "180 deg", "length": "7500 ft"}
    ]
    assert place["runway"] == "18"
    sheet.do(acts.edit_runway, act="other_end", field="landing", index="0")
    sheet.do(acts.edit_runway, act="use", field="landing", index="1")
    assert (sheet.said["landing_place"]["runway"], sheet.said["runway"]) == ("36", "26")
    sheet.words("/landing_place/aerodrome/runways/1", "heading", "358 T")
    assert "magnetic_heading" not in sheet.said["landing_place"]["aerodrome"]["runways"][1]
    sheet.edit("/landing_place/weather/metar", "METAR EGPO 141020Z 34012KT 9999 SCT030 11/06 Q1008")
    assert sheet.plan is not None
    sheet.do(acts.edit_landing, act="home")
    assert sheet.text == before


def test_a_field_without_a_code_asks_for_its_place_and_a_runway_needs_a_length(routed, desk, sheet):
    text = post(routed, "landing", "place", act="begin", code="Lunnan", designator="9", length="7400")
    assert "Needs icao, or latitude, longitude and elevation" in text
    assert "Field of the landing" in text
    assert said(desk)["landing_place"]["runway"] == "09"
    for wrong in ({"designator": "37", "length": "1"}, {"designator": "18"}, {}):
        with pytest.raises(ValueError, match="runway"):
            sheet.do(acts.edit_runway, act="add", **wrong)
    sheet.do(acts.edit_runway, act="uncable", index="0", cable="0")
    sheet.do(acts.edit_runway, act="uncable", index="0", cable="0")
    assert "cables" not in sheet.said["aerodrome"]["runways"][0]


def test_only_files_that_the_desk_found_are_named_as_pack_or_overlay(routed, desk, folder):
    (folder / "factors.yaml").write_text("pack: dotterel\npack_digest: x\n", "utf-8")
    (folder.parent / "other.yaml").write_text("pack_digest: x\n", "utf-8")
    assert '<option value="factors.yaml">' in routed.get("/prepare/crew").text
    for key, value in (
        ("/overlay", "../other.yaml"),
        ("/pack", "../x"),
        ("/pack", "/etc"),
        ("/overlay", "range detail.yaml"),
    ):
        assert "Choose" in refusal(edit(routed, key, value, "crew"))
    edit(routed, "/overlay", "factors.yaml", "crew")
    assert said(desk)["overlay"] == "factors.yaml"
    edit(routed, "/overlay", "", "crew")
    assert "overlay" not in said(desk)


def test_a_copy_in_another_folder_names_the_same_pack_and_overlay(tmp_path):
    there, here = tmp_path / "there", tmp_path / "here"
    there.mkdir()
    file = there / "away.yaml"
    text = Shelf().demo().file.read_text("utf-8")
    file.write_text(
        text.replace("pack: dotterel", "pack: ./my-jet  # mine\noverlay: f/factors.yaml"), "utf-8"
    )
    app = make_app(Shelf(here, (file,)), DeskOptions(folder=here, port=4711))
    address = "http://127.0.0.1:4711"
    client = TestClient(app, base_url=address, headers={"origin": address})
    client.get(f"/enter?token={app.state.desk.sessions.new_token()}")
    id = next(one.id for one in app.state.desk.shelf.entries() if one.file == file.resolve())
    client.post("/sortie", data={"sortie": id})

    client.post("/prepare/copy", data={"name": "mine"})

    copied = (here / "mine.yaml").read_text("utf-8")
    assert "pack: ../there/my-jet  # mine\n" in copied
    assert "overlay: ../there/f/factors.yaml\n" in copied
    assert save_copy(here, "again", copied).name == "again.yaml"


@pytest.mark.parametrize(
    ("text", "new"),
    [
        (
            "route:\n  points:\n    A: {latitude: 1}  # c\n    B: {}\n",
            "route:\n  points:\n    C: {latitude: 1}  # c\n    B: {}\n",
        ),
        ("route: {points: {A: {latitude: 1}, B: {}}}", "route: {points: {C: {latitude: 1}, B: {}}}"),
        ('route:\n  points:\n    "A" : {latitude: 1}\n', "route:\n  points:\n    C : {latitude: 1}\n"),
    ],
)
def test_a_key_that_is_renamed_keeps_everything_around_it(text, new):
    assert edited(text, [Edit("rename", ("route", "points", "A"), "C")]) == new
    with pytest.raises(ValueError, match="rename"):
        edited(text, [Edit("rename", ("route", "points", "Z"), "C")])
    if "B" in text:
        with pytest.raises(ValueError, match="already"):
            edited(text, [Edit("rename", ("route", "points", "A"), "B")])
