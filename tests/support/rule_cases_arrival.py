"""Scenes for rules in the air, on the approach and after touchdown: see ``rule_cases``."""

from __future__ import annotations

from rule_scene_builders import behind, both, cross, one, speeds, turning
from rule_scenes import LEGS, Knots, Scene

FLIGHT = {
    "overstress": one("load_factor_normal", "limit_load_factor_positive + 0.5", 3),
    "overstress_rolling": one(
        "load_factor_normal", "0.95 * limit_load_factor_positive", 2, roll_rate="deg_per_s(-60)"
    ),
    "overstress_uneven": Scene(
        wrong={"load_factor_normal": "0.85 * limit_load_factor_positive"},
        right={"load_factor_normal": 2},
        figures={"side_moment_takeoff": 6000.0},  # N.m, 4,400 ft.lbf
    ),
    "negative_g": one("load_factor_normal", "limit_load_factor_negative - 0.4", 1),
    "angle_of_attack": one("angle_of_attack", "limit_angle_of_attack_clean + deg(1)", "deg(5)"),
    "angle_of_attack_clean": one(
        "angle_of_attack", "limit_angle_of_attack_clean + deg(1)", "deg(8)", flap_position=0
    ),
    "angle_of_attack_takeoff": one(
        "angle_of_attack", "limit_angle_of_attack_takeoff + deg(1)", "deg(8)", flap_position=0.5
    ),
    "angle_of_attack_landing": one(
        "angle_of_attack", "limit_angle_of_attack_landing + deg(1)", "deg(8)", flap_position=1
    ),
    "departure_from_control": one(
        "angle_of_attack", "limit_angle_of_attack_clean + deg(5)", "deg(8)", yaw_rate="deg_per_s(-40)"
    ),
    "spin_entry": one(
        "angle_of_attack", "limit_angle_of_attack_clean + deg(5)", "deg(5)", yaw_rate="deg_per_s(40)"
    ),
    "maximum_speed": speeds("limit_maximum_cas + kt(12)", "kt(300)"),
    "maximum_mach": one("mach_number", "limit_maximum_mach + 0.03", 0.5),
    "fuel_low": one("fuel_mass", "0.8 * planned_landing_fuel", "1.5 * planned_landing_fuel"),
    "fuel_uneven": Scene(
        also={("fuel_in", "left_wing"): "lb(900)"},
        wrong={("fuel_in", "right_wing"): "lb(400)"},
        right={("fuel_in", "right_wing"): "lb(880)"},
    ),
    "fuel_order": Scene(
        also={
            ("fuel_in", "left_wing"): "lb(1000)",
            ("fuel_in", "right_wing"): "lb(1000)",
            ("fuel_in", "aft"): "lb(1700)",
        },
        wrong={("fuel_in", "forward"): Knots((10, "lb(3300)"), (40, "lb(2600)"))},
        right={("fuel_in", "forward"): "lb(3300)"},
        events=(("brake_release", 1),),
    ),
    "feeder_low": Scene(
        also={("fuel_in", "forward"): "lb(1500)", ("fuel_in", "aft"): "lb(900)"},
        wrong={("fuel_in", "centre"): "lb(1500)"},
        right={("fuel_in", "centre"): "lb(2650)"},
    ),
    "low_manoeuvre": one("height_above_ground", "ft(600)", "ft(6000)"),
    "sink_below_2000_ft": one(
        "vertical_speed", "ft_per_min(-3500)", "ft_per_min(-900)", height_above_ground="ft(1500)"
    ),
    "sink_below_1000_ft": one(
        "vertical_speed", "ft_per_min(-2500)", "ft_per_min(-700)", height_above_ground="ft(800)"
    ),
    "sink_below_500_ft": one(
        "vertical_speed", "ft_per_min(-2000)", "ft_per_min(-500)", height_above_ground="ft(300)"
    ),
    "speedbrake_forgotten": Scene(
        also={"speedbrake_position": 1}, wrong=both("throttle", 0.9, 0.9), right=both("throttle", 0.3, 0.3)
    ),
    "chute_in_flight": one("drag_chute", "deployed", "stowed", height_above_ground="ft(1000)"),
}

