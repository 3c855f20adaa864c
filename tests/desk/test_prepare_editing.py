"""Edits of a sortie's text: what was written is read by ruamel.yaml, code that is not ours."""

import copy
import functools

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from sortiewright.desk.drafts import MOST_STEPS, Draft, Step, draft_of, from_json, to_json
from sortiewright.desk.editing import Edit, EditError, check_path, edited, path_of, plain_data, pointer_of
from sortiewright.desk.shelf import Shelf

SHIPPED = [entry.file.read_text("utf-8") for entry in Shelf().entries()]
DEMO = SHIPPED[0]
# The same data in other hands: other indentation, no indentation of lists, comments between items, a flow
# list over several lines, quotes, CRLF is taken care of on reading.
ODD = """\
title:   "Two: three"   # odd spaces
callsign: 'Pipit 1'
date: 2026-05-14
time: 09:40Z
pack: whinchat
crew:
      front:
            name: A
            # the heavy one
            mass: 200 lb
load:
      # nothing but this
      stores: {left: wing_tank,   # flows over
               right: wing_tank}
      release_order:
      - left    # first
      # then the other
      - right

      taxi_time: 5 min
aerodrome:
  runways:
  - {designator: "09", length: 1 km,
     true_heading: 90 deg}
  -   designator: "27"
      length: 1 km
      # before the heading
      true_heading: 270 deg
runway: "09"
weather:
notes: |
  first line
  second line
requirements: {}
# the end
"""
TEXTS = [*SHIPPED, ODD]
USUAL = settings(deadline=None, max_examples=40, suppress_health_check=[HealthCheck.too_slow])


@functools.cache
def loaded(text):
    return YAML(typ="safe", pure=True).load(text)


def read(text):
    return copy.deepcopy(loaded(text))


def comments(text):
    return sorted(line.partition("#")[2].strip() for line in text.splitlines() if "#" in line)


def lines_apart(one, other):
    return [line for line in one.splitlines() if line not in other.splitlines()]


def paths_in(data, prefix=()):
    """Yield the path of every value of plain data."""
    if isinstance(data, dict):
        for key, value in data.items():
            yield (*prefix, key)
            yield from paths_in(value, (*prefix, key))
    elif isinstance(data, list):
        for index, value in enumerate(data):
            yield (*prefix, index)
            yield from paths_in(value, (*prefix, index))


def parent_of(data, path):
    for key in path[:-1]:
        data = data[key]
    return data


def held_at(text, path):
    return parent_of(loaded(text), path)[path[-1]]


PATHS = {text: list(paths_in(loaded(text))) for text in TEXTS}
LISTS = [
    (text, path)
    for text in TEXTS
    for path in PATHS[text]
    if isinstance(held_at(text, path), list) and len(held_at(text, path)) > 1
]
WRITTEN = ("title", "callsign", "squadron", "name", "metar", "designator", "notes")
LEAVES = [
    (text, path)
    for text in TEXTS
    for path in PATHS[text]
    if path[-1] in WRITTEN and isinstance(held_at(text, path), str)
]


WORDS = st.text(st.characters(codec="utf-8", exclude_categories=["Cs"]), min_size=1, max_size=30).filter(
    lambda text: text == " ".join(text.split())
)


@USUAL
@given(st.sampled_from(LEAVES), WORDS)
def test_a_value_that_is_put_is_read_back_and_nothing_else_changed(place, word):
    text, path = place

    after = edited(text, [Edit("put", path, word)])

    expected = read(text)
    parent_of(expected, path)[path[-1]] = word
    assert read(after) == expected
    assert set(comments(text)) <= set(comments(after)) | {""}
    assert len(lines_apart(text, after)) <= (3 if path[-1] == "notes" else 1)


@USUAL
@given(st.sampled_from(TEXTS), st.data())
def test_a_key_or_item_that_is_removed_is_gone_and_every_other_is_read_back(text, data):
    path = data.draw(st.sampled_from(PATHS[text]))

    after = edited(text, [Edit("remove", path)])

    expected = read(text)
    del parent_of(expected, path)[path[-1]]
    held = read(after)
    while path[:-1] and not parent_of(expected, path):  # an optional mapping goes with its last key
        if held == expected:
            break
        path = path[:-1]
        del parent_of(expected, path)[path[-1]]
    assert held == expected


@USUAL
@given(st.sampled_from(LISTS), st.data())
def test_a_list_is_sorted_with_the_comments_of_its_items(place, data):
    text, path = place
    count = len(held_at(text, path))
    at, to = data.draw(st.integers(0, count - 1)), data.draw(st.integers(0, count - 1))

    after = edited(text, [Edit("move", (*path, at), to=to)])

    expected = read(text)
    held = parent_of(expected, path)[path[-1]]
    held.insert(to, held.pop(at))
    assert read(after) == expected
    assert comments(after) == comments(text)


@USUAL
@given(st.sampled_from(TEXTS), st.data())
def test_an_item_is_inserted_where_it_is_wanted(text, data):
    path = data.draw(st.sampled_from([("aerodrome", "runways"), ("load", "release_order")]))
    count = len((parent_of(read(text), path) or {}).get(path[-1], []))
    at = data.draw(st.integers(0, count)) if count else 0
    item = {"designator": "18", "length": "900 m"} if path[0] == "aerodrome" else "belly"

    after = edited(text, [Edit("insert", (*path, at), item)])

    expected = read(text)
    parent_of(expected, path).setdefault(path[-1], []).insert(at, item)
    assert read(after) == expected
    assert comments(after) == comments(text)


