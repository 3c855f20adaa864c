"""What a sampled pack lacks or only pretends to know, for its notes and for whoever sampled it."""

from __future__ import annotations

from sortiewright.pack_sampling.sampling import SampledAircraft

LIFT_IN_GROUND_EFFECT = 0.01


def placeholder_remarks(aircraft: SampledAircraft) -> list[str]:
    """Return a sentence for each thing that the model does not say and the pack invents or lacks."""
    load = aircraft.load
    remarks = [
        "Technique (rotation speed, attitude, approach) is a placeholder, not this aircraft's procedure.",
        "Braking friction, tyre pressure and tyre speed are placeholders; brake energy is not evaluated.",
        "Mass limits and envelope are placeholders: what fuel and crew can give, not what is allowed.",
        "Limits, run-up readings, stores, drag chute, hook, book points and procedures are left out.",
        "The mean chord's leading edge is a placeholder, so %MAC is comparable only inside this pack.",
    ]
    if not load.has_crew:
        remarks.append("The model has no crew of its own: one seat of no mass stands for it.")
    if load.in_empty:
        remarks.append(f"Counted with the basic mass: {', '.join(load.in_empty)}.")
    if aircraft.stance.tail_strike_deg is None:
        remarks.append("The tail-strike attitude is a placeholder: the model has no contact point there.")
    gain = aircraft.effect.lift_factor - 1.0
    if abs(gain) > LIFT_IN_GROUND_EFFECT:
        remarks.append(
            f"On its wheels the model has {100 * gain:+.0f} % lift from ground effect, which a pack cannot "
            "say: lift-off comes later here than in the model."
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
