"""What stops or spoils a route, in words with numbers, as the verdict and the cards say it."""

from __future__ import annotations

from datetime import datetime, timedelta
from math import isfinite

from sortiewright.air import WindsMissing
from sortiewright.pack import OutsideTable
from sortiewright.sortie.figures import Kind
from sortiewright.sortie.route_day import RouteDay
from sortiewright.sortie.route_flown import RouteFault
from sortiewright.sortie.route_lines import end_of_cut, level_power, spent_on_paths
from sortiewright.sortie.route_pieces import Piece, PieceState
from sortiewright.sortie.route_rows import part_of
from sortiewright.sortie.route_solving import RouteRun
from sortiewright.sortie.route_stay import until_seconds
from sortiewright.sortie.units import FOOT, NAUTICAL_MILE, THIN_SPACE, show

ON_TIME = 1.0  # s, within which a time on target counts as met
SPEED_TOLERANCE = 5e-3  # Mach, by which a speed may leave the range found before it is a fault


def faults_of_run(run: RouteRun) -> tuple[list[RouteFault], int]:
    """Return the faults of a route in order, and how many of its pieces can be flown."""
    faults: list[RouteFault] = []
    for number, (piece, state) in enumerate(zip(run.pieces, run.states, strict=True)):
        if run.dry is not None and run.dry.piece == number:
            return [*faults, _dry(run, piece, state)], number
        if (stuck := _stuck(run.day, piece, state)) is not None:
            return [*faults, stuck], number
        faults += _spoilt(run.day, piece, state)
        faults += _late(run, number)
    if run.stop is not None:
        faults.append(_stopped(run))
    return faults, len(run.pieces)


def leg_name(piece: Piece) -> str:
    """Return what a leg is called: its number in the file, counted from 1, and where it goes."""
    name = piece.way.end.name if piece.way is not None else piece.point.name
    return f"leg {piece.leg + 1} to {name}"


def height_text(day: RouteDay, height: float) -> str:
    """Return a pressure altitude as a crew sets it: a flight level where it is one, else feet on the QNH."""
    altitude = (height - day.sea_level) / FOOT
    level = height / (100.0 * FOOT)
    if abs(level - round(level)) < 0.01 and abs(altitude / 100.0 - round(altitude / 100.0)) > 0.01:
        return f"FL{round(level):03d}"
    return show(height - day.sea_level, Kind.HEIGHT).text


def distance_text(distance: float) -> str:
    """Return a distance in nautical miles."""
    return f"{distance / NAUTICAL_MILE:.0f}{THIN_SPACE}nmi"


def duration_text(seconds: float) -> str:
    """Return a duration as minutes and seconds."""
    whole = round(abs(seconds))
    minutes, rest = divmod(whole, 60)
    if minutes == 0:
        return f"{rest}{THIN_SPACE}s"
    return f"{minutes}{THIN_SPACE}min" + (f" {rest}{THIN_SPACE}s" if rest else "")


def clock_text(moment: datetime) -> str:
    """Return a time of day, UTC, to the second."""
    return f"{moment:%H:%M:%S}Z"


def _fault(piece: Piece, text: str, hint: str, severity: str = "no-go") -> RouteFault:
    said = text[0].upper() + text[1:]
    return RouteFault(piece.leg, said, hint, "no-go" if severity == "no-go" else "caution", piece.key)


def _moment(day: RouteDay, elapsed: float) -> str:
    return clock_text(day.brake_release + timedelta(seconds=elapsed))


def _dry(run: RouteRun, piece: Piece, state: PieceState) -> RouteFault:
    assert run.dry is not None
    share = run.dry.share
    when = _moment(run.day, state.start_elapsed + share * state.time)
    along = state.start_distance + share * state.distance
    where = f"{distance_text(along)} along" if piece.way is not None else f"in the {piece.title.lower()}"
    text = f"fuel runs out on {leg_name(piece)}, {where}, at {when}"
    return _fault(piece, text, "Take more fuel, refuel before, or fly a shorter or more economical route")


def _stuck(day: RouteDay, piece: Piece, state: PieceState) -> RouteFault | None:
    """Return what keeps a piece from being flown at all."""
    if state.stuck:
        return _no_way_on(day, piece, state)
    if piece.kind in ("level", "stay", "turn") and (state.no_level or not isfinite(state.fuel_flow)):
        if piece.kind == "turn" and not state.no_level:
            text = f"the turn on {leg_name(piece)} cannot be completed at {state.mach:.2f} Mach"
            return _fault(piece, text, "Turn at a lower load factor, with more power or lower down")
        height = height_text(day, state.start_altitude)
        power = level_power(day, piece).replace("_", " ")
        text = f"{leg_name(piece)}: no level flight at {height} with {power} power"
        return _fault(piece, text, "Fly it lower or lighter")
    if piece.kind == "level" and not isfinite(state.time):
        text = f"{leg_name(piece)}: the headwind leaves no speed over ground"
        return _fault(piece, text, "Fly it faster or at another height")
    if piece.kind == "level" and state.steady_distance > 0.0 and not state.steady_time > 0.0:
        text = f"{leg_name(piece)}: the headwind leaves no speed over ground"
        return _fault(piece, text, "Fly it faster or at another height")
    return None


