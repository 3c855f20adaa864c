"""Phases and events in the words of a sentence."""

from __future__ import annotations

EVENTS_SAID = {
    "engine_start": "engine start",
    "taxi_begins": "the start of the taxi",
    "holds": "the hold",
    "lined_up": "line-up",
    "power_set": "setting of power",
    "brake_release": "brake release",
    "afterburner_lit": "lighting of the afterburner",
    "rotation_begins": "the start of rotation",
    "nosewheel_off": "nosewheel lift-off",
    "lift_off": "lift-off",
    "height_35_ft": "35 ft after lift-off",
    "height_50_ft": "50 ft after lift-off",
    "gear_up_selected": "gear selection up",
    "gear_up": "gear up",
    "flaps_up_selected": "flap selection up",
    "flaps_up": "flaps up",
    "afterburner_out": "the end of afterburning",
    "engine_failed": "engine failure",
    "levers_closed": "closing of the levers",
    "top_of_climb": "top of climb",
    "top_of_descent": "top of descent",
    "gear_down": "gear down",
    "gate_1000_ft": "1,000 ft on the approach",
    "gate_500_ft": "500 ft on the approach",
    "gate_300_ft": "300 ft on the approach",
    "gate_50_ft": "50 ft on the approach",
    "go_around_begins": "the start of a go-around",
    "touchdown": "touchdown",
    "bounce": "a bounce",
    "nosewheel_down": "nosewheel touchdown",
    "chute_out": "deployment of the chute",
    "brakes_on": "braking",
    "stopped": "the stop",
    "shut_down": "shut-down",
}
PHASES_SAID = {
    "parked": "the time parked",
    "start": "engine start",
    "taxi": "taxi",
    "hold": "the hold",
    "line_up": "line-up",
    "run_up": "the run-up",
    "takeoff_roll": "the takeoff roll",
    "rejected_takeoff": "a rejected takeoff",
    "rotation": "rotation",
    "lift_off": "lift-off",
    "clean_up": "clean-up",
    "climb": "the climb",
    "cruise": "the cruise",
    "manoeuvre": "manoeuvring",
    "descent": "the descent",
    "approach": "the approach",
    "go_around": "a go-around",
    "flare": "the flare",
    "touchdown": "touchdown",
    "landing_roll": "the landing roll",
    "chute": "deceleration by chute",
    "taxi_in": "taxi in",
    "shutdown": "shut-down",
}


def event_said(name: str) -> str:
    """Return an event as it stands after "at": ``the start of rotation``."""
    return EVENTS_SAID.get(name, name.replace("_", " "))


def phase_said(name: str) -> str:
    """Return a phase as it stands after "in" or "during": ``the takeoff roll``."""
    return PHASES_SAID.get(name, name.replace("_", " "))


def none_of(names: list[str]) -> str:
    """Return that nothing of these came, said as ``event_said`` and ``phase_said`` say it."""
    bare = [name.removeprefix("the ").removeprefix("a ") for name in names]
    return f"there was no {' or '.join(bare)} on this flight"
