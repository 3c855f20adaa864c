"""The first half of a scripted flight: taxi, run-up, takeoff run, lift-off or a rejected takeoff's stop."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from sortiewright.flying.briefing import Briefing
from sortiewright.flying.cockpit import Cockpit, Seen
from sortiewright.flying.flaws import Flaw
from sortiewright.flying.pilot import MOST_PITCH_RATE, Held, Pilot
from sortiewright.flying.recorder import Recorder
from sortiewright.flying.ways import hold_line, taxi_way
from sortiewright.pack_sampling import KNOT, model_fault

TAXI_SPEED, TURN_SPEED = 15.0 * KNOT, 9.0 * KNOT
LEAST_RADIUS = 25.0  # m
RADIUS_OVER_TIGHTEST = 1.25
STRAIGHT = 150.0  # m of taxiway
SLOWING = 0.4  # m/s2
HOLD_TIME, LINED_UP_TIME, RUN_UP_TIME = 6.0, 4.0, 10.0  # s
LINED_UP = 25.0  # m after where the takeoff run is planned to begin
BURNER_DELAY = 1.0  # s after brake release
LONGEST_RUN = 120.0  # s
LONGEST_TO_SCREEN = 90.0  # s
LEAST_ROLL = 15.0  # s within which it must roll
A_LITTLE_EARLY = 0.1  # s, so that what is planned is kept
FARTHEST_OFF = 60.0  # m from the centre line
OFF = 1.0  # m of the wheels
AIRBORNE_TIME = 0.5  # s off the wheels


@dataclass
class Script:
    """What every part of the flight needs."""

    pilot: Pilot
    recorder: Recorder
    briefing: Briefing
    flaws: dict[str, Flaw]
    idle: str
    """The pack's word for idle power."""
    levers: CleanUp | None = None
    """Gear and flaps to be moved after lift-off; None before it, and once the gear is down again."""

    @property
    def cockpit(self) -> Cockpit:
        """Return the model."""
        return self.pilot.cockpit

    @property
    def held(self) -> Held:
        """Return what the pilot holds."""
        return self.pilot.held

    def amount(self, name: str, otherwise: float = 0.0) -> float:
        """Return how much of a flaw is asked for, SI."""
        flaw = self.flaws.get(name)
        return otherwise if flaw is None else flaw.amount

    def note(self, name: str) -> None:
        """Note a moment."""
        self.recorder.note(name, self.pilot.now)

    def cannot(self, what: str, hint: str = "") -> Exception:
        """Return the fault of a model that does not do what it must."""
        return model_fault(self.cockpit.model.name, what, hint)


def taxi(script: Script) -> None:
    """Taxi against the runway's direction, turn twice to the right, hold short, line up and stop."""
    pilot, held, cockpit = script.pilot, script.held, script.cockpit
    speed = script.amount("fast_taxi", TAXI_SPEED)
    radius = taxi_radius(cockpit)
    straight = taxi_straight(speed)
    way, turn_at, hold_at = taxi_way(
        line_up=script.briefing.field.start_offset + LINED_UP,
        straight=straight,
        side=taxi_side(radius),
        radius=radius,
    )
    held.way, held.ahead, held.line = way, 1.5, None
    script.note("taxi_begins")
    spacing = way.spacing
    slow_down = (speed**2 - TURN_SPEED**2) / (2.0 * SLOWING) + 10.0
    held.taxi_speed = speed
    _taxi_until(script, lambda _: (turn_at - way.at) * spacing < slow_down)
    held.taxi_speed = TURN_SPEED
    _taxi_until(script, lambda _: (hold_at - way.at) * spacing < TURN_SPEED**2 / (2.0 * SLOWING))
    _stop(script)
    script.note("hold_short_stop")
    pilot.wait(HOLD_TIME)
    script.note("hold_short_release")
    held.taxi_speed = TURN_SPEED
    _taxi_until(script, lambda _: way.left < TURN_SPEED**2 / (2.0 * SLOWING))
    _stop(script)
    held.way, held.line = None, 0.0


