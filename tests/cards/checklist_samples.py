"""Hand-made checklists of an invented aircraft for the tests of the checklist cards."""

from sortiewright.procedures import (
    Checklists,
    FilledBranch,
    FilledHold,
    LeftOut,
    ReadyItem,
    ReadyProcedure,
)


def item(number, challenge, response, *seats, **more):
    """Return an item; its name is made from its number."""
    return ReadyItem(f"item_{number}", number, challenge, response, seats or ("front",), **more)


def procedure(name, title, items, **more):
    """Return a list of normal kind unless ``more`` says otherwise."""
    plain = {
        "kind": "normal",
        "style": "do-confirm",
        "pace": "together",
        "phase": "ground",
        "entry": "",
        "not_if": "",
        "complete": f"{title} complete",
        "then": "",
    }
    return ReadyProcedure(id=name, title=title, items=tuple(items), **plain | more)


BOTH = ("front", "rear")

BEFORE_START = procedure(
    "before_start",
    "Before start",
    (
        item(1, "Parking brake", "SET, pressure 3 000 psi", killer=True),
        item(2, "Seat pins", "OUT, 2 stowed", *BOTH, killer=True),
        item(3, "Harness", "LOCKED", *BOTH),
        item(4, "Battery", "ON"),
        item(6, "Oxygen", "100 %, flow seen", *BOTH),
        item(
            7,
            "Radios",
            "Ground 121.9",
            "rear",
            notes=("The second set takes a moment to warm up.",),
        ),
        item(8, "Start clearance", "", hold=FilledHold("Clear to start", "crew_chief", "Crew chief")),
        item(9, "Altimeter", "1013 hPa, within 75 ft", *BOTH, until="Before taxi"),
    ),
    entry="Both crew strapped in",
    left_out=(LeftOut("tank", "Belly tank pump", "carries('belly_tank')", "carries('belly_tank') is no"),),
)

START = procedure(
    "start",
    "Start",
    (
        item(1, "Right throttle", "OFF"),
        item(
            2,
            "Right engine master",
            "START",
            warnings=("Intake suction kills: nobody within 8 m of the intake while the engine turns.",),
            cautions=("The starter overheats: do not hold it longer than the placard says.",),
        ),
        item(
            3,
            "Light-up",
            "Within 20 s",
            branch=FilledBranch("hung_start", "Hung start", "No light within 20 s"),
            killer=True,
        ),
        item(4, "Idle", "62 % ± 2 %, 410 °C", *BOTH),
        item(5, "Oil pressure", "30 to 45 psi", *BOTH, any_one=True),
    ),
    entry="Crew chief shows one finger",
)

LONG = procedure(
    "before_taxi",
    "Before taxi",
    (
        item(
            n, f"System number {n}", "CHECKED BY NAME" if n % 3 else "A state with a longer name", BOTH[n % 2]
        )
        for n in range(1, 27)
    ),
    pace="apart",
)

TAKEOFF = procedure(
    "line_up",
    "Line-up",
    (
        item(1, "Line-up", "", hold=FilledHold("Clearance to line up", "tower", "Tower")),
        item(2, "Trim", "4.2 units", *BOTH, killer=True),
        item(3, "Canopy", "CLOSED, LOCKED, light out", *BOTH, killer=True),
        item(
            4,
            "Decision speed",
            "—",
            "rear",
            problem="the runway condition is not known, so there is no decision speed",
        ),
    ),
    phase="takeoff",
)

FIRE = procedure(
    "engine_fire",
    "Engine fire in flight",
    (
        item(1, "Throttle, engine on fire", "IDLE", memory=True, part="immediate", killer=True),
        item(2, "Fire light", "OUT", memory=True, part="immediate"),
        item(3, "Throttle, engine on fire", "OFF", memory=True, part="immediate"),
        item(
            4,
            "Fire handle",
            "PULL",
            part="follow-up",
            cautions=("Once pulled the engine cannot be started again: be sure that it is the right one.",),
        ),
        item(
            5,
            "Fire light after 30 s",
            "OUT",
            *BOTH,
            part="follow-up",
            branch=FilledBranch("ejection", "Ejection", "Still on"),
        ),
        item(6, "Fuel transfer", "LIVE SIDE", "rear", part="deferred"),
        item(7, "Landing", "Single-engine, 165 kt", *BOTH, part="deferred"),
    ),
    kind="emergency",
    style="read-do",
    phase="flight",
    entry="Fire light on, or smoke behind the aircraft",
    not_if="Overheat light alone: Bleed leak",
    then="resume",
    status=("No generator on that side", "Approach 165 kt, no go-around below 200 ft"),
)

BLEED = procedure(
    "bleed_leak",
    "Bleed leak",
    (item(1, "Bleed air", "OFF", "rear"), item(2, "Cabin", "Below 10 000 ft", *BOTH)),
    kind="abnormal",
    style="read-do",
    then="engine_fire",
    entry="Overheat light alone",
    status=("No cabin pressure",),
)

EJECTION = procedure(
    "ejection",
    "Departure from controlled flight",
    (item(1, "Harness", "LOCKED", *BOTH, memory=True), item(2, "Handle", "PULL", *BOTH, memory=True)),
    kind="emergency",
    style="read-do",
    then="end",
    entry="Below 10 000 ft and not under control",
    status=("Steer the parachute clear of the fire",),
)


def checklists(
    seats=BOTH, normal=(BEFORE_START, START, LONG, TAKEOFF), others=(FIRE, EJECTION, BLEED), **more
):
    """Return a small set of lists with every mark in it."""
    titles = {"front": "Front seat", "rear": "Rear seat"}
    plain = {
        "parties": (("tower", "Tower"), ("crew_chief", "Crew chief")),
        "left_out": (LeftOut("arming", "Arming", "loaded('belly')", "loaded('belly') is no"),),
        "digest": "9c0ffee1" * 8,
    }
    return Checklists(
        normal=tuple(normal),
        others=tuple(others),
        seats=tuple((seat, titles[seat]) for seat in seats),
        **plain | more,
    )
