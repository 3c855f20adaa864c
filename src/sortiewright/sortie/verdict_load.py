"""Limits of mass, balance and wind held against the day."""

from __future__ import annotations

import math
from collections.abc import Iterator

from sortiewright.air import STANDARD_GRAVITY
from sortiewright.pack import OutsideTable
from sortiewright.performance import BurnStep
from sortiewright.sortie.conditions import chute_crosswind_limit, serves_chute
from sortiewright.sortie.figures import Kind, Reason, Verdict
from sortiewright.sortie.numbers import Numbers
from sortiewright.sortie.units import show

NO_GO, CAUTION = Verdict.NO_GO, Verdict.CAUTION


def said(value: float, kind: Kind) -> str:
    """Return a value as a reason says it."""
    return show(value, kind).text


def room_said(value: float) -> str:
    """Return a distance that there is: rounded down, where one that is needed rounds up."""
    return show(value, Kind.RUNWAY_DISTANCE, rounding="down").text


def load_reasons(numbers: Numbers) -> Iterator[Reason]:
    """Yield every limit of mass, balance and uneven load that is broken."""
    mass, loads, limits = numbers.pack.mass, numbers.loads, numbers.pack.limits
    for name, title, value, limit, severity in (
        ("ramp_mass", "Ramp weight", loads.ramp_balance.mass, mass.maximum_ramp_mass, NO_GO),
        ("takeoff_mass", "Takeoff weight", loads.takeoff_balance.mass, mass.maximum_takeoff_mass, NO_GO),
        ("landing_mass", "Landing weight", loads.landing_balance.mass, mass.maximum_landing_mass, NO_GO),
    ):
        if value > limit * (1 + 1e-9):
            text = f"{title} {said(value, Kind.MASS)} is over the limit of {said(limit, Kind.MASS)}"
            yield Reason(severity, text, name, value, limit, Kind.MASS)
    worst = min((*loads.burn, *loads.releases), key=lambda step: step.check.margin)
    if not worst.check.inside:
        where = _step_name(numbers, worst)
        if math.isnan(worst.check.forward_limit):
            mass = said(worst.balance.mass, Kind.MASS)
            text = f"Outside the envelope ({where}): no limits are given for {mass}"
            yield Reason(NO_GO, text, "centre_of_gravity_takeoff")
        else:
            share = worst.balance.share_of_chord
            limit = worst.check.forward_limit if share < worst.check.forward_limit else worst.check.aft_limit
            side = "forward" if share < worst.check.forward_limit else "aft"
            text = (
                f"Balance {said(share, Kind.PERCENT_MAC)} is {side} of the limit of "
                f"{said(limit, Kind.PERCENT_MAC)} ({where})"
            )
            yield Reason(NO_GO, text, "centre_of_gravity_takeoff", share, limit, Kind.PERCENT_MAC)
    for name, when, balance, limit in (
        ("side_moment_takeoff", "at takeoff", loads.takeoff_balance, limits.asymmetric_moment_takeoff),
        ("side_moment_landing", "at landing", loads.landing_balance, limits.asymmetric_moment_landing),
    ):
        moment = abs(balance.side_moment) * STANDARD_GRAVITY
        if limit is not None and moment > limit.value * (1 + 1e-9):
            kind = Kind.SIDE_MOMENT
            text = f"Uneven load {said(moment, kind)} {when} is over the limit of {said(limit.value, kind)}"
            yield Reason(Verdict(limit.severity), text, name, moment, limit.value, kind)
    release_limit = limits.asymmetric_moment_landing
    for step in loads.releases:
        moment = abs(step.balance.side_moment) * STANDARD_GRAVITY
        if release_limit is not None and moment > release_limit.value:
            kind = Kind.SIDE_MOMENT
            text = (
                f"{step.title}: uneven load {said(moment, kind)} until the other side goes; "
                f"landing limit {said(release_limit.value, kind)}"
            )
            yield Reason(CAUTION, text, "side_moment_landing", moment, release_limit.value, kind)
            break


def _step_name(numbers: Numbers, step: BurnStep) -> str:
    if step is numbers.loads.burn[0]:
        return "at the ramp"
    if step is numbers.loads.burn[1]:
        return "at takeoff"
    return step.title or f"at {said(step.balance.mass, Kind.MASS)} on the way"


def wind_reasons(numbers: Numbers) -> Iterator[Reason]:
    """Yield every wind limit that is broken, at takeoff and at landing."""
    limits = numbers.pack.limits
    for where, conditions, limit in (
        ("takeoff", numbers.conditions, limits.crosswind_takeoff),
        ("landing", numbers.landing_conditions, limits.crosswind_landing),
    ):
        wind = conditions.wind
        if wind is None:
            continue
        kind = Kind.WIND_SPEED
        if limit is not None:
            try:
                most = float(limit.value(conditions.runway_condition_reading))
            except OutsideTable as error:
                yield Reason(CAUTION, f"Crosswind limit for {where} not evaluated: {error}", "crosswind")
                continue
            if wind.crosswind_limit > most + 1e-9:
                value = float(wind.crosswind_limit)
                text = f"Crosswind {said(value, kind)} for {where} is over the limit of {said(most, kind)}"
                yield Reason(Verdict(limit.severity), text, "crosswind", value, most, kind)
        tail = limits.tailwind
        if tail is not None and wind.tailwind_limit > tail.value + 1e-9:
            value = float(wind.tailwind_limit)
            text = f"Tailwind {said(value, kind)} for {where} is over the limit of {said(tail.value, kind)}"
            yield Reason(Verdict(tail.severity), text, "tailwind", value, tail.value, kind)
    yield from _chute_reasons(numbers)


def _chute_reasons(numbers: Numbers) -> Iterator[Reason]:
    """Yield where a chute that would be used is not, as the crosswind forbids it."""
    pack, sortie, kind = numbers.pack, numbers.sortie, Kind.WIND_SPEED
    limit, stated = chute_crosswind_limit(pack), pack.limits.crosswind_chute
    if limit is None:
        return
    rejecting = sortie.takeoff.rejected_with_chute and numbers.technique.rejected.chute_commanded is not None
    uses = [
        (words, float(conditions.wind.crosswind_limit))
        for words, wanted, conditions in (
            ("stop", rejecting, numbers.conditions),
            ("landing", sortie.landing.with_chute, numbers.landing_conditions),
        )
        if wanted and conditions.wind is not None and not serves_chute(pack, conditions)
    ]
    if not uses:
        return
    value = max(crosswind for _, crosswind in uses)
    text = (
        f"Crosswind {said(value, kind)} is over the chute's limit of {said(limit, kind)}: "
        f"{' and '.join(words for words, _ in uses)} are planned without it"
    )
    if len(uses) == 1:
        text = text.replace(" are planned", " is planned")
    severity = CAUTION if stated is None else Verdict(stated.severity)
    yield Reason(severity, text, "crosswind", value, limit, kind)
