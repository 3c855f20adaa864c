"""Fly departures of a flight model for the tests: clean ones and faulty ones, and the truth beside each.

    python tools/departures/fly.py FOLDER [NAME ...]

Needs JSBSim 1.3.3 (``pip install jsbsim``) with its model ``T38``. Columns are that library's own names and
units; every event of the truth is taken at the exact step of 1/120 s.
"""

from __future__ import annotations

import gzip
import json
import sys
from dataclasses import asdict
from pathlib import Path

from fleet import FLEET
from orders import Departure
from pilot import Pilot
from script import depart
from truth import COLUMNS, DERIVED


def fly(order: Departure, folder: Path) -> None:
    """Fly one and write it."""
    pilot = Pilot(order)
    for _ in depart(pilot):
        pass
    truth = pilot.truth
    assert truth is not None
    lines = [",".join((*COLUMNS, *DERIVED)), *(",".join(row) for row in truth.rows)]
    with gzip.GzipFile(folder / f"{order.name}.csv.gz", "wb", mtime=0) as packed:
        packed.write(("\n".join(lines) + "\n").encode())
    events = dict(sorted(truth.events.items(), key=lambda pair: pair[1]["t_s"] or 0.0))
    if order.technique.reject_kt is not None or order.technique.reject_on_failure:
        for name in ("liftoff", "nosewheel_off"):
            events.pop(name, None)
    told = {**asdict(order), "flight_model": "T38 of the JSBSim 1.3.3 package", "events": events}
    (folder / f"{order.name}.truth.json").write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")


def main(folder: Path, names: list[str]) -> None:
    """Fly those named, or all."""
    folder.mkdir(parents=True, exist_ok=True)
    for order in FLEET:
        if not names or order.name in names:
            fly(order, folder)
            print(order.name, (folder / f"{order.name}.csv.gz").stat().st_size // 1000, "kB", flush=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2:])
