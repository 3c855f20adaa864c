"""A batch gives what its cases give one by one: no case may depend on its neighbours."""

import dataclasses

import numpy as np
import pytest
from aeroplanes import balance_arm, shipped
from conditions import POUND

from sortiewright.air import Air, standard_air, tas_from_cas
from sortiewright.performance import (
    accelerate_to,
    approach_speed,
    climb_gradient,
    field_lengths,
    fly_takeoff,
    land,
    make_cases,
    minimum_control_ground_speed,
    nosewheel_lift_off_speed,
    reject,
    release,
    roll_control_speed,
    stop_go_curves,
    takeoff_and_curves,
    takeoff_setup,
    takeoff_trim,
)

# Unlike on purpose: heavy and light, head- and tailwind, wet, icy and under water, nose-heavy; one never
# flies.
MASSES = {
    "dotterel": np.array([28e3, 38e3, 46e3, 53e3, 33e3, 53.5e3]) * POUND,
    "whinchat": np.array([5.7e3, 6.5e3, 7.0e3, 7.8e3, 6.0e3, 7.9e3]) * POUND,
}
ALTITUDE = np.array([0.0, 500.0, 1200.0, -100.0, 300.0, 2400.0])
WARMER = np.array([0.0, 15.0, -20.0, 5.0, -5.0, 25.0])
CONDITIONS = {
    "headwind": np.array([0.0, 8.0, -4.0, 3.0, 11.0, -5.0]),
    "slope": np.array([0.0, 0.01, -0.012, 0.0, 0.004, 0.02]),
    "drag_index": np.array([0.0, 20.0, 60.0, 90.0, 5.0, 120.0]),
    "runway_condition_reading": np.array([23.0, 12.0, 5.0, 23.0, 9.0, 20.0]),
    "standing_water": np.array([False, True, False, False, True, False]),
}
FORWARD = np.array([0.30, 0.29, 0.27, 0.30, 0.32, 0.26])
EACH = range(len(ALTITUDE))


def batch_of(name):
    pack = shipped(name)
    air = standard_air(ALTITUDE, WARMER)
    share = FORWARD if name == "dotterel" else FORWARD - 0.04
    return pack, make_cases(MASSES[name], balance_arm(pack, share), air, **CONDITIONS)


def records(name):
    """Return a function of some cases for each thing the room computes; its result is arrays or a dataclass
    of them."""
    pack = shipped(name)
    technique = pack.technique.takeoff
    takeoff = pack.aero.configurations[technique.configuration]
    landing = pack.aero.configurations[pack.technique.landing.configuration]
    fast = 55.0 if name == "whinchat" else 85.0

    def whole(cases):
        setup = takeoff_setup(pack, cases)
        all_engines, curves = takeoff_and_curves(setup)
        lengths = field_lengths(setup, all_engines, curves, 1_900.0, 2_100.0)
        fields = {f.name: getattr(lengths, f.name) for f in dataclasses.fields(lengths)}
        return {"all_engines": all_engines, **fields}

    def failed(cases):
        setup = takeoff_setup(pack, cases)
        return fly_takeoff(
            setup, 0.6 * np.where(np.isfinite(setup.rotation_speed), setup.rotation_speed, 50.0)
        )

    def rejected(cases):
        setup = takeoff_setup(pack, cases)
        return reject(setup, accelerate_to(setup, release(setup), np.full(cases.count, 0.6 * fast)))

    def released_at_idle(cases):
        setup = takeoff_setup(pack, cases, technique.model_copy(update={"release_power": None}))
        return accelerate_to(setup, release(setup), np.full(cases.count, 0.6 * fast))

    def grid(cases):
        speeds = np.linspace(20.0, 50.0, 5)[None, :] * np.ones((cases.count, 1))
        return stop_go_curves(takeoff_setup(pack, cases), speeds)

    return {
        "takeoff": lambda cases: fly_takeoff(takeoff_setup(pack, cases)),
        "engine failure": failed,
        "rejected": rejected,
        "released at idle": released_at_idle,
        "curves": grid,
        "field lengths": whole,
        "landing": lambda cases: land(pack, cases, gust_increment=3.0),
        "landing, no chute": lambda cases: land(pack, cases, chute=False),
        "approach": lambda cases: {"speed": approach_speed(pack, cases, landing, 0.15, 0.05)},
        "climb": lambda cases: climb_gradient(
            pack, cases, takeoff, fast, technique.power, failed_engines=pack.engine.count - 1, gear=1.0
        ),
        "trim": lambda cases: {"units": takeoff_trim(pack, cases, takeoff, fast, technique.power)},
        "nosewheel": lambda cases: {
            "speed": nosewheel_lift_off_speed(pack, cases, takeoff, technique.power, trim_units=3.0)
        },
        "control": lambda cases: {
            "ground": minimum_control_ground_speed(pack, cases, technique.power),
            "roll": roll_control_speed(pack, cases, 500.0),
        },
    }


