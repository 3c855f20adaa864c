"""A valid sortie loads as written; a broken one says where, what was read, what was expected, and what to
do."""

import io
import math
import os
import sys
from datetime import date

import pytest

from sortiewright.air import magnetic_variation
from sortiewright.pack import FileError, InputError
from sortiewright.sortie import SortieError, demo_sortie_path, load_sortie, plan, read_sortie

POUND = 0.45359237  # kg, exact
KNOT = 1852 / 3600


def test_a_sortie_loads_into_si(read):
    sortie = read().sortie

    assert sortie.crew["front"].mass == pytest.approx(225 * POUND)
    assert sortie.load.stores["belly"] == ("belly_tank",)
    assert sortie.load.taxi_time == 840
    runway = sortie.aerodrome.runways[0]
    assert (runway.length, runway.true_heading) == pytest.approx((9000 * 0.3048, 258.0))
    assert runway.slope == pytest.approx(0.003)


def test_every_shipped_sortie_loads():
    for path in sorted(demo_sortie_path().parent.glob("*.yaml")):
        assert load_sortie(path).sortie.title, path.name


# What was written, what to write in its place, and the one line that must come of it.
ONE_FAULT = [
    (("squadron:", "squadrun:"), '3  "squadrun" is not a known key. Did you mean "squadron"?'),
    (("callsign: Thistle 21\n", ""), "1  callsign: is missing. Text is wanted"),
    (
        ("taxi_time: 14", "taxi_tine: 14"),
        '17  load: "taxi_tine" is not a known key. Did you mean "taxi_time"?',
    ),
    (
        ("slope: 0.3 %", "slop: 0.3 %"),
        '29  aerodrome.runways[0]: "slop" is not a known key. Did you mean "slope"?',
    ),
    (("mass: 225 lb", "mass: 225 bushels"), '8  crew.front.mass: "225 bushels" is not a mass'),
    (("mass: 225 lb", "mass: 225 ft"), '8  crew.front.mass: "225 ft" is not a mass'),
    (("mass: 225 lb", "mass: 225"), "8  crew.front.mass: 225 has no unit. Write a number and a unit: 225 lb"),
    (
        ("length: 9000 ft\n      slope", "length: 9000\n      slope"),
        "aerodrome.runways[0].length: 9000 has no unit",
    ),
    (("mass: 225 lb", "mass: -225 lb"), '8  crew.front.mass: "-225 lb" must not be negative'),
    (("mass: 225 lb", "mass: 2250 lb"), "8  crew.front.mass: 1021 kg (2250 lb) is more than anyone weighs"),
    (
        ("belly: belly_tank", "belly: bely_tank"),
        '13  load.stores.belly: "bely_tank" is none of the stores of dotterel. Did you mean "belly_tank"?',
    ),
    (
        ("belly: belly_tank", "belly: wing_tank"),
        '13  load.stores.belly: "wing_tank" does not fit on 5 belly. Known stores this station carries: '
        "belly_tank, ",
    ),
    (
        ("belly: belly_tank", "bely: belly_tank"),
        '13  load.stores.bely: "bely" is none of the stations of dotterel. Did you mean "belly"?',
    ),
    (
        ("belly: belly_tank", "belly: [belly_tank, woodpecker_gun_pod]"),
        "13  load.stores.belly: 2043 kg (4503 lb) is more than this station carries: 1451 kg (3200 lb)",
    ),
    (
        ("fuel: {}", "fuel: {tanks: {forward: 4000 lb}}"),
        "11  load.fuel.tanks.forward: 1814 kg (4000 lb) is more than the tank holds: 1520 kg (3350 lb)",
    ),
    (
        ("fuel: {}", "fuel: {tanks: {foward: 400 lb}}"),
        '11  load.fuel.tanks.foward: "foward" is none of the tanks of dotterel. Did you mean "forward"?',
    ),
    (
        ("fuel: {}", "fuel: {total: 15000 lb}"),
        "11  load.fuel.total: 6804 kg (15000 lb) is more than the internal tanks hold together: 5012 kg "
        "(11050 lb)",
    ),
    (
        ("fuel: {}", "fuel: {total: 5000 lb, tanks: {aft: 200 lb}}"),
        "load.fuel.total: total and tanks cannot both be given. Keep one of them",
    ),
    (
        ("fuel: {}", "fuel: {external: {belly: 2700 lb}}"),
        "11  load.fuel.external.belly: 1225 kg (2700 lb) is more than the tank holds: 1185 kg (2613 lb)",
    ),
    (
        ("fuel: {}", "fuel: {external: {left_inboard: 100 lb}}"),
        '11  load.fuel.external.left_inboard: "left_inboard" carries no tank. Hang a tank there under '
        "load.stores",
    ),
    (
        ("taxi_time: 14 min", "taxi_time: 14 h"),
        "17  load.taxi_time: 16511 kg (36400 lb) is more than the usable fuel aboard",
    ),
    (
        ("taxi_time: 14 min", "start_and_taxi_fuel: 14000 lb"),
        "17  load.start_and_taxi_fuel: 6350 kg (14000 lb) is more than the usable fuel aboard",
    ),
    (
        ("landing_fuel: 2600 lb", "landing_fuel: 26000 lb"),
        "18  load.landing_fuel: 11793 kg (26000 lb) is more than is aboard at takeoff",
    ),
    (
        ("landing_fuel: 2600 lb", "landing_fuel: 10 lb"),
        "18  load.landing_fuel: 5 kg (10 lb) is less than the unusable fuel",
    ),
    (
        ("order: [left_inboard, right", "order: [left_outboard, right"),
        '16  load.release_order[0]: "left_outboard" is none of the loaded stations. Did you mean '
        '"left_inboard"',
    ),
    (
        ("order: [left_inboard, right", "order: [right_inboard, right"),
        '16  load.release_order[1]: "right_inboard" stands here twice',
    ),
    (
        ("left_inboard: [triple_rack, plover_bomb]", "left_inboard: linnet_missile"),
        '16  load.release_order[0]: "left_inboard" cannot be released. Linnet captive training missile, ',
    ),
    (
        ('runway: "26"', 'runway: "27"'),
        '37  runway: "27" is none of the runways of Corran Head. Known runways of Corran Head: 26, 08',
    ),
    (
        ("  rear: {name", "  back: {name"),
        '9  crew.back: "back" is none of the seats of dotterel. Known seats of dotterel: front, rear',
    ),
    (("pack: dotterel", "pack: doterel"), '6  pack: "doterel" is no pack. Did you mean "dotterel"?'),
    (("pack: dotterel", 'pack: ""'), '6  pack: "" is no pack. Known packs: dotterel, whinchat'),
    (
        ("      true_heading: 258 deg\n", ""),
        "26  aerodrome.runways[0]: needs true_heading or magnetic_heading, one of the two",
    ),
    (
        ("true_heading: 258 deg", "true_heading: 258 deg\n      magnetic_heading: 260 deg"),
        "aerodrome.runways[0]: needs true_heading or magnetic_heading, one of the two",
    ),
    (
        ("true_heading: 258 deg", "true_heading: 400 deg"),
        "27  aerodrome.runways[0].true_heading: 400 deg must be 0 to 360 deg",
    ),
    (
        ('designator: "08"', 'designator: "88"'),
        'aerodrome.runways[1].designator: "88" is no runway: the designator must be 01 to 36 and ',
    ),
    (('designator: "08"', 'designator: "26"'), '34  aerodrome.runways[1].designator: "26" stands here twice'),
    (
        ("overrun: 900 ft", "overrun: -900 ft"),
        '30  aerodrome.runways[0].overrun: "-900 ft" must not be negative',
    ),
    (
        ("overrun: 900 ft", "displaced_threshold: 9100 ft"),
        "30  aerodrome.runways[0].displaced_threshold: leaves no runway to land on",
    ),
    (
        ("start_offset: 150 ft", "start_offset: 9500 ft"),
        "31  aerodrome.runways[0].start_offset: lies beyond the runway's end",
    ),
    (
        ("length: 9000 ft\n      slope", "length: 9000 km\n      slope"),
        "28  aerodrome.runways[0].length: 9000000.00 m (29527559.1 ft) is longer than any runway",
    ),
    (("slope: 0.3 %", "slope: 30 %"), '29  aerodrome.runways[0].slope: "30 %" must be at most 0.1'),
    (("elevation: 212 ft", "elevation: 212 km"), "elevation: 695538 ft is no elevation of a field"),
    (
        ("date: 2026-05-14", "date: 14.5.2026"),
        '4  date: "14.5.2026" is no day. Write it like this: 2026-05-14',
    ),
    (("date: 2026-05-14", "date: 2026-02-30"), '4  date: "2026-02-30" is no day'),
    (
        ("time: 09:40Z", "time: quarter to ten"),
        '5  time: "quarter to ten" is no time of day. Write it in UTC, like this: 09:40Z',
    ),
    (("time: 09:40Z", "time: 25:40Z"), '5  time: "25:40Z" is no time of day'),
    (
        ("time: 09:40Z", "time: 940"),
        '5  time: 940 does not fit here. Text is wanted, so put it in quotes: "940"',
    ),
    (
        ("28014G22KT", "2801G22KT"),
        '39  weather.metar: group "2801G22KT": it cannot be read, and wind is lacking',
    ),
    (
        ("METAR ZZCH 140920Z 28014G22KT 9999 SCT028 BKN045 16/09 Q1009", "the wind is from the west"),
        "39  weather.metar: ",
    ),
    (("Q1009", "Q1009\n  gust: 5 kt"), "40  weather.gust: 5 kt is below the wind speed of 14 kt"),
    (
        ("Q1009", "Q1009\n  temperature: 80 degC"),
        "40  weather.temperature: 80 degC is no temperature of a field. It is -90 to 65 degC",
    ),
    (
        ("Q1009", "Q1009\n  qnh: 1009 Pa"),
        "40  weather.qnh: 10 hPa is no altimeter setting. It is 800 to 1100 hPa",
    ),
    (
        ("Q1009", "Q1009\n  wind_speed: 900 kt"),
        "40  weather.wind_speed: 463.0 m/s (900.0 kt) is more than any wind",
    ),
    (
        ("Q1009", "Q1009\ntakeoff: {power: maximun}"),
        '40  takeoff.power: "maximun" is none of the settings of dotterel. Did you mean "maximum"?',
    ),
    (
        ("Q1009", "Q1009\ntakeoff: {configuration: take-off}"),
        '40  takeoff.configuration: "take-off" is none of the configurations of dotterel. Did you mean '
        '"takeoff"?',
    ),
    (
        ("Q1009", "Q1009\ntakeoff: {takeoff_attitude: 0.1 deg}"),
        "40  takeoff.takeoff_attitude: 0.1 deg is no attitude to lift off in. The nose is at 0.5 deg on "
        "three wheels",
    ),
    (
        ("Q1009", "Q1009\ntakeoff: {pitch_rate: 0 deg/s}"),
        "40  takeoff.pitch_rate: 0 deg/s is no rate to raise the nose at. It is 0.5 to 20 deg/s",
    ),
    (
        ("Q1009", "Q1009\nlanding: {on_speed_angle_of_attack: 60 deg}"),
        "40  landing.on_speed_angle_of_attack: 60 deg does not carry the aircraft",
    ),
    (
        ("Q1009", 'Q1009\nlanding_place: {runway: "27"}'),
        '40  landing_place.runway: "27" is none of the runways of Corran Head',
    ),
    (
        ("Q1009", "Q1009\nlanding_place: {weather: {metar: METAR ZZCH 14}}"),
        "40  landing_place.weather.metar: ",
    ),
]


