"""Proposed maps: the right column for each channel whatever it is called, in the right unit, and how sure."""

import numpy as np
import pytest
from sampled_flight import DEGREE, FOOT, KNOT, POUND, flight, write_csv

from sortiewright.pack import InputError
from sortiewright.recording import ChannelMap, load_channel_map, proposed_map, read_recording

FLIGHT = flight(rate=10.0, wind_north=-4.0, wind_east=3.0)
FLIGHT["indicated_airspeed"] = FLIGHT["calibrated_airspeed"]
PER_MINUTE, PER_HOUR = FOOT / 60.0, POUND / 3600.0

# One flight as four people would log it: names, units and the zero of time differ, the flight is the same.
DRESSES = {
    "trade units in the names": {
        "Time (s)": ("time", 1.0), "Latitude (deg)": ("latitude_deg", 1.0),
        "Longitude (deg)": ("longitude_deg", 1.0),
        "Altitude MSL (ft)": ("altitude", FOOT), "Height AGL (ft)": ("height_above_ground", FOOT),
        "Ground Speed (kts)": ("ground_speed", KNOT), "IAS (kts)": ("indicated_airspeed", KNOT),
        "TAS (kts)": ("true_airspeed", KNOT), "Mach": ("mach_number", 1.0), "Vertical Speed (fpm)":
        ("vertical_speed", PER_MINUTE), "Pitch (deg)": ("pitch", DEGREE), "Roll (deg)": ("bank", DEGREE),
        "Heading True (deg)": ("true_heading_deg", 1.0), "AoA (deg)": ("angle_of_attack", DEGREE),
        "G Load": ("load_factor_normal", 1.0), "Pitch Rate (deg/s)": ("pitch_rate", DEGREE),
        "Weight On Wheels": ("weight_on_wheels_left", 1.0), "Throttle 1 (%)": ("throttle_left", 0.01),
        "Throttle 2 (%)": ("throttle_right", 0.01), "N2 1 (%)": ("engine_speed_left", 0.01),
        "N2 2 (%)": ("engine_speed_right", 0.01), "Fuel Flow 1 (pph)": ("fuel_flow_left", PER_HOUR),
        "Fuel Flow 2 (pph)": ("fuel_flow_right", PER_HOUR), "Total Fuel (lbs)": ("fuel_mass", POUND),
        "Gross Weight (lbs)": ("gross_mass", POUND), "Gear Position": ("gear_position", 1.0),
        "Flaps (%)": ("flap_position", 0.01), "Speedbrake (%)": ("speedbrake_position", 0.01),
    },
    "snake case in SI, units bare": {
        "t": ("time", 1.0), "lat": ("latitude_deg", 1.0), "lon": ("longitude_deg", 1.0),
        "alt_msl": ("altitude", 1.0),
        "alt_agl": ("height_above_ground", 1.0), "groundspeed": ("ground_speed", 1.0),
        "tas": ("true_airspeed", 1.0), "cas": ("calibrated_airspeed", 1.0), "mach": ("mach_number", 1.0),
        "vs": ("vertical_speed", 1.0), "theta": ("pitch", 1.0), "phi": ("bank", 1.0),
        "psi": ("true_heading_deg", 1.0),
        "alpha": ("angle_of_attack", 1.0), "nz": ("load_factor_normal", 1.0), "p": ("roll_rate", 1.0),
        "q": ("pitch_rate", 1.0), "r": ("yaw_rate", 1.0), "wow_left": ("weight_on_wheels_left", 1.0),
        "wow_right": ("weight_on_wheels_right", 1.0), "fuel": ("fuel_mass", 1.0),
        "fuel_flow_l": ("fuel_flow_left", 1.0), "fuel_flow_r": ("fuel_flow_right", 1.0),
    },
    "camel case, trade units unsaid": {
        "SimTime": ("time", 1.0), "Latitude": ("latitude_deg", 1.0), "Longitude": ("longitude_deg", 1.0),
        "Altitude": ("altitude", FOOT), "RadarAltitude": ("height_above_ground", FOOT),
        "GroundSpeed": ("ground_speed", KNOT), "TrueAirspeed": ("true_airspeed", KNOT),
        "IndicatedAirspeed": ("indicated_airspeed", KNOT), "MachNumber": ("mach_number", 1.0),
        "VerticalSpeed": ("vertical_speed", PER_MINUTE), "PitchAngle": ("pitch", DEGREE),
        "BankAngle": ("bank", DEGREE), "TrueHeading": ("true_heading_deg", 1.0),
        "AngleOfAttack": ("angle_of_attack", DEGREE), "GForce": ("load_factor_normal", 1.0),
        "RollRate": ("roll_rate", DEGREE), "OnGround": ("weight_on_wheels_left", 1.0),
        "LeftThrottle": ("throttle_left", 1.0), "RightThrottle": ("throttle_right", 1.0),
        "FuelQuantity": ("fuel_mass", POUND), "LeftFuelFlow": ("fuel_flow_left", PER_HOUR),
        "RightFuelFlow": ("fuel_flow_right", PER_HOUR), "GearDown": ("gear_position", 1.0),
    },
    "milliseconds, kilometres an hour, metres": {
        "timestamp_ms": ("time", 1e-3), "LAT": ("latitude_deg", 1.0), "LONG": ("longitude_deg", 1.0),
        "ALT": ("altitude", 1.0), "RALT": ("", 1.0), "GS": ("ground_speed", 1 / 3.6),
        "TAS": ("true_airspeed", 1 / 3.6),
        "IAS": ("indicated_airspeed", 1 / 3.6), "VVI": ("vertical_speed", 1.0), "PITCH": ("pitch", DEGREE),
        "ROLL": ("bank", DEGREE), "HDG": ("true_heading_deg", 1.0), "AOA": ("angle_of_attack", DEGREE),
        "NZ": ("load_factor_normal", 1.0), "Q": ("pitch_rate", DEGREE),
    },
}  # fmt: skip


