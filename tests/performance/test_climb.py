"""Climb by schedule and by energy height. Groups F and B name the source of each check."""

import numpy as np
import pytest
from aeroplanes import make_pack, shipped
from conditions import FOOT, POUND
from external_checks import check, expected, value
from interceptor import DATA, START_MASS, interceptor
from scipy.integrate import solve_ivp

from sortiewright.air import (
    cas_from_mach,
    geopotential_altitude,
    mach_from_cas,
    speed_of_sound,
    standard_air,
)
from sortiewright.pack import OutsideTable, make_table
from sortiewright.performance.best_climb import energy_climb
from sortiewright.performance.climb_fit import flyable_schedule
from sortiewright.performance.climb_schedule import (
    Bend,
    Slant,
    SpeedChange,
    SteadySpeed,
    crossover_altitude,
    fly_schedule,
    schedule_cas,
    two_speed_climb,
)
from sortiewright.performance.level_flight import (
    energy_height,
    flight_point,
    flight_setup,
    height_of,
    make_flight_cases,
)

KNOT, GRAVITY = 1852.0 / 3600.0, 9.80665
LOWEST, HIGHEST = (float(geopotential_altitude(height)) for height in DATA["path_limits"]["h_m"])
START_MACH = float(DATA["initial"]["v_m_s"] / speed_of_sound(standard_air(LOWEST).temperature))
SCHEDULE = two_speed_climb("military", cas=350.0 * KNOT, mach=0.86)


def dotterel_climb(cases, schedule=SCHEDULE, top_ft=33_000.0, **how):
    pack = shipped("dotterel")
    start = {"altitude": 1_500.0 * FOOT, "mach": 0.45, "to_altitude": top_ft * FOOT} | how
    return fly_schedule(pack, flight_setup(pack), cases, schedule, **start)


def end(values):
    return values[:, -1]


@pytest.mark.parametrize("identity", ["X-F02", "X-F03", "X-F04"])
def test_specific_excess_power_at_the_nodes_of_a_published_table(identity):
    one, pack = check(identity), interceptor(angle_step_deg=0.1)
    mass = value(one, "mass")
    point = flight_point(
        pack,
        flight_setup(pack),
        make_flight_cases(mass),
        "military",
        mass=mass,
        pressure_altitude=geopotential_altitude(value(one, "altitude", FOOT)),
        mach=value(one, "Mach"),
        thrust_lifts=False,
    )

    assert point.thrust[0] == expected(one, "thrust")
    assert point.drag[0] == expected(one, "drag")
    assert point.tas[0] == expected(one, "TAS")
    assert point.energy_rate[0] == expected(one, "Ps")


def test_energy_height():
    one = check("X-F05")
    height = energy_height(value(one, "h"), value(one, "V"))

    assert height == expected(one, "Es")
    assert height / FOOT == pytest.approx(one["expected"]["Es_ft"]["value"], abs=0.4)


# X-F01: an aeroplane without drag whose thrust gives just that rate of climb at Mach 0.5. Part of the excess
# power goes into speed, V dV/dz/g of the rate, which is exact at constant Mach number in the troposphere.
def test_time_to_climb_where_rate_of_climb_falls_linearly_with_height():
    one, mach, mass = check("X-F01"), 0.5, 10_000.0
    heights = np.linspace(-600.0, 10_000.0, 400)
    rate = value(one, "ROC_at_0", FOOT) + value(one, "slope") * heights
    gaining = 1.0 + 0.5 * mach**2 * 1.4 * 287.05287 * -0.0065 / GRAVITY
    thrust = mass * GRAVITY * rate * gaining / (mach * standard_air(heights).speed_of_sound)
    pack = make_pack(
        wing_area=40.0,
        lift=lambda alpha: 4_000.0 * alpha,
        drag=lambda alpha: 0.0,
        maximum_lift=1.0,
        thrust=0.0,
        engines=1,
        alphas=np.linspace(-1e-3, 1e-3, 11),
    )
    axes = {"mach": [0.0, 0.6], "pressure_altitude": heights}
    setting = pack.engine.settings["military"].model_copy(
        update={
            "thrust": make_table("thrust", axes, np.tile(thrust, (2, 1))),
            "fuel_flow": make_table("fuel_flow", axes, np.zeros((2, len(heights)))),
        }
    )
    pack = pack.model_copy(
        update={"engine": pack.engine.model_copy(update={"settings": {"military": setting}})}
    )
    flown = fly_schedule(
        pack,
        flight_setup(pack),
        make_flight_cases(mass),
        (SteadySpeed("military", mach=mach),),
        altitude=0.0,
        mach=mach,
        to_altitude=value(one, "height", FOOT),
    )

    assert end(flown.time)[0] == expected(one, "time")
    assert end(flown.time)[0] / 60.0 == expected(one, "minutes")


