"""The form of a debrief as JSON, written out: a JSON Schema (draft 2020-12) that allows nothing else."""

from __future__ import annotations

NUMBER = {"type": ["number", "null"]}
QUANTITY = {
    "type": "object",
    "properties": {"value": NUMBER, "unit": {"type": "string"}},
    "required": ["value", "unit"],
    "additionalProperties": False,
}


def exactly(**properties):
    return {
        "type": "object",
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
    }


def many(of):
    return {"type": "array", "items": of}


TEXT, MAYBE, TEXTS = {"type": "string"}, {"type": ["string", "null"]}, many({"type": "string"})
COMPARED = exactly(name=TEXT, title=TEXT, kind=TEXT, planned=QUANTITY, flown=QUANTITY, basis=MAYBE)
DIFFERENCES = many(exactly(name=TEXT, text=TEXT))
_LINES = {
    f"{name}_m_per_s": many(NUMBER)
    for name in ("planned_cas", "flown_cas", "planned_ground_speed", "flown_ground_speed")
}
CURVES = exactly(distance_m=many(NUMBER), **_LINES)
LANDING_CURVES = exactly(
    counted_from={"enum": ["threshold", "50 ft of height", "touchdown as planned"]},
    distance_m=many(NUMBER),
    **_LINES,
)
MOMENTS = many(
    exactly(name=TEXT, run={"enum": ["planned", "flown"]}, distance_m=NUMBER, ground_speed_m_per_s=NUMBER)
)
SCHEMA = exactly(
    format={"const": 1},
    headline=TEXT,
    recording=exactly(
        name=TEXT,
        samples={"type": "integer"},
        begins=NUMBER,
        ends=NUMBER,
        started=MAYBE,
        derived={"type": "object"},
        unmapped=TEXTS,
        defects=many(
            exactly(
                kind=TEXT,
                channel=MAYBE,
                begins=NUMBER,
                ends=NUMBER,
                count={"type": "integer"},
                text=TEXT,
            )
        ),
    ),
    sortie={
        "anyOf": [
            {"type": "null"},
            exactly(title=TEXT, callsign=TEXT, aerodrome=TEXT, runway=TEXT, time=TEXT),
        ]
    },
    pack={"anyOf": [{"type": "null"}, exactly(name=TEXT, version=TEXT, digest=TEXT)]},
    flights=many(
        exactly(
            begins=NUMBER,
            ends=NUMBER,
            findings=many(
                exactly(
                    rule=TEXT,
                    title=TEXT,
                    severity={"enum": ["low", "medium", "high"]},
                    begins=NUMBER,
                    ends=NUMBER,
                    peak_at=NUMBER,
                    phase=TEXT,
                    value=NUMBER,
                    limit=NUMBER,
                    unit=TEXT,
                    text=TEXT,
                    advice=TEXT,
                    source=MAYBE,
                )
            ),
            went_well=TEXTS,
            rules=many(
                exactly(
                    rule=TEXT,
                    title=TEXT,
                    outcome={"enum": ["broken", "held", "not_evaluated"]},
                    because=MAYBE,
                )
            ),
            measured=many(
                exactly(
                    name=TEXT,
                    title=TEXT,
                    kind=TEXT,
                    time=NUMBER,
                    flown=QUANTITY,
                    planned={"anyOf": [{"type": "null"}, QUANTITY]},
                    problem=MAYBE,
                )
            ),
            planned_with=TEXTS,
            takeoffs=many(
                exactly(
                    released_at=NUMBER,
                    compared=many(COMPARED),
                    splits=many({"type": "object"}),
                    speed_over_distance=CURVES,
                    differences=DIFFERENCES,
                    remarks=TEXTS,
                )
            ),
            rejected_takeoffs=many(
                exactly(
                    released_at=NUMBER,
                    levers_closed_at=NUMBER,
                    compared=many(COMPARED),
                    splits=many({"type": "object"}),
                    speed_over_distance=CURVES,
                    moments=MOMENTS,
                    differences=DIFFERENCES,
                    remarks=TEXTS,
                )
            ),
            landings=many(
                exactly(
                    touched_down_at=NUMBER,
                    planned_as=TEXT,
                    brake_zone=MAYBE,
                    compared=many(COMPARED),
                    speed_over_distance={"anyOf": [{"type": "null"}, LANDING_CURVES]},
                    moments=MOMENTS,
                    differences=DIFFERENCES,
                    remarks=TEXTS,
                )
            ),
            not_compared=TEXTS,
            phases=many(exactly(name=TEXT, begins=NUMBER, ends=NUMBER)),
            events=many(exactly(name=TEXT, time=NUMBER, basis=MAYBE)),
            runway={"anyOf": [{"type": "null"}, {"type": "object"}]},
            notes=TEXTS,
        )
    ),
    notes=TEXTS,
    caution=TEXT,
)
"""Format 1. A name that goes, or changes its meaning, needs another number."""
