"""One aircraft of the flight-dynamics library JSBSim, held still in the air while its forces are read.

Numbers here are the library's own: feet, pounds, degrees Rankine; its property names say which.
"""

from __future__ import annotations

import atexit
import math
import re
import shutil
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sortiewright.pack import InputError, Problem, choice_hint
from sortiewright.pack_sampling.english_units import RANKINE

if TYPE_CHECKING:
    import jsbsim

EXTRA = "pip install 'sortiewright[fdm]'"
_INTEGRATORS = ("rate/rotational", "rate/translational", "position/rotational", "position/translational")
FAR_BELOW = -30_000.0  # ft: terrain that neither wheels nor ground effect feel
LEAST_MACH = 0.05
"""Stands for Mach 0: below a dynamic pressure of 1 psf the library leaves out drag due to lift."""


class NotAsAsked(Exception):
    """The model is not in the state that was asked for, so its forces are not those of that state."""


def model_fault(model: str, expected: str, hint: str = "", read: str = "") -> InputError:
    """Return the fault of a model that cannot be used."""
    return InputError([Problem(f"model {model}", None, "", read, expected, hint)])


def library() -> Any:
    """Return the flight-dynamics library; ``InputError`` where it is not installed."""
    try:
        import jsbsim
    except ImportError:
        raise InputError(
            [Problem("jsbsim", None, "", "", "is not installed", f"Install it: {EXTRA}")]
        ) from None
    return jsbsim


def library_version() -> str:
    """Return the version of the installed library."""
    from importlib.metadata import version

    library()
    return version("jsbsim")


def model_names() -> tuple[str, ...]:
    """Return the names of the aircraft that come with the library, in its own spelling."""
    folder = Path(library().get_default_root_dir()) / "aircraft"
    return tuple(sorted(one.name for one in folder.iterdir() if (one / f"{one.name}.xml").is_file()))


def model_file(model: str) -> Path:
    """Return the file of a model: a name that the library ships, or the path of a model's own file or folder.

    ``InputError`` where there is none.
    """
    path = Path(model)
    if path.suffix == ".xml" and path.is_file():
        return path.resolve()
    if path.is_dir() and (path / f"{path.name}.xml").is_file():
        return (path / f"{path.name}.xml").resolve()
    names = model_names()
    if model not in names:
        hint = choice_hint(model, names, "models")
        raise model_fault(
            model, f"is not an aircraft of JSBSim {library_version()}, nor a model's file", hint
        )
    return Path(library().get_default_root_dir()) / "aircraft" / model / f"{model}.xml"


@cache
def _log_folder() -> str:
    """Return where models log: some do from the moment they are loaded, into the folder one stands in."""
    folder = tempfile.mkdtemp(prefix="sortiewright-")
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


