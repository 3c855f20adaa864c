"""What is done at the end of a leg: orbit, refuelling, release, task, turn; as shown, and as edits."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from sortiewright.desk.editing import Edit, EditError, Path, Plain
from sortiewright.desk.prepare_fields import Choice, Field, Form
from sortiewright.desk.prepare_load_edits import names_at
from sortiewright.desk.prepare_words import (
    LENGTH_UNITS,
    MASS_UNITS,
    SPEED_UNITS,
    level_words,
    speed_words,
    worded_field,
)
from sortiewright.pack import Pack
from sortiewright.sortie import System, stays

LEGS = ("route", "legs")
MOST_DOINGS = 20

Doing = Literal["orbit", "refuel", "release", "task", "turn"]
TITLES: dict[Doing, str] = {
    "orbit": "Orbit",
    "refuel": "Refuel",
    "release": "Release",
    "task": "Task",
    "turn": "Turn",
}
BEGUN: dict[Doing, Mapping[str, str]] = {
    "orbit": {"time": "10 min"},
    "refuel": {"time": "8 min"},
    "task": {"title": "Task", "time": "5 min"},
    "turn": {"heading_change": "360 deg"},
}
"""What a new one says until its crew says more."""


@dataclass(frozen=True, slots=True)
class ReleaseTick:
    """A station that may let go at a point."""

    name: str
    title: str
    lets_go: bool
    elsewhere: str = ""
    """Where it lets go instead: "leg 6"."""


@dataclass(frozen=True, slots=True)
class DoingCard:
    """One thing done at a point: its fields, or the stations that let go."""

    index: int
    title: str
    words: str
    fields: tuple[Field, ...]
    ticks: tuple[ReleaseTick, ...]
    is_release: bool
    problems: tuple[str, ...]
    is_last: bool


def doing_words(form: Form, leg: int, pack: Pack | None) -> tuple[str, ...]:
    """Return what is done at the end of a leg, a line each."""
    count = len(form.items(*LEGS, leg, "then"))
    return tuple(_line(form, (*LEGS, leg, "then", index), pack) for index in range(count))


def _line(form: Form, at: Path, pack: Pack | None) -> str:
    name = _name_of(form, at)
    if name is None:
        return "something that is not known"
    here = (*at, name)
    if name == "release":
        return f"release {', '.join(_station(pack, one) for one in _stations(form, here)) or 'nothing'}"

    def said(key: str) -> str:
        return form.text(*here, key)

    until = f"until {said('until')}" if said("until") else ""
    parts: Sequence[str]
    match name:
        case "orbit":
            head, parts = "orbit", (said("time"), until)
        case "refuel":
            head, parts = "refuel", (said("fuel"), said("time"), said("rate"))
        case "task":
            power = " of it at ".join(part for part in (said("power_share"), said("power")) if part)
            head, parts = said("title") or "task", (said("time"), power, said("fuel_flow"))
        case _:
            load = f"{said('load_factor')} g" if said("load_factor") else ""
            bank = f"{said('bank')} of bank" if said("bank") else ""
            head, parts = f"turn {said('heading_change')}", (load, bank, said("power"))
    rest = (*parts, level_words(form, here, ""), speed_words(form, here))
    return f"{head} {', '.join(part for part in rest if part)}".strip()


def _name_of(form: Form, at: Path) -> Doing | None:
    names = form.names(*at)
    return next((name for name in TITLES if names == [name]), None)


def _stations(form: Form, at: Path) -> list[str]:
    return [one for one in form.items(*at) if isinstance(one, str)]


def _station(pack: Pack | None, name: str) -> str:
    station = None if pack is None else pack.mass.stations.get(name)
    return name.replace("_", " ") if station is None else station.title or name


def doing_cards(form: Form, leg: int, pack: Pack | None, units: System) -> tuple[DoingCard, ...]:
    """Return everything that is done at the end of a leg, to be edited."""
    return tuple(_cards(form, leg, pack, units))


def _cards(form: Form, leg: int, pack: Pack | None, units: System) -> Iterator[DoingCard]:
    count = len(form.items(*LEGS, leg, "then"))
    for index in range(count):
        at = (*LEGS, leg, "then", index)
        name = _name_of(form, at)
        is_release = name == "release"
        fields = () if name is None or is_release else _fields(form, (*at, name), name, pack, units)
        ticks = _ticks(form, leg, index, pack) if is_release else ()
        title = "Not known" if name is None else TITLES[name]
        words = _line(form, at, pack)
        last = index == count - 1
        yield DoingCard(index, title, words, fields, ticks, is_release, form.rest_at(*at), last)


def _fields(form: Form, at: Path, name: Doing, pack: Pack | None, units: System) -> tuple[Field, ...]:
    mass = MASS_UNITS[units]
    powers = power_choices(pack)

    def one(key: str, title: str, unit: str = "", placeholder: str = "") -> Field:
        choices = powers if key == "power" else ()
        return form.field((*at, key), title, unit=unit, placeholder=placeholder, choices=choices)

    how = (
        worded_field(form, at, "level", "Height", LENGTH_UNITS[units], "as before"),
        worded_field(
            form, at, "speed", "Speed", SPEED_UNITS[units], "endurance" if name == "orbit" else "as before"
        ),
    )
    match name:
        case "orbit":
            own = (
                one("time", "For", "min", "or until"),
                one("until", "or until, UTC", placeholder="10:12Z"),
                one("bank", "Bank", "deg", "level flight"),
            )
        case "refuel":
            own = (
                one("fuel", "Fuel taken on", mass, "to full"),
                one("time", "In", "min", "or at a rate"),
                one("rate", "or at", f"{mass}/min"),
            )
        case "task":
            own = (
                one("title", "What it is", placeholder="Task"),
                one("time", "For", "min"),
                one("power", "Power", placeholder="level flight"),
                one("power_share", "Share of time at it", "%", "100"),
                one("fuel_flow", "or fuel flow", f"{mass}/h", "none"),
            )
        case _:
            own = (
                one("heading_change", "Through", "deg"),
                one("load_factor", "Load factor, g", placeholder="sustained"),
                one("bank", "or bank", "deg", "by the load"),
                one("power", "Power", placeholder="usual"),
            )
    return (*own, *how)


def power_choices(pack: Pack | None) -> tuple[Choice, ...]:
    """Return the pack's power settings as choices."""
    if pack is None:
        return ()
    return tuple(Choice(name, one.title or name) for name, one in pack.engine.settings.items())


