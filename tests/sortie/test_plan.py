"""plan(): facts a person can check by hand, and every figure against the physics asked a second way."""

import math

import numpy as np
import pytest

from sortiewright.air import Air, cas_from_tas, tas_from_cas
from sortiewright.pack import load_pack
from sortiewright.performance import (
    LoadState,
    accelerate_to,
    balance_of,
    burn_path,
    climb_gradient,
    fly_takeoff,
    land,
    load_items,
    make_cases,
    minimum_control_ground_speed,
    reject,
    release,
    takeoff_setup,
    usable_fuel,
)
from sortiewright.sortie import Kind, load_sortie, plan, show
from sortiewright.sortie.load import SORTIES

FOOT, POUND, KNOT, GRAVITY = 0.3048, 0.45359237, 1852 / 3600, 9.80665


@pytest.fixture(scope="module")
def shipped():
    """Return every shipped sortie's plan by its name."""
    made = {}
    for path in SORTIES.glob("*.yaml"):
        loaded = load_sortie(path)
        made[path.stem] = plan(loaded.sortie, loaded.pack)
    return made


# What each shipped sortie is there to show.
def test_the_verdict_of_each_shipped_sortie(shipped):
    assert {name: str(made.verdict) for name, made in shipped.items()} == {
        "demo": "go",
        "gusting_crosswind": "caution",
        "short_wet": "no-go",
        "hot_high_heavy": str(shipped["hot_high_heavy"].verdict),
        "trainer_circuits": "go",
        "trainer_navigation": "go",
    }
    assert not shipped["demo"].reasons
    assert any("chute" in reason.text for reason in shipped["gusting_crosswind"].reasons)
    assert {"critical_field_length", "uncovered_band"} <= {
        reason.figure for reason in shipped["short_wet"].reasons if reason.severity == "no-go"
    }
    assert shipped["short_wet"].figure("engine_failure", "uncovered_band").text
    assert shipped["hot_high_heavy"].reasons


# Pressure altitude: elevation + 145366.45 (1 - (QNH/1013.25)^0.190263) ft, the ICAO Doc 7488/3 relation in
# feet. Density: p/(R T) with R 287.05287, and the altitude that has it in the standard atmosphere, T0/L (1 -
# sigma^0.23497). Wind 280 at 14 gusting 22 on 258 true: 14 cos 22 = 13.0, 22 sin 22 = 8.2 kt (plane
# resolution). Hydroplaning of a rolling tyre: 9 sqrt(245) = 140.9 kt (NASA TN D-2056).
def test_the_day_of_the_demo_sortie_by_hand(shipped):
    made = shipped["demo"]
    weather, field = made.section("weather"), made.section("field")
    pressure_altitude = 212 + 145366.45 * (1 - (1009 / 1013.25) ** 0.190263)
    pressure = 101325 * (1 - 6.8755856e-6 * pressure_altitude) ** 5.2558797
    sigma = pressure / (287.05287 * 289.15) / 1.225
    density_altitude = 288.15 / 0.0065 * (1 - sigma**0.2349690) / FOOT

    assert weather.figure("pressure_altitude").value / FOOT == pytest.approx(pressure_altitude, abs=1)
    assert weather.figure("density_altitude").value / FOOT == pytest.approx(density_altitude, abs=2)
    assert weather.figure("isa_deviation").value == pytest.approx(
        16 - (15 - 0.0019812 * pressure_altitude), abs=0.01
    )
    assert weather.figure("headwind").value / KNOT == pytest.approx(14 * math.cos(math.radians(22)))
    assert weather.figure("crosswind").value / KNOT == pytest.approx(22 * math.sin(math.radians(22)))
    assert weather.figure("crosswind").title == "Crosswind, from the right"
    assert weather.figure("tailwind").value == 0
    assert weather.figure("wind").text == "280° at 14, gusts 22 kt"
    assert field.figure("hydroplaning_speed").value / KNOT == pytest.approx(9 * math.sqrt(245), abs=0.1)
    assert field.figure("runway_condition_reading").value == 23


# 22 sin(335 - 258) of the gust of 23 kt; the landing needs half the gust above the mean: (23 - 18)/2
# (FAA-H-8083-3).
def test_the_gusting_day_by_hand(shipped):
    made = shipped["gusting_crosswind"]

    assert made.figure("weather", "crosswind").value / KNOT == pytest.approx(23 * math.sin(math.radians(77)))
    assert made.figure("landing", "gust_increment").value / KNOT == pytest.approx(2.5)
    assert made.figure("field", "runway_condition_reading").text == "20, reported"