DOWN = Knots((0, 0), (5, 1))
FINAL = Knots((0, "ft(1500)"), (100, "ft(100)"))
GATES = (("gate_500_ft", 40), ("gate_300_ft", 50))
SETTLED = {
    "gear_position": 1,
    "flap_position": 1,
    "angle_of_attack": "technique_on_speed_angle_of_attack",
    "vertical_speed": "ft_per_min(-750)",
    "bank": 0,
    **both("throttle", 0.4, 0.4),
}
APPROACH = {
    "gear_overspeed_arrival": speeds(
        "limit_gear_speed + kt(5)", "limit_gear_speed - kt(20)", gear_position=0.5
    ),
    "flap_overspeed_takeoff": speeds(
        "limit_flap_speed_takeoff + kt(5)", "limit_flap_speed_takeoff - kt(20)", flap_position=0.5
    ),
    "flap_overspeed_landing": speeds(
        "limit_flap_speed_landing + kt(5)", "limit_flap_speed_landing - kt(20)", flap_position=1
    ),
    "gear_down_late": one("gear_position", 0, DOWN, height_above_ground=FINAL),
    "flap_down_late": one("flap_position", 0, DOWN, height_above_ground=FINAL),
    "unstable_500_ft": Scene(also=SETTLED, wrong={"vertical_speed": "ft_per_min(-1500)"}, events=GATES),
    "unstable_300_ft": Scene(also=SETTLED, wrong={"bank": "deg(20)"}, events=GATES),
    "approach_slow": one(
        "angle_of_attack",
        "technique_on_speed_angle_of_attack + deg(1.5)",
        "technique_on_speed_angle_of_attack",
        height_above_ground="ft(300)",
    ),
    "approach_fast": one(
        "angle_of_attack",
        "technique_on_speed_angle_of_attack - deg(3)",
        "technique_on_speed_angle_of_attack",
        height_above_ground="ft(300)",
    ),
    "approach_sink": one(
        "vertical_speed", "ft_per_min(-1500)", "ft_per_min(-700)", height_above_ground="ft(300)"
    ),
    "approach_bank": one("bank", "deg(28)", "deg(-3)", height_above_ground="ft(200)"),
    "approach_idle": Scene(
        also={"height_above_ground": "ft(200)"},
        wrong=both("throttle", 0, 0),
        right=both("throttle", 0.3, 0.3),
    ),
    "approach_steep": one("vertical_speed", -6.5, -3.6, height_above_ground="ft(300)", ground_speed=75),
    "approach_shallow": one("vertical_speed", -0.8, -3.6, height_above_ground="ft(300)", ground_speed=75),
    "glide_path_deviation": one("glide_path_deviation", -1.7, 0.2, height_above_ground="ft(600)"),
    "localizer_deviation": one("localizer_deviation", 1.7, -0.2, height_above_ground="ft(600)"),
    "threshold_speed_low": speeds("planned_approach_cas - kt(8)", "planned_approach_cas"),
    "threshold_speed_high": speeds("planned_approach_cas + kt(17)", "planned_approach_cas"),
    "threshold_height": one(
        "height_above_ground", "ft(15)", "ft(50)", runway_position=Knots((0, -500), (100, 500))
    ),
    "landing_mass": one("gross_mass", "1.05 * limit_landing_mass", "0.9 * limit_landing_mass"),
    "armed_on_approach": one("master_arm", "armed", "safe"),
    "go_around_speedbrake": one("speedbrake_position", 1, 0),
    "go_around_sink": one("vertical_speed", -3, 5, [("go_around_begins", 0.05)]),
    "go_around_gear_early": one("vertical_speed", -1, 8),
}

HOP = Knots((70, 1), (70.1, 0), (70.9, 0), (71, 1))
LANDING = {
    "hard_landing": one("vertical_speed", "ft_per_s(-15)", "ft_per_s(-3)"),
    "hard_landing_load": one("load_factor_normal", Knots((70, 1), (70.2, 2.8), (70.6, 2.8), (71, 1)), 1.3),
    "long_landing": one("runway_position", "ft(2500)", "ft(1100)"),
    "short_landing": one("runway_position", "ft(100)", "ft(1000)"),
    "long_flare": Scene(wrong_events=(("gate_50_ft", 57),), right_events=(("gate_50_ft", 65),)),
    "touchdown_fast": speeds("planned_touchdown_cas + kt(15)", "planned_touchdown_cas"),
    "touchdown_slow": speeds("planned_touchdown_cas - kt(11)", "planned_touchdown_cas"),
    "touchdown_bank": one("bank", "deg(-9)", "deg(1)"),
    "touchdown_drift": one("track_deg", 351, 1, true_heading_deg=0, ground_speed=70),
    "bounce": Scene(wrong=dict.fromkeys(LEGS, HOP), right=dict.fromkeys(LEGS, 1)),
    "tail_strike_landing": one(
        "pitch",
        "limit_tail_strike_attitude_struts_compressed - deg(0.2)",
        "deg(7)",
        height_above_ground="ft(2)",
    ),
    "landing_crosswind": cross("limit_crosswind_landing"),
    "landing_tailwind": behind("limit_tailwind"),
    "landing_tyre_speed": one("ground_speed", "limit_tyre_speed + kt(2)", "limit_tyre_speed - kt(20)"),
    "brakes_at_touchdown": Scene(wrong=both("brake", 0.3, 0), right=both("brake", 0, 0)),
    "brakes_early": Scene(
        also={"weight_on_wheels_nose": 0}, wrong=both("brake", 0, 0.4), right=both("brake", 0, 0)
    ),
    "nosewheel_early": speeds("technique_aerobrake_until_cas + kt(30)", "technique_aerobrake_until_cas"),
    "chute_fast": speeds("limit_chute_cas + kt(5)", "limit_chute_cas - kt(40)"),
    "chute_crosswind": cross("limit_chute_crosswind"),
    "chute_late": Scene(wrong_events=(("touchdown", 62),), right_events=(("touchdown", 68),)),
    "landing_off_centre": one("side_offset", "ft(30)", "ft(-3)"),
    "landing_swerve": one("true_heading_deg", turning(5), turning(-0.1), ground_speed="kt(80)"),
    "runway_left_fast": one(
        "runway_position",
        "planned_runway_length - ft(800)",
        "planned_runway_length - ft(4000)",
        ground_speed="kt(60)",
    ),
    "landing_brake_energy": one("ground_speed", 90, 35),
    "shutdown_early": Scene(wrong_events=(("touchdown", 20),), right_events=(("touchdown", -80),)),
}
