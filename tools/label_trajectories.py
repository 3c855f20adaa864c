"""Make the excerpt of real trajectories with an independent labeller's flight phases, for tests of ours.

    pip download --no-deps traffic==2.13        # only its packaged samples are read
    pip install openap==2.6.2                   # the labeller: fuzzy logic on height, speed and rate of climb
    python tools/label_trajectories.py traffic-2.13-py3-none-any.whl tests/data/trajectories/labelled.csv.gz

The samples are state vectors of the OpenSky Network, once a second. Kept: every third of two collections,
by rules that look at no label: ten minutes or longer, no gap over 30 s, no height that cannot be, faster
than 150 kt at some time. Cut off: what repeats one state for 15 s in the air, as the collector does after
the last message. On the ground, where no speed is sent, it is worked out from positions. Names, addresses
and positions are left out. The labeller wants height over the field: altitude less that on the ground,
where known. Its default window is 60 s; its labels are stored for that and for 20 s.
"""

from __future__ import annotations

import gzip
import json
import sys
import zipfile
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from openap.phase import FlightPhase

COLLECTIONS = ("collections/quickstart", "onground/zurich_airport")
STEP = 2.0  # s
LEAST_ROWS = 600
LONGEST_GAP = 30.0  # s
STALE_ROWS = 15
HIGHEST = 45_000.0  # ft
LARGEST_JUMP = 1500.0  # ft between samples
SLOW = 60.0  # kt
SLOWEST = 150.0  # kt: what is never faster is a helicopter or a light aeroplane
EARTH = 6_371_000.0  # m
STATE = ["altitude", "groundspeed", "vertical_rate", "latitude", "longitude"]


def trajectories(wheel: Path) -> list[dict[str, np.ndarray]]:
    """Return time s, altitude ft, speed kt and rate ft/min of each that is kept."""
    found: list[dict[str, np.ndarray]] = []
    with zipfile.ZipFile(wheel) as packed:
        for name in COLLECTIONS:
            raw = gzip.decompress(packed.read(f"traffic/data/samples/{name}.json.gz"))
            frame = pd.DataFrame(json.loads(raw))
            for _, group in frame.groupby(["icao24", "callsign"], dropna=False):
                one = trajectory(group)
                if one is not None:
                    found.append(one)
    return found


def trajectory(group: pd.DataFrame) -> dict[str, np.ndarray] | None:
    """Return one trajectory on an even grid, or None."""
    rows = group.sort_values("timestamp").assign(time=lambda frame: frame.timestamp / 1000.0)
    rows = rows.drop_duplicates("time")
    grounded = rows.onground.fillna(False).to_numpy(bool)
    same = np.all(rows[STATE].diff().fillna(0.0).to_numpy() == 0.0, axis=1) & ~grounded
    length = 0
    for index, repeated in enumerate(same.tolist()):
        length = length + 1 if repeated else 0
        if length >= STALE_ROWS:
            rows = rows.iloc[: index - STALE_ROWS]
            break
    if len(rows) < LEAST_ROWS:
        return None
    grounded = grounded[: len(rows)]
    time = rows.time.to_numpy() - rows.time.iloc[0]
    altitude, speed, rate = (rows[name].to_numpy(float) for name in STATE[:3])
    known = np.isfinite(altitude)
    if np.diff(time).max() > LONGEST_GAP or known.sum() < 300 or np.isfinite(speed).sum() < 300:
        return None
    if np.nanmax(speed) < SLOWEST:
        return None
    if altitude[known].max() > HIGHEST or np.abs(np.diff(altitude[known])).max() > LARGEST_JUMP:
        return None
    by_position = speed_from_positions(time, rows.latitude.to_numpy(float), rows.longitude.to_numpy(float))
    speed = np.where(grounded | ~np.isfinite(speed), by_position, speed)
    rate = np.where(grounded, 0.0, rate)
    grid = np.arange(0.0, time[-1], STEP)
    pick = np.searchsorted(time, grid)
    full = {
        "altitude_ft": np.interp(time, time[known], altitude[known]),
        "ground_speed_kt": speed,
        "vertical_rate_fpm": np.interp(time, time[np.isfinite(rate)], rate[np.isfinite(rate)]),
    }
    return {"time_s": grid, **{name: np.round(values[pick]) for name, values in full.items()}}


def speed_from_positions(time: np.ndarray, latitude: np.ndarray, longitude: np.ndarray) -> np.ndarray:
    """Return ground speed over ten seconds, kt."""
    known = np.isfinite(latitude)
    north = np.interp(time, time[known], np.radians(latitude[known])) * EARTH
    east = np.interp(time, time[known], np.radians(longitude[known])) * EARTH
    east *= np.cos(np.radians(np.nanmean(latitude)))
    before, after = np.maximum(time - 5.0, time[0]), np.minimum(time + 5.0, time[-1])
    moved = [np.interp(after, time, path) - np.interp(before, time, path) for path in (north, east)]
    return np.hypot(*moved) / (after - before) * 3600.0 / 1852.0


def labels(one: dict[str, np.ndarray], window: int) -> list[str]:
    """Return the labeller's phases."""
    slow = one["ground_speed_kt"] < SLOW
    field = float(np.median(one["altitude_ft"][slow])) if slow.sum() > 5 else 0.0
    labeller = FlightPhase()
    labeller.set_trajectory(
        one["time_s"], one["altitude_ft"] - field, one["ground_speed_kt"], one["vertical_rate_fpm"]
    )
    return labeller.phaselabel(twindow=window)


def main(wheel: Path, target: Path, every: int = 3) -> None:
    """Write the excerpt."""
    lines = ["trajectory,time_s,altitude_ft,ground_speed_kt,vertical_rate_fpm,label_60_s,label_20_s"]
    for number, one in enumerate(trajectories(wheel)[::every]):
        sixty, twenty = labels(one, 60), labels(one, 20)
        columns: list[Any] = [one[name].astype(int).tolist() for name in one]
        lines += [",".join(map(str, (number, *row))) for row in zip(*columns, sixty, twenty, strict=True)]
    target.parent.mkdir(parents=True, exist_ok=True)
    with gzip.GzipFile(target, "wb", mtime=0) as packed:
        packed.write(("\n".join(lines) + "\n").encode())


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3]) if len(sys.argv) > 3 else 3)