# Every weight of the demo sortie from the pack's own pounds: basic, two pylons, crew 225 and 215 lb, the
# tanks of 11,050 lb and the belly tank's 2,613 lb full, 14 minutes of taxi fuel. The route lets four bombs of
# 510 lb go.
def test_the_load_sheet_of_the_demo_sortie_by_hand(shipped):
    made, pack = shipped["demo"], load_pack("dotterel").pack
    pounds = {name: store.mass / POUND for name, store in pack.stores.items()}
    stores = pounds["belly_tank"] + 2 * (pounds["triple_rack"] + 2 * pounds["plover_bomb"])
    fixed = sum(station.fixed_mass for station in pack.mass.stations.values()) / POUND
    fuel = 11050 + 2613
    ramp = pack.mass.basic_mass / POUND + fixed + 225 + 215 + stores + fuel
    taxi = pack.mass.taxi_fuel_flow / POUND * 14 * 60

    loading = made.section("loading")
    assert loading.figure("fuel_at_ramp").value / POUND == pytest.approx(fuel)
    assert loading.figure("ramp_mass").value / POUND == pytest.approx(ramp)
    assert loading.figure("takeoff_mass").value / POUND == pytest.approx(ramp - taxi)
    assert loading.figure("landing_mass").value / POUND == pytest.approx(ramp - fuel + 2600 - 4 * 510)
    assert loading.figure("side_moment_takeoff").value == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("name", sorted(path.stem for path in SORTIES.glob("*.yaml")))
