"""For each rule of the shipped packs and of the sampled one, a scene that breaks it and one that does not.

Numbers come from the rules' own words: a little on either side of the limit that they name. What a limit is
worth is checked elsewhere; here a rule has to look at the right channel, phase and event.
"""

from __future__ import annotations

from rule_cases_arrival import APPROACH, FLIGHT, LANDING
from rule_cases_departure import DEPARTURE, GROUND, RUN_UP, TAKEOFF, run_up
from rule_scene_builders import both, jump, one, speeds, turning
from rule_scenes import Knots, Scene

SCENES = GROUND | RUN_UP | TAKEOFF | DEPARTURE | FLIGHT | APPROACH | LANDING

WHINCHAT = {
    **run_up("", "planned_takeoff_power_rpm", power="takeoff_power"),
    "hot_start": one("exhaust_temperature", "degC(730)", "degC(600)"),
    "run_up_short": one("engine_speed", Knots((67, 0.5), (69, 1)), 1),
    "oil_low": one(
        "oil_pressure",
        "0.8 * reading_idle_oil_pressure_least",
        "2 * reading_idle_oil_pressure_least",
        engine_speed=0.8,
    ),
    "approach_slow": speeds(
        "planned_approach_cas - kt(8)", "planned_approach_cas", height_above_ground="ft(300)"
    ),
    "approach_fast": speeds(
        "planned_approach_cas + kt(15)", "planned_approach_cas", height_above_ground="ft(300)"
    ),
}

SAMPLED = {
    "taxi_weave": one("true_heading_deg", turning(12), turning(3), ground_speed="kt(15)"),
    "run_up_low_left": one("engine_speed_left", 0.96, 1, ground_speed=0),
    "run_up_low_right": one("engine_speed_right", 0.96, 1, ground_speed=0),
    "run_up_split": Scene(
        also={"ground_speed": 0}, wrong=both("engine_speed", 0.97, 1), right=both("engine_speed", 1, 1)
    ),
    "run_up_fuel_flow_split": Scene(
        also={"ground_speed": 0}, wrong=both("fuel_flow", 0.17, 0.2), right=both("fuel_flow", 0.2, 0.2)
    ),
    "run_up_missing": Scene(
        also={"ground_speed": 0}, wrong_events=(("brake_release", 68),), right_events=(("brake_release", 70),)
    ),
    "brakes_dragging": Scene(
        events=(("brake_release", 0.05),), wrong=both("brake", 0.2, 0), right=both("brake", 0, 0)
    ),
    "canted_line_up": Scene(
        also={"ground_speed": Knots((70, 0), (80, 60)), "weight_on_wheels_left": 1},
        wrong={"true_heading_deg": Knots((71, 10), (73, 0))},
        right={"true_heading_deg": Knots((71, 2), (73, 0))},
    ),
    "run_up_short": Scene(wrong_events=(("power_set", 69),), right_events=(("power_set", 60),)),
    "early_rotation": speeds("technique_rotation_speed - kt(7)", "technique_rotation_speed - kt(1)"),
    "late_rotation": speeds("technique_rotation_speed + kt(7)", "technique_rotation_speed + kt(1)"),
    "abrupt_stick": one("stick_pitch", jump(0, 1, within=0.3), jump(0, 1, within=1.5)),
    "tail_strike_takeoff": one(
        "pitch", "limit_tail_strike_attitude - deg(0.5)", "deg(8)", height_above_ground=0
    ),
    "lift_off_slow": TAKEOFF["slow_lift_off"],
    "lift_off_fast": TAKEOFF["fast_lift_off"],
    "abort_brakes_light": Scene(
        also={"ground_speed": "kt(100)"}, wrong=both("brake", 0.1, 0.1), right=both("brake", 0.8, 0.8)
    ),
    "gear_overspeed": APPROACH["gear_overspeed_arrival"],
    "flap_overspeed": DEPARTURE["flap_overspeed_departure"],
    "flaps_early": speeds("technique_flap_up_cas - kt(12)", "technique_flap_up_cas"),
    "flaps_late": speeds("technique_flap_up_cas + kt(18)", "technique_flap_up_cas"),
    "burner_kept": speeds("technique_power_reduction_cas + kt(30)", "technique_power_reduction_cas"),
    "climb_fast": speeds("technique_climb_cas + kt(35)", "technique_climb_cas"),
    "failure_continued": Scene(
        wrong={"calibrated_airspeed": "limit_minimum_control_ground_speed - kt(10)"},
        right={"calibrated_airspeed": "limit_minimum_control_ground_speed + kt(10)"},
        events=(("engine_failed", 60),),
    ),
}

BY_PACK = {
    "dotterel": SCENES,
    "whinchat": SCENES | WHINCHAT,
    "t38_sampled": SCENES | SAMPLED,
}
"""By the pack's name."""
