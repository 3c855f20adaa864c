"""What can be done with a route, its legs, its points and its winds; as edits of the text, a step each."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from sortiewright.air import destination
from sortiewright.desk.editing import Edit, EditError, Path, Plain
from sortiewright.desk.prepare_fields import NUMBER, Form
from sortiewright.desk.prepare_words import degrees_text, level_edits

MOST_LEGS = 60
MOST_POINTS = 200
FARTHEST = 1000.0  # nmi, of a point that is placed by bearing and distance
ROUTE = ("route",)
LEGS = ("route", "legs")
POINTS = ("route", "points")
FIRST_HEIGHT: Mapping[str, str] = {"altitude": "5000 ft"}
Edits = tuple[list[Edit], str]


def home_of(form: Form) -> str:
    """Return the name by which a route calls the field of the takeoff."""
    return form.text("aerodrome", "icao") or form.text("aerodrome", "name")


def route_edits(form: Form, act: str, said: Mapping[str, str]) -> Edits:
    """Return the edits that begin a route or do without one. Raises ``EditError``.

    ``said`` may place a first point: ``new``, a name; ``bearing`` and ``distance`` from the field.
    """
    if act == "forget":
        return [Edit("remove", ROUTE)], "no route"
    if act != "begin":
        raise EditError("That cannot be done with a route.")
    home = home_of(form)
    if not home:
        raise EditError("Name the field first, under Field and weather.")
    if form.value("route") is not None:
        return [], "a route"
    back: Mapping[str, Plain] = {"to": home}
    if not said.get("bearing") and not said.get("distance"):
        return [Edit("put", ROUTE, {"legs": [{**back, **FIRST_HEIGHT}]})], "a route"
    name = _free_name(form, said.get("new", ""))
    latitude, longitude = _ahead(_place_of(form, home), said.get("bearing", ""), said.get("distance", ""))
    points: Mapping[str, Plain] = {name: {"latitude": latitude, "longitude": longitude}}
    legs: Sequence[Plain] = [{"to": name, **FIRST_HEIGHT}, back]
    return [Edit("put", ROUTE, {"points": points, "legs": legs})], f"a route to {name} and back"


def leg_edits(form: Form, act: str, index: int, value: str) -> Edits:
    """Return the edits of one act with the legs. Raises ``EditError``.

    ``insert`` puts a leg to ``value`` before the one at ``index``, or last.
    """
    count = len(form.items(*LEGS))
    if act == "insert":
        return _new_leg(form, count if index < 0 else index, value)
    here, named = (*LEGS, index), f"leg {index + 1}"
    if not 0 <= index < count:
        raise EditError("There is no such leg.")
    match act:
        case "remove":
            if count == 1:
                raise EditError("A route needs one leg. Remove the route instead.")
            kept = _height_handed_on(form, 1) if index == 0 else []
            return [*kept, Edit("remove", here)], f"{named} removed"
        case "earlier" | "later":
            to = index + (1 if act == "later" else -1)
            kept = _height_handed_on(form, 1) if {index, to} == {0, 1} and count > 1 else []
            return [*kept, Edit("move", here, to=to)], f"{named} {act}"
        case _:
            raise EditError("That cannot be done with a leg.")


def _new_leg(form: Form, index: int, to: str) -> Edits:
    count = len(form.items(*LEGS))
    if not to:
        raise EditError("Choose where the new leg leads.")
    if form.value("route") is None or not 0 <= index <= count:
        raise EditError("There is no such leg.")
    if count >= MOST_LEGS:
        raise EditError(f"A route has {MOST_LEGS} legs at most.")
    # The first leg needs a height; whatever was the first has one.
    said: dict[str, Plain] = {"to": to, **(_height_of(form, 0) if index == 0 else {})}
    return [Edit("insert", (*LEGS, index), said)], f"a leg to {to}"


def _height_of(form: Form, index: int) -> dict[str, str]:
    return {key: said for key in ("altitude", "flight_level") if (said := form.text(*LEGS, index, key))}


def _height_handed_on(form: Form, index: int) -> list[Edit]:
    """Return the edits that write the first leg's height in a leg which has none and becomes the first."""
    if _height_of(form, index):
        return []
    return [Edit("put", (*LEGS, index, key), said) for key, said in _height_of(form, 0).items()]


def point_edits(form: Form, act: str, name: str, said: Mapping[str, str]) -> Edits:
    """Return the edits of one act with a point. Raises ``EditError``.

    ``said`` holds what the form says beside it: ``latitude`` and ``longitude``; ``new``, a name; ``bearing``
    and ``distance``, degrees true and nautical miles; ``where``, the position of a leg that is to lead there.
    """
    names = form.names(*POINTS)
    at = (*POINTS, name)
    if act == "add":
        return _new_point(form, name, _position(said), said.get("where", ""))
    if act == "name":
        return _named_in_place(form, said.get("where", ""), name)
    if act == "from":
        place = _ahead(_place_of(form, name), said.get("bearing", ""), said.get("distance", ""))
        return _new_point(form, said.get("new", ""), place, said.get("where", ""))
    if name not in names:
        raise EditError("There is no such point.")
    match act:
        case "remove":
            if used := uses(form, name):
                raise EditError(f"{name} is used: {', '.join(used)}.")
            return [Edit("remove", at)], f"no point {name}"
        case "move":
            latitude, longitude = _position(said)
            moved = [Edit("put", (*at, "latitude"), latitude), Edit("put", (*at, "longitude"), longitude)]
            return moved, f"{name} moved"
        case "rename":
            new = _free_name(form, said.get("new", ""), but=name)
            followed = [Edit("put", path, new) for path in _used_at(form, name)]
            return [Edit("rename", at, new), *followed] if new != name else [], f"{name} is now {new}"
        case _:
            raise EditError("That cannot be done with a point.")


