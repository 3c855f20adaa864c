"""What is wrong with samples is found and said; what is right raises nothing."""

import numpy as np
import pytest
from sampled_flight import FOOT, KNOT, flight, write_parquet

from sortiewright.recording import ChannelMap, read_recording

RATE = 20.0
FLIGHT = flight(rate=RATE)
ROWS = len(FLIGHT["time"])


def read(tmp_path, columns, chosen=None):
    return read_recording(write_parquet(tmp_path / "flight.parquet", columns), chosen)


def kinds(recording):
    return sorted({(one.kind, one.channel) for one in recording.defects})


def rows(columns, index):
    return {name: values[index] for name, values in columns.items()}


def changed(name, index, values):
    whole = FLIGHT[name].copy()
    whole[index] = values
    return {**FLIGHT, name: whole}


@pytest.mark.parametrize("noise", [0.0, 1.0, 5.0])
@pytest.mark.parametrize("rate", [4.0, 20.0, 60.0])
@pytest.mark.parametrize("wind", [(0.0, 0.0), (-12.0, 9.0)])
def test_a_clean_flight_has_no_defects(tmp_path, noise, rate, wind):
    clean = flight(rate=rate, noise=noise, wind_north=wind[0], wind_east=wind[1])

    assert kinds(read(tmp_path, clean)) == []


def test_a_coarse_recording_of_a_clean_flight_has_no_defects(tmp_path):
    coarse = {
        **FLIGHT,
        "altitude": np.round(FLIGHT["altitude"] / FOOT) * FOOT,
        "calibrated_airspeed": np.round(FLIGHT["calibrated_airspeed"] / KNOT) * KNOT,
        "pitch": np.round(FLIGHT["pitch"], 2),
        "latitude_deg": np.round(FLIGHT["latitude_deg"], 5),
        "longitude_deg": np.round(FLIGHT["longitude_deg"], 5),
    }

    assert kinds(read(tmp_path, coarse)) == []


def test_a_gap_is_reported_with_its_place_and_breaks_the_samples(tmp_path):
    found = read(tmp_path, rows(FLIGHT, np.r_[0:5000, 5100:ROWS]))

    assert kinds(found) == [("gap", "")]
    assert found.breaks.tolist() == [5000]
    assert (found.defects[0].begin, found.defects[0].end) == pytest.approx((249.95, 255.0))


@pytest.mark.parametrize("lost", [1, 2, 3])
def test_a_lost_sample_or_two_is_no_gap(tmp_path, lost):
    assert kinds(read(tmp_path, rows(FLIGHT, np.r_[0:5000, 5000 + lost : ROWS]))) == []


def test_repeated_rows_are_dropped_and_counted(tmp_path):
    found = read(tmp_path, rows(FLIGHT, np.sort(np.r_[0:ROWS, 100:150, 6000:6003])))

    assert found.rows == ROWS
    assert [(one.kind, one.count) for one in found.defects] == [("repeated", 53)]
    assert np.allclose(found.number("altitude"), FLIGHT["altitude"])


def test_a_block_that_was_sent_twice_is_dropped(tmp_path):
    found = read(tmp_path, rows(FLIGHT, np.r_[0:6000, 5900:ROWS]))

    assert found.rows == ROWS
    assert ("repeated", "") in kinds(found)
    assert not any(one.kind == "time_jump" for one in found.defects)


def test_rows_out_of_order_are_sorted_and_counted(tmp_path):
    order = np.arange(ROWS)
    order[[1000, 1001, 1002]] = [1002, 1000, 1001]
    order[[7000, 7003]] = order[[7003, 7000]]
    found = read(tmp_path, rows(FLIGHT, order))

    assert np.allclose(found.number("altitude"), FLIGHT["altitude"])
    assert kinds(found) == [("out_of_order", "")]
    assert len(found.breaks) == 0


def test_blocks_written_in_the_wrong_order_are_put_right(tmp_path):
    found = read(tmp_path, rows(FLIGHT, np.r_[6000:ROWS, 0:6000]))

    assert np.allclose(found.time, FLIGHT["time"])
    assert ("out_of_order", "") in kinds(found)


def test_a_clock_that_is_set_back_goes_on_and_breaks_the_samples(tmp_path):
    # A simulation loaded again: rows 3000 to 5000 were flown, thrown away and flown anew on another course.
    later = {name: values[3000:].copy() for name, values in FLIGHT.items()}
    later["latitude_deg"] -= 0.02
    columns = {name: np.concatenate([values[:5000], later[name]]) for name, values in FLIGHT.items()}
    found = read(tmp_path, columns)
    jump = next(one for one in found.defects if one.kind == "time_jump")

    assert found.rows == 5000 + ROWS - 3000
    assert jump.begin == pytest.approx(249.95)
    assert "goes back 99.95 s" in jump.text
    assert found.breaks.tolist() == [5000]


