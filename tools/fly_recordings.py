"""Fly recordings for the tests with an open flight-dynamics library, and write the moments beside them.

    python tools/fly_recordings.py FOLDER

Needs JSBSim 1.3.3 (``pip install jsbsim``) and the models that come in its package. A pilot of a few loops
flies each script; the moments written beside the recording are taken from the model's own state at each step
of 1/120 s: commands when they are given, wheels when the model says that they carry weight.
"""

from __future__ import annotations

import gzip
import json
import sys
from collections.abc import Callable, Generator
from dataclasses import dataclass, field
from pathlib import Path

import jsbsim

STEP = 1.0 / 120.0  # s
LOGGED = (
    "simulation/sim-time-sec", "position/lat-geod-deg", "position/long-gc-deg", "position/h-sl-ft",
    "position/h-agl-ft", "attitude/theta-deg", "attitude/phi-deg", "attitude/psi-deg", "aero/alpha-deg",
    "velocities/vc-kts", "velocities/vtrue-kts", "velocities/vg-fps", "velocities/h-dot-fps",
    "velocities/q-rad_sec", "accelerations/Nz", "propulsion/engine[0]/n1", "propulsion/engine[1]/n1",
    "propulsion/engine[0]/n2", "propulsion/engine[1]/n2", "propulsion/engine[0]/fuel-flow-rate-pps",
    "propulsion/engine[1]/fuel-flow-rate-pps", "fcs/throttle-cmd-norm[0]", "fcs/throttle-cmd-norm[1]",
    "propulsion/total-fuel-lbs", "gear/gear-pos-norm", "fcs/flap-pos-norm", "gear/unit[0]/WOW",
    "gear/unit[1]/WOW", "gear/unit[2]/WOW", "fcs/left-brake-cmd-norm", "fcs/right-brake-cmd-norm",
    "fcs/elevator-cmd-norm", "fcs/aileron-cmd-norm", "inertia/weight-lbs",
)  # fmt: skip
Script = Generator[None, None, None]


def decimals(name: str) -> int:
    """Return how many decimals a column is written with."""
    if "lat-" in name or "long-" in name:
        return 6
    return 4 if "rad_sec" in name or "norm" in name or "pps" in name or name == LOGGED[0] else 2


