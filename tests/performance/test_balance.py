"""Mass and balance: group I names the source of each check."""

import re

import numpy as np
import pytest
from aeroplanes import shipped
from external_checks import check, expected, value
from hypothesis import given
from hypothesis import strategies as st

from sortiewright.pack import Seat, Station, Store, Tank
from sortiewright.performance import (
    LoadState,
    arm_after_shift,
    balance_of,
    burn_path,
    centre_of_gravity,
    check_envelope,
    fuel_after,
    load_items,
    mass_to_shift,
    release_path,
    share_of_mean_chord,
    usable_fuel,
)

INCH, POUND = 0.0254, 0.45359237
MOMENT = POUND * INCH


# X-I01
def test_balance_from_weighing_three_wheels():
    one = check("X-I01")
    scales = [re.match(r"(\d+) lb at (\d+) in", text).groups() for text in one["inputs"].values()]
    masses, arms = np.array(scales, dtype=float).T * [[POUND], [INCH]]
    arm = centre_of_gravity(masses, arms)

    assert masses.sum() / POUND == expected(one, "weight")
    assert arm * masses.sum() / MOMENT == expected(one, "moment")
    assert arm == expected(one, "CG", INCH)


# X-I02
def test_arm_as_a_share_of_the_mean_chord():
    one = check("X-I02")
    lead, trail = value(one, "LEMAC", INCH), value(one, "TEMAC", INCH)

    assert 100.0 * share_of_mean_chord(value(one, "CG_arm", INCH), lead, trail - lead) == expected(
        one, "percent_MAC"
    )


# X-I03
def test_share_of_the_mean_chord_as_a_distance():
    one = check("X-I03")
    aft = expected(one, "aft_of_LEMAC", INCH)
    share = share_of_mean_chord(10.0 + aft.expected, 10.0, value(one, "MAC", INCH))

    assert share * value(one, "MAC", INCH) == aft
    assert 100.0 * share == pytest.approx(value(one, "percent_MAC"), rel=1e-9)


# X-I04
def test_mass_to_shift_to_a_limit():
    one = check("X-I04")
    moved = mass_to_shift(
        value(one, "total", POUND),
        *(value(one, name, INCH) for name in ("CG", "aft_limit", "from_station", "to_station")),
    )

    assert moved == expected(one, "weight", POUND)


# X-I05
def test_arm_after_a_shift():
    one = check("X-I05")
    total, moment = value(one, "total", POUND), value(one, "initial_moment", MOMENT)
    arm = moment / total
    new = arm_after_shift(
        total,
        arm,
        value(one, "shifted", POUND),
        value(one, "from_station", INCH),
        value(one, "to_station", INCH),
    )

    assert arm == expected(one, "initial_CG", INCH)
    assert new * total == expected(one, "new_moment", MOMENT)
    assert new == expected(one, "new_CG", INCH)


# X-I06
def test_arm_after_adding_mass():
    one = check("X-I06")
    masses = [value(one, "weight", POUND), value(one, "added", POUND)]

    assert centre_of_gravity(masses, [value(one, "CG", INCH), value(one, "station", INCH)]) == expected(
        one, "new_CG", INCH
    )


def invented_jet(one):
    """Return the aeroplane of X-I07 as a pack, its oil and trapped fuel hung as a fixed mass on a station."""
    basic, crew, oil, fuel, store = (
        {"mass": item["weight_lb"] * POUND, "arm": item["arm_in"] * INCH} for item in one["inputs"]["items"]
    )
    pack = shipped("dotterel")
    frame = pack.airframe.model_copy(
        update={
            "mean_chord_leading_edge_arm": value(one, "LEMAC", INCH),
            "mean_chord": value(one, "MAC", INCH),
        }
    )
    mass = pack.mass.model_copy(
        update={
            "basic_mass": basic["mass"],
            "basic_arm": basic["arm"],
            "seats": {"both": Seat(title="Crew", arm=crew["arm"], standard_mass=crew["mass"])},
            "tanks": {"fuselage": Tank(capacity=fuel["mass"], arm=fuel["arm"])},
            "stations": {
                "oil": Station(
                    arm=oil["arm"], side_arm=0.0, maximum_load=1.0, carries=(), fixed_mass=oil["mass"]
                ),
                "belly": Station(arm=store["arm"], side_arm=0.0, maximum_load=1e4, carries=("store",)),
            },
            "feed_order": (("fuselage",),),
        }
    )
    stores = {"store": Store(title="Store", mass=store["mass"], drag_index=0.0)}
    load = LoadState({"both": crew["mass"]}, {"fuselage": fuel["mass"]}, {"belly": ("store",)})
    return pack.model_copy(update={"airframe": frame, "mass": mass, "stores": stores}), load