def test_a_change_of_rate_is_reported_where_it_happens(tmp_path):
    found = read(tmp_path, rows(FLIGHT, np.r_[0:5000, 5000:ROWS:4]))
    change = [one for one in found.defects if one.kind == "rate_change"]

    assert len(change) == 1
    assert change[0].begin == pytest.approx(250.0, abs=3.0)
    assert "5 a second from here, 20 before" in change[0].text
    assert not any(one.kind == "gap" for one in found.defects)


def test_a_pause_in_which_the_clock_ran_on_is_told_from_a_gap(tmp_path):
    later = {name: values[5000:].copy() for name, values in FLIGHT.items()}
    later["time"] += 42.0
    columns = {name: np.concatenate([values[:5000], later[name]]) for name, values in FLIGHT.items()}
    found = read(tmp_path, columns)

    assert kinds(found) == [("paused", "")]
    assert "42.0 s" in found.defects[0].text or "42.1 s" in found.defects[0].text
    assert found.breaks.tolist() == [5000]


def test_a_pause_in_which_samples_went_on_is_found_and_marked(tmp_path):
    index = np.r_[0:5000, np.full(300, 5000), 5000:ROWS]
    columns = rows(FLIGHT, index)
    columns["time"] = np.arange(len(index)) / RATE
    found = read(tmp_path, columns)
    pause = next(one for one in found.defects if one.kind == "paused")

    assert (pause.begin, pause.end) == pytest.approx((250.0, 265.0), abs=0.11)
    assert found.number("simulation_paused").sum() == pytest.approx(300, abs=2)
    assert len(found.breaks) == 2
    assert "simulation_paused" in found.derived


def test_an_aircraft_that_stands_is_not_paused(tmp_path):
    still = rows(FLIGHT, np.full(2000, 0))
    still["time"] = np.arange(2000) / RATE

    assert kinds(read(tmp_path, still)) == []


def test_an_aircraft_set_elsewhere_is_a_jump(tmp_path):
    columns = {**FLIGHT, "latitude_deg": FLIGHT["latitude_deg"] + np.where(FLIGHT["time"] >= 300.0, 0.5, 0.0)}
    found = read(tmp_path, columns)

    assert ("time_jump", "") in kinds(found)
    assert found.breaks.tolist() == [6000]


@pytest.mark.parametrize("factor", [2.0, 4.0, 0.5])
def test_an_accelerated_simulation_is_found_by_its_position(tmp_path, factor):
    # Time compression: the aircraft flies on at its speed while the clock of the rows runs slower or faster.
    time = FLIGHT["time"].copy()
    stretch = (time >= 240.0) & (time < 320.0)
    steps = np.diff(time, prepend=-1 / RATE) / np.where(stretch, factor, 1.0)
    found = read(tmp_path, {**FLIGHT, "time": np.cumsum(steps)})
    fast = [one for one in found.defects if one.kind == "accelerated"]

    assert fast
    assert fast[0].begin == pytest.approx(240.0, abs=11.0)
    assert f"{factor:.1f} times" in fast[0].text


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("altitude", 9000.0),
        ("altitude", 0.0),
        ("calibrated_airspeed", 400.0),
        ("latitude_deg", 0.0),
        ("pitch", 1.2),
    ],
)
@pytest.mark.parametrize("width", [1, 2, 3])
def test_a_spike_is_taken_as_missing_and_said(tmp_path, name, value, width):
    found = read(tmp_path, changed(name, slice(6000, 6000 + width), value))
    spike = next(one for one in found.defects if one.kind == "spike")

    assert (spike.channel, spike.count) == (name, width)
    assert spike.begin == pytest.approx(300.0)
    assert np.flatnonzero(np.isnan(found.number(name))).tolist() == list(range(6000, 6000 + width))
    assert len(found.breaks) == 0


def test_a_hard_landing_is_no_spike(tmp_path):
    found = read(tmp_path, changed("load_factor_normal", slice(10510, 10513), [2.6, 3.4, 1.9]))

    assert kinds(found) == []


@pytest.mark.parametrize(
    ("name", "begin"), [("altitude", 3200), ("calibrated_airspeed", 2500), ("pitch", 3950), ("bank", 4080),
                        ("true_heading_deg", 4150), ("ground_speed", 2500)]
)  # fmt: skip
def test_a_channel_that_freezes_is_found(tmp_path, name, begin):
    found = read(tmp_path, changed(name, slice(begin, begin + 240), FLIGHT[name][begin]))
    frozen = [one for one in found.defects if one.kind == "frozen"]

    assert [one.channel for one in frozen] == [name]
    assert frozen[0].begin == pytest.approx(begin / RATE, abs=0.06)
    assert frozen[0].end == pytest.approx((begin + 240) / RATE, abs=0.11)


