"""The report: findings first and worst first, nothing from outside, nothing hostile let through."""

import base64
import json
import re
from dataclasses import replace
from datetime import timedelta
from html.parser import HTMLParser
from itertools import pairwise

import jsonschema
import numpy as np
import pytest
from debrief_samples import (
    FINDINGS,
    HOSTILE,
    finding,
    hostile_debrief,
    sample_debrief,
    sample_recording,
)
from debrief_schema import SCHEMA
from hypothesis import given, settings
from hypothesis import strategies as st
from long_flight import long_flight
from rule_flights import made_flight

from sortiewright import CAUTION
from sortiewright.cards import contrast
from sortiewright.recording import (
    Debrief,
    FlightDebrief,
    clock,
    debrief_to_json,
    finding_text,
    headline,
    report_page,
    value_shown,
)
from sortiewright.recording.debrief_record import worst_first
from sortiewright.recording.report_html import PARTS
from sortiewright.recording.report_strips import MISSING, STEPS, stretches, strips_data

VOID = {"meta", "br", "input", "link", "img"}


class Page(HTMLParser):
    """A page taken apart; whatever is not closed in order is noted."""

    def __init__(self, text):
        super().__init__()
        self.elements, self.open, self.crossed, self.texts = [], [], [], []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.crossed.append(tag)

    def handle_data(self, data):
        self.texts.append((self.open[-1] if self.open else "", data))

    def all(self, tag):
        """Return the attributes of every element of a name."""
        return [attributes for name, attributes in self.elements if name == tag]

    def text(self, *besides):
        """Return all texts but those inside scripts and styles."""
        return " ".join(text for tag, text in self.texts if tag not in ("script", "style", *besides))


@pytest.fixture(scope="module")
def page():
    return Page(report_page(sample_debrief()))


def test_findings_stand_first_and_worst_first(page):
    text = page.text()
    places = [
        text.index(f"Mind the {rule}")
        for rule in ("late_rotation", "gear_overspeed", "taxi_fast", "late_flap")
    ]

    assert places == sorted(places)
    assert places[-1] < text.index("What went well") < text.index("The flight")


@given(st.permutations(FINDINGS))
def test_the_order_of_findings_does_not_depend_on_that_of_the_rules(shuffled):
    assert [one.rule for one in worst_first(tuple(shuffled))] == [
        "late_rotation",
        "gear_overspeed",
        "taxi_fast",
        "late_flap",
    ]


def test_each_finding_has_its_time_value_limit_and_advice(page):
    text = " ".join(page.text().split())

    # 90 m/s is 174.9 kt, 70 m/s is 136.1 kt: NIST SP 811 (2008), appendix B.8, 1 kt = 0.514 444 m/s.
    assert "Flown 175 kt Limit 136 kt At 1:02.0" in text


def test_each_finding_leads_into_the_charts_around_its_moment(page):
    jumps = [one for one in page.all("a") if "data-at" in one]

    assert len(jumps) == len(FINDINGS)
    for one in jumps:
        assert float(one["data-begins"]) < float(one["data-at"]) < float(one["data-ends"])
        assert one["href"] == "#strips"


def test_the_page_says_what_went_well_what_was_not_judged_and_why_and_what_is_odd(page):
    text = page.text()

    for part in (
        "The run was straight.",
        "There was no touchdown on this flight",
        "Hard landing",
        "one second is missing",
        "altitude: height above ground",
        "weight was 9 000 lb",
        "The recording ends in the air",
    ):
        assert part in text


def test_the_caution_stands_once(page):
    assert page.text().count(CAUTION) == 1


def test_a_flight_without_a_finding_says_so_and_what_was_held():
    made = replace(sample_debrief(findings=()), rules=object())

    assert headline(made) == "Nothing to do better was found. 1 rule was held."
    assert "Nothing to do better was found." in report_page(made)


