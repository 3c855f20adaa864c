"""A takeoff, a stop and a landing of a pack's aircraft by a short, separate road: one case, small time steps.

Nothing here comes from the program's own physics; only the pack's numbers are shared, and what a pack means by
them: thrust changes evenly over the pack's times, spooling up takes the part of the idle to military time that
the thrust step takes, drag due to lift is what the drag is over its value at zero lift, and a run after an engine
failure counts to lift-off. `check_dotterel.py` and `check_whinchat.py` use it; the values of the packs' book.yaml
were found with it. SI throughout; no array, no batch.

References
----------
[1] ISO 2533, Standard Atmosphere.
[2] Anderson, Introduction to Flight, section 6.15: ground run, and the factor of ground effect.
[3] Anderson, Aircraft Performance and Design, sections 4.2 and 6.7: equations of motion, flare. From memory.
[4] 14 CFR 25.149: minimum control speed, no help from the nosewheel. From memory.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from math import atan, cos, exp, inf, isfinite, nan, sin, sqrt, tan

from sortiewright.pack import BookPoint, Pack, Table, to_si

G = 9.80665  # m/s2
R = 287.05287  # J/(kg K) [1]
P0, T0, A0 = 101_325.0, 288.15, 340.294  # [1]
LB, KT, FT = 0.45359237, 1852 / 3600, 0.3048
LBF = LB * G
MFT_LBF = 1.3558179483e6  # J
STEP = 0.02  # s
LONGEST = 150.0  # s


@dataclass(frozen=True)
class Day:
    """Air, wind and runway. ``slope`` is rise over run, ``reading`` the runway condition reading."""

    pressure: float = P0
    temperature: float = T0
    headwind: float = 0.0
    slope: float = 0.0
    reading: float = 23.0

    @cached_property
    def density(self) -> float:
        """Density, kg/m3."""
        return self.pressure / (R * self.temperature)

    @cached_property
    def sound(self) -> float:
        """Speed of sound, m/s."""
        return sqrt(1.4 * R * self.temperature)

    @cached_property
    def pressure_altitude(self) -> float:
        """Height at which the standard atmosphere has this pressure, m; below 11 km."""
        return T0 / 0.0065 * (1 - (self.pressure / P0) ** (0.0065 * R / G))

    @cached_property
    def deviation(self) -> float:
        """Temperature less the standard one at this pressure, K."""
        return self.temperature - (T0 - 0.0065 * self.pressure_altitude)

    def cas(self, tas: float) -> float:
        """Return the calibrated airspeed of a true airspeed, subsonic."""
        impact = self.pressure * ((1 + 0.2 * (tas / self.sound) ** 2) ** 3.5 - 1)
        return A0 * sqrt(5 * ((impact / P0 + 1) ** (2 / 7) - 1))

    def tas(self, cas: float) -> float:
        """Return the true airspeed of a calibrated airspeed, subsonic."""
        impact = P0 * ((1 + 0.2 * (cas / A0) ** 2) ** 3.5 - 1)
        return self.sound * sqrt(5 * ((impact / self.pressure + 1) ** (2 / 7) - 1))


def standard_day(pressure_altitude: float = 0.0, deviation: float = 0.0, **rest: float) -> Day:
    """Return the standard day at a pressure altitude, m, or one that much warmer."""
    standard = T0 - 0.0065 * pressure_altitude
    return Day(P0 * (standard / T0) ** (G / (0.0065 * R)), standard + deviation, **rest)


class Lookup:
    """A table of one or two axes, read by straight lines; plain floats, for speed."""

    def __init__(self, table: Table) -> None:
        self.axes = [axis.tolist() for axis in table.axes]
        self.values = table.values.tolist()

    def __call__(self, first: float, second: float | None = None) -> float:
        i, a = self.place(0, first)
        if second is None:
            return self.values[i] * (1 - a) + self.values[i + 1] * a
        j, b = self.place(1, second)
        low, high = self.values[i], self.values[i + 1]
        return (low[j] * (1 - b) + low[j + 1] * b) * (1 - a) + (high[j] * (1 - b) + high[j + 1] * b) * a

    def place(self, axis: int, point: float) -> tuple[int, float]:
        """Return the cell and the share of it at which a point lies."""
        points = self.axes[axis]
        if not points[0] - 1e-9 <= point <= points[-1] + 1e-9:
            raise ValueError(f"{point} is outside {points[0]} to {points[-1]}")
        cell = min(max(bisect_right(points, point) - 1, 0), len(points) - 2)
        return cell, (point - points[cell]) / (points[cell + 1] - points[cell])


class Wing:
    """Lift and drag of one configuration, gear up, no stores."""

    def __init__(self, pack: Pack, name: str) -> None:
        record = pack.aero.configurations[name]
        self.record, self.lift, self.drag = record, Lookup(record.lift), Lookup(record.drag)
        self.maximum_lift = Lookup(record.maximum_lift)
        # At zero lift, or where the table begins if it has lift from its first angle on.
        angles, machs = record.lift.axes
        self.machs = machs.tolist()
        self.zero = [self.angle_of(0.0, mach, angles.tolist()) for mach in self.machs]

    def angle_of(self, cl: float, mach: float, angles: list[float] | None = None) -> float:
        """Return the angle of attack below the stall at which lift has this coefficient."""
        known = self.lift.axes[0] if angles is None else angles
        lifts = [self.lift(angle, mach) for angle in known]
        for k in range(len(known) - 1):
            if lifts[k] <= cl <= lifts[k + 1]:
                return known[k] + (known[k + 1] - known[k]) * (cl - lifts[k]) / (lifts[k + 1] - lifts[k])
        return known[0] if cl < lifts[0] else nan

    def parts(self, alpha: float, mach: float) -> tuple[float, float, float]:
        """Return CL, CD at zero lift and CD due to lift."""
        k = min(max(bisect_right(self.machs, mach) - 1, 0), len(self.machs) - 2)
        share = (mach - self.machs[k]) / (self.machs[k + 1] - self.machs[k])
        least = self.drag(self.zero[k] * (1 - share) + self.zero[k + 1] * share, mach)
        return self.lift(alpha, mach), least, self.drag(alpha, mach) - least


@dataclass(frozen=True)
class Run:
    """Seconds and metres since release, ground speed m/s."""

    time: float = 0.0
    distance: float = 0.0
    speed: float = 0.0


@dataclass(frozen=True)
class Flight:
    """Lift-off and the screen: metres from release (inf: never), true airspeed m/s, rad, s."""

    ground_run: float = inf
    lift_off_tas: float = nan
    attitude: float = nan
    lift_off_time: float = nan
    to_screen: float = inf
    screen_tas: float = nan


@dataclass(frozen=True)
class Rest:
    """A stop: metres from where it was counted, J into the brakes, s."""

    distance: float
    energy: float
    time: float


class PointMass:
    """One aircraft on one day."""

    def __init__(self, pack: Pack, mass: float, cg: float, day: Day | None = None, index: float = 0.0) -> None:
        self.pack, self.mass, self.index = pack, mass, index
        self.day = Day() if day is None else day
        self.weight = mass * G
        self.cg_arm = pack.airframe.mean_chord_leading_edge_arm + cg * pack.airframe.mean_chord
        self.wings = {name: Wing(pack, name) for name in pack.aero.configurations}
        self.engines = {name: Lookup(one.thrust) for name, one in pack.engine.settings.items()}
        self.factors = {
            name: Lookup(one.thrust_temperature_factor)(self.day.deviation)
            for name, one in pack.engine.settings.items()
            if one.thrust_temperature_factor is not None
        }
        tilt = atan(self.day.slope)
        self.load, self.pull = self.weight * cos(tilt), self.weight * sin(tilt)

    def thrust(self, setting: str, tas: float) -> float:
        """Return the thrust of one engine, N."""
        mach = max(tas, 0.0) / self.day.sound
        return self.engines[setting](mach, self.day.pressure_altitude) * self.factors.get(setting, 1.0)

    def pressure(self, tas: float) -> float:
        """Return dynamic pressure, Pa."""
        return 0.5 * self.day.density * tas * tas

    def coefficients(
        self, name: str, alpha: float, tas: float, *, height: float = inf, gear: float = 1.0, brake: float = 0.0
    ) -> tuple[float, float]:
        """Return CL and CD; ``height`` of the wheels for the ground effect on drag due to lift [2]."""
        cl, least, due = self.wings[name].parts(alpha, abs(tas) / self.day.sound)
        aero, frame = self.pack.aero, self.pack.airframe
        if isfinite(height):
            x = (16 * (frame.wing_height + height) / frame.span) ** 2
            due *= x / (1 + x)
        extra = gear * aero.gear.drag + brake * aero.speedbrake.drag + self.index * aero.drag_per_index
        return cl + gear * aero.gear.lift + brake * aero.speedbrake.lift, least + due + extra

    def stall(self, name: str) -> float:
        """Return the power-off stalling speed, m/s true."""
        tas = 60.0
        for _ in range(20):
            peak = self.wings[name].maximum_lift(tas / self.day.sound) + self.pack.aero.gear.lift
            tas = sqrt(2 * self.weight / (self.day.density * self.pack.airframe.wing_area * peak))
        return tas

    def nosewheel_lift_off(self) -> float:
        """Return the speed at which full aft stick takes the load off the nosewheel, m/s true.

        Moments about the main wheels' contact: the tail and the lift against weight, friction and thrust line.
        """
        frame, aero, name = self.pack.airframe, self.pack.aero, self.pack.technique.takeoff.configuration
        power = self.pack.technique.takeoff.power
        alpha, height, friction = (
            frame.static_ground_attitude,
            frame.centre_of_gravity_height,
            self.pack.wheels.rolling_friction,
        )
        wing = self.wings[name].record
        cm = wing.pitching_moment_zero + wing.pitching_moment_slope * alpha + aero.gear.pitching_moment
        cm += aero.pitch_control.moment_per_angle * aero.pitch_control.full_aft_angle
        tas = 60.0
        for _ in range(60):
            cl, cd = self.coefficients(name, alpha, tas, height=0.0)
            lever = frame.mean_chord * cm + cd * (frame.moment_reference_height - height)
            lever += cl * (frame.main_wheel_arm - frame.moment_reference_arm + friction * height)
            thrust = self.pack.engine.count * self.thrust(power, tas)
            need = self.weight * (frame.main_wheel_arm - self.cg_arm + friction * height)
            need += thrust * (frame.thrust_line_height - height)
            tas = sqrt(2 * need / (self.day.density * frame.wing_area * lever))
        return tas

    def rotation(self) -> float:
        """Return the speed at which the nose begins to rise, m/s true."""
        technique = self.pack.technique.takeoff
        assert technique.rotation_speed is not None
        planned = self.day.tas(float(technique.rotation_speed(self.mass)))
        return max(planned, self.nosewheel_lift_off())

    @cached_property
    def spool(self) -> float:
        """Seconds from release power to military, or to takeoff power without afterburner."""
        engine, technique = self.pack.engine, self.pack.technique.takeoff
        dry = engine.military if engine.settings[technique.power].augmented else technique.power
        low, high, begin, end = (
            self.thrust(name, 0.0)
            for name in (engine.idle, engine.military, technique.release_power or engine.idle, dry)
        )
        return engine.transients.idle_to_military * max(end - begin, 0.0) / (high - low)

    def levers(self, time: float, tas: float, *, closed_at: float = inf) -> float:
        """Return the thrust of one engine, N: takeoff power from release, levers closed at ``closed_at``."""
        engine, technique = self.pack.engine, self.pack.technique.takeoff
        times, augmented = engine.transients, engine.settings[technique.power].augmented
        then = min(time, closed_at)
        spun = share(then, 0.0, self.spool)
        lit = share(then, self.spool + times.light_delay, times.light_to_full) if augmented else 0.0
        dry = self.thrust(engine.military if augmented else technique.power, tas)
        thrust = dry if spun >= 1 else spun * dry + (1 - spun) * self.thrust(technique.release_power or "idle", tas)
        left = 1 - share(time, closed_at, times.military_to_idle)
        if lit > 0:
            burning = min(1 - share(time, closed_at, times.cancel_augmentation), left) / max(left, 1e-9)
            thrust += lit * burning * (self.thrust(technique.power, tas) - dry)
        return thrust if left >= 1 else left * thrust + (1 - left) * self.thrust(engine.idle, tas)

    def pulling(self, time: float, tas: float, failed_at: float) -> tuple[float, float]:
        """Return the thrust of all engines and the drag of a failed one, N."""
        one, engine = self.levers(time, tas), self.pack.engine
        if time <= failed_at:
            return engine.count * one, 0.0
        dead = share(time, failed_at, engine.transients.failure_decay)
        return (engine.count - dead) * one, self.failed_drag(dead * one, tas)

    def failed_drag(self, missing: float, tas: float) -> float:
        """Return the drag of a dead engine and of the rudder that holds the ``missing`` thrust's moment, N."""
        frame, control, q = self.pack.airframe, self.pack.aero.directional_control, self.pressure(tas)
        windmill = q * self.pack.engine.windmilling_drag_area
        if control is None or q <= 0:
            return windmill
        yaw = (missing + windmill) * frame.engine_side_arm / (q * frame.wing_area * frame.span)
        held = min(yaw, control.rudder_yawing_moment)
        return windmill + control.asymmetric_drag_factor * held**2 * q * frame.wing_area

    def accelerate(self, to_speed: float, start: Run | None = None, failed_at: float = inf) -> Run:
        """Return the run on three wheels to a ground speed; an infinite time if it is never reached."""
        frame, name, day = self.pack.airframe, self.pack.technique.takeoff.configuration, self.day
        alpha, friction = frame.static_ground_attitude, self.pack.wheels.rolling_friction
        along, up = cos(alpha + frame.thrust_inclination), sin(alpha + frame.thrust_inclination)

        def gain(time: float, speed: float) -> float:
            tas = speed + day.headwind
            thrust, failed = self.pulling(time, tas, failed_at)
            cl, cd = self.coefficients(name, alpha, tas, height=0.0)
            q_s = self.pressure(tas) * frame.wing_area
            wheels = max(self.load - q_s * cl - thrust * up, 0.0)
            drag = q_s * cd if tas >= 0 else -q_s * cd
            return (thrust * along - drag - failed - friction * wheels - self.pull) / self.mass

        run = Run() if start is None else start
        while run.speed < to_speed:
            new = midpoint(gain, run)
            if new.time > LONGEST or (new.speed <= run.speed and new.time > 20):
                return Run(inf, inf, to_speed)
            if new.speed >= to_speed:
                part = (to_speed - run.speed) / (new.speed - run.speed)
                return Run(run.time + part * STEP, run.distance + part * (new.distance - run.distance), to_speed)
            run = new
        return run

    def take_off(self, start: Run | None = None, failed_at: float = inf) -> Flight:
        """Return lift-off and the screen, from release or from ``start`` with an engine failed."""
        run = self.accelerate(self.rotation() - self.day.headwind, start, failed_at)
        if not isfinite(run.time):
            return Flight()
        frame, technique, name = self.pack.airframe, self.pack.technique.takeoff, self.pack.technique.takeoff.configuration
        day, friction, began = self.day, self.pack.wheels.rolling_friction, run.time

        def attitude(time: float) -> float:
            risen = frame.static_ground_attitude + technique.pitch_rate * (time - began)
            return min(risen, technique.takeoff_attitude)

        def forces(time: float, speed: float) -> tuple[float, float]:
            tas, alpha = speed + day.headwind, attitude(time)
            thrust, failed = self.pulling(time, tas, failed_at)
            cl, cd = self.coefficients(name, alpha, tas, height=0.0)
            q_s, tilt = self.pressure(tas) * frame.wing_area, alpha + frame.thrust_inclination
            wheels = self.load - q_s * cl - thrust * sin(tilt)
            net = thrust * cos(tilt) - q_s * cd - failed - friction * max(wheels, 0.0) - self.pull
            return wheels, net / self.mass

        wheels = forces(run.time, run.speed)[0]
        while wheels > 0:
            before, run_before = wheels, run
            run = midpoint(lambda t, v: forces(t, v)[1], run)
            wheels = forces(run.time, run.speed)[0]
            if run.speed <= run_before.speed or run.time > LONGEST:
                return Flight()
            if wheels <= 0:
                part = before / (before - wheels)
                run = Run(
                    *(a + part * (b - a) for a, b in zip(values(run_before), values(run), strict=True))
                )
        flight = Flight(run.distance, run.speed + day.headwind, attitude(run.time), run.time)
        return self.climb(flight, run, attitude, failed_at)

    def climb(self, flight: Flight, run: Run, attitude: Callable[[float], float], failed_at: float) -> Flight:
        """Return the flight carried on to the screen: pitch held, gear coming up [3]."""
        frame, technique, gear = self.pack.airframe, self.pack.technique.takeoff, self.pack.aero.gear
        slope, wind = atan(self.day.slope), self.day.headwind
        time, x, height, tas, path = run.time, run.distance, 0.0, run.speed + wind, 0.0
        while height < technique.screen_height:
            alpha = attitude(time) - path
            raised = share(time, run.time + technique.gear_up_delay, gear.travel_time)
            thrust, failed = self.pulling(time, tas, failed_at)
            cl, cd = self.coefficients(
                technique.configuration, alpha, tas, height=max(height, 0.0), gear=1 - raised
            )
            q_s, tilt = self.pressure(tas) * frame.wing_area, alpha + frame.thrust_inclination
            gained = (thrust * cos(tilt) - q_s * cd - failed) / self.mass - G * sin(path + slope)
            turned = ((q_s * cl + thrust * sin(tilt)) / self.mass - G * cos(path + slope)) / tas
            # Half a step on for the speed and the path, so that the step is centred.
            middle, centre = tas + 0.5 * STEP * gained, path + 0.5 * STEP * turned
            rise = middle * sin(centre) * STEP
            if height + rise >= technique.screen_height:
                part = (technique.screen_height - height) / rise
                distance = x + part * (middle * cos(centre) - wind) * STEP
                return Flight(
                    flight.ground_run, flight.lift_off_tas, flight.attitude, flight.lift_off_time, distance, tas
                )
            time, height, x = time + STEP, height + rise, x + (middle * cos(centre) - wind) * STEP
            tas, path = tas + STEP * gained, path + STEP * turned
            if height < -0.3 or time > LONGEST:
                break
        return flight

    def reject(self, event: Run, *, chute: bool = False) -> Rest:
        """Return the stop from an event in the run, all engines turning; distance from release."""
        rejected = self.pack.technique.takeoff.rejected
        closed = event.time + rejected.recognition
        rest = self.slow(
            event.speed,
            self.pack.technique.takeoff.configuration,
            lambda since, tas: self.pack.engine.count * self.levers(event.time + since, tas, closed_at=closed),
            brakes_on=rejected.brakes_on,
            chute_at=rejected.chute_commanded if chute else None,
        )
        return Rest(event.distance + rest.distance, rest.energy, event.time + rest.time)

    def slow(
        self,
        speed: float,
        name: str,
        thrust_at: Callable[[float, float], float],
        *,
        brakes_on: float,
        chute_at: float | None,
        brake: float = 0.0,
        held: float | None = None,
        held_until: float = 0.0,
    ) -> Rest:
        """Return the way from a ground speed to rest; ``held`` is the attitude kept until a calibrated airspeed."""
        frame, wheels, day = self.pack.airframe, self.pack.wheels, self.day
        canopy = wheels.chute if chute_at is not None else None
        inflated = inf if canopy is None or chute_at is None else chute_at + canopy.inflation_time
        most, least = (day.tas(canopy.maximum_cas), day.tas(canopy.least_useful_cas)) if canopy else (0.0, 0.0)
        nose_down = day.tas(held_until) if held is not None else inf
        friction = Lookup(wheels.braking_friction)(day.reading)
        most_brake = inf if wheels.maximum_brake_force is None else wheels.maximum_brake_force

        def forces(since: float, v: float) -> tuple[float, float]:
            tas = v + day.headwind
            up = held is not None and tas > nose_down
            alpha = held if up and held is not None else frame.static_ground_attitude
            thrust, tilt = thrust_at(since, tas), alpha + frame.thrust_inclination
            cl, cd = self.coefficients(name, alpha, tas, height=0.0, brake=brake)
            q = self.pressure(tas)
            on_wheels = max(self.load - q * frame.wing_area * cl - thrust * sin(tilt), 0.0)
            main, brakes = on_wheels * (1 - wheels.nose_load_share), 0.0
            rolling = wheels.rolling_friction * on_wheels
            if since >= brakes_on and not up:
                brakes = min(friction * main, most_brake)
                rolling -= wheels.rolling_friction * main
            drag = q * frame.wing_area * cd
            if canopy is not None and since >= inflated and least <= tas <= most:
                drag += q * canopy.drag_area
            return (thrust * cos(tilt) - drag - rolling - brakes - self.pull) / self.mass, brakes

        run, energy = Run(0.0, 0.0, speed), 0.0
        while run.speed > 0:
            brakes = forces(run.time, run.speed)[1]
            new = midpoint(lambda t, v: forces(t, v)[0], run)
            if new.time > 4 * LONGEST:
                return Rest(inf, inf, inf)
            energy += 0.5 * (brakes + forces(new.time, max(new.speed, 0.0))[1]) * (new.distance - run.distance)
            run = new
        return Rest(run.distance, energy, run.time)

    def critical(self, *, chute: bool = False) -> tuple[float, float]:
        """Return the critical field length, m, and the critical engine failure speed, m/s calibrated."""
        low, high = 0.3 * self.rotation(), self.rotation() - self.day.headwind
        for _ in range(14):
            speed = 0.5 * (low + high)
            event = self.accelerate(speed)
            stop = self.reject(event, chute=chute).distance
            if stop < self.take_off(event, event.time).ground_run:
                low = speed
            else:
                high = speed
        return self.reject(self.accelerate(low), chute=chute).distance, self.day.cas(low + self.day.headwind)

    def approach(self, name: str | None = None, glide: float | None = None) -> tuple[float, float]:
        """Return the on-speed true airspeed on the glide path, m/s, and the thrust it needs, N."""
        landing = self.pack.technique.landing
        name, glide = name or landing.configuration, landing.glide_angle if glide is None else glide
        alpha, tas, thrust = landing.on_speed_angle_of_attack, 75.0, 0.0
        tilt = alpha + self.pack.airframe.thrust_inclination
        for _ in range(60):
            cl, cd = self.coefficients(name, alpha, tas)
            q_s = self.pressure(tas) * self.pack.airframe.wing_area
            thrust = (q_s * cd - self.weight * sin(glide)) / cos(tilt)
            carried = self.weight * cos(glide) - thrust * sin(tilt)
            tas = sqrt(2 * carried / (self.day.density * self.pack.airframe.wing_area * cl))
        return tas, thrust

    def land(self, *, chute: bool = False) -> tuple[float, Rest]:
        """Return the distance from the threshold height to touchdown, m, and the roll."""
        landing, day = self.pack.technique.landing, self.day
        threshold = self.approach()[0]
        touchdown, path = threshold * landing.touchdown_speed_share, landing.glide_angle
        radius = 0.0
        if landing.flare_load_factor is not None:
            radius = threshold**2 / (G * (landing.flare_load_factor - 1))
        still = (landing.threshold_height - radius * (1 - cos(path))) / tan(path) + radius * sin(path)
        mean = 0.5 * (threshold + touchdown)
        idle = self.pack.engine.idle
        roll = self.slow(
            touchdown - day.headwind,
            landing.configuration,
            lambda _, tas: self.pack.engine.count * self.thrust(idle, tas),
            brakes_on=landing.free_roll_time,
            chute_at=landing.chute_delay if chute else None,
            brake=float(landing.speedbrake),
            held=landing.aerobrake_angle_of_attack,
            held_until=landing.aerobrake_until_cas or 0.0,
        )
        return still * (mean - day.headwind) / mean, roll

    def minimum_control(self) -> float:
        """Return the true airspeed at which the rudder alone holds full thrust on one side, m/s [4]."""
        control, frame, tas = self.pack.aero.directional_control, self.pack.airframe, 50.0
        if control is None:
            raise ValueError("the pack has no directional control")
        side = frame.wing_area * frame.span * control.rudder_yawing_moment
        side -= self.pack.engine.windmilling_drag_area * frame.engine_side_arm
        for _ in range(40):
            moment = self.thrust(self.pack.technique.takeoff.power, tas) * frame.engine_side_arm
            tas = sqrt(2 * moment / side / self.day.density)
        return tas

    def single_engine_gradient(self, *, gear: bool) -> float:
        """Return the sine of the steady climb on one engine, at the book's speed and takeoff flap."""
        technique = self.pack.technique.takeoff
        name, frame = technique.configuration, self.pack.airframe
        tas = technique.single_engine_climb_cas_over_stall * self.stall(name)
        q_s, thrust = self.pressure(tas) * frame.wing_area, self.thrust(technique.power, tas)
        alpha, sine = 0.15, 0.0
        failed = self.failed_drag(thrust, tas)
        for _ in range(60):
            tilt = alpha + frame.thrust_inclination
            alpha = self.wings[name].angle_of(
                (self.weight * sqrt(1 - sine**2) - thrust * sin(tilt)) / q_s - self.pack.aero.gear.lift * gear,
                tas / self.day.sound,
            )
            _, cd = self.coefficients(name, alpha, tas, gear=float(gear))
            sine = (thrust * cos(alpha + frame.thrust_inclination) - q_s * cd - failed) / self.weight
        return sine


