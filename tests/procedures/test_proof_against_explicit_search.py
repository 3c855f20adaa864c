"""The proof against a plain search of the whole graph, on random small packs: same verdicts and lengths.

Reference: ``explicit_sortie``, which shares no code with the proof, and the shortest paths of networkx.
"""

from __future__ import annotations

import os
from typing import Any

import pytest
from explicit_sortie import Explicit, shortest_of_all, sortie
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sortiewright.pack import load_pack
from sortiewright.procedures import Cockpit, Order, Procedure, ProcedurePlaces, Procedures
from sortiewright.procedures.proof import prove

MODELS = int(os.environ.get("SORTIEWRIGHT_PROOF_MODELS", "40"))
"""Random packs a run; set the variable for a long campaign."""
PACK = load_pack("dotterel").pack

CONTROLS = {"lever": ("UP", "DOWN"), "switch": ("OFF", "ON", "TEST")}
WHENS = (
    "",
    "at_night",
    "not at_night",
    "carries('belly_tank')",
    "crosswind > kt(15)",
    "kt(15) < crosswind <= kt(20)",
    "at_night or crosswind < kt(20)",
    "not (at_night and carries('belly_tank'))",
    "occupied('rear') and at_night",
    "at_night and not at_night",
)
ON_CONTROLS = (
    "lever == 'UP'",
    "switch == 'ON'",
    "switch != 'OFF' and lever == 'DOWN'",
    "wheels == 'AIR'",
    "wheels == 'AIR' or switch in ('ON', 'TEST')",
    "not (lever == 'UP' and wheels == 'GROUND')",
)
READS = {
    text: frozenset(name for name in ("lever", "switch", "wheels") if name in text) for text in ON_CONTROLS
}
SORTIES = [
    sortie(stores=stores, rear=rear, at_night=at_night, crosswind=knots * 1852 / 3600)
    for stores in ((), ("belly_tank",))
    for rear in (True, False)
    for at_night in (True, False)
    for knots in (5.0, 15.0, 18.0, 20.0, 30.0)
]

conditions = st.sampled_from(ON_CONTROLS)
maybe = st.one_of(st.just(""), conditions)
seats = st.sampled_from((["front"], ["rear"], ["front", "rear"]))


@st.composite
def set_controls(draw: Any) -> dict[str, str]:
    every = {**CONTROLS, "wheels": ("GROUND", "AIR")}
    names = draw(st.lists(st.sampled_from(sorted(every)), max_size=2, unique=True))
    return {name: draw(st.sampled_from(every[name])) for name in names}


@st.composite
def items(draw: Any, number: int, branches: tuple[str, ...]) -> dict[str, Any]:
    item: dict[str, Any] = {"id": f"item{number}", "challenge": "Challenge", "response": "DONE"}
    item["when"] = draw(st.sampled_from(WHENS)) if draw(st.booleans()) else ""
    item["seat"] = draw(seats)
    item["any_one"] = len(item["seat"]) > 1 and draw(st.booleans())
    item["sets"] = draw(set_controls())
    item["needs"] = draw(maybe)
    if draw(st.integers(0, 4)) == 0:
        item["hold"] = {
            "awaits": "A call",
            "cleared_by": "tower",
            "after": draw(maybe),
            "sets": draw(set_controls()),
        }
        if draw(st.booleans()):
            item |= {"seat": [], "response": "", "any_one": False}
    item["until"] = "Later" if draw(st.integers(0, 5)) == 0 else ""
    if branches and item["seat"] and draw(st.integers(0, 3)) == 0:
        item["if_not"] = {"go": draw(st.sampled_from(branches))}
    return item


@st.composite
def lists(draw: Any, branches: tuple[str, ...], most: int, **more: Any) -> dict[str, Any]:
    count = draw(st.integers(1, most))
    return {
        "title": "A list",
        "pace": draw(st.sampled_from(("together", "apart"))),
        "phase": draw(st.sampled_from(("ground", "flight"))),
        "when": draw(st.sampled_from(WHENS)) if draw(st.integers(0, 3)) == 0 else "",
        "items": [draw(items(number, branches)) for number in range(count)],
        **more,
    }