# No engine's thrust falls with speed and then grows again: the demonstration jet's once did, above Mach 1.2.
@pytest.mark.parametrize("power", ["military", "maximum"])
def test_thrust_of_the_demo_jet_only_falls_past_its_peak(power):
    table = shipped("dotterel").engine.settings[power].thrust
    fast = table.values[table.axes[0] >= 0.8]
    steps = np.diff(fast, axis=0)
    falling = np.maximum.accumulate(steps <= 0.0, axis=0)

    assert (steps[falling] <= 0.0).all()
    assert (np.abs(np.diff(np.log(fast), axis=0)) < 0.25).all()


def energy_answer(aim="time", **how):
    pack = interceptor()
    return energy_climb(
        pack,
        flight_setup(pack),
        make_flight_cases(START_MASS),
        "military",
        altitude=LOWEST,
        mach=START_MACH,
        to_altitude=HIGHEST,
        to_mach=DATA["final"]["Mach"],
        maximum_mach=DATA["path_limits"]["Mach"][1],
        objective=aim,
        **how,
    )


# X-F07, and X-F06: the full optimum is 321 to 325 s, so the energy answer is a bound and not a time to fly.
def test_minimum_time_climb_by_energy_height():
    one, best = check("X-F07"), energy_answer()
    jump = int(np.argmax(np.diff(best.mach[0])))

    assert best.total_time[0] == expected(one, "time_linear_thrust_interpolation")
    assert START_MASS - best.total_fuel[0] == expected(one, "final_mass")
    assert best.total_time[0] < 0.9 * check("X-F06")["expected"]["optimum_time"]["value"]
    # The structure the source describes: from about 10.6 km at Mach 0.95 to about 7 km at Mach 1.26.
    assert best.energy_height[0, jump] == pytest.approx(14_700.0, abs=300.0)
    assert best.mach[0, [jump, jump + 1]] == pytest.approx([0.95, 1.26], abs=0.03)
    assert best.pressure_altitude[0, [jump, jump + 1]] == pytest.approx([10_600.0, 7_000.0], abs=500.0)


def test_finer_grid_leaves_the_energy_climb_where_it_is():
    coarse, fine = energy_answer(), energy_answer(energy_cells=320, height_points=241)

    assert coarse.total_time == pytest.approx(fine.total_time, rel=2e-3)


def test_climb_for_least_fuel_burns_less_and_takes_longer():
    quick, thrifty = energy_answer(), energy_answer("fuel")

    assert thrifty.total_fuel[0] < quick.total_fuel[0]
    assert thrifty.total_time[0] > quick.total_time[0]


def test_energy_climb_keeps_inside_the_speed_limits():
    pack = shipped("dotterel")
    ends = {"altitude": 150.0, "mach": 0.45, "to_altitude": 11_000.0, "to_mach": 1.2}
    cases = make_flight_cases(38_000.0 * POUND)
    best = energy_climb(
        pack, flight_setup(pack), cases, "maximum", maximum_cas=270.0, maximum_mach=1.25, **ends
    )

    assert best.mach.max() <= 1.25
    assert cas_from_mach(best.mach, standard_air(best.pressure_altitude).pressure).max() <= 270.0
    with pytest.raises(ValueError, match="more energy"):
        energy_climb(
            pack, flight_setup(pack), cases, "maximum", **ends | {"to_altitude": 0.0, "to_mach": 0.1}
        )


# ICAO and the pitot relations of NACA Report 837 meet: CAS and Mach agree at the altitude, by the other road.
@pytest.mark.parametrize(("cas_kt", "mach"), [(300.0, 0.8), (350.0, 0.86), (550.0, 1.4)])
def test_crossover_altitude(cas_kt, mach):
    altitude = crossover_altitude(cas_kt * KNOT, mach)

    assert mach_from_cas(cas_kt * KNOT, standard_air(altitude).pressure) == pytest.approx(mach, rel=1e-9)


