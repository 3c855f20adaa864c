"""Landing against worked examples: group E names the source of each."""

import numpy as np
import pytest
from aeroplanes import INSTANT, make_pack
from dymos_aeroplane import FOOT
from external_checks import check, expected, value

from sortiewright.air import STANDARD_GRAVITY, Air
from sortiewright.pack import LandingTechnique
from sortiewright.performance import (
    RunState,
    StopMeans,
    air_distance,
    land,
    make_cases,
    stall_speed,
    stop_from,
)

SEA_LEVEL = Air(101325.0, 288.15)
PSF = 4.4482216152605 / FOOT**2
APPROACH = np.radians(8.0)


def landing_pack(*, mass, touchdown, lift_on_wheels, friction, **technique):
    """Return an aeroplane without drag whose approach speed at 8 deg is ``touchdown`` true airspeed."""
    area = 40.0
    angle = technique.setdefault("glide_angle", np.radians(3.0))
    # Across the path: lift and the tilted thrust that holds the path carry the weight's part.
    carried = mass * STANDARD_GRAVITY * (np.cos(angle) + np.sin(angle) * np.tan(APPROACH))
    lift = carried / (0.5 * SEA_LEVEL.density * touchdown**2 * area)
    return make_pack(
        wing_area=area,
        lift=lambda alpha: lift_on_wheels if alpha < np.radians(4.0) else lift,
        drag=lambda alpha: 0.0,
        maximum_lift=1.5 * lift,
        thrust=0.0,
        transients=INSTANT,
        rolling_friction=0.0,
        braking_friction=friction,
        landing=LandingTechnique(configuration="only", on_speed_angle_of_attack=APPROACH, **technique),
    )


# X-E13
def test_landing_pieces_of_a_jet_transport():
    one = check("X-E13")
    mass, area = 30_000.0, 30_000.0 * STANDARD_GRAVITY / value(one, "W_over_S", PSF)
    pack = make_pack(
        wing_area=area,
        lift=lambda alpha: 1.0,
        drag=lambda alpha: 0.1,
        maximum_lift=value(one, "CLmax"),
        thrust=0.0,
    )
    cases = make_cases(mass, 11.0, SEA_LEVEL)
    stall = stall_speed(
        pack, pack.aero.configurations["only"], cases.weight, cases.density, cases.speed_of_sound
    )
    flare = 1.23 * stall
    pieces = air_distance(
        flare,
        threshold_height=value(one, "screen", FOOT),
        glide_angle=np.radians(value(one, "approach_angle")),
        flare_load_factor=value(one, "flare_load_factor"),
    )

    assert stall[0] == expected(one, "Vstall", FOOT)
    assert flare[0] == expected(one, "V_flare", FOOT)
    assert 1.15 * stall[0] == expected(one, "V_touchdown", FOOT)
    assert pieces.flare_radius[0] == expected(one, "flare_radius", FOOT)
    assert pieces.flare_height[0] == expected(one, "flare_height", FOOT)
    assert pieces.approach[0] == expected(one, "approach_distance", FOOT)
    assert pieces.flare[0] == expected(one, "flare_distance", FOOT)


# X-E14: retarding acceleration g (J_T + J_A V^2). J_T is the braking friction; with no drag, lift that
# presses the aeroplane down gives J_A = -rho S mu CL/(2 W). The source's g is 32.2 ft/s2: both carry its
# ratio to standard.
def test_landing_roll_closed_form():
    one = check("X-E14")
    mass, speed = 10_000.0, value(one, "V", FOOT)
    friction = value(one, "J_T") * value(one, "g", FOOT) / STANDARD_GRAVITY
    per_square = value(one, "J_A") / FOOT**2 * value(one, "g", FOOT) / STANDARD_GRAVITY
    down = -per_square * 2.0 * mass * STANDARD_GRAVITY / (SEA_LEVEL.density * 40.0 * friction)
    pack = landing_pack(
        mass=mass,
        touchdown=speed,
        lift_on_wheels=float(down),
        friction=friction,
        free_roll_time=value(one, "N"),
        touchdown_speed_share=1.0,
    )
    landing = land(pack, make_cases(mass, 11.0, SEA_LEVEL))

    assert landing.touchdown_ground_speed[0] == pytest.approx(speed, rel=1e-6)
    assert landing.ground_roll[0] == expected(one, "s", FOOT)


