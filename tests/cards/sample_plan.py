"""Hand-made plans of invented aircraft for the card tests: every number is made up, none is computed."""

import math
from dataclasses import replace

import numpy as np

from sortiewright.sortie import (
    BalancePoint,
    Curve,
    Figure,
    Kind,
    LandingCase,
    LoadLine,
    Plan,
    Reason,
    RunwayMark,
    RunwayPicture,
    Section,
    Verdict,
)

FT = 0.3048
KT = 1852 / 3600
LB = 0.45359237
LBF = 4.4482216152605
FTLBF = FT * LBF
DEG = math.pi / 180


def kt(name, title, value, **more):
    return Figure(name, title, None if value is None else value * KT, Kind.CAS, **more)


def ft(name, title, value, kind=Kind.RUNWAY_DISTANCE, **more):
    return Figure(name, title, None if value is None else value * FT, kind, **more)


def lb(name, title, value, **more):
    return Figure(name, title, value * LB, Kind.MASS, **more)


def words(name, title, text):
    return Figure(name, title, None, Kind.NUMBER, text=text)


WEATHER = Section(
    "weather",
    "Weather",
    (
        Figure("temperature", "Temperature", 297.15, Kind.TEMPERATURE),
        Figure("qnh", "QNH", 101300.0, Kind.ALTIMETER),
        ft("pressure_altitude", "Pressure altitude", 420, Kind.HEIGHT),
        ft("density_altitude", "Density altitude", 1560, Kind.HEIGHT),
        Figure("isa_deviation", "ISA deviation", 9.8, Kind.TEMPERATURE),
        words("wind", "Wind", "240° 12 kt, gust 18"),
        Figure("headwind", "Headwind", 10 * KT, Kind.WIND_SPEED),
        Figure("crosswind", "Crosswind", 6 * KT, Kind.WIND_SPEED, text="6 kt from left"),
    ),
)
FIELD = Section(
    "field",
    "Field",
    (
        Figure("runway_heading_magnetic", "Runway heading", 267.0, Kind.COURSE),
        ft("runway_length", "Runway", 8000),
        Figure("slope", "Slope", 0.004, Kind.FRACTION),
        Figure(
            "runway_condition_reading", "Runway condition reading", 23, Kind.NUMBER, text="23, assumed dry"
        ),
        Figure("hydroplaning_speed", "Hydroplaning speed", 132 * KT, Kind.GROUND_SPEED),
    ),
)
LOADING = Section(
    "loading",
    "Loading",
    (
        lb("basic_mass", "Basic mass", 26850),
        lb("zero_fuel_mass", "Zero-fuel mass", 28420),
        lb("fuel_at_ramp", "Fuel at ramp", 10180),
        lb("ramp_mass", "Ramp mass", 38600),
        lb("takeoff_mass", "Takeoff mass", 38000),
        lb("landing_mass", "Landing mass", 31200),
        Figure("centre_of_gravity_takeoff", "CG at takeoff", 0.246, Kind.PERCENT_MAC),
        Figure("centre_of_gravity_zero_fuel", "CG at zero fuel", 0.229, Kind.PERCENT_MAC),
        Figure("forward_limit", "Forward limit", 0.20, Kind.PERCENT_MAC),
        Figure("aft_limit", "Aft limit", 0.285, Kind.PERCENT_MAC),
        Figure("drag_index", "Drag index", 24, Kind.NUMBER),
        Figure("side_moment_takeoff", "Side moment", 2400 * FTLBF, Kind.SIDE_MOMENT, text=""),
        Figure("trim", "Trim", 4.2, Kind.TRIM_UNITS),
    ),
)
RUN_UP = Section(
    "run_up",
    "Run-up",
    (
        Figure("run_up_rpm", "Speed", 0.92, Kind.FRACTION),
        Figure("run_up_exhaust_temperature", "Exhaust temperature", 903.15, Kind.TEMPERATURE),
        Figure("run_up_fuel_flow", "Fuel flow", 4800 * LB / 3600, Kind.MASS_FLOW),
        words("run_up_oil_pressure", "Oil pressure", "30 to 45 psi"),
        Figure("run_up_nozzle", "Nozzle", 0.12, Kind.FRACTION),
    ),
)
TAKEOFF = Section(
    "takeoff",
    "Takeoff",
    (
        words("power", "Power", "maximum"),
        words("flaps", "Flaps", "takeoff, 20°"),
        kt("nosewheel_lift_off_speed", "Nosewheel lift-off", 121),
        kt("rotation_speed", "Rotation", 141),
        kt("lift_off_speed", "Lift-off", 154),
        ft("ground_run", "Ground run", 2868, low=2710 * FT, high=3060 * FT),
        ft("distance_to_screen", "Distance to 50 ft", 4105),
        kt("stall_speed", "Stall", 134),
        kt("line_speed", "Line speed", 96),
        kt("line_speed_minimum", "Line speed, at least", 92),
        ft("line_marker", "Line marker", 1000, text="board 7"),
        Figure("takeoff_attitude", "Takeoff attitude", 10.5 * DEG, Kind.ANGLE),
        Figure("tail_strike_margin", "Tail strike margin", 2.4 * DEG, Kind.ANGLE),
        Figure("tyre_speed_margin", "Tyre speed margin", 41 * KT, Kind.GROUND_SPEED),
        kt("gear_up_cas", "Gear up before", 230),
        kt("flap_up_cas", "Flaps up at", 190),
        kt("power_reduction_cas", "Power reduction at", 300),
        kt("climb_cas", "Climb speed", 350),
        Figure("gear_limit_time", "Lift-off to gear limit", 9.4, Kind.TIME),
        lb("takeoff_fuel", "Takeoff fuel", 620),
    ),
)
ENGINE_FAILURE = Section(
    "engine_failure",
    "Engine failure",
    (
        kt("refusal_speed", "Refusal", 138.6),
        kt("critical_engine_failure_speed", "Critical engine failure speed", 126),
        ft("critical_field_length", "Critical field length", 6755),
        kt("minimum_go_speed", "Minimum go speed", 112),
        kt("decision_speed", "Decision speed", 132),
        words("decision_speed_basis", "Basis", "midway from critical engine failure to refusal speed"),
        words("uncovered_band", "Uncovered", "none"),
        Figure("maximum_braking_speed", "Maximum braking speed", 148 * KT, Kind.GROUND_SPEED),
        Figure("minimum_control_ground_speed", "Minimum control, ground", 98 * KT, Kind.GROUND_SPEED),
        ft("accelerate_stop_at_decision", "Stop from decision", 7280),
        ft("accelerate_go_at_decision", "Go from decision", 6320),
        ft("longest_safe_abort_marker", "Longest safe abort", 2420),
        Figure(
            "brake_energy_at_decision",
            "Brake energy",
            24.6e6 * FTLBF,
            Kind.ENERGY,
            text="24.6 Mft·lbf, caution zone: cool 25 min",
        ),
        Figure("single_engine_gradient_gear_down", "Gradient, gear down", 0.031, Kind.GRADIENT),
        Figure("single_engine_gradient_gear_up", "Gradient, gear up", 0.064, Kind.GRADIENT),
        kt("single_engine_climb_cas", "One-engine climb speed", 185),
        Figure("single_engine_rate_gear_up", "Rate of climb, gear up", 1190 * FT / 60, Kind.CLIMB_RATE),
    ),
)
LANDING = Section(
    "landing",
    "Landing",
    (
        lb("landing_mass", "Landing mass", 31200),
        kt("stall_speed", "Stall", 118),
        kt("approach_cas", "Approach speed", 148),
        Figure("approach_angle_of_attack", "On-speed angle of attack", 8.1 * DEG, Kind.ANGLE),
        kt("touchdown_cas", "Touchdown", 139),
        kt("gust_increment", "Gust increment", 3),
        kt("aerobrake_until_cas", "Aerobrake until", 90),
        kt("chute_maximum_cas", "Drag chute, at most", 185),
        Figure("go_around_gradient_one_engine", "Go-around gradient", 0.071, Kind.GRADIENT),
        words("cable_engagement", "Cables", "west: 128 kt of 150; east: 61 kt of 150"),
        Figure("tyre_speed_margin", "Tyre speed margin", 58 * KT, Kind.GROUND_SPEED),
    ),
)


