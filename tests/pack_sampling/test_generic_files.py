"""Generic checklists and rules of a sampled pack: proved for every kind of aircraft."""

import os
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from types import SimpleNamespace

import pytest

from sortiewright.pack import LoadedPack, parse_yaml
from sortiewright.pack_sampling import write_pack_folder
from sortiewright.pack_sampling.aircraft_kind import kind_of, words_of
from sortiewright.pack_sampling.first_sortie import first_sortie_text
from sortiewright.pack_sampling.generic_files import HEAD, SOURCE, procedure_files, rule_files
from sortiewright.procedures import lint, load_procedures, prove
from sortiewright.recording import load_rules


def aircraft(
    *,
    engines: int = 2,
    engine: str = "turbine",
    burner: bool = False,
    gear: bool = True,
    flaps: tuple[str, ...] = ("takeoff", "landing"),
    speedbrake: bool = True,
    trim: bool = True,
    seats: tuple[str, ...] = ("front", "rear"),
) -> SimpleNamespace:
    """What generic files ask of a sampled aircraft."""
    return SimpleNamespace(
        description=SimpleNamespace(
            engines=[SimpleNamespace(kind=engine, has_propeller=engine != "turbine")] * engines
        ),
        power=dict.fromkeys(["idle", "military", *(["maximum"] if burner else [])]),
        gear=SimpleNamespace(travel_time=4.0 if gear else 0.0),
        configurations={"clean": SimpleNamespace(flap=0.0)}
        | {name: SimpleNamespace(flap={"takeoff": 0.5, "landing": 1.0}[name]) for name in flaps},
        speedbrake=SimpleNamespace(drag=0.02 if speedbrake else 0.0),
        pitch=SimpleNamespace(trim_unit_moment=0.02 if trim else 0.0),
        load=SimpleNamespace(
            seats=[SimpleNamespace(name=name) for name in seats], tanks=[SimpleNamespace(capacity=1000.0)]
        ),
        stance=SimpleNamespace(tail_strike_deg=12.0),
        model="Made",
    )


KINDS = {
    "jet with burner, two seats": aircraft(burner=True),
    "jet with burner, one engine, no flaps, one seat": aircraft(
        engines=1, burner=True, flaps=(), speedbrake=False, seats=("front",)
    ),
    "airliner without takeoff flap, four engines": aircraft(engines=4, flaps=("landing",)),
    "light aircraft, fixed gear": aircraft(engines=1, engine="piston", gear=False, speedbrake=False),
    "glider tug without anything that moves": aircraft(
        engines=1, engine="piston", gear=False, flaps=(), speedbrake=False, trim=False, seats=("front",)
    ),
    "turboprop twin": aircraft(engine="turboprop", speedbrake=False),
}


TRIED = list(KINDS) if os.environ.get("SORTIEWRIGHT_FULL") else list(KINDS)[1:4]


@cache
def files_of(kind: str) -> dict[str, str]:
    """Generic files, made once."""
    return procedure_files(KINDS[kind]) | rule_files(KINDS[kind])


@pytest.fixture
def written(tmp_path: Path, t38_pack: LoadedPack) -> Callable[[str], LoadedPack]:
    """Return a function that gives the committed pack an aircraft's generic files and seats."""

    def write(kind: str) -> LoadedPack:
        write_pack_folder(tmp_path, files_of(kind))
        mass = t38_pack.pack.mass
        seats = {one.name: mass.seats[one.name] for one in KINDS[kind].load.seats}
        pack = t38_pack.pack.model_copy(update={"mass": mass.model_copy(update={"seats": seats})})
        return replace(t38_pack, folder=tmp_path, pack=pack)

    return write


@pytest.mark.parametrize("kind", TRIED)
def test_lists_of_every_kind_are_proved_and_keep_the_guidelines_and_rules_load(written, kind):
    loaded = written(kind)
    procedures = load_procedures(loaded)
    proof = prove(procedures)
    rules = load_rules(loaded).rules

    assert proof.proved, [str(one) for one in proof.findings]
    assert list(lint(procedures)) == []
    assert {"late_rotation", "lift_off_slow", "hard_landing"} <= rules.keys()
    assert ("gear_late" in rules) == ("retractable_gear" in kind_of(KINDS[kind]))


@pytest.mark.parametrize("kind", TRIED)
def test_nothing_speaks_of_what_the_aircraft_has_not(kind):
    text = "\n".join(files_of(kind).values()).casefold()
    has = kind_of(KINDS[kind])
    parts = {"gear_handle": "retractable_gear", "flap_lever": "flaps", "speedbrake": "speedbrake"}
    parts |= {"afterburner": "burner", "magnetos": "piston", "pitch_trim": "trim"}

    assert {word: word in text for word in parts} == {word: part in has for word, part in parts.items()}
    assert "$" not in text
    assert "nobody" not in text.replace(HEAD.casefold(), "").replace("nobody ", "")


def test_every_list_and_rule_says_that_it_is_generic():
    for name, text in (
        procedure_files(KINDS["turboprop twin"]) | rule_files(KINDS["turboprop twin"])
    ).items():
        data = parse_yaml(text, name, numbers=False).data
        entries = data.get("rules", data if "controls" not in name and "order" not in name else {})

        assert text.startswith(HEAD)
        for key, one in entries.items():
            if key != "measurements":
                assert (
                    SOURCE in one["source"]
                    or "no source" in one["source"]
                    or "without source" in one["source"]
                )


# What a user does once limits.yaml has the number; the committed pack has a limit for the gear.
def test_commented_rules_on_limits_are_rules_once_uncommented(written):
    loaded = written("airliner without takeoff flap, four engines")
    file = loaded.folder / "rules" / "flight.yaml"
    lines = file.read_text("utf-8").splitlines()
    at = lines.index("#   gear_overspeed:")
    end = next(k for k in range(at + 1, len(lines)) if lines[k].startswith("#   ") and lines[k][4] != " ")
    before = load_rules(loaded).rules
    lines[at:end] = [line.removeprefix("# ") for line in lines[at:end]]
    file.write_text("\n".join(lines) + "\n", "utf-8")

    assert "gear_overspeed" not in before
    assert "gear_overspeed" in load_rules(loaded).rules


def test_seats_beyond_the_second_stay_empty_and_their_silence_is_excused():
    four = aircraft(engines=1, engine="piston", gear=False, seats=("pilot", "co_pilot", "left", "right"))
    order = parse_yaml(procedure_files(four)["procedures/order.yaml"], "order.yaml").data
    sortie = parse_yaml(first_sortie_text(four), "first.yaml").data

    assert order["lint"]["one-seat taxi"] == "passengers answer nothing"
    assert {seat for seat, who in sortie["crew"].items() if who.get("mass") == "0 lb"} == {"left", "right"}
    assert words_of(four)["Second"] == "Co pilot"