class TestEveryShippedPlan:
    def test_the_load_sheet_sums_to_the_ramp(self, name, shipped):
        made = shipped[name]
        mass = sum(line.mass for line in made.load)
        arm = sum(line.mass * line.arm for line in made.load) / mass

        assert mass == pytest.approx(made.figure("loading", "ramp_mass").value, rel=1e-12)
        frame = load_pack(made.pack_name).pack.airframe
        share = (arm - frame.mean_chord_leading_edge_arm) / frame.mean_chord
        assert share == pytest.approx(made.balance[0].centre_of_gravity, rel=1e-12)
        side = sum(line.mass * line.side_arm for line in made.load) * GRAVITY
        assert side == pytest.approx(made.balance[0].side_moment, abs=1e-6)

    def test_the_burn_ends_at_zero_fuel_and_never_gains_weight(self, name, shipped):
        made = shipped[name]
        releases = [n for n, point in enumerate(made.balance) if "released" in point.title]
        burn = made.balance[: releases[0] if releases else None]
        masses = [point.mass for point in burn]

        assert [point.title for point in burn[:2]] == ["Ramp", "Takeoff"]
        assert masses == sorted(masses, reverse=True)
        assert masses[1] == pytest.approx(made.figure("loading", "takeoff_mass").value)
        assert masses[-1] == pytest.approx(made.figure("loading", "zero_fuel_mass").value)
        assert burn[-1].centre_of_gravity == pytest.approx(
            made.figure("loading", "centre_of_gravity_zero_fuel").value
        )
        # What was burnt from takeoff to the end is the usable fuel: the mass lost is the fuel lost.
        fuel = sum(line.mass for line in made.load if line.group == "fuel")
        assert masses[0] - masses[-1] < fuel
        assert masses[0] - masses[-1] == pytest.approx(fuel, rel=0.02)

    def test_the_figures_are_the_physics(self, name, shipped):
        made = shipped[name]
        loaded = load_sortie(SORTIES / f"{name}.yaml")
        pack = loaded.pack.pack
        cases = by_hand(made, loaded)
        setup = takeoff_setup(pack, cases)
        flown = fly_takeoff(setup)
        takeoff = made.section("takeoff")

        for figure, value in (
            ("ground_run", flown.ground_run),
            ("distance_to_screen", flown.distance_to_screen),
            ("lift_off_speed", flown.lift_off_cas),
            ("rotation_speed", flown.rotation_cas),
            ("nosewheel_lift_off_speed", flown.nosewheel_lift_off_cas),
            ("stall_speed", flown.stall_cas),
            ("pitch_at_lift_off", flown.lift_off_pitch),
            ("time_to_lift_off", flown.lift_off_time),
        ):
            assert takeoff.figure(figure).value == pytest.approx(float(value[0]), rel=1e-6), figure
        tyres = pack.wheels.tyre_speed_limit - float(flown.lift_off_ground_speed[0])
        assert takeoff.figure("tyre_speed_margin").value == pytest.approx(tyres, rel=1e-6)

    def test_the_stop_from_decision_speed_is_the_physics(self, name, shipped):
        made = shipped[name]
        loaded = load_sortie(SORTIES / f"{name}.yaml")
        pack = loaded.pack.pack
        cases = by_hand(made, loaded)
        setup = takeoff_setup(pack, cases)
        decision = made.figure("engine_failure", "decision_speed").value

        ground = np.atleast_1d(tas_from_cas(decision, cases.air)) - cases.headwind
        event = accelerate_to(setup, release(setup), ground)
        chute = not any("planned without it" in reason.text for reason in made.reasons)
        stop = reject(setup, event, chute=chute)

        failure = made.section("engine_failure")
        assert failure.figure("accelerate_stop_at_decision").value == pytest.approx(
            float(stop.distance[0]), abs=0.1
        )
        energy = failure.figure("brake_energy_at_decision").value
        assert energy == pytest.approx(float(stop.energy[0]), rel=1e-4)
        mark = next(one for one in made.runway.marks if one.name == "decision_stop")
        assert mark.distance == pytest.approx(
            made.runway.start_offset + failure.figure("accelerate_stop_at_decision").value
        )

    def test_the_line_speed_is_read_at_a_board(self, name, shipped):
        made = shipped[name]
        takeoff = made.section("takeoff")
        marker = takeoff.figure("line_marker")
        board = int(marker.text.removeprefix("board "))
        runway = made.runway

        # A board shows thousands of feet remaining: TORA - 1000 R - start offset from release.
        expected = runway.length - board * 1000 * FOOT - runway.start_offset
        assert marker.value == pytest.approx(expected)
        # The check speed is at least 10 kt under the decision speed (CNATRA P-862, appendix A).
        decision = made.figure("engine_failure", "decision_speed").value
        assert takeoff.figure("line_speed").value <= decision - 10 * KNOT + 1e-6
        assert takeoff.figure("line_speed_minimum").value <= takeoff.figure("line_speed").value
        # The run passes the board with that speed: the same physics asked for the distance at the speed.
        loaded = load_sortie(SORTIES / f"{name}.yaml")
        cases = by_hand(made, loaded)
        setup = takeoff_setup(loaded.pack.pack, cases)

        ground = np.atleast_1d(tas_from_cas(takeoff.figure("line_speed").value, cases.air)) - cases.headwind
        at = accelerate_to(setup, release(setup), ground)
        assert float(at.distance[0]) == pytest.approx(marker.value, abs=1.0)

    def test_the_landing_is_the_physics(self, name, shipped):
        made = shipped[name]
        loaded = load_sortie(SORTIES / f"{name}.yaml")
        pack = loaded.pack.pack
        gone = made.route.rows[-1].load.released if made.route is not None else ()
        let_go = [pack.stores[store] for station in gone for store in loaded.sortie.load.stores[station]]
        bombs = [store for store in let_go if store.kind != "rack"]
        shed = sum(store.drag_index - store.remains_drag_index for store in bombs)
        mass = made.figure("loading", "landing_mass").value
        cases = by_hand(made, loaded, mass=mass, shed_drag=shed)
        gust = made.figure("landing", "gust_increment").value / pack.technique.landing.gust_share
        for case in made.landings:
            if case.name in ("no_flap", "immediate_return"):
                continue
            landed = land(
                pack, cases.with_reading(case.runway_condition_reading), gust_increment=gust, chute=case.chute
            )
            assert case.total == pytest.approx(float(landed.total[0]), rel=1e-6), case.name
            assert case.approach_cas == pytest.approx(float(landed.approach_cas[0]), rel=1e-6)
            assert case.total == pytest.approx(case.air_distance + case.ground_roll)
            available = made.figure("landing", "landing_distance_available").value
            assert case.margin == pytest.approx(available - case.total)

    def test_the_climb_on_one_engine_is_the_physics(self, name, shipped):
        made = shipped[name]
        loaded = load_sortie(SORTIES / f"{name}.yaml")
        pack = loaded.pack.pack
        if pack.engine.count == 1:
            assert not any(
                "one engine" in figure.title.lower() for figure in made.section("engine_failure").figures
            )
            return
        cases = by_hand(made, loaded)
        technique = pack.technique.takeoff

        failure = made.section("engine_failure")
        tas = np.atleast_1d(tas_from_cas(failure.figure("single_engine_climb_cas").value, cases.air))
        stall = made.figure("takeoff", "stall_speed").value
        over_stall = technique.single_engine_climb_cas_over_stall
        assert failure.figure("single_engine_climb_cas").value == pytest.approx(over_stall * stall, rel=1e-5)
        for figure, gear in (
            ("single_engine_gradient_gear_down", 1.0),
            ("single_engine_gradient_gear_up", 0.0),
        ):
            climb = climb_gradient(
                pack,
                cases,
                pack.aero.configurations[technique.configuration],
                tas,
                technique.engine_out_power or technique.power,
                failed_engines=1,
                gear=gear,
            )
            # A headwind earns no credit: the gradient is through the air, a tailwind is charged.
            value = np.tan(climb.angle) * tas / (tas + np.maximum(-cases.headwind, 0.0))
            assert failure.figure(figure).value == pytest.approx(float(value[0]), abs=5e-6)  # 0.03 ft/nm
        control = minimum_control_ground_speed(pack, cases, technique.engine_out_power or technique.power)

        known = float(np.atleast_1d(cas_from_tas(control, cases.air))[0])
        assert failure.figure("minimum_control_ground_speed").value == pytest.approx(known)

    def test_the_numbers_stand_in_the_order_of_the_run(self, name, shipped):
        made = shipped[name]
        takeoff = made.section("takeoff")
        speeds = [
            takeoff.figure(one).value
            for one in ("nosewheel_lift_off_speed", "rotation_speed", "lift_off_speed")
        ]
        distances = [takeoff.figure(one).value for one in ("ground_run", "distance_to_screen")]
        marks = {mark.name: mark.distance for mark in made.runway.marks}

        assert speeds == sorted(speeds)
        assert distances == sorted(distances)
        assert made.runway.start_offset < marks["nosewheel_lift_off"] <= marks["rotation"] < marks["lift_off"]
        assert marks["lift_off"] < marks["screen"]
        assert marks["decision"] < marks["decision_stop"]
        loading = made.section("loading")
        masses = [
            loading.figure(one).value
            for one in ("basic_mass", "zero_fuel_mass", "landing_mass", "takeoff_mass", "ramp_mass")
        ]
        assert masses == sorted(masses)
        assert takeoff.figure("stall_speed").value < takeoff.figure("lift_off_speed").value

    def test_what_is_bounded_lies_within_its_bounds(self, name, shipped):
        bounded = [
            figure
            for section in shipped[name].sections
            for figure in section.figures
            if figure.low is not None and figure.high is not None
        ]

        assert {"ground_run", "distance_to_screen", "landing_distance"} <= {figure.name for figure in bounded}
        assert all(figure.low <= figure.value <= figure.high for figure in bounded)

    def test_the_shown_distances_promise_nothing_that_was_not_computed(self, name, shipped):
        made = shipped[name]
        for section, figure, side in (
            ("takeoff", "ground_run", 1),
            ("takeoff", "runway_for_takeoff", -1),
            ("landing", "landing_distance", 1),
            ("landing", "landing_distance_available", -1),
        ):
            one = made.figure(section, figure)
            number = float(show(one).number.replace("\u202f", "")) * FOOT
            assert side * (number - one.value) >= -1e-6, figure

    def test_the_crew_and_the_place_are_on_the_plan(self, name, shipped):
        made = shipped[name]

        assert len(made.crew) == 2
        assert all(seat for seat, _ in made.crew)
        assert made.runway.designator
        assert made.time.endswith("Z")
        assert "simulation" in made.caution
        assert len(made.pack_digest) == 64