def test_the_page_asks_nothing_of_the_network(page):
    text = report_page(sample_debrief())
    wanted = [
        value
        for _, attributes in page.elements
        for key, value in attributes.items()
        if key in ("href", "src", "srcset", "action", "data", "poster", "xlink:href")
    ]

    assert all(value.startswith("#") for value in wanted)
    assert all(one.startswith('"data:') for one in re.findall(r"url\(([^)]*)", text))
    assert "@import" not in text
    for word in ("fetch(", "XMLHttpRequest", "import(", "WebSocket", "sendBeacon"):
        assert word not in text
    policy = next(one["content"] for one in page.all("meta") if one.get("http-equiv"))

    # W3C Content Security Policy Level 3, 6.1.3: what default-src 'none' governs is not loaded at all.
    assert policy.startswith("default-src 'none';")
    assert "http" not in policy


def test_hostile_texts_stay_texts():
    hostile = Page(report_page(hostile_debrief()))
    plain = Page(report_page(sample_debrief()))

    assert hostile.crossed == hostile.open == []
    assert len(hostile.all("script")) == len(plain.all("script"))
    assert hostile.all("img") == []
    assert not [key for _, attributes in hostile.elements for key in attributes if key.startswith("on")]
    assert "alert(1)" in hostile.text()  # it is shown, as what it is
    assert "\u202e" not in report_page(hostile_debrief())


@settings(max_examples=40)
@given(st.text(max_size=60))
def test_any_name_of_a_recording_leaves_the_page_whole(name):
    made = sample_debrief()
    found = Page(report_page(replace(made, recording=replace(made.recording, name=name))))

    assert found.crossed == found.open == []
    assert len(found.all("script")) == 2


def test_the_data_in_the_page_cannot_end_its_script():
    text = report_page(hostile_debrief())
    data = text.split('id="strips-data">')[1].split("</script>")[0]

    assert json.loads(data)["findings"][0]["title"] == HOSTILE
    assert not set("<>&") & set(data)


def test_headings_tables_pictures_and_buttons_can_be_read_aloud(page):
    headings = [int(tag[1]) for tag, _ in page.elements if re.fullmatch(r"h[1-6]", tag)]

    # WCAG 2.2 (W3C 2023), success criteria 1.1.1, 1.3.1 and 3.1.1.
    assert headings[0] == 1
    assert headings.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(headings))
    assert page.all("html")[0]["lang"] == "en"
    assert len(page.all("caption")) == len(page.all("table")) > 0
    assert all("scope" in one for one in page.all("th"))
    assert all("aria-label" in one or one.get("aria-hidden") for one in page.all("svg"))
    assert page.crossed == page.open == []


def test_two_flights_share_no_name_and_say_which_is_which():
    made = sample_debrief()
    found = Page(report_page(replace(made, flights=made.flights * 2)))
    names = [attributes["id"] for _, attributes in found.elements if "id" in attributes]

    assert len(names) == len(set(names))
    assert "Snapshots, flight 2" in found.text()
    assert {one["aria-labelledby"] for one in found.all("section")} <= set(names)


@pytest.mark.parametrize("scheme", [":root", '[data-scheme="night"]'])
def test_texts_stand_out_from_their_ground(scheme):
    style = (PARTS / "report.css").read_text(encoding="utf-8")
    block = style.split(scheme + " {")[1].split("}")[0]
    colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", block))

    # WCAG 2.2 (W3C 2023), success criterion 1.4.6: 7 to 1.
    for ground in ("paper", "card"):
        assert contrast(colours["ink"], colours[ground]) >= 7
        assert contrast(colours["second"], colours[ground]) >= 7
    if scheme != ":root":
        reds = [tuple(int(one[at : at + 2], 16) for at in (1, 3, 5)) for one in colours.values()]
        assert all(red >= green >= blue for red, green, blue in reds)


def unpacked(text, kind):
    return np.frombuffer(base64.b64decode(text), dtype=kind)


