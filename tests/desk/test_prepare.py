"""Prepare: what is edited is in the text, what is wrong stands beside it, what is saved is in the file."""

import re

import pytest
from ruamel.yaml import YAML

from sortiewright.desk import DeskOptions, Shelf, make_app
from sortiewright.desk.aircraft_drawing import drawing_of, taper_of
from sortiewright.desk.pages_prepare import NAMES
from sortiewright.desk.prepare_fields import Form, quantity_text
from sortiewright.desk.prepare_words import level_edits, speed_edits
from sortiewright.desk.route_chart import chart_of
from sortiewright.desk.saving import SaveError, differences, file_stem
from sortiewright.desk.weather_words import decoded
from sortiewright.pack import load_pack

PANELS = list(NAMES)
IN_PLACE = {"hx-request": "true"}


@pytest.fixture
def own(owner, desk, folder):
    """Return the owner's client with a sortie of the user's open: the demo's, without its route."""
    file = folder / "range detail.yaml"
    file.write_text(file.read_text("utf-8").partition("\nroute:")[0] + "\n", "utf-8")
    return opened_by(owner, desk)


@pytest.fixture
def routed(owner, desk):
    """Return the owner's client with a sortie of the user's open: the demo's."""
    return opened_by(owner, desk)


def opened_by(owner, desk):
    id = next(entry.id for entry in desk.shelf.entries() if entry.name == "range detail")
    assert owner.post("/sortie", data={"sortie": id}, follow_redirects=False).status_code == 303
    return owner


def said(desk):
    return YAML(typ="safe", pure=True).load(desk.current.ready.text)


def edit(client, key, value, **more):
    return client.post(
        "/prepare/edit", data={"key": key, "value": value, "at": "load", **more}, headers=IN_PLACE
    )


def post(client, path, **data):
    return client.post(f"/prepare/{path}", data={"at": "route", **data}, headers=IN_PLACE).text


def words(client, key, kind, value, **more):
    return post(client, "words", key=key, words=kind, value=value, unit="ft", **more)


def figure(text, name):
    return re.search(rf'id="key-{name}">.*?<b>(.*?)</b>', text, re.DOTALL)[1]


@pytest.mark.parametrize("panel", PANELS)
def test_each_panel_is_a_page_and_a_part_of_one(own, panel):
    whole, part = own.get(f"/prepare/{panel}"), own.get(f"/prepare/{panel}", headers=IN_PLACE)

    assert whole.status_code == part.status_code == 200
    assert 'id="prepare"' in part.text
    assert "<html" in whole.text
    assert "<html" not in part.text
    assert "style=" not in whole.text


def test_an_edit_changes_the_text_the_figures_and_says_what_they_were(own, desk):
    before = figure(own.get("/prepare").text, "takeoff_mass")

    answer = edit(own, "/load/fuel/total", "8600", unit="lb")

    assert answer.status_code == 200
    assert said(desk)["load"]["fuel"] == {"total": "8600 lb"}
    # Internal fuel before was 11,050 lb (the sum of the pack's tanks): 2,450 lb less, rounded to 10 lb.
    weights = [int(re.sub(r"\D", "", one)) for one in (before, figure(answer.text, "takeoff_mass"))]
    assert weights[0] - weights[1] == pytest.approx(2450, abs=10)
    assert f"was {before}" in answer.text
    assert "turn-down" in answer.text
    assert desk.current.ready.is_draft


def test_a_form_without_scripts_answers_with_the_page(own, desk):
    answer = own.post("/prepare/edit", data={"key": "/callsign", "value": "Thistle 3", "at": "crew"})

    assert answer.url.path == "/prepare/crew"
    assert said(desk)["callsign"] == "Thistle 3"


