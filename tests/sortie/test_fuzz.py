"""Whatever a sortie's file holds, the answer is a plan or lines a person can act on, never a traceback.

``FUZZ_EXAMPLES=20000 pytest tests/sortie/test_fuzz.py`` searches longer.
"""

import functools
import json
import math
import os
import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from sortiewright.air import MetarError
from sortiewright.pack import InputError, load_pack
from sortiewright.sortie import Sortie, SortieError, load_sortie, plan, plan_to_json, read_sortie, show
from sortiewright.sortie.load import SORTIES

EXAMPLES = int(os.environ.get("FUZZ_EXAMPLES", "30"))
LONGER = settings(
    max_examples=EXAMPLES,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
TEXTS = {path.stem: path.read_text("utf-8") for path in sorted(SORTIES.glob("*.yaml"))}

# What people and programs put where something else belongs.
STRANGE = [
    "", "~", "null", "true", "0", "-1", "-0", "-0.0", "1e308", "1e999", ".nan", "-.inf", "nan", "0x10",
    "9" * 25, "{}",
    "[]", "{a: b}", "[1, 2]", "5 kg", "-5 kg", "0 kg", "1e300 lb", "1e-300 lb", "30 lb", "100000 lb",
    "5 kt", "900 kt",
    "0 kt", "5 deg", "-5 deg", "360 deg", "180 deg", "89 deg", "1 m", "1 ft", "100 ft", "1e9 ft", "0 ft",
    "20000 ft",
    "60000 ft", "-40 degC", "60 degC", "1013", "1013 hPa", "29.92 inHg", "800 hPa", "50 hPa", "VRB05KT",
    "00000KT",
    "28014G99KT", "99099KT", "M40/M45", "Q0850", "A2992", "CAVOK", "/////KT", "///", "Q////", "RMK",
    "0000-00-00",
    "2019-01-01", "2099-12-31", "0001-01-01", "9999-12-31", "24:00Z", "00:00Z", "2026-02-30", "%", "*a",
    "&a", "<<",
    ">", "'", '"', "#", ": ", "- ", "\t", "\n", "\n  ", "---\n", "\ufeff", "\u2028", "\xe9", "\U0001f6e9",
    "\x00",
    "dotterel", "whinchat", "belly", "left_inboard", "right_outboard", "wing_tank", "belly_tank",
    "triple_rack",
    "plover_bomb", "linnet_missile", "front", "forward", "centre", "maximum", "military", "idle", "clean",
    "landing",
    "screen", "released", "kept", "dry", "wet", "icy", "EGPK", "KDEN", "ZZZZ", "26", "08", "33", "99",
    "x" * 3000,
]  # fmt: skip
# Whole blocks that the shipped sorties do without, so that every key is met.
BLOCKS = [
    "takeoff: {continue_to: screen, rotation_speed: 140 kt, pitch_rate: 4 deg/s}",
    "takeoff: {configuration: clean, power: military, release_power: idle, rejected_with_chute: false}",
    "takeoff: {takeoff_attitude: 13.4 deg, pitch_rate: 0.5 deg/s}",
    "landing: {configuration: clean, stores: released, with_chute: false}",
    "landing: {on_speed_angle_of_attack: 14 deg}",
    'landing_place: {aerodrome: {icao: EGPK, runways: [{designator: "12", true_heading: 123 deg, length: '
    "9800 ft}]}, "
    'runway: "12", weather: {metar: METAR EGPK 140920Z 18008KT 9999 FEW030 15/09 Q1010}}',
    "landing_place: {weather: {wind_from: 90 deg, wind_speed: 20 kt, qnh: 990 hPa, temperature: -5 degC}}",
    "requirements: {single_engine_climb_gradient: 800 ft/nmi}",
]
TOKEN = re.compile(r"[^\s,:{}\[\]]+|[,:{}\[\]]")
NUMBER = re.compile(r"-?\d+\.?\d*")
FACTORS = [0.0, -1.0, 0.1, 0.5, 0.9, 1.1, 2.0, 3.0, 10.0, 1e3]
packs = functools.cache(lambda: load_pack("dotterel"))


@st.composite
def mutated(draw, text):
    """Return a text with tokens exchanged, dropped or doubled, numbers scaled, lines moved or brought in."""
    for _ in range(draw(st.integers(1, 4))):
        tokens = list(TOKEN.finditer(text)) or [re.match("", text)]
        match draw(st.integers(0, 8)):
            case 0 | 1:
                token = draw(st.sampled_from(tokens))
                text = text[: token.start()] + draw(st.sampled_from(STRANGE)) + text[token.end() :]
            case 2:
                token, other = draw(st.sampled_from(tokens)), draw(st.sampled_from(tokens))
                text = text[: token.start()] + other[0] + text[token.end() :]
            case 3:
                token = draw(st.sampled_from(tokens))
                text = text[: token.start()] + text[token.end() :]
            case 4:
                lines = text.split("\n")
                line = lines.pop(draw(st.integers(0, len(lines) - 1)))
                for _ in range(draw(st.integers(0, 2))):
                    indent = draw(st.sampled_from(["", " ", "  "]))
                    lines.insert(draw(st.integers(0, len(lines))), indent + line)
                text = "\n".join(lines)
            case 5:
                at = draw(st.integers(0, len(text)))
                text = text[:at] + draw(st.text(max_size=6)) + text[at:]
            case 6:
                text = f"{text.rstrip()}\n{draw(st.sampled_from(BLOCKS))}\n"
            case _:
                if numbers := list(NUMBER.finditer(text)):
                    number = draw(st.sampled_from(numbers))
                    scaled = (
                        float(number[0]) * draw(st.sampled_from(FACTORS)) if len(number[0]) < 300 else 0.0
                    )
                    text = text[: number.start()] + f"{scaled:g}" + text[number.end() :]
    return text


def answer(text, folder):
    """Plan the text; check that the answer is whole, or an error of one-line faults."""
    try:
        loaded = read_sortie(text, "today.yaml", folder)
        made = plan(loaded.sortie, loaded.pack)
    except InputError as error:
        faults(error)
    else:
        whole(made)


def faults(error):
    """Check that an error names at least one fault, each on one line."""
    assert error.problems
    assert all(one.file and "\n" not in str(one) for one in error.problems)
    assert all(one.line is None or one.line >= 1 for one in error.problems)


def whole(made):
    """Check a plan: nothing is not-a-number, everything missing says why, all of it can be shown and
    written."""
    for section in made.sections:
        for figure in section.figures:
            assert figure.value is None or not math.isnan(figure.value), figure
            assert figure.value is not None or figure.problem or figure.text, figure
            assert "nan" not in show(figure).text.lower().split(), figure
    for reason in made.reasons:
        assert reason.text
        assert "nan" not in re.split(r"\W", reason.text.lower()), reason
        assert reason.value is None or not math.isnan(reason.value), reason
    assert all(math.isfinite(mark.distance) for mark in made.runway.marks)
    for system in ("trade", "si"):
        json.dumps(plan_to_json(made, system), allow_nan=False)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("fuzz")


@LONGER
@given(data=st.data())
def test_a_mutated_sortie(data, folder):
    name = data.draw(st.sampled_from(sorted(TEXTS)))
    answer(data.draw(mutated(TEXTS[name])), folder)


@LONGER
@given(text=st.text(max_size=400))
def test_any_text(text, folder):
    answer(text, folder)


@LONGER
@given(raw=st.binary(max_size=400))
def test_a_file_of_any_bytes(raw, folder):
    path = folder / "bytes.yaml"
    path.write_bytes(raw)
    try:
        load_sortie(path)
    except InputError as error:
        faults(error)


@LONGER
@given(name=st.text(max_size=80))
def test_any_name_of_a_file(name, folder, monkeypatch):
    monkeypatch.chdir(folder)
    if name in ("-", "bytes.yaml"):
        return
    try:
        load_sortie(name)
    except InputError as error:
        faults(error)


@LONGER
@given(report=st.text(max_size=120))
def test_any_weather_report(report, folder):
    quoted = json.dumps(report)  # JSON text is YAML text
    answer(re.sub(r"metar: .*", lambda _: f"metar: {quoted}", TEXTS["demo"]), folder)


# A sortie need not come from a file: the desk makes one from a form. Then plan() alone must hold.
AMOUNT = st.one_of(
    st.none(),
    st.floats(-1e9, 1e9),
    st.floats(0.0, 400.0),
    st.sampled_from([0.0, -0.0, 1e-300, 1e300, 5e-324]),
)


@LONGER
@given(data=st.data())
def test_a_sortie_made_in_python(data, folder):
    sortie = read_sortie(TEXTS["demo"], "today.yaml", folder).sortie
    names = ("wind_from", "wind_speed", "gust", "temperature", "qnh")
    weather = {name: data.draw(AMOUNT) for name in names} | {"metar": sortie.weather.metar}
    fuel = {name: data.draw(AMOUNT) for name in ("landing_fuel", "start_and_taxi_fuel")}
    raw = sortie.model_dump()
    try:
        changed = Sortie.model_validate(raw | {"weather": weather, "load": raw["load"] | fuel})
    except ValidationError:
        return
    try:
        made = plan(changed, packs())
    except (SortieError, MetarError):
        return
    whole(made)
