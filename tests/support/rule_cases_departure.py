"""Scenes for rules from the start to the climb. Limits a little on either side: see ``rule_cases``."""

from __future__ import annotations

from rule_scene_builders import behind, both, cross, jump, one, speeds, turning
from rule_scenes import Knots, Scene

GROUND = {
    "armed_on_ground": one("master_arm", "armed", "safe"),
    "brakes_off_standing": one(
        "parking_brake_set",
        0,
        1,
        brake_left=0,
        brake_right=0,
        **both("engine_speed", 0.6, 0.6),
        engine_speed=0.5,
    ),
    "taxi_fast": one("ground_speed", "kt(35)", "kt(15)"),
    "taxi_turn_fast": one("ground_speed", "kt(18)", "kt(8)", true_heading_deg=turning(8)),
    "taxi_in_fast": one("ground_speed", "kt(38)", "kt(15)"),
    "taxi_in_turn_fast": one("ground_speed", "kt(22)", "kt(8)", true_heading_deg=turning(-8)),
    "taxi_power": Scene(wrong=both("engine_speed", 0.9, 0.6), right=both("engine_speed", 0.66, 0.66)),
    "canopy_open_fast": one(
        "ground_speed",
        "limit_canopy_open_ground_speed + kt(5)",
        "limit_canopy_open_ground_speed - kt(10)",
        canopy_position=1,
    ),
    "ramp_mass": one("gross_mass", "limit_ramp_mass + lb(300)", "limit_ramp_mass - lb(300)"),
    "takeoff_mass": one("gross_mass", "limit_takeoff_mass + lb(300)", "limit_takeoff_mass - lb(300)"),
    "takeoff_balance": one(
        "centre_of_gravity",
        "planned_forward_limit - 0.01",
        "0.5 * planned_forward_limit + 0.5 * planned_aft_limit",
    ),
    "takeoff_fuel": one("fuel_mass", "planned_takeoff_fuel - lb(900)", "planned_takeoff_fuel - lb(50)"),
    "burner_on_brakes": Scene(wrong=both("afterburner_stage", 0, 1), right=both("afterburner_stage", 0, 0)),
    "takeoff_flap": one("flap_position", 0.0, 0.55),
    "takeoff_trim": one("pitch_trim", "planned_trim + 1.5", "planned_trim - 0.2"),
    "takeoff_canopy_open": one("canopy_position", 0.5, 0),
    "takeoff_canopy": one("canopy_position", 0.5, 0),
    "takeoff_canopy_unlocked": one("canopy_locked", 0, 1),
    "takeoff_hook": one("hook_position", 1, 0),
    "takeoff_speedbrake": one("speedbrake_position", 1, 0),
    "takeoff_chute": one("drag_chute", "deployed", "stowed"),
    "takeoff_anti_skid": one("anti_skid_on", 0, 1),
    "takeoff_warning": one("master_caution", 1, 0, master_warning=0),
    "takeoff_crosswind": cross("limit_crosswind_takeoff"),
    "takeoff_tailwind": behind("limit_tailwind"),
}


def run_up(side, speed="planned_run_up_rpm", *, power="run_up"):
    """Return the scenes of one engine's run-up readings; ``side`` is empty for a single engine."""
    rest = {f"engine_speed{side}": speed}
    value, off = f"planned_{power}", f"tolerance_{power}"
    temperature, flow, oil = f"exhaust_temperature{side}", f"fuel_flow{side}", f"oil_pressure{side}"
    return {
        f"run_up_speed{side}": one(
            f"engine_speed{side}", f"{value}_rpm - 2.5 * {off}_rpm", f"{value}_rpm - 0.5 * {off}_rpm"
        ),
        f"run_up_temperature{side}": one(
            temperature,
            f"{value}_exhaust_temperature + 2.5 * {off}_exhaust_temperature",
            f"{value}_exhaust_temperature + 0.5 * {off}_exhaust_temperature",
            **rest,
        ),
        f"run_up_fuel_flow{side}": one(
            flow, f"(1 - 2.5 * {off}_fuel_flow) * {value}_fuel_flow", f"{value}_fuel_flow", **rest
        ),
        f"run_up_oil{side}": one(
            oil,
            f"reading_{power}_oil_pressure_least - psi(4)",
            f"reading_{power}_oil_pressure_least + psi(3)",
            **rest,
        ),
    }


