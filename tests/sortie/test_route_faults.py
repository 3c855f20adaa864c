"""What a route is refused for, and what is said of one that cannot be flown as asked."""

from __future__ import annotations

import pytest
from route_sortie import NO_WIND, ROUTE_SORTIE, WINDS, even_wind, flown, load_route_sortie

from sortiewright.pack import InputError, load_pack
from sortiewright.sortie.route_flown import FlownRoute

THEN = "{to: BRENT}"
FOOT, MILE = 0.3048, 1852.0


def then(done):
    return THEN, f"{{to: BRENT, then: [{done}]}}"


def refused(*changes):
    """Return the lines of the faults of the file."""
    with pytest.raises(InputError) as caught:
        load_route_sortie(*changes)
    return str(caught.value).split("\n")


def said(route: FlownRoute):
    return [fault.text.replace("\u202f", " ") for fault in route.faults]


@pytest.mark.parametrize(
    ("changes", "line"),
    [
        (
            (("to: BRENT", "to: BRENTT"),),
            'route.yaml:36  route.legs[1].to: "BRENTT" is no point of the route and no known field. '
            'Did you mean "BRENT"?',
        ),
        (
            (("mach: 0.7", "mach: 0.7, cas: 300 kt"),),
            "route.yaml:37  route.legs[2].cas: mach and cas cannot both be given. Keep one of them",
        ),
        (
            (("mach: 0.7", 'mach: 0.7, arrive: "10:05Z"'),),
            "route.yaml:37  route.legs[2].arrive: arrive and mach cannot both be given. "
            "The speed follows from the time: leave it out, or leave out arrive",
        ),
        (
            (("mach: 0.7", "altitude: 3000 ft, flight_level: 30"),),
            "route.yaml:37  route.legs[2].flight_level: altitude and flight_level cannot both be given. "
            "Keep one of them",
        ),
        (
            (("mach: 0.7", "arrive_altitude: 3000 ft, arrive_flight_level: 30"),),
            "route.yaml:37  route.legs[2]: arrive_altitude and arrive_flight_level cannot both be given. "
            "Keep one of them",
        ),
        (
            (("ALFER, flight_level: 200", "ALFER"),),
            "route.yaml:35  route.legs[0]: the first leg needs a height. "
            "Write altitude or flight_level: the legs after it keep it until they say another",
        ),
        (
            (("    - {to: ZZCH}\n", ""),),
            'route.yaml:38  route.legs[3].to: "DORNA" is not the recovery fix, Corran Head. '
            "End the route at Corran Head, or write recovery: {fix: DORNA}",
        ),
        (
            (("to: BRENT", "to: ALFER"),),
            'route.yaml:36  route.legs[1].to: "ALFER" is where the leg begins. '
            "What is done at one point is written under then",
        ),
        (
            (("flight_level: 100, wind", "altitude: 9000 ft, flight_level: 100, wind"),),
            "route.yaml:31  route.winds_aloft[1]: needs altitude or flight_level, one of the two",
        ),
        (
            (("flight_level: 100, wind", "altitude: 2000 ft, wind"),),
            "route.yaml:31  route.winds_aloft[1]: is at the height of another level",
        ),
        (
            (then("{refuel: {time: 8 min, rate: 2000 lb/min}}"),),
            "route.yaml:36  route.legs[1].then[0].refuel: needs time or rate, one of the two. "
            "time: 8 min, or rate: 2000 lb/min",
        ),
        (
            (then("{orbit: {cas: 300 kt}}"),),
            "route.yaml:36  route.legs[1].then[0].orbit: needs time or until, one of the two. time: 10 min",
        ),
        (
            (then("{orbit: {time: 5 min, ground_speed: 300 kt}}"),),
            "route.yaml:36  route.legs[1].then[0].orbit.ground_speed: means nothing over one point. "
            "Write tas, cas or mach",
        ),
        (
            (then("{orbit: {time: 5 min}, release: [belly]}"),),
            "route.yaml:36  route.legs[1].then[0]: orbit and release needs one of orbit, refuel, release, "
            "task, turn, and one only. Write each on a line of its own, in the order they are done",
        ),
        (
            (then("{release: [left_cheek]}"),),
            'route.yaml:36  route.legs[1].then[0].release[0]: "left_cheek" is none of the loaded stations. '
            "Known loaded stations: belly, left_inboard, right_inboard",
        ),
        (
            (then("{release: [belly]}, {release: [belly]}"),),
            'route.yaml:36  route.legs[1].then[1].release[0]: "belly" has let its stores go before',
        ),
        (
            (then("{task: {time: 5 min, power: military, fuel_flow: 9000 lb/h}}"),),
            "route.yaml:36  route.legs[1].then[0].task: power and fuel_flow cannot both be given. "
            "Keep one of them",
        ),
        (
            (then("{task: {time: 5 min, power: militry}}"),),
            'route.yaml:36  route.legs[1].then[0].task.power: "militry" is none of the settings of dotterel. '
            'Did you mean "military"?',
        ),
        (
            (then("{turn: {heading_change: 90 deg, load_factor: 2, bank: 60 deg}}"),),
            "route.yaml:36  route.legs[1].then[0].turn: load_factor and bank cannot both be given. "
            "Keep one of them",
        ),
        (
            (then("{turn: {heading_change: 90 deg, bank: 5 deg}}"),),
            "route.yaml:36  route.legs[1].then[0].turn.bank: 5 deg must be 18 to 85 deg",
        ),
        (
            (then("{turn: {heading_change: 90 deg, load_factor: 1}}"),),
            "route.yaml:36  route.legs[1].then[0].turn.load_factor: 1 must be 1.05 or more",
        ),
        (
            (then("{turn: {heading_change: 0 deg}}"),),
            "route.yaml:36  route.legs[1].then[0].turn.heading_change: must be above zero, to either side",
        ),
        (
            (then("{orbit: {time: 5 min, bank: 90 deg}}"),),
            "route.yaml:36  route.legs[1].then[0].orbit.bank: 90 deg must be 0 to 85 deg",
        ),
    ],
)
def test_a_file_is_refused_with_the_line_and_what_to_do(changes, line):
    assert refused(*changes) == [line]