def test_a_problem_stands_beside_its_field_and_the_old_figures_are_struck_out(own, desk):
    before = figure(own.get("/prepare").text, "takeoff_mass")

    text = edit(own, "/load/landing_fuel", "99000", unit="lb").text

    assert desk.current.ready.plan is None
    assert 'class="strip stale"' in text
    assert figure(text, "takeoff_mass") == before
    field = re.search(r'id="f-load-landing-fuel".*?</form>', text, re.DOTALL)[0]
    assert 'aria-invalid="true"' in field
    assert "is more than is aboard at takeoff" in field
    mended = own.post("/prepare/undo", data={"at": "load"}, headers=IN_PLACE).text
    assert 'class="strip"' in mended


def test_undo_and_redo_walk_through_the_edits(own, desk):
    texts = [desk.current.ready.text]
    for value in ("8", "9", "10"):
        edit(own, "/load/taxi_time", value, unit="min")
        texts.append(desk.current.ready.text)

    for text in reversed(texts[:-1]):
        own.post("/prepare/undo", headers=IN_PLACE)
        assert desk.current.ready.text == text
    assert not desk.current.ready.is_draft
    for text in texts[1:]:
        own.post("/prepare/redo", headers=IN_PLACE)
        assert desk.current.ready.text == text


def test_saving_changes_the_edited_line_of_the_file_only(own, desk, folder):
    file = folder / "range detail.yaml"
    before = file.read_text("utf-8").splitlines()
    edit(own, "/crew/front/mass", "210", unit="lb")

    assert own.post("/prepare/save", headers=IN_PLACE).status_code == 200

    after = file.read_text("utf-8").splitlines()
    assert [line for line in after if line not in before] == ["  front: {name: I. Marrow, mass: 210 lb}"]
    assert len(after) == len(before)
    assert not desk.current.ready.is_draft
    assert not list(folder.glob(".*.tmp"))
    own.post("/prepare/undo", headers=IN_PLACE)  # what was saved can be undone, as a change that is not saved
    assert desk.current.ready.is_draft


def test_line_ends_and_byte_order_mark_stay_those_of_the_file(own, folder):
    file = folder / "range detail.yaml"
    file.write_bytes(b"\xef\xbb\xbf" + file.read_text("utf-8").replace("\n", "\r\n").encode())
    edit(own, "/callsign", "Thistle 3")

    own.post("/prepare/save", headers=IN_PLACE)

    raw = file.read_bytes()
    assert raw.startswith(b"\xef\xbb\xbf")
    assert raw.count(b"\n") == raw.count(b"\r\n") > 50
    assert b"callsign: Thistle 3\r\n" in raw


def test_a_file_changed_by_somebody_else_is_never_written_over(own, desk, folder):
    file = folder / "range detail.yaml"
    edit(own, "/callsign", "Thistle 3")
    theirs = file.read_text("utf-8").replace("I. Marrow", "O. Sedge")
    file.write_text(theirs, "utf-8")

    answer = own.post("/prepare/save", data={"at": "load"}, headers=IN_PLACE)

    assert file.read_text("utf-8") == theirs
    assert "changed by another program" in answer.text
    assert "O. Sedge" in answer.text
    assert own.post("/prepare/save", data={"at": "load"}).status_code == 409


def test_mine_is_kept_over_theirs_only_when_asked(own, folder):
    file = folder / "range detail.yaml"
    edit(own, "/callsign", "Thistle 3")
    file.write_text(file.read_text("utf-8").replace("I. Marrow", "O. Sedge"), "utf-8")

    own.post("/prepare/keep-mine", headers=IN_PLACE)
    own.post("/prepare/save", headers=IN_PLACE)

    assert "Thistle 3" in file.read_text("utf-8")
    assert "I. Marrow" in file.read_text("utf-8")


def test_theirs_is_taken_and_mine_comes_back_by_undo(own, desk, folder):
    file = folder / "range detail.yaml"
    edit(own, "/callsign", "Thistle 3")
    file.write_text(file.read_text("utf-8").replace("I. Marrow", "O. Sedge"), "utf-8")

    own.post("/prepare/revert", headers=IN_PLACE)

    assert said(desk)["crew"]["front"]["name"] == "O. Sedge"
    assert not desk.current.ready.is_draft
    own.post("/prepare/undo", headers=IN_PLACE)
    assert said(desk)["callsign"] == "Thistle 3"


