"""The departures flown: clean ones on other days, faulty ones, and those kept as test data."""

from __future__ import annotations

from confirming import CONFIRMING_CLEAN, CONFIRMING_FAULTS
from faults import FAULTS
from fresh import FRESH_CLEAN, FRESH_FAULTS
from further_faults import FURTHER_FAULTS
from kept import KEPT
from orders import Day, Departure, Technique

CLEAN = (
    Departure("calm", "Calm, as briefed.", Day(turbulence_fps=0.0)),
    Departure(
        "headwind", "20 kt on the nose.", Day(heading_deg=115, headwind_kt=20, turbulence_fps=10), seed=2
    ),
    Departure("tailwind", "8 kt from behind.", Day(heading_deg=300, headwind_kt=-8), seed=3),
    Departure("crosswind", "15 kt from the right.", Day(heading_deg=200, crosswind_from_left_kt=-15), seed=4),
    Departure(
        "crosswind_left",
        "10 kt ahead, 12 from the left, by north.",
        Day(heading_deg=358, headwind_kt=10, crosswind_from_left_kt=12, turbulence_fps=8),
        seed=5,
    ),
    Departure("hot_high", "35 degrees at 4,500 ft.", Day(elevation_ft=4500, temperature_c=35), seed=6),
    Departure("cold_low", "-15 degrees at sea level.", Day(elevation_ft=20, temperature_c=-15, qnh_hpa=1032)),
    Departure("light", "Little fuel.", fuel_lb=(700.0, 800.0), seed=7),
    Departure("rolling", "Rolling takeoff, no run-up.", technique=Technique(stops_on_runway=False), seed=8),
    Departure("on_runway", "Recorded from the line-up on.", technique=Technique(taxies=False), seed=9),
    Departure(
        "fast_run",
        "-5 degrees, half fuel, 25 kt ahead.",
        Day(temperature_c=-5, headwind_kt=25),
        fuel_lb=(1100.0, 1200.0),
    ),
    Departure(
        "long_hold",
        "Three minutes at the hold, low pressure.",
        Day(qnh_hpa=988),
        Technique(hold_s=180.0),
        seed=10,
    ),
    Departure("slow_logger", "Logged at 10 Hz.", seed=11, rate_hz=10.0),
    Departure("gusty", "Gusty headwind.", Day(headwind_kt=12, turbulence_fps=20), seed=12),
    Departure("long_run_up", "Long run-up.", technique=Technique(run_up_s=25.0), seed=13),
)

FLEET = (
    *CLEAN,
    *FAULTS,
    *FURTHER_FAULTS,
    *KEPT,
    *FRESH_FAULTS,
    *FRESH_CLEAN,
    *CONFIRMING_FAULTS,
    *CONFIRMING_CLEAN,
)