@st.composite
def small_packs(draw: Any) -> dict[str, Any]:
    normal = ["first_list", "before_landing", "last_list"][: draw(st.integers(1, 3))]
    goes_around = "before_landing" in normal and draw(st.booleans())
    others = ["fire", "failure"][: draw(st.integers(0, 2))]
    found: dict[str, Any] = {}
    for name in normal:
        found[name] = draw(lists(tuple(others), 3))
    if goes_around:
        found["go_around"] = draw(lists((), 2))
    for place, name in enumerate(others):
        later = tuple(others[place + 1 :])
        leads = draw(st.sampled_from(("resume", "resume", "end", *later, normal[-1])))
        applies = draw(st.lists(st.sampled_from((*normal, "ground", "flight")), max_size=2, unique=True))
        found[name] = draw(lists(later, 2, kind="emergency", then=leads, applies_in=applies))
    invariants: list[dict[str, str]] = [
        {"id": "never_so", "why": "x", "never": draw(conditions), "when": draw(st.sampled_from(WHENS))},
        {"id": "one_first", "why": "x", "first": draw(conditions), "before": draw(conditions)},
        {
            "id": "at_start",
            "why": "x",
            "holds": draw(conditions),
            "at_start_of": draw(st.sampled_from(sorted(found))),
        },
        {
            "id": "at_end",
            "why": "x",
            "holds": draw(conditions),
            "at_end_of": draw(st.sampled_from(sorted(found))),
        },
    ]
    order = {"sortie": normal, "go_around": "go_around" if goes_around else "", "invariants": invariants}
    starts = {
        name: draw(
            st.lists(
                st.sampled_from(words), min_size=1, max_size=draw(st.sampled_from((1, 1, 3))), unique=True
            )
        )
        for name, words in CONTROLS.items()
    }
    cockpit = {
        "controls": {
            name: {"title": name, "positions": list(words), "at_start": starts[name]}
            for name, words in CONTROLS.items()
        },
        "states": {"wheels": {"title": "wheels", "values": ["GROUND", "AIR"], "at_start": "GROUND"}},
        "parties": {"tower": {"title": "Tower"}},
    }
    return {"cockpit": cockpit, "order": order, "procedures": found}


def built(data: dict[str, Any]) -> Procedures:
    return Procedures(
        cockpit=Cockpit.model_validate(data["cockpit"]),
        order=Order.model_validate(data["order"]),
        procedures={name: Procedure.model_validate(one) for name, one in data["procedures"].items()},
        places=ProcedurePlaces(),
        digest="",
        pack=PACK,
    )


def explicit_sorties(procedures: Procedures, depth: int) -> list[Explicit]:
    """Return the reference on every sortie that the conditions of a pack tell apart."""
    texts = " ".join(
        [
            *(item.when for one in procedures.procedures.values() for item in one.items),
            *(one.when for one in procedures.procedures.values()),
            *(one.when for one in procedures.order.invariants),
        ]
    )
    kept: dict[tuple[Any, ...], dict[str, Any]] = {}
    for names in SORTIES:
        key = (
            names["at_night"] if "at_night" in texts else None,
            names["crosswind"] if "crosswind" in texts else None,
            names["carries"]("belly_tank") if "carries" in texts else None,
            names["occupied"]("rear"),
        )
        kept.setdefault(key, names)
    return [
        Explicit(procedures.cockpit, procedures.order, procedures.procedures, names, deepest=depth)
        for names in kept.values()
    ]


def reads_of(procedures: Procedures) -> dict[str, frozenset[str]]:
    """Return the controls that each rule reads."""
    found: dict[str, frozenset[str]] = {}
    for one in procedures.order.invariants:
        texts = [text for text in (one.never, one.first, one.before, one.holds) if text]
        found[one.id] = frozenset().union(*(READS[text] for text in texts))
    for name, one in procedures.procedures.items():
        for item in one.items:
            if item.needs:
                found[f"{name}.{item.id} needs"] = READS[item.needs]
            if item.hold and item.hold.after:
                found[f"{name}.{item.id} hold"] = READS[item.hold.after]
    return found


def compare(data: dict[str, Any], depth: int) -> None:
    procedures = built(data)
    result = prove(procedures, depth=depth)
    assert result.complete
    sorties = explicit_sorties(procedures, depth)
    told = {
        one.id if one.kind == "invariant" else f"{one.id} {one.kind}": one.story.length
        for one in result.findings
        if one.story is not None
    }
    wanted = {rule: shortest_of_all(sorties, rule, reads) for rule, reads in reads_of(procedures).items()}
    assert told == {rule: length for rule, length in wanted.items() if length is not None}

    apart = {tuple(one.id.split(".")) for one in result.findings if one.kind == "order"}
    assert apart == {
        (name, control) for one in sorties for name, control in one.ends_apart() if name in one.entered
    }

    every = {(name, item.id) for name, one in procedures.procedures.items() for item in one.items}
    visited = {line for one in sorties for line in one.visited}
    entered = {name for one in sorties for name in one.entered}
    missed = {f"{name}.{item}" for name, item in every - visited if name in entered}
    missed |= set(procedures.procedures) - entered
    gaps = {one.id for one in result.findings if one.kind == "gap" and "never come to" in one.text}
    assert gaps == missed


@settings(max_examples=MODELS, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(small_packs())
def test_verdicts_and_shortest_lengths_are_those_of_a_plain_search(data: dict[str, Any]) -> None:
    compare(data, depth=1)


@pytest.mark.slow
@settings(max_examples=MODELS // 4, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(small_packs())
def test_two_calls_inside_one_another_are_searched_as_plainly(data: dict[str, Any]) -> None:
    compare(data, depth=2)
