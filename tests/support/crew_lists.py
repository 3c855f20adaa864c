"""Small invented checklists for two seats, with one of everything that a run must handle."""

from sortiewright.procedures.tailored import (
    Checklists,
    FilledBranch,
    FilledHold,
    LeftOut,
    ReadyItem,
    ReadyProcedure,
)

FRONT, REAR = ("front",), ("rear",)
BOTH = ("front", "rear")


def item(id, number, seats=FRONT, response="ON", **more):
    return ReadyItem(id, number, id.replace("_", " ").capitalize(), response, seats, **more)


def listing(id, *items, kind="normal", pace="together", then="", **more):
    return ReadyProcedure(
        id=id,
        title=id.replace("_", " ").capitalize(),
        kind=kind,
        style="do-confirm" if kind == "normal" else "read-do",
        pace=pace,
        phase="ground",
        entry="" if kind == "normal" else f"Signs of {id.replace('_', ' ')}",
        not_if="",
        items=items,
        complete="",
        then=then,
        **more,
    )


def checklists(normal, others=(), go_around="", seats=BOTH):
    """Return lists for a crew whose crew chief and tower can clear holds."""
    return Checklists(
        normal=tuple(normal),
        others=tuple(others),
        seats=tuple((seat, f"{seat.capitalize()} seat") for seat in seats),
        parties=(("crew_chief", "Crew chief"), ("tower", "Tower")),
        left_out=(LeftOut("arming", "Arming", "carries('plover_bomb')", "carries('plover_bomb') is no"),),
        go_around=go_around,
        by_id={one.id: one for one in (*normal, *others)},
    )


def sample():
    """Return lists with holds, shared and either-seat items, deferral, branches, both paces, a go-around."""
    hold = FilledHold("Chocks out", "crew_chief", "Crew chief")
    line_up = FilledHold("Clearance to line up", "tower", "Tower")
    return checklists(
        [
            listing(
                "before_start",
                item("battery", 1, branch=FilledBranch("electrical_fault", "Electrical fault", "No voltage")),
                item("harness", 2, BOTH, "LOCKED"),
                item("canopy", 4, BOTH, "CLOSED", any_one=True, warnings=("Hands crushed: keep clear.",)),
                item("seat_pins", 5, REAR, "REMOVED", until="Before line-up", killer=True),
            ),
            listing(
                "after_start",
                item("radios", 1, FRONT, "SET 251.4"),
                item("navigation", 2, REAR, "ALIGNED"),
                item("transponder", 3, REAR, "STANDBY"),
                item("flaps", 4, FRONT, "TAKEOFF"),
                item("altimeter", 5, BOTH, "1009"),
                pace="apart",
            ),
            listing("taxi", item("chocks", 1, FRONT, "OUT", hold=hold), item("brakes", 2, FRONT, "CHECKED")),
            listing(
                "line_up", item("clearance", 1, (), "", hold=line_up), item("trim", 2, FRONT, "3.5 UNITS")
            ),
            listing("before_landing", item("gear", 1, FRONT, "DOWN"), item("hook", 2, REAR, "UP")),
            listing("landing", item("chute", 1, FRONT, "OUT")),
        ],
        [
            listing("electrical_fault", item("generator", 1, FRONT, "RESET"), kind="abnormal", then="resume"),
            listing(
                "engine_fire",
                item("throttle", 1, FRONT, "OFF", memory=True, part="immediate"),
                item("fire_handle", 2, FRONT, "PULL", memory=True, part="immediate"),
                item("crew", 3, REAR, "INFORMED", part="follow-up"),
                kind="emergency",
                then="resume",
                status=("One engine only",),
            ),
            listing(
                "leave_aircraft", item("handle", 1, BOTH, "PULL", any_one=True), kind="emergency", then="end"
            ),
            listing("one_engine", item("burner", 1, FRONT, "OFF"), kind="abnormal", then="before_landing"),
            listing("go_around", item("power", 1, FRONT, "MILITARY"), kind="normal"),
        ],
        go_around="go_around",
    )