def dressed(tmp_path, dress, **others):
    columns = {name: FLIGHT[channel or "bank"] / size for name, (channel, size) in dress.items()}
    return write_csv(tmp_path / "flight.csv", {**columns, **others})


@pytest.mark.parametrize("dress", DRESSES.values(), ids=DRESSES)
def test_a_flight_is_read_the_same_whatever_its_columns_are_called(tmp_path, dress):
    read = read_recording(dressed(tmp_path, dress))
    wanted = {channel for channel, _ in dress.values() if channel} - {"time"}

    assert wanted <= set(read.source_columns)
    for channel in wanted:
        spread = max(float(np.ptp(FLIGHT[channel])), 1e-3)
        assert np.allclose(read.number(channel), FLIGHT[channel], atol=2e-4 * spread), channel
    assert np.allclose(read.time - read.time[0], FLIGHT["time"], atol=1e-6)


def test_a_column_that_is_something_else_is_taken_for_nothing(tmp_path):
    others = {
        "Selected Altitude (ft)": FLIGHT["altitude"], "AP Heading Bug": FLIGHT["bank"],
        "Wind Gust (kts)": FLIGHT["bank"], "Lead Range (nm)": FLIGHT["bank"],
        "Cabin Altitude (ft)": FLIGHT["bank"],
        "Elevator Cmd": FLIGHT["bank"], "Frame": FLIGHT["time"], "Waypoint Latitude": FLIGHT["latitude_deg"],
    }  # fmt: skip
    proposal = proposed_map(dressed(tmp_path, DRESSES["trade units in the names"], **others))
    taken = {one.use.column for one in proposal.bindings if one.sure != "guess"}

    assert taken & set(others) == set()


def test_the_reasons_say_what_told_the_unit(tmp_path):
    proposal = proposed_map(dressed(tmp_path, DRESSES["camel case, trade units unsaid"]))
    found = {one.channel: one for one in proposal.bindings}

    assert found["altitude"].use.unit == "ft"
    assert any("altitude changes as vertical speed says" in one for one in found["altitude"].reasons)
    assert any("ground speed is that of the position" in one for one in found["ground_speed"].reasons)
    assert {one.sure for one in found.values()} <= {"certain", "likely", "guess"}


def test_a_unit_that_the_file_states_is_certain_and_one_that_nothing_tells_is_a_guess(tmp_path):
    columns = {
        "time": FLIGHT["time"],
        "Altitude (ft)": FLIGHT["altitude"] / FOOT,
        "fuel": FLIGHT["fuel_mass"],
    }
    found = {one.channel: one for one in proposed_map(write_csv(tmp_path / "a.csv", columns)).bindings}

    assert found["altitude"].sure == "certain"
    assert found["fuel_mass"].sure == "guess"
    assert any("nothing here tells" in one for one in found["fuel_mass"].reasons)


