"""Sampled thrust against the engine's own file: J85-GE-5.xml of JSBSim 1.3.3."""

import numpy as np
import pytest

from sortiewright.pack_sampling import FlightModel
from sortiewright.pack_sampling.engine_points import EngineStand, military_throttle, windmilling_drag_area
from sortiewright.pack_sampling.model_description import describe
from sortiewright.pack_sampling.transients import measure_transients

POUND_FORCE = 4.4482216
FOOT = 0.3048


@pytest.fixture
def stand(t38: FlightModel) -> EngineStand:
    engines = EngineStand(t38, describe(t38))
    engines.place(0.2, 0.0)
    engines.start()
    return engines


# T38.xml: throttle position is twice the command, and the engine's burner (augmethod 2) lights above 1.
def test_military_is_the_throttle_just_below_the_burner(stand: EngineStand):
    assert military_throttle(stand.model, stand.mounts) == pytest.approx(0.5, abs=1e-4)


# J85-GE-5.xml: milthrust 2050 lbf, bleed 0.03, MilThrust 1.000 at Mach 0 and 0.921 at Mach 0.4, sea level;
# 0.740 and 0.692 at 10,000 ft; IdleThrust 0.0488, 0.0047, 0.0528, 0.0020 in the same order. What the table
# scales is military less idle thrust, and bleed takes its share (FGTurbine::Run of the library; from memory,
# and the numbers bear it out).
def test_military_thrust_is_the_engine_files_table(stand: EngineStand):
    grid = stand.grid(0.5, [0.0, 0.4], [0.0, 10_000 * FOOT])

    share = np.array([[1.000, 0.740], [0.921, 0.692]])
    idle = np.array([[0.0488, 0.0528], [0.0047, 0.0020]])
    expected = 2050 * 0.97 * ((1 - idle) * share + idle)
    assert grid.thrust / POUND_FORCE == pytest.approx(expected, rel=2e-3)


# J85-GE-5.xml: maxthrust 2900 lbf, AugThrust 1.0000, 0.9474 and at 10,000 ft 0.8184, 0.7798; no bleed.
def test_burner_thrust_is_the_engine_files_table(stand: EngineStand):
    grid = stand.grid(1.0, [0.0, 0.4], [0.0, 10_000 * FOOT])

    expected = 2900 * np.array([[1.0000, 0.8184], [0.9474, 0.7798]])
    assert grid.thrust / POUND_FORCE == pytest.approx(expected, rel=2e-3)


# The engine's tables are over density altitude. On a day 20 K warm at sea level that is where standard air
# has 288.15/308.15 of its sea-level density (ISO 2533, troposphere). J85-GE-5.xml at Mach 0.2, sea level and
# 10,000 ft: MilThrust 0.9340 and 0.6970, IdleThrust 0.0501 and 0.0335.
def test_warm_air_costs_the_thrust_of_its_density_altitude(stand: EngineStand):
    factor, _, _ = stand.temperature_factors(0.5, [0.0, 20.0], mach=[0.2], pressure_altitude=[0.0])

    higher = 44_330.8 * (1 - (288.15 / 308.15) ** (1 / 4.2559)) / (10_000 * FOOT)

    def thrust(share: float) -> float:
        idle = 0.0501 - 0.0166 * share
        return (1 - idle) * (0.9340 - 0.2370 * share) + idle

    assert factor[0] == pytest.approx(1.0)
    assert factor[1] == pytest.approx(thrust(higher) / thrust(0.0), abs=5e-4)


def test_idle_to_military_takes_seconds_and_a_failed_engine_gives_nothing(stand: EngineStand):
    times = measure_transients(stand, 0.5, augmented=True)

    # The library's turbine speeds up at a rate that takes a few seconds, and drops a failed engine's thrust
    # in one step (seen in its own logs); a burner of this kind follows the lever.
    assert 2.0 < times.idle_to_military < 6.0
    assert times.failure_decay < 0.05
    assert times.light_delay + times.light_to_full < 0.1


# FGTurbine of the library gives a dead engine no thrust and no drag (seen in its own logs): sampling shows
# what the model does, not what an engine does.
def test_a_dead_turbine_of_the_library_drags_nothing(stand: EngineStand):
    assert windmilling_drag_area(stand) == pytest.approx(0.0, abs=1e-6)


# c172p.xml with its fixed propeller: full throttle at sea level gave 494 lbf at Mach 0.1 and 2,666 rpm, read
# from the library's own output of a run held at that speed. At 10,000 ft it must be leaned to run at all.
def test_a_propeller_pulls_less_at_speed_and_at_height():
    model = FlightModel("c172p")
    model.place(mach=0.1, altitude=0.0)
    stand = EngineStand(model, describe(model))
    grid = stand.grid(1.0, [0.0, 0.1, 0.2], [0.0, 10_000 * FOOT])

    assert grid.thrust[1, 0] / POUND_FORCE == pytest.approx(493.5, abs=3.0)
    assert np.all(grid.thrust[2] < grid.thrust[1])
    assert np.all(grid.thrust[:2, 1] > 0.5 * grid.thrust[:2, 0])
    assert np.all(grid.thrust[:, 1] < grid.thrust[:, 0])