def uses(form: Form, name: str) -> tuple[str, ...]:
    """Return where a point is named, in words."""
    return tuple(
        f"leg {path[2] + 1}"
        if isinstance(path[2], int)
        else "recovery fix"
        if path[2] == "fix"
        else "alternate"
        for path in _used_at(form, name)
    )


def _used_at(form: Form, name: str) -> list[Path]:
    paths: list[Path] = [(*LEGS, index, "to") for index in range(len(form.items(*LEGS)))]
    paths += [("route", "recovery", "fix"), ("route", "recovery", "alternate", "at")]
    return [path for path in paths if form.text(*path) == name]


def _new_point(form: Form, name: str, place: tuple[str, str], where: str) -> Edits:
    wanted = _free_name(form, name)
    if len(form.names(*POINTS)) >= MOST_POINTS:
        raise EditError("Those are points enough.")
    if form.value("route") is None:
        raise EditError("Begin a route first.")
    edits = [Edit("put", (*POINTS, wanted), {"latitude": place[0], "longitude": place[1]})]
    if not where:
        return edits, f"point {wanted}"
    index = _whole(where)
    if not 0 <= index <= len(form.items(*LEGS)):
        raise EditError("There is no such leg.")
    leg, _ = _new_leg(form, index, wanted)
    return [*edits, *leg], f"point {wanted}, and a leg to it"


def _named_in_place(form: Form, where: str, name: str) -> Edits:
    """Return the edits that give a point its name which a leg writes in place."""
    at = (*LEGS, _whole(where), "to")
    found = form.value(*at)
    if not isinstance(found, Mapping):
        raise EditError("That leg leads to a point with a name already.")
    wanted = _free_name(form, name)
    return [Edit("put", (*POINTS, wanted), found), Edit("put", at, wanted)], f"point {wanted}"


def _free_name(form: Form, name: str, but: str = "") -> str:
    wanted = " ".join(name.upper().split())
    if wanted == but:
        return wanted
    if not re.fullmatch(r"[A-Z][A-Z0-9 _-]{0,19}", wanted):
        raise EditError("Name the point with letters and digits, 20 at most.")
    fields = (
        form.text(*at, key)
        for at in (("aerodrome",), ("landing_place", "aerodrome"))
        for key in ("icao", "name")
    )
    if wanted in form.names(*POINTS) or wanted in fields:
        raise EditError(f"There is a point {wanted} already.")
    return wanted


def next_name(form: Form) -> str:
    """Return a name that no point has yet."""
    names = form.names(*POINTS)
    return next(name for number in range(1, MOST_POINTS + 2) if (name := f"P{number}") not in names)


def _position(said: Mapping[str, str]) -> tuple[str, str]:
    return (
        degrees_text(said.get("latitude", ""), "latitude"),
        degrees_text(said.get("longitude", ""), "longitude"),
    )


def _place_of(form: Form, name: str) -> tuple[float, float]:
    at: Path = (*POINTS, name) if name in form.names(*POINTS) else ("aerodrome",)
    if at == ("aerodrome",) and name != home_of(form):
        raise EditError("There is no such point.")
    try:
        return float(form.text(*at, "latitude")), float(form.text(*at, "longitude"))
    except ValueError:
        raise EditError(f"It is not written where {name} lies.") from None


def _ahead(place: tuple[float, float], bearing: str, distance: str) -> tuple[str, str]:
    numbers = [float(one) if re.fullmatch(NUMBER, one) else float("nan") for one in (bearing, distance)]
    if not 0.0 <= numbers[0] <= 360.0 or not 0.0 < numbers[1] <= FARTHEST:
        raise EditError("Write a true bearing from 0 to 360 and a distance in nautical miles.")
    if abs(place[0]) > 90.0 or abs(place[1]) > 180.0:
        raise EditError("The point it is measured from lies nowhere.")
    found = destination(*place, numbers[0], numbers[1] * 1852.0)
    return f"{float(found.latitude_deg):.5f}", f"{float(found.longitude_deg):.5f}"


def _whole(text: str) -> int:
    return int(text) if re.fullmatch(r"[0-9]{1,4}", text) else -1


def wind_edits(form: Form, act: str, index: int, value: str, unit: str) -> Edits:
    """Return the edits of one act with the winds aloft. Raises ``EditError``."""
    at = ("route", "winds_aloft")
    winds = form.items(*at)
    if act == "add":
        if form.value("route") is None:
            raise EditError("Begin a route first.")
        new: dict[str, Plain] = {"wind_from": "270 deg", "wind_speed": "20 kt"}
        level = level_edits((), "", value, unit)
        put = next((one for one in level if one.action == "put"), None)
        if put is None:
            raise EditError("Write the height of the new wind: FL100, or 2000 ft.")
        assert isinstance(put.value, str)
        edits = [Edit("insert", (*at, len(winds)), {str(put.path[-1]): put.value, **new})]
        return edits, f"a wind at {value}"
    if not 0 <= index < len(winds):
        raise EditError("There is no such wind.")
    if act == "remove":
        last = len(winds) == 1
        return [Edit("remove", at if last else (*at, index))], "one wind aloft less"
    raise EditError("That cannot be done with a wind.")


def alternate_edits(name: str) -> Edits:
    """Return the edits that name the alternate, or do without one."""
    at = ("route", "recovery", "alternate")
    if not name:
        return [Edit("remove", at)], "no alternate"
    return [Edit("put", (*at, "at"), name)], f"alternate {name}"
