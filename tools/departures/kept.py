"""Departures kept as test data: other days, loads and faults than those of the first recordings."""

from __future__ import annotations

from orders import Day, Departure, Technique

KEPT = (
    Departure(
        "warm_crosswind",
        "Clean: 30 degrees at 2,200 ft, 6 kt ahead and 11 from the right, runway by north.",
        Day(heading_deg=3.0, elevation_ft=2200, temperature_c=30, headwind_kt=6, crosswind_from_left_kt=-11),
        Technique(top_agl=900.0, level_s=4.0, turn_agl=500.0),
        seed=101,
        rate_hz=12.0,
    ),
    Departure(
        "rolling_cold",
        "Clean: -8 degrees at sea level, half fuel, rolling takeoff without a stop on the runway.",
        Day(heading_deg=268.0, elevation_ft=40, temperature_c=-8, headwind_kt=14, qnh_hpa=1029),
        Technique(stops_on_runway=False, top_agl=900.0, level_s=4.0),
        fuel_lb=(1150.0, 1250.0),
        seed=102,
        rate_hz=12.0,
    ),
    Departure(
        "military_power",
        "Clean: light, no burner, more turbulence.",
        Day(heading_deg=140.0, elevation_ft=600, temperature_c=12, headwind_kt=3, turbulence_fps=10),
        Technique(takeoff_throttle=0.5, climb_attitude=9.0, hold_s=5.0, top_agl=1100.0, level_s=3.0),
        fuel_lb=(900.0, 950.0),
        seed=103,
        rate_hz=12.0,
    ),
    Departure(
        "hasty",
        "No run-up, canted, brakes rubbing, burner late on the right, nose slow, gear late, turn low.",
        Day(heading_deg=75.0, elevation_ft=900, temperature_c=24, crosswind_from_left_kt=5),
        Technique(
            run_up_s=0.5, line_up_off_deg=8.0, held_brake=0.05, burner_delay_s=(1.0, 5.0), pitch_rate=1.5,
            gear_agl=420.0, turn_agl=120.0, turn_bank=38.0, top_agl=1200.0, level_s=3.0,
        ),
        flaws=(
            "no run-up", "lined up 8 degrees off", "brakes dragging", "right burner 4 s late",
            "slow rotation", "gear selected up at 420 ft", "turn at 120 ft",
        ),
        rules=(
            "run_up_missing", "run_up_low_left", "run_up_low_right", "canted_line_up", "brakes_dragging",
            "burner_split", "rotation_slow", "gear_late", "low_turn",
        ),
        may=("takeoff_swerve", "gear_overspeed", "long_ground_run"),
        seed=104,
        rate_hz=12.0,
    ),
    Departure(
        "no_flap_stop",
        "No flap, turned at 21 kt, left engine failed at 112 kt, levers and brakes late.",
        Day(heading_deg=310.0, elevation_ft=1800, temperature_c=18, headwind_kt=8),
        Technique(
            turn_kt=21.0, taxi_kt=21.0, flap=0.0, fail_kt=112.0, reject_on_failure=True, react_s=2.2,
            brakes_after_s=4.0,
        ),
        flaws=("no flap", "too fast in the turns", "engine failure", "levers late", "brakes late"),
        rules=("takeoff_flap", "taxi_turn_fast", "fast_abort", "abort_levers_late", "abort_brakes_late"),
        may=("taxi_weave", "takeoff_swerve", "abort_brakes_light"),
        seed=105,
        rate_hz=10.0,
    ),
    Departure(
        "early_and_high",
        "Taxied at 34 kt, stick back at 108 kt, nose to 16 degrees, gear too early, flaps too early.",
        Day(heading_deg=222.0, elevation_ft=300, temperature_c=8, headwind_kt=-4, turbulence_fps=4),
        Technique(
            taxi_kt=34.0, rotation_kt=108.0, over_attitude=16.0, over_s=5.0, gear_agl=4.0, flap_kt=182.0,
            top_agl=1000.0, level_s=3.0,
        ),
        flaws=("taxi too fast", "early rotation", "over-rotation", "gear too early", "flaps too early"),
        rules=("taxi_fast", "early_rotation", "over_rotation", "gear_early", "flaps_early"),
        may=("lift_off_slow", "tail_strike_takeoff", "height_loss"),
        fuel_lb=(1500.0, 1600.0),
        seed=106,
        rate_hz=12.0,
    ),
)  # fmt: skip