def test_a_shipped_sortie_is_copied_before_it_is_changed_on_disk(owner, desk, folder):
    shipped = desk.shelf.demo().file.read_bytes()
    edit(owner, "/callsign", "Thistle 3")

    assert "shipped" in owner.post("/prepare/save", headers=IN_PLACE).text
    answer = owner.post("/prepare/copy", data={"name": "My Own: range/1"}, follow_redirects=False)

    assert answer.status_code == 303
    assert desk.shelf.demo().file.read_bytes() == shipped
    assert "callsign: Thistle 3" in (folder / "my_own_range_1.yaml").read_text("utf-8")
    assert desk.current.ready.entry.name == "my_own_range_1"
    taken = owner.post("/prepare/copy", data={"name": "my own range 1"})
    assert taken.status_code == 400
    assert "already" in taken.text


@pytest.mark.parametrize(
    "name", ["../../etc/passwd", "/x/y", "..", "a\0b", "con", "ü" * 300, "..\\x", ".hidden"]
)
def test_the_name_of_a_copy_leads_nowhere_else(name, owner, folder):
    before = set(folder.rglob("*"))

    owner.post("/prepare/copy", data={"name": name})

    new = [file for file in folder.rglob("*") if file not in before and ".desk" not in file.parts]
    assert all(re.fullmatch(r"[a-z0-9_]+\.yaml", file.name) and file.parent == folder for file in new)


# Microsoft, "Naming Files, Paths, and Namespaces": these are devices, with any extension.
@pytest.mark.parametrize("name", ["CON", "nul", "Com1", "lpt9"])
def test_a_device_of_windows_is_no_file_name(name):
    assert file_stem(name) == f"{name.lower()}_sortie"


@pytest.mark.parametrize("name", ["", "...", "/", "日本"])
def test_a_name_of_nothing_is_refused(name):
    with pytest.raises(SaveError):
        file_stem(name)


def test_a_draft_outlives_the_server(own, folder):
    edit(own, "/callsign", "Thistle 3")
    edit(own, "/load/taxi_time", "9", unit="min")

    again = make_app(Shelf(folder), DeskOptions(folder=folder)).state.desk
    entry = next(one for one in again.shelf.entries() if one.name == "range detail")
    draft = again.drafts.find(entry)

    assert "Thistle 3" in again.drafts.recall(entry)[0]
    assert draft.undoes == "load taxi time: 9 min"
    assert "14 min" in draft.undone().text


def test_another_sortie_and_back_keeps_the_draft(own, desk):
    edit(own, "/callsign", "Thistle 3")
    here = desk.current.ready.entry.id
    own.post("/sortie", data={"sortie": desk.shelf.demo().id})
    assert not desk.current.ready.is_draft

    own.post("/sortie", data={"sortie": here})

    assert said(desk)["callsign"] == "Thistle 3"


def test_stores_are_hung_taken_off_and_mirrored(own, desk):
    act = lambda **data: own.post("/prepare/station", data=data, headers=IN_PLACE)  # noqa: E731
    act(station="left_outboard", hang="triple_rack")
    act(station="left_outboard", hang="plover_bomb")
    act(station="left_outboard", act="mirror")
    stores = said(desk)["load"]["stores"]
    assert stores["left_outboard"] == stores["right_outboard"] == ["triple_rack", "plover_bomb"]

    act(station="right_outboard", take="0")
    assert said(desk)["load"]["stores"]["right_outboard"] == "plover_bomb"
    act(station="left_inboard", act="empty")
    loaded = said(desk)["load"]
    assert "left_inboard" not in loaded["stores"]
    assert loaded["release_order"] == ["right_inboard"]


