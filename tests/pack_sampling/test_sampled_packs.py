"""Whole packs: they load, what they say of the wheels is statics, and planning with them works."""

import math
import os
from collections.abc import Callable

import numpy as np
import pytest

from sortiewright.air import Air
from sortiewright.pack import LoadedPack
from sortiewright.performance import fly_takeoff, make_cases, takeoff_setup

INCH = 0.0254
POUND = 0.45359237


# T38.xml: main wheels at 335 in, nose wheel at 73 in, tail point ENGINES at (525, 5) in above main wheels
# at (335, -46) in; wing 170 sq ft, span 25.25 ft, chord 6.73 ft; empty 7574 lb at 314 in; tanks 1953
# and 2029 lb.
def test_the_committed_pack_holds_the_models_own_numbers(t38_pack: LoadedPack):
    frame, mass = t38_pack.pack.airframe, t38_pack.pack.mass

    assert frame.wing_area == pytest.approx(170 * 0.3048**2, rel=1e-4)
    assert frame.span == pytest.approx(25.25 * 0.3048, rel=1e-3)
    assert frame.mean_chord == pytest.approx(6.73 * 0.3048, rel=1e-3)
    assert frame.main_wheel_arm == pytest.approx(335 * INCH, abs=0.005)
    assert frame.nose_wheel_arm == pytest.approx(73 * INCH, abs=0.005)
    assert math.degrees(frame.tail_strike_attitude) == pytest.approx(
        math.degrees(math.atan2(51, 190)), abs=0.01
    )
    assert mass.basic_mass == pytest.approx(7574 * POUND, abs=0.05)
    assert mass.basic_arm == pytest.approx(314 * INCH, abs=0.001)
    assert [tank.capacity / POUND for tank in mass.tanks.values()] == pytest.approx([1953, 2029], abs=0.1)
    assert t38_pack.pack.wheels.rolling_friction == 0.02


# Moments about the main wheels by hand, full aft stick, takeoff flap 24 deg, both burners: the nosewheel of
# the model was seen to leave the ground between 142 and 148 kt (flights of the model by a script).
def test_the_nosewheel_leaves_the_ground_where_the_models_does(t38_pack: LoadedPack):
    cases = make_cases(11_236 * POUND, 320.84 * INCH, Air(96_086.0, 293.15))
    computed = fly_takeoff(takeoff_setup(t38_pack.pack, cases))

    assert 142.0 < float(computed.nosewheel_lift_off_cas[0]) * 3600 / 1852 < 148.0


@pytest.mark.slow
def test_sampling_again_gives_the_committed_tables(
    sampled: Callable[[str], LoadedPack], t38_pack: LoadedPack
):
    again, kept = sampled("T38").pack, t38_pack.pack
    for name, one in kept.aero.configurations.items():
        assert again.aero.configurations[name].lift.values == pytest.approx(one.lift.values, abs=2e-4)
        assert again.aero.configurations[name].drag.values == pytest.approx(one.drag.values, abs=2e-4)
    for name, setting in kept.engine.settings.items():
        most = float(np.max(np.abs(setting.thrust.values)))
        assert again.engine.settings[name].thrust.values == pytest.approx(
            setting.thrust.values, abs=2e-3 * most
        )
    assert again.airframe.static_ground_attitude == pytest.approx(
        kept.airframe.static_ground_attitude, abs=1e-4
    )
    assert again.aero.pitch_control.moment_per_angle == pytest.approx(
        kept.aero.pitch_control.moment_per_angle, rel=1e-3
    )


MODELS = ("T37", "F80C", "f16", "A320", "c172p", "c310", "t6texan2")
ALIKE = ("f15", "A4", "737")
"""Of a kind with one of the others, and sampled in three to four seconds each: with SORTIEWRIGHT_FULL=1."""


@pytest.mark.slow
@pytest.mark.parametrize("model", [*MODELS, *(ALIKE if os.environ.get("SORTIEWRIGHT_FULL") else ())])
def test_packs_of_many_kinds_load_and_take_off(model: str, sampled: Callable[[str], LoadedPack]):
    loaded = sampled(model)
    pack = loaded.pack
    parts = [(pack.mass.basic_mass, pack.mass.basic_arm)]
    parts += [(seat.standard_mass, seat.arm) for seat in pack.mass.seats.values()]
    parts += [(0.5 * tank.capacity, tank.arm) for tank in pack.mass.tanks.values()]
    mass = sum(part for part, _ in parts)
    arm = sum(part * where for part, where in parts) / mass
    cases = make_cases(mass, arm, Air(101_325.0, 288.15))
    takeoff = fly_takeoff(takeoff_setup(pack, cases))

    assert f"sampled from {model} of JSBSim" in loaded.sources["airframe.span"].text
    # An aircraft with wheels and a wing stalls between 35 and 170 kt (common practice, no source).
    assert 18.0 < float(takeoff.stall_cas[0]) < 88.0
    # With thrust over weight above 1 much speed is gained while the nose rises.
    assert 1.0 < float(takeoff.lift_off_cas[0] / takeoff.stall_cas[0]) < 1.9
    assert 100.0 < float(takeoff.ground_run[0]) < float(takeoff.distance_to_screen[0]) < 4000.0
    assert "placeholder" in loaded.notes
