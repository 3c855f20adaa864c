"""Fly the takeoffs that docs/validation.md is held against, and store what came out: needs the extra `fdm`.

    python tools/fly_flight_model_takeoffs.py            every model
    python tools/fly_flight_model_takeoffs.py T38 737    some
    python tools/fly_flight_model_takeoffs.py --pack 737 its pack too, sampled anew

Each model of JSBSim is flown by a scripted pilot over a table of chosen conditions and over twice 30
drawn at random; each condition twice, once into the air and once given up. Written to
tests/data/flight_model_takeoffs; nothing of what the plan computes goes in.
"""

from __future__ import annotations

import csv
import math
import random
import sys
from dataclasses import asdict, dataclass, replace
from pathlib import Path

from sortiewright.pack_sampling import (
    TakeoffOrder,
    fly_takeoff_script,
    pack_files,
    sample_model,
    write_pack_folder,
)

ROOT = Path(__file__).resolve().parents[1]
FLOWN = ROOT / "tests" / "data" / "flight_model_takeoffs"
PACKS = ROOT / "tests" / "data" / "packs"
KNOT = 1852 / 3600
DRAWN = 30
SEEDS = {"drawn": 20261125, "again": 77}
"""The second were drawn when nothing of the computation was to change any more."""
LEFT_OUT = ("procedures/", "rules/", "sorties/")
OF_THE_STOP = ("stop_distance", "event_ground_speed")
Change = dict[str, float | None]


@dataclass(frozen=True)
class Model:
    """How a model takes off, what is changed in the table, and what is drawn."""

    order: TakeoffOrder
    table: dict[str, Change]
    fuel: tuple[float, float]
    flaps: tuple[float, ...]
    throttles: tuple[float, ...] = (1.0,)
    failures: tuple[float, float] | None = None
    """Of rotation speed; None where no engine is to fail."""


def _order(rotation: float, rate: float, attitude: float, **more: float) -> TakeoffOrder:
    return TakeoffOrder(
        rotation_cas=rotation * KNOT, pitch_rate=math.radians(rate), attitude=math.radians(attitude), **more
    )


WEATHER: dict[str, Change] = {
    "standard day": {},
    "25 K warmer": {"temperature_deviation": 25.0},
    "25 K colder": {"temperature_deviation": -25.0},
    "1,500 m high": {"elevation": 1500.0},
    "1,200 m high, 20 K warmer": {"elevation": 1200.0, "temperature_deviation": 20.0},
    "headwind 15 kt": {"headwind": 15 * KNOT},
    "tailwind 5 kt": {"headwind": -5 * KNOT},
}
MODELS = {
    "T38": Model(
        _order(140, 3, 10, flap=0.6, advance_delay=1.0),
        {
            **WEATHER,
            "half fuel": {"fuel": 0.5},
            "military power": {"takeoff_throttle": 0.5},
            "military power, 15 K warmer": {"takeoff_throttle": 0.5, "temperature_deviation": 15.0},
            "rotation at 155 kt": {"rotation_cas": 155 * KNOT},
            "rotation at 5 deg/s": {"pitch_rate": math.radians(5)},
            "landing flap": {"flap": 1.0},
            "no flap, light": {"flap": 0.0, "fuel": 0.4},
            "engine fails at 110 kt, half fuel": {"fuel": 0.5, "fail_engine_at": 110 * KNOT},
            "engine fails at 135 kt, heavy": {"fail_engine_at": 135 * KNOT},
            "engine fails at 120 kt, light, military": {
                "fuel": 0.3,
                "takeoff_throttle": 0.5,
                "fail_engine_at": 120 * KNOT,
            },
        },
        fuel=(0.25, 0.95),
        flaps=(0.0, 0.6, 0.6, 1.0),
        throttles=(1.0, 1.0, 0.5),
        failures=(0.7, 1.0),
    ),
    "T37": Model(
        _order(75, 3, 12, flap=0.5),
        {
            **WEATHER,
            "three tenths fuel": {"fuel": 0.3},
            "no flap": {"flap": 0.0},
            "landing flap": {"flap": 1.0},
            "rotation at 85 kt": {"rotation_cas": 85 * KNOT},
            "rotation at 5 deg/s": {"pitch_rate": math.radians(5)},
            "engine fails at 65 kt, light": {"fuel": 0.3, "fail_engine_at": 65 * KNOT},
            "engine fails at 74 kt": {"fail_engine_at": 74 * KNOT},
        },
        fuel=(0.25, 0.95),
        flaps=(0.0, 0.5, 0.5, 1.0),
        failures=(0.75, 1.0),
    ),
    "737": Model(
        _order(125, 3, 9, flap=0.5, fuel=0.5),
        {
            **WEATHER,
            "a quarter fuel": {"fuel": 0.25},
            "nine tenths fuel": {"fuel": 0.9},
            "landing flap": {"flap": 1.0},
            "rotation at 140 kt": {"rotation_cas": 140 * KNOT},
            "rotation at 2 deg/s": {"pitch_rate": math.radians(2)},
            "engine fails at 105 kt": {"fail_engine_at": 105 * KNOT},
            "engine fails at 120 kt, a quarter fuel": {"fuel": 0.25, "fail_engine_at": 120 * KNOT},
        },
        fuel=(0.2, 0.9),
        flaps=(0.5, 0.5, 1.0),
        failures=(0.75, 1.0),
    ),
    "c172p": Model(
        _order(50, 3, 8, flap=0.0),
        {
            **WEATHER,
            "half fuel": {"fuel": 0.5},
            "flap at two thirds": {"flap": 0.666667},
            "landing flap": {"flap": 1.0},
            "rotation at 55 kt": {"rotation_cas": 55 * KNOT},
            "attitude 10 deg": {"attitude": math.radians(10)},
            "900 m high, headwind 10 kt": {"elevation": 900.0, "headwind": 10 * KNOT},
        },
        fuel=(0.3, 1.0),
        flaps=(0.0, 0.0, 0.666667),
    ),
}