def test_a_store_that_does_not_fit_is_told_at_its_station(own):
    text = own.post(
        "/prepare/station", data={"station": "belly", "hang": "curlew_missile"}, headers=IN_PLACE
    ).text

    assert "does not fit on 5 belly" in text
    assert 'class="strip stale"' in text


def test_a_tank_filled_alone_takes_the_place_of_the_total(own, desk):
    fuel = lambda **data: own.post("/prepare/fuel", data=data, headers=IN_PLACE)  # noqa: E731
    fuel(what="total", value="8000", unit="lb")
    fuel(what="tank", name="aft", value="1000", unit="lb")
    tanks = said(desk)["load"]["fuel"]["tanks"]
    assert "total" not in said(desk)["load"]["fuel"]
    assert tanks["aft"] == "1000 lb"
    # docs/sortie-format.md: a total fills first what empties last: centre, then forward and aft in step.
    assert tanks["centre"] == "2700 lb"
    assert tanks["forward"] == "3350 lb"

    fuel(what="external", name="belly", value="2000", unit="lb")
    assert said(desk)["load"]["fuel"]["external"] == {"belly": "2000 lb"}
    fuel(what="full")
    assert not said(desk)["load"].get("fuel")


def test_a_slider_is_one_step_to_undo(own, desk):
    text = desk.current.ready.text
    for pounds in (8000, 8100, 8200):
        data = {"what": "total", "value": str(pounds), "unit": "lb", "slides": "total--1"}
        own.post("/prepare/fuel", data=data, headers=IN_PLACE)

    own.post("/prepare/undo", headers=IN_PLACE)

    assert desk.current.ready.text == text


def test_the_order_of_release_is_sorted(own, desk):
    own.post("/prepare/release", data={"later": "0"}, headers=IN_PLACE)
    assert said(desk)["load"]["release_order"] == ["right_inboard", "left_inboard"]
    own.post("/prepare/release", data={"add": "belly"}, headers=IN_PLACE)
    own.post("/prepare/release", data={"leave": "0"}, headers=IN_PLACE)
    assert said(desk)["load"]["release_order"] == ["left_inboard", "belly"]


# ICAO Annex 14, 5.2.2: the other end of 26 is 08, its heading the reciprocal.
def test_the_other_end_of_a_runway_is_written_out(own, desk):
    own.post("/prepare/runway", data={"act": "remove", "index": "1"}, headers=IN_PLACE)
    own.post("/prepare/runway", data={"act": "other_end", "index": "0"}, headers=IN_PLACE)

    other = said(desk)["aerodrome"]["runways"][1]
    assert (other["designator"], other["true_heading"], other["slope"]) == ("08", "78 deg", "-0.3 %")

    own.post("/prepare/runway", data={"act": "use", "index": "1"}, headers=IN_PLACE)
    assert said(desk)["runway"] == "08"
    edit(own, "/aerodrome/runways/1/designator", "09")
    assert said(desk)["runway"] == "09"
    assert desk.current.ready.plan is not None


def test_a_field_is_looked_up_by_its_code_and_an_unknown_one_is_told(own, desk):
    # The open list of airportsdata has it: Reykjavik, 64.13 N 21.94 W.
    assert (
        own.post("/prepare/aerodrome", data={"value": "birk", "at": "place"}, headers=IN_PLACE).status_code
        == 200
    )
    field = said(desk)["aerodrome"]
    assert field["icao"] == "BIRK"
    assert field["latitude"] == pytest.approx(64.13, abs=0.02)
    assert len(field["runways"]) == 2
    assert "runways are yet to be written" in desk.drafts.find(desk.current.entry).undoes

    assert "not in the list" in own.post("/prepare/aerodrome", data={"value": "Q0Q0"}, headers=IN_PLACE).text


