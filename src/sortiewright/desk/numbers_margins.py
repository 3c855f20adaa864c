"""What is left to each limit: the plan's figures held against each other and the pack's limits."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from sortiewright.pack import Pack
from sortiewright.sortie import Figure, Kind, Plan, Sortie


@dataclass(frozen=True, slots=True)
class Margin:
    """How much is left to a limit, SI; negative beyond it. ``of`` is the limit, or the range it bounds."""

    name: str
    title: str
    left: float
    of: float
    kind: Kind
    figure: str

    @property
    def share(self) -> float:
        """What is left in shares of the limit: by this, limits of different kinds are put in order."""
        return self.left / self.of if self.of else math.inf


def margins(plan: Plan, pack: Pack, sortie: Sortie) -> tuple[Margin, ...]:
    """Return every margin that can be told, the least first."""
    found = [
        *_runway(plan),
        *_masses(plan, pack),
        *_balance(plan),
        *_speeds(plan, pack),
        *_climb(plan, pack, sortie),
        *_fuel(plan),
    ]
    return tuple(sorted(found, key=lambda margin: margin.share))


def _figure(plan: Plan, section: str, name: str) -> Figure | None:
    try:
        return plan.figure(section, name)
    except KeyError:
        return None


def _value(plan: Plan, section: str, name: str) -> float | None:
    figure = _figure(plan, section, name)
    return None if figure is None or figure.value is None or math.isnan(figure.value) else figure.value


def _runway(plan: Plan) -> Iterator[Margin]:
    runway = plan.runway
    go = runway.screen_available if runway.goes_to == "screen" else runway.run_available
    landing = _value(plan, "landing", "landing_distance_available")
    for section, name, title, room in (
        ("takeoff", "ground_run", "Runway beyond the ground run", runway.run_available),
        ("engine_failure", "critical_field_length", "Runway beyond the critical field length", go),
        ("engine_failure", "accelerate_stop_at_decision", "Runway beyond a stop", runway.stop_available),
        ("engine_failure", "accelerate_go_at_decision", "Runway beyond going on", go),
        ("landing", "landing_distance", "Runway beyond the landing", landing),
    ):
        needed = _value(plan, section, name)
        if needed is not None and room is not None:
            yield Margin(name, title, room - needed, room, Kind.RUNWAY_DISTANCE, name)


def _masses(plan: Plan, pack: Pack) -> Iterator[Margin]:
    for name, title, limit in (
        ("ramp_mass", "Under the ramp limit", pack.mass.maximum_ramp_mass),
        ("takeoff_mass", "Under the takeoff limit", pack.mass.maximum_takeoff_mass),
        ("landing_mass", "Under the landing limit", pack.mass.maximum_landing_mass),
    ):
        mass = _value(plan, "loading", name)
        if mass is not None:
            yield Margin(name, title, limit - mass, limit, Kind.MASS, name)


def _balance(plan: Plan) -> Iterator[Margin]:
    rooms = [
        (
            min(point.centre_of_gravity - point.forward_limit, point.aft_limit - point.centre_of_gravity),
            point.aft_limit - point.forward_limit,
            point.title,
        )
        for point in plan.balance
    ]
    finite = [one for one in rooms if math.isfinite(one[0]) and one[1] > 0.0]
    if finite:
        left, width, title = min(finite)
        words = f"Balance inside its limits, {title[:1].lower()}{title[1:]}"
        yield Margin("balance", words, left, width, Kind.PERCENT_MAC, "centre_of_gravity_takeoff")


def _speeds(plan: Plan, pack: Pack) -> Iterator[Margin]:
    for section, when in (("takeoff", "at lift-off"), ("landing", "at touchdown")):
        left = _value(plan, section, "tyre_speed_margin")
        if left is not None:
            limit = pack.wheels.tyre_speed_limit
            title = f"Under the tyre limit {when}"
            yield Margin(f"tyre_{section}", title, left, limit, Kind.GROUND_SPEED, "tyre_speed_margin")
    left = _value(plan, "takeoff", "tail_strike_margin")
    frame = pack.airframe
    strike = frame.tail_strike_attitude_struts_compressed or frame.tail_strike_attitude
    if left is not None:
        yield Margin("tail", "Tail clearance", left, strike, Kind.ANGLE, "tail_strike_margin")


def _climb(plan: Plan, pack: Pack, sortie: Sortie) -> Iterator[Margin]:
    name = "single_engine_gradient_gear_up"
    have = _value(plan, "engine_failure", name)
    stated = pack.limits.single_engine_climb_gradient
    wanted = (sortie.requirements.single_engine_climb_gradient, stated and stated.value)
    need = max((one for one in wanted if one is not None), default=None)
    if have is not None and need:
        yield Margin(name, "One-engine climb over what is required", have - need, need, Kind.GRADIENT, name)


def _fuel(plan: Plan) -> Iterator[Margin]:
    over, bingo = _value(plan, "fuel", "ladder_margin"), _value(plan, "fuel", "bingo")
    if over is not None and bingo:
        yield Margin(
            "ladder_margin", "Fuel over bingo, at its least", over, bingo, Kind.MASS, "ladder_margin"
        )
    landed, least = _value(plan, "fuel", "route_landing_fuel"), _value(plan, "fuel", "minimum_fuel")
    if landed is not None and least:
        title = "Fuel at touchdown over minimum"
        yield Margin("route_landing_fuel", title, landed - least, least, Kind.MASS, "route_landing_fuel")