def arrays(record):
    """Return every array of a result by name, those of records inside it too."""
    items = (
        record.items() if isinstance(record, dict) else ((n, getattr(record, n)) for n in record.__slots__)
    )
    flat = {}
    for name, item in items:
        inner = {"": item} if isinstance(item, np.ndarray) else arrays(item)
        flat |= {f"{name}.{key}": np.asarray(value) for key, value in inner.items()}
    return flat


@pytest.mark.parametrize("name", ["dotterel", "whinchat"])
@pytest.mark.parametrize("what", records("dotterel"))
def test_batch_equals_its_singles(name, what):
    _, cases = batch_of(name)
    compute = records(name)[what]
    together = arrays(compute(cases))
    alone = [arrays(compute(cases.take(slice(row, row + 1)))) for row in EACH]

    for key, values in together.items():
        singles = np.concatenate([one[key] for one in alone])
        assert values == pytest.approx(singles, rel=1e-12, nan_ok=True), key


def test_arguments_broadcast_to_the_shape_of_the_answer():
    pack = shipped("dotterel")
    cases = make_cases(
        np.array([[15_000.0], [18_000.0]]),
        balance_arm(pack, 0.3),
        Air(101325.0, np.array([280.0, 290.0, 300.0])),
    )

    assert cases.shape == (2, 3)
    assert cases.count == 6
    assert cases.shaped(fly_takeoff(takeoff_setup(pack, cases)).ground_run).shape == (2, 3)


def test_repeated_cases_stand_next_to_one_another():
    _, cases = batch_of("dotterel")

    assert cases.repeated(2).mass.tolist() == np.repeat(cases.mass, 2).tolist()
    assert cases.repeated(2).shape == (12,)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"mass": -1.0}, "mass must be positive, got -1 kg"),
        ({"headwind": np.nan}, "headwind must be finite, got nan"),
    ],
)
def test_conditions_that_cannot_be_are_refused(changes, message):
    arguments = {"mass": 15_000.0, "balance_arm": 9.0, "air": standard_air(0.0)} | changes

    with pytest.raises(ValueError, match=message):
        make_cases(**arguments)


# CAS and TAS are one at sea level on a standard day (ISO 2533): rotation asked in CAS is met in ground speed.
def test_rotation_speed_is_calibrated_airspeed():
    pack = shipped("dotterel")
    air = standard_air([0.0, 1500.0], [0.0, 15.0])
    cases = make_cases(17_000.0, balance_arm(pack, 0.3), air, headwind=5.0)
    takeoff = fly_takeoff(setup := takeoff_setup(pack, cases, rotation_cas=75.0))

    assert takeoff.rotation_cas == pytest.approx([75.0, 75.0], rel=1e-9)
    assert setup.rotation_speed == pytest.approx(tas_from_cas(75.0, air) - 5.0, rel=1e-12)
