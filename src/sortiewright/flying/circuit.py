"""The second half of a scripted flight: climb, a left-hand circuit, approach and landing to a stop."""

from __future__ import annotations

import math
from collections.abc import Callable

from sortiewright.flying.cockpit import Seen
from sortiewright.flying.departure import Script
from sortiewright.flying.loops import (
    GRAVITY,
    climb_path,
    clip,
    flare_sink,
    path_for_height,
    path_for_sink,
)
from sortiewright.flying.pilot import FLARE_ANGLE_TIME, FLARE_LEAD
from sortiewright.flying.ways import circuit_way
from sortiewright.pack_sampling import FOOT, KNOT

CLIMB_SHARE, CLIMB_QUICKNESS = 0.5, 0.15  # of the excess into speed; 1/s
POWER_HEIGHT_SHARE = 0.4  # of the circuit's: from there power is reduced and speed held
CAPTURE_TIME, STEEPEST_LEVEL = 8.0, math.radians(8.0)  # s; rad
TURN_BANK = math.radians(25.0)
TURN_HEIGHT_SHARE, LEAST_TURN_HEIGHT = 0.5, 130.0  # of the circuit's; m
TURN_SPEED_SHARE, FAST = 0.85, 3.0  # of the circuit's speed; m/s over the climb speed
USUAL_DRAG = 0.1  # of the weight, until it has been found
LONGEST_CLIMB, LONGEST_LEG, LONGEST_FINAL = 400.0, 900.0, 600.0  # s
LEVEL_FINAL_TIME = 15.0  # s level on the centre line before the glide path
GLIDE_TIME = 8.0  # s in which a height error on the path is closed
MOST_CORRECTION = math.radians(2.5)
APPROACH_MARGIN = 1.15
"""Speed over the approach's until the final is reached: common practice, no source."""
TOUCHDOWN_SINK = 3.0 * FOOT  # m/s
SHORT = 300.0  # m before the threshold at which no flare begins
LONGEST_FLOAT, LET_DOWN = 8.0, 0.1  # s, m/s2: a float longer than this is ended by letting her down
FLOAT_TIME = 4.0  # s in the flare after which the levers are closed, whatever the height
FLARE_TIME, FLARE_LAG = 2.7, 0.8  # s
NOSE_OVER_TAKEOFF = math.radians(2.0)
"""How much higher than the takeoff attitude the nose may go near the ground."""
LOW = 150.0  # m
NOSE_HIGH_DEG = 1.5
"""Over the attitude on the wheels at which the main wheels are to touch first."""
STEEP = 1.45
"""Times the glide angle, of an unstable approach."""
STEADY_AGAIN = 60.0  # m over the aim point at which an unstable approach is at its height again
NOSE_DOWN_RATE = math.radians(2.0)


def climb(script: Script, takeoff_throttle: float, height: float) -> None:
    """Climb to where the circuit's first turn begins: gear, flaps and power on the way."""
    pilot, held = script.pilot, script.held
    held.attitude, held.path = None, _climb_path(script, height)
    held.most_attitude = max(script.briefing.takeoff.attitude + NOSE_OVER_TAKEOFF, pilot.now.pitch)
    held.throttle = takeoff_throttle
    begun = pilot.now.time
    turns = False
    while pilot.now.time - begun < LONGEST_CLIMB:
        seen = pilot.now
        _clean_up(script)
        if seen.height > LOW:
            held.most_attitude = math.inf
        _climb_power(script, seen, height)
        turns = turns or _may_turn(script, seen, height)
        if turns and (held.cas is not None or (script.levers is not None and script.levers.are_up())):
            return
        pilot.step()
    at = f"{pilot.now.height / FOOT:.0f} ft and {pilot.now.cas / KNOT:.0f} kt"
    raise script.cannot(f"does not reach the circuit height within {LONGEST_CLIMB:.0f} s: it is at {at}")


def _climb_path(script: Script, height: float) -> Callable[[Seen], float]:
    """Return the climb angle: what power gives beside the speed still lacking, and level at the top."""

    def path(seen: Seen) -> float:
        lacking = _climb_speed(script, seen) - seen.cas
        rising = climb_path(script.pilot.sums.excess, lacking, share=CLIMB_SHARE, quickness=CLIMB_QUICKNESS)
        level = path_for_height(seen.height, height, max(seen.tas, 20.0), CAPTURE_TIME, STEEPEST_LEVEL)
        return min(rising, level)

    return path


def _climb_power(script: Script, seen: Seen, height: float) -> None:
    """Come out of the burner, and hold the speed once it or the height is there."""
    held, dry = script.held, script.cockpit.dry_throttle
    high = seen.height > POWER_HEIGHT_SHARE * height
    reduction = script.briefing.takeoff.power_reduction_cas or math.inf
    if held.throttle > dry and ((high and script.cockpit.failed is None) or seen.cas >= reduction):
        held.throttle = dry
        script.note("power_reduced")
    goal = _climb_speed(script, seen)
    near = height - seen.height < CAPTURE_TIME * max(seen.vertical_speed, 0.0)
    if held.cas is not None:
        held.cas = goal
    elif high and (near or seen.cas > goal + FAST):
        held.cas = goal
        script.pilot.sums.thrust = USUAL_DRAG
        script.note("level_off_begins")


