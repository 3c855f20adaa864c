"""The minimum-time climb of min_time_climb.json by a general-purpose transcription library (extra ``bench``).

R. Falck, J. Gray, K. Ponnapalli, T. Wright, dymos: A Python package for optimal control of multidisciplinary
systems, Journal of Open Source Software 6 (2021), on OpenMDAO. It is given the problem as the data file
states it: smooth aerodynamics in closed form, cubic thrust, exact derivatives; and what the file's own reruns
used, Gauss-Lobatto collocation and SLSQP. Only the standard atmosphere is shared with the project.
"""

from __future__ import annotations

import time
from dataclasses import dataclass

import casadi as ca
import numpy as np
from interceptor import DATA, FOOT, POUND_FORCE, START_MASS

from sortiewright.air import geopotential_altitude, standard_air

GRAVITY = 9.80665
INPUTS = ("h", "v", "gam", "m", "alpha")
RATES = ("h_rate", "v_rate", "gam_rate", "m_rate", "mach")


@dataclass(frozen=True)
class ReferenceClimb:
    """``total_time`` s, mass left kg, and what setting up and solving took, s."""

    total_time: float
    mass_left: float
    seconds: float
    processor_seconds: float
    converged: bool


def reference_climb(segments: int) -> ReferenceClimb:
    """Return the climb of least time with so many segments."""
    import dymos as dm
    import openmdao.api as om

    begin, processor = time.perf_counter(), time.process_time()
    problem = om.Problem(reports=False)
    driver = problem.driver = om.ScipyOptimizeDriver(optimizer="SLSQP", tol=1e-6, maxiter=500, disp=False)
    driver.declare_coloring(show_summary=False, show_sparsity=False)
    phase = dm.Phase(ode_class=_rates(), transcription=dm.GaussLobatto(num_segments=segments))
    trajectory = dm.Trajectory()
    trajectory.add_phase("climb", phase)
    problem.model.add_subsystem("trajectory", trajectory)
    low, high = (DATA["path_limits"]["h_m"], DATA["path_limits"]["Mach"])
    angles = np.radians(DATA["path_limits"]["alpha_deg"])
    start, end = DATA["initial"], DATA["final"]
    phase.set_time_options(fix_initial=True, duration_bounds=(50.0, 1_000.0), duration_ref=100.0)
    states = {
        "h": {"lower": 0.0, "upper": 20_000.0, "ref": 1e2, "defect_ref": 1e2, "fix_final": True},
        "v": {"lower": 10.0, "ref": 1e2, "defect_ref": 1e2},
        "gam": {"lower": -1.5, "upper": 1.5, "ref": 1.0, "defect_ref": 1.0, "fix_final": True},
        "m": {"lower": 10.0, "upper": 1e5, "ref": 1e3, "defect_ref": 1e3},
    }
    for name, how in states.items():
        phase.add_state(name, rate_source=f"{name}_rate", targets=[name], fix_initial=True, **how)
    phase.add_control(
        "alpha",
        targets=["alpha"],
        lower=angles[0],
        upper=angles[1],
        rate_continuity=True,
        rate2_continuity=False,
    )
    phase.add_boundary_constraint("mach", loc="final", equals=end["Mach"])
    phase.add_path_constraint("h", lower=low[0], upper=low[1], ref=low[1])
    phase.add_path_constraint("mach", lower=high[0], upper=high[1])
    phase.add_objective("time", loc="final", ref=1.0)
    problem.setup()
    phase.set_time_val(initial=0.0, duration=500.0)
    phase.set_state_val("h", [start["h_m"], end["h_m"]])
    phase.set_state_val("v", [start["v_m_s"], 295.0])
    phase.set_state_val("gam", [0.0, 0.0])
    phase.set_state_val("m", [START_MASS, 0.88 * START_MASS])
    phase.set_control_val("alpha", [0.0, 0.0])
    result = problem.run_driver()
    return ReferenceClimb(
        float(problem.get_val("trajectory.climb.timeseries.time")[-1, 0]),
        float(problem.get_val("trajectory.climb.timeseries.m")[-1, 0]),
        time.perf_counter() - begin,
        time.process_time() - processor,
        bool(result.success),
    )