RUN_UP = {
    **run_up("_left"),
    **run_up("_right"),
    "run_up_nozzle_left": one(
        "nozzle_position_left",
        "planned_run_up_nozzle + 0.2",
        "planned_run_up_nozzle",
        engine_speed_left="planned_run_up_rpm",
    ),
    "run_up_nozzle_right": one(
        "nozzle_position_right",
        "planned_run_up_nozzle + 0.2",
        "planned_run_up_nozzle",
        engine_speed_right="planned_run_up_rpm",
    ),
    "run_up_speed_split": Scene(
        wrong=both("engine_speed", 0.87, 0.83), right=both("engine_speed", 0.85, 0.845)
    ),
    "run_up_temperature_split": Scene(
        also=both("engine_speed", 0.85, 0.85),
        wrong=both("exhaust_temperature", "degC(480)", "degC(430)"),
        right=both("exhaust_temperature", "degC(450)", "degC(445)"),
    ),
    "run_up_short": Scene(
        wrong=both("engine_speed", Knots((67, 0.65), (69, 0.85)), Knots((67, 0.65), (69, 0.85))),
        right=both("engine_speed", 0.85, 0.85),
    ),
    "hot_start_left": one("exhaust_temperature_left", "degC(680)", "degC(560)"),
    "hot_start_right": one("exhaust_temperature_right", "degC(680)", "degC(560)"),
    "slow_start_left": one("engine_speed_left", 0.4, Knots((0, 0.05), (3, 0.65))),
    "slow_start_right": one("engine_speed_right", 0.4, Knots((0, 0.05), (3, 0.65))),
    "engine_overspeed_left": one("engine_speed_left", 1.03, 0.99),
    "engine_overspeed_right": one("engine_speed_right", 1.03, 0.99),
    "oil_low_left": one(
        "oil_pressure_left",
        "0.8 * reading_idle_oil_pressure_least",
        "2 * reading_idle_oil_pressure_least",
        engine_speed_left=0.8,
    ),
    "oil_low_right": one(
        "oil_pressure_right",
        "0.8 * reading_idle_oil_pressure_least",
        "2 * reading_idle_oil_pressure_least",
        engine_speed_right=0.8,
    ),
    "takeoff_hot_left": one(
        "exhaust_temperature_left",
        "reading_military_exhaust_temperature + delta_degC(50)",
        "reading_military_exhaust_temperature",
    ),
    "takeoff_hot_right": one(
        "exhaust_temperature_right",
        "reading_military_exhaust_temperature + delta_degC(50)",
        "reading_military_exhaust_temperature",
    ),
}

