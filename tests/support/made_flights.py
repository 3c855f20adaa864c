"""Recordings made by plain kinematics: any rate, any noise, with the moments that the maker knows.

A ``Maker`` is told what the aircraft does, one stretch after the other; nothing of the code under test is
used. Height is that of the wheels; the height channel is that of a point ``RECORDER`` above them, as
simulations give it.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from sortiewright.recording import Recording

STEP = 0.01  # s
KNOT = 1852.0 / 3600.0
FOOT = 0.3048
DEGREE = np.pi / 180.0
RECORDER = 0.95  # m
FIELD = 120.0  # m above sea level
IDLE = 0.55  # engine speed, share of rated
SPOOL_RATE = 0.12  # per s
GEAR_RATE = 1.0 / 4.0  # per s
FLAP_RATE = 1.0 / 8.0


@dataclass
class Maker:
    """What was done so far; every method adds a stretch and returns the maker."""

    rows: dict[str, list[np.ndarray]] = field(default_factory=dict)
    truth: dict[str, list[float]] = field(default_factory=dict)
    now: float = 0.0
    speed: float = 0.0
    height: float = 0.0
    pitch: float = 0.0
    heading: float = 80.0
    throttle: float = 0.0
    brake: float = 1.0
    stick: float = 0.0
    gear: float = 1.0
    flap: float = 0.5
    engines_on: float = 1.0

    def note(self, name: str, later: float = 0.0) -> Maker:
        """Remember that something happens now, or some seconds later."""
        self.truth.setdefault(name, []).append(self.now + later)
        return self

    def go(self, seconds: float, **ends: float) -> Maker:
        """Let named states go on a straight line to new values over some seconds; commands jump at once."""
        count = max(round(seconds / STEP), 1)
        share = np.arange(1, count + 1) / count
        for name in ("speed", "height", "pitch", "heading"):
            begin = getattr(self, name)
            end = ends.get(name, begin)
            self.rows.setdefault(name, []).append(begin + share * (end - begin))
            setattr(self, name, end)
        for name in ("throttle", "brake", "stick", "gear", "flap", "engines_on"):
            value = ends.get(name, getattr(self, name))
            self.rows.setdefault(name, []).append(np.full(count, value))
            setattr(self, name, value)
        self.now += count * STEP
        return self

    def stand(self, seconds: float) -> Maker:
        """Stand with the brakes on."""
        return self.go(seconds, brake=1.0, throttle=0.0)

    def start(self) -> Maker:
        """Start the engines."""
        self.note("engine_start")
        return self.go(15.0, engines_on=1.0, brake=1.0)

    def taxi(self, seconds: float, *, turn: float = 0.0, speed: float = 8.0) -> Maker:
        """Taxi, from a stop to a stop."""
        self.go(0.5, brake=0.0, throttle=0.35).note("moves").go(4.0, speed=speed)
        self.go(seconds, heading=self.heading + turn, throttle=0.08)
        self.go(4.0, speed=0.0, throttle=0.0, brake=0.3)
        return self.note("stops")

    def line_up_and_run_up(self, seconds: float = 6.0) -> Maker:
        """Taxi onto the runway, stop, run the engines up to military power against the brakes."""
        self.taxi(15.0, turn=90.0).note("lined_up").stand(3.0)
        return self.note("run_up").go(seconds, throttle=0.6, brake=1.0)

    def roll(
        self, to: float, *, acceleration: float = 4.0, throttle: float = 1.0, release: bool = True
    ) -> Maker:
        """Accelerate on the runway."""
        if release:
            self.note("brake_release")
        return self.go((to - self.speed) / acceleration, speed=to, throttle=throttle, brake=0.0)

    def rotate_and_lift(self, *, rate: float = 4.0, to: float = 10.0, flicker: bool = False) -> Maker:
        """Pull, rotate, leave the ground and climb through 50 ft; the speed goes on rising."""
        self.note("rotation_begins").go(0.3, stick=0.6, speed=self.speed + 1.0)
        seconds = to / rate
        self.go(seconds, pitch=to * DEGREE, speed=self.speed + 3.0 * seconds, stick=0.5)
        if flicker:
            self.go(0.15, height=0.02).go(0.05, height=0.0).go(0.1, speed=self.speed + 0.5)
        self.note("lift_off").go(3.0, height=12.0, speed=self.speed + 8.0, stick=0.1)
        rate_of_climb = 10.0
        self.note("height_50_ft", (50.0 * FOOT - 12.0) / rate_of_climb)
        return self.go(2.0, height=12.0 + 2.0 * rate_of_climb, speed=self.speed + 4.0)

    def clean_up(self) -> Maker:
        """Gear and flaps up while climbing."""
        self.note("gear_up_selected").note("gear_up", 1.0 / GEAR_RATE)
        self.go(5.0, gear=0.0, height=self.height + 60.0, speed=self.speed + 10.0)
        self.note("flaps_up_selected").note("flaps_up", self.flap / FLAP_RATE)
        return self.go(8.0, flap=0.0, height=self.height + 100.0, speed=self.speed + 20.0)

    def climb_to(self, height: float, *, rate: float = 20.0) -> Maker:
        """Climb or descend to a height over the field."""
        seconds = abs(height - self.height) / rate
        self.note("climb" if height > self.height else "descent")
        return self.go(seconds, height=height, throttle=0.6 if height > self.height else 0.15)

    def level(self, seconds: float, *, turn: float = 0.0, speed: float | None = None) -> Maker:
        """Fly level."""
        self.note("level")
        return self.go(
            seconds, heading=self.heading + turn, throttle=0.4, speed=self.speed if speed is None else speed,
            pitch=3.0 * DEGREE,
        )  # fmt: skip

    def approach_to(self, height: float, *, sink: float = 4.0, speed: float = 75.0) -> Maker:
        """Put gear and flaps down, and come down to a height over the field."""
        if self.gear < 1.0:
            self.note("gear_down", 1.0 / GEAR_RATE)
        self.go(5.0, gear=1.0, flap=1.0, speed=speed, throttle=0.3)
        return self.go((self.height - height) / sink, height=height, pitch=6.0 * DEGREE)

    def land(self, *, bounce: bool = False) -> Maker:
        """Flare from where it is, touch down, put the nose down; with a bounce of a metre if so asked."""
        self.note("levers_closed").go(
            3.0, height=0.0, throttle=0.0, pitch=8.0 * DEGREE, speed=self.speed - 4.0
        )
        self.note("touchdown")
        if bounce:
            self.go(0.2, height=0.0).go(0.8, height=1.0).go(0.8, height=0.0).note("bounce")
        self.go(2.0, pitch=2.0 * DEGREE, speed=self.speed - 5.0)
        self.go(0.6, pitch=0.0, speed=self.speed - 1.0)
        return self

    def roll_out(self, to: float = 0.0, *, braking: float = 3.0) -> Maker:
        """Brake to a speed; nought is a stop."""
        self.note("brakes_on").go((self.speed - to) / braking, speed=to, brake=0.4, throttle=0.0)
        return self.note("stopped") if to == 0.0 else self

    def taxi_clear(self) -> Maker:
        """Turn off the runway, taxi a little, stop."""
        self.go(20.0, speed=8.0, brake=0.0, throttle=0.05, heading=self.heading + 90.0)
        return self.go(4.0, speed=0.0, brake=0.3).note("stopped").stand(15.0)

    def give_up(self, *, braking: float = 4.0) -> Maker:
        """Close the levers on the takeoff run, a second later brake to a stop."""
        self.note("levers_closed").go(1.0, throttle=0.0, speed=self.speed + 1.0)
        return self.roll_out(0.0, braking=braking)

    def go_around(self) -> Maker:
        """Power up a second before the lowest point, and climb away."""
        self.note("go_around_begins").go(1.0, throttle=1.0, height=self.height - 3.0)
        return self.go(20.0, height=self.height + 160.0, pitch=9.0 * DEGREE, speed=self.speed + 20.0)

    def shut_down(self) -> Maker:
        """Stop the engines."""
        self.note("shut_down")
        return self.go(20.0, engines_on=0.0, throttle=0.0, brake=1.0)

    def recording(
        self, *, rate: float = 20.0, seed: int = 1, noise: float = 1.0, without: tuple[str, ...] = (),
        starts_at: float = 0.0, pause_at: float | None = None,
    ) -> Recording:  # fmt: skip
        """Return what a recorder would have written: sampled, noisy, some channels left out."""
        full = {name: np.concatenate(parts) for name, parts in self.rows.items()}
        clock = STEP * np.arange(1, len(full["speed"]) + 1)
        full["spool"] = _follow(
            np.where(
                full["engines_on"] > 0.5, IDLE + (1.0 - IDLE) * np.minimum(full["throttle"] / 0.6, 1.0), 0.0
            ),
            SPOOL_RATE,
        )
        full["gear_at"] = _follow(full["gear"], GEAR_RATE)
        full["flap_at"] = _follow(full["flap"], FLAP_RATE)
        full["climb"] = np.gradient(full["height"], STEP)
        full["pitch_rate"] = np.gradient(full["pitch"], STEP)
        random = np.random.default_rng(seed)
        moments = np.arange(0.003, clock[-1], 1.0 / rate)
        pick = np.minimum(np.searchsorted(clock, moments), len(clock) - 1)
        row = {name: values[pick] for name, values in full.items()}

        def noisy(values: np.ndarray, sigma: float) -> np.ndarray:
            return values + noise * sigma * random.standard_normal(len(values))

        on_wheels = (row["height"] <= 1e-6).astype(float)
        nose = ((row["height"] <= 1e-6) & (row["pitch"] < 0.3 * DEGREE)).astype(float)
        columns = {
            "ground_speed": np.abs(noisy(row["speed"], 0.05)),
            "calibrated_airspeed": np.abs(noisy(row["speed"], 0.5)),
            "altitude": noisy(FIELD + RECORDER + row["height"], 0.05),
            "height_above_ground": noisy(RECORDER + row["height"], 0.03),
            "vertical_speed": noisy(row["climb"], 0.1),
            "pitch": noisy(row["pitch"], 0.03 * DEGREE),
            "pitch_rate": noisy(row["pitch_rate"], 0.1 * DEGREE),
            "true_heading_deg": noisy(row["heading"], 0.05) % 360.0,
            "weight_on_wheels_nose": nose,
            "weight_on_wheels_left": on_wheels,
            "weight_on_wheels_right": on_wheels,
            "throttle_left": row["throttle"],
            "throttle_right": row["throttle"],
            "engine_speed_left": noisy(row["spool"], 0.001),
            "engine_speed_right": noisy(row["spool"], 0.001),
            "stick_pitch": noisy(row["stick"], 0.01),
            "gear_position": row["gear_at"],
            "flap_position": row["flap_at"],
            "brake_left": row["brake"],
            "brake_right": row["brake"],
        }
        time = moments + starts_at
        breaks = np.empty(0, dtype=np.intp)
        if pause_at is not None:
            breaks = np.array([int(np.searchsorted(moments, pause_at))], dtype=np.intp)
            time = time + np.where(np.arange(len(time)) >= breaks[0], 400.0, 0.0)
        kept = {name: values for name, values in columns.items() if not name.startswith(without or ("\0",))}
        return Recording("made", time, kept, breaks)


def _follow(command: np.ndarray, rate: float) -> np.ndarray:
    """Return what follows a command at no more than a rate, per s."""
    result = np.empty_like(command)
    here = float(command[0])
    for index, wanted in enumerate(command.tolist()):
        here += min(max(wanted - here, -rate * STEP), rate * STEP)
        result[index] = here
    return result


def parked() -> Maker:
    """Return an aircraft parked with its engines off."""
    return Maker(engines_on=0.0).stand(10.0)


def departure(maker: Maker, *, flicker: bool = False) -> Maker:
    """Start, taxi, hold, line up, run up, take off and clean up."""
    maker.start().stand(20.0).taxi(40.0, turn=60.0).stand(12.0).line_up_and_run_up()
    return maker.roll(75.0).rotate_and_lift(flicker=flicker).clean_up()


def full_stop(maker: Maker, *, bounce: bool = False) -> Maker:
    """Approach, land, roll out, taxi in, stop and shut down."""
    maker.approach_to(4.0).land(bounce=bounce).roll_out(10.0).taxi_clear().shut_down()
    return maker.stand(10.0)