@dataclass
class Pilot:
    """The model, what the pilot holds, and what was noted."""

    model: str
    rate: float
    """Rows a second."""
    f: jsbsim.FGFDMExec = field(init=False)
    events: list[tuple[str, float]] = field(default_factory=list)
    rows: list[list[float]] = field(default_factory=list)
    theta: float | None = None
    """Attitude held, deg; None: stick free."""
    bank: float = 0.0
    speed: float | None = None
    """Speed held by throttle, kt; None: throttle as set."""
    trim: float = 0.0
    wheels: tuple[bool, bool] = (True, True)
    ground: float = 0.0
    course: float = 20.0
    """Steered on the ground, deg."""
    straight: bool = False
    """Whether rudder holds the heading in the air too."""
    logs: bool = False
    due: float = 0.0

    def __post_init__(self) -> None:
        """Load the model on flat ground at 800 ft, engines running."""
        self.f = jsbsim.FGFDMExec(None)
        self.f.set_debug_level(0)
        self.f.load_model(self.model)

    def set_up(self, *, hot: float = 0.0, wind_north: float = 0.0, wind_east: float = 0.0) -> None:
        """Stand on the ground heading 020: temperature deviation in K, wind in ft/s, where it goes."""
        f = self.f
        f["ic/terrain-elevation-ft"] = 800.0
        f["ic/h-agl-ft"] = 6.0
        f["ic/psi-true-deg"] = 20.0
        f["ic/lat-geod-deg"] = 10.0
        f["ic/long-gc-deg"] = 20.0
        f["atmosphere/delta-T"] = 1.8 * hot
        f.run_ic()
        f["propulsion/set-running"] = -1
        f["atmosphere/wind-north-fps"] = wind_north
        f["atmosphere/wind-east-fps"] = wind_east
        f["gear/gear-cmd-norm"] = 1.0
        self.brakes(1.0)

    def brakes(self, share: float) -> None:
        """Press both brakes."""
        for side in ("left", "right", "center"):
            self.f[f"fcs/{side}-brake-cmd-norm"] = share

    def throttle(self, share: float) -> None:
        """Set both levers; the speed is no longer held."""
        self.speed = None
        self.f["fcs/throttle-cmd-norm[0]"] = self.f["fcs/throttle-cmd-norm[1]"] = share

    def note(self, name: str) -> None:
        """Note a moment, once the recording has begun."""
        if not self.logs:
            return
        self.events.append((name, round(self.f.get_sim_time(), 4)))

    def height(self) -> float:
        """Return the height over that standing on the wheels, ft."""
        return self.f["position/h-agl-ft"] - self.ground

    def step(self) -> None:
        """Fly one step: attitude, bank and speed held, wheels watched, a row written when due."""
        f = self.f
        if self.theta is not None:
            error = self.theta - f["attitude/theta-deg"]
            self.trim = min(max(self.trim + 0.02 * error * STEP, -0.8), 0.8)
            command = 0.035 * error - 0.5 * f["velocities/q-rad_sec"] + self.trim
            f["fcs/elevator-cmd-norm"] = -min(max(command, -1.0), 1.0)
            lean = self.bank - f["attitude/phi-deg"]
            f["fcs/aileron-cmd-norm"] = min(max(0.012 * lean - 0.15 * f["velocities/p-rad_sec"], -0.5), 0.5)
        if self.speed is not None:
            short = self.speed - f["velocities/vc-kts"]
            before = f["fcs/throttle-cmd-norm[0]"]
            wanted = min(max(0.35 + 0.04 * short, 0.02), 0.9)
            after = before + min(max(wanted - before, -0.2 * STEP), 0.2 * STEP)
            f["fcs/throttle-cmd-norm[0]"] = f["fcs/throttle-cmd-norm[1]"] = after
        if self.height() < 5.0 or self.straight:
            off = (f["attitude/psi-deg"] - self.course + 180.0) % 360.0 - 180.0
            f["fcs/steer-cmd-norm"] = min(max(-0.05 * off, -0.3), 0.3) if f["velocities/vg-fps"] > 5 else 0.0
            swing = 0.3 * off + 4.0 * f["velocities/r-rad_sec"]
            f["fcs/rudder-cmd-norm"] = min(max(swing, -1.0), 1.0) if f["velocities/vg-fps"] > 80 else 0.0
        else:
            f["fcs/steer-cmd-norm"] = f["fcs/rudder-cmd-norm"] = 0.0
        f.run()
        self._watch()
        if self.logs and f.get_sim_time() >= self.due:
            self.due = f.get_sim_time() + 1.0 / self.rate - 1e-6
            self.rows.append([round(f[name], decimals(name)) for name in LOGGED])

    def _watch(self) -> None:
        f = self.f
        nose = f["gear/unit[0]/WOW"] > 0.5
        mains = f["gear/unit[1]/WOW"] > 0.5 or f["gear/unit[2]/WOW"] > 0.5
        if mains != self.wheels[1]:
            self.note("mains_on" if mains else "mains_off")
        if nose != self.wheels[0]:
            self.note("nose_on" if nose else "nose_off")
        self.wheels = (nose, mains)

    def wait(self, until: Callable[[], bool], longest: float = 300.0) -> Script:
        """Go on until something is so."""
        begun = self.f.get_sim_time()
        while not until() and self.f.get_sim_time() - begun < longest:
            self.step()
            yield

    def for_(self, seconds: float) -> Script:
        """Go on for some seconds."""
        return self.wait(lambda: False, seconds)


def takeoff(p: Pilot, *, rotate: float, attitude: float, power: float, pull: float = 0.6) -> Script:
    """Stand, run up, release, rotate at a speed (kt), leave the ground, gear up at 80 ft."""
    p.note("run_up")
    p.throttle(min(power, 0.5))
    yield from p.for_(6.0)
    p.note("brake_release")
    p.brakes(0.0)
    p.throttle(power)
    yield from p.wait(lambda: p.f["velocities/vc-kts"] >= rotate, 60.0)
    p.note("rotation_begins")
    begun = p.f.get_sim_time()
    while p.f["attitude/theta-deg"] < 0.5 * attitude and p.f.get_sim_time() - begun < 12.0:
        p.f["fcs/elevator-cmd-norm"] = -min(pull, 0.8 * (p.f.get_sim_time() - begun))
        p.step()
        yield
    p.trim = 0.3 * pull
    p.theta = attitude
    yield from p.wait(lambda: p.height() >= 50.0, 60.0)
    p.note("height_50_ft")
    yield from p.wait(lambda: p.height() >= 80.0, 30.0)
    p.note("gear_up_selected")
    p.f["gear/gear-cmd-norm"] = 0.0
    yield from p.wait(lambda: p.f["gear/gear-pos-norm"] <= 0.0, 30.0)
    p.note("gear_up")
    if p.f["fcs/flap-pos-norm"] > 0.0:
        p.note("flaps_up_selected")
    p.f["fcs/flap-cmd-norm"] = 0.0