def drawn(model: Model, dice: random.Random) -> Change:
    """Return one condition at random."""
    order = model.order
    rotation = order.rotation_cas * dice.uniform(0.98, 1.1)
    fails = model.failures is not None and dice.random() < 0.25
    low, high = model.failures or (0.0, 0.0)
    return {
        "fuel": dice.uniform(*model.fuel),
        "temperature_deviation": dice.uniform(-25.0, 25.0),
        "elevation": dice.uniform(0.0, 1500.0),
        "headwind": dice.uniform(-5.0, 20.0) * KNOT,
        "flap": dice.choice(model.flaps),
        "takeoff_throttle": dice.choice(model.throttles),
        "rotation_cas": rotation,
        "pitch_rate": order.pitch_rate * dice.uniform(0.8, 1.6),
        "attitude": order.attitude + math.radians(dice.uniform(-1.0, 1.0)),
        "fail_engine_at": rotation * dice.uniform(low, high) if fails else None,
        "reject_at": rotation * dice.uniform(0.5, 0.95),
        "brake_command": dice.uniform(0.2, 0.5),
        "brakes_after": dice.uniform(2.0, 4.0),
    }


def flown(name: str, kind: str, condition: str, order: TakeoffOrder) -> dict[str, object]:
    """Return a row: the order, the takeoff as flown, and the stop of the same run given up."""
    into_the_air = fly_takeoff_script(name, replace(order, reject_at=None))
    given_up = fly_takeoff_script(name, replace(order, fail_engine_at=None))
    row: dict[str, object] = {"kind": kind, "condition": condition}
    row |= {f"order_{key}": value for key, value in asdict(order).items()}
    row |= {key: value for key, value in asdict(into_the_air).items() if key != "stop_distance"}
    return row | {f"rejected_{key}": getattr(given_up, key) for key in OF_THE_STOP}


def rows(name: str, model: Model) -> list[dict[str, object]]:
    """Return the table of a model, flown, and the conditions drawn."""
    found: list[dict[str, object]] = []
    for condition, change in model.table.items():
        order = replace(model.order, **change)  # pyright: ignore[reportArgumentType]
        reject_at = order.fail_engine_at or 0.8 * order.rotation_cas
        found.append(flown(name, "table", condition, replace(order, reject_at=reject_at)))
    for word, seed in SEEDS.items():
        dice = random.Random(f"{name} {seed}")
        for number in range(DRAWN):
            change = drawn(model, dice)
            order = replace(model.order, **change)  # pyright: ignore[reportArgumentType]
            found.append(flown(name, "drawn", f"{word} {number + 1}", order))
    return found


def _text(value: object) -> str:
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return ""
    return f"{value:.8g}" if isinstance(value, float) else str(value)


def write(name: str, model: Model) -> None:
    """Fly a model and write its file."""
    found = rows(name, model)
    FLOWN.mkdir(parents=True, exist_ok=True)
    with (FLOWN / f"{name}.csv").open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, list(found[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows({key: _text(value) for key, value in row.items()} for row in found)
    print(f"{name}: {len(found)} conditions")


def main(words: list[str]) -> None:
    """Fly the models named, all where none is; ``--pack`` samples their packs too."""
    names = [word for word in words if not word.startswith("--")] or list(MODELS)
    for name in names:
        if "--pack" in words:
            written = pack_files(sample_model(name))
            kept = {file: text for file, text in written.items() if not file.startswith(LEFT_OUT)}
            write_pack_folder(PACKS / f"{name.lower()}_sampled", kept)
        write(name, MODELS[name])


if __name__ == "__main__":
    main(sys.argv[1:])
