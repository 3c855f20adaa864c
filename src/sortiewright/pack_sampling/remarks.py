"""What a sampled pack lacks or only pretends to know, for its notes and for whoever sampled it."""

from __future__ import annotations

import math

from sortiewright.pack_sampling.placeholders import lands_without_flap, no_flap_over_stall
from sortiewright.pack_sampling.sampling import SampledAircraft


def placeholder_remarks(aircraft: SampledAircraft) -> list[str]:
    """Return a sentence for each thing that the model does not say and the pack invents or lacks."""
    load = aircraft.load
    remarks = [
        "Technique (rotation speed, attitude, approach) is a placeholder, not this aircraft's procedure.",
        "Braking friction, tyre pressure and tyre speed are placeholders; brake energy is not evaluated.",
        "Mass limits and envelope are placeholders: what fuel and crew can give, not what is allowed.",
        "Limits, run-up readings, stores, drag chute, hook and book points are left out.",
        "Checklists and debrief rules are generic: common practice for the parts that the model has, and "
        "nobody's procedure. Canopy and doors, battery, radio, lights and pitot heat are assumed; ejection "
        "seats, oxygen, pressurisation, anti-ice, autopilot, armament and emergency gear are left out.",
        "Rules on limits (gear, flap and greatest speed, load factor, crosswind, tailwind, masses, tyres) "
        "stand in rules/flight.yaml as comments until limits.yaml has the numbers.",
        "The mean chord's leading edge is a placeholder, so %MAC is comparable only inside this pack.",
    ]
    if not load.has_crew:
        stands = "one seat of no mass stands" if len(load.seats) == 1 else "two seats of no mass stand"
        remarks.append(f"The model has no crew of its own: {stands} for it (--seats 1 or 2).")
    if load.in_empty:
        remarks.append(f"Counted with the basic mass: {', '.join(load.in_empty)}.")
    if aircraft.stance.tail_strike_deg is None:
        remarks.append("The tail-strike attitude is a placeholder: the model has no contact point there.")
    if "landing" in aircraft.configurations and not lands_without_flap(aircraft):
        faster = no_flap_over_stall(aircraft)
        times = f"{faster:.1f} times its stall" if math.isfinite(faster) else "no speed at all"
        remarks.append(
            "A landing without flap is left out: a pack has one angle of attack on speed, at which the clean "
            f"wing would need {times}."
        )
    if aircraft.description.engines[0].has_propeller:
        remarks.append(
            "Propeller: tables hold thrust at idle and full throttle, military meaning full throttle. The "
            "slipstream's effect on lift, drag and controls is not sampled."
        )
    return remarks


def notes_text(aircraft: SampledAircraft) -> str:
    """Return ``notes.md``."""
    stated = [*placeholder_remarks(aircraft), *aircraft.remarks]
    lines = [
        f"# {aircraft.model}, sampled",
        "",
        f"Sampled from the flight model {aircraft.model} of the flight-dynamics library JSBSim "
        f"{aircraft.version}.",
        "The numbers show what the model does, which may not be what a real aircraft does.",
        "",
        "How: the aircraft is held still at each Mach number and angle of attack, with flaps, gear and "
        "engines where they were commanded and settled, and its forces are read.",
        "Lift and drag are in equilibrium about the model's own centre of gravity.",
        "Each point is used only if the model, asked again, says that it is where it was put.",
        "Mach 0 in lift and drag is Mach 0.05.",
        "",
        "## What is not the model's",
        "",
        *(f"- {one}" for one in stated),
        "",
    ]
    return "\n".join(lines)
