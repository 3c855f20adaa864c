"""A long flight of made columns, and many rules, to measure speed on."""

from __future__ import annotations

import numpy as np
from rule_flights import made_flight, made_recording

from sortiewright.recording import Flight, Recording

RATE = 60.0  # Hz


def long_flight(hours: float = 1.0) -> tuple[Recording, Flight]:
    """Return a flight at 60 Hz with 40 channels that wander about, its phases and a few events."""
    rows = round(hours * 3600 * RATE)
    time = np.arange(rows) / RATE
    random = np.random.default_rng(4)

    def wave(low: float, high: float, period: float) -> np.ndarray:
        middle, half = (low + high) / 2, (high - low) / 2
        return middle + half * np.sin(2 * np.pi * time / period) + random.normal(0, 0.01 * half, rows)

    numbers = {
        "altitude": wave(0, 6000, 900),
        "height_above_ground": wave(0, 6000, 900),
        "ground_speed": wave(100, 250, 600),
        "calibrated_airspeed": wave(100, 250, 500),
        "true_airspeed": wave(110, 260, 500),
        "mach_number": wave(0.3, 0.9, 500),
        "vertical_speed": wave(-30, 30, 300),
        "pitch": wave(-0.2, 0.3, 120),
        "bank": wave(-1, 1, 90),
        "true_heading_deg": wave(0, 360, 800) % 360,
        "track_deg": wave(0, 360, 800) % 360,
        "roll_rate": wave(-1, 1, 20),
        "pitch_rate": wave(-0.2, 0.2, 20),
        "load_factor_normal": wave(-1, 6, 60),
        "angle_of_attack": wave(-0.02, 0.3, 60),
        "sideslip": wave(-0.05, 0.05, 30),
        "gross_mass": np.linspace(18000, 14000, rows),
        "fuel_mass": np.linspace(5000, 1000, rows),
        "latitude_deg": wave(56, 57, 3000),
        "longitude_deg": wave(-3, -2, 3000),
        "wind_speed": wave(0, 20, 2000),
        "wind_from_deg": wave(200, 300, 2000),
        "pressure_altitude": wave(0, 6000, 900),
        "outside_air_temperature": wave(250, 288, 900),
    }
    shares = ("throttle", "engine_speed", "exhaust_temperature", "fuel_flow")
    sides = {f"{name}_{side}": wave(0, 1, 100) for name in shares for side in ("left", "right")}
    positions = {
        name: np.clip(wave(-1, 2, 700), 0, 1)
        for name in ("gear_position", "flap_position", "speedbrake_position", "brake_left", "brake_right")
    }
    wheels = {
        f"weight_on_wheels_{leg}": (time % 1800 < 300).astype(np.float64) for leg in ("nose", "left", "right")
    }
    recording = made_recording(numbers | sides | positions | wheels, time=time)
    names = (
        "parked",
        "taxi",
        "takeoff_roll",
        "climb",
        "cruise",
        "manoeuvre",
        "descent",
        "approach",
        "landing_roll",
    )
    starts = np.array([0, 0.05, 0.13, 0.14, 0.3, 0.4, 0.8, 0.9, 0.98]) * time[-1]
    events = [("brake_release", 0.13), ("lift_off", 0.139), ("gate_500_ft", 0.95), ("touchdown", 0.98)]
    return recording, made_flight(
        recording,
        list(zip(names, starts.tolist(), strict=True)),
        [(name, share * float(time[-1])) for name, share in events],
    )


_FORMS: tuple[tuple[str, ...], ...] = (
    ("during: taxi", "value: ground_speed", "above: {low: kt(25+K), high: kt(45+K)}", "lasts: 2 s"),
    (
        "when: airborne",
        "value: load_factor_normal",
        "above: {medium: limit_load_factor_positive + 0.1*K}",
        "lasts: 0.15 s",
    ),
    ("after: lift_off", "window: 60 s", "value: abs(bank)", "above: {low: deg(20+K), high: deg(45+K)}"),
    ("at: lift_off", "value: airspeed - kt(150+K)", "above: {low: kt(10)}", "below: {low: kt(-5)}"),
    (
        "during: [approach, landing_roll]",
        "wrong_if: gear_position < 1 and height_above_ground < ft(300+K)",
        "lasts: 1 s",
    ),
    (
        "when: gear_position > 0.01*K",
        "value: airspeed",
        "above: {medium: limit_gear_speed, high: limit_gear_speed + kt(15)}",
        "lasts: 1 s",
    ),
    (
        "during: approach",
        "wrong_if: count(gear_position < 1, abs(bank) > deg(10+K), rate(pitch) > deg_per_s(5)) >= 2",
    ),
    ("during: descent", "value: -vertical_speed", "above: {low: ft_per_min(3000+K)}", "lasts: 2 s"),
    ("wrong_if: held(throttle_left > 0.9, s(10+K)) and engine_speed_left < 0.5",),
)
"""Rules of the usual forms, a third of them for the whole flight; K makes each one different."""


def many_rules(count: int = 60) -> str:
    """Return a file of so many different rules."""
    rules = ["rules:"]
    for number in range(count):
        rules += [f"  rule_{number}:", f"    title: Rule {number}", "    advice: Do better."]
        rules += [f"    {line.replace('K', str(number))}" for line in _FORMS[number % len(_FORMS)]]
    return "\n".join(rules) + "\n"