def equations() -> ca.Function:
    """Return the file's equations: ``INPUTS`` (5,) in SI and rad to ``RATES`` (5,)."""
    z = ca.MX.sym("z", 5)
    h, v, gamma, m, alpha = ca.vertsplit(z)
    heights = np.linspace(-500.0, 21_400.0, 220)
    air = standard_air(geopotential_altitude(heights))
    density = ca.interpolant("density", "bspline", [heights], air.density)(h)
    mach = v / ca.interpolant("sound", "bspline", [heights], air.speed_of_sound)(h)
    table = DATA["thrust_table"]
    feet = [row["altitude_ft"] for row in table["rows"]]
    pounds = np.array([row["thrust_lbf"] for row in table["rows"]])
    thrust = POUND_FORCE * ca.interpolant("thrust", "bspline", [table["mach"], feet], pounds.ravel())(
        ca.vertcat(mach, h / FOOT)
    )
    drag_at_no_lift, slope, factor = _aerodynamics(mach)
    q_s = 0.5 * density * v**2 * DATA["constants"]["S_m2"]
    lift = q_s * slope * alpha
    drag = q_s * (drag_at_no_lift + factor * slope * alpha**2)
    rates = ca.vertcat(
        v * ca.sin(gamma),
        (thrust * ca.cos(alpha) - drag) / m - GRAVITY * ca.sin(gamma),
        (thrust * ca.sin(alpha) + lift) / (m * v) - GRAVITY * ca.cos(gamma) / v,
        -thrust / (GRAVITY * DATA["constants"]["Isp_s"]),
        mach,
    )
    return ca.Function("equations", [z], [rates])


def _aerodynamics(mach):
    low, beyond = ca.fmin(mach, 1.15), ca.fmax(mach - 1.15, 0.0)
    return (
        0.013 + 0.0144 * (1 + ca.tanh((low - 0.98) / 0.06)) - 0.011 * beyond,
        3.44 + 1 / ca.cosh((low - 1) / 0.06) ** 2 - 0.96 / 0.63 * beyond,
        0.54 + 0.15 * (1 + ca.tanh((low - 0.9) / 0.06)) + 0.14 * beyond,
    )


def _rates():
    """Return the class of the equations; made here, as its library is loaded only when it is asked for."""
    import openmdao.api as om

    class Rates(om.ExplicitComponent):
        def initialize(self):
            self.options.declare("num_nodes", types=int)

        def setup(self):
            count = self.options["num_nodes"]
            for name, unit in zip(INPUTS, ("m", "m/s", "rad", "kg", "rad"), strict=True):
                self.add_input(name, shape=(count,), units=unit)
            for name, unit in zip(RATES, ("m/s", "m/s**2", "rad/s", "kg/s", None), strict=True):
                self.add_output(name, shape=(count,), units=unit)
            diagonal = np.arange(count)
            self.declare_partials("*", "*", rows=diagonal, cols=diagonal)
            one, z = equations(), ca.MX.sym("z", 5)
            self.values = one.map(count)
            self.slopes = ca.Function("slopes", [z], [ca.densify(ca.jacobian(one(z), z))]).map(count)

        def compute(self, inputs, outputs):
            at = np.stack([inputs[name] for name in INPUTS])
            for name, row in zip(RATES, np.asarray(self.values(at)), strict=True):
                outputs[name] = row

        def compute_partials(self, inputs, partials):
            at = np.stack([inputs[name] for name in INPUTS])
            slopes = np.asarray(self.slopes(at)).reshape(5, -1, 5)
            for row, of in enumerate(RATES):
                for column, wrt in enumerate(INPUTS):
                    partials[of, wrt] = slopes[row, :, column]

    return Rates