NEW = [
    (("load", "fuel", "total"), "8600 lb"),
    (("crew", "rear", "mass"), "90 kg"),
    (("landing_place", "weather", "metar"), "METAR ZZZZ 010000Z 00000KT 9999 10/05 Q1013"),
    (("weather", "wind_from"), "280 deg"),
    (("requirements", "single_engine_climb_gradient"), "200 ft/nmi"),
    (("aerodrome", "runways", 0, "condition"), "wet"),
    (("load", "stores", "belly"), ["triple_rack", "plover_bomb"]),
    (("takeoff", "power"), "military"),
    (("squadron",), "No. 5: [x]"),
]


@USUAL
@given(st.sampled_from(TEXTS), st.lists(st.sampled_from(NEW), min_size=1, max_size=5))
def test_keys_that_are_missing_are_made_with_whatever_is_above_them(text, new):
    after = edited(text, [Edit("put", path, value) for path, value in new])

    expected = read(text)
    for path, value in new:
        held = expected
        for key in path[:-1]:
            if isinstance(held, list):
                held = held[key]
            else:
                held[key] = held.get(key) or {}
                held = held[key]
        held[path[-1]] = copy.deepcopy(value)
    assert read(after) == expected
    assert comments(after) == comments(text)


def test_an_edit_touches_its_own_line_only():
    after = edited(DEMO, [Edit("put", ("crew", "front", "mass"), "210 lb")])

    assert lines_apart(after, DEMO) == ["  front: {name: I. Marrow, mass: 210 lb}"]
    assert after.count("\n") == DEMO.count("\n")


# YAML 1.2.2, 10.3.2: what looks like a number, null or a boolean needs quotes to be text.
@pytest.mark.parametrize(
    "word", ["26", "1e3", "null", "true", "~", "0x1f", ".5", "no", "08:40", "- a", "a: b", ""]
)
def test_text_stays_text(word):
    assert read(edited(DEMO, [Edit("put", ("squadron",), word)]))["squadron"] == word


@pytest.mark.parametrize(
    "path",
    [
        (),
        ("nothing",),
        ("load", "fuell"),
        ("load", "stores", ""),
        ("load", 0),
        ("aerodrome", "runways", "first"),
        ("aerodrome", "runways", -1),
        ("title", "more"),
        ("crew", "front", "__class__"),
        ("load",) * 40,
    ],
)
def test_a_key_that_no_sortie_has_is_refused(path):
    with pytest.raises(EditError):
        check_path(path)
    with pytest.raises(EditError):
        edited(DEMO, [Edit("put", path, "1")])


@pytest.mark.parametrize(
    "text", ["", "- 1\n", "title: [", "a: *b\n", "? {a: b}\n: c\n", "--- a\n--- b\n", "\t"]
)
def test_a_text_that_is_no_plain_yaml_is_refused_not_broken(text):
    with pytest.raises(EditError):
        edited(text, [Edit("put", ("title",), "x")])
    assert plain_data(text) == {}


@pytest.mark.parametrize(
    "edit",
    [
        Edit("put", ("aerodrome", "runways", 7, "length"), "1 km"),
        Edit("insert", ("aerodrome", "runways", 7), "x"),
        Edit("move", ("aerodrome", "runways", 0), to=7),
        Edit("move", ("title", 0), to=0),
        Edit("put", ("title",), "x" * 5000),
    ],
)
def test_what_is_not_there_cannot_be_changed(edit):
    with pytest.raises(EditError):
        edited(DEMO, [edit])


# RFC 6901, section 5: ~1 stands for /, ~0 for ~.
def test_a_key_path_is_a_json_pointer():
    path = ("route", "points", "A/B~C", "latitude")

    assert pointer_of(path) == "/route/points/A~1B~0C/latitude"
    assert path_of(pointer_of(path)) == path
    assert path_of("/aerodrome/runways/1/length") == ("aerodrome", "runways", 1, "length")
    with pytest.raises(EditError):
        path_of("title")


@USUAL
@given(st.lists(st.sampled_from(["done", "undone", "redone"]), max_size=40), st.data())
def test_undo_and_redo_are_each_other_s_inverse(acts, data):
    draft = draft_of("0")
    for number, act in enumerate(acts, 1):
        before = draft
        draft = draft.done(Step("x", str(number))) if act == "done" else getattr(draft, act)()
        if draft.at == before.at + 1:
            assert draft.undone().text == before.text
        if draft.at == before.at - 1:
            assert draft.redone().text == before.text
        assert from_json(to_json(draft)) == draft

    while draft.undoes:
        draft = draft.undone()
    assert draft.text == "0"


def test_a_slider_that_is_moved_is_one_step():
    draft = draft_of("0")
    for number in range(1, 6):
        draft = draft.done(Step("fuel", str(number), "fuel-1"), joins=True)

    assert draft.text == "5"
    assert draft.undone().text == "0"


def test_a_long_history_forgets_its_beginning_only():
    draft = draft_of("0")
    for number in range(1, MOST_STEPS + 20):
        draft = draft.done(Step("x", str(number)))

    assert len(draft.steps) == MOST_STEPS
    assert draft.text == str(MOST_STEPS + 19)
    for _ in range(MOST_STEPS):
        draft = draft.undone()
    assert draft.text == "19"


@pytest.mark.parametrize(
    "text", ["", "[]", "{}", '{"base": 1}', "null", '{"base":"","start":"","at":9,"steps":[]}', "[" * 9000]
)
def test_a_draft_file_that_is_none_is_no_draft(text):
    assert from_json(text) is None


def test_a_draft_says_what_undo_would_take_back():
    draft = Draft("a", "a").done(Step("fuel", "b"))

    assert (draft.undoes, draft.redoes) == ("fuel", "")
    assert (draft.undone().undoes, draft.undone().redoes) == ("", "fuel")
