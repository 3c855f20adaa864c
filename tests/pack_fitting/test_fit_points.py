"""Rows read from CSV, and what is wrong with them, said at their line."""

import pytest

from sortiewright.pack import InputError
from sortiewright.pack_fitting import read_fit_points

HEAD = "row,quantity,value,unit,tolerance,mass,pressure_altitude,temperature,mach,chute\n"
UNITS = ",,,,,lb,ft,degC,,\n"


@pytest.fixture
def read(tmp_path, whinchat):
    """Return a function that reads a text as points of whinchat."""

    def reading(text):
        file = tmp_path / "points.csv"
        file.write_text(text, encoding="utf-8")
        return read_fit_points(file, whinchat.pack)

    return reading


# 1 ft is 0.3048 m and 1 lb 0.45359237 kg exactly: international yard and pound agreement, 1959.
def test_row_is_read_in_its_units(read):
    (row,) = read(HEAD + UNITS + "A1,ground_run,2000,ft,2%,7400,1000,30,,\n")

    assert (row.name, row.line, row.quantity, row.unit) == ("A1", 3, "ground_run", "ft")
    assert row.value == pytest.approx(609.6)
    assert row.sigma == pytest.approx(6.096)  # half of 2 %
    assert row.conditions == pytest.approx(
        {"mass": 7400 * 0.45359237, "pressure_altitude": 304.8, "temperature": 303.15}
    )


def test_comments_and_blank_lines_are_passed_over_and_lines_still_count(read):
    (row,) = read("# chart 3\n\n" + HEAD + UNITS + "\n# page 7\n,stall_speed,80,kt,0.5,6500,,,,\n")

    assert row.line == 7
    assert row.sigma == pytest.approx(0.25 * 1852 / 3600)


GOOD = "A1,ground_run,2000,ft,2%,7400,0,15,,\n"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "points.csv  holds no points. Begin with the names quantity,value,unit,mass"),
        (HEAD, "points.csv:2  the line of units is missing. Put it below the names: ,,,,,lb,ft,degC,,"),
        (HEAD + GOOD, "points.csv:2  the line of units is missing"),
        (HEAD + UNITS, "points.csv:2  there are no points below the line of units"),
        ("quantity,value,unit\n", "points.csv:1  mass: this column is missing"),
        ("quantity,value,unit,mass,wind\n", 'points.csv:1  "wind" is no column of points'),
        ("quantity,value,unit,mass,mass\n", 'points.csv:1  "mass" stands twice'),
        (
            HEAD + ",,,,,lb,bananas,degC,,\n" + GOOD,
            'points.csv:2  pressure_altitude: "bananas" is not a unit',
        ),
        (HEAD + ",,,,,lb,kt,degC,,\n" + GOOD, 'points.csv:2  pressure_altitude: "kt" is not a unit'),
        (HEAD + ",,,,,lb,,degC,,\n" + GOOD, "points.csv:2  pressure_altitude: has no unit"),
        (HEAD + UNITS + GOOD.replace("ground_run", "ground_rum"), 'Did you mean "ground_run"?'),
        (HEAD + UNITS + GOOD.replace("2000", "two"), 'points.csv:3  value: "two" is not a quantity'),
        (HEAD + UNITS + GOOD.replace(",2000,", ",,"), "points.csv:3  value: the value is missing"),
        (HEAD + UNITS + GOOD.replace("2000,ft", "2000,"), 'points.csv:3  value: "2000" has no unit'),
        (HEAD + UNITS + GOOD.replace("2000,ft", "2000,kt"), 'points.csv:3  value: "2000" is not a length'),
        (HEAD + UNITS + GOOD.replace("7400", ""), "points.csv:3  mass: the value is missing"),
        (HEAD + UNITS + GOOD.replace("2000", "2,000"), "points.csv:3  11 cells do not fit the 10 names"),
        (HEAD + UNITS + GOOD.replace("2000", "-2000"), "value and tolerance must be more than nought"),
        (HEAD + UNITS + GOOD.replace("2%", "0%"), "value and tolerance must be more than nought"),
        (HEAD + UNITS + GOOD.replace("2%", "some"), 'points.csv:3  tolerance: "some" is not a number'),
        (HEAD + UNITS + ",fuel_flow,900,lb/h,,6800,15000,,,\n", "mach: the speed is missing"),
        (HEAD + UNITS + ",fuel_flow,900,lb/h,,6800,,,0.4,\n", "pressure_altitude: the value is missing"),
        (HEAD + UNITS + ",time_to_climb,6,min,,6800,0,,,\n", "to_altitude: the value is missing"),
        (HEAD + UNITS + ",landing_roll,2000,ft,,6800,0,15,,yes\n", "asks for a chute, and the pack has none"),
        (HEAD + UNITS + ",landing_roll,2000,ft,,6800,0,15,,maybe\n", '"maybe" is not a chute of the pack'),
    ],
)
def test_fault_is_said_at_its_place(read, text, said):
    with pytest.raises(InputError) as refused:
        read(text)

    assert said in str(refused.value)


def test_every_fault_of_the_rows_is_said_at_once(read):
    with pytest.raises(InputError) as refused:
        read(HEAD + UNITS + "A,run,1,ft,,7400,0,15,,\nB,ground_run,x,ft,,7400,0,15,,\n")

    assert [one.line for one in refused.value.problems] == [3, 4]


def test_two_values_of_one_case_further_apart_than_both_tolerances_contradict(read):
    with pytest.raises(InputError) as refused:
        read(HEAD + UNITS + GOOD + "A2,ground_run,2100,ft,2%,7400,0,15,,\n")

    assert str(refused.value) == (
        "points.csv:4  ground_run: 2100 ft contradicts A1 (ground_run, line 3): 2000 ft in the same "
        "conditions. "
        "One of the two is misread, or a condition is missing"
    )


def test_two_values_of_one_case_within_their_tolerances_are_two_readings(read):
    assert len(read(HEAD + UNITS + GOOD + "A2,ground_run,2070,ft,2%,7400,0,15,,\n")) == 2


# The way in which the points of a calibration are written.
def test_without_a_column_of_units_each_cell_carries_its_own(read):
    (row,) = read("quantity,value,tolerance,mass,temperature\nground_run,2000 ft,40 ft,7400 lb,30 degC\n")

    assert row.unit == "ft"
    assert row.value == pytest.approx(609.6)
    assert row.sigma == pytest.approx(6.096)
    assert row.conditions == pytest.approx({"mass": 7400 * 0.45359237, "temperature": 303.15})


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("ground_run,2000,2%,7400 lb,30 degC", 'points.csv:2  value: "2000" has no unit'),
        ("ground_run,2000 ft,2%,7400,30 degC", 'points.csv:2  mass: "7400" has no unit'),
        (",,,lb,degC", "points.csv:2  quantity: is missing. A line of units wants a column unit too"),
    ],
)
def test_cells_without_unit_are_told_apart_from_a_missing_column(read, row, said):
    with pytest.raises(InputError) as refused:
        read(f"quantity,value,tolerance,mass,temperature\n{row}\n")

    assert said in str(refused.value)