# WMO No. 306, FM 15 METAR: wind in knots with gust, cloud in hundreds of feet, hectopascals.
def test_a_report_is_read_while_it_is_typed(own):
    report = "METAR ZZCH 141020Z 31018G29KT 4000 -RA BKN012 11/10 Q0998"
    text = own.post("/prepare/decode", data={"value": report}, headers=IN_PLACE).text

    for words in ("from 310° true", "18", "29", "4000 m", "light rain", "broken at 1", "998"):
        assert words in text
    assert (
        'class="problem'
        in own.post("/prepare/decode", data={"value": "METAR ZZCH 99"}, headers=IN_PLACE).text
    )
    assert decoded("", "trade") == ((), (), "")


def test_the_route_is_built_leg_by_leg(routed, desk):
    post(routed, "leg", act="later", index="0")
    post(routed, "leg", act="remove", index="9")
    words(routed, "/route/legs/1", "level", "FL200")
    words(routed, "/route/legs/1", "speed", "M0.8")
    post(routed, "leg", act="insert", value="FENNOCH")
    legs = said(desk)["route"]["legs"]
    assert [one["to"] for one in legs[:3]] == ["TIRAN", "GARVEL", "SKARVE"]
    assert legs[0] == {"to": "TIRAN", "flight_level": 180}  # what was the first leg's height is still flown
    assert legs[1] == {"to": "GARVEL", "flight_level": 200, "mach": 0.8}
    assert legs[-1] == {"to": "FENNOCH"}

    post(routed, "route-itself", act="forget")
    assert "route" not in said(desk)
    post(routed, "route-itself", act="begin")
    assert said(desk)["route"] == {"legs": [{"to": "ZZCH", "altitude": "5000 ft"}]}


@pytest.mark.parametrize(
    ("typed", "key", "value"),
    [
        ("450", "cas", "450 kt"),
        ("450 kt CAS", "cas", "450 kt"),
        ("230 m/s tas", "tas", "230 m/s"),
        ("420 GS", "ground_speed", "420 kt"),
        ("M0.85", "mach", "0.85"),
        (".8M", "mach", ".8"),
        ("ground range", "best", "ground_range"),
    ],
)
def test_a_speed_is_read_as_pilots_write_it(typed, key, value):
    put = [
        (one.path[-1], one.value)
        for one in speed_edits(("route", "legs", 0), typed, "kt")
        if one.action == "put"
    ]

    assert put == [(key, value)]


def test_a_height_is_a_level_or_an_altitude():
    at = ("route", "legs", 0)

    def put(typed):
        edits = level_edits(at, "arrive_", typed, "ft")
        return [(one.path[-1], one.value) for one in edits if one.action == "put"]

    assert put("FL85") == [("arrive_flight_level", "85")]
    assert put("2500") == [("arrive_altitude", "2500 ft")]
    assert put("900 m") == [("arrive_altitude", "900 m")]
    assert put("") == []


@pytest.mark.parametrize(
    ("typed", "unit", "said"),
    [
        ("8600", "lb", "8600 lb"),
        ("8 600", "lb", "8600 lb"),
        ("8,600", "lb", "8600 lb"),
        ("4 t", "lb", "4 t"),
        ("−3", "degC", "-3 degC"),
        ("much", "lb", "much"),
        ("", "lb", ""),
    ],
)
def test_a_bare_number_takes_the_unit_of_its_field(typed, unit, said):
    assert quantity_text(typed, unit) == said


# A rectangle has its chord everywhere; a triangle's mean aerodynamic chord is 2/3 of its root (Anderson,
# Introduction to Flight, 8th ed., section 5.13, and by the integral).
def test_a_wing_is_drawn_with_the_taper_its_chord_needs():
    assert taper_of(20.0, 10.0, 2.0) == pytest.approx(1.0, abs=1e-6)
    assert taper_of(20.0, 10.0, 2 / 3 * 4.0) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("name", ["dotterel", "whinchat"])