@pytest.mark.parametrize(("change", "line"), ONE_FAULT, ids=[line[:40] for _, line in ONE_FAULT])
def test_one_fault_is_one_line_that_says_what_to_mend(faults, change, line):
    found = faults(change)

    assert len(found) == 1
    place, _, said = found[0].partition(":")
    assert place == "today.yaml"
    assert line in found[0]
    assert said.split()[0].isdigit()


# H20 of the trade: a code that is one letter off is told with its neighbours. LSZH and LSZB are Zurich and
# Bern (ICAO Doc 7910, as in the open dataset airportsdata).
def test_an_unknown_aerodrome_is_told_with_its_near_codes(faults):
    found = faults(
        ("icao: ZZCH", "icao: LSZQQ"),
        ("  latitude: 56.214\n  longitude: -5.083\n  elevation: 212 ft\n", ""),
    )

    assert len(found) == 1
    assert found[0].startswith('today.yaml:20  aerodrome.icao: "LSZQQ" is not in the list. Near: ')
    assert found[0].endswith("Write latitude, longitude and elevation beside it")


# ICAO Doc 7910 names EGPK Prestwick; its published position is 55 30 34 N 004 35 40 W and its elevation 65 ft
# (UK AIP AD 2.EGPK, from memory). The dataset is no survey: 2 nautical miles and 10 ft are what it is good
# for here.
def test_an_aerodrome_is_found_by_its_code_alone(read):
    loaded = read(
        ("icao: ZZCH", "icao: EGPK"),
        ("  name: Corran Head\n  latitude: 56.214\n  longitude: -5.083\n  elevation: 212 ft\n", ""),
    )
    made = plan(loaded.sortie, loaded.pack)

    assert made.aerodrome.startswith("Glasgow Prestwick")
    assert made.aerodrome.endswith("EGPK")
    assert made.figure("field", "elevation").value == pytest.approx(65 * 0.3048, abs=10 * 0.3048)