def _no_way_on(day: RouteDay, piece: Piece, state: PieceState) -> RouteFault:
    if all(isfinite(one.time[-1]) for one in state.flights if one is not None):
        text = f"{leg_name(piece)}: the headwind leaves no speed over ground"
        return _fault(piece, text, "Fly it faster or at another height")
    height, mach = end_of_cut(state, state.cut)
    power = state.paths[-1].power.replace("_", " ")
    if piece.kind in ("takeoff", "level", "stay"):
        text = f"{leg_name(piece)}: {power} power does not bring it to {state.paths[-1].mach[-1]:.2f} Mach"
        return _fault(piece, f"{text}, it stays at {mach:.2f}", "Fly it slower, lower or with more power")
    if part_of(piece, state) == "climb":
        asked, most = height_text(day, piece.altitude), height_text(day, height)
        text = f"{leg_name(piece)}: cannot climb to {asked} at {power} power, it reaches {most}"
        return _fault(piece, text, "Fly it lower, lighter or with another climb power or speed")
    low = height_text(day, piece.altitude)
    text = f"{leg_name(piece)}: does not come down to {low} at {power} power"
    return _fault(piece, text, "Descend with the speedbrake or with less power")


def _spoilt(day: RouteDay, piece: Piece, state: PieceState) -> list[RouteFault]:
    """Return what is not as asked in a piece that can be flown."""
    found: list[RouteFault] = []
    if state.short_by > 1.0 and piece.kind == "arrive":
        needs = distance_text(spent_on_paths(state)[2])
        what = "climb" if part_of(piece, state) == "climb" else "descent"
        text = f"{leg_name(piece)}: its {what} to {height_text(day, piece.altitude)} needs {needs}"
        text += f", {distance_text(state.short_by)} more than there is"
        found.append(_fault(piece, text, f"Begin the {what} on the leg before"))
    if piece.kind == "change" and piece.way is None and abs(state.end_altitude - piece.altitude) > 1.0:
        text = f"{leg_name(piece)}: {piece.title.lower()} height is not reached"
        found.append(_fault(piece, text, "Choose another height"))
    if piece.arrive is None and state.speed_range is not None:
        low, high = state.speed_range
        if not low - SPEED_TOLERANCE <= state.asked <= high + SPEED_TOLERANCE:
            height = height_text(day, state.start_altitude)
            text = f"{leg_name(piece)}: {state.asked:.2f} Mach is asked at {height}"
            text += f", level flight there is {low:.2f} to {high:.2f}"
            found.append(_fault(piece, text, "The nearest is flown: choose a speed inside the range"))
    at = piece.at
    if at is not None and at.orbit is not None and at.orbit.until is not None and piece.kind == "stay":
        over = state.start_elapsed - until_seconds(day, at.orbit.until)
        if over > ON_TIME:
            there = _moment(day, state.start_elapsed)
            text = f"orbit until {at.orbit.until} at {piece.point.name}: reached only at {there}"
            found.append(_fault(piece, text, "The orbit is left out", "caution"))
    wanted = at.refuel.fuel if at is not None and at.refuel is not None and piece.kind == "stay" else None
    if wanted is not None and state.fuel_on < wanted - 0.5:
        asked, room = show(wanted, Kind.MASS).text, show(state.fuel_on, Kind.MASS).text
        text = f"refuelling at {piece.point.name}: the tanks take {room} of the {asked} asked"
        found.append(_fault(piece, text, "Tanks are full from there", "caution"))
    return found


def _late(run: RouteRun, number: int) -> list[RouteFault]:
    """Return a time on target that is missed, at the last piece of its leg's way."""
    day, piece, state = run.day, run.pieces[number], run.states[number]
    clock = day.route.legs[piece.leg].arrive
    if clock is None or piece.way is None or piece.kind not in ("level", "arrive"):
        return []
    later = run.pieces[number + 1] if number + 1 < len(run.pieces) else None
    if piece.kind == "level" and later is not None and later.kind == "arrive" and later.leg == piece.leg:
        return []
    there = state.start_elapsed + state.time
    missed = there - until_seconds(day, clock)
    if abs(missed) <= ON_TIME:
        return []
    which, how = ("earliest", "late") if missed > 0.0 else ("latest", "early")
    text = f"{leg_name(piece)} is to be there at {clock}: the {which} at this point is "
    text += f"{_moment(day, there)}, {duration_text(missed)} {how}"
    hint = (
        "Choose a later time or faster legs before it" if missed > 0.0 else "Orbit before it, or fly slower"
    )
    return [_fault(piece, text, hint)]


def _stopped(run: RouteRun) -> RouteFault:
    """Return why the route ends where wind or tables end."""
    stop, day = run.stop, run.day
    assert stop is not None
    piece = stop.cut_piece
    assert piece is not None
    error = stop.error
    if isinstance(error, WindsMissing):
        asked, most = height_text(day, piece.altitude), height_text(day, error.highest)
        text = f"{leg_name(piece)}: winds are missing for {asked}, the highest level given is {most}"
        return _fault(piece, text, "Give the wind at that level under route.winds_aloft, or fly lower")
    said = "it cannot be computed"
    if isinstance(error, OutsideTable):
        said = str(error).rstrip(".")
        if error.axis == "pressure_altitude":
            top = height_text(day, error.high)
            said = f"{height_text(day, error.value)} is above the pack's tables, which end at {top}"
            if error.value < error.low:
                said = f"{height_text(day, error.value)} is below the pack's tables"
    return _fault(piece, f"{leg_name(piece)}: {said}", "Fly inside the pack's tables, or extend them")