def test_every_station_and_tank_is_on_the_drawing(name):
    pack = load_pack(name).pack

    drawn = drawing_of(pack, {}, {})

    left, top, width, height = (float(one) for one in drawn.view_box.split())
    assert [one.name for one in drawn.stations] == list(pack.mass.stations)
    for one in drawn.stations:
        assert left < one.x < left + width
        assert top < one.y < top + height
    assert [one.filled for one in drawn.tanks] == [0.0] * len(pack.mass.tanks)


# One minute of latitude is one nautical mile (to 0.5 %): the scale is measured on the chart itself.
def test_the_scale_of_the_chart_is_that_of_its_latitudes():
    chart = chart_of({"A": (56.0, -5.0), "B": (57.0, -4.0)}, ["B"], "A")

    points = {one.name: one for one in chart.points}
    apart = points["A"].y - points["B"].y
    assert chart.scale_length / float(chart.scale_text.split()[0]) * 60 == pytest.approx(apart, rel=0.01)
    assert chart_of({}, [], "A") is None


def test_differences_are_told_by_side():
    lines = differences("a\nmine\nc\n", "a\ntheirs\nc\n")

    assert [(one.side, one.text) for one in lines] == [
        ("both", "a"),
        ("theirs", "theirs"),
        ("mine", "mine"),
        ("both", "c"),
    ]


def test_a_form_reads_what_is_not_there_as_nothing():
    form = Form({"load": {"stores": {"belly": "tank"}}, "title": "x"}, ())

    assert form.items("load", "stores", "belly") == ["tank"]
    assert form.value("title", "more", 3) is None
    assert form.names("title") == []


HOSTILE = {
    "edit": [
        {},
        {"key": "/load/fuel/total"},
        {"key": "/nothing", "value": "x"},
        {"key": "load", "value": "x"},
        {"key": "/load", "value": "x"},
        {"key": "/aerodrome/runways/99/length", "value": "1"},
        {"key": "/aerodrome/runways/-1/length", "value": "1"},
        {"key": "/" + "a/" * 500, "value": "x"},
        {"key": "/title", "value": "x" * 100_000},
        {"key": "/title", "value": "\x00\x1b[31m\u2028'\"{}[]&*#|>%@`"},
        {"key": "/load/taxi_time", "value": "1e999", "unit": "<script>alert(1)</script>"},
        {
            "key": "/title",
            "value": "<script>alert(1)</script>",
            "at": "nowhere",
            "station": "<script>alert(1)",
        },
    ],
    "station": [
        {"station": "../../x", "act": "hang", "store": "nothing"},
        {"station": "belly", "hang": "<script>alert(1)</script>"},
        {"station": "belly", "take": "99999999999999"},
        {"station": "belly", "take": "²"},
        {"station": "belly", "act": "mirror"},
    ],
    "release": [{"later": "9"}, {"earlier": "0"}, {"add": "nothing"}, {"leave": "x"}],
    "fuel": [
        {"what": "tank", "name": "__class__", "value": "1"},
        {"what": "tank", "name": "left", "value": "1e999", "unit": "lb"},
        {"what": "total", "value": "nan", "unit": "<script>alert(1)"},
    ],
    "aerodrome": [{"value": "<script>alert(1)"}, {"value": "\x00"}],
    "runway": [
        {"act": "remove", "index": "abc"},
        {"act": "remove", "index": "0"},
        {"act": "cable", "index": "-3"},
    ],
    "leg": [
        {"act": "earlier", "index": "0", "at": "route"},
        {"act": "insert"},
        {"act": "insert", "value": "<script>alert(1)</script>", "at": "route"},
        {"act": "insert", "value": "GARVEL", "index": "9999"},
    ],
    "words": [
        {"key": "/route/legs/0", "words": "speed", "value": "<b>fast</b>"},
        {"key": "/route/legs/0", "words": "level", "value": "FL9999"},
        {"key": "/route/legs/0", "words": "__class__", "value": "1"},
        {"key": "/title", "words": "level", "value": "1"},
        {"key": "/crew/front", "words": "speed", "value": "400"},
        {"key": "/route/legs/99", "words": "level", "value": "FL100", "at": "route"},
        {"words": "level"},
    ],
    "then": [
        {"index": "5", "then": "0", "act": "leave"},
        {"act": "add", "do": "dance", "index": "0", "at": "route"},
        {"act": "release", "index": "5", "then": "0", "lets_go": "<script>alert(1)</script>", "at": "route"},
    ],
    "point": [
        {"act": "add", "name": "<x>", "latitude": "a", "longitude": "b"},
        {"act": "remove", "name": "x"},
        {"act": "rename", "name": "GARVEL", "new": "<script>alert(1)</script>", "at": "route"},
        {"act": "from", "name": "ZZCH", "bearing": "1e999", "distance": "nan", "new": "X"},
        {"act": "name", "where": "-1", "name": "X"},
        {"act": "move", "name": "GARVEL", "latitude": "1e999", "longitude": "0"},
    ],
    "route-itself": [{"act": "begin", "bearing": "x", "distance": "y", "new": "<x>"}, {"act": "x"}],
    "landing": [
        {"act": "begin"},
        {"act": "begin", "code": "<script>alert(1)</script>", "designator": "99", "length": "x"},
        {"act": "begin", "code": "Q0Q0", "designator": "18", "length": "1e999", "heading": "<b>"},
    ],
    "wind": [{"act": "add", "value": "<b>"}, {"act": "remove", "index": "77"}, {"act": "x", "index": "0"}],
    "decode": [{"value": "x" * 50_000}, {"value": "<script>alert(1)</script>"}],
    "undo": [{}],
    "redo": [{}],
    "save": [{}],
    "revert": [{}],
    "keep-mine": [{}],
    "copy": [{}, {"name": "\x00"}],
}