def to_height(p: Pilot, height: float, *, speed: float) -> Script:
    """Climb to a height over the field and level off there."""
    yield from p.wait(lambda: p.height() >= height - 150.0, 240.0)
    p.speed = speed
    yield from level(p, height, 25.0)


def level(p: Pilot, height: float, seconds: float) -> Script:
    """Hold a height by attitude."""
    begun = p.f.get_sim_time()
    base = p.f["aero/alpha-deg"]
    while p.f.get_sim_time() - begun < seconds:
        base += (p.f["aero/alpha-deg"] - base) * STEP
        wanted = min(max(0.05 * (height - p.height()), -12.0), 12.0)
        sink = wanted - p.f["velocities/h-dot-fps"]
        p.theta = min(max(base + 0.25 * sink, -6.0), 14.0)
        p.step()
        yield


def half_turn(p: Pilot, height: float, seconds: float) -> Script:
    """Turn level at 40 degrees of bank for some seconds."""
    p.bank = 40.0
    yield from level(p, height, seconds)
    p.bank = 0.0


def approach(p: Pilot, *, speed: float, to: float, flap: float, sink: float = 13.0) -> Script:
    """Gear and flaps down, and down a steady path to a height, ft."""
    p.f["gear/gear-cmd-norm"] = 1.0
    p.f["fcs/flap-cmd-norm"] = flap
    p.speed = speed
    base = p.f["aero/alpha-deg"]
    noted = p.f["gear/gear-pos-norm"] >= 1.0
    while p.height() > to:
        if not noted and p.f["gear/gear-pos-norm"] >= 1.0:
            p.note("gear_down")
            noted = True
        base += 0.5 * (p.f["aero/alpha-deg"] - base) * STEP
        p.theta = min(max(base + 0.4 * (-sink - p.f["velocities/h-dot-fps"]), -5.0), 12.0)
        p.step()
        yield


def land(p: Pilot, *, attitude: float) -> Script:
    """Flare from 25 ft, hold off, touch down, lower the nose, brake to a stop."""
    yield from approach(p, speed=p.speed or 120.0, to=25.0, flap=1.0, sink=11.0)
    p.note("levers_closed")
    p.throttle(0.0)
    p.theta = attitude
    p.course = p.f["attitude/psi-deg"]
    yield from p.wait(lambda: p.wheels[1], 40.0)
    yield from p.for_(2.0)
    p.theta = -1.0
    yield from p.wait(lambda: p.wheels[0] and p.wheels[1], 12.0)
    yield from p.for_(2.0)
    p.theta = None
    p.f["fcs/elevator-cmd-norm"] = 0.0
    p.note("brakes_on")
    p.brakes(0.3)
    yield from p.wait(lambda: p.f["velocities/vg-fps"] < 0.5, 90.0)
    p.note("stopped")
    p.brakes(1.0)
    yield from p.for_(15.0)


def stand(p: Pilot, *, records: bool = True) -> Script:
    """Let the model settle, then remember its height on the wheels and begin to record."""
    yield from p.for_(5.0)
    p.ground = p.f["position/h-agl-ft"]
    p.logs = records
    yield from p.for_(5.0)


def circuit(p: Pilot) -> Script:
    """A light trainer: takeoff without flap, a broken-off approach, a circuit, a landing to a stop."""
    p.set_up(wind_north=-15.0, wind_east=-6.0)
    yield from stand(p)
    yield from takeoff(p, rotate=82.0, attitude=8.0, power=1.0)
    yield from to_height(p, 1200.0, speed=170.0)
    yield from half_turn(p, 1200.0, 40.0)
    yield from approach(p, speed=115.0, to=180.0, flap=0.5)
    p.note("go_around_begins")
    p.throttle(1.0)
    p.theta = 8.0
    yield from p.for_(8.0)
    p.f["gear/gear-cmd-norm"] = 0.0
    p.f["fcs/flap-cmd-norm"] = 0.0
    yield from to_height(p, 1200.0, speed=170.0)
    yield from half_turn(p, 1200.0, 50.0)
    yield from approach(p, speed=110.0, to=60.0, flap=1.0)
    yield from land(p, attitude=5.0)


