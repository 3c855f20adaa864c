"""Any file of one record is read with the same care as a pack's."""

from typing import Annotated, Literal

import pytest

from sortiewright.pack import InputError, Mass, Model, Speed, parse_yaml, read_record
from sortiewright.pack.table import Table
from sortiewright.pack.table_text import over


class Wind(Model):
    speed: Speed
    kind: Literal["steady", "gusting"] = "steady"


class Day(Model):
    fuel: Mass
    wind: Wind
    loads: dict[str, tuple[str, ...]] | None = None
    pairs: tuple[tuple[Mass, Speed], ...] = ()
    factor: Annotated[Table, over("mass kg", least=0.5)] | None = None


def read(text):
    return read_record(parse_yaml(text, "day.yaml"), Day)


def test_a_record_and_its_sources_come_back():
    day, sources = read(
        "fuel: {value: 1000 lb, source: dip stick}\n"
        "wind: {speed: 10 kt, source: tower}\n"
        "loads: {left: [tank]}\n"
        "pairs: [[1 kg, 2 m/s]]\n"
        "factor: {mass: {unit: lb, values: [0, 100]}, values: [1, 2]}\n"
    )

    assert day.fuel == pytest.approx(453.59237)
    assert day.pairs == ((1.0, 2.0),)
    assert float(day.factor(50 * 0.45359237)) == pytest.approx(1.5)
    assert {key: source.text for key, source in sources.items()} == {"fuel": "dip stick", "wind": "tower"}


def test_each_fault_has_its_line_and_key():
    text = (
        "fuel:\n"
        "  value: 1000 pounds-ish\n"
        "  source: guess\n"
        "wind:\n"
        "  sped: 10 kt\n"
        "  kind: gusty\n"
        "pairs:\n"
        "  - [1 kg, 2 m/s]\n"
        "  - [1 kg, 2 kg]\n"
        "factor: {mass: [0 lb, 100 lb], values: [1, 0.2]}\n"
    )
    with pytest.raises(InputError) as caught:
        read(text)

    assert str(caught.value).split("\n") == [
        'day.yaml:1  fuel: "1000 pounds-ish" is not a mass: "pounds-ish" is not a known unit. '
        "Write one of: kg, lb, lbs, klb, g, t",
        "day.yaml:4  wind.speed: is missing. A speed is wanted, for example 250 kt",
        'day.yaml:5  wind: "sped" is not a known key. Did you mean "speed"?',
        'day.yaml:6  wind.kind: "gusty" is not one of: steady, gusting. Did you mean "gusting"?',
        'day.yaml:9  pairs[1][1]: "2 kg" is not a speed: "kg" measures mass, not speed. '
        "Write one of: m/s, kt, kts, km/h, ft/s, ft/min, mph",
        "day.yaml:10  factor.values[1]: 0.2 is outside what this table can hold, at least 0.5",
    ]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "day.yaml  this file is empty."),
        ("- 1", "day.yaml:1  a list is not a mapping."),
        ("5", "day.yaml:1  5 is"),
    ],
)
def test_a_file_that_holds_no_keys(text, said):
    with pytest.raises(InputError) as caught:
        read(text)

    assert str(caught.value).startswith(said)