# Second road: Newton's law along the path over time, by scipy, speed held by the schedule.
@pytest.mark.parametrize("warm", [0.0, 15.0])
def test_climb_agrees_with_stepping_in_time(warm):
    pack, mass = shipped("dotterel"), 38_000.0 * POUND
    setup, cases = flight_setup(pack), make_flight_cases(mass, isa_deviation=warm, drag_index=20.0)
    cas, low, high = 330.0 * KNOT, 1_000.0, 7_000.0

    def tas(altitude):
        air = standard_air(altitude, warm)
        return float(mach_from_cas(cas, air.pressure) * air.speed_of_sound)

    def climbing(_, state):
        altitude, weight = state[0], state[1]
        speed = tas(altitude)
        stretch = (height_of(altitude + 1.0, warm) - height_of(altitude - 1.0, warm)) / 2.0
        gaining = 1.0 + speed / GRAVITY * (tas(altitude + 1.0) - tas(altitude - 1.0)) / 2.0 / stretch
        sine = 0.0
        for _ in range(3):
            point = flight_point(
                pack,
                setup,
                cases,
                "military",
                mass=weight,
                pressure_altitude=altitude,
                mach=speed / float(standard_air(altitude, warm).speed_of_sound),
                load_factor=np.sqrt(1.0 - sine**2),
            )
            rate = float(point.energy_rate[0]) / gaining
            sine = rate / speed
        return [rate / stretch, -float(point.fuel_flow[0]), speed * np.sqrt(1.0 - sine**2)]

    def top(_, state):
        return state[0] - high

    top.terminal = True
    reference = solve_ivp(climbing, (0.0, 900.0), [low, mass, 0.0], events=top, max_step=2.0, rtol=1e-8)
    flown = fly_schedule(
        pack,
        setup,
        cases,
        (SteadySpeed("military", cas),),
        altitude=low,
        mach=float(mach_from_cas(cas, standard_air(low).pressure)),
        to_altitude=high,
    )

    assert end(flown.time)[0] == pytest.approx(reference.t[-1], rel=5e-4)
    assert end(flown.fuel)[0] == pytest.approx(mass - reference.y[1, -1], rel=5e-4)
    assert end(flown.air_distance)[0] == pytest.approx(reference.y[2, -1], rel=5e-4)


# A zoom without thrust or drag keeps its energy: closed form.
def test_zoom_without_drag_keeps_energy_height():
    pack = make_pack(
        wing_area=40.0,
        lift=lambda alpha: 4.0 * alpha,
        drag=lambda alpha: 0.0,
        maximum_lift=1.0,
        thrust=0.0,
    )
    sine = np.sin(0.3)
    flown = fly_schedule(
        pack,
        flight_setup(pack),
        make_flight_cases(10_000.0),
        (Slant("military", None, 0.3),),
        altitude=1_000.0,
        mach=0.55,
        to_altitude=1_800.0,
    )
    energy = energy_height(height_of(flown.pressure_altitude, 0.0), flown.tas)

    assert energy == pytest.approx(np.full(energy.shape, energy[0, 0]), rel=1e-9)
    # Uniform deceleration g sin(gamma) along a straight path.
    assert end(flown.time)[0] == pytest.approx(
        (flown.tas[0, 0] - flown.tas[0, -1]) / (GRAVITY * sine), rel=1e-3
    )


# Weightless without thrust or drag is a thrown stone: V cos(angle) stays, and so does energy.
@pytest.mark.parametrize("warm", [0.0, 20.0])
def test_push_over_to_nought_g_is_a_ballistic_path(warm):
    pack = make_pack(
        wing_area=40.0,
        lift=lambda alpha: 4.0 * alpha,
        drag=lambda alpha: 0.0,
        maximum_lift=1.0,
        thrust=0.0,
    )
    flown = fly_schedule(
        pack,
        flight_setup(pack),
        make_flight_cases(10_000.0, isa_deviation=warm),
        (Slant("military", 2_000.0, 0.5), Bend("military", -0.3, 0.0)),
        altitude=1_990.0,
        mach=0.55,
        to_altitude=5_000.0,
    )
    pushed = slice(-7, None)
    across = (flown.tas * np.cos(flown.path_angle))[0, pushed]
    energy = energy_height(height_of(flown.pressure_altitude, warm), flown.tas)[0, pushed]

    assert across == pytest.approx(np.full(7, across[0]), rel=1e-3)
    assert energy == pytest.approx(np.full(7, energy[0]), rel=1e-6)
    fall = np.diff((flown.tas * np.sin(flown.path_angle))[0, [-7, -1]])[0]
    seconds = np.diff(flown.time[0, [-7, -1]])[0]
    # Speed is straight inside each of the six cells of a bend: a fifth of a percent in its time.
    assert fall == pytest.approx(-GRAVITY * seconds, rel=2e-3)


