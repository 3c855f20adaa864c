"""What a file lacks is worked out from what it has, marked, and right.

The sample recordings carry both sides: their speeds, rates and load factors were written by the library of
flight dynamics that flew them, so each is left out in turn, worked out, and compared with the library's own.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from sampled_flight import DEGREE, FOOT, LIFT_OFF, TOUCHDOWN, flight, write_parquet

from sortiewright.recording import (
    ChannelMap,
    Recording,
    RunwayFrame,
    along_runway,
    distance_flown,
    proposed_map,
    read_recording,
)

SAMPLES = Path(__file__).parents[1] / "data" / "recordings"
NAMES = ("nominal", "flawed_departure")


@pytest.fixture(scope="module", params=NAMES)
def sample(request):
    path = SAMPLES / f"{request.param}.csv.gz"
    return path, proposed_map(path).channel_map(), read_recording(path)


def without(sample, *names, wind=True):
    path, whole_map, _ = sample
    channels = {name: use for name, use in whole_map.channels.items() if name not in names}
    update = {"channels": channels} | ({} if wind else {"wind": None})
    return read_recording(path, whole_map.model_copy(update=update))


# Tolerances: rounding (0.01 ft/s, 1e-7 deg, 0.01 ft) over the time it is differentiated, and of the Mach
# number. The load factor is felt at the seat of the pilot, not at the centre of gravity.
@pytest.mark.parametrize(
    ("dropped", "tolerance"),
    [
        (("calibrated_airspeed",), 0.04),
        (("ground_speed",), 0.2),
        (("vertical_speed",), 0.05),
        (("mach_number",), 1e-4),
        (("true_airspeed",), 0.03),
        (("outside_air_temperature",), 0.3),
        (("roll_rate", "pitch_rate", "yaw_rate"), 0.006),
        (("load_factor_normal",), 0.06),
        (("height_above_ground",), 0.1),
    ],
    ids=lambda value: value[0] if isinstance(value, tuple) else "",
)
def test_a_channel_worked_out_is_the_one_that_was_recorded(sample, dropped, tolerance):
    whole, found = sample[2], without(sample, *dropped)
    flying = (whole.number("weight_on_wheels_left") == 0.0) & (whole.number("mach_number") > 0.1)

    for name in dropped:
        error = np.abs(found.number(name) - whole.number(name))[flying]
        assert name in found.derived
        assert name not in whole.derived or name == "height_above_ground"
        assert np.nanmax(error) < tolerance, name
        assert np.isfinite(error).mean() > 0.99


def test_airspeed_from_ground_speed_and_wind_is_good_to_the_gusts(sample):
    whole = sample[2]
    found = without(sample, "true_airspeed", "mach_number", "calibrated_airspeed", "track_deg")

    assert np.nanquantile(np.abs(found.number("true_airspeed") - whole.number("true_airspeed")), 0.95) < 0.5
    assert (
        np.nanquantile(
            np.abs(found.number("calibrated_airspeed") - whole.number("calibrated_airspeed")), 0.95
        )
        < 0.5
    )


def test_airspeed_from_altitude_says_that_it_took_a_standard_day(sample):
    found = without(sample, "calibrated_airspeed", "pressure_altitude")

    assert "standard day" in found.derived["calibrated_airspeed"]


@pytest.mark.parametrize(("left_out", "late"), [((), 0.7), (("height_above_ground",), 0.6)])
def test_weight_on_wheels_from_height_or_climb_is_good_to_a_second(sample, left_out, late):
    whole = sample[2]
    legs = ("weight_on_wheels_nose", "weight_on_wheels_left", "weight_on_wheels_right")
    found = without(sample, *legs, *left_out)
    both = (whole.number("weight_on_wheels_left") + whole.number("weight_on_wheels_right")) > 0
    lift_off = whole.time[np.flatnonzero(both)[-1]]
    worked_out = found.time[np.flatnonzero(found.number("weight_on_wheels_left") == 1.0)[-1]]

    assert worked_out - lift_off == pytest.approx(late / 2, abs=late)
    assert "weight_on_wheels_left" in found.derived


def test_weight_on_wheels_comes_back_at_touchdown(tmp_path):
    columns = {name: values for name, values in flight().items() if not name.startswith("weight_on")}
    for lacking in ((), ("height_above_ground",)):
        kept = {name: values for name, values in columns.items() if name not in lacking}
        found = read_recording(write_parquet(tmp_path / "a.parquet", kept))
        on = found.number("weight_on_wheels_left") == 1.0
        edges = found.time[np.flatnonzero(np.diff(on.astype(int))) + 1]

        assert len(edges) == 2
        assert edges == pytest.approx([LIFT_OFF, TOUCHDOWN], abs=4.0)


def test_what_is_recorded_is_never_replaced(sample):
    path, _, whole = sample

    assert set(whole.derived) <= {"height_above_ground", "track_deg"}
    assert whole.source_columns["calibrated_airspeed"] == "velocities/vc-kts"
    assert path.exists()


def test_indicated_airspeed_stands_in_and_says_so(tmp_path):
    made = flight()
    columns = {"time": made["time"], "indicated_airspeed": made["calibrated_airspeed"]}
    found = read_recording(write_parquet(tmp_path / "a.parquet", columns))

    assert np.array_equal(found.number("calibrated_airspeed"), made["calibrated_airspeed"])
    assert "position error" in found.derived["calibrated_airspeed"]


# A level turn at 60 degrees of bank pulls 1/cos(60) = 2 g (textbook statics); 30 degrees 1.1547 g.
@pytest.mark.parametrize(("bank_deg", "load"), [(60.0, 2.0), (30.0, 1.1547), (0.0, 1.0)])
@pytest.mark.parametrize("known", ["motion", "air"])
def test_a_level_turn_has_the_load_factor_of_its_bank(bank_deg, load, known):
    speed, rate = 180.0, 20.0
    time = np.arange(0, 40, 1 / rate)
    turn = np.tan(bank_deg * DEGREE) * 9.80665 / speed
    heading = np.degrees(turn * time) % 360.0
    still = np.zeros(len(time))
    columns = {
        "true_airspeed": still + speed, "vertical_speed": still, "true_heading_deg": heading, "pitch": still,
        "bank": still + bank_deg * DEGREE, "angle_of_attack": still,
    }  # fmt: skip
    columns |= {"ground_speed": still + speed, "track_deg": heading} if known == "motion" else {}
    found = derived(time, columns)

    assert np.allclose(found.number("load_factor_normal")[10:-10], load, atol=2e-3)


def derived(time, columns):
    from sortiewright.recording.deriving import derive

    chosen = ChannelMap.model_validate({"time": "t", "channels": {}})
    return derive(Recording("made", time, columns, np.zeros(0, np.intp)), chosen)


def test_a_gust_of_numbers_at_a_break_does_not_reach_over_it():
    time = np.r_[np.arange(0, 10, 0.1), np.arange(100, 110, 0.1)]
    altitude = np.r_[np.full(100, 500.0), np.full(100, 3000.0)]
    made = Recording("made", time, {"altitude": altitude}, np.array([100]))
    from sortiewright.recording.deriving import derive

    found = derive(made, ChannelMap.model_validate({"time": "t", "channels": {}}))

    assert np.allclose(found.number("vertical_speed"), 0.0)


# The reference is geographiclib, which solves geodesics to nanometres (Karney 2013).
@pytest.mark.parametrize("latitude", [0.0, 36.4, 57.0, -71.0])
@pytest.mark.parametrize("heading", [0.0, 52.0, 91.0, 233.0, 359.0])
def test_place_along_a_runway_is_that_of_the_geodesic(latitude, heading):
    along, offset = np.array([-500.0, 0.0, 300.0, 3000.0, 8000.0]), np.array([0.0, 40.0, -20.0, 5.0, -300.0])
    points = []
    for one, side in zip(along, offset, strict=True):
        distance, angle = float(np.hypot(one, side)), float(np.degrees(np.arctan2(side, one)))
        line = Geodesic.WGS84.Direct(latitude, 179.99, heading + angle, distance)
        points.append((line["lat2"], line["lon2"]))
    columns = {
        "latitude_deg": np.array([p[0] for p in points]),
        "longitude_deg": np.array([p[1] for p in points]),
    }
    made = Recording("made", np.arange(5.0), columns, np.zeros(0, np.intp))
    found = along_runway(made, RunwayFrame(latitude, 179.99, heading))

    # Meridians converge: 8 km along at 71 degrees of latitude the geodesic itself bends by several metres.
    tolerance = 0.1 + np.abs(along) ** 2 * np.abs(np.tan(np.radians(latitude))) / 6.37e6
    assert (np.abs(found.distance - along) <= tolerance).all()
    assert (np.abs(found.offset - offset) <= tolerance).all()


def test_the_sample_takeoff_rolls_along_its_runway():
    import json

    truth = json.loads((SAMPLES / "nominal.truth.json").read_text(encoding="utf-8"))
    field, events = truth["conditions"]["field"], truth["events"]
    read = read_recording(SAMPLES / "nominal.csv.gz")
    found = along_runway(read, RunwayFrame(field["lat"], field["lon"], field["hdg"]))

    for name in ("lined_up_stopped", "brake_release", "rotation_start", "liftoff", "height_50ft"):
        event = events[name]
        where = np.interp(event["t_s"], read.time, found.distance)
        # The truth file's positions are on the library's own sphere of 20,925,646 ft: 0.3 percent at worst.
        assert where / FOOT == pytest.approx(event["runway_position_ft"], rel=4e-3, abs=3.0), name


def test_distance_flown_is_the_integral_of_ground_speed(sample):
    whole = sample[2]
    by_speed = np.trapezoid(whole.number("ground_speed"), whole.time)

    assert distance_flown(whole)[-1] == pytest.approx(by_speed, rel=5e-3)


def test_distance_flown_leaves_out_what_lies_in_a_break():
    made = Recording("made", np.arange(4.0), {"ground_speed": np.full(4, 10.0)}, np.array([2], np.intp))

    assert distance_flown(made).tolist() == [0.0, 10.0, 10.0, 20.0]
    assert np.isnan(distance_flown(replace(made, columns={}))).all()