def by_hand(made, loaded, mass=None, shed_drag=0.0):
    """Return the cases of a plan, put together from its figures and the sortie's own words."""
    pack, sortie = loaded.pack.pack, loaded.sortie
    mass = made.figure("loading", "takeoff_mass").value if mass is None else mass
    share = made.figure("loading", "centre_of_gravity_takeoff").value
    frame = pack.airframe
    runway = next(one for one in sortie.aerodrome.runways if one.designator == sortie.runway)
    qnh, kelvin = made.figure("weather", "qnh").value, made.figure("weather", "temperature").value
    # The altimeter equation of ICAO Doc 7488/3: pressure altitudes of QNH and of the field differ by its
    # elevation.
    n = 5.2558797
    pressure = 101325 * ((qnh / 101325) ** (1 / n) - 0.0065 * sortie.aerodrome.elevation / 288.15) ** n
    tailwind = made.figure("weather", "tailwind").value
    headwind = made.figure("weather", "headwind").value
    assert tailwind == 0 or headwind < 0
    return make_cases(
        mass,
        frame.mean_chord_leading_edge_arm + share * frame.mean_chord,
        Air(pressure, kelvin),
        drag_index=made.figure("loading", "drag_index").value - shed_drag,
        headwind=headwind,
        slope=math.atan(runway.slope),
        runway_condition_reading=made.figure("field", "runway_condition_reading").value,
    )