def taxi_radius(cockpit: Cockpit) -> float:
    """Return the radius of the turns on the ground: not tighter than the nosewheel can."""
    if cockpit.steer_limit <= 0.0:
        return math.inf
    return max(LEAST_RADIUS, RADIUS_OVER_TIGHTEST * cockpit.wheelbase / math.tan(cockpit.steer_limit))


def taxi_side(radius: float) -> float:
    """Return how far right of the centre line the taxiway runs."""
    return hold_line(radius) + radius + 40.0


def taxi_straight(speed: float) -> float:
    """Return how long its straight is, to reach a speed and slow down again."""
    return max(STRAIGHT, 1.6 * speed**2 / SLOWING)


def _taxi_until(script: Script, until: Callable[[Seen], bool]) -> None:
    if not script.pilot.fly(until, 400.0):
        raise script.cannot("cannot be taxied: it does not get round on the ground", "Begin with --no-taxi")


def _stop(script: Script) -> None:
    script.held.taxi_speed = 0.0
    if not script.pilot.fly(lambda seen: seen.ground_speed < 0.15, 60.0):
        raise script.cannot("cannot be stopped with its brakes", "Begin with --no-taxi")


def run_up(script: Script) -> None:
    """Stand on the runway, come up to release power, and hold."""
    pilot, held, brief = script.pilot, script.held, script.briefing.takeoff
    held.taxi_speed = None
    held.brakes, held.throttle, held.line, held.way = 1.0, 0.0, 0.0, None
    pilot.wait(LINED_UP_TIME)
    pilot.sums.steer = 0.0
    if brief.release_power is None:
        return
    script.note("run_up_begins")
    goal = script.cockpit.dry_throttle if brief.release_power != script.idle else 0.0
    _ease_to(script, goal, RUN_UP_TIME)


def _ease_to(script: Script, goal: float, seconds: float) -> None:
    begun = script.pilot.now.time
    while script.pilot.now.time - begun < seconds:
        share = min((script.pilot.now.time - begun) / 2.0, 1.0)
        script.held.throttle = share * goal
        script.pilot.step()


@dataclass
class Run:
    """What has happened on the takeoff run."""

    released: float
    rotation: float
    failed: float | None = None
    stops: bool = False
    closed: float | None = None
    raised: bool = False
    off_since: float | None = None


def takeoff_run(script: Script, takeoff_throttle: float) -> bool:
    """Release, roll, rotate and lift off; return False where the takeoff was rejected instead."""
    pilot, held, brief = script.pilot, script.held, script.briefing.takeoff
    script.recorder.released_at = pilot.now.along
    script.note("brake_release")
    held.brakes = 0.0
    rotation = brief.rotation_cas - script.amount("early_rotation") + script.amount("late_rotation")
    run = Run(pilot.now.time, rotation)
    held.pitch_rate = brief.pitch_rate
    while True:
        seen = pilot.now
        since = seen.time - run.released
        if since >= BURNER_DELAY or brief.release_power is None:
            held.throttle = takeoff_throttle
        _fail(script, run)
        if run.stops and run.failed is not None and seen.time - run.failed >= _levers_after(script):
            return False
        if not run.raised and not run.stops and seen.cas >= run.rotation:
            run.raised = held.pulls = True
            script.note("rotation_begins")
        if held.pulls and not seen.nose_on:
            pilot.take_over_stick()
            held.attitude = brief.attitude + script.amount("over_rotation")
        if _is_off(run, seen):
            script.note("lift_off")
            return True
        if since > LEAST_ROLL and seen.ground_speed < 2.0:
            raise script.cannot("does not roll at takeoff power")
        if abs(seen.right) > FARTHEST_OFF:
            raise script.cannot(
                f"leaves the runway to the side on its takeoff run, at {seen.cas / KNOT:.0f} kt"
            )
        if since > LONGEST_RUN:
            knots = seen.cas / KNOT
            raise script.cannot(
                f"has not lifted off {LONGEST_RUN:.0f} s after brake release, at {knots:.0f} kt"
            )
        pilot.step()