def test_all_faults_of_a_route_are_told_at_once():
    lines = refused(
        ("to: BRENT", "to: BRENTT"), ("mach: 0.7", "mach: 0.7, cas: 300 kt"), ("to: DORNA", "to: DONA")
    )

    assert len(lines) == 3


def test_a_pack_without_speeds_to_climb_and_descend_at_asks_the_route_for_them(tmp_path):
    import shutil
    from pathlib import Path

    from sortiewright.sortie import read_sortie

    place = tmp_path / "plain"
    shutil.copytree(Path(load_pack("dotterel").folder), place)
    technique = (place / "technique.yaml").read_text("utf-8")
    text = technique[: technique.index("climb:\n  power: military")].replace("  climb_cas: 350 kt\n", "")
    (place / "technique.yaml").write_text(text, "utf-8")
    sortie = ROUTE_SORTIE.replace("pack: dotterel", "pack: plain")
    with pytest.raises(InputError) as caught:
        read_sortie(sortie, "route.yaml", tmp_path)

    lines = str(caught.value).split("\n")
    assert [line.split(": ", 1)[1] for line in lines] == [
        "dotterel has no climb speed (technique.climb). Write climb_cas: 350 kt there",
        "dotterel has no descent speed (technique.descent). Write descent_cas: 300 kt there",
    ]
    both = sortie.replace("route:\n", "route:\n  climb_cas: 350 kt\n  descent_cas: 300 kt\n")
    assert read_sortie(both, "route.yaml", tmp_path).sortie.route is not None


def test_a_leg_above_the_ceiling_says_how_high_the_aircraft_comes():
    high = WINDS, WINDS.replace("flight_level: 300", "flight_level: 600")
    route = flown(high, (THEN, "{to: BRENT, flight_level: 550}"))
    (text,) = said(route)

    assert not route.complete
    assert text.startswith("Leg 2 to BRENT: cannot climb to FL550 at military power, it reaches ")
    assert 33_000 <= int(text.split("reaches ")[1].replace(" ft", "").replace(" ", "")) <= 36_000
    assert all(row.leg < 1 for row in route.rows)


def test_a_leg_above_the_pack_s_tables_names_their_end():
    high = WINDS, WINDS.replace("flight_level: 300", "flight_level: 690")
    route = flown(high, (THEN, "{to: BRENT, flight_level: 650}"))

    assert not route.complete
    assert said(route)[0].endswith("above the pack's tables, which end at FL550")


@pytest.mark.parametrize(
    ("written", "asked"), [("mach: 1.4", "1.40"), ("mach: 2.4", "2.40"), ("cas: 110 kt", "0.24")]
)
def test_a_leg_outside_the_speed_range_names_leg_asked_and_allowed_and_flies_the_nearest(written, asked):
    route = flown(("mach: 0.7", written))
    (text,) = said(route)
    row = next(row for row in route.rows if row.leg == 2)
    low, high = (float(part) for part in text.rsplit(" is ", 1)[1].split(" to "))

    assert text.startswith(f"Leg 3 to CULLEN: {asked} Mach is asked at FL200, level flight there is ")
    assert route.faults[0].severity == "no-go"
    assert route.complete
    assert row.mach == pytest.approx(high if float(asked) > 1.0 else low, abs=0.01)


# The pod's own limit, Mach 0.90, comes before what the engines give.
def test_a_store_s_limit_bounds_the_speed():
    slow = ("    left_inboard: [triple_rack, plover_bomb]", "    left_inboard: magpie_baggage_pod")
    route = flown(slow, ("mach: 0.7", "mach: 0.95"))

    assert "level flight there is" in said(route)[0]
    assert said(route)[0].endswith("to 0.90")