def values(line, key):
    steps = unpacked(line[key], "<i2").astype(float)
    return np.where(steps == MISSING, np.nan, line["zero"] + (steps + STEPS // 2) * line["step"])


def test_a_short_recording_is_drawn_sample_by_sample():
    made = sample_debrief()
    data = strips_data(made)
    load = next(one for one in data["panels"] if one["title"] == "Load")["lines"][0]

    assert "high" not in load
    assert values(load, "low") == pytest.approx(made.recording.number("load_factor_normal"), abs=load["step"])
    assert unpacked(data["begins"], np.dtype(np.float32).newbyteorder("<")) == pytest.approx(
        made.recording.time, abs=1e-5
    )


def test_angle_of_attack_is_not_drawn_where_it_means_nothing():
    made = sample_debrief()
    columns = {**made.recording.columns, "angle_of_attack": np.full(made.recording.rows, 0.1)}
    data = strips_data(replace(made, recording=replace(made.recording, columns=columns)))
    nose = next(one for one in data["panels"] if one["title"] == "Nose")
    drawn = values(nose["lines"][1], "low")
    is_slow = made.recording.number("calibrated_airspeed") < 15.0

    assert np.isnan(drawn[is_slow]).all()
    assert drawn[~is_slow] == pytest.approx(np.degrees(0.1), abs=0.01)


@given(st.integers(3, 3000), st.integers(50, 500), st.lists(st.integers(1, 2999), max_size=4), st.randoms())
def test_thinning_loses_no_peak_and_joins_nothing_across_a_break(rows, most, breaks, random):
    recording = sample_recording(rows / 10)
    rows = recording.rows
    breaks = np.unique([one for one in breaks if one < rows]).astype(np.intp)
    peak = random.randrange(rows)
    column = np.zeros(rows)
    column[peak] = -7.0
    recording = replace(recording, breaks=breaks, columns={"bank": column})
    flight = FlightDebrief(made_flight(recording, [("takeoff_roll", 0)]), findings=(finding(at=rows / 30),))
    edges = stretches(recording, (flight,), most)

    assert edges[0] == 0
    assert (np.diff(edges) > 0).all()
    assert set(breaks) <= set(edges.tolist())
    assert np.fmin.reduceat(column, edges).min() == -7.0
    assert len(edges) <= most * 1.5 + len(breaks) + 20


def test_an_hour_at_sixty_samples_a_second_stays_light():
    recording, flight = long_flight(1.0)
    made = Debrief(recording, (FlightDebrief(flight, findings=FINDINGS),))

    assert len(report_page(made).encode()) < 5_000_000


@given(st.integers(0, 359_999))
def test_a_moment_is_said_as_hours_minutes_and_seconds(tenths):
    # Python's own reading of a duration: 1:02:03.400000.
    whole = str(timedelta(seconds=tenths // 10)).lstrip("0:").zfill(1)
    said = clock(tenths / 10)

    assert said.split(".")[1] == str(tenths % 10)
    assert re.sub(r"^[0:]+", "", said.split(".")[0]).zfill(1) == whole


# NIST SP 811 (2008), appendix B.8: 90 m/s is 174.946 kt; 1 000 ft is 304.8 m, 200 lb are 90.718 kg.
def test_a_finding_is_said_in_the_units_asked_for():
    judged = finding(
        value=90.0, limit=70.0, text="Gear late: 175 kt, above 136 kt, for 2.0 s during the climb."
    )
    plain = finding(
        value=None,
        limit=None,
        text="Gear late: height 1000 ft, fuel 200 lb, −10 kt, at 250 kt/s, at lift-off.",
    )

    assert finding_text(judged, None, "trade") == judged.text
    assert finding_text(judged, None, "si") == "Gear late: 90 m/s, above 70 m/s, for 2.0 s during the climb."
    assert finding_text(plain, None, "si") == (
        "Gear late: height 305 m, fuel 91 kg, −5.1 m/s, at 250 kt/s, at lift-off."
    )


def test_no_difference_has_no_sign():
    assert value_shown(0.4, "runway_distance", difference=True) == "0\u202fft"
    assert value_shown(-0.4, "runway_distance", difference=True) == "0\u202fft"
    assert value_shown(40.0, "runway_distance", difference=True) == "+130\u202fft"
    assert value_shown(40.0, "runway_distance", difference=True, units="si") == "+40\u202fm"


def test_a_snapshot_has_its_moment_beside_its_name(page):
    jumps = [one for one in page.all("a") if one.get("aria-label", "").startswith("at ")]

    assert [one["aria-label"] for one in jumps] == ["at 1:04.0, show in the charts"] * 2
    assert "Flown less planned At" not in " ".join(page.text().split())


@pytest.mark.parametrize("made", [sample_debrief, hostile_debrief], ids=["plain", "hostile"])
def test_the_json_keeps_its_form(made):
    data = json.loads(json.dumps(debrief_to_json(made()), allow_nan=False))

    jsonschema.validate(data, SCHEMA)
