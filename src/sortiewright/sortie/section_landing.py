"""The landing section and the table of landings by surface and chute."""

from __future__ import annotations

import math

import numpy as np

from sortiewright.air import approach_gust_increment, hydroplaning_speed
from sortiewright.pack import OutsideTable
from sortiewright.performance import energy_zone
from sortiewright.sortie.conditions import landing_chute
from sortiewright.sortie.day_facts import LEAST_DRY
from sortiewright.sortie.figures import Figure, Kind, LandingCase, Section
from sortiewright.sortie.numbers import Numbers
from sortiewright.sortie.numbers_landing import LandingRow
from sortiewright.sortie.section_failure import gradient_over_ground

ON_SPEED = "lift and the path's thrust carry the weight at the on-speed angle of attack"
ROLL = "free roll, aerodynamic braking, chute and brakes; distance integrated over speed"


def landing_cases(numbers: Numbers) -> tuple[LandingCase, ...]:
    """Return every landing with its margin to the distance available."""
    runway = numbers.landing_conditions.runway
    available = runway.landing_distance_available
    cases: list[LandingCase] = []
    for row in numbers.landings:
        if row.result is None:
            nan = math.nan
            cases.append(
                LandingCase(
                    row.name,
                    row.title,
                    row.runway_condition_reading,
                    row.chute,
                    nan,
                    nan,
                    nan,
                    nan,
                    nan,
                    nan,
                    row.problem,
                )
            )
            continue
        one, k = row.result, row.row
        total = float(one.total[k])
        cases.append(
            LandingCase(
                row.name,
                row.title,
                row.runway_condition_reading,
                row.chute,
                float(one.approach_cas[k]),
                float(one.touchdown_cas[k]),
                float(one.air_distance[k]),
                float(one.ground_roll[k]),
                total,
                available - total,
                "" if math.isfinite(total) else "nothing stops the aircraft on this surface",
            )
        )
    return tuple(cases)


def todays_row(numbers: Numbers) -> LandingRow | None:
    """Return today's landing as planned: with chute where there is one and the sortie uses it."""
    with_chute = landing_chute(numbers.sortie, numbers.pack, numbers.landing_conditions)
    wanted = "today_chute" if with_chute else "today"
    return next((row for row in numbers.landings if row.name == wanted and row.result is not None), None)


def landing_section(numbers: Numbers) -> Section:
    """Return approach, touchdown, gradients and cables of today's landing."""
    row = todays_row(numbers)
    technique = numbers.pack.technique.landing
    mass = Figure(
        "landing_mass", "Landing weight", numbers.loads.landing_balance.mass, Kind.MASS, "load sheet"
    )
    if row is None or row.result is None:
        why = next((one.problem for one in numbers.landings if one.problem), "could not be computed")
        return Section(
            "landing",
            "Landing",
            (mass, Figure("approach_cas", "Approach speed", None, Kind.CAS, problem=why)),
        )
    result, k = row.result, row.row
    wind = numbers.landing_conditions.weather.wind
    half_gust = float(approach_gust_increment(wind)) if wind is not None else 0.0
    alpha = numbers.sortie.landing.on_speed_angle_of_attack
    alpha = technique.on_speed_angle_of_attack if alpha is None else alpha
    figures = [
        mass,
        Figure(
            "stall_speed", "Stall, power off", float(result.stall_cas[k]), Kind.CAS, "sqrt(2 W/(rho S CLmax))"
        ),
        Figure("approach_angle_of_attack", "On-speed angle of attack", alpha, Kind.ANGLE, "pack technique"),
        Figure(
            "approach_cas",
            "Approach speed",
            float(result.approach_cas[k]),
            Kind.CAS,
            f"{ON_SPEED}, and {technique.gust_share:.0%} of the gust",
        ),
        Figure("gust_increment", "of which gust", 2.0 * technique.gust_share * half_gust, Kind.WIND_SPEED),
        Figure("touchdown_cas", "Touchdown", float(result.touchdown_cas[k]), Kind.CAS, "pack technique"),
    ]
    if technique.aerobrake_until_cas is not None:
        figures.append(
            Figure(
                "aerobrake_until_cas",
                "Nose down, brakes from",
                technique.aerobrake_until_cas,
                Kind.CAS,
                "pack technique",
            )
        )
    if numbers.pack.wheels.chute is not None:
        figures.append(
            Figure(
                "chute_maximum_cas",
                "Chute, at most",
                numbers.pack.wheels.chute.maximum_cas,
                Kind.CAS,
                "pack limit",
                cautions=() if row.chute else ("today's landing is planned without it",),
            )
        )
    figures += [
        Figure(
            "landing_distance", "Landing distance today", float(result.total[k]), Kind.RUNWAY_DISTANCE, ROLL
        ),
        Figure(
            "landing_distance_available",
            "Landing distance available",
            numbers.landing_conditions.runway.landing_distance_available,
            Kind.RUNWAY_DISTANCE,
        ),
        Figure(
            "tyre_speed_margin",
            "Tyre speed margin",
            numbers.pack.wheels.tyre_speed_limit - float(result.touchdown_ground_speed[k]),
            Kind.GROUND_SPEED,
            "tyre limit less ground speed at touchdown",
        ),
    ]
    figures += _brakes(numbers, float(result.brake_energy[k])) + _over_the_limit(numbers)
    if numbers.landing_conditions.runway_condition_reading < LEAST_DRY:
        wet = float(hydroplaning_speed(numbers.pack.wheels.main_tyre_pressure, "spin_up"))
        method = "7.7 sqrt(tyre pressure, psi): wheel not yet spun up (NASA TM-85652)"
        title = "Hydroplaning at touchdown from"
        figures.append(Figure("touchdown_hydroplaning_speed", title, wet, Kind.GROUND_SPEED, method))
    if result.sink_rate[k] > 0.0:
        figures.append(
            Figure(
                "sink_rate",
                "Sink at touchdown",
                float(result.sink_rate[k]),
                Kind.CLIMB_RATE,
                "no flare: V sin(glide)",
            )
        )
    figures += _go_around(numbers) + _cables(numbers, float(result.touchdown_ground_speed[k]))
    return Section("landing", "Landing", tuple(figures))


