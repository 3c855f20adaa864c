"""Trim is found on the rising part of the lift curve, however far beyond the stall a table goes."""

from pathlib import Path

import numpy as np
import pytest
from aeroplanes import balance_arm

from sortiewright.air import standard_air
from sortiewright.pack import load_pack, make_table
from sortiewright.performance import make_cases, takeoff_trim

PACK = load_pack(Path(__file__).parents[1] / "data" / "packs" / "t38_sampled").pack


def before_the_stall(configuration):
    lift = configuration.lift
    last = int(np.argmax(lift.values, axis=0).min())
    axes = {lift.names[0]: lift.axes[0][: last + 1], lift.names[1]: lift.axes[1]}
    return configuration.model_copy(update={"lift": make_table("lift", axes, lift.values[: last + 1])})


# The same aircraft, its table cut off at the lift peak: what lies beyond cannot matter to a steady climb.
@pytest.mark.parametrize("tas", [80.0, 90.0, 100.0])
def test_trim_does_not_depend_on_what_a_table_holds_beyond_the_stall(tas):
    cases = make_cases(5_080.0, balance_arm(PACK, 0.20), standard_air(450.0, 8.0))
    whole = PACK.aero.configurations[PACK.technique.takeoff.configuration]
    trim = takeoff_trim(PACK, cases, whole, tas, PACK.technique.takeoff.power)

    assert trim == pytest.approx(
        takeoff_trim(PACK, cases, before_the_stall(whole), tas, PACK.technique.takeoff.power), abs=1e-3
    )
