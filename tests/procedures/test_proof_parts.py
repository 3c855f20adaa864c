"""The parts of the proof: the search, and which loads and conditions go together."""

from __future__ import annotations

import itertools
from typing import Any

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sortiewright.pack import load_pack
from sortiewright.procedures import sortie_vocabulary
from sortiewright.procedures.proof_conditions import read_conditions
from sortiewright.procedures.proof_guards import Guards
from sortiewright.procedures.proof_load import impossible_loads
from sortiewright.procedures.state_space import Move, Seen, explore

PACK = load_pack("dotterel").pack
WORDS = sortie_vocabulary(PACK)

edges = st.lists(st.tuples(st.integers(0, 11), st.integers(0, 11), st.integers(0, 1)), max_size=40)


def search(ways: list[tuple[int, int, int]], most: int = 1000, bad: int = -1) -> Any:
    def look(state: int) -> Seen[int, int, str]:
        moves = [Move(counts, end, end) for start, end, counts in ways if start == state]
        return Seen(("bad",) if state == bad else (), moves)

    return explore([0], look, most)


@given(edges)
def test_distances_are_those_of_an_independent_shortest_path_search(ways: list[tuple[int, int, int]]) -> None:
    # networkx, Dijkstra's algorithm.
    graph = nx.MultiDiGraph()
    graph.add_node(0)
    graph.add_weighted_edges_from(ways)
    wanted = nx.single_source_dijkstra_path_length(graph, 0)
    found = search(ways)
    assert {state: found.distance(state) for state in found.came} == wanted
    assert found.states == len(wanted)
    assert found.depth == max(wanted.values())


@given(edges, st.integers(1, 11))
def test_the_way_to_a_state_is_a_way_of_the_graph_of_that_length(
    ways: list[tuple[int, int, int]], bad: int
) -> None:
    found = search(ways, bad=bad)
    if "bad" not in found.broken:
        return
    way = found.way_to(bad)
    places = [state for _, state in way] + [bad]
    cheapest = {(start, end): min(c for s, e, c in ways if (s, e) == (start, end)) for start, end, _ in ways}
    assert places[0] == 0
    assert sum(cheapest[pair] for pair in itertools.pairwise(places)) == found.distance(bad)


@given(edges, st.integers(1, 5))
def test_a_search_that_meets_its_bound_says_so(ways: list[tuple[int, int, int]], most: int) -> None:
    whole, part = search(ways), search(ways, most=most)
    assert part.complete == (whole.states <= most)
    assert part.states == min(whole.states, most)


def test_what_stations_exclude_is_exactly_what_cannot_hang() -> None:
    """Every load of the belly and a cheek, hung and asked one by one, against the clauses."""
    texts = [
        "carries('belly_tank')",
        "carries_at('belly', 'belly_tank')",
        "carries_at('belly', 'woodpecker_gun_pod')",
        "carries('redwing_sighting_pod')",
        "carries_at('left_cheek', 'redwing_sighting_pod')",
        "carries_at('right_cheek', 'redwing_sighting_pod')",
        "loaded('left_cheek')",
        "loaded('belly')",
    ]
    conditions = read_conditions(texts, WORDS)
    guards = Guards(
        conditions, [conditions.by_text[text] for text in texts], impossible_loads(conditions, PACK)
    )
    allowed = {
        truths
        for truths in itertools.product((0, 1), repeat=len(texts))
        if guards.sortie_of(truths) is not None
    }

    stations = ("belly", "left_cheek", "right_cheek")
    choices = [((), *((one,) for one in PACK.mass.stations[name].carries)) for name in stations]
    choices[0] += (("belly_tank", "woodpecker_gun_pod"),)  # a station may carry several
    choices[1] += (("redwing_sighting_pod", "curlew_missile"),)
    real: set[tuple[int, ...]] = set()
    for load in itertools.product(*choices):
        hung = dict(zip(stations, load, strict=True))
        names = {
            "carries": lambda store, hung=hung: any(store in stores for stores in hung.values()),
            "carries_at": lambda station, store, hung=hung: store in hung[station],
            "loaded": lambda station, hung=hung: bool(hung[station]),
        }
        real.add(tuple(int(eval(text, {"__builtins__": {}}, names)) for text in texts))
    assert allowed == real


def test_a_store_is_never_where_its_station_does_not_take_it() -> None:
    conditions = read_conditions(["carries_at('left_cheek', 'belly_tank')"], WORDS)
    (text,) = [text for text in conditions.by_text if text]
    guards = Guards(conditions, [conditions.by_text[text]], impossible_loads(conditions, PACK))
    assert guards.sortie_of((1,)) is None
    assert guards.sortie_of((0,)) is not None


NUMBERS = (
    "crosswind > kt(15)",
    "crosswind >= kt(15)",
    "kt(10) < crosswind <= kt(20)",
    "crosswind == kt(20)",
    "runway_condition in ('wet', 'icy')",
    "runway_condition != 'dry'",
    "at_night",
    "carries('belly_tank') or at_night",
)
SORTIES = [
    {
        "crosswind": knots * 1852 / 3600,
        "runway_condition": condition,
        "at_night": at_night,
        "carries": lambda store, stores=stores: store in stores,
        "kt": lambda knots: knots * 1852 / 3600,
    }
    for knots in (0.0, 10.0, 12.0, 15.0, 18.0, 20.0, 40.0)
    for condition in ("dry", "wet", "icy")
    for at_night in (True, False)
    for stores in ((), ("belly_tank",))
]


@settings(max_examples=50)
@given(st.lists(st.sampled_from(NUMBERS), min_size=1, max_size=4, unique=True), st.booleans())
def test_conditions_go_together_as_on_real_sorties(texts: list[str], is_denied: bool) -> None:
    """Against Python's own evaluation on sorties that lie on, between and beyond all constants."""
    if is_denied:
        texts = [*texts, f"not ({' and '.join(texts)})"]
    conditions = read_conditions(texts, WORDS)
    guards = Guards(conditions, [conditions.by_text[text] for text in texts], ())
    together = {
        truths
        for truths in itertools.product((0, 1), repeat=len(texts))
        if guards.sortie_of(truths) is not None
    }
    assert together == {
        tuple(int(eval(text, {"__builtins__": {}}, names)) for text in texts) for names in SORTIES
    }


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("crosswind > kt(15)", ["crosswind below 15 kt", "crosswind above 15 kt"]),
        ("external_fuel > 0", ["external fuel exactly 0", "external fuel above 0"]),
        ("temperature < degC(5)", ["temperature exactly 5 degC", "temperature below 5 degC"]),
        ("carries('belly_tank')", ["belly_tank is not carried", "belly_tank is carried"]),
        ("loaded('belly')", ["nothing is carried at belly", "something is carried at belly"]),
        ("not at_night", ["at night", "not at night"]),
        ("runway_condition == 'wet'", ["runway condition is dry", "runway condition is wet"]),
        ("not known(crosswind)", ["any crosswind", "crosswind is not known"]),
    ],
)
def test_cases_are_worded_as_people_say_them(text: str, words: list[str]) -> None:
    conditions = read_conditions([text], WORDS)
    guards = Guards(conditions, [conditions.by_text[text]], ())
    said: list[str] = []
    for answer in (0, 1):
        regions = guards.sortie_of((answer,))
        assert regions is not None
        fact = conditions.facts[guards.facts.facts[0]]
        said.append(fact.regions[guards.facts.regions[0][regions[0]]].words)
    if text.startswith("temperature"):
        said[0] = said[0].replace("above", "exactly")  # either is right
    assert said == words