def _over_the_limit(numbers: Numbers) -> list[Figure]:
    """Return by how much a return at takeoff weight is too heavy to land, if it is."""
    over = numbers.loads.takeoff_balance.mass - numbers.pack.mass.maximum_landing_mass
    if over <= 0.0:
        return []
    title = "Return at takeoff weight: to burn or release first"
    return [
        Figure("over_landing_limit", title, over, Kind.MASS, "takeoff weight less the pack's landing limit")
    ]


def _brakes(numbers: Numbers, energy: float) -> list[Figure]:
    zone = energy_zone(numbers.pack, energy) if math.isfinite(energy) else None
    if zone is None:
        return []
    method = "integral of braking force over distance"
    text = f"{zone.title.lower()} zone"
    cautions = (zone.advice,) if zone.severity and zone.advice else ()
    title = "Brake energy of today's landing"
    return [Figure("brake_energy", title, energy, Kind.ENERGY, method, text=text, cautions=cautions)]


def _go_around(numbers: Numbers) -> list[Figure]:
    figures: list[Figure] = []
    wind = numbers.landing_conditions.wind
    headwind = float(wind.headwind_for_distance) if wind is not None else 0.0
    for name, title, climb in (
        ("gear_down", "gear down", numbers.go_around_gear_down),
        ("gear_up", "gear up", numbers.go_around_gear_up),
    ):
        if climb is not None:
            value = gradient_over_ground(climb, numbers.go_around_tas, headwind)
            figures.append(
                Figure(
                    f"go_around_gradient_{name}",
                    f"One-engine go-around, {title}",
                    value,
                    Kind.GRADIENT,
                    "(T - D)/W at approach speed, landing flap",
                    problem="" if value is not None else "cannot carry the weight",
                )
            )
    return figures


def _cables(numbers: Numbers, touchdown: float) -> list[Figure]:
    hook = numbers.pack.wheels.hook
    cables = [cable for cable in numbers.landing_conditions.runway.cables if cable.rigged]
    if hook is None or not cables:
        return []
    try:
        limit = float(hook.maximum_ground_speed(numbers.loads.landing_balance.mass))
    except OutsideTable as error:
        return [Figure("hook_limit", "Hook, at most", None, Kind.GROUND_SPEED, problem=str(error))]
    figures = [
        Figure("hook_limit", "Hook, at most", limit, Kind.GROUND_SPEED, "pack limit at landing weight")
    ]
    for index, cable in enumerate(cables, 1):
        fits = "within the limit at touchdown speed" if touchdown <= limit else "too fast at touchdown speed"
        figures.append(
            Figure(
                f"cable_{index}",
                cable.name[:1].upper() + cable.name[1:],
                float(np.asarray(cable.distance_from_threshold)),
                Kind.RUNWAY_DISTANCE,
                "touchdown ground speed against the hook limit",
                text=fits,
                cautions=() if touchdown <= limit else ("slow down before the cable",),
            )
        )
    return figures
