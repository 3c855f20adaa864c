"""Heights, speeds, headings and positions as crews write them, and as the file has them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Literal

from sortiewright.desk.editing import Edit, EditError, Path, check_path, pointer_of
from sortiewright.desk.prepare_fields import NUMBER, Field, Form, id_of, quantity_text
from sortiewright.sortie import System

LENGTH_UNITS: dict[System, str] = {"trade": "ft", "si": "m"}
SPEED_UNITS: dict[System, str] = {"trade": "kt", "si": "m/s"}
MASS_UNITS: dict[System, str] = {"trade": "lb", "si": "kg"}
SPEEDS = {"cas": "CAS", "tas": "TAS", "ground_speed": "GS"}
BEST = ("range", "ground_range", "endurance")

Words = Literal["level", "arrive_level", "speed", "heading"]
"""What is one entry for a crew, and one of several keys in the file."""
KEYS: dict[Words, tuple[str, ...]] = {
    "level": ("altitude", "flight_level"),
    "arrive_level": ("arrive_altitude", "arrive_flight_level"),
    "speed": ("mach", *SPEEDS, "best"),
    "heading": ("true_heading", "magnetic_heading"),
}
_LEVEL = re.compile(r"FL ?([0-9]{1,3})", re.IGNORECASE)
_MACH = re.compile(rf"(?:M|Mach) ?({NUMBER})|({NUMBER}) ?M", re.IGNORECASE)
_SPEED = re.compile(rf"({NUMBER} ?(?:kt|km/h|m/s)?) ?(CAS|TAS|GS)?", re.IGNORECASE)
_HEADING = re.compile(rf"({NUMBER}) ?(?:deg|°)? ?(T|TRUE|M|MAG|MAGNETIC)?", re.IGNORECASE)
_POSITION = re.compile(
    r"([NSEW])?\s*([-+−]?[0-9]{1,3}(?:\.[0-9]*)?)\s*(?:[°d:\s]\s*(?:([0-9]{1,2}(?:\.[0-9]*)?)\s*(?:['′:\s]\s*"
    r"(?:([0-9]{1,2}(?:\.[0-9]*)?)\s*(?:[\"″]|'')?)?)?)?)?\s*([NSEW])?",
    re.IGNORECASE,
)


def worded_field(form: Form, at: Path, words: Words, title: str, unit: str, placeholder: str = "") -> Field:
    """Return the one field for a height, a speed or a heading of a record."""
    for key in KEYS[words]:
        check_path((*at, key))
    problems = tuple(said for key in KEYS[words] for said in form.problems_at(*at, key))
    pointer = pointer_of(at)
    value = said_in_words(form, at, words)
    return Field(
        pointer, f"{id_of(pointer)}-{words}", title, value, unit, placeholder, problems=problems, words=words
    )


def said_in_words(form: Form, at: Path, words: Words) -> str:
    """Return what a file says of a record's height, speed or heading."""
    match words:
        case "speed":
            return speed_words(form, at)
        case "heading":
            return heading_words(form, at)
        case _:
            return level_words(form, at, words.removesuffix("level"))


def worded_edits(at: Path, words: str, value: str, unit: str) -> list[Edit]:
    """Return the edits that write a height, a speed or a heading of a record. Raises ``EditError``."""
    match words:
        case "level" | "arrive_level":
            return level_edits(at, words.removesuffix("level"), value, unit)
        case "speed":
            return speed_edits(at, value, unit)
        case "heading":
            return heading_edits(at, value)
        case _:
            raise EditError("That is no height, speed or heading.")


def level_words(form: Form, at: Path, prefix: str) -> str:
    """Return the height of a leg or wind as people write it: FL180, 2500 ft."""
    if level := form.text(*at, f"{prefix}flight_level"):
        return f"FL{level.zfill(3)}"
    return form.text(*at, f"{prefix}altitude")


def speed_words(form: Form, at: Path) -> str:
    """Return the speed of a leg as people write it: 450 kt CAS, M0.8, range."""
    if mach := form.text(*at, "mach"):
        return f"M{mach}"
    for key, word in SPEEDS.items():
        if speed := form.text(*at, key):
            return f"{speed} {word}"
    return form.text(*at, "best").replace("_", " ")