def case(name, title, rcr, chute, approach, touchdown, air, roll, **more):
    total = air + roll
    return LandingCase(
        name,
        title,
        rcr,
        chute,
        approach * KT,
        touchdown * KT,
        air * FT,
        roll * FT,
        total * FT,
        (8000 - total) * FT,
        **more,
    )


LANDINGS = (
    case("today_chute", "Today, chute", 23, True, 148, 139, 1240, 2890),
    case("today", "Today, no chute", 23, False, 148, 139, 1240, 4480),
    case("wet_chute", "Wet, chute", 12, True, 148, 139, 1240, 3950),
    case("wet", "Wet, no chute", 12, False, 148, 139, 1240, 6340),
    case("icy_chute", "Icy, chute", 5, True, 148, 139, 1240, 5870),
    case("icy", "Icy, no chute", 5, False, 148, 139, 1240, 10950),
    case("no_flap", "No flap", 23, False, 169, 160, 1430, 5720),
)


def mark(name, title, distance, group, cas=None):
    return RunwayMark(name, title, distance * FT, group, None if cas is None else cas * KT)


RUNWAY = RunwayPicture(
    "27",
    8000 * FT,
    0.0,
    1000 * FT,
    100 * FT,
    (("west", 1200 * FT), ("east", 6900 * FT)),
    (
        mark("line_speed", "Line speed", 1000, "takeoff", 96),
        mark("nosewheel_lift_off", "Nosewheel lift-off", 1720, "takeoff", 121),
        mark("rotation", "Rotation", 2460, "takeoff", 141),
        mark("lift_off", "Lift-off", 2968, "takeoff", 154),
        mark("screen", "50 ft", 4205, "takeoff", 168),
        mark("refusal", "Refusal", 2380, "reject", 138.6),
        mark("decision_stop", "Stop from decision", 7380, "reject"),
        mark("continue_lift_off", "One-engine lift-off", 4750, "engine_failure", 154),
        mark("continue_screen", "One-engine 50 ft", 6420, "engine_failure", 160),
        mark("touchdown", "Touchdown", 1240, "landing", 139),
        mark("landing_stop", "Stop, chute", 4130, "landing"),
    ),
)

