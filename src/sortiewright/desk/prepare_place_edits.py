"""What can be done with the fields of takeoff and landing, their runways and cables; as edits of the text."""

from __future__ import annotations

import re
from collections.abc import Mapping

from sortiewright.air import UnknownAerodrome, aerodrome_by_icao, reciprocal_designator
from sortiewright.desk.editing import Edit, EditError, Path, Plain
from sortiewright.desk.prepare_fields import Form, quantity_text
from sortiewright.desk.prepare_words import heading_edits

LONGEST_NAME_OF_FIELD = 80
MOST_RUNWAYS, MOST_CABLES = 20, 8
TAKEOFF: Path = ("aerodrome",)
LANDING: Path = ("landing_place", "aerodrome")
Edits = tuple[list[Edit], str]


def field_of(name: str) -> Path:
    """Return the key path of the field that a form is about: that of the takeoff unless it says landing."""
    return LANDING if name == "landing" else TAKEOFF


def runway_key(field: Path) -> Path:
    """Return where the runway in use of a field is named."""
    return ("runway",) if field == TAKEOFF else ("landing_place", "runway")


def aerodrome_edits(field: Path, code: str) -> Edits:
    """Return the edits that write the field of an ICAO code. Raises ``EditError`` where it is not known."""
    said = _listed(code)
    edits = [Edit("put", (*field, key), value) for key, value in said.items()]
    return [
        *edits,
        Edit("remove", (*field, "variation")),
    ], f"field {said['icao']}; its runways are yet to be written"


def _listed(code: str) -> dict[str, str]:
    wanted = code.strip().upper()[:8]
    try:
        found = aerodrome_by_icao(wanted)
    except UnknownAerodrome as error:
        near = f" Near it: {', '.join(error.near_codes)}." if error.near_codes else ""
        said = f"{wanted or 'Nothing'} is not in the list of fields.{near}"
        raise EditError(f"{said} Write position and elevation out instead.") from None
    return {
        "icao": wanted,
        "name": (found.name or wanted)[:LONGEST_NAME_OF_FIELD],
        "latitude": f"{found.latitude_deg:.5f}",
        "longitude": f"{found.longitude_deg:.5f}",
        "elevation": f"{found.elevation / 0.3048:.0f} ft",
    }


def landing_edits(form: Form, act: str, said: Mapping[str, str]) -> Edits:
    """Return the edits that let the sortie land at another field, or at that of the takeoff again.

    ``said`` holds the field's ``code`` (a code of the open list, else its name) and its runway's
    ``designator``, ``heading`` and ``length``. Raises ``EditError``.
    """
    if act == "home":
        return [Edit("remove", ("landing_place",))], "landing at the field of the takeoff"
    if act != "begin":
        raise EditError("That cannot be done with the landing.")
    code = " ".join(said.get("code", "").split())
    if not code:
        raise EditError("Name the field of the landing: its ICAO code, or what it is called.")
    runway = _new_runway(said)
    try:
        place = _listed(code)
    except EditError:
        place = {"name": code}  # where it lies is asked for beside its fields
    field: Mapping[str, Plain] = {**place, "runways": [runway]}
    edits = [Edit("put", LANDING, field), Edit("put", runway_key(LANDING), runway["designator"])]
    weather = (
        ()
        if form.value("landing_place", "weather") is None
        else (Edit("remove", ("landing_place", "weather")),)
    )
    return [*edits, *weather], f"landing at {place['name']}"


def runway_edits(
    form: Form, field: Path, action: str, index: int, cable: int, said: Mapping[str, str]
) -> Edits:
    """Return the edits of one act with the runways of a field. Raises ``EditError``.

    ``said`` describes a new one, as for ``landing_edits``; ``cable`` is the position of the cable to remove.
    """
    at = (*field, "runways")
    runways = form.items(*at)
    if action in ("add", "other_end") and len(runways) >= MOST_RUNWAYS:
        raise EditError("Those are runways enough.")
    if action == "add":
        new = _new_runway(said)
        edits = [Edit("insert", (*at, len(runways)), new)]
        if not runways:
            edits.append(Edit("put", runway_key(field), new["designator"]))
        return edits, f"runway {new['designator']}"
    if not 0 <= index < len(runways):
        raise EditError("There is no such runway.")
    here, designator = (*at, index), form.text(*at, index, "designator")
    cables = len(form.items(*here, "cables"))
    match action:
        case "use":
            return [Edit("put", runway_key(field), designator)], f"runway {designator}"
        case "other_end":
            new = _other_end(form, here)
            if any(form.text(*at, one, "designator") == new["designator"] for one in range(len(runways))):
                raise EditError(f"There is a runway {new['designator']} already.")
            return [Edit("insert", (*at, len(runways)), new)], f"other end of {designator}"
        case "remove":
            if len(runways) == 1:
                raise EditError("A field needs one runway.")
            return [Edit("remove", here)], f"no runway {designator}"
        case "cable":
            if cables >= MOST_CABLES:
                raise EditError("Those are cables enough.")
            new = {"name": "cable", "distance": "1300 ft"}
            return [Edit("insert", (*here, "cables", cables), new)], f"a cable on {designator}"
        case "uncable" if 0 <= cable < cables:
            gone = (*here, "cables", cable) if cables > 1 else (*here, "cables")
            return [Edit("remove", gone)], f"one cable less on {designator}"
        case _:
            raise EditError("That cannot be done with a runway.")


def _new_runway(said: Mapping[str, str]) -> dict[str, str]:
    designator = said.get("designator", "").upper()
    if not re.fullmatch(r"(0?[1-9]|[12][0-9]|3[0-6])[LRC]?", designator):
        raise EditError("Name the runway as it is painted: 08, 26L.")
    if not designator[:2].isdigit() or len(designator) == 1:
        designator = f"0{designator}"
    if not (length := said.get("length", "")):
        raise EditError("Write how long the runway is.")
    # Where nothing is said the number is the heading: magnetic, in tens of degrees (ICAO Annex 14, 5.2.2.4).
    heading = said.get("heading", "") or f"{int(designator[:2]) * 10} M"
    put = next(one for one in heading_edits((), heading) if one.action == "put")
    assert isinstance(put.value, str)
    unit = said.get("unit", "") or "ft"
    return {"designator": designator, str(put.path[-1]): put.value, "length": quantity_text(length, unit)}


def _other_end(form: Form, at: Path) -> dict[str, str]:
    runway = form.value(*at)
    if not isinstance(runway, Mapping):
        raise EditError("That is no runway.")
    said = {key: value for key, value in runway.items() if isinstance(value, str)}
    try:
        made = {"designator": reciprocal_designator(said.get("designator", ""))}
    except ValueError:
        raise EditError("Its designator is none, so the other end has none either.") from None
    for key in ("true_heading", "magnetic_heading"):
        if found := re.match(r"[0-9.]+", said.get(key, "")):
            made[key] = f"{(float(found[0]) + 180) % 360 or 360:g} deg"
    made |= {key: said[key] for key in ("length", "width", "surface", "condition") if key in said}
    if slope := said.get("slope", "").strip():
        made["slope"] = slope[1:] if slope.startswith("-") else f"-{slope.lstrip('+')}"
    return made
