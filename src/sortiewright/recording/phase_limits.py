"""The thresholds by which a recording is divided. Speeds m/s, times s, heights m, angles rad.

From the definitions of moments usual in flight-data monitoring; a value without another word is common
practice, no source. Those that depend on the aircraft may be given from its pack.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sortiewright.pack import Pack

KNOT = 1852.0 / 3600.0  # m/s
FOOT = 0.3048  # m
FEET_PER_MINUTE = FOOT / 60.0  # m/s
DEGREE = math.pi / 180.0  # rad


@dataclass(frozen=True)
class PhaseLimits:
    """Levels, and how long they must hold."""

    moving_speed: float = 3.0 * KNOT
    """Above it the aircraft rolls."""
    standing_speed: float = 1.0 * KNOT
    """Below it the aircraft stands."""
    hold_time: float = 2.0
    """A stop shorter than this is part of the taxi."""
    taxi_speed: float = 30.0 * KNOT
    """A landing roll ends below it, and a run faster than it under power is no taxi."""
    fast_taxi_speed: float = 50.0 * KNOT
    """Where no channel shows power: a ground run faster than this is an attempt to take off."""
    attempt_gain: float = 10.0
    """Speed gained at takeoff power from which a run is an attempt to take off."""
    surely_flying_speed: float = 40.0 * KNOT
    """Without weight on wheels: what is slower for longer than ``slow_time`` is on the ground."""
    slow_time: float = 4.0

    airborne_time: float = 0.5
    """Weight off the wheels for less is a flicker."""
    leg_height: float = 15.0
    leg_time: float = 15.0
    """Off the wheels lower than this, and for less than this, is a hop: a bounce, or a lift-off not kept."""
    contact_height: float = 15.0
    """Weight on wheels above this height is a false sample."""
    wheels_height: float = 1.0
    """Height that tells lift-off where no channel has weight on wheels (3 ft)."""
    bounce_time: float = 10.0
    """Off the wheels again within this time of touchdown is a bounce."""

    takeoff_power: float = 0.9
    """Share of the way from idle to the most engine speed used; breaking away to taxi stays under it."""
    run_up_power: float = 0.3
    """Share of the same from which a standing aircraft is run up."""
    lever_idle: float = 0.1
    """Throttle travel up to which a lever counts as closed."""
    power_set_share: float = 0.95
    power_set_time: float = 1.0
    """Power is set when it stays above this share of that of the roll for this time."""
    burner_throttle: float | None = None
    """Throttle travel at which the burner lights; None: told from stage or fuel flow only."""
    standing_start_time: float = 10.0
    """Power may come up so long after brake release for it to be a standing start."""
    standing_start_turn: float = 20.0
    """deg. A larger turn after the last stop makes it a rolling takeoff."""
    start_speed: float = 0.10
    """Engine speed, share of rated, through which an engine being started rises."""
    failed_share: float = 0.9
    """An engine under this share of idle, while the aircraft rolls fast or flies, has failed."""

    nose_rise: float = 1.0 * DEGREE
    nose_rise_time: float = 0.3
    nose_least_speed: float = 60.0 * KNOT
    """Nosewheel off: no nose load, or pitch so far over that of the roll, for so long, above this speed."""
    rotation_pitch_rate: float = 0.5 * DEGREE
    """per s; where the stick is not recorded, rotation begins with it."""
    stick_step: float = 0.15
    """Share of stick travel that is a pull, not a correction."""
    stick_lead: float = 10.0
    """The pull is looked for so long before the nose rises. Pulled 35 kt too early, the nose waits 8 s.

    Nought: rotation is told by the nose alone.
    """

    moved: float = 0.01
    """Share of travel from either end within which gear or flaps are at that end."""
    brake_on: float = 0.1
    """Share of full brake."""
    screen_height: float = 50.0 * FOOT
    """The phase of lift-off ends at it, clean-up begins."""
    clean_up_time: float = 180.0
    clean_up_height: float = 450.0
    """Where gear or flaps are not recorded, or stay down, clean-up ends at this height or after this time."""

    climb_rate: float = 300.0 * FEET_PER_MINUTE
    level_rate: float = 200.0 * FEET_PER_MINUTE
    """A climb or descent begins above the one and ends under the other."""
    trend_time: float = 20.0
    """Over which climb and descent are measured."""
    least_trend_time: float = 20.0
    """Shorter climbs, levels and descents belong to their neighbours."""
    manoeuvre_bank: float = 60.0 * DEGREE
    manoeuvre_load: float = 2.5
    manoeuvre_gap: float = 20.0
    """Manoeuvring less than this apart is one."""

    approach_height: float = 1500.0 * FOOT
    """An approach begins with the gear coming down, or below this height."""
    approach_time: float = 600.0
    """The gear coming down longer before the landing than this is not its approach."""
    flare_height: float = 50.0 * FOOT
    go_around_height: float = 1500.0 * FOOT
    """An approach broken off above it is not told from a level-off."""
    go_around_climb: float = 300.0 * FOOT
    """Height lost before and won after the lowest point."""
    go_around_end: float = 1000.0 * FOOT
    """Climbed so much, or clean, the go-around is over."""
    go_around_time: float = 120.0

    parked_time: float = 300.0
    """Standing so long after a landing ends a sortie, engines running or not."""
    gap_time: float = 1800.0
    """So long a gap ends a sortie."""


def phase_limits_of(pack: Pack) -> PhaseLimits:
    """Return the limits with what an aircraft's own technique says put in."""
    takeoff, landing = pack.technique.takeoff, pack.technique.landing
    rotation = takeoff.rotation_speed
    usual = PhaseLimits()
    slowest = min(rotation.values) if rotation is not None else 2.0 * usual.nose_least_speed
    return replace(
        usual,
        screen_height=takeoff.screen_height,
        flare_height=landing.threshold_height,
        nose_least_speed=min(usual.nose_least_speed, 0.5 * slowest),
        # Where the book has the stick aft long before the nose can rise, the pull is not the rotation.
        stick_lead=usual.stick_lead if takeoff.stick_aft_speed is None else 0.0,
    )