@pytest.mark.parametrize(
    ("clock", "words", "late"), [("10:03:00Z", "earliest", True), ("10:42:00Z", "latest", False)]
)
def test_a_time_on_target_that_cannot_be_met_says_by_how_much(clock, words, late):
    route = flown(("mach: 0.7", f'arrive: "{clock}"'))
    (text,) = said(route)
    row = next(row for row in route.rows if row.leg == 2)
    seconds = (row.at.hour * 60 + row.at.minute) * 60 + row.at.second + row.at.microsecond / 1e6
    hours, minutes, rest = (int(part) for part in clock.rstrip("Z").split(":"))
    missed = round(abs(seconds - (hours * 60 + minutes) * 60 - rest))

    assert f"the {words} at this point is {row.at:%H:%M:%S}Z" in text
    whole = f"{missed // 60} min {missed % 60} s" if missed % 60 else f"{missed // 60} min"
    assert text.endswith(f"{whole} {'late' if late else 'early'}")
    assert route.faults[0].severity == "no-go"


def test_winds_missing_for_the_first_leg_leave_no_piece_to_fly_and_say_so():
    route = flown(("ALFER, flight_level: 200", "ALFER, flight_level: 420, tas: 700 kt"))

    assert said(route) == ["Leg 1 to ALFER: winds are missing for FL420, the highest level given is FL300"]
    assert not route.complete


def test_winds_that_are_missing_for_a_level_name_level_and_leg():
    route = flown((THEN, "{to: BRENT, flight_level: 350}"))

    assert not route.complete
    assert said(route) == ["Leg 2 to BRENT: winds are missing for FL350, the highest level given is FL300"]
    assert route.faults[0].key == ("route", "legs", 1)


def test_fuel_that_runs_out_says_on_which_leg_how_far_along_and_when():
    little = (
        "  taxi_time: 14 min",
        "  fuel: {total: 4000 lb, external: {belly: 100 lb}}\n  taxi_time: 14 min",
    )
    route = flown(little)
    (text,) = said(route)

    assert not route.complete
    assert text.startswith("Fuel runs out on leg 3 to CULLEN, ")
    along = float(text.split(", ")[1].split(" ")[0])
    last = route.rows[-1]
    assert last.leg == 1
    left = last.fuel_aboard - sum(tank.unusable for tank in load_pack("dotterel").pack.mass.tanks.values())
    plenty = next(row for row in flown().rows if row.leg == 2)
    # About where the flow of a heavier aircraft on the same leg would have burnt what was left.
    assert along == pytest.approx(left / plenty.fuel * plenty.distance / MILE, rel=0.25)


def test_a_descent_that_does_not_fit_says_what_it_lacks():
    route = flown(("{to: DORNA}", "{to: DORNA, flight_level: 300}"))
    (text,) = said(route)
    needs, lacks = (float(part.split(" nmi")[0].split()[-1]) for part in text.split(", "))

    assert text.startswith("Leg 5 to ZZCH: its descent to ")
    length = sum(row.distance for row in route.rows if row.leg == 4) / MILE
    assert needs - lacks == pytest.approx(length, abs=1.5)


def test_an_orbit_until_a_time_that_has_passed_is_left_out_with_a_caution():
    route = flown(then('{orbit: {until: "09:50Z"}}'))
    orbit = next(row for row in route.rows if row.part == "orbit")

    assert route.complete
    assert route.faults[0].severity == "caution"
    assert said(route)[0].startswith("Orbit until 09:50Z at BRENT: reached only at 09:59:")
    assert orbit.time == 0.0


def test_refuelling_more_than_the_tanks_take_is_a_caution():
    route = flown(then("{refuel: {time: 8 min, fuel: 9000 lb}}"))

    assert [fault.severity for fault in route.faults] == ["caution"]
    assert "of the 9 000 lb asked" in said(route)[0]


def test_a_turn_that_the_wing_does_not_give_stops_the_route():
    route = flown(then("{turn: {heading_change: 180 deg, load_factor: 9}}"))

    assert not route.complete
    assert said(route)[0].startswith("The turn on leg 2 to BRENT cannot be completed")


def test_a_headwind_no_slower_than_the_aircraft_is_told():
    route = flown(even_wind(353, 199), (THEN, "{to: BRENT, tas: 190 kt, altitude: 3000 ft}"))

    assert not route.complete
    assert said(route) == ["Leg 2 to BRENT: the headwind leaves no speed over ground"]


def test_still_air_needs_no_levels_for_any_height():
    route = flown(NO_WIND, (THEN, "{to: BRENT, flight_level: 290}"))

    assert not [fault for fault in route.faults if "winds" in fault.text]


def test_shipped_packs_keep_less_fuel_the_nearer_they_are_to_the_end_of_it():
    for name in ("dotterel", "whinchat"):
        fuel = load_pack(name).pack.technique.fuel
        assert fuel is not None
        assert fuel.emergency < fuel.minimum < fuel.normal_recovery
