"""A plain scripted pilot: holds what the script asks for, sixty times a second, and sees what happens."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

from sortiewright.flying.cockpit import Cockpit, Seen
from sortiewright.flying.loops import (
    GRAVITY,
    attitude_for_path,
    bank_for,
    clip,
    path_for_sink,
    pitch_goal,
    steering_angle,
    thrust_share,
    towards,
    turned,
    turning_pitch_rate,
    turning_yaw_rate,
)
from sortiewright.flying.ways import Way, turn_rate_to
from sortiewright.pack_sampling import model_fault, rate_command

LOOP_RATE = 60.0  # 1/s
REFERENCE_CHORD = 2.4  # m: an aircraft so large is flown with the quickness below
PITCH_BANDWIDTH, PITCH_CLOSING, PITCH_QUICKNESS = 4.0, 2.5, 2.0  # 1/s
ROLL_BANDWIDTH, ROLL_CLOSING, ROLL_QUICKNESS = 4.0, 1.0, 1.5
YAW_BANDWIDTH, YAW_CLOSING = 3.0, 1.0
MOST_PITCH_RATE, MOST_ROLL_RATE = math.radians(4.0), math.radians(12.0)
STICK_RATE, FLYING_STICK_RATE = 1.0, 3.0  # full travels a second: pulled faster, the nosewheel hops
TRIM_FROM, TRIM_RATE = 0.8, 0.05  # share of stick travel from which trim helps; travels a second
LEVER_RATE = 0.5
PATH_LEAD, ANGLE_TIME = 0.6, 2.5  # share; s over which the angle of attack counts as settled
FLARE_LEAD, FLARE_ANGLE_TIME = 1.0, 1.0
STEER_QUICKNESS, LINE_TIME, LINE_ROOM = 1.2, 3.5, 20.0  # 1/s, s, m: on the ground, towards a line
STEER_LEAD, STEER_HOLD, STEER_CLOSING, STEER_SPEED = 0.3, 0.25, 1.0, 2.0  # s, s, 1/s, m/s
TRACK_QUICKNESS, TRACK_TIME = 0.3, 12.0  # 1/s, s: in the air
MOST_SIDE_ACCELERATION = 1.5  # m/s2 on the ground
RUDDER_SPEED = 12.0  # m/s from which feet move the rudder as well
ACCELERATION_TIME = 1.0  # s
MOST_TAXI_ACCELERATION, MOST_AIR_ACCELERATION = 0.8, 1.0  # m/s2
LOWEST = -3.0  # m of the wheels under the ground
MOST_BANK = math.radians(75.0)


@dataclass
class Held:
    """What the pilot holds. None: left alone."""

    attitude: float | None = None
    """Pitch; stick neutral where neither it nor ``path`` is held."""
    path: Callable[[Seen], float] | None = None
    """Climb angle."""
    least_attitude: float = -math.inf
    most_attitude: float = math.inf
    """Both while ``path`` is held."""
    path_lead: float = PATH_LEAD
    angle_time: float = ANGLE_TIME
    path_rate: float = math.radians(1.5)
    """Of the climb angle asked for, rad/s."""
    pulls: bool = False
    """Stick aft all the way until the nosewheel is off."""
    pitch_rate: float = MOST_PITCH_RATE
    bank: float = 0.0
    way: Way | None = None
    ahead: float = 6.0
    """s of flight to look along the way."""
    most_bank: float = math.radians(30.0)
    line: float | None = 0.0
    """Line steered along on the ground, m right of the centre line; None: the way is."""
    cas: float | None = None
    """Speed held by power."""
    taxi_speed: float | None = None
    """Ground speed held by power and brakes."""
    throttle: float = 0.0
    brakes: float = 1.0


@dataclass
class _Sums:
    """What the loops have found to be needed, and what they remember."""

    pitch: float = 0.0
    roll: float = 0.0
    yaw: float = 0.0
    steer: float = 0.0
    thrust: float = 0.08
    brake: float = 0.0
    stick: float = 0.0
    trim: float = 0.0
    lever: float = 0.0
    path: float | None = None
    angle: float | None = None
    acceleration: float = 0.0
    excess: float = 0.0
    last_tas: float | None = None


@dataclass
class Pilot:
    """The loops. ``watch`` is called with what is seen after every step."""

    cockpit: Cockpit
    watch: Callable[[Seen], None]
    held: Held = field(default_factory=Held)

    def __post_init__(self) -> None:
        cockpit = self.cockpit
        self.steps = max(1, round(1.0 / LOOP_RATE / cockpit.step_time))
        self.step_time = self.steps * cockpit.step_time
        self.size = math.sqrt(REFERENCE_CHORD / cockpit.powers.chord)
        self.size = clip(self.size, 0.4, 1.3)
        self.sums = _Sums()
        self.now = cockpit.seen()
        self.phase = ""

    def fly(self, until: Callable[[Seen], bool], longest: float) -> bool:
        """Go on until something is so; return False where it is not within ``longest`` seconds."""
        begun = self.now.time
        while self.now.time - begun < longest:
            if until(self.now):
                return True
            self.step()
        return until(self.now)

    def wait(self, seconds: float) -> None:
        """Go on for some seconds."""
        self.fly(lambda _: False, seconds)

    def step(self) -> None:
        """Move the controls, and let the simulation go on."""
        seen = self.now
        self._remember(seen)
        rate = self._turn_rate(seen)
        on_ground = seen.mains_on
        bank = 0.0 if on_ground else self._bank(seen, rate)
        aft = self._stick(seen, bank)
        quickest = STICK_RATE if on_ground and aft > self.sums.stick else FLYING_STICK_RATE
        self.sums.stick = towards(self.sums.stick, aft, quickest * self.step_time)
        if not on_ground and abs(self.sums.stick) > TRIM_FROM:
            self.sums.trim += math.copysign(TRIM_RATE * self.step_time, self.sums.stick)
            self.cockpit.trim(self.sums.trim)
        self.cockpit.stick(self.sums.stick, self._aileron(seen, bank))
        self.cockpit.feet(*self._feet(seen, rate, on_ground))
        self._power(seen)
        self.cockpit.run(self.steps)
        self.now = self.cockpit.seen()
        self._check(self.now)
        self.watch(self.now)

    def _remember(self, seen: Seen) -> None:
        """Note what has settled: angle of attack, acceleration, and the climb angle that power could give."""
        sums, step = self.sums, self.step_time
        if sums.last_tas is not None:
            raw = (seen.tas - sums.last_tas) / step
            sums.acceleration += (raw - sums.acceleration) * step / ACCELERATION_TIME
        sums.last_tas = seen.tas
        level = seen.angle_of_attack * math.cos(seen.bank)
        before = level if sums.angle is None or seen.mains_on else sums.angle
        sums.angle = before + (level - before) * step / self.held.angle_time
        excess = math.sin(seen.climb_angle) + sums.acceleration / GRAVITY
        sums.excess += (excess - sums.excess) * step / ACCELERATION_TIME

    def _check(self, seen: Seen) -> None:
        """Raise ``InputError`` where the model has been lost."""
        fell = seen.height < LOWEST or abs(seen.bank) > MOST_BANK or not math.isfinite(seen.tas + seen.height)
        if fell:
            raise model_fault(
                self.cockpit.model.name,
                f"was lost by the pilot {self.phase}, {seen.time:.0f} s into the flight",
                "Its controls may want a flight control system of their own",
            )

    def _turn_rate(self, seen: Seen) -> float:
        """Return the turn rate wanted, right positive."""
        held, speed = self.held, max(seen.ground_speed, 1.0)
        if held.way is not None:
            ahead = max(held.ahead * speed, 1.5 * self.cockpit.wheelbase)
            course = seen.heading if seen.ground_speed < 3.0 else seen.course
            return turn_rate_to(
                held.way, along=seen.along, right=seen.right, course=course, speed=speed, ahead=ahead
            )
        if held.line is None:
            return 0.0
        off = seen.right - held.line
        if seen.mains_on:
            aim = -math.atan(off / (LINE_TIME / self.size * speed + LINE_ROOM))
            return clip(STEER_QUICKNESS * self.size * turned(aim, seen.heading), -0.2, 0.2)
        aim = -math.atan(off / (TRACK_TIME * speed))
        return TRACK_QUICKNESS * turned(aim, seen.course)

    def _bank(self, seen: Seen, rate: float) -> float:
        held = self.held
        if held.way is None and held.line is None:
            return held.bank
        return bank_for(rate * seen.ground_speed, held.most_bank)

    def _stick(self, seen: Seen, bank: float) -> float:
        """Return the stick wanted, aft positive."""
        held, sums, powers = self.held, self.sums, self.cockpit.powers
        if held.pulls:
            return 1.0
        if held.attitude is None and held.path is None:
            return 0.0
        quickness = PITCH_QUICKNESS * self.size
        if held.path is not None:
            angle = (sums.angle or 0.0) / max(math.cos(bank), 0.5)
            before = seen.climb_angle if sums.path is None else sums.path
            sums.path = towards(before, held.path(seen), held.path_rate * self.step_time)
            attitude = attitude_for_path(sums.path, seen.climb_angle, angle, held.path_lead)
            attitude = clip(attitude, held.least_attitude, held.most_attitude)
        else:
            attitude, sums.path = held.attitude or 0.0, None
        goal = pitch_goal(attitude, seen.pitch, quickness, held.pitch_rate)
        goal += 0.0 if seen.mains_on else turning_pitch_rate(seen.bank, seen.tas)
        command, sums.pitch = rate_command(
            goal,
            seen.pitch_rate,
            sums.pitch,
            power=self._power_of(powers.pitch, seen),
            bandwidth=PITCH_BANDWIDTH * self.size,
            closing=PITCH_CLOSING * self.size,
            step=self.step_time,
        )
        return command

    def take_over_stick(self) -> None:
        """Begin to meter a pull that has been all the way aft."""
        self.held.pulls = False
        self.sums.pitch = self.sums.stick * self._power_of(self.cockpit.powers.pitch, self.now)

    def _power_of(self, power: float, seen: Seen) -> float:
        return max(power * seen.dynamic_pressure, 0.05)

    def _aileron(self, seen: Seen, bank: float) -> float:
        quickness = ROLL_QUICKNESS * self.size
        goal = clip(quickness * (bank - seen.bank), -MOST_ROLL_RATE, MOST_ROLL_RATE)
        if seen.mains_on:
            self.sums.roll = 0.0
        command, self.sums.roll = rate_command(
            goal,
            seen.roll_rate,
            self.sums.roll,
            power=self._power_of(self.cockpit.powers.roll, seen),
            bandwidth=ROLL_BANDWIDTH * self.size,
            closing=ROLL_CLOSING * self.size,
            step=self.step_time,
        )
        return command

    def _feet(self, seen: Seen, rate: float, on_ground: bool) -> tuple[float, float]:
        """Return rudder, right foot positive, and the angle of the nosewheel, right positive."""
        speed = max(seen.ground_speed, 1.0)
        steering = 0.0
        if on_ground:
            most = MOST_SIDE_ACCELERATION / speed
            goal = clip(rate, -most, most)
            steering = self._steering(goal, seen.yaw_rate, speed)
        else:
            self.sums.steer = 0.0
            goal = turning_yaw_rate(seen.bank, seen.tas) * math.cos(seen.pitch) + 0.6 * seen.sideslip
        if seen.tas < RUDDER_SPEED:
            self.sums.yaw = 0.0
            return 0.0, steering
        command, self.sums.yaw = rate_command(
            goal,
            seen.yaw_rate,
            self.sums.yaw,
            power=self._power_of(self.cockpit.powers.yaw, seen),
            bandwidth=YAW_BANDWIDTH * self.size,
            closing=YAW_CLOSING * self.size,
            step=self.step_time,
        )
        return command, steering

    def _steering(self, goal: float, rate: float, speed: float) -> float:
        """Return the angle of the nosewheel that brings about a turn rate, rolling or against a swing."""
        base, limit, sums = self.cockpit.wheelbase, self.cockpit.steer_limit, self.sums
        lag = max(STEER_LEAD * base / speed, STEER_HOLD) * (goal - rate)
        wanted = steering_angle(goal, speed, base) + lag + sums.steer
        if abs(wanted) < limit and speed > STEER_SPEED:
            sums.steer = clip(sums.steer + STEER_CLOSING * lag * self.step_time, -limit, limit)
        return clip(wanted, -limit, limit)

    def _power(self, seen: Seen) -> None:
        """Move levers and brakes."""
        held, sums, cockpit = self.held, self.sums, self.cockpit
        if held.taxi_speed is not None:
            self._taxi(seen, held.taxi_speed)
            return
        cockpit.brakes(held.brakes)
        if held.cas is None:
            sums.lever = held.throttle
        else:
            acceleration = clip(0.12 * (held.cas - seen.cas), -MOST_AIR_ACCELERATION, MOST_AIR_ACCELERATION)
            share = self._share(seen, acceleration, seen.climb_angle, 0.15)
            goal = share * cockpit.dry_throttle
            if share >= 1.0 and cockpit.failed is not None and cockpit.has_burner:
                goal = 1.0  # one engine has to do for all
            sums.lever = towards(sums.lever, goal, LEVER_RATE * self.step_time)
        cockpit.throttle(sums.lever)

    def _share(self, seen: Seen, acceleration: float, climb_angle: float, closing: float) -> float:
        """Return the share of dry thrust wanted, and learn the drag from what is missing."""
        cockpit, sums = self.cockpit, self.sums
        engines = len(cockpit.description.engines)
        alive = (engines - (cockpit.failed is not None)) / engines
        ratio = alive * cockpit.static_thrust / (seen.mass * GRAVITY)
        if cockpit.description.engines[0].has_propeller:
            ratio *= PROPELLER_LAPSE
        share = thrust_share(acceleration, climb_angle, sums.thrust, thrust_over_weight=ratio)
        missing = (acceleration - sums.acceleration) / GRAVITY
        if (share > 0.0 or missing > 0.0) and (share < 1.0 or missing < 0.0):
            sums.thrust += closing * missing * self.step_time
        return share

    def _taxi(self, seen: Seen, speed: float) -> None:
        cockpit, sums = self.cockpit, self.sums
        most = MOST_TAXI_ACCELERATION
        acceleration = clip(0.4 * (speed - seen.ground_speed), -most, most)
        if speed <= 0.0:
            sums.thrust = 0.02
            goal, pull = 0.0, cockpit.thrust() / (seen.mass * GRAVITY)
            if sums.acceleration > -0.3 * STOPPING * GRAVITY:
                sums.brake += 0.05 * self.step_time
            friction = pull + sums.brake + STOPPING * clip(seen.ground_speed, 0.2, 1.0)
            brakes = 1.0 if seen.ground_speed < STANDSTILL else cockpit.braking(friction)
        else:
            sums.brake = 0.0
            sums.thrust = clip(sums.thrust, -0.02, 0.1)
            goal = min(self._share(seen, acceleration, 0.0, 0.1), MOST_TAXI_SHARE) * cockpit.dry_throttle
            brakes = cockpit.braking(clip(0.1 * (seen.ground_speed - speed - 0.5), 0.0, MOST_TAXI_BRAKING))
        self.held.brakes = brakes
        cockpit.brakes(brakes)
        sums.lever = towards(sums.lever, goal, 0.3 * self.step_time)
        cockpit.throttle(sums.lever)


PROPELLER_LAPSE = 0.6
MOST_TAXI_SHARE = 0.6
STOPPING, MOST_TAXI_BRAKING = 0.08, 0.15  # g
STANDSTILL = 0.15  # m/s


def sink_path(sink: Callable[[Seen], float]) -> Callable[[Seen], float]:
    """Return the climb angle that gives a sink rate."""
    return lambda seen: path_for_sink(sink(seen), seen.tas)