# X-E14, note: without the aerodynamic part the roll is V^2/(2 g J_T) and the free roll.
def test_landing_roll_of_constant_deceleration():
    one = check("X-E14")
    speed, friction = value(one, "V", FOOT), value(one, "J_T")
    pack = landing_pack(
        mass=10_000.0, touchdown=speed, lift_on_wheels=0.0, friction=friction, free_roll_time=0.0
    )
    means = StopMeans(pack.aero.configurations["only"], brakes_on=0.0)
    zero = np.zeros(1)
    cases = make_cases(10_000.0, 11.0, SEA_LEVEL)
    stop = stop_from(pack, cases, None, RunState(zero, zero, np.array([speed])), means)

    # Closed form, exact.
    assert stop.distance[0] == pytest.approx(speed**2 / (2.0 * STANDARD_GRAVITY * friction), rel=1e-9)
    assert stop.time[0] == pytest.approx(speed / (STANDARD_GRAVITY * friction), rel=1e-9)
    assert stop.energy[0] == pytest.approx(0.5 * 10_000.0 * speed**2, rel=1e-9)


# X-E15: the source gives 6 s from 50 ft to the brakes at a mean of 153 ft/s and no glide angle; the angle
# here is the one that takes that long. Its deceleration is uniform. The check is in the speeds, the braking
# distance, the sum and the factor of the rated length.
def test_landing_field_length_of_a_jet_trainer():
    one = check("X-E15")
    mean, touchdown = value(one, "mean_speed_50ft_to_brakes", FOOT), value(one, "V_touchdown", FOOT)
    threshold = 2.0 * mean - touchdown
    angle = np.arctan(50.0 * FOOT / (mean * value(one, "time_50ft_to_brakes")))
    pack = landing_pack(
        mass=5_000.0,
        touchdown=threshold,
        lift_on_wheels=0.0,
        friction=value(one, "printed_deceleration", FOOT) / STANDARD_GRAVITY,
        glide_angle=angle,
        touchdown_speed_share=touchdown / threshold,
        free_roll_time=0.0,
    )
    cases = make_cases(5_000.0, 11.0, SEA_LEVEL)
    landing = land(pack, cases)
    factored = pack.technique.landing.model_copy(update={"distance_factor": value(one, "factor")})

    assert landing.touchdown_ground_speed[0] == pytest.approx(touchdown, rel=1e-6)
    assert landing.air_distance[0] == expected(one, "distance_to_brakes", FOOT)
    assert landing.ground_roll[0] == expected(one, "braking_distance", FOOT)
    assert landing.total[0] == expected(one, "landing_distance", FOOT)
    assert land(pack, cases, factored).total[0] == expected(one, "rated_length", FOOT)


# Plain geometry: a glide path of angle g covers height / tan(g), and sinks at V sin(g).
def test_landing_without_a_flare():
    pack = landing_pack(mass=8_000.0, touchdown=70.0, lift_on_wheels=0.0, friction=0.3)
    landing = land(pack, make_cases(8_000.0, 11.0, SEA_LEVEL, headwind=[0.0, 7.0]))
    path = pack.technique.landing.threshold_height / np.tan(np.radians(3.0))

    assert landing.air_distance == pytest.approx([path, path * 63.0 / 70.0], rel=1e-6)
    assert landing.sink_rate == pytest.approx(70.0 * np.sin(np.radians(3.0)), rel=1e-6)


# 10 % more weight is 5 % more approach speed: FAA-H-8083-25, landing performance (from memory).
def test_approach_speed_goes_with_the_root_of_weight():
    pack = landing_pack(mass=8_000.0, touchdown=70.0, lift_on_wheels=0.0, friction=0.3)
    light, heavy = land(pack, make_cases([8_000.0, 8_800.0], 11.0, SEA_LEVEL)).approach_cas

    assert heavy / light == pytest.approx(1.0488, abs=5e-5)


# Half the gust is added: common practice, no source.
def test_half_the_gust_is_added_to_the_approach():
    pack = landing_pack(mass=8_000.0, touchdown=70.0, lift_on_wheels=0.0, friction=0.3)
    calm, gusty = (land(pack, make_cases(8_000.0, 11.0, SEA_LEVEL), gust_increment=g) for g in (0.0, 6.0))

    assert gusty.approach_cas[0] - calm.approach_cas[0] == pytest.approx(3.0, rel=1e-6)


def test_a_flare_needs_more_than_one_g():
    with pytest.raises(ValueError, match=r"flare load factor must be above 1, got 0\.9"):
        air_distance(60.0, threshold_height=15.0, glide_angle=0.05, flare_load_factor=0.9)