def abort(p: Pilot) -> Script:
    """A hot day: run up, release, levers closed at 95 kt, braked to a stop."""
    p.set_up(hot=20.0, wind_north=-10.0)
    p.f["fcs/flap-cmd-norm"] = 0.45
    yield from stand(p)
    p.note("run_up")
    p.throttle(0.5)
    yield from p.for_(5.0)
    p.note("brake_release")
    p.brakes(0.0)
    yield from p.wait(lambda: p.f["velocities/vc-kts"] >= 95.0, 60.0)
    p.note("levers_closed")
    p.throttle(0.0)
    yield from p.for_(1.2)
    p.note("brakes_on")
    p.brakes(0.5)
    yield from p.wait(lambda: p.f["velocities/vg-fps"] < 0.5, 90.0)
    p.note("stopped")
    p.brakes(1.0)
    yield from p.for_(8.0)


def engine_out(p: Pilot) -> Script:
    """A cold day and little fuel: the left engine stops at 150 kt, the takeoff goes on."""
    p.set_up(hot=-15.0, wind_north=-25.0)
    p.f["propulsion/tank[0]/contents-lbs"] = p.f["propulsion/tank[1]/contents-lbs"] = 700.0
    p.f["fcs/flap-cmd-norm"] = 0.45
    yield from stand(p)
    p.note("run_up")
    p.throttle(0.5)
    yield from p.for_(5.0)
    p.note("brake_release")
    p.brakes(0.0)
    p.throttle(1.0)
    yield from p.wait(lambda: p.f["velocities/vc-kts"] >= 150.0, 60.0)
    p.straight = True
    p.note("engine_failed")
    p.f["propulsion/engine[0]/set-running"] = 0
    p.f["propulsion/active_engine"] = 0
    p.f["propulsion/cutoff_cmd"] = 1
    yield from p.wait(lambda: p.f["velocities/vc-kts"] >= 158.0, 60.0)
    p.note("rotation_begins")
    p.trim = 0.5
    p.theta = 8.0
    yield from p.wait(lambda: p.height() >= 50.0, 90.0)
    p.note("height_50_ft")
    p.note("gear_up_selected")
    p.f["gear/gear-cmd-norm"] = 0.0
    yield from p.for_(20.0)


def touch_and_go(p: Pilot) -> Script:
    """A light trainer, recorded from its approach on: touchdown, power, off again, and away."""
    p.set_up(wind_north=-8.0)
    yield from stand(p, records=False)
    yield from takeoff(p, rotate=82.0, attitude=8.0, power=1.0)
    yield from to_height(p, 900.0, speed=150.0)
    p.logs = True
    yield from approach(p, speed=110.0, to=60.0, flap=1.0)
    yield from approach(p, speed=110.0, to=25.0, flap=1.0, sink=11.0)
    p.throttle(0.0)
    p.theta = 5.0
    yield from p.wait(lambda: p.wheels[1], 40.0)
    p.theta = 1.0
    p.f["fcs/flap-cmd-norm"] = 0.3
    yield from p.for_(4.0)
    p.note("power_up")
    p.throttle(1.0)
    yield from p.wait(lambda: p.f["velocities/vc-kts"] >= 85.0, 40.0)
    p.note("rotation_begins")
    p.theta = 8.0
    yield from p.wait(lambda: p.height() >= 50.0, 60.0)
    p.note("height_50_ft")
    p.note("gear_up_selected")
    p.f["gear/gear-cmd-norm"] = 0.0
    yield from p.for_(25.0)


FLIGHTS: dict[str, tuple[str, float, Callable[[Pilot], Script]]] = {
    "trainer_circuit": ("T37", 10.0, circuit),
    "hot_abort": ("T38", 20.0, abort),
    "engine_out": ("T38", 12.0, engine_out),
    "touch_and_go": ("T37", 16.0, touch_and_go),
}


def main(folder: Path) -> None:
    """Fly and write all of them."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, (model, rate, script) in FLIGHTS.items():
        pilot = Pilot(model, rate)
        for _ in script(pilot):
            pass
        with gzip.GzipFile(folder / f"{name}.csv.gz", "wb", mtime=0) as packed:
            lines = [",".join(LOGGED), *(",".join(f"{value:.9g}" for value in row) for row in pilot.rows)]
            packed.write(("\n".join(lines) + "\n").encode())
        truth = {"model": model, "rate_hz": rate, "events": [{"name": n, "t_s": t} for n, t in pilot.events]}
        (folder / f"{name}.truth.json").write_text(json.dumps(truth, indent=1) + "\n", encoding="utf-8")
        print(name, len(pilot.rows), "rows")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