def test_two_columns_that_could_be_one_channel_are_both_named(tmp_path):
    others = {"Airspeed (kts)": FLIGHT["indicated_airspeed"] / KNOT}
    proposal = proposed_map(dressed(tmp_path, DRESSES["trade units in the names"], **others))
    airspeed = next(one for one in proposal.bindings if one.channel == "indicated_airspeed")

    assert {airspeed.use.column, *airspeed.others} >= {"IAS (kts)", "Airspeed (kts)"}
    assert airspeed.sure != "certain"
    assert any("indicated_airspeed" in question for question in proposal.questions)


@pytest.mark.parametrize(("name", "true"), [("Altitude", FOOT), ("Altitude", 1.0)])
def test_feet_and_metres_are_told_apart_by_the_vertical_speed(tmp_path, name, true):
    columns = {
        "time": FLIGHT["time"],
        name: FLIGHT["altitude"] / true,
        "Vertical Speed (ft/min)": FLIGHT["vertical_speed"] / PER_MINUTE,
    }
    found = {one.channel: one for one in proposed_map(write_csv(tmp_path / "a.csv", columns)).bindings}

    assert found["altitude"].use.unit == ("ft" if true == FOOT else "m")


def test_a_stick_that_is_counted_nose_down_is_turned(tmp_path):
    columns = {
        "time": FLIGHT["time"],
        "q (rad/s)": FLIGHT["pitch_rate"],
        "Stick Pitch": -FLIGHT["stick_pitch"],
    }
    found = {one.channel: one for one in proposed_map(write_csv(tmp_path / "a.csv", columns)).bindings}

    assert found["stick_pitch"].use.invert


def test_a_switch_that_is_one_in_the_air_is_turned(tmp_path):
    columns = {
        "time": FLIGHT["time"],
        "GS (kt)": FLIGHT["ground_speed"] / KNOT,
        "WOW": 1 - FLIGHT["weight_on_wheels_left"],
    }
    read = read_recording(write_csv(tmp_path / "a.csv", columns))

    assert np.array_equal(read.number("weight_on_wheels_left"), FLIGHT["weight_on_wheels_left"])
    assert np.array_equal(read.number("weight_on_wheels_right"), FLIGHT["weight_on_wheels_left"])


def test_one_engine_has_plain_names_and_two_have_sides(tmp_path):
    both = {
        "time": FLIGHT["time"],
        "Eng0 N2 (%)": FLIGHT["engine_speed_left"],
        "Eng1 N2 (%)": FLIGHT["engine_speed_left"],
    }
    one = {
        "time": FLIGHT["time"],
        "N2 (%)": FLIGHT["engine_speed_left"],
        "speed (kt)": FLIGHT["ground_speed"],
    }

    assert {b.channel for b in proposed_map(write_csv(tmp_path / "a.csv", both)).bindings} == {
        "engine_speed_left",
        "engine_speed_right",
    }
    assert "engine_speed" in {b.channel for b in proposed_map(write_csv(tmp_path / "b.csv", one)).bindings}


def test_magnetic_heading_is_a_guess_that_asks_for_the_variation(tmp_path):
    columns = {
        "time": FLIGHT["time"],
        "Mag Heading (deg)": FLIGHT["true_heading_deg"],
        "Pitch (deg)": FLIGHT["pitch"],
    }
    proposal = proposed_map(write_csv(tmp_path / "a.csv", columns))
    heading = next(one for one in proposal.bindings if one.channel == "true_heading_deg")

    assert heading.sure == "guess"
    assert any("variation" in reason for reason in heading.reasons)


def test_a_file_without_time_asks_for_it_by_naming_its_columns(tmp_path):
    path = write_csv(tmp_path / "a.csv", {"altitude": FLIGHT["altitude"], "pitch": FLIGHT["pitch"]})
    with pytest.raises(InputError, match=r"no column of it looks like the time.*altitude, pitch"):
        proposed_map(path)


def test_the_proposed_text_is_a_map_with_guesses_as_comments(tmp_path):
    proposal = proposed_map(
        dressed(tmp_path, DRESSES["trade units in the names"], **{"Canopy": FLIGHT["bank"] * 70})
    )
    (tmp_path / "map.yaml").write_text(proposal.text(), encoding="utf-8")
    loaded = load_channel_map(tmp_path / "map.yaml")

    assert loaded.model_dump() == proposal.channel_map().model_dump()
    assert isinstance(loaded, ChannelMap)
    assert all(one.channel in loaded.channels for one in proposal.bindings if one.sure != "guess")
    assert all(f"#  {one.channel}: " in proposal.text() for one in proposal.bindings if one.sure == "guess")