def _is_off(run: Run, seen: Seen) -> bool:
    if seen.mains_on:
        run.off_since = None
        return False
    if run.off_since is None:
        run.off_since = seen.time
    return seen.time - run.off_since > AIRBORNE_TIME or seen.height > OFF


def _fail(script: Script, run: Run) -> None:
    """Fail an engine on the run when its speed has come, and decide."""
    failed = fail_when_due(script)
    if failed is None:
        return
    run.failed = script.pilot.now.time
    decision = script.briefing.takeoff.decision_cas
    below = decision is None or script.pilot.now.cas < decision
    run.stops = failed == "engine_failure_stop" or (failed == "engine_failure" and below)


def fail_when_due(script: Script) -> str | None:
    """Fail an engine if a flaw asks for it at the speed there is, and return the flaw's name; else None."""
    name = next((one for one in script.flaws if one.startswith("engine_failure")), None)
    if name is None or script.cockpit.failed is not None:
        return None
    if script.pilot.now.cas < script.flaws[name].amount:
        return None
    script.note("engine_failed")
    script.cockpit.fail_engine()
    return name


def _levers_after(script: Script) -> float:
    return script.briefing.takeoff.recognition + script.amount("levers_late")


def rejected(script: Script) -> None:
    """Close the levers, brake as planned, and stop."""
    pilot, held, brief = script.pilot, script.held, script.briefing.takeoff
    held.pulls, held.attitude, held.throttle = False, None, 0.0
    script.note("levers_closed")
    pilot.wait(max(brief.brakes_on - brief.recognition - A_LITTLE_EARLY, 0.0))
    script.note("brakes_on")
    held.brakes = script.cockpit.braking(script.briefing.field.braking_friction)
    if not pilot.fly(lambda seen: seen.ground_speed < 0.3, 120.0):
        raise script.cannot("cannot be stopped with its brakes")
    script.note("stopped")
    held.brakes = 1.0
    pilot.wait(8.0)


class CleanUp:
    """Gear and flaps after lift-off."""

    def __init__(self, script: Script) -> None:
        """Begin at lift-off."""
        delay = script.briefing.takeoff.gear_up_delay + script.amount("gear_late")
        self.gear_at = script.pilot.now.time + delay
        self.gear, self.flaps = True, script.cockpit.takeoff_flap > 0.0

    def clean_up(self, script: Script, seen: Seen) -> None:
        """Move the levers when it is time, the gear's in a climb only; fail an engine if its speed comes."""
        fail_when_due(script)
        if self.gear and seen.time >= self.gear_at and seen.vertical_speed > CLIMBING:
            self.gear = False
            script.cockpit.gear(down=False)
            script.note("gear_up_selected")
        if self.flaps and seen.cas >= script.briefing.takeoff.flap_up_cas and seen.height > FLAP_HEIGHT:
            self.flaps = False
            script.cockpit.flaps(0.0)
            script.note("flaps_up_selected")

    def are_up(self) -> bool:
        """Return whether both levers have been moved."""
        return not self.gear and not self.flaps


CLIMBING = 1.3  # m/s
FLAP_HEIGHT = 15.0  # m


def after_lift_off(script: Script) -> None:
    """Hold the attitude to the screen height; gear and flaps come up from here on."""
    pilot, held, brief = script.pilot, script.held, script.briefing.takeoff
    held.way, held.line = None, 0.0
    held.most_bank = LOW_BANK
    held.pitch_rate = max(MOST_PITCH_RATE, brief.pitch_rate)
    levers = script.levers = CleanUp(script)
    begun = pilot.now.time
    while pilot.now.height < brief.screen_height:
        if pilot.now.time - begun > LONGEST_TO_SCREEN:
            raise script.cannot(
                f"lifts off and does not climb to the screen height within {LONGEST_TO_SCREEN:.0f} s"
            )
        levers.clean_up(script, pilot.now)
        pilot.step()
    script.note("screen_height")


LOW_BANK = math.radians(12.0)
