"""The causes of a difference, where the pack says how fast the aircraft can be turned nose up."""

import numpy as np
from aeroplanes import shipped

from sortiewright.air import Air
from sortiewright.performance import make_cases, takeoff_setup
from sortiewright.recording.causes import Conditions, setup_in

AIR = Air(101_325.0, 288.15)


def planned_of(pack):
    return takeoff_setup(pack, make_cases(19_500.0, pack.mass.basic_arm, AIR))


def test_a_rate_that_was_flown_is_there_at_once_and_a_planned_one_builds_up():
    pack = shipped("dotterel")
    frame = pack.airframe.model_copy(update={"pitch_radius_of_gyration": 4.0})
    planned = planned_of(pack.model_copy(update={"airframe": frame}))
    as_planned = Conditions(19_500.0, 0.0, AIR.pressure, AIR.temperature)
    as_flown = Conditions(19_500.0, 0.0, AIR.pressure, AIR.temperature, pitch_rate=0.04)
    both = setup_in(planned, [as_planned, as_flown])

    assert both.rise.build_up[0] == planned.rise.build_up[0] > 0.2
    assert both.rise_engine_out.gained[0] == planned.rise_engine_out.gained[0] > 0.0
    assert both.rise.build_up[1] == both.rise.gained[1] == both.rise_engine_out.build_up[1] == 0.0
    assert np.allclose(both.rotation_speed, planned.rotation_speed)


def test_without_a_radius_of_gyration_there_is_nothing_to_leave_out():
    planned = planned_of(shipped("dotterel"))

    assert setup_in(planned, [Conditions(19_500.0, 0.0, AIR.pressure, AIR.temperature)]).rise is None