def test_a_field_without_code_and_place_is_refused(faults):
    found = faults(("  icao: ZZCH\n", ""), ("  latitude: 56.214\n", ""))

    assert found == ["today.yaml:19  aerodrome: needs icao, or latitude, longitude and elevation"]


def test_several_faults_are_told_at_once_in_the_order_of_the_file(faults):
    found = faults(
        ("time: 09:40Z", "time: noon"),
        ("  rear: {name", "  back: {name"),
        ("fuel: {}", "fuel: {total: 99000 lb}"),
        ("belly: belly_tank", "belly: bely_tank"),
        ('runway: "26"', 'runway: "27"'),
    )

    lines = [int(one.split(":")[1].split()[0]) for one in found]
    assert lines == [5, 9, 11, 13, 37]


def test_schema_faults_are_told_at_once(faults):
    found = faults(
        ("callsign:", "calsign:"), ("mass: 225 lb", "mass: 225 bushels"), ("slope: 0.3 %", "slope: steep")
    )

    assert len(found) == 4  # the misspelt key is also a missing one


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "this file is empty"),
        ("# nothing\n", "this file is empty"),
        ("just words", "is not a mapping"),
        ("- a\n- b\n", "is not a mapping"),
        ("a: [1, 2\nb: 3\n", "missing"),
        ("title: a\ntitle: b\n", "stands here twice"),
        ("---\ntitle: a\n---\ntitle: b\n", "a second document begins here"),
        ("title: !!python/object:os.system x\n", "is not allowed"),
        ("title: a\0b", "control character"),
        ("a: &a [x, x]\nb: &b [*a, *a]\nc: &c [*b, *b]\n", "is not allowed"),
        ("[" * 3000, "levels inside each other"),
    ],
)
def test_what_is_not_a_sortie_is_refused_in_words(text, said, tmp_path):
    with pytest.raises(InputError) as caught:
        read_sortie(text, "today.yaml", tmp_path)

    assert said in str(caught.value)
    assert str(caught.value).startswith("today.yaml")


