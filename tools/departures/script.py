"""One departure, from the parking stand to level flight or to the stop."""

from __future__ import annotations

import math
from collections.abc import Callable

from pilot import STEP, Pilot, Script, clip, turned
from truth import Truth


def depart(p: Pilot) -> Script:
    """Fly the whole of it."""
    yield from p.for_(3.0)
    p.ground = p.f["position/h-agl-ft"]
    p.truth = Truth(p.f, p.position, p.ground, p.order.rate_hz)
    yield from p.for_(6.0)
    if p.how.taxies:
        yield from taxi(p)
    if p.how.stops_on_runway:
        yield from run_up(p)
    else:
        p.truth.note("run_up_start")
    release(p)
    yield from roll(p)
    if p.truth is not None and "throttles_closed" in p.truth.events:
        yield from stop(p)
        return
    yield from climb(p)


def taxi(p: Pilot) -> Script:
    """Taxi back along the runway, turn towards it, hold, and turn onto it: two right turns."""
    how, runway = p.how, p.day.heading_deg
    p.note("taxi_start")
    if how.taxi_weave_deg:
        yield from weave(p, lambda: p.position()[0] < 340.0 + slowing(p))
    yield from drive(p, how.taxi_kt, lambda: p.position()[0] < 290.0 + slowing(p))
    yield from drive(p, how.turn_kt, lambda: p.position()[0] < 290.0)
    p.course = (runway - 90.0) % 360.0
    yield from drive(p, how.turn_kt, lambda: abs(turned(p.f["attitude/psi-deg"], p.course)) < 1.0)
    yield from drive(p, how.turn_kt, lambda: p.position()[1] < 290.0 + 2.2 * p.ground_speed())
    p.taxi_speed = 0.0
    yield from p.wait(lambda: p.ground_speed() < 0.3, 60.0)
    p.note("hold_short_stop")
    yield from p.for_(how.hold_s)
    p.note("hold_short_release")
    yield from drive(p, how.turn_kt, lambda: p.position()[1] < 262.0)
    p.course = runway
    yield from drive(p, how.turn_kt, lambda: abs(turned(p.f["attitude/psi-deg"], runway)) < 3.0)
    p.line = how.line_up_off_ft
    lead = 600.0 if how.stops_on_runway else 450.0
    yield from drive(p, how.turn_kt, lambda: p.position()[0] > lead)


def weave(p: Pilot, until: Callable[[], bool]) -> Script:
    """Taxi to and fro about the course until something is so."""
    straight, begun = p.course, p.f.get_sim_time()
    p.taxi_speed = p.how.taxi_kt
    while not until() and p.f.get_sim_time() - begun < 200.0:
        swing = math.sin(2.0 * math.pi * (p.f.get_sim_time() - begun) / 10.0)
        p.course = (straight + p.how.taxi_weave_deg * swing) % 360.0
        p.step()
        yield
    p.course = straight


def slowing(p: Pilot) -> float:
    """Return the feet in which the turning speed is reached, at a twentieth of a g."""
    fast, slow = 1.6878 * p.ground_speed(), 1.6878 * p.how.turn_kt
    return max(fast * fast - slow * slow, 0.0) / (2.0 * 0.05 * 32.2)


def drive(p: Pilot, speed: float, until: Callable[[], bool]) -> Script:
    """Taxi at a speed until something is so."""
    p.taxi_speed = speed
    yield from p.wait(until, 200.0)


def run_up(p: Pilot) -> Script:
    """Stop on the runway, come up to military, and hold."""
    p.course = p.day.heading_deg + p.how.line_up_off_deg
    if p.how.line_up_off_deg:
        p.line = None
        yield from p.for_(4.0)
    p.taxi_speed = 0.0
    yield from p.wait(lambda: p.ground_speed() < 0.3, 60.0)
    p.note("lined_up_stopped")
    p.brakes(1.0)
    yield from p.for_(3.0)
    p.note("run_up_start")
    before = p.f.get_sim_time()
    while p.f.get_sim_time() - before < p.how.run_up_s:
        moved = 0.5 * (p.f.get_sim_time() - before)
        goals = p.how.run_up_throttle or (p.how.release_throttle, p.how.release_throttle)
        p.throttle(*(min(goal, moved) for goal in goals))
        p.step()
        yield
    p.note("run_up_readings")