def _may_turn(script: Script, seen: Seen, height: float) -> bool:
    """Return whether it is high, far and fast enough to turn."""
    high = seen.height > max(TURN_HEIGHT_SHARE * height, LEAST_TURN_HEIGHT)
    past = seen.along > script.briefing.field.length or seen.height > 0.8 * height
    usual = min(_climb_speed(script, seen), script.briefing.circuit_at(seen.mass))
    return high and past and seen.cas > TURN_SPEED_SHARE * usual


def _climb_speed(script: Script, seen: Seen) -> float:
    """Return the speed to climb at, never above what the circuit is flown at."""
    brief = script.briefing
    circuit = brief.circuit_at(seen.mass)
    if script.cockpit.failed is not None and brief.takeoff.engine_out_cas is not None:
        return max(min(circuit, brief.takeoff.flap_up_cas + 5.0), brief.takeoff.engine_out_cas)
    return max(min(brief.takeoff.climb_cas, circuit), brief.takeoff.flap_up_cas + 4.0)


def circuit(script: Script, height: float) -> None:
    """Fly round to the final: gear down abeam the aim point, flaps in the last turn."""
    pilot, held, brief, cockpit = script.pilot, script.held, script.briefing, script.cockpit
    now = pilot.now
    speed = brief.circuit_at(now.mass) * now.tas / max(now.cas, 1.0)
    wind = math.hypot(brief.field.wind_to_north, brief.field.wind_to_east)
    radius = (speed + wind) ** 2 / (GRAVITY * math.tan(TURN_BANK))
    aim = aim_point(script)
    glide = brief.landing.glide_angle
    final = aim - height / math.tan(glide) - LEVEL_FINAL_TIME * speed
    way, downwind, base = circuit_way(
        along=now.along, right=now.right, radius=radius, final_from=final, far_end=aim + 3000.0
    )
    script.note("turn_begins")
    held.way, held.ahead, held.line, held.most_bank = way, 5.0, None, math.radians(30.0)
    held.path = lambda seen: path_for_height(seen.height, height, seen.tas, CAPTURE_TIME, STEEPEST_LEVEL)
    low_gear = "gear_down_late" in script.flaws

    def speed_round(seen: Seen) -> float:
        return brief.circuit_at(seen.mass)

    _leg(script, lambda _: way.at >= downwind, speed_round)
    script.note("downwind")
    _leg(script, lambda seen: seen.along <= aim or way.at >= base - 5, speed_round)
    script.levers = None
    if not low_gear:
        cockpit.gear(down=True)
        script.note("gear_down_selected")
    _leg(script, lambda _: way.at >= base, speed_round)
    script.note("last_turn_begins")
    cockpit.flaps(cockpit.landing_flap)
    if cockpit.landing_flap > 0.0:
        script.note("flaps_down_selected")
    end = base + round(math.pi * radius / way.spacing)
    margin = APPROACH_MARGIN
    _leg(script, lambda _: way.at >= end, lambda seen: margin * brief.landing.approach_at(seen.mass))
    script.note("final")


def _clean_up(script: Script) -> None:
    if script.levers is not None:
        script.levers.clean_up(script, script.pilot.now)


def _leg(script: Script, until: Callable[[Seen], bool], speed: Callable[[Seen], float]) -> None:
    begun = script.pilot.now.time
    while not until(script.pilot.now):
        seen = script.pilot.now
        if seen.mains_on:
            raise script.cannot("comes down in the circuit, before its approach")
        if seen.time - begun > LONGEST_LEG:
            raise script.cannot(f"does not get round the circuit: {LONGEST_LEG:.0f} s on one leg")
        script.held.cas = speed(seen)
        _clean_up(script)
        if round(seen.time * 10.0) % 50 == 0:
            script.cockpit.lean()
        script.pilot.step()


def aim_point(script: Script) -> float:
    """Return where the glide path meets the ground, m along the runway."""
    brief = script.briefing
    aim = brief.field.threshold + brief.landing.threshold_height / math.tan(brief.landing.glide_angle)
    return aim + script.amount("long_landing")