def test_bend_the_wrong_way_is_not_a_number():
    flown = dotterel_climb(make_flight_cases(38_000.0 * POUND), (Bend("military", 0.2, 0.5),))

    assert not flown.reached.any()


def test_flyable_schedule_without_a_dive():
    pack, cases = shipped("dotterel"), make_flight_cases(38_000.0 * POUND)
    setup = flight_setup(pack)
    ends = {"altitude": 500.0, "mach": 0.45, "to_altitude": 10_000.0, "to_mach": 0.86}
    best = energy_climb(pack, setup, cases, "military", **ends)
    found = flyable_schedule(pack, setup, cases, "military", best, **ends)
    usual = fly_schedule(
        pack,
        setup,
        cases,
        (*SCHEDULE, SpeedChange("military", mach=0.86)),
        **{k: ends[k] for k in ends if k != "to_mach"},
    )

    assert best.total_time[0] < found.time < usual.time[0, -1]
    assert [type(one) for one in found.segments] == [SpeedChange, SteadySpeed, SpeedChange]


def test_fuel_is_conserved_along_the_whole_flight():
    flown = dotterel_climb(make_flight_cases([34_000.0 * POUND, 44_000.0 * POUND]))

    assert flown.mass + flown.fuel == pytest.approx(
        np.repeat(flown.mass[:, :1], flown.mass.shape[1], 1), rel=1e-12
    )
    assert (np.diff(flown.fuel, axis=1) > 0.0).all()


def test_schedule_is_held():
    flown = dotterel_climb(make_flight_cases(38_000.0 * POUND))
    cas, climbing = schedule_cas(flown), flown.pressure_altitude > 1_500.0 * FOOT + 1.0

    assert flown.mach.max() <= 0.86 + 1e-9
    assert cas.max() <= 350.0 * KNOT + 1e-6
    held = np.isclose(flown.mach, 0.86, atol=1e-9) | np.isclose(cas, 350.0 * KNOT, atol=1e-6)
    assert held[climbing].all()


def test_more_drag_index_or_weight_or_heat_never_climbs_faster():
    index = dotterel_climb(make_flight_cases(38_000.0 * POUND, drag_index=np.linspace(0.0, 60.0, 7)))
    weight = dotterel_climb(make_flight_cases(np.linspace(32_000.0, 46_000.0, 7) * POUND))
    heat = dotterel_climb(
        make_flight_cases(38_000.0 * POUND, isa_deviation=[0.0, 5.0, 10.0, 15.0]), top_ft=25_000.0
    )

    for flown in (index, weight, heat):
        assert (np.diff(end(flown.time)) > 0.0).all()
        assert (np.diff(end(flown.fuel)) > 0.0).all()


def test_headwind_changes_distance_over_ground_and_nothing_else():
    flown = dotterel_climb(make_flight_cases(38_000.0 * POUND, headwind=[0.0, 20.0]))

    assert end(flown.time)[0] == end(flown.time)[1]
    assert end(flown.ground_distance(20.0))[0] == pytest.approx(
        end(flown.air_distance)[0] - 20.0 * end(flown.time)[0], rel=1e-12
    )


def test_a_batch_gives_what_its_cases_give_alone():
    masses = np.array([33_000.0, 38_000.0, 45_000.0]) * POUND
    together = dotterel_climb(make_flight_cases(masses, drag_index=[0.0, 20.0, 40.0]))
    alone = [
        dotterel_climb(make_flight_cases(mass, drag_index=index))
        for mass, index in zip(masses, [0.0, 20.0, 40.0], strict=True)
    ]

    assert end(together.time) == pytest.approx([end(one.time)[0] for one in alone], rel=1e-12)


def test_climb_that_power_does_not_give_is_not_a_number_and_leaves_the_others():
    flown = dotterel_climb(make_flight_cases([34_000.0 * POUND, 53_000.0 * POUND]), top_ft=37_000.0)

    assert flown.reached.tolist() == [True, False]


def test_height_beyond_the_tables_is_refused():
    with pytest.raises(OutsideTable, match="pressure_altitude"):
        dotterel_climb(make_flight_cases(38_000.0 * POUND), top_ft=60_000.0)


def test_unknown_power_setting_names_those_there_are():
    with pytest.raises(ValueError, match="idle"):
        dotterel_climb(make_flight_cases(38_000.0 * POUND), (SpeedChange("militry", mach=0.8),))
