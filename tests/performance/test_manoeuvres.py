"""All manoeuvre numbers at once: the same as each of them alone, and quick."""

from pathlib import Path

import numpy as np
import pytest
from aeroplanes import shipped
from manoeuvring import POWERS, STORES

from sortiewright.pack import OutsideTable, load_pack
from sortiewright.performance import (
    corner_speed,
    excess_power_grid,
    flight_setup,
    instantaneous_turn,
    make_flight_cases,
    manoeuvre_numbers,
    sustained_turn,
)

WHERE = {"dotterel": (16_500.0, 4_500.0, 0.8), "whinchat": (3_100.0, 3_000.0, 0.45)}


def numbers(name, **how):
    pack = shipped(name)
    mass, altitude, mach = WHERE[name]
    setup, cases = flight_setup(pack), make_flight_cases([mass, 0.95 * mass], drag_index=15.0)
    power = POWERS[name][-1]
    where = {"altitude": altitude, "mach": mach, "power": power, "stores": STORES[name]} | how
    return pack, setup, cases, power, manoeuvre_numbers(pack, setup, cases, **where)


@pytest.mark.parametrize("name", ["dotterel", "whinchat"])
def test_numbers_at_once_are_those_of_each_alone(name):
    pack, setup, cases, power, found = numbers(name)
    _, altitude, mach = WHERE[name]
    where = {"altitude": [altitude], "mach": [mach], "stores": STORES[name]}
    tightest = instantaneous_turn(pack, setup, cases, **where)
    held = sustained_turn(pack, setup, cases, power=power, **where)
    corner = corner_speed(pack, setup, cases, altitude=altitude, stores=STORES[name])
    grid = excess_power_grid(pack, setup, cases, power, stores=STORES[name])

    assert found.instantaneous.turn.rate == pytest.approx(tightest.turn.rate, rel=1e-9)
    assert found.sustained.turn.rate == pytest.approx(held.turn.rate, rel=1e-9)
    assert found.corner.mach == pytest.approx(corner.mach, rel=1e-6)
    assert found.excess_power.energy_rate == pytest.approx(grid.energy_rate, nan_ok=True)
    assert found.limits.positive_by.tolist() == grid_limit_names(name)


def grid_limit_names(name):
    return ["belly_tank" if name == "dotterel" else "practice_carrier"] * 2


@pytest.mark.parametrize("name", ["dotterel", "whinchat"])
def test_curves_run_from_the_stall_to_the_limit_over_the_corner(name):
    found = numbers(name)[-1]
    curve = found.instantaneous_curve

    assert (np.diff(found.turn_mach, axis=1) >= 0.0).all()
    assert curve.turn.load_factor[:, 0] == pytest.approx([1.0, 1.0], abs=1e-3)
    assert np.isfinite(curve.turn.rate).all()
    assert np.nanmax(curve.turn.rate, axis=1) == pytest.approx(found.corner.turn.rate, rel=1e-5)
    assert found.turn_mach[:, -1] == pytest.approx(found.envelope.end_mach)


def test_a_pack_without_limits_has_its_numbers_too():
    pack = load_pack(Path(__file__).parents[1] / "data" / "packs" / "t38_sampled").pack
    power = pack.engine.maximum or pack.engine.military
    found = manoeuvre_numbers(
        pack,
        flight_setup(pack),
        make_flight_cases(4_800.0),
        altitude=3_000.0,
        mach=0.4,
        power=power,
    )

    assert np.isfinite(found.instantaneous.turn.rate[0])
    assert np.isnan(found.corner.mach[0])


def test_height_above_the_tables_is_refused():
    with pytest.raises(OutsideTable, match="pressure_altitude"):
        numbers("whinchat", altitude=14_000.0)