def approach(script: Script, height: float) -> None:
    """Level to the glide path and down it, to where the flare begins."""
    pilot, held, brief = script.pilot, script.held, script.briefing
    aim, glide = aim_point(script), brief.landing.glide_angle
    fast = script.amount("unstable_approach")
    unstable = "unstable_approach" in script.flaws

    def wanted_height(seen: Seen) -> float:
        left = max(aim - seen.along, 0.0)
        path = left * math.tan(glide)
        if unstable:
            # High until late, and steep down to where the path is met again.
            steep = STEADY_AGAIN + (left - STEADY_AGAIN / math.tan(glide)) * math.tan(STEEP * glide)
            path = max(path, steep)
        return min(path, height)

    def path(seen: Seen) -> float:
        goal = wanted_height(seen)
        error = clip(
            (goal - seen.height) / GLIDE_TIME, *(sign * seen.tas * MOST_CORRECTION for sign in (-1, 1))
        )
        sloping = wanted_height(seen) < height - 1.0
        angle = STEEP * glide if unstable and goal > (aim - seen.along) * math.tan(glide) + 1.0 else glide
        sink = seen.ground_speed * math.tan(angle) if sloping else 0.0
        return path_for_sink(sink - error, seen.tas)

    held.path, held.ahead = path, 4.5
    told = False
    begun = pilot.now.time
    while True:
        seen = pilot.now
        held.most_bank = math.radians(25.0 if seen.height > 60.0 else 8.0)
        held.cas = brief.landing.approach_at(seen.mass) + fast
        if not told and wanted_height(seen) < height - 1.0:
            told = True
            script.note("glide_path")
        _late_gear(script, seen)
        if seen.height <= flare_height(script, seen):
            if seen.along < brief.field.threshold - SHORT:
                raise script.cannot("comes down short of the runway: its stick or its power does not suffice")
            return
        if seen.along > aim + 1500.0 or seen.time - begun > LONGEST_FINAL:
            raise script.cannot("does not come down to the runway on its approach")
        pilot.step()


def _late_gear(script: Script, seen: Seen) -> None:
    if "gear_down_late" not in script.flaws or script.recorder.has("gear_down_selected"):
        return
    if seen.height <= script.amount("gear_down_late"):
        script.cockpit.gear(down=True)
        script.note("gear_down_selected")


def flare_height(script: Script, seen: Seen) -> float:
    """Return the height of the wheels at which the sink rate has to begin to die away."""
    sink = max(-seen.vertical_speed, 0.0)
    return max(_flare_time(script) * (sink - _touchdown_sink(script)) + _flare_lag(script) * sink, 1.0)


def _flare_lag(script: Script) -> float:
    """Return the time by which the flight path comes after the stick, s."""
    return FLARE_LAG / script.pilot.size


def _flare_time(script: Script) -> float:
    return FLARE_TIME / math.sqrt(script.pilot.size)


def _touchdown_sink(script: Script) -> float:
    return script.amount("hard_landing", TOUCHDOWN_SINK)


def land(script: Script) -> None:
    """Flare, close the levers, touch down, lower the nose, brake to a stop."""
    pilot, held, brief, cockpit = script.pilot, script.held, script.briefing, script.cockpit
    hard = "hard_landing" in script.flaws
    touchdown, time, begun = _touchdown_sink(script), _flare_time(script), pilot.now.time
    lag = _flare_lag(script)

    def path(seen: Seen) -> float:
        expected = max(seen.height + lag * seen.vertical_speed, 0.0)
        floated = max(seen.time - begun - LONGEST_FLOAT, 0.0)
        return path_for_sink(flare_sink(expected, touchdown, time) + LET_DOWN * floated, seen.tas)

    held.path = path
    held.least_attitude = math.radians(cockpit.stance.pitch_deg + NOSE_HIGH_DEG)
    held.path_lead, held.angle_time = FLARE_LEAD, FLARE_ANGLE_TIME
    held.pitch_rate, held.path_rate = math.radians(5.0), math.radians(6.0)
    held.most_bank = math.radians(5.0)
    script.note("flare_begins")
    held.cas = None
    held.throttle = pilot.sums.lever
    from_height, power = pilot.now.height, held.throttle
    while not pilot.now.mains_on:
        if not hard:
            floated = (pilot.now.time - begun - FLOAT_TIME) / FLOAT_TIME
            share = min(pilot.now.height / from_height, 1.0 - floated)
            held.throttle = min(held.throttle, power * clip(share, 0.0, 1.0))
        if pilot.now.time - begun > 45.0:
            raise script.cannot("floats down the runway and does not touch down within 45 s")
        pilot.step()
    script.note("touchdown")
    held.throttle, held.path, held.way, held.line = 0.0, None, None, 0.0
    script.note("levers_closed")
    _lower_nose(script)
    script.note("brakes_on")
    held.brakes = cockpit.braking(brief.field.braking_friction)
    if not pilot.fly(lambda seen: seen.ground_speed < 0.3, 180.0):
        raise script.cannot("cannot be stopped with its brakes")
    script.note("stopped")
    held.brakes = 1.0
    pilot.wait(8.0)


def _lower_nose(script: Script) -> None:
    """Let the nose down at a steady rate; brakes wait for the nosewheel and the planned time."""
    pilot, held = script.pilot, script.held
    held.attitude = pilot.now.pitch
    down = math.radians(script.cockpit.stance.pitch_deg) - math.radians(1.0)
    held.pitch_rate = 2.0 * NOSE_DOWN_RATE
    begun = pilot.now.time
    while pilot.now.time - begun < 20.0:
        seen = pilot.now
        if seen.nose_on and seen.mains_on and seen.time - begun > script.briefing.landing.free_roll_time:
            break
        held.attitude = max((held.attitude or 0.0) - NOSE_DOWN_RATE * pilot.step_time, down)
        pilot.step()
    held.attitude = None