class FlightModel:
    """A loaded aircraft. ``place`` puts it somewhere and holds it there; controls stay as commanded."""

    def __init__(self, model: str) -> None:
        jsb = library()
        self.file = model_file(model)
        self.name = self.file.stem
        self.version = library_version()
        self._logger = _quiet_logger(jsb)  # kept: the library does not own it
        jsb.set_logger(self._logger)
        self.executive: jsbsim.FGFDMExec = jsb.FGFDMExec(None)
        self.executive.set_debug_level(0)
        self.executive.set_output_path(_log_folder())
        root = Path(jsb.get_default_root_dir())
        folder = self.file.parent
        if folder.parent != root / "aircraft":
            self.executive.set_aircraft_path(str(folder.parent))
            for part, put in (
                ("engine", self.executive.set_engine_path),
                ("systems", self.executive.set_systems_path),
            ):
                beside = folder.parent.parent / part
                put(str(beside if beside.is_dir() else root / part))
        try:
            loaded = self.executive.load_model(self.name)
        except (RuntimeError, OSError) as error:
            said = str(error).strip().splitlines()
            raise model_fault(self.name, "cannot be loaded by JSBSim", said[0] if said else "") from None
        if not loaded:
            raise model_fault(self.name, "cannot be loaded by JSBSim")
        self._known: set[str] = set()
        self.missing: list[str] = []
        """Properties that the model reads and that nobody sets: taken as nought."""
        self.step_time = float(self.executive.get_delta_t())
        self._integrators = tuple(self.read(f"simulation/integrator/{name}") for name in _INTEGRATORS)

    def has(self, name: str) -> bool:
        """Return whether the model has this property; one that it lacks would read as nought."""
        if name not in self._known and self.executive.get_property_manager().hasNode(name):
            self._known.add(name)
        return name in self._known

    def read(self, name: str) -> float:
        """Return a property; ``InputError`` where the model has none of this name."""
        if not self.has(name):
            raise model_fault(self.name, "is no property of this model", read=name)
        return float(self.executive.get_property_value(name))

    def write(self, name: str, value: float) -> None:
        """Set a property; ``InputError`` where the model has none of this name."""
        if not self.has(name):
            raise model_fault(self.name, "is no property of this model", read=name)
        self.executive.set_property_value(name, value)

    def write_where_it_is(self, name: str, value: float) -> None:
        """Set a property if the model has it."""
        if self.has(name):
            self.write(name, value)

    def run(self, seconds: float) -> None:
        """Let the simulation go on, one step at least."""
        for _ in range(max(1, round(seconds / self.step_time))):
            self._carry_out(self.executive.run)

    def start(self) -> None:
        """Take over the initial conditions that have been set."""
        self._carry_out(self.executive.run_ic)

    def _carry_out(self, deed: Callable[[], bool]) -> None:
        """Do it; a property that the model reads and nobody sets is made, with nought in it.

        Such a model was written for a larger simulator, which sets it.
        """
        for _ in range(MOST_MISSING):
            try:
                deed()
                return
            except RuntimeError as fault:
                said = str(fault).strip()
                missing = re.search(r"property (\S+) does not exist", said)
                if missing is None:
                    raise model_fault(self.name, "cannot be run by JSBSim", said.splitlines()[0]) from None
                self.missing.append(missing[1])
                self.executive.set_property_value(missing[1], 0.0)
                # The error came while the clock was stopped, and nothing would start it again.
                self.executive.set_dt(self.step_time)
        raise model_fault(self.name, f"needs more than {MOST_MISSING} properties of a larger simulator")

    def hold(self) -> None:
        """Stop all motion while time goes on: controls and engines settle, speed and height do not change."""
        for name in _INTEGRATORS:
            self.write(f"simulation/integrator/{name}", 0)

    def let_go(self) -> None:
        """Let the aircraft move again, with the integrators that it came with."""
        for name, kind in zip(_INTEGRATORS, self._integrators, strict=True):
            self.write(f"simulation/integrator/{name}", kind)

    def place(
        self,
        *,
        mach: float,
        altitude: float,
        alpha_deg: float = 0.0,
        beta_deg: float = 0.0,
        climb_deg: float = 0.0,
        terrain: float = FAR_BELOW,
        temperature_deviation: float = 0.0,
        least_mach: float = LEAST_MACH,
    ) -> None:
        """Put the aircraft at a Mach number and geometric height, ft, and hold it there. Deviation in K."""
        self.write("atmosphere/delta-T", temperature_deviation / RANKINE)
        self.write("ic/terrain-elevation-ft", terrain)
        self.write("ic/h-sl-ft", altitude)
        self.write("ic/mach", max(mach, least_mach))
        self.write("ic/beta-deg", beta_deg)
        self.write("ic/phi-deg", 0.0)
        self.write("ic/alpha-deg", alpha_deg)
        self.write("ic/gamma-deg", climb_deg)
        for axis in "pqr":
            self.write(f"ic/{axis}-rad_sec", 0.0)
        self.start()
        self.hold()

    def check_place(self, *, mach: float, alpha_deg: float) -> None:
        """Raise ``NotAsAsked`` if the aircraft is not at this Mach number and angle of attack."""
        wanted = {"velocities/mach": (max(mach, LEAST_MACH), 1e-4), "aero/alpha-deg": (alpha_deg, 1e-2)}
        for name, (value, slack) in wanted.items():
            found = self.read(name)
            if not math.isfinite(found) or abs(found - value) > slack:
                raise NotAsAsked(f"{name} is {found:g}, asked was {value:g}")

    def command(self, name: str, value: float) -> None:
        """Set a cockpit control, ``fcs/...-cmd-norm`` or ``gear/gear-cmd-norm``."""
        self.write(name, value)

    def settle(self, names: tuple[str, ...], *, longest: float = 60.0) -> float:
        """Run until these properties have stopped changing; return the seconds of the last change."""
        last = 0.0
        before = [self.read(name) for name in names]
        clock = 0.0
        while clock < longest and clock - last < QUIET_TIME:
            self.run(0.0)
            clock += self.step_time
            now = [self.read(name) for name in names]
            if any(abs(a - b) > 1e-9 for a, b in zip(now, before, strict=True)):
                last = clock
            before = now
        return last


MOST_MISSING = 100
QUIET_TIME = 1.0  # s without a change: nothing moves any more


def _quiet_logger(jsb: Any) -> Any:
    """Return a logger that says nothing: what is wrong with a model comes back as an error."""

    class Quiet(jsb.FGLogger):
        def set_level(self, level: Any) -> None:
            pass

        def file_location(self, filename: str, line: int) -> None:
            pass

        def message(self, message: str) -> None:
            pass

        def format(self, format: Any) -> None:
            pass

        def flush(self) -> None:
            pass

    return Quiet()