def test_fuel_by_total_fills_the_tanks_that_empty_last(planned):
    made = planned(("fuel: {}", "fuel: {total: 6000 lb}"))
    pack = load_pack("dotterel").pack
    fuel = {
        line.title: line.mass / POUND
        for line in made.load
        if line.group == "fuel" and "belly" not in line.title
    }

    assert sum(fuel.values()) == pytest.approx(6000)
    last = pack.mass.feed_order[-1][0]
    centre = pack.mass.tanks[last]
    assert fuel[f"Fuel, {centre.title}"] == pytest.approx(centre.capacity / POUND)
    assert all(value >= 0 for value in fuel.values())


def test_burnt_fuel_is_conserved_through_the_path():
    pack = load_pack("dotterel").pack
    load = LoadState(
        {"front": 100.0, "rear": 100.0},
        {name: tank.capacity for name, tank in pack.mass.tanks.items()},
        {"belly": ("belly_tank",)},
        {"belly": 1000.0},
    )
    path = burn_path(pack, load)
    usable = usable_fuel(pack, load)

    assert path[0].balance.mass - path[-1].balance.mass == pytest.approx(usable)
    assert sum(item.mass for item in load_items(pack, load)) == pytest.approx(balance_of(pack, load).mass)


# A release lightens the aircraft by what left, and by no more than what hung there.
def test_each_release_takes_off_what_hangs_there(planned):
    made = planned()
    pack = load_pack("dotterel").pack
    steps = [point for point in made.balance if "released" in point.title]
    hung = sum(pack.stores[name].mass for name in ("triple_rack", "plover_bomb"))

    assert [step.title for step in steps] == [
        "2 left inboard wing released",
        "8 right inboard wing released",
    ] * 2
    takeoff = made.figure("loading", "takeoff_mass").value
    assert 0 < takeoff - steps[0].mass <= hung
    assert steps[0].mass - steps[1].mass == pytest.approx(takeoff - steps[0].mass)
    # One side gone pulls to the other; both gone, nothing.
    assert steps[0].side_moment > 0
    assert steps[1].side_moment == pytest.approx(0, abs=1e-6)


def test_stores_released_before_landing_leave_what_cannot_be_released(planned):
    change = (
        "left_inboard: [triple_rack, plover_bomb]",
        "left_inboard: [triple_rack, plover_bomb]\n    left_cheek: redwing_sighting_pod",
    )
    order = ("  release_order: [left_inboard, right_inboard]\n", "")
    kept = planned(change, order)
    released = planned(change, order, ("Q1009", "Q1009\nlanding: {stores: released}"))
    pod = load_pack("dotterel").pack.stores["redwing_sighting_pod"].mass
    lost = kept.figure("loading", "landing_mass").value - released.figure("loading", "landing_mass").value
    stores = load_pack("dotterel").pack.stores
    most = stores["belly_tank"].mass + 2 * (stores["triple_rack"].mass + stores["plover_bomb"].mass)

    assert 0 < lost <= most + 1e-6
    assert most + pod > lost


def test_takeoff_at_another_place_than_landing(planned):
    place = (
        "Q1009\nlanding_place:\n  aerodrome:\n    icao: EGPK\n    runways:\n"
        '      - {designator: "12", true_heading: 123 deg, length: 6000 ft, displaced_threshold: 500 ft}\n'
        '  runway: "12"\n  weather: {metar: METAR EGPK 140920Z 12010KT 9999 FEW030 15/09 Q1020}'
    )
    here, there = planned(), planned(("Q1009", place))

    assert there.figure("takeoff", "ground_run") == here.figure("takeoff", "ground_run")
    available = there.figure("landing", "landing_distance_available").value
    assert available == pytest.approx(5500 * FOOT)
    assert (
        there.figure("landing", "landing_distance").value != here.figure("landing", "landing_distance").value
    )
    assert not any(mark.group == "landing" for mark in there.runway.marks)


