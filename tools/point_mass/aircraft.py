"""One aircraft on one day: its forces, and the speeds that follow from them without any run."""

from __future__ import annotations

from math import atan, cos, inf, isfinite, sin, sqrt

from point_mass.air import Day, G, Lookup, Wing
from sortiewright.pack import Pack


class Aircraft:
    """A pack's aircraft of one mass (kg), centre of gravity (share of mean chord) and drag index."""

    def __init__(
        self, pack: Pack, mass: float, cg: float, day: Day | None = None, *, index: float = 0.0
    ) -> None:
        self.pack, self.mass, self.index = pack, mass, index
        self.day = Day() if day is None else day
        self.area, self.count = pack.airframe.wing_area, pack.engine.count
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
        self,
        name: str,
        alpha: float,
        tas: float,
        *,
        height: float = inf,
        gear: float = 1.0,
        brake: float = 0.0,
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
            tas = sqrt(2 * self.weight / (self.day.density * self.area * peak))
        return tas

    def nosewheel_lift_off(self) -> float:
        """Return the speed at which full aft stick takes the load off the nosewheel, m/s true.

        Moments about the main wheels' contact: tail and lift against weight, friction and the thrust line.
        """
        frame, aero, name = self.pack.airframe, self.pack.aero, self.pack.technique.takeoff.configuration
        power, friction = self.pack.technique.takeoff.power, self.pack.wheels.rolling_friction
        alpha, height = frame.static_ground_attitude, frame.centre_of_gravity_height
        wing, tail = self.pack.aero.configurations[name], aero.pitch_control
        cm = wing.pitching_moment_zero + wing.pitching_moment_slope * alpha
        cm += aero.gear.pitching_moment + tail.moment_per_angle * tail.full_aft_angle
        tas = 60.0
        for _ in range(60):
            cl, cd = self.coefficients(name, alpha, tas, height=0.0)
            lever = frame.mean_chord * cm + cd * (frame.moment_reference_height - height)
            lever += cl * (frame.main_wheel_arm - frame.moment_reference_arm + friction * height)
            need = self.weight * (frame.main_wheel_arm - self.cg_arm + friction * height)
            need += self.count * self.thrust(power, tas) * (frame.thrust_line_height - height)
            tas = sqrt(2 * need / (self.day.density * self.area * lever))
        return tas

    def rotation(self) -> float:
        """Return the speed at which the nose begins to rise, m/s true."""
        planned = self.pack.technique.takeoff.rotation_speed
        if planned is None:
            raise ValueError("the pack has no table of rotation speeds")
        return max(self.day.tas(float(planned(self.mass))), self.nosewheel_lift_off())

    def failed_drag(self, missing: float, tas: float) -> float:
        """Return the drag of a dead engine and of the rudder that makes up for ``missing`` thrust, N."""
        frame, control, q = self.pack.airframe, self.pack.aero.directional_control, self.pressure(tas)
        windmill = q * self.pack.engine.windmilling_drag_area
        if control is None or q <= 0:
            return windmill
        yaw = (missing + windmill) * frame.engine_side_arm / (q * self.area * frame.span)
        held = min(yaw, control.rudder_yawing_moment)
        return windmill + control.asymmetric_drag_factor * held**2 * q * self.area

    def approach(self, name: str | None = None) -> tuple[float, float]:
        """Return the on-speed true airspeed on the glide path, m/s, and the thrust it needs, N."""
        landing = self.pack.technique.landing
        glide, alpha = landing.glide_angle, landing.on_speed_angle_of_attack
        tilt, tas, thrust = alpha + self.pack.airframe.thrust_inclination, 75.0, 0.0
        for _ in range(60):
            cl, cd = self.coefficients(name or landing.configuration, alpha, tas)
            q_s = self.pressure(tas) * self.area
            thrust = (q_s * cd - self.weight * sin(glide)) / cos(tilt)
            carried = self.weight * cos(glide) - thrust * sin(tilt)
            tas = sqrt(2 * carried / (self.day.density * self.area * cl))
        return tas, thrust