SPEEDS = np.linspace(40, 154, 58)
STOP = 900 + 0.366 * SPEEDS**2
GO = 12800 - 48.0 * SPEEDS
CURVES = (
    Curve("stop_distance", "Stop", SPEEDS * KT, STOP * FT, Kind.CAS, Kind.RUNWAY_DISTANCE),
    Curve("go_distance", "Go on one engine", SPEEDS * KT, GO * FT, Kind.CAS, Kind.RUNWAY_DISTANCE),
    Curve(
        "speed_over_distance",
        "Speed",
        np.linspace(0, 2868, 30) * FT,
        154 * np.sqrt(np.linspace(0, 1, 30)) * KT,
        Kind.RUNWAY_DISTANCE,
        Kind.CAS,
    ),
)

LOAD = (
    LoadLine("Basic aircraft", 26850 * LB, 8.72),
    LoadLine("Front seat", 210 * LB, 4.10, group="crew"),
    LoadLine("Rear seat", 195 * LB, 5.60, group="crew"),
    LoadLine("Fuselage tanks", 6180 * LB, 8.95, group="fuel"),
    LoadLine("Wing tanks", 2600 * LB, 9.30, group="fuel"),
    LoadLine("Centreline tank", 1400 * LB, 8.60, group="fuel"),
    LoadLine("Centreline tank, empty", 320 * LB, 8.60, group="store"),
    LoadLine("Left pylon, practice pod", 520 * LB, 8.90, -2.4, group="store"),
    LoadLine("Right pylon", 325 * LB, 8.90, 2.4, group="store"),
)


def step(title, mass, chord, inside=True):
    return BalancePoint(title, mass * LB, chord, 2400 * FTLBF, 0.20, 0.285, inside)