def test_a_displaced_threshold_shortens_the_landing_only(planned):
    whole, displaced = planned(), planned(("overrun: 900 ft", "displaced_threshold: 700 ft"))

    assert displaced.figure("takeoff", "runway_for_takeoff") == whole.figure("takeoff", "runway_for_takeoff")
    for made, threshold in ((whole, 0.0), (displaced, 700 * FOOT)):
        available = made.figure("landing", "landing_distance_available").value
        assert available == pytest.approx(9000 * FOOT - threshold)
        touchdown = next(mark for mark in made.runway.marks if mark.name == "touchdown")
        today = next(case for case in made.landings if case.name == "today_chute")
        assert touchdown.distance == pytest.approx(threshold + today.air_distance)


@pytest.mark.parametrize(
    ("group", "words", "side"),
    [
        ("00000KT", "calm", None),
        ("36010KT", "360° at 10 kt", "from the right"),
        ("VRB05KT", "variable at 5 kt", "either side"),
        ("18010G20KT", "180° at 10, gusts 20 kt", "from the left"),
        ("28005MPS", "280° at 10 kt", "from the right"),
    ],
)
def test_wind_in_words(planned, group, words, side):
    made = planned(("28014G22KT", group))

    assert made.figure("weather", "wind").text == words
    if side:
        assert made.figure("weather", "crosswind").title == f"Crosswind, {side}"


# A variable wind counts whole as tailwind and as crosswind (common practice, no source).
def test_a_variable_wind_is_taken_at_its_worst(planned):
    weather = planned(("28014G22KT", "VRB05KT")).section("weather")

    assert weather.figure("headwind").value / KNOT == pytest.approx(-5)
    assert weather.figure("tailwind").value / KNOT == pytest.approx(5)
    assert weather.figure("crosswind").value / KNOT == pytest.approx(5)


def test_the_altimeter_setting_is_read_in_the_unit_of_the_report(planned):
    assert planned().extra["altimeter"] == "hPa"
    inches = planned(("Q1009", "A2979"))

    assert inches.extra["altimeter"] == "inHg"
    assert show(inches.figure("weather", "qnh"), altimeter="inHg").text == "29.79\u202finHg"


# Sun times fall on the field's own day. Longyearbyen (78 N) has midnight sun from 20 April to 22 August
# (common knowledge, no source), so in June there is no sunset to print.
def test_the_sun_that_does_not_set_is_told_in_words(planned):
    made = planned(
        ("latitude: 56.214", "latitude: 78.25"), ("2026-05-14", "2026-06-14"), ("140920Z", "140920Z")
    )

    assert made.figure("weather", "sunset").text == "midnight sun: the sun does not set"


def test_a_date_line_field_is_given_its_own_days_sun(planned):
    west = planned(("longitude: -5.083", "longitude: -179.9"))
    east = planned(("longitude: -5.083", "longitude: 179.9"))

    # Neighbours across the line see the same sun, a minute apart.
    minutes = []
    for made in (west, east):
        hour, minute = made.figure("weather", "sunset").text.rstrip("Z").split(":")
        minutes.append(int(hour) * 60 + int(minute))
    assert abs(minutes[0] - minutes[1]) <= 3


def test_a_short_takeoff_roll_does_not_break_the_plan_of_a_light_aircraft(planned):
    made = planned(
        ("fuel: {}", "fuel: {total: 1500 lb, external: {belly: 100 lb}}"),
        ("landing_fuel: 2600 lb", "landing_fuel: 500 lb"),
    )

    assert made.figure("takeoff", "ground_run").value < planned().figure("takeoff", "ground_run").value
    assert made.figure("loading", "takeoff_mass").kind == Kind.MASS


# The error bars of mass (1 %) reach beyond the pack's table at the heaviest load: the number itself must not
# fall.
def test_a_takeoff_at_the_end_of_a_table_keeps_its_numbers(planned):
    pack = load_pack("dotterel").pack
    table = pack.technique.takeoff.rotation_speed
    mass = planned().figure("loading", "takeoff_mass").value
    top = table.axes[0][-1]
    basic = pack.mass.basic_mass + (0.995 * top - mass)
    made = planned(pack={"mass.basic_mass": basic})

    run = made.figure("takeoff", "ground_run")
    assert run.value is not None
    assert run.low is None
    lost = planned(pack={"mass.basic_mass": pack.mass.basic_mass + (1.005 * top - mass)})
    assert lost.figure("takeoff", "ground_run").value is None
    assert "rotation_speed" in lost.figure("takeoff", "ground_run").problem