def _ticks(form: Form, leg: int, index: int, pack: Pack | None) -> tuple[ReleaseTick, ...]:
    here = _stations(form, (*LEGS, leg, "then", index, "release"))
    elsewhere = _let_go(form, but=(leg, index))
    loaded = [name for name in form.names("load", "stores") if _can_let_go(form, pack, name) or name in here]
    unknown = [name for name in here if name not in loaded]
    return tuple(
        ReleaseTick(name, _station(pack, name), name in here, elsewhere.get(name, ""))
        for name in (*loaded, *unknown)
    )


def _can_let_go(form: Form, pack: Pack | None, station: str) -> bool:
    carried = names_at(form, station)
    return bool(carried) and (pack is None or not stays(pack, carried))


def _let_go(form: Form, *, but: tuple[int, int]) -> dict[str, str]:
    """Return the stations that let go somewhere on the route, and where."""
    found: dict[str, str] = {}
    for leg in range(len(form.items(*LEGS))):
        for index in range(len(form.items(*LEGS, leg, "then"))):
            if (leg, index) != but:
                for name in _stations(form, (*LEGS, leg, "then", index, "release")):
                    found.setdefault(name, f"leg {leg + 1}")
    return found


def then_edits(
    form: Form, pack: Pack | None, act: str, leg: int, index: int, what: str, lets_go: Sequence[str]
) -> tuple[list[Edit], str]:
    """Return the edits of one act with what is done at the end of a leg. Raises ``EditError``.

    ``add`` begins ``what``; ``leave``, ``earlier`` and ``later`` concern the one at ``index``; ``release``
    says which stations let go there, all of them.
    """
    if not 0 <= leg < len(form.items(*LEGS)):
        raise EditError("There is no such leg.")
    at, named = (*LEGS, leg, "then"), f"leg {leg + 1}"
    count = len(form.items(*at))
    if act == "add":
        if count >= MOST_DOINGS:
            raise EditError("That is enough to do at one point.")
        new, said = _begun(form, pack, what)
        return [Edit("insert", (*at, count), new)], f"{said} after {named}"
    if not 0 <= index < count:
        raise EditError("That is not done there any more.")
    here = (*at, index)
    match act:
        case "leave":
            return [Edit("remove", here if count > 1 else at)], f"less to do after {named}"
        case "earlier" | "later":
            to = index + (1 if act == "later" else -1)
            return [Edit("move", here, to=to)], f"order of what is done after {named}"
        case "release":
            return _release(form, here, at if count == 1 else here, lets_go, named)
        case _:
            raise EditError("That cannot be done at a point.")


def _begun(form: Form, pack: Pack | None, what: str) -> tuple[Mapping[str, Plain], str]:
    if what == "release":
        gone = _let_go(form, but=(-1, -1))
        left = [
            name
            for name in form.names("load", "stores")
            if name not in gone and _can_let_go(form, pack, name)
        ]
        if not left:
            said = (
                "Whatever can be released has been already"
                if gone
                else "Nothing is loaded that can be released"
            )
            raise EditError(f"{said}. Hang stores under Load and fuel.")
        return {"release": left}, "a release"
    for name, said in BEGUN.items():
        if name == what:
            return {name: dict(said)}, f"{'an' if name == 'orbit' else 'a'} {TITLES[name].lower()}"
    raise EditError("Choose what is to be done: orbit, refuel, release, task or turn.")


def _release(
    form: Form, here: Path, whole: Path, lets_go: Sequence[str], named: str
) -> tuple[list[Edit], str]:
    if _name_of(form, here) != "release":
        raise EditError("Nothing is released there.")
    now = _stations(form, (*here, "release"))
    loaded = form.names("load", "stores")
    wanted = [name for name in now if name in lets_go]
    wanted += [name for name in loaded if name in lets_go and name not in wanted]
    if not wanted:
        return [Edit("remove", whole)], f"no release after {named}"
    return [Edit("put", (*here, "release"), wanted)], f"what is released after {named}"
