"""A small pack of procedures without a fault, and what tests do to it. Invented.

The order of its lists: common practice, no source.
"""

from __future__ import annotations

import copy
from typing import Any

from explicit_sortie import Explicit, shortest_of_all, sortie

from sortiewright.pack import load_pack
from sortiewright.procedures import Cockpit, Order, Procedure, ProcedurePlaces, Procedures

PACK = load_pack("dotterel").pack

COCKPIT: dict[str, Any] = {
    "controls": {
        "battery": {"title": "Battery", "positions": ["OFF", "ON"], "at_start": "OFF"},
        "canopy": {"title": "Canopy", "positions": ["OPEN", "LOCKED"], "at_start": "OPEN"},
        "pins": {"title": "Gear pins", "positions": ["IN", "OUT"], "at_start": "IN"},
        "flaps": {"title": "Flaps", "positions": ["UP", "TAKEOFF", "LANDING"], "at_start": "UP"},
        "gear": {"title": "Gear handle", "positions": ["UP", "DOWN"], "at_start": "DOWN"},
        "arm": {"title": "Master arm", "positions": ["SAFE", "ARM"], "at_start": "SAFE"},
        "bleed": {"title": "Bleed air", "positions": ["OFF", "ON"], "at_start": "OFF"},
    },
    "states": {"wheels": {"title": "Weight on wheels", "values": ["YES", "NO"], "at_start": "YES"}},
    "parties": {"chief": {"title": "Crew chief"}},
}


def item(name: str, **more: Any) -> dict[str, Any]:
    """Return an item of the front seat."""
    return {
        "id": name,
        "challenge": name.replace("_", " ").capitalize(),
        "response": "DONE",
        "seat": "front",
        **more,
    }


PROCEDURES: dict[str, Any] = {
    "start": {
        "title": "Start",
        "pace": "apart",
        "items": [
            item("battery", sets={"battery": "ON"}),
            item("maps", seat="rear"),
            item("bleed", sets={"bleed": "ON"}, needs="battery == 'ON'"),
            item("canopy", seat=["front", "rear"], sets={"canopy": "LOCKED"}),
        ],
    },
    "taxi": {
        "title": "Taxi",
        "phase": "ground",
        "items": [
            item(
                "pins",
                hold={
                    "awaits": "Pins shown",
                    "cleared_by": "chief",
                    "after": "canopy == 'LOCKED'",
                    "sets": {"pins": "OUT"},
                },
            ),
            item("flaps", sets={"flaps": "TAKEOFF"}),
        ],
    },
    "takeoff": {
        "title": "Takeoff",
        "phase": "ground",
        "items": [item("lift_off", sets={"wheels": "NO"}, needs="flaps == 'TAKEOFF' and canopy == 'LOCKED'")],
    },
    "climb": {
        "title": "Climb",
        "items": [item("gear", sets={"gear": "UP"}), item("flaps", sets={"flaps": "UP"})],
    },
    "range": {
        "title": "Range",
        "when": "carries('bittern_bomb')",
        "items": [item("arm", sets={"arm": "ARM"}), item("safe", sets={"arm": "SAFE"})],
    },
    "before_landing": {
        "title": "Before landing",
        "phase": "approach",
        "items": [
            item("gear", sets={"gear": "DOWN"}),
            item("flaps", sets={"flaps": "LANDING"}, when="crosswind <= kt(20)"),
            item("flaps_half", sets={"flaps": "TAKEOFF"}, when="crosswind > kt(20)"),
        ],
    },
    "landing": {
        "title": "Landing",
        "items": [item("touchdown", sets={"wheels": "YES"}, needs="gear == 'DOWN'")],
    },
    "shutdown": {
        "title": "Shutdown",
        "items": [
            item("flaps", sets={"flaps": "UP"}),
            item("pins", hold={"awaits": "Pins in", "cleared_by": "chief", "sets": {"pins": "IN"}}),
            item("bleed", sets={"bleed": "OFF"}),
            item("canopy", sets={"canopy": "OPEN"}),
            item("battery", sets={"battery": "OFF"}),
        ],
    },
    "go_around": {
        "title": "Go around",
        "items": [item("gear", sets={"gear": "UP"}), item("flaps", sets={"flaps": "UP"})],
    },
    "smoke": {
        "title": "Smoke in the cockpit",
        "kind": "emergency",
        "applies_in": ["climb", "range"],
        "then": "resume",
        "items": [item("bleed", sets={"bleed": "OFF"}), item("air", sets={"bleed": "ON"})],
    },
    "fire": {
        "title": "Fire on the ground",
        "kind": "emergency",
        "applies_in": "taxi",
        "then": "end",
        "items": [item("battery", sets={"battery": "OFF"})],
    },
}

ORDER: dict[str, Any] = {
    "sortie": ["start", "taxi", "takeoff", "climb", "range", "before_landing", "landing", "shutdown"],
    "go_around": "go_around",
    "invariants": [
        {"id": "gear_on_ground", "why": "x", "never": "gear == 'UP' and wheels == 'YES'"},
        {"id": "pins_in_the_air", "why": "x", "never": "pins == 'IN' and wheels == 'NO'"},
        {"id": "canopy_first", "why": "x", "first": "canopy == 'LOCKED'", "before": "pins == 'OUT'"},
        {"id": "clean_in_the_range", "why": "x", "holds": "flaps == 'UP'", "at_start_of": "range"},
        {"id": "safe_to_land", "why": "x", "holds": "arm == 'SAFE'", "at_end_of": "before_landing"},
        {"id": "bleed_in_the_air", "why": "x", "holds": "bleed == 'ON'", "at_end_of": "climb"},
        {"id": "dark_at_the_end", "why": "x", "holds": "battery == 'OFF'", "at_end_of": "shutdown"},
    ],
}


class Small:
    """The small pack as data that a test may change before it is built."""

    def __init__(self) -> None:
        self.cockpit = copy.deepcopy(COCKPIT)
        self.order = copy.deepcopy(ORDER)
        self.procedures = copy.deepcopy(PROCEDURES)

    def item(self, procedure: str, name: str) -> dict[str, Any]:
        return next(one for one in self.procedures[procedure]["items"] if one["id"] == name)

    def without(self, procedure: str, name: str) -> None:
        self.procedures[procedure]["items"].remove(self.item(procedure, name))

    def swap(self, procedure: str, first: int, second: int) -> None:
        items = self.procedures[procedure]["items"]
        items[first], items[second] = items[second], items[first]

    def invariant(self, **keys: str) -> None:
        self.order["invariants"].append({"why": "x", **keys})

    def built(self) -> Procedures:
        return Procedures(
            cockpit=Cockpit.model_validate(self.cockpit),
            order=Order.model_validate(self.order),
            procedures={name: Procedure.model_validate(one) for name, one in self.procedures.items()},
            places=ProcedurePlaces(),
            digest="",
            pack=PACK,
        )

    def shortest(self, rule: str, *reads: str, depth: int = 1) -> int | None:
        """Return the fewest steps to break a rule by a plain search of every sortie."""
        built = self.built()
        sorties = [
            sortie(stores=stores, rear=rear, crosswind=knots * 1852 / 3600, at_night=at_night)
            for stores in ((), ("bittern_bomb",))
            for rear in (True, False)
            for knots in (10.0, 20.0, 25.0)
            for at_night in (True, False)
        ]
        explicit = [
            Explicit(built.cockpit, built.order, built.procedures, one, deepest=depth) for one in sorties
        ]
        return shortest_of_all(explicit, rule, reads)