def release(p: Pilot) -> None:
    """Let the brakes go, or, rolling on, put the levers forward."""
    p.course = p.day.heading_deg
    p.line = 0.0
    p.note("brake_release")
    p.throttle(p.how.release_throttle)
    p.brakes(0.0)
    for side in ("left", "right", "center") if p.how.held_side == "both" else (p.how.held_side,):
        p.f[f"fcs/{side}-brake-cmd-norm"] = p.how.held_brake
    p.rudder_sum = 0.0


def roll(p: Pilot) -> Script:
    """Roll to lift-off, or to the decision to stop."""
    how, begun = p.how, p.f.get_sim_time()
    failed = rejected = raised = off = False
    nose_off = out = False
    eased: float | None = None
    dabbed: float | None = None
    lowered: float | None = None
    while p.f.get_sim_time() - begun < 120.0:
        since = p.f.get_sim_time() - begun
        levers = [
            how.takeoff_throttle if since >= one else how.release_throttle for one in how.burner_delay_s
        ]
        if how.burner_out_kt is not None and (out := out or p.airspeed() >= how.burner_out_kt):
            levers[how.burner_out_engine] = min(levers[how.burner_out_engine], 0.5)
        if how.ease_kt is not None and eased is None and p.airspeed() >= how.ease_kt:
            eased = since
            if max(levers) > 0.5:
                p.note("afterburner_off")
        if eased is not None and since - eased < how.ease_s:
            levers = [0.0, 0.0]
        p.throttle(*levers)
        if how.dab_kt is not None and dabbed is None and p.airspeed() >= how.dab_kt:
            dabbed = since
        if dabbed is not None:
            p.brakes(how.dab if since - dabbed < how.dab_s else 0.0)
        if how.flap_up_rolling_kt is not None and p.airspeed() >= how.flap_up_rolling_kt:
            p.note("flaps_up_selected")
            p.f["fcs/flap-cmd-norm"] = 0.0
        if how.wander_ft:
            p.line = how.wander_ft * math.sin(2.0 * math.pi * since / 14.0)
        if how.fail_kt is not None and not failed and p.airspeed() >= how.fail_kt:
            failed = True
            yield from fail(p)
            rejected = how.reject_on_failure
        if how.reject_kt is not None and p.airspeed() >= how.reject_kt:
            p.note("reject_decision")
            rejected = True
        if rejected:
            yield from p.for_(how.react_s)
            p.note("throttles_closed")
            return
        if not raised and p.airspeed() >= how.rotation_kt:
            raised = True
            p.attitude = how.attitude if how.over_attitude is None else how.over_attitude
            p.stick_full = True
            p.note("rotation_start")
        if raised and not nose_off and p.f["gear/unit[0]/WOW"] < 0.5:
            nose_off = True
            p.take_over_stick()
        if how.pause_pitch is not None and raised:
            if lowered is None and p.f["attitude/theta-deg"] >= how.pause_pitch:
                lowered = since
            if lowered is not None:
                p.attitude = 2.0 if since - lowered < how.pause_s else how.attitude
        off = not p.mains() and p.height() > 3.0
        p.step()
        yield
        if off:
            return


def fail(p: Pilot) -> Script:
    """Stop an engine, so that it stays out."""
    p.note("engine_failed")
    p.engine_out = True
    p.f[f"propulsion/engine[{p.how.fail_engine}]/set-running"] = 0
    p.f["propulsion/active_engine"] = p.how.fail_engine
    p.f["propulsion/cutoff_cmd"] = 1
    p.step()
    yield


def stop(p: Pilot) -> Script:
    """Close the levers, brake to a stop."""
    if p.f["fcs/throttle-cmd-norm[0]"] > 0.5 or p.f["fcs/throttle-cmd-norm[1]"] > 0.5:
        p.note("afterburner_off")
    p.throttle(0.0)
    p.attitude = None
    yield from p.for_(p.how.brakes_after_s)
    p.note("brakes_applied")
    p.brakes(p.how.brake)
    yield from p.wait(lambda: p.ground_speed() < 0.3, 90.0)
    p.note("stopped")
    p.brakes(1.0)
    yield from p.for_(8.0)