BALANCE = (
    step("Ramp", 38600, 0.247),
    step("Takeoff", 38000, 0.246),
    step("Centreline tank empty", 36600, 0.251),
    step("Wing tanks empty", 34000, 0.238),
    step("Landing", 31200, 0.232),
    step("Zero fuel", 28420, 0.229),
)
ENVELOPE = (
    (24000 * LB, 0.20),
    (34000 * LB, 0.20),
    (42000 * LB, 0.222),
    (42000 * LB, 0.272),
    (36000 * LB, 0.285),
    (24000 * LB, 0.285),
)

SECTIONS = (WEATHER, FIELD, LOADING, RUN_UP, TAKEOFF, ENGINE_FAILURE, LANDING)


def go_plan() -> Plan:
    """Return a twin jet at 38 000 lb on 8 000 ft, where everything fits."""
    return Plan(
        title="Circuits and one-engine approach",
        callsign="TERN 21",
        crew=(("Front seat", "A. Halloran"), ("Rear seat", "M. Okafor")),
        pack_name="dotterel",
        pack_title="Dotterel T.2",
        pack_version="1.2.0",
        pack_digest="4f1d2c9a77b0",
        aerodrome="Skerrow",
        time="2031-06-14 09:40 Z",
        verdict=Verdict.GO,
        reasons=(),
        sections=SECTIONS,
        load=LOAD,
        balance=BALANCE,
        envelope=ENVELOPE,
        runway=RUNWAY,
        landings=LANDINGS,
        curves=CURVES,
        caution="",
        extra={
            "book_points": 14,
            "book_worst_error": 0.028,
            "reject_timeline": (("recognised", 1.0), ("idle", 1.6), ("brakes", 2.4), ("chute filled", 5.0)),
        },
    )


def with_figures(sections, section, **changes):
    """Return the sections with figures of one changed: a dict of fields each, or None to drop it."""

    def mended(one):
        figures = []
        for figure in one.figures:
            change = changes.get(figure.name, {})
            if change is not None:
                figures.append(replace(figure, **change))
        return replace(one, figures=tuple(figures))

    return tuple(mended(one) if one.name == section else one for one in sections)


def no_go_plan() -> Plan:
    """Return a wet, hot day: the runway is under the critical field length and a band is uncovered."""
    sections = with_figures(
        SECTIONS,
        "engine_failure",
        refusal_speed={"value": 118.4 * KT},
        minimum_go_speed={"value": 131.2 * KT},
        critical_engine_failure_speed={"value": 125.3 * KT},
        critical_field_length={"value": 8790 * FT},
        decision_speed={"value": 118.4 * KT, "cautions": ("refusal speed: below minimum go speed",)},
        decision_speed_basis={"text": "refusal speed; above it neither stopping nor going fits"},
        uncovered_band={"text": "118 to 132 kt, 3.1 s"},
        accelerate_stop_at_decision={"value": 7890 * FT},
        accelerate_go_at_decision={"value": 8960 * FT},
        brake_energy_at_decision={"text": "18.9 Mft·lbf, normal zone"},
        single_engine_gradient_gear_down={"value": 0.004},
        single_engine_gradient_gear_up={"value": 0.029},
    )
    sections = with_figures(
        sections, "field", runway_condition_reading={"value": 12, "text": "12, reported wet"}
    )
    stop = 1500 + 0.4633 * SPEEDS**2
    go = 16500 - 64.8 * SPEEDS
    marks = tuple(
        {
            "refusal": mark("refusal", "Refusal", 1980, "reject", 118.4),
            "decision_stop": mark("decision_stop", "Stop from decision", 7990, "reject"),
            "continue_lift_off": mark(
                "continue_lift_off", "One-engine lift-off", 7020, "engine_failure", 158
            ),
            "continue_screen": mark("continue_screen", "One-engine 50 ft", 9420, "engine_failure", 163),
        }.get(one.name, one)
        for one in RUNWAY.marks
    )
    return replace(
        go_plan(),
        verdict=Verdict.NO_GO,
        reasons=(
            Reason(
                Verdict.CAUTION,
                "gradient with gear down is under 2 per cent",
                "single_engine_gradient_gear_down",
                0.004,
                0.02,
                Kind.GRADIENT,
            ),
            Reason(
                Verdict.NO_GO,
                "Runway is shorter than the critical field length",
                "critical_field_length",
                8790 * FT,
                7900 * FT,
                Kind.RUNWAY_DISTANCE,
            ),
            Reason(Verdict.CAUTION, "weather report is 2 h 10 min old", "qnh"),
        ),
        sections=sections,
        runway=replace(RUNWAY, marks=marks),
        curves=(
            replace(CURVES[0], y=stop * FT),
            replace(CURVES[1], y=go * FT),
        ),
        balance=(*BALANCE[:3], step("Wing tanks empty", 34000, 0.288, inside=False), *BALANCE[4:]),
    )