@pytest.mark.parametrize("path", HOSTILE)
def test_nothing_that_is_sent_breaks_a_route(own, path):
    for data in [*HOSTILE[path], {}]:
        answer = own.post(f"/prepare/{path}", data=data, headers=IN_PLACE, follow_redirects=False)
        assert answer.status_code < 500, data
        assert "<script>alert" not in answer.text
    assert own.post(f"/prepare/{path}", data=data, follow_redirects=False).status_code < 500
    assert own.get("/prepare").status_code == 200


@pytest.mark.parametrize(
    "path",
    [
        "nowhere",
        "edit",
        "%2e%2e",
        "load?station=%00",
        "load?station=" + "x" * 5000,
        "route?chosen=leg-999",
        "route?chosen=leg-0",
        "route?chosen=point-%3Cscript%3E",
        "route?chosen=at999_999",
        "route?chosen=at56_-5",
    ],
)
def test_no_address_breaks_a_page(own, path):
    assert own.get(f"/prepare/{path}").status_code < 500


def test_a_watcher_changes_nothing(another, desk):
    watcher = another("watcher")

    assert watcher.get("/prepare").status_code == 200
    assert edit(watcher, "/callsign", "Thistle 3").status_code == 403
    assert not desk.drafts.find(desk.current.entry)


@pytest.mark.parametrize(
    "broken", ["title: [", "pack: nothing\n", "- 1\n", "", "pack: whinchat\nload: 3\ncrew: []\nroute: x\n"]
)
def test_a_broken_file_breaks_no_panel(own, folder, broken):
    (folder / "range detail.yaml").write_text(broken, "utf-8")

    for panel in PANELS:
        assert own.get(f"/prepare/{panel}").status_code == 200
    assert edit(own, "/callsign", "x").status_code == 200


def test_another_aircraft_shows_its_own_stations(own, desk):
    edit(own, "/pack", "whinchat")

    text = own.get("/prepare/load").text

    assert desk.current.ready.plan is None
    assert text.count('class="station-mark') == len(load_pack("whinchat").pack.mass.stations)