# X-I07
def test_balance_of_a_loaded_two_seat_jet():
    one = check("X-I07")
    pack, load = invented_jet(one)
    gross = balance_of(pack, load)
    zero_fuel = balance_of(pack, LoadState(load.crew, {"fuselage": 0.0}, load.stores))

    assert gross.mass == expected(one, "gross_weight", POUND)
    assert gross.mass * gross.arm == expected(one, "gross_moment", MOMENT)
    assert gross.arm == expected(one, "gross_CG", INCH)
    assert 100.0 * gross.share_of_chord == expected(one, "gross_pct_MAC")
    assert zero_fuel.arm == expected(one, "zero_fuel_CG", INCH)
    assert 100.0 * zero_fuel.share_of_chord == expected(one, "zero_fuel_pct_MAC")


def full_load(pack, *, stores=None, share=1.0):
    """Return a load with both seats taken and every tank filled to ``share``."""
    stores = stores or {}
    outside = {
        name: share * sum(pack.stores[s].fuel_capacity for s in carried)
        for name, carried in stores.items()
        if any(pack.stores[s].fuel_capacity for s in carried)
    }
    return LoadState(
        {name: seat.standard_mass for name, seat in pack.mass.seats.items()},
        {name: share * tank.capacity for name, tank in pack.mass.tanks.items()},
        stores,
        outside,
    )


TANKS = {"left_inboard": ("wing_tank",), "right_inboard": ("wing_tank",), "belly": ("belly_tank",)}
LOADS = [("dotterel", {}), ("dotterel", TANKS), ("whinchat", {})]


# Conservation of mass.
@pytest.mark.parametrize(("name", "stores"), LOADS)
def test_burn_path_conserves_fuel(name, stores):
    pack = shipped(name)
    load = full_load(pack, stores=stores, share=0.9)
    path = burn_path(pack, load)
    burnt = -np.diff([step.balance.mass for step in path])
    unusable = sum(tank.unusable for tank in pack.mass.tanks.values())
    unusable += sum(pack.stores[s].fuel_unusable for carried in stores.values() for s in carried)

    assert (burnt > 0.0).all()
    assert burnt.sum() == pytest.approx(usable_fuel(pack, load), abs=1e-6)
    assert path[-1].load.total_fuel == pytest.approx(unusable, abs=1e-6)


@pytest.mark.parametrize(("name", "stores"), LOADS)
@given(share=st.floats(0.05, 1.0), part=st.floats(0.0, 1.0))
def test_fuel_after_burning_is_short_by_what_was_burnt(name, stores, share, part):
    pack = shipped(name)
    load = full_load(pack, stores=stores, share=share)
    burnt = part * usable_fuel(pack, load)
    after = fuel_after(pack, load, burnt)

    assert load.total_fuel - after.total_fuel == pytest.approx(burnt, abs=1e-6)
    assert min(after.fuel.values(), default=0.0) >= 0.0
    assert min(after.store_fuel.values(), default=0.0) >= 0.0


def test_members_of_a_feed_group_empty_together():
    pack = shipped("dotterel")
    load = full_load(pack)
    after = fuel_after(pack, load, 300.0)

    assert after.fuel["left_wing"] == pytest.approx(after.fuel["right_wing"])
    assert after.fuel["forward"] == load.fuel["forward"]


def test_burning_more_than_is_aboard_is_refused():
    pack = shipped("whinchat")
    load = full_load(pack)

    with pytest.raises(ValueError, match=r"5000 kg are to be burnt, only \d+ kg of usable fuel are aboard"):
        fuel_after(pack, load, 5000.0)