def single_engine_plan() -> Plan:
    """Return an aircraft with one engine: no continued takeoff, several figures missing, no cables."""
    sections = tuple(one for one in SECTIONS if one.name != "run_up")
    problem = "aircraft has one engine"
    dropped = dict.fromkeys(
        (
            "single_engine_gradient_gear_down",
            "single_engine_gradient_gear_up",
            "single_engine_climb_cas",
            "single_engine_rate_gear_up",
            "minimum_go_speed",
            "minimum_control_ground_speed",
            "uncovered_band",
            "critical_engine_failure_speed",
        )
    )
    sections = with_figures(
        sections,
        "engine_failure",
        critical_field_length={"value": None, "problem": problem},
        accelerate_go_at_decision={"value": None, "problem": problem},
        refusal_speed={"text": "above lift-off"},
        brake_energy_at_decision={"value": None, "text": "", "problem": "the pack has no brake data"},
        **dropped,
    )
    sections = with_figures(
        sections,
        "takeoff",
        nosewheel_lift_off_speed={"value": None, "problem": "table cm, axis alpha: 14.2 is outside -4 to 12"},
        distance_to_screen={"value": math.inf},
    )
    sections = with_figures(
        sections, "landing", chute_maximum_cas=None, cable_engagement=None, go_around_gradient_one_engine=None
    )
    sections = with_figures(
        sections,
        "weather",
        qnh={"value": None, "problem": "report has no QNH"},
    )
    return replace(
        go_plan(),
        callsign="DUNLIN 4",
        pack_name="whinchat",
        pack_title="Whinchat",
        pack_version="0.3",
        verdict=Verdict.CAUTION,
        reasons=(
            Reason(Verdict.CAUTION, "Nosewheel lift-off could not be computed", "nosewheel_lift_off_speed"),
        ),
        sections=sections,
        runway=replace(
            RUNWAY,
            cables=(),
            overrun=0.0,
            marks=tuple(
                m for m in RUNWAY.marks if m.group != "engine_failure" and m.name != "nosewheel_lift_off"
            ),
        ),
        curves=(CURVES[0],),
        landings=tuple(c for c in LANDINGS if not c.chute),
        extra={},
    )


def long_names_plan() -> Plan:
    """Return a plan whose names are as long as people make them, some in letters the typeface lacks."""
    return replace(
        go_plan(),
        title="Low-level navigation, one-engine approach and recovery through the overhead",
        callsign="SANDERLING 117",
        crew=(
            ("Front seat", "Wing Commander Bartholomew Featherstonehaugh-Cholmondeley"),
            ("Rear seat", "Łucja Brzęczyszczykiewicz"),
        ),
        pack_title="Dotterel T.2 with conformal reconnaissance pallet",
        aerodrome="Llanfairpwll Aerodrome and Training Area",
        reasons=(
            Reason(
                Verdict.CAUTION,
                "Crosswind at the gust of 21 kt is near the drag chute's limit of 22 kt "
                "on a runway reported wet",
                "crosswind",
                10.8,
                11.3,
                Kind.WIND_SPEED,
            ),
        ),
        verdict=Verdict.CAUTION,
        sections=with_figures(
            SECTIONS,
            "takeoff",
            flaps={"text": "takeoff, leading and trailing edge 20°"},
            power={"text": "maximum, both engines"},
        ),
        load=(
            *LOAD,
            LoadLine("Left outboard pylon, travel pod with crew baggage", 180 * LB, 9.1, -3.2, group="store"),
        ),
    )


PLANS = {
    "go": go_plan,
    "no_go": no_go_plan,
    "single_engine": single_engine_plan,
    "long_names": long_names_plan,
}
