"""What each form of Prepare asks for: its fields, checked, as edits of the text and in words."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Mapping, Sequence

from starlette.datastructures import FormData

from sortiewright.desk.current import Opened
from sortiewright.desk.editing import Edit, EditError, Path, path_of, plain_data
from sortiewright.desk.prepare_doings import then_edits
from sortiewright.desk.prepare_fields import Form, quantity_text
from sortiewright.desk.prepare_files import check_file_name
from sortiewright.desk.prepare_load_edits import fuel_edits, station_edits
from sortiewright.desk.prepare_place_edits import (
    LANDING,
    TAKEOFF,
    aerodrome_edits,
    field_of,
    landing_edits,
    runway_edits,
    runway_key,
)
from sortiewright.desk.prepare_route_edits import (
    alternate_edits,
    leg_edits,
    point_edits,
    route_edits,
    wind_edits,
)
from sortiewright.desk.prepare_words import KEYS, degrees_text, worded_edits
from sortiewright.pack import Pack, load_pack, pack_names, record_shape, shape_at
from sortiewright.sortie import Sortie

Act = Callable[[FormData, Opened], tuple[Sequence[Edit], str]]
"""What a form asks for, as edits and in words; it may raise ``EditError``."""

RIVALS: Mapping[str, tuple[tuple[str, str], ...]] = {
    "orbit": (("time", "until"),),
    "refuel": (("time", "rate"),),
    "task": (("power", "fuel_flow"),),
    "turn": (("load_factor", "bank"),),
}
"""Keys of what is done at a point of which one is given: the one that was said last stands."""


def form_of(opened: Opened) -> Form:
    """Return the text on the desk as edits see it."""
    return Form(plain_data(opened.text), ())


def pack_of(opened: Opened) -> Pack:
    """Return the pack that the sortie names. Raises ``EditError`` if there is none."""
    if opened.loaded is not None:
        return opened.loaded.pack.pack
    name = form_of(opened).text("pack")
    if name not in pack_names():
        raise EditError("The sortie names no aircraft that is known. Choose one under Crew and time.")
    return load_pack(name).pack


def text_in(form: FormData, name: str, longest: int = 4000) -> str:
    """Return one field of a form as text without space around it."""
    value = form.get(name, "")
    return value.strip()[:longest] if isinstance(value, str) else ""


def number_in(form: FormData, name: str) -> int:
    """Return one field of a form as a small whole number, -1 if it is none."""
    value = text_in(form, name, 8)
    return int(value) if value.isascii() and value.isdecimal() else -1


def signature(path: str, form: FormData) -> str:
    """Return what tells one press from another: the same form, filled in the same, on the same page."""
    said = sorted((name, str(value)[:4000]) for name, value in form.multi_items())
    return hashlib.sha256(repr((path, said)).encode()).hexdigest()[:16]


def seen_mark(form: Form, at: str) -> str:
    """Return what changes when something is added to the lists of a page, taken from them, or sorted.

    A press that names a position means the list that its page showed.
    """
    match at:
        case "route":
            legs = range(len(form.items("route", "legs")))
            lists = [
                (str(form.value("route", "legs", leg, "to")), str(form.value("route", "legs", leg, "then")))
                for leg in legs
            ]
            shown = (lists, form.names("route", "points"), len(form.items("route", "winds_aloft")))
        case "place":
            shown = tuple(
                (
                    form.text(*field, "runways", index, "designator"),
                    len(form.items(*field, "runways", index, "cables")),
                )
                for field in (TAKEOFF, LANDING)
                for index in range(len(form.items(*field, "runways")))
            )
        case "load":
            hung = {name: list(form.items("load", "stores", name)) for name in form.names("load", "stores")}
            shown = (hung, list(form.items("load", "release_order")))
        case _:
            return ""
    return hashlib.sha256(repr(shown).encode()).hexdigest()[:12]


def names_position(path: str, form: FormData) -> bool:
    """Return whether a press means a position in a list."""
    if path in ("/prepare/edit", "/prepare/words"):
        return re.search(r"/[0-9]+(/|$)", text_in(form, "key", 400)) is not None
    return path not in ("/prepare/fuel", "/prepare/aerodrome")


def chosen_after(path: str, form: FormData, opened: Opened) -> str:
    """Return what is chosen on the page after a press that has been done."""
    chosen, act, index = text_in(form, "chosen", 60), text_in(form, "act", 20), number_in(form, "index")
    if path == "/prepare/leg":
        count = len(form_of(opened).items("route", "legs"))
        goes = {"earlier": index, "later": index + 2, "insert": (index if index >= 0 else count - 1) + 1}
        return f"leg-{goes[act]}" if act in goes else ""
    if path == "/prepare/point":
        new = text_in(form, "name" if act in ("add", "move") else "new", 60)
        return (
            "" if act == "remove" else chosen if act == "name" else f"point-{' '.join(new.upper().split())}"
        )
    return chosen


def edit_value(form: FormData, opened: Opened) -> tuple[Sequence[Edit], str]:
    """Put what was typed at its key; nothing typed takes the key away."""
    path = path_of(text_in(form, "key", 400))
    shape = shape_at(record_shape(Sortie), path)
    if shape.sort in ("record", "mapping", "list", "table"):
        raise EditError("That key takes no single value.")
    value = " ".join(text_in(form, "value").split())
    data = form_of(opened)
    if path in (("pack",), ("overlay",)):
        check_file_name(str(path[0]), value, opened)
    if path == ("route", "recovery", "alternate", "at"):
        return alternate_edits(value)
    if value and path[-1] in ("latitude", "longitude"):
        value = degrees_text(value, "latitude" if path[-1] == "latitude" else "longitude")
    elif shape.sort == "quantity":
        value = quantity_text(value, text_in(form, "unit", 20))
    named = " ".join(key for key in path[-2:] if isinstance(key, str)).replace("_", " ")
    words = f"{named}: {value or 'nothing'}"[:90]
    edits: list[Edit] = []
    if value or (shape.sort == "text" and not shape.optional and path != ("overlay",)):
        edits += [*_rivals_gone(path), Edit("put", path, value)]
    else:
        edits.append(Edit("remove", path))
    for field in (TAKEOFF, LANDING):
        is_designator = path[: len(field) + 1] == (*field, "runways") and path[-1] == "designator"
        if is_designator and data.text(*path) == data.text(*runway_key(field)):
            edits.append(Edit("put", runway_key(field), value))  # the runway in use keeps being in use
    return edits, words


def _rivals_gone(path: Path) -> list[Edit]:
    """Return the edits that take away what cannot stand beside a value that is put."""
    holder, key = path[:-1], path[-1]
    if len(path) == 4 and path[:2] == ("route", "legs") and key == "arrive":
        return [Edit("remove", (*holder, other)) for other in KEYS["speed"]]
    pairs = RIVALS.get(str(path[-2]), ()) if len(path) == 7 and path[3] == "then" else ()
    return [
        Edit("remove", (*holder, other)) for pair in pairs if key in pair for other in pair if other != key
    ]


def edit_words(form: FormData, opened: Opened) -> tuple[Sequence[Edit], str]:
    """Put a height, a speed or a heading as people write it."""
    at = path_of(text_in(form, "key", 400))
    if shape_at(record_shape(Sortie), at).sort != "record":
        raise EditError("That key takes no height and no speed.")
    words, value = text_in(form, "words", 20), " ".join(text_in(form, "value", 60).split())
    edits = worded_edits(at, words, value, text_in(form, "unit", 8))
    if len(at) == 3 and at[:2] == ("route", "legs") and words == "speed" and value:
        edits.append(Edit("remove", (*at, "arrive")))  # the speed would follow from the time
    named = f"leg {at[2] + 1}" if len(at) == 3 and isinstance(at[2], int) and at[1] == "legs" else str(at[-1])
    if isinstance(at[-1], int) and at[1] == "winds_aloft":
        named = f"wind {at[-1] + 1}"
    return edits, f"{named} {words.replace('_', ' ')}: {value or 'as usual'}"[:90]


def edit_station(form: FormData, opened: Opened) -> tuple[Sequence[Edit], str]:
    """Hang a store on a station, or take one off."""
    action, store = text_in(form, "act", 20), text_in(form, "store", 80)
    if hang := text_in(form, "hang", 80):
        action, store = "hang", hang
    elif text_in(form, "take", 8):
        action = "take"
    station = text_in(form, "station", 80)
    return station_edits(form_of(opened), pack_of(opened), station, action, store, number_in(form, "take"))


def edit_release(form: FormData, opened: Opened) -> tuple[Sequence[Edit], str]:
    """Sort the stations in the order of their release."""
    key, data = ("load", "release_order"), form_of(opened)
    order = data.items(*key)
    if name := text_in(form, "add", 80):
        if name not in data.names("load", "stores"):
            raise EditError("Nothing hangs there.")
        return [Edit("insert", (*key, len(order)), name)], f"{name} is released last"
    for act, by in (("earlier", -1), ("later", 1)):
        if text_in(form, act, 8):
            at = number_in(form, act)
            return [Edit("move", (*key, at), to=at + by)], "order of release"
    at = number_in(form, "leave")
    if not 0 <= at < len(order):
        raise EditError("That is not in the order of release.")
    return [Edit("remove", (*key, at))], "one station less to release"


def edit_fuel(form: FormData, opened: Opened) -> tuple[Sequence[Edit], str]:
    """Put fuel into a tank, or all."""
    sortie = None if opened.loaded is None else opened.loaded.sortie
    what, name = text_in(form, "what", 20), text_in(form, "name", 80)
    value, unit = text_in(form, "value", 40), text_in(form, "unit", 8)
    return fuel_edits(form_of(opened), pack_of(opened), sortie, what, name, value, unit)


def edit_aerodrome(form: FormData, opened: Opened) -> tuple[Sequence[Edit], str]:
    """Write a field by its code."""
    return aerodrome_edits(field_of(text_in(form, "field", 20)), text_in(form, "value", 8))


def edit_landing(form: FormData, opened: Opened) -> tuple[Sequence[Edit], str]:
    """Land at another field, or where the sortie took off."""
    said = {key: text_in(form, key, 40) for key in ("code", "designator", "heading", "length", "unit")}
    return landing_edits(form_of(opened), text_in(form, "act", 20), said)


def edit_runway(form: FormData, opened: Opened) -> tuple[Sequence[Edit], str]:
    """Choose, add or remove a runway, or a cable of it."""
    field, act = field_of(text_in(form, "field", 20)), text_in(form, "act", 20)
    said = {key: text_in(form, key, 40) for key in ("designator", "heading", "length", "unit")}
    return runway_edits(form_of(opened), field, act, number_in(form, "index"), number_in(form, "cable"), said)


def edit_route(form: FormData, opened: Opened) -> tuple[Sequence[Edit], str]:
    """Begin a route, or do without one."""
    said = {key: text_in(form, key, 40) for key in ("new", "bearing", "distance")}
    return route_edits(form_of(opened), text_in(form, "act", 20), said)


def edit_leg(form: FormData, opened: Opened) -> tuple[Sequence[Edit], str]:
    """Add, remove or sort a leg of the route."""
    value = " ".join(text_in(form, "value", 60).split())
    return leg_edits(form_of(opened), text_in(form, "act", 20), number_in(form, "index"), value)


def edit_then(form: FormData, opened: Opened) -> tuple[Sequence[Edit], str]:
    """Begin, change, sort or leave out what is done at the end of a leg."""
    lets_go = [one[:80] for one in form.getlist("lets_go") if isinstance(one, str)]
    index, at = number_in(form, "index"), number_in(form, "then")
    act, what = (
        text_in(form, "act", 20) or ("add" if text_in(form, "do", 20) else ""),
        text_in(form, "do", 20),
    )
    pack = (
        None
        if opened.loaded is None and form_of(opened).text("pack") not in pack_names()
        else pack_of(opened)
    )
    return then_edits(form_of(opened), pack, act, index, at, what, lets_go)


def edit_point(form: FormData, opened: Opened) -> tuple[Sequence[Edit], str]:
    """Add, move, rename or remove a point of the route."""
    keys = ("latitude", "longitude", "new", "bearing", "distance", "where")
    said = {key: text_in(form, key, 40) for key in keys}
    return point_edits(form_of(opened), text_in(form, "act", 20), text_in(form, "name", 80), said)


def edit_wind(form: FormData, opened: Opened) -> tuple[Sequence[Edit], str]:
    """Add or remove a wind aloft."""
    act, index = text_in(form, "act", 20), number_in(form, "index")
    value, unit = text_in(form, "value", 30), text_in(form, "unit", 8)
    return wind_edits(form_of(opened), act, index, value, unit)