# Symmetry: what hangs left and right alike has no side moment, and one side alone has all of it.
def test_side_moment_of_an_uneven_load():
    pack = shipped("dotterel")
    both = {"left_outboard": ("plover_bomb",), "right_outboard": ("plover_bomb",)}
    right = {"right_outboard": ("plover_bomb",)}
    bomb, station = pack.stores["plover_bomb"].mass, pack.mass.stations["right_outboard"].side_arm

    assert balance_of(pack, full_load(pack, stores=both)).side_moment == pytest.approx(0.0, abs=1e-9)
    assert balance_of(pack, full_load(pack, stores=right)).side_moment == pytest.approx(bomb * station)


def test_release_leaves_the_rack_its_mass_and_its_drag():
    pack = shipped("dotterel")
    stores = {"left_outboard": ("triple_rack_plover",), "belly": ("belly_tank",)}
    load = full_load(pack, stores=stores, share=0.5)
    plover, tank = pack.stores["triple_rack_plover"], pack.stores["belly_tank"]
    before = balance_of(pack, load, gear_up=True)
    first, second = release_path(pack, load, ["left_outboard", "belly"])

    assert before.mass - first.balance.mass == pytest.approx(plover.mass - plover.remains_mass)
    assert first.balance.mass - second.balance.mass == pytest.approx(
        tank.mass - tank.remains_mass + 0.5 * tank.fuel_capacity
    )
    assert second.balance.drag_index == pytest.approx(plover.remains_drag_index + tank.remains_drag_index)
    assert second.load.total_fuel == pytest.approx(sum(load.fuel.values()))


def test_load_sheet_adds_up_to_the_balance():
    pack = shipped("dotterel")
    load = full_load(pack, stores=TANKS)
    items = load_items(pack, load)

    assert sum(item.mass for item in items) == pytest.approx(balance_of(pack, load).mass)
    assert {item.group for item in items} == {"fixed", "crew", "store", "fuel"}


# The arm of a tank moves in a straight line from its last fuel to full: half full lies midway.
def test_arm_of_fuel_moves_with_what_is_left():
    pack = shipped("dotterel")
    tank = pack.mass.tanks["forward"]
    half = LoadState({}, {"forward": 0.5 * tank.capacity})
    (arm,) = (item.arm for item in load_items(pack, half) if item.group == "fuel")

    assert arm == pytest.approx(0.5 * (tank.arm + tank.arm_empty))


def contains(polygon, x, y):
    """Return whether a point lies in a polygon, by the parity of crossings of a ray to the right."""
    inside = False
    for (x1, y1), (x2, y2) in zip(polygon, [*polygon[1:], polygon[0]], strict=True):
        if (y1 > y) != (y2 > y) and x < x1 + (y - y1) * (x2 - x1) / (y2 - y1):
            inside = not inside
    return inside


# Ray casting (Shimrat 1962, Algorithm 112, CACM 5), a second road to the same question.
@pytest.mark.parametrize(
    ("name", "part"), [("dotterel", "envelope"), ("dotterel", "envelope_gear_up"), ("whinchat", "envelope")]
)
@given(high=st.floats(-0.2, 1.2), wide=st.floats(-0.2, 1.2))
def test_envelope_check_agrees_with_ray_casting(name, part, high, wide):
    envelope = getattr(shipped(name).mass, part)
    corners = [(point.centre_of_gravity, point.mass) for point in envelope]
    (left, low), (right, top) = np.min(corners, axis=0), np.max(corners, axis=0)
    share, mass = left + wide * (right - left), low + high * (top - low)
    found = check_envelope(envelope, mass, share)

    # On a corner or an edge the ray may count either way.
    if abs(found.margin) > 1e-9 and min(abs(mass - corner) for _, corner in corners) > 1e-3:
        assert found.inside == contains(corners, share, mass)


def test_envelope_margin_is_the_distance_to_the_nearer_limit():
    envelope = shipped("dotterel").mass.envelope
    found = check_envelope(envelope, 30_000 * POUND, 0.26)

    # The pack's own corners: 25 to 34 %MAC from 26,000 to 42,000 lb.
    assert (found.forward_limit, found.aft_limit) == pytest.approx((0.25, 0.34))
    assert found.margin == pytest.approx(0.01)
    assert check_envelope(envelope, 30_000 * POUND, 0.35).margin == pytest.approx(-0.01)
    assert not check_envelope(envelope, 60_000 * POUND, 0.30).inside


def test_shifting_between_equal_arms_is_refused():
    with pytest.raises(ValueError, match="the two arms are the same"):
        mass_to_shift(1000.0, 3.0, 3.1, 2.0, 2.0)