def heading_words(form: Form, at: Path) -> str:
    """Return the heading of a runway as people write it: 258 T, 261 M."""
    for key, word in (("true_heading", "T"), ("magnetic_heading", "M")):
        if heading := form.text(*at, key):
            found = _HEADING.fullmatch(heading.strip())
            return f"{found[1]} {word}" if found is not None and not found[2] else heading
    return ""


def level_edits(at: Path, prefix: str, value: str, unit: str) -> list[Edit]:
    """Return the edits that write a height: FL180, 2500 ft, a bare number in ``unit``, or empty."""
    altitude, level = (*at, f"{prefix}altitude"), (*at, f"{prefix}flight_level")
    if found := _LEVEL.fullmatch(value):
        return [Edit("remove", altitude), Edit("put", level, str(int(found[1])))]
    if not value:
        return [Edit("remove", altitude), Edit("remove", level)]
    return [Edit("remove", level), Edit("put", altitude, quantity_text(value, unit))]


def speed_edits(at: Path, value: str, unit: str) -> list[Edit]:
    """Return the edits that write a speed: 450 kt CAS, 480 TAS, 420 GS, M0.8, range, endurance, or empty."""
    best = value.lower().replace(" ", "_")
    if not value:
        return _one_of(at, KEYS["speed"])
    if best in BEST:
        return _one_of(at, KEYS["speed"], "best", best)
    if found := _MACH.fullmatch(value):
        return _one_of(at, KEYS["speed"], "mach", found[1] or found[2])
    if found := _SPEED.fullmatch(value):
        key = next((key for key, word in SPEEDS.items() if word == (found[2] or "CAS").upper()), "cas")
        return _one_of(at, KEYS["speed"], key, quantity_text(found[1], unit))
    raise EditError(f"{value[:40]} is no speed. Write 450 kt CAS, 480 TAS, 420 GS, M0.8, range or endurance.")


def heading_edits(at: Path, value: str) -> list[Edit]:
    """Return the edits that write a runway's heading: 258 T, 261 M; a bare number is true."""
    if not value:
        return _one_of(at, KEYS["heading"])
    found = _HEADING.fullmatch(value)
    if found is None:
        raise EditError(f"{value[:40]} is no heading. Write 258 T for true, 261 M for magnetic.")
    key = "magnetic_heading" if (found[2] or "").upper().startswith("M") else "true_heading"
    return _one_of(at, KEYS["heading"], key, f"{found[1]} deg")


def _one_of(at: Path, keys: Sequence[str], wanted: str = "", value: str = "") -> list[Edit]:
    # What replaces a value stands at its place; the others go.
    gone = [Edit("remove", (*at, key)) for key in keys if key != wanted]
    return [*gone, Edit("put", (*at, wanted), value)] if wanted else gone


def degrees_text(value: str, axis: Literal["latitude", "longitude"]) -> str:
    """Return a position as the file has it, degrees with south and west negative.

    Read are degrees (56.25, -5.08) and degrees, minutes, seconds with the side (56 15.0 N, W 5 04 48).
    Raises ``EditError`` for anything else.
    """
    plain = " ".join(
        value.replace("−", "-").replace("º", "°").replace("\u2019", "'").replace(",", ".").split()
    )
    if re.fullmatch(NUMBER, plain):
        return plain
    found = _POSITION.fullmatch(plain)
    sides = "NS" if axis == "latitude" else "EW"
    if found is not None and (side := (found[1] or found[5] or "").upper()) and side in sides:
        degrees, minutes, seconds = (float(part or 0.0) for part in found.group(2, 3, 4))
        twice = found[1] and found[5] and found[1].upper() != found[5].upper()
        if degrees >= 0.0 and minutes < 60.0 and seconds < 60.0 and not twice:
            size = degrees + minutes / 60.0 + seconds / 3600.0
            return f"{size if side in 'NE' else -size:.5f}"
    example = "56.25 or 56 15.0 N" if axis == "latitude" else "-5.08 or 5 04.8 W"
    raise EditError(f"{plain[:40] or 'Nothing'} is no {axis}. Write {example}.")


def place_words(latitude: float, longitude: float) -> str:
    """Return a position in degrees and minutes: 56°15.0′N 5°04.8′W."""
    return f"{_side(latitude, 'N', 'S')} {_side(longitude, 'E', 'W')}"


def _side(value: float, positive: str, negative: str) -> str:
    whole, tenths = divmod(round(abs(value) * 600), 600)
    return f"{whole}°{tenths // 10:02d}.{tenths % 10}′{positive if value >= 0 else negative}"