RELEASED = (("brake_release", 0.05),)
TAKEOFF = {
    "line_speed_low": one(
        "calibrated_airspeed",
        "planned_line_speed_minimum - kt(4)",
        "planned_line_speed",
        RELEASED,
        ground_speed=60,
    ),
    "line_speed_ignored": one(
        "calibrated_airspeed",
        "planned_line_speed_minimum - kt(4)",
        "planned_line_speed",
        [("brake_release", 60)],
        ground_speed=60,
    ),
    "burner_late": Scene(wrong_events=(("brake_release", 60),), right_events=(("brake_release", 69),)),
    "burner_split": Scene(
        also=both("engine_speed", 1, 1),
        wrong=both("afterburner_stage", 1, 0),
        right=both("afterburner_stage", 1, 1),
    ),
    "burner_lost": Scene(
        wrong=both("afterburner_stage", jump(1, 0), 1), right=both("afterburner_stage", 1, 1)
    ),
    "steering_fast": one(
        "ground_speed", "limit_nosewheel_steering_ground_speed + kt(25)", "kt(20)", nosewheel_steering_on=1
    ),
    "stick_early": one("stick_pitch", 0.9, 0.0, calibrated_airspeed="kt(40)"),
    "takeoff_off_centre": one("side_offset", "ft(-30)", "ft(3)"),
    "takeoff_swerve": one("true_heading_deg", turning(-4), turning(0.1), ground_speed="kt(80)"),
    "early_rotation": speeds("planned_rotation_speed - kt(7)", "planned_rotation_speed - kt(1)"),
    "late_rotation": speeds("planned_rotation_speed + kt(7)", "planned_rotation_speed + kt(1)"),
    "rotation_fast": one("pitch_rate", "deg_per_s(9)", "deg_per_s(4)"),
    "rotation_slow": Scene(
        events=(("rotation_begins", 60), ("nosewheel_off", 60)),
        wrong={"pitch": Knots((60, 0), (70, "deg(9)"))},
        right={"pitch": Knots((60, 0), (63, "deg(9)"), (70, "deg(30)"))},
    ),
    "power_eased": Scene(
        events=(("power_set", 10),),
        wrong=both("engine_speed", Knots((60, 1), (62, 0.8), (65, 1)), Knots((60, 1), (62, 0.8), (65, 1))),
        right=both("engine_speed", Knots((60, 1), (62, 0.5)), 1),
    ),
    "nose_let_down": one(
        "pitch", Knots((60, 0), (63, "deg(6)"), (65, "deg(2)")), Knots((60, 0), (63, "deg(6)"))
    ),
    "tail_strike_takeoff": one("pitch", "limit_tail_strike_attitude_struts_compressed - deg(0.5)", "deg(8)"),
    "slow_lift_off": speeds("planned_lift_off_speed - kt(9)", "planned_lift_off_speed"),
    "fast_lift_off": speeds("planned_lift_off_speed + kt(17)", "planned_lift_off_speed"),
    "long_ground_run": one(
        "ground_speed",
        "1.25 * planned_ground_run / s(30)",
        "planned_ground_run / s(30)",
        [("brake_release", 40)],
    ),
    "takeoff_tyre_speed": one("ground_speed", "limit_tyre_speed + kt(2)", "limit_tyre_speed - kt(20)"),
    "fast_abort": speeds("kt(120)", "kt(50)"),
    "abort_levers_late": Scene(
        wrong_events=(("engine_failed", 66),), right_events=(("engine_failed", 69.2),)
    ),
    "abort_brakes_late": Scene(wrong_events=(("levers_closed", 65),), right_events=(("levers_closed", 69),)),
    "abort_chute_unused": one(
        "drag_chute",
        "stowed",
        "deployed",
        [("levers_closed", 50)],
        calibrated_airspeed=Knots((50, "kt(140)"), (70, 0)),
    ),
    "abort_brake_energy": one("ground_speed", 90, 35),
    "abort_runway_left": one(
        "runway_position", "planned_runway_length - ft(700)", "planned_runway_length - ft(3000)"
    ),
    "failure_continued": one(
        "calibrated_airspeed",
        "planned_decision_speed - kt(10)",
        "planned_decision_speed + kt(5)",
        [("engine_failed", 60)],
    ),
}

DEPARTURE = {
    "over_rotation": one(
        "pitch",
        "technique_takeoff_attitude + deg(7)",
        "technique_takeoff_attitude",
        height_above_ground="ft(100)",
    ),
    "height_loss": one(
        "altitude",
        Knots((10, 100), (30, 130), (40, 118)),
        Knots((10, 100), (90, 300)),
        [("lift_off", 0.05)],
        height_above_ground="ft(400)",
    ),
    "gear_early": one("vertical_speed", "ft_per_min(50)", "ft_per_min(900)", [("lift_off", 66)]),
    "gear_late": Scene(wrong_events=(("lift_off", 25),), right_events=(("lift_off", 66),)),
    "gear_left_down": one("gear_position", 1, 0),
    "gear_overspeed_departure": speeds(
        "limit_gear_speed + kt(5)", "limit_gear_speed - kt(20)", gear_position=0.5
    ),
    "flap_overspeed_departure": speeds(
        "limit_flap_speed_takeoff + kt(5)", "limit_flap_speed_takeoff - kt(20)", flap_position=0.5
    ),
    "flaps_early": speeds("planned_flap_up_cas - kt(12)", "planned_flap_up_cas"),
    "flaps_late": speeds("planned_flap_up_cas + kt(20)", "planned_flap_up_cas"),
    "low_turn": one("bank", "deg(-35)", "deg(5)", height_above_ground="ft(150)"),
    "burner_kept": speeds("planned_power_reduction_cas + kt(30)", "planned_power_reduction_cas"),
    "climb_fast": speeds("planned_climb_cas + kt(35)", "planned_climb_cas"),
    "engine_out_slow": Scene(
        also={"height_above_ground": "ft(500)"},
        wrong={
            "calibrated_airspeed": Knots(
                (65, "planned_lift_off_speed + kt(2)"), (72, "planned_lift_off_speed - kt(8)")
            )
        },
        right={"calibrated_airspeed": "planned_lift_off_speed + kt(5)"},
        events=(("lift_off", 60),),
    ),
    "engine_out_sideslip": one("sideslip", "deg(-9)", "deg(2)"),
    "engine_out_bank": one("bank", "deg(28)", "deg(4)", height_above_ground="ft(200)"),
}