# Ten levels of ten aliases each would be 10^10 values; refused at its first anchor, in no time.
def test_a_yaml_bomb_is_refused(tmp_path):
    levels = ["a0: &a0 [lol, lol, lol]"]
    levels += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 10)}]" for n in range(1, 11)]
    path = tmp_path / "bomb.yaml"
    path.write_text("\n".join(levels))

    with pytest.raises(InputError, match='the anchor "&a0" is not allowed'):
        load_sortie(path)


def test_a_file_that_cannot_be_a_sortie_is_refused(tmp_path):
    huge, binary, latin = (tmp_path / name for name in ("huge.yaml", "binary.yaml", "latin.yaml"))
    with huge.open("wb") as file:
        file.truncate(100_000_000)  # sparse: no disc is filled
    binary.write_bytes(bytes(range(256)))
    latin.write_bytes("title: Übung\n".encode("latin-1"))
    for path, said in (
        (tmp_path / "none.yaml", "none.yaml  there is no such file"),
        (tmp_path, f"{tmp_path.name}  this is a folder, a file is wanted"),
        (huge, "huge.yaml  this file is larger than 1 MB"),
        (binary, "binary.yaml:1  this is a binary file, text is wanted"),
        (latin, "latin.yaml:1  byte 7 is not UTF-8 text. Save it as UTF-8"),
        ("a\0b.yaml", "cannot be read"),
        ("x" * 5000, "cannot be read"),
    ):
        with pytest.raises(FileError) as caught:
            load_sortie(path)
        assert said in str(caught.value)


