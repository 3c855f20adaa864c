"""Debriefs made by hand for the reports, and one whose every text is hostile."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from rule_flights import made_flight, made_recording

from sortiewright.recording import (
    Compared,
    Debrief,
    Defect,
    Finding,
    FlightDebrief,
    Judged,
    LandingComparison,
    LandingPicture,
    Measured,
    Recording,
    RunMark,
    SpeedOverDistance,
)

HOSTILE = (
    "</script><script>alert(1)</script><img src=x onerror=alert(2)>\"' onload=alert(3) &\x00\u202e#panic[x]"
)
PHASES = [("taxi", 0), ("takeoff_roll", 40), ("rotation", 60), ("climb", 64)]
EVENTS = [("brake_release", 40), ("rotation_begins", 60), ("lift_off", 64)]


def sample_recording(seconds: float = 100.0, rate: float = 10.0) -> Recording:
    """Return a taxi, a takeoff run northwards from a place at sea, and a climb."""
    time = np.arange(0.0, seconds, 1 / rate)
    speed = np.interp(time, [0, 10, 30, 40, 64, seconds], [0, 8, 8, 0, 85, 120])
    north = np.concatenate([[0.0], np.cumsum(0.5 * (speed[1:] + speed[:-1]) / rate)])
    height = np.maximum(time - 64.0, 0.0) * 8.0
    return made_recording(
        {
            "ground_speed": speed,
            "calibrated_airspeed": speed,
            "height_above_ground": height,
            "altitude": height,
            "pitch": np.interp(time, [0, 60, 65], [0, 0, 0.2]),
            "load_factor_normal": np.where(np.arange(len(time)) == 700, 3.25, 1.0),
            "true_heading_deg": np.where(time < 20, 359.0, 1.0),
            "latitude_deg": 50.0 + north / 111_230.0,
            "longitude_deg": np.zeros_like(time),
        },
        rate=rate,
    )


def finding(rule="gear_late", severity="medium", at=70.0, value=60.0, limit=50.0, **more) -> Finding:
    """Return a finding of a speed."""
    text = f"{rule} happened: 117 kt, above 97 kt, for 2.0 s during the climb."
    rest = {"title": rule.replace("_", " ").capitalize(), "advice": f"Mind the {rule}.", "text": text} | more
    return Finding(
        rule=rule,
        severity=severity,
        begins=at - 1,
        ends=at + 1,
        peak_at=at,
        phase="climb",
        value=value,
        limit=limit,
        unit="m/s",
        source="common practice, no source",
        **rest,
    )


FINDINGS = (
    finding("late_flap", "low", at=66.0),
    finding("gear_overspeed", "high", at=90.0, value=75.0, limit=70.0),
    finding("taxi_fast", "medium", at=20.0),
    finding("late_rotation", "high", at=62.0, value=90.0, limit=70.0),
)
JUDGED = (
    *(Judged(one.rule, one.title, "broken") for one in FINDINGS),
    Judged("straight", "Off the centre line", "held", praise="The run was straight."),
    Judged("hard", "Hard landing", "not_evaluated", because="there was no touchdown on this flight"),
)
MEASURED = (
    Measured("lift_off_speed", "Lift-off speed", 85.0, "cas", 64.0, planned=83.0),
    Measured("ground_run", "Ground run", 1020.0, "runway_distance", 64.0, planned=float("inf")),
    Measured("touchdown_speed", "Touchdown speed", None, "cas", None, problem="there was no touchdown"),
)


def sample_debrief(recording: Recording | None = None, **changes) -> Debrief:
    """Return a debrief of one flight with four findings."""
    recording = recording or replace(
        sample_recording(),
        name="flight.csv",
        unmapped=("spare",),
        derived={"altitude": "height above ground"},
        defects=(Defect("gap", "", 30.0, 31.0, "one second is missing"),),
    )
    one = FlightDebrief(
        made_flight(recording, PHASES, EVENTS),
        findings=FINDINGS,
        judged=JUDGED,
        measured=MEASURED,
        not_compared=("Takeoff: weight was 9 000 lb; the sortie says 12 000 lb",),
        notes=("The recording ends in the air: landing cannot be told.",),
    )
    return Debrief(recording, (replace(one, **changes),), notes=("Nothing was held against a plan",))


def hostile_debrief() -> Debrief:
    """Return a debrief in which every text that comes from a file tries to be something else."""
    recording = replace(
        sample_recording(),
        name=HOSTILE,
        unmapped=(HOSTILE,),
        derived={HOSTILE: HOSTILE},
        defects=(Defect("gap", HOSTILE, 30.0, 31.0, HOSTILE),),
    )
    return sample_debrief(
        recording,
        findings=(finding(title=HOSTILE, advice=HOSTILE, text=HOSTILE),),
        judged=(Judged("x", HOSTILE, "held", praise=HOSTILE), Judged("y", HOSTILE, "not_evaluated", HOSTILE)),
        measured=(Measured("x", HOSTILE, 1.0, "cas", 5.0), Measured("y", HOSTILE, None, HOSTILE, None)),
        not_compared=(HOSTILE,),
        notes=(HOSTILE,),
    )


def sample_landing(marks: tuple[RunMark, ...] | None = None) -> LandingComparison:
    """Return a landing that slows evenly from 300 m on, 75 m/s to nought; the planned one a tenth shorter."""

    def run(metres: float) -> np.ndarray:
        return np.where(
            distance <= metres,
            np.sqrt(np.interp(distance, [300.0, metres], [75.0**2, 0.0])),
            np.nan,
        )

    distance = np.linspace(0.0, 1500.0, 61)
    flown, planned = run(1500.0), run(1350.0)
    curves = SpeedOverDistance(distance, planned, flown, planned, flown)
    if marks is None:
        marks = tuple(
            RunMark(name, title, style, at + late, float(np.interp(at + late, distance, values)))
            for style, late, values in (("planned", 0.0, planned), ("flown", 80.0, flown))
            for name, title, at in (
                ("touchdown", "touchdown", 320.0),
                ("chute", "chute", 450.0),
                ("brakes_on", "brakes on", 560.0),
            )
        )
    compared = (Compared("landing_distance", "50 ft to the end", "runway_distance", 1350.0, 1500.0),)
    picture = LandingPicture(curves, marks, "threshold")
    return LandingComparison(80.0, "Today", compared, (), (), "", picture)
