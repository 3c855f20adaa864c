"""What really happened, taken from the model's own state at each step, and the rows of the recording."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

COLUMNS = (
    "simulation/sim-time-sec", "position/lat-geod-deg", "position/long-gc-deg", "position/h-sl-ft",
    "position/h-agl-ft", "attitude/theta-deg", "attitude/phi-deg", "attitude/psi-deg", "aero/alpha-deg",
    "aero/beta-deg", "velocities/vc-kts", "velocities/vtrue-kts", "velocities/vg-fps", "velocities/mach",
    "velocities/h-dot-fps", "velocities/p-rad_sec", "velocities/q-rad_sec", "velocities/r-rad_sec",
    "accelerations/Nx", "accelerations/Ny", "accelerations/Nz", "propulsion/engine[0]/n1",
    "propulsion/engine[1]/n1", "propulsion/engine[0]/n2", "propulsion/engine[1]/n2",
    "propulsion/engine[0]/thrust-lbs", "propulsion/engine[1]/thrust-lbs",
    "propulsion/engine[0]/fuel-flow-rate-pps", "propulsion/engine[1]/fuel-flow-rate-pps",
    "fcs/throttle-cmd-norm[0]", "fcs/throttle-cmd-norm[1]", "fcs/throttle-pos-norm[0]",
    "fcs/throttle-pos-norm[1]", "propulsion/tank[0]/contents-lbs", "propulsion/tank[1]/contents-lbs",
    "propulsion/total-fuel-lbs", "gear/gear-cmd-norm", "gear/gear-pos-norm", "fcs/flap-cmd-norm",
    "fcs/flap-pos-deg", "fcs/speedbrake-pos-norm", "gear/unit[0]/WOW", "gear/unit[1]/WOW",
    "gear/unit[2]/WOW", "gear/unit[1]/wheel-speed-fps", "gear/unit[2]/wheel-speed-fps",
    "fcs/left-brake-cmd-norm", "fcs/right-brake-cmd-norm", "fcs/steer-cmd-norm", "fcs/elevator-cmd-norm",
    "fcs/aileron-cmd-norm", "fcs/rudder-cmd-norm", "fcs/elevator-pos-norm", "fcs/left-aileron-pos-norm",
    "fcs/right-aileron-pos-norm", "fcs/rudder-pos-norm", "inertia/weight-lbs", "inertia/cg-x-in",
    "aero/qbar-psf", "atmosphere/T-R", "atmosphere/P-psf", "atmosphere/rho-slugs_ft3",
    "atmosphere/pressure-altitude", "atmosphere/density-altitude", "atmosphere/total-wind-north-fps",
    "atmosphere/total-wind-east-fps",
)  # fmt: skip
DERIVED = ("ab-flag[0]", "ab-flag[1]", "distance-from-brake-release-ft")
_DECIMALS = {"-pps": 4, "norm": 3, "rad_sec": 4, "rho-": 7, "mach": 4, "lat-": 7, "long-": 7, "sim-time": 4}
_WHOLE = ("pressure-altitude", "density-altitude", "WOW")


def decimals(name: str) -> int:
    """Return how many decimals a column is written with."""
    if any(part in name for part in _WHOLE):
        return 0
    if "accelerations/" in name or "cg-x" in name:
        return 3
    if "weight" in name or name.endswith(("contents-lbs", "fuel-lbs")):
        return 1
    return next((digits for part, digits in _DECIMALS.items() if part in name), 2)


class Truth:
    """Events of one flight and its rows."""

    def __init__(
        self, f: Any, position: Callable[[], tuple[float, float]], ground: float, rate_hz: float
    ) -> None:
        """Begin to watch: ``ground`` is the height of the model on its wheels, ft."""
        self.f, self.position, self.ground = f, position, ground
        self.every = round(120.0 / rate_hz)
        self.events: dict[str, dict[str, float | None]] = {}
        self.rows: list[list[str]] = []
        self.steps = 0
        self.released_at: float | None = None
        self.nose = self.mains = True
        self.last: dict[str, float | None] = {}
        self.watches_gear = False

    def state(self) -> dict[str, float | None]:
        """Return the state that an event is told with."""
        f = self.f
        along, across = self.position()
        return {
            "t_s": round(f.get_sim_time(), 4),
            "cas_kt": round(f["velocities/vc-kts"], 2),
            "gs_kt": round(f["velocities/vg-fps"] / 1.6878099, 2),
            "agl_ft": round(f["position/h-agl-ft"] - self.ground, 2),
            "pitch_deg": round(f["attitude/theta-deg"], 2),
            "runway_position_ft": round(along, 1),
            "off_centreline_ft": round(across, 1),
            "heading_deg": round(f["attitude/psi-deg"], 2),
            "distance_from_brake_release_ft": None
            if self.released_at is None
            else round(along - self.released_at, 1),
            "weight_lb": round(f["inertia/weight-lbs"], 1),
        }

    def note(self, name: str) -> None:
        """Note a moment; the first of a name counts."""
        if name == "brake_release" and self.released_at is None:
            self.released_at = self.position()[0]
        self.events.setdefault(name, self.state())

    def watch(self) -> None:
        """Look at wheels, heights and systems after a step, and write a row when due."""
        f = self.f
        height = f["position/h-agl-ft"] - self.ground
        if "brake_release" in self.events:
            nose = f["gear/unit[0]/WOW"] > 0.5
            mains = f["gear/unit[1]/WOW"] > 0.5 or f["gear/unit[2]/WOW"] > 0.5
            if height < 5.0:
                if mains:
                    self.events["liftoff"] = self.state()
                if nose:
                    self.events["nosewheel_off"] = self.state()
            for feet in (35, 50):
                if height >= feet:
                    self.note(f"height_{feet}ft")
            if f["gear/gear-pos-norm"] <= 0.0:
                self.note("gear_up_complete")
            if f["gear/gear-cmd-norm"] < 0.5:
                self.note("gear_up_selected")
        if f["fcs/throttle-cmd-norm[0]"] > 0.5 or f["fcs/throttle-cmd-norm[1]"] > 0.5:
            self.note("afterburner_light")
        if self.steps % self.every == 0:
            self._row()
        self.steps += 1

    def _row(self) -> None:
        f = self.f
        row = [f"{f[name]:.{decimals(name)}f}".rstrip("0") for name in COLUMNS if decimals(name)]
        values = iter(row)
        cells = [next(values).rstrip(".") if decimals(name) else f"{f[name]:.0f}" for name in COLUMNS]
        cells = ["0" if one in ("-0", "") else one for one in cells]
        cells += [str(int(f[f"fcs/throttle-cmd-norm[{i}]"] > 0.5)) for i in (0, 1)]
        along = self.position()[0]
        cells.append("" if self.released_at is None else f"{along - self.released_at:.1f}")
        self.rows.append(cells)