@pytest.mark.skipif(
    sys.platform == "win32" or os.geteuid() == 0, reason="root and Windows may read it all the same"
)
def test_a_file_that_may_not_be_read_is_refused(tmp_path):
    path = tmp_path / "secret.yaml"
    path.write_text("title: a")
    path.chmod(0)

    with pytest.raises(FileError, match="you may not read this file"):
        load_sortie(path)


def test_a_sortie_is_read_from_standard_input(sortie_text, monkeypatch):
    class Input(io.StringIO):
        buffer = io.BytesIO(sortie_text().encode())

    monkeypatch.setattr(sys, "stdin", Input())
    assert load_sortie("-").sortie.callsign == "Thistle 21"

    Input.buffer = io.BytesIO(b"title: \xff")
    with pytest.raises(InputError, match="standard input  byte 7 is not UTF-8 text"):
        load_sortie("-")
    Input.buffer = io.BytesIO(b"x" * 2_000_000)
    with pytest.raises(InputError, match="larger than 1 MB"):
        load_sortie("-")


def test_a_pack_is_found_beside_the_sortie(sortie_text, tmp_path):
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "pack.yaml").write_text("name: mine\n")
    path = tmp_path / "today.yaml"
    path.write_text(sortie_text(("pack: dotterel", "pack: mine")))

    with pytest.raises(InputError, match=r"pack\.yaml"):  # found, and found wanting
        load_sortie(path)


NOT_REPORTED = [
    ("28014G22KT", "/////KT", "no wind", ("ground_run", "decision_speed")),
    ("16/09", "///", "no temperature", ("ground_run", "decision_speed")),
    ("Q1009", "Q////", "no altimeter setting", ("ground_run", "decision_speed")),
]


@pytest.mark.parametrize(("old", "new", "cause", "blank"), NOT_REPORTED)
def test_what_a_report_lacks_blanks_the_numbers_that_need_it(planned, old, new, cause, blank):
    made = planned((old, new))

    assert made.verdict == "no-go"
    assert any(cause in reason.text for reason in made.reasons if reason.severity == "no-go")
    figures = {figure.name: figure for section in made.sections for figure in section.figures}
    for name in blank:
        assert figures[name].value is None
        assert cause in figures[name].problem
    # What does not need it is still there.
    assert figures["takeoff_mass"].value > 0
    assert all(cause in case.problem for case in made.landings)


def test_a_value_written_beside_the_report_replaces_the_reports(read):
    loaded = read(
        ("16/09 Q1009", "16/09 Q1009\n  temperature: 30 degC\n  qnh: 990 hPa\n  wind_from: 270 deg")
    )
    weather = plan(loaded.sortie, loaded.pack).section("weather")

    assert weather.figure("temperature").value == pytest.approx(303.15)
    assert weather.figure("qnh").value == pytest.approx(99000)
    assert weather.figure("wind").text == "270° at 14, gusts 22 kt"


def test_a_wind_speed_written_beside_the_report_comes_without_its_gust(planned):
    made = planned(("Q1009", "Q1009\n  wind_speed: 20 kt"))

    assert made.figure("weather", "wind").text == "280° at 20 kt"


def test_a_wind_direction_needs_a_speed(faults):
    found = faults(
        (
            "metar: METAR ZZCH 140920Z 28014G22KT 9999 SCT028 BKN045 16/09 Q1009",
            "{qnh: 1009 hPa, temperature: 16 degC, wind_from: 280 deg}",
        )
    )

    assert found == ["today.yaml:39  weather.wind_from: needs wind_speed beside it. wind_speed: 12 kt"]