def share(time: float, start: float, duration: float) -> float:
    """Return 0 before ``start``, 1 after ``duration`` more, and evenly between."""
    if time <= start:
        return 0.0
    return 1.0 if time >= start + duration else (time - start) / duration


def values(run: Run) -> tuple[float, float, float]:
    """Return time, distance and speed."""
    return run.time, run.distance, run.speed


def midpoint(gain: Callable[[float, float], float], run: Run) -> Run:
    """Return the run one step on, by the midpoint rule; a standing aircraft is not pushed back."""
    half = run.speed + 0.5 * STEP * gain(run.time, run.speed)
    speed = run.speed + STEP * gain(run.time + 0.5 * STEP, max(half, 0.0))
    if speed < 0:
        part = run.speed / (run.speed - speed) if run.speed > 0 else 1.0
        return Run(run.time + part * STEP, run.distance + 0.5 * run.speed * part * STEP, 0.0)
    return Run(run.time + STEP, run.distance + 0.5 * (run.speed + speed) * STEP, speed)


def book_value(pack: Pack, point: BookPoint) -> float:
    """Return what this calculation gives for a book point, SI."""
    units = {"mass": "kg", "pressure_altitude": "m", "temperature": "K", "isa_deviation": "delta_degC", "headwind": "m/s"}
    said = {
        name: to_si(text.removesuffix("MAC").strip(), units.get(name, ""))
        for name, text in point.conditions.items()
        if name != "chute"
    }
    chute = point.conditions.get("chute") == "yes"
    surface = {name: said[key] for name, key in SURFACE.items() if key in said}
    day = standard_day(said.get("pressure_altitude", 0.0), said.get("isa_deviation", 0.0), **surface)
    if "temperature" in said:
        day = Day(day.pressure, said["temperature"], **surface)
    one = PointMass(pack, said["mass"], said.get("centre_of_gravity", 0.25), day, said.get("drag_index", 0.0))
    return QUANTITIES[point.quantity](one, chute)