def climb(p: Pilot) -> Script:
    """Climb away: nose held, gear, flap, burner, turn, and level at the top; 240 s at the most."""
    p.line = None
    begun = p.f.get_sim_time()
    base: float | None = None
    done: dict[str, float] = {}
    sunk: float | None = None
    while p.f.get_sim_time() - begun < 240.0:
        since = p.f.get_sim_time() - begun
        if "levelled" in done and since - done["levelled"] > p.how.level_s:
            break
        if p.how.sink_attitude is not None and sunk is None and p.height() > p.how.sink_agl:
            sunk = since
        if p.how.fail_agl is not None and not p.engine_out and p.height() >= p.how.fail_agl:
            yield from fail(p)
        sinking = sunk is not None and since - sunk < p.how.sink_s
        _select(p, done, since)
        p.attitude = _wanted_attitude(p, since, sinking, done, base)
        base = p.f["aero/alpha-deg"] if base is None else base + (p.f["aero/alpha-deg"] - base) * 0.5 * STEP
        p.step()
        yield
    p.note("recording_end")


def _select(p: Pilot, done: dict[str, float], since: float) -> None:
    how, f = p.how, p.f
    if "gear" not in done and (
        p.airspeed() >= how.gear_kt if how.gear_kt is not None else p.height() >= how.gear_agl
    ):
        done["gear"] = since
        f["gear/gear-cmd-norm"] = 0.0
    if how.gear_again_kt is not None and "gear" in done:
        if "gear_down" not in done and p.airspeed() >= how.gear_again_kt[0]:
            done["gear_down"] = since
            f["gear/gear-cmd-norm"] = 1.0
        if "gear_again" not in done and p.airspeed() >= how.gear_again_kt[1]:
            done["gear_again"] = since
            f["gear/gear-cmd-norm"] = 0.0
    if "flap" not in done and p.airspeed() >= how.flap_kt:
        done["flap"] = since
        if how.flap > 0.0:
            p.note("flaps_up_selected")
        f["fcs/flap-cmd-norm"] = 0.0
    if "burner" not in done and (p.airspeed() >= how.burner_off_kt or p.height() > how.top_agl - 250.0):
        done["burner"] = since
        if how.takeoff_throttle > 0.5:
            p.note("afterburner_off")
        p.throttle(0.5)
    if how.turn_agl is not None and "turn" not in done and p.height() >= how.turn_agl:
        done["turn"] = since
        p.note("turn_start")
        p.bank = how.turn_bank
        p.course = p.day.heading_deg + how.turn_deg
    if "turn" in done and abs(turned(f["attitude/psi-deg"], p.course)) < 6.0:
        p.bank = 0.0
    if "top" not in done and p.height() >= how.top_agl - 200.0:
        done["top"] = since
        p.note("level_off_start")
    if "top" in done and "levelled" not in done and p.height() >= how.top_agl - 60.0:
        done["levelled"] = since
        p.note("level_at_top")


def _wanted_attitude(
    p: Pilot, since: float, sinking: bool, done: dict[str, float], base: float | None
) -> float:
    how = p.how
    p.most_rate = max(3.0, how.pitch_rate) if since < 3.0 else 3.0
    if "top" in done:
        climb = clip(0.1 * (how.top_agl - p.height()), -15.0, 30.0)
        p.taxi_speed = None
        short = how.climb_kt - p.airspeed()
        lever = clip(0.38 + 0.01 * short, 0.1, 0.5)
        before = p.f["fcs/throttle-cmd-norm[0]"]
        live = before + clip(lever - before, -0.2 * STEP, 0.2 * STEP)
        p.throttle(live)
        wanted = 0.10 * (climb - p.f["velocities/h-dot-fps"]) + (base or 3.0)
        return clip(wanted, -2.0, 14.0)
    if sinking and how.sink_attitude is not None:
        return how.sink_attitude
    if how.over_attitude is not None and since < how.over_s:
        return how.over_attitude
    if since < 6.0 and p.height() < 60.0:
        return how.attitude
    fast = clip(0.4 * (p.airspeed() - how.climb_kt + 8.0), 0.0, 7.0)
    failed = how.fail_kt is not None or p.engine_out
    slow = clip(0.15 * (165.0 - p.airspeed()), 0.0, 6.0) if failed else 0.0
    return (min(how.climb_attitude, 10.0) if failed else how.climb_attitude) + fast - slow
