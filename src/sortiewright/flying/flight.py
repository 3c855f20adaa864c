"""A plan flown in a flight model: one call, and what came of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from sortiewright.flying.briefing import Briefing, briefing_of
from sortiewright.flying.circuit import approach, circuit, climb, land
from sortiewright.flying.cockpit import Cockpit
from sortiewright.flying.departure import (
    LINED_UP,
    TAXI_SPEED,
    Script,
    after_lift_off,
    rejected,
    run_up,
    takeoff_run,
    taxi,
    taxi_radius,
    taxi_side,
    taxi_straight,
)
from sortiewright.flying.flaws import Flaw
from sortiewright.flying.pilot import Held, Pilot
from sortiewright.flying.recorder import Moment, Recorder
from sortiewright.pack import InputError, Problem
from sortiewright.pack_sampling import FOOT, POUND
from sortiewright.sortie import LoadedSortie

CIRCUIT_HEIGHT = 1500.0 * FOOT
"""Over the field: common practice, no source."""
STAGES = 6
Stage = Callable[[str], object]


@dataclass(frozen=True)
class FlightOrder:
    """How a plan is to be flown."""

    model: str
    flaws: tuple[Flaw, ...] = ()
    taxies: bool = True
    """Else it stands on the runway when the recording begins."""
    circuit: bool = True
    """Else the recording ends in the climb."""
    circuit_height: float = CIRCUIT_HEIGHT
    rate: float = 20.0
    """Rows a second."""
    takeoff_flap: float | None = None
    """Flap lever at takeoff, share of travel; None: its setting nearest half."""
    anyway: bool = False
    """Fly a plan that is a no-go."""


class PlanIsNoGo(InputError):
    """The plan does not fit its limits, and nobody said to fly it all the same."""


@dataclass(frozen=True)
class FlownFlight:
    """What came of it: rows of the recording as text, their names and units, and the truth beside."""

    names: tuple[str, ...]
    units: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    truth: dict[str, Any]
    remarks: tuple[str, ...]


def fly_plan(loaded: LoadedSortie, order: FlightOrder, *, stage: Stage | None = None) -> FlownFlight:
    """Return the flight of a sortie in a flight model; ``stage`` is told which part is under way.

    ``PlanIsNoGo`` where the plan is one; ``InputError`` where it lacks what flying needs, where flaws do not
    go with the rest, and where the model cannot be flown.
    """
    tell: Stage = stage or (lambda _: None)
    tell("the plan")
    briefing = briefing_of(loaded)
    _check(briefing, order)
    tell("the model")
    cockpit = Cockpit(order.model, briefing, takeoff_flap=order.takeoff_flap)
    engines = len(cockpit.description.engines)
    if engines == 1 and any(one.name == "engine_failure_go" for one in order.flaws):
        raise _refused("engine_failure_go", "cannot be flown: the model has one engine")
    order_taxies = order.taxies and cockpit.steer_limit > 0.0
    _stand(cockpit, briefing, order, order_taxies)
    cockpit.began = cockpit.seen().time
    recorder = Recorder(cockpit, order.rate)
    pilot = Pilot(cockpit, recorder.watch, Held())
    engine = loaded.pack.pack.engine
    script = Script(pilot, recorder, briefing, {one.name: one for one in order.flaws}, engine.idle)
    pilot.wait(3.0)
    throttle = cockpit.power_throttle(briefing.takeoff.power, engine.idle, engine.maximum)
    remarks = [*briefing.remarks, *cockpit.remarks]
    if order.taxies and not order_taxies:
        remarks.append("The model's nosewheel does not steer: the flight begins on the runway")
    unfinished = _fly(script, order, throttle, order_taxies, tell)
    if unfinished:
        remarks.append(f"The recording ends early: with an engine out the model {unfinished}")
    remarks += _remarks_after(recorder, briefing, order)
    return FlownFlight(
        tuple(recorder.names),
        tuple(recorder.units()),
        tuple(tuple(row) for row in recorder.rows),
        _truth(script, order, briefing),
        tuple(remarks),
    )


def _remarks_after(recorder: Recorder, briefing: Briefing, order: FlightOrder) -> list[str]:
    """Return what has to be said of the flight once it is over."""
    said: list[str] = []
    said += [
        f"The flaw {one.name} had no occasion: its speed or its case did not come"
        for one in order.flaws
        if (moment := OCCASIONS.get(one.name)) is not None and not recorder.has(moment)
    ]
    if any(one.name == "engine_failure_stop" for one in order.flaws) and recorder.has("lift_off"):
        said.append("engine_failure_stop: it lifts off before that speed, and there is no stopping any more")
    stopped = [one.state["runway_position"] for one in recorder.moments if one.name == "stopped"]
    if stopped and stopped[-1] > briefing.field.length:
        beyond = (stopped[-1] - briefing.field.length) / FOOT
        said.append(f"It came to a stop {beyond:,.0f} ft beyond the runway, over ground that is level there")
    touched = [one.state["gross_mass"] for one in recorder.moments if one.name == "touchdown"]
    planned = briefing.landing.mass
    # A debrief compares the landing only where its weight is the plan's.
    if touched and abs(touched[-1] - planned) > LANDING_MASS_SHARE * planned:
        said.append(
            f"The landing was at {touched[-1] / POUND:,.0f} lb, the plan's is for {planned / POUND:,.0f} lb: "
            "give the sortie a landing_fuel near that of takeoff, or debrief with --anyway"
        )
    return said


OCCASIONS = {
    "engine_failure": "engine_failed",
    "engine_failure_go": "engine_failed",
    "engine_failure_stop": "engine_failed",
    "levers_late": "levers_closed",
}
LANDING_MASS_SHARE = 0.06  # beyond it a debrief takes a landing for another one


def _check(briefing: Briefing, order: FlightOrder) -> None:
    if briefing.no_go and not order.anyway:
        hint = "Fly it all the same with --anyway"
        raise PlanIsNoGo(Problem("plan", None, "", text, "is a no-go", hint) for text in briefing.no_go)
    problems: list[Problem] = []
    names = {one.name for one in order.flaws}
    if "fast_taxi" in names and not order.taxies:
        problems.append(_problem("fast_taxi", "needs a taxi: leave out --no-taxi"))
    landing = names & {"unstable_approach", "hard_landing", "long_landing", "gear_down_late"}
    if landing and not order.circuit:
        problems.append(_problem(", ".join(sorted(landing)), "needs a landing: leave out --no-circuit"))
    if "levers_late" in names and not names & {"engine_failure", "engine_failure_stop"}:
        problems.append(_problem("levers_late", "needs a rejected takeoff: add engine_failure_stop=100"))
    if problems:
        raise InputError(problems)


def _problem(read: str, expected: str) -> Problem:
    return Problem("--flaw", None, "", read, expected)


def _refused(read: str, expected: str) -> InputError:
    return InputError([_problem(read, expected)])


def _stand(cockpit: Cockpit, briefing: Briefing, order: FlightOrder, taxies: bool) -> None:
    import math

    start = briefing.field.start_offset + LINED_UP
    if not taxies:
        cockpit.stand_at(start, 0.0, 0.0)
        return
    radius = taxi_radius(cockpit)
    fast = next((one.amount for one in order.flaws if one.name == "fast_taxi"), TAXI_SPEED)
    along = start - 40.0 + taxi_straight(fast)
    cockpit.stand_at(along, taxi_side(radius), math.pi)


def _fly(script: Script, order: FlightOrder, throttle: float, taxies: bool, tell: Stage) -> str:
    """Fly all of it; return what kept it from being finished with an engine out, empty where nothing did."""
    pilot = script.pilot
    if taxies:
        tell("taxi")
        pilot.phase = "while taxiing"
        taxi(script)
    tell("takeoff")
    pilot.phase = "on the takeoff run"
    run_up(script)
    if not takeoff_run(script, throttle):
        pilot.phase = "in the rejected takeoff"
        rejected(script)
        return ""
    try:
        _fly_on(script, order, throttle, tell)
    except InputError as error:
        if script.cockpit.failed is None:
            raise
        # One engine may not be enough; how far it came is a recording all the same.
        return error.problems[0].expected
    return ""


def _fly_on(script: Script, order: FlightOrder, throttle: float, tell: Stage) -> None:
    """Fly what follows lift-off."""
    pilot = script.pilot
    pilot.phase = "after lift-off"
    after_lift_off(script)
    pilot.phase = "in the climb"
    climb(script, throttle, order.circuit_height)
    if not order.circuit:
        pilot.wait(5.0)
        return
    tell("circuit")
    pilot.phase = "in the circuit"
    circuit(script, order.circuit_height)
    tell("approach and landing")
    pilot.phase = "on the approach"
    approach(script, order.circuit_height)
    pilot.phase = "in the landing"
    land(script)


def _truth(script: Script, order: FlightOrder, briefing: Briefing) -> dict[str, Any]:
    """Return what really happened, SI."""
    model, field = script.cockpit.model, briefing.field
    return {
        "title": briefing.title,
        "callsign": briefing.callsign,
        "pack": briefing.pack,
        "model": model.name,
        "library": f"JSBSim {model.version}",
        "units": "SI; angles rad, latitude, longitude and headings deg",
        "rows_a_second": order.rate,
        "runway": {
            "aerodrome": field.name,
            "designator": field.designator,
            "true_heading_deg": field.true_heading_deg,
            "begins_latitude_deg": field.latitude_deg,
            "begins_longitude_deg": field.longitude_deg,
        },
        "takeoff_mass": round(briefing.load.mass, 1),
        "flaws": [{"name": one.name, "amount": one.shown_amount, "says": one.text} for one in order.flaws],
        "moments": [_moment(one) for one in script.recorder.moments],
    }


def _moment(one: Moment) -> dict[str, Any]:
    return {"name": one.name, "time": round(one.time, 4), **one.state}