def test_a_channel_that_never_moves_is_named(tmp_path):
    found = read(tmp_path, {**FLIGHT, "angle_of_attack": np.full(ROWS, 0.1)})

    assert ("frozen", "angle_of_attack") in kinds(found)


def test_missing_values_are_counted_by_channel(tmp_path):
    found = read(tmp_path, changed("pitch", slice(100, 200), np.nan))
    missing = next(one for one in found.defects if one.kind == "missing")

    assert (missing.channel, missing.count, missing.begin) == ("pitch", 100, pytest.approx(5.0))


def test_rows_without_a_time_are_left_out_and_counted(tmp_path):
    found = read(tmp_path, changed("time", slice(100, 110), np.nan))

    assert found.rows == ROWS - 10
    assert any("10 rows have no time" in one.text for one in found.defects)


def test_values_far_from_usual_are_said(tmp_path):
    found = read(tmp_path, {**FLIGHT, "load_factor_normal": FLIGHT["load_factor_normal"] * 9.0})

    assert any(one.kind == "outside_range" and one.channel == "load_factor_normal" for one in found.defects)


def mapped(units, factors):
    """Return columns that hold ``factors`` times SI, and a map that calls them ``units``."""
    columns = {name: FLIGHT[name] * factors.get(name, 1.0) for name in FLIGHT}
    uses = {name: {"column": name, "unit": units.get(name)} for name in FLIGHT if name != "time"}
    return columns, ChannelMap.model_validate({"time": "time", "channels": uses})


DEGREES = 180.0 / np.pi
MISTAKES = {
    "metres said to be feet": ("altitude", "ft", 1.0, "m read as ft"),
    "feet said to be metres": ("altitude", "m", 1 / FOOT, "ft read as m"),
    "knots said to be m/s": ("ground_speed", "m/s", 1 / KNOT, "kt read as m/s"),
    "m/s said to be knots": ("true_airspeed", "kt", 1.0, "m/s read as kt"),
    "km/h said to be knots": ("calibrated_airspeed", "kt", 3.6, "km/h read as kt"),
    "degrees said to be radians": ("pitch", "rad", DEGREES, "deg read as rad"),
    "radians said to be degrees": ("bank", "deg", 1.0, "rad read as deg"),
    "feet a second said to be feet a minute": ("vertical_speed", "ft/min", 1 / FOOT, "ft/s read as ft/min"),
    "pounds said to be kilograms": ("fuel_mass", "kg", 1 / 0.45359237, "lb read as kg"),
    "sink positive": ("vertical_speed", "m/s", -1.0, "the other way round"),
    "height in feet said to be metres": ("height_above_ground", "m", 1 / FOOT, "ft read as m"),
    "nose down positive": ("pitch_rate", "rad/s", -1.0, "the other way round"),
}


# The sizes of the units are those of NIST SP 811 (2008), appendix B.8.
@pytest.mark.parametrize(("name", "unit", "factor", "said"), MISTAKES.values(), ids=MISTAKES)
def test_a_unit_said_wrongly_is_noticed_and_the_right_one_named(tmp_path, name, unit, factor, said):
    columns, chosen = mapped({name: unit}, {name: factor})
    found = read(tmp_path, columns, chosen)
    doubts = [one for one in found.defects if one.kind == "unit_doubt"]

    assert [one.channel for one in doubts] == [name]
    assert said in doubts[0].text


def test_altitudes_all_in_metres_and_said_to_be_feet_are_noticed(tmp_path):
    three = dict.fromkeys(("altitude", "height_above_ground", "pressure_altitude"), "ft")
    columns, chosen = mapped(three, {})
    found = read(tmp_path, columns, chosen)

    assert {one.channel for one in found.defects if one.kind == "unit_doubt"} & {*three, "vertical_speed"}


def test_no_break_is_interpolated_over_by_what_is_worked_out(tmp_path):
    without = {name: values for name, values in FLIGHT.items() if name != "vertical_speed"}
    columns = rows(without, np.r_[0:3000, 3400:ROWS])
    columns["altitude"] = columns["altitude"] + np.where(np.arange(ROWS - 400) >= 3000, 1000.0, 0.0)
    found = read(tmp_path, columns)

    assert np.nanmax(np.abs(found.number("vertical_speed"))) < 40.0
