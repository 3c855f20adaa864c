"""Generic checklists and debrief rules of a sampled pack: the templates beside this module, less what the
aircraft has not.

In a template ``only`` names what an aircraft must have for a list, an item, a control or a rule to stay
(``kind_of``), ``name`` the key under which it is written, and ``$word`` a word of ``words_of``. Conditions
written as a list are joined by ``and``, less those that speak of a control that is not there.
"""

from __future__ import annotations

import io
import re
from collections.abc import Mapping
from importlib import import_module, resources
from string import Template
from typing import Any, cast

from sortiewright.pack_sampling.aircraft_kind import NOBODY, kind_of, words_of
from sortiewright.pack_sampling.sampling import SampledAircraft

SOURCE = "generic: common practice, no source"
HEAD = (
    "# Generic, for the parts that the flight model has: common practice, no source. Nobody flies by it;\n"
    "# mend it from your aircraft's own handbook.\n"
)
LISTS = ("ground", "departure", "flight", "recovery", "emergencies")
RULES = ("departure", "flight", "landing", "measurements")
LIMIT_RULES = "limits"
LEAST_FOR_TWO = 3  # items from which on a list is for everybody aboard, as the guideline on seats has it

Node = dict[str, Any]


def procedure_files(aircraft: SampledAircraft) -> dict[str, str]:
    """Return ``procedures/``: cockpit, order and lists for the parts that the aircraft has."""
    cockpit = _chosen(aircraft, "procedures/controls.yaml")
    controls = _named(cockpit["controls"])
    cockpit["controls"] = controls
    known = {*controls, *cockpit["states"]}
    files: dict[str, Node] = {"controls": cockpit}
    for name in LISTS:
        files[name] = _named(_chosen(aircraft, f"procedures/{name}.yaml"))
        for one in files[name].values():
            one["items"] = [_item(item, known) for item in one["items"] if item.get("seat")]
            _sourced(one)
    order = _chosen(aircraft, "procedures/order.yaml")
    if excuses := _passengers(aircraft, files):
        order["lint"] = excuses
    files["order"] = order
    return {f"procedures/{name}.yaml": HEAD + _text(data) for name, data in files.items()}


def rule_files(aircraft: SampledAircraft) -> dict[str, str]:
    """Return ``rules/``: what a debrief looks for and measures; rules on limits stand in it as comments."""
    files: dict[str, str] = {}
    for name in RULES:
        data = _chosen(aircraft, f"rules/{name}.yaml")
        if "rules" in data:
            data["rules"] = _named(data["rules"])
            for one in data["rules"].values():
                _sourced(one)
        files[f"rules/{name}.yaml"] = HEAD + _text(data)
    files["rules/flight.yaml"] += _as_comments(_chosen(aircraft, f"rules/{LIMIT_RULES}.yaml"))
    return files


def _as_comments(limits: Node) -> str:
    """Return rules as comments that stand in the list of rules once their first two signs are taken away."""
    _, _, rules = _text(limits).partition("rules:\n")
    return "".join(f"# {line}".rstrip() + "\n" for line in (*ON_LIMITS, *rules.rstrip().split("\n")))


ON_LIMITS = (
    "",
    "Rules on limits. A flight model states none. Write the limit into limits.yaml (masses stand in",
    "mass.yaml, tyre speed in wheels.yaml, as placeholders), then take the number sign and the space after",
    "it away below.",
)


def _chosen(aircraft: SampledAircraft, name: str) -> Node:
    """Return a template with the aircraft's words, less what it has not."""
    file = resources.files("sortiewright.pack_sampling") / "generic" / name
    text = Template(file.read_text(encoding="utf-8")).substitute(words_of(aircraft))
    data: Any = _yaml().load(text)
    _cut(data, kind_of(aircraft))
    return cast(Node, data)


def _cut(node: Any, kind: frozenset[str]) -> None:
    """Take out, in place, whatever needs a part that the aircraft has not; and its empty seats."""
    if isinstance(node, dict):
        entries = cast(Node, node)
        for key in [key for key, value in entries.items() if not _stays(value, kind)]:
            del entries[key]
        if "seat" in entries:
            _seat(entries)
        for value in entries.values():
            _cut(value, kind)
    elif isinstance(node, list):
        items = cast("list[Any]", node)
        for at in reversed(range(len(items))):
            if not _stays(items[at], kind):
                del items[at]
        for value in items:
            _cut(value, kind)


def _stays(value: Any, kind: frozenset[str]) -> bool:
    """Tell whether a template's entry stays, and take its ``only`` away."""
    return set(cast(Node, value).pop("only", ())) <= kind if isinstance(value, dict) else True


def _seat(item: Node) -> None:
    """Leave out of an item's seats the one that is not there: one alone is written as a word."""
    written: Any = item["seat"]
    seats = cast("list[str]", written if isinstance(written, list) else [written])
    there = [seat for seat in seats if seat != NOBODY]
    if len(there) < len(seats):
        item["seat"] = there[0] if there else ""
        item.pop("any_one", None)


def _named(entries: Node) -> Node:
    """Return entries under the names that they give themselves."""
    return {str(one.pop("name", key)): one for key, one in entries.items()}


def _sourced(entry: Any) -> None:
    """Put where it comes from behind an entry's title, unless it says so itself."""
    if "source" not in entry:
        entry.insert(1, "source", SOURCE)


def _item(item: Node, known: set[str]) -> Node:
    """Return an item that speaks of controls that are there only."""
    if isinstance(needs := item.get("needs"), list):
        kept = [one for one in cast("list[str]", needs) if _first_word(one) in known]
        if kept:
            item["needs"] = " and ".join(kept)
        else:
            del item["needs"]
    if "sets" in item:
        for name in [name for name in item["sets"] if name not in known]:
            del item["sets"][name]
    return item


def _first_word(condition: str) -> str:
    found = re.match(r"\w+", condition)
    return found[0] if found else ""


def _passengers(aircraft: SampledAircraft, files: Mapping[str, Node]) -> dict[str, str]:
    """Return the excuse for each list in which passengers, seats beyond the second, answer nothing."""
    if len(aircraft.load.seats) < 3:
        return {}
    lists = {name: one for data in files.values() for name, one in data.items() if "items" in one}
    return {
        f"one-seat {name}": "passengers answer nothing"
        for name, one in lists.items()
        if len(one["items"]) >= LEAST_FOR_TWO
    }


def _yaml() -> Any:
    """Return a reader and writer that keeps comments, order and quotes."""
    library: Any = import_module("ruamel.yaml").YAML(typ="rt")
    library.preserve_quotes = True
    library.width = 4096
    library.indent(mapping=2, sequence=4, offset=2)
    return library


def _text(data: Node) -> str:
    stream = io.StringIO()
    _yaml().dump(data, stream)
    return stream.getvalue()