@pytest.mark.parametrize(
    ("time", "said"),
    [
        ("140640Z", "the weather report is 3.0 h older than the takeoff"),
        ("141300Z", "the weather report is 3.3 h later than the takeoff: is the date right?"),
        ("040920Z", "the weather report is 10 days older than the takeoff"),
    ],
)
def test_an_old_report_is_a_caution_beside_the_numbers_that_use_it(planned, time, said):
    made = planned(("140920Z", time))

    assert made.verdict != "go"
    assert said in " ".join(reason.text for reason in made.reasons).lower()
    for name in ("temperature", "qnh", "wind"):
        assert made.figure("weather", name).cautions == (said,)


def test_a_report_just_within_two_hours_is_current(planned):
    made = planned(("140920Z", "140740Z"))

    assert not any("weather report" in reason.text for reason in made.reasons)


def test_the_report_of_another_field_is_remarked(planned):
    assert "Weather report is of EGPK, not of ZZCH" in planned(("METAR ZZCH", "METAR EGPK")).remarks


# The model is WMM2025, valid from 2025 to the end of 2029 (NOAA NCEI).
def test_a_date_outside_the_magnetic_model_is_a_remark(planned):
    made = planned(("date: 2026-05-14", "date: 2019-05-14"))

    assert any(remark.startswith("Magnetic variation is taken as 0") for remark in made.remarks)
    assert made.figure("field", "runway_heading_magnetic").value == pytest.approx(258)
    assert made.figure("takeoff", "ground_run").value > 0


def test_a_magnetic_heading_may_be_given_instead_of_a_true_one(planned):
    made = planned(("true_heading: 258 deg", "magnetic_heading: 260 deg"))
    variation = magnetic_variation(56.214, -5.083, date(2026, 5, 14), 212 * 0.3048)

    assert made.figure("field", "runway_heading_magnetic").value == pytest.approx(260)
    angle = math.radians(280 - (260 + variation))
    assert made.figure("weather", "headwind").value == pytest.approx(14 * KNOT * math.cos(angle))


def test_a_heading_that_is_far_off_its_designator_is_remarked(planned):
    made = planned(("true_heading: 258 deg", "true_heading: 228 deg"))

    assert any("off its designator" in remark for remark in made.remarks)


# plan() may be given a sortie that came from no file: it says the same in one exception.
@pytest.mark.parametrize(
    ("path", "value", "said"),
    [
        ("runway", "27", 'runway: "27" is no runway of this aerodrome'),
        ("aerodrome.latitude", None, 'aerodrome.icao: "ZZCH" is not in the list'),
        ("weather.qnh", 1e3, "weather.qnh: 10 hPa is no altimeter setting"),
        ("weather.gust", 1.0, "weather.gust: 2 kt is below the wind speed of 14 kt"),
        (
            "weather.temperature",
            180.0,
            "weather.temperature: -93 degC is too cold for any altitude to have air so dense",
        ),
        ("date", "tomorrow", "date: is needed for the magnetic variation"),
    ],
)
def test_plan_refuses_a_day_that_cannot_be_worked_out(planned, path, value, said):
    with pytest.raises(SortieError) as caught:
        planned(sortie={path: value})

    assert said in str(caught.value)
    assert caught.value.key


def test_a_landing_place_without_weather_is_remarked(planned):
    made = planned(
        (
            "Q1009",
            "Q1009\nlanding_place:\n  aerodrome:\n    icao: EGPK\n    runways:\n"
            '      - {designator: "12", true_heading: 123 deg, length: 9800 ft}\n  runway: "12"',
        )
    )

    assert any("no weather is given for the landing place" in remark for remark in made.remarks)
    available = made.figure("landing", "landing_distance_available").value
    assert available == pytest.approx(9800 * 0.3048)


def test_a_sortie_goes_through_python_data_unchanged(read):
    sortie = read(
        ("28014G22KT", "28014G22KT"), ("latitude: 56.214", "variation: -2.5 deg\n  latitude: 56.214")
    ).sortie

    assert type(sortie).model_validate(sortie.model_dump()) == sortie