SURFACE = {"headwind": "headwind", "slope": "slope", "reading": "runway_condition_reading"}
QUANTITIES: dict[str, Callable[[PointMass, bool], float]] = {
    "nosewheel_lift_off_speed": lambda one, _: one.day.cas(one.nosewheel_lift_off()),
    "lift_off_speed": lambda one, _: one.day.cas(one.take_off().lift_off_tas),
    "ground_run": lambda one, _: one.take_off().ground_run,
    "distance_to_screen": lambda one, _: one.take_off().to_screen,
    "critical_field_length": lambda one, chute: one.critical(chute=chute)[0],
    "critical_engine_failure_speed": lambda one, chute: one.critical(chute=chute)[1],
    "stall_speed_takeoff": lambda one, _: one.day.cas(one.stall(one.pack.technique.takeoff.configuration)),
    "stall_speed_landing": lambda one, _: one.day.cas(one.stall(one.pack.technique.landing.configuration)),
    "approach_speed": lambda one, _: one.day.cas(one.approach()[0]),
    "landing_roll": lambda one, chute: one.land(chute=chute)[1].distance,
    "landing_distance": lambda one, chute: (lambda air, roll: air + roll.distance)(*one.land(chute=chute)),
}


def print_book(pack: Pack) -> None:
    """Print each book point beside what this calculation gives."""
    print("\nBook points: book value, this calculation")
    for point in pack.book:
        found = book_value(pack, point)
        unit, text = (KT, "kt") if "speed" in point.quantity else (FT, "ft")
        when = ", ".join(f"{name} {value}" for name, value in point.conditions.items())
        print(f"{point.quantity} ({when}): {point.value}, {found / unit:.1f} {text}")
