"""Sampled coefficients against what the model's own file states for them (T38.xml of JSBSim 1.3.3)."""

import math

import pytest

from sortiewright.pack import InputError
from sortiewright.pack_sampling import FlightModel
from sortiewright.pack_sampling.air_forces import Setting, configure, forces_at, trimmed_forces
from sortiewright.pack_sampling.controls import added_by, gear_travel, side_controls
from sortiewright.pack_sampling.flight_model import NotAsAsked
from sortiewright.pack_sampling.model_description import describe

QUARTER_RADIAN = math.degrees(0.25)


# T38.xml, axis LIFT, CLalpha: at 0.25 rad 0.7160 flaps up and 1.3000 at 40 deg; CLde 0.06 a unit of elevator.
@pytest.mark.parametrize(("flap", "lift"), [(0.0, 0.7160), (1.0, 1.3000), (0.6, 0.7160 + 0.6 * 0.5840)])
def test_lift_is_what_the_models_table_says(t38: FlightModel, flap: float, lift: float):
    configure(t38, Setting(flap=flap))
    point = forces_at(t38, mach=0.3, alpha_deg=QUARTER_RADIAN, stick=0.0)

    assert point.lift == pytest.approx(lift, abs=1e-6)


# T38.xml, axis DRAG: CD0 0.0160 at angle 0, CDi 0.1 times lift squared, CDflap 0.00225 a degree, CDgear
# 0.0150.
def test_drag_is_the_sum_that_the_models_file_gives(t38: FlightModel):
    configure(t38, Setting(flap=0.6, gear=1.0))
    point = forces_at(t38, mach=0.3, alpha_deg=0.0, stick=0.0)

    assert point.lift == pytest.approx(0.36, abs=1e-6)
    assert point.drag == pytest.approx(0.0160 + 0.1 * 0.36**2 + 0.00225 * 24 + 0.0150, abs=1e-6)


# T38.xml, axis PITCH: Cmalpha -0.3 a radian, Cmflaps -0.0025 a degree, Cmde -0.195 a unit. Cmadot -9 must not
# show: held still, the angle of attack does not change, though lift exceeds weight.
@pytest.mark.parametrize(("alpha", "stick"), [(0.0, 0.0), (8.0, 0.0), (8.0, -1.0)])
def test_moment_is_about_the_reference_point_and_free_of_rates(t38: FlightModel, alpha: float, stick: float):
    configure(t38, Setting(flap=0.6))
    point = forces_at(t38, mach=0.3, alpha_deg=alpha, stick=stick)

    expected = -0.3 * math.radians(alpha) - 0.0025 * 24 - 0.195 * stick
    assert point.moment == pytest.approx(expected, abs=1e-6)


# T38.xml, axis DRAG: CDgear 0.0150, CDsb 0.0250; gear kinematics 3 s, speedbrake 1 s.
def test_gear_and_speedbrake_add_what_the_file_gives_and_take_its_time(t38: FlightModel):
    gear = added_by(t38, Setting(), Setting(gear=1.0), 2.0)
    brake = added_by(t38, Setting(), Setting(speedbrake=1.0), 2.0)

    assert gear.drag == pytest.approx(0.0150, abs=1e-6)
    assert brake.drag == pytest.approx(0.0250, abs=1e-6)
    assert gear_travel(t38) == pytest.approx(3.0, abs=0.02)
    assert brake.travel_time == pytest.approx(1.0, abs=0.02)


# T38.xml, axis YAW: Cndr -0.0070 at full rudder; ROLL: 0.0193 for each unit of the two ailerons, which full
# roll control moves by 1.00 and 0.75.
def test_rudder_and_ailerons_give_the_files_moments(t38: FlightModel):
    sides = side_controls(t38, 0.0)

    assert sides.yawing_moment == pytest.approx(0.0070, abs=1e-5)
    assert sides.rolling_moment == pytest.approx(0.0193 * 1.75, abs=1e-5)


# Equilibrium by hand: Cm about the centre of gravity is nought where -0.195 e = 0.3 a + 0.06, with the centre
# of gravity at the reference point (320 in); lift falls by 0.06 for each unit of e.
def test_trimmed_lift_is_less_by_what_the_tail_takes(t38: FlightModel):
    configure(t38, Setting(flap=0.6))
    alpha = 5.0
    trimmed = trimmed_forces(t38, [alpha], [0.3], balance_x=320.0)
    neutral = forces_at(t38, mach=0.3, alpha_deg=alpha, stick=0.0)

    surface = -(0.3 * math.radians(alpha) + 0.06) / 0.195
    assert trimmed.lift[0, 0] == pytest.approx(neutral.lift + 0.06 * surface, abs=1e-5)
    assert trimmed.untrimmed == 0


def test_an_unknown_property_is_refused_instead_of_read_as_nought(t38: FlightModel):
    with pytest.raises(InputError, match="aero/liift is no property of this model"):
        t38.read("aero/liift")
    with pytest.raises(InputError, match="no property"):
        t38.write("fcs/flap-cmd-nrom", 1.0)


def test_a_state_that_was_not_reached_is_refused(t38: FlightModel):
    t38.place(mach=0.3, altitude=0.0, alpha_deg=4.0)
    t38.check_place(mach=0.3, alpha_deg=4.0)

    with pytest.raises(NotAsAsked, match="alpha-deg is 4, asked was 5"):
        t38.check_place(mach=0.3, alpha_deg=5.0)


# T38.xml: tables of lift and drag bend at these Mach numbers; flap lever settings 24 and 40 deg.
def test_the_description_finds_where_tables_bend_and_the_levers_settings(t38: FlightModel):
    description = describe(t38)

    assert description.mach_nodes == (0.0, 0.81, 1.1, 1.8)
    assert description.flap_settings == (0.6, 1.0)
    assert [round(math.radians(a), 4) for a in description.alpha_range_deg] == [-0.2, 0.6]
