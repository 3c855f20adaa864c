import json
import re
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from sortiewright.air import MetarError, Weather, decode_metar

DATA = Path(__file__).parents[1] / "data" / "external_checks"
# Group K: FMH-1 chapter 12, WMO-No. 306 FM 15, FAA Aeronautical Information Manual; the file names the
# source of each check.
CHECKS = {one["id"]: one for one in json.loads((DATA / "group_k.json").read_text(encoding="utf-8"))["checks"]}
REPORTS = [one["inputs"]["report"] for one in CHECKS.values() if "report" in one["inputs"]]
ATMOSPHERE_CHECKS = {
    one["id"]: one for one in json.loads((DATA / "group_a.json").read_text(encoding="utf-8"))["checks"]
}
FOOT = 0.3048
KNOT = 1852.0 / 3600.0
STATUTE_MILE = 1609.344
INCH_OF_MERCURY = 3386.389
NOW = datetime(2026, 3, 20, 12, tzinfo=UTC)
GOOD = "XQAA 201150Z 24010KT 9999 SCT030 15/08 Q1013"


def decode(report):
    return decode_metar(report, reference_time=NOW)


def in_words(weather: Weather, key: str):
    """The decoded report as the check file words it, in its units."""
    wind = weather.wind
    numbers = {
        "station": lambda: weather.station,
        "day": lambda: weather.time.day,
        "time": lambda: f"{weather.time:%H%M}Z",
        "corrected": lambda: weather.is_corrected,
        "cavok": lambda: weather.is_cavok,
        "wind": lambda: wind_in_words(wind),
        "wind_dir_deg": lambda: wind.direction_from_deg,
        "wind_kt": lambda: wind.speed / KNOT,
        "gust_kt": lambda: wind.gust / KNOT,
        "dir_variable_from": lambda: wind.variable_from_deg,
        "dir_variable_to": lambda: wind.variable_to_deg,
        "visibility_sm": lambda: distance_in_words(
            weather.visibility / STATUTE_MILE, weather.visibility_qualifier
        ),
        "visibility_m": lambda: distance_in_words(weather.visibility, weather.visibility_qualifier),
        "rvr": lambda: [visual_range_in_words(one) for one in weather.runway_visual_ranges],
        "weather": lambda: list(weather.present_weather),
        "clouds": lambda: [cloud_in_words(one) for one in weather.clouds],
        "ceiling_ft": lambda: None if weather.ceiling is None else weather.ceiling / FOOT,
        "vertical_visibility_ft": lambda: weather.vertical_visibility / FOOT,
        "temp_c": lambda: weather.temperature - 273.15,
        "dewpoint_c": lambda: weather.dewpoint - 273.15,
        "temp_c_body": lambda: weather.body_temperature - 273.15,
        "dewpoint_c_body": lambda: weather.body_dewpoint - 273.15,
        "altimeter_inHg": lambda: weather.qnh / INCH_OF_MERCURY,
        "qnh_hPa": lambda: weather.qnh / 100.0,
        "slp_hPa": lambda: weather.sea_level_pressure / 100.0,
        "peak_wind": lambda: (
            f"{weather.peak_wind.direction_from_deg:.0f}/{weather.peak_wind.speed / KNOT:.0f} "
            f"at {weather.peak_wind.time:%H%M}Z"
        ),
        "wind_shift": lambda: f"{weather.wind_shift_time:%H%M}Z",
        "precip_last_hour_in": lambda: weather.precipitation_last_hour / 0.0254,
        "rain_began_min": lambda: minute_in_remarks(weather, "began"),
        "rain_ended_min": lambda: minute_in_remarks(weather, "ended"),
        "trend": lambda: {"NOSIG": "no significant change"}[weather.trend],
    }
    return numbers[key]()


def wind_in_words(wind):
    if wind.speed == 0.0:
        return "calm"
    direction = "variable" if wind.direction_from_deg is None else wind.direction_from_deg
    return f"{direction} {wind.speed / KNOT:.0f} kt"


def distance_in_words(value, qualifier):
    if qualifier is None:
        return value
    return f"less than {value:g}" if qualifier == "less than" else f"{value:g} or more"


def visual_range_in_words(one):
    # American reports are in feet, the others in metres; the check files keep to the report.
    unit, name = (
        (FOOT, "ft") if one.low / FOOT % 100 < 1e-6 or one.low / FOOT % 100 > 100 - 1e-6 else (1.0, "m")
    )
    qualifier = {"less than": "less than ", "or more": "more than ", None: ""}
    low, high = one.low / unit, one.high / unit
    tendency = {"U": ", increasing", "D": ", decreasing", "N": ", no change", None: ""}[one.tendency]
    if low == high:
        return f"{one.runway} {qualifier[one.low_qualifier]}{low:.0f} {name}{tendency}"
    if one.high_qualifier:
        return f"{one.runway} variable from {low:.0f} {name} to more than {high:.0f} {name}{tendency}"
    return f"{one.runway} {low:.0f} to {high:.0f} {name}{tendency}"


def cloud_in_words(one):
    return f"{one.cover} {one.base / FOOT:.0f} ft{f' {one.kind}' if one.kind else ''}"


def minute_in_remarks(weather, word):
    (remark,) = [one for one in weather.report_remarks if one.startswith("rain")]
    return int(re.search(rf"{word} at minute (\d\d)", remark)[1])


@pytest.mark.parametrize("name", [one for one in CHECKS if "report" in CHECKS[one]["inputs"]])
def test_a_sample_report(name):
    check = CHECKS[name]
    weather = decode(check["inputs"]["report"])

    for key, expected in check["expected"].items():
        found = in_words(weather, key)
        if key in check["tol"] and expected is not None:
            assert found == pytest.approx(expected, abs=check["tol"][key]["abs"], rel=0.0), key
        elif key == "rvr" and isinstance(expected, str):
            assert found == [expected], key
        elif key == "weather":
            # The file spells out the moderate intensity, which the code leaves unmarked.
            assert found == [one.removesuffix(", moderate") for one in expected], key
        elif isinstance(expected, int | float) and not isinstance(expected, bool):
            assert found == pytest.approx(expected, abs=1e-6, rel=0.0), key
        else:
            assert found == expected, key


@pytest.mark.parametrize(
    ("group", "words"),
    list(zip(CHECKS["X-K09"]["inputs"]["groups"], CHECKS["X-K09"]["expected"]["decoded"], strict=True)),
)
def test_wind_groups(group, words):
    wind = decode(f"XQAA 201150Z {group} 9999 SCT030 15/08 Q1013").wind

    direction = "variable" if wind.direction_from_deg is None else f"{wind.direction_from_deg:03.0f}"
    text = "calm" if wind.speed == 0.0 else f"{direction} at {wind.speed / KNOT:.0f}"
    text += f" gust {wind.gust / KNOT:.0f}" if wind.gust else ""
    if wind.variable_from_deg is not None:
        text += f", direction varying {wind.variable_from_deg:03.0f} to {wind.variable_to_deg:03.0f}"
    assert text == words


def test_inches_of_mercury():
    check = ATMOSPHERE_CHECKS["X-A17"]
    inches = check["inputs"]["altimeter"]["value"]
    qnh = decode(f"XQAA 201150Z 24010KT 10SM CLR 15/08 A{inches * 100:.0f}").qnh

    for name, found in (("hPa", qnh / 100.0), ("hPa_per_inHg", qnh / 100.0 / inches)):
        assert found == pytest.approx(
            check["expected"][name]["value"], abs=check["tol"][name]["abs"], rel=0.0
        )


# WMO-No. 306, FM 15, regulation 15.5.1 (units KT and MPS); 1 m/s is defined, 1 km/h is 1/3.6 m/s.
@pytest.mark.parametrize(("group", "speed"), [("24010MPS", 10.0), ("24036KMH", 10.0), ("24010KT", 10 * KNOT)])
def test_wind_units(group, speed):
    assert decode(GOOD.replace("24010KT", group)).wind.speed == pytest.approx(speed, rel=1e-12)


def test_a_wind_without_unit_is_refused_rather_than_guessed():
    with pytest.raises(MetarError, match=r"group '24010': the wind has no unit. Write 24010KT, 24010MPS"):
        decode(GOOD.replace("24010KT", "24010"))


def test_the_kind_of_report():
    assert decode("METAR " + GOOD).report_type == "METAR"
    assert decode("SPECI " + GOOD).report_type == "SPECI"
    assert not decode(GOOD).is_automatic
    assert decode("METAR COR " + GOOD).is_corrected
    assert decode(GOOD.replace("201150Z", "201150Z AUTO")).is_automatic
    assert decode(GOOD.replace("201150Z", "201150Z CCA")).is_corrected


def test_case_line_breaks_and_the_closing_sign_do_not_matter():
    same = decode("  metar xqaa 201150z 24010kt\n 9999 sct030\t15/08 q1013=")

    assert (same.wind, same.qnh, same.clouds) == (decode(GOOD).wind, decode(GOOD).qnh, decode(GOOD).clouds)


def test_only_the_first_of_several_reports_is_read():
    weather = decode(GOOD + "= " + GOOD.replace("24010KT", "06020KT"))

    assert weather.wind.direction_from_deg == 240.0
    assert "more text follows the first report and was not read" in map(str, weather.remarks)


def test_a_station_that_sends_nothing():
    weather = decode("METAR XQAA 201150Z NIL=")

    assert weather.is_nil
    assert weather.wind is None
    assert [one.kind for one in weather.remarks] == ["missing"]


def test_values_marked_as_missing_are_none_and_named():
    weather = decode("METAR XQAA 201150Z AUTO /////KT //// // ////// ///// Q////")

    values = (
        weather.wind,
        weather.visibility,
        weather.ceiling,
        weather.temperature,
        weather.dewpoint,
        weather.qnh,
    )
    assert values == (None,) * 6
    assert weather.runway_state_hint is None
    assert {one.about for one in weather.remarks} == {
        "wind",
        "visibility",
        "ceiling",
        "temperature",
        "qnh",
        "present_weather",
    }


@pytest.mark.parametrize(
    ("gone", "about"),
    [
        (" 15/08", "temperature"),
        (" Q1013", "qnh"),
        (" 24010KT", "wind"),
        (" 9999", "visibility"),
        (" SCT030", "ceiling"),
        (" 201150Z", "time"),
        ("XQAA ", "station"),
    ],
)
def test_a_group_that_is_not_there_is_named(gone, about):
    weather = decode(GOOD.replace(gone, ""))

    assert [(one.kind, one.about) for one in weather.remarks] == [("missing", about)]


@pytest.mark.parametrize(
    ("report", "field", "text"),
    [
        (GOOD.replace("Q1013", "Q3005"), "qnh", r"3,005\.0 hPa is not plausible"),
        (GOOD.replace("Q1013", "A1013"), "qnh", r"343\.0 hPa is not plausible"),
        (GOOD.replace("Q1013", "Q1013 A2980"), "qnh", "two altimeter settings"),
        (GOOD.replace("24010KT", "24010G08KT"), "wind", "the gust is not above the mean wind"),
        (GOOD.replace("24010KT", "///10KT"), "wind", "direction not reported: counted as variable"),
        (GOOD.replace("24010KT", "240P99KT"), "wind", "stronger than the figure"),
        (GOOD.replace("15/08", "08/15"), "dewpoint", "the dewpoint is above the temperature"),
        (GOOD.replace("15/08", "70/08"), "temperature", "temperature 70 degC is not plausible"),
        (GOOD + " RMK T00500030", "temperature", "temperature differs between body and remarks"),
        (GOOD.replace("SCT030", "BKN///"), "ceiling", "height of the BKN layer not measured"),
        (GOOD.replace("SCT030", "FG VV///"), "ceiling", "vertical visibility not measured"),
        (GOOD.replace("9999", "4000 1200SW"), "visibility", "a second visibility of 1,200 m to the SW"),
        (GOOD + " R27/451293", "runway_condition", r"R27/451293.* by hand"),
        (GOOD.replace("15/08", "HELLO 15/08"), "report", "groups not read: HELLO"),
        (GOOD + " RMK FOO BAR", "report_remarks", "remarks not decoded: FOO BAR"),
    ],
)
def test_what_is_odd_is_said_in_words(report, field, text):
    remarks = [one for one in decode(report).remarks if one.about == field]

    assert any(re.search(text, str(one)) for one in remarks), remarks


def test_implausible_values_are_left_out():
    weather = decode("XQAA 201150Z 24010G08KT 9999 SCT030 70/08 Q3005")

    assert (weather.qnh, weather.temperature, weather.wind.gust) == (None, None, None)


@pytest.mark.parametrize(
    ("wrong", "group", "hint"),
    [
        (GOOD.replace("15/08", "15/O8"), "15/O8", "Temperature and dewpoint are written 18/16"),
        (GOOD.replace("Q1013", "Q10I3"), "Q10I3", "Altimeter settings are written Q1013 or A2992"),
        (GOOD.replace("24010KT", "24OlOKT"), "24OLOKT", "Wind is written 22015KT"),
        (GOOD.replace("24010KT", "40010KT"), "40010KT", "beyond 360"),
        (GOOD.replace("9999", "9X99"), "9X99", "Visibility is written 9999"),
        (GOOD.replace("9999", "0/0SM"), "0/0SM", "Visibility is written 9999"),
        (GOOD.replace("SCT030", "SCT3000"), "SCT3000", "Clouds are written FEW020"),
        (GOOD.replace("SCT030", "BKN02X"), "BKN02X", "Clouds are written FEW020"),
        (GOOD.replace("201150Z", "321150Z"), "321150Z", "Times are written 091955Z"),
        (GOOD.replace("201150Z", "202450Z"), "202450Z", "Times are written 091955Z"),
        ("good morning", "MORNING", "there is no weather in this report"),
        ("hello world", "HELLO", "it is not a station code"),
        (GOOD.replace("Q1013", "Q\u0661013"), "Q\u0661013", "is not a character of the code"),
        ("METAR", "", "nothing after the report type"),
        ("  \n ", "", "it is empty"),
        ("METAR XQAA 201150Z", "", "there is no weather in this report"),
        (GOOD + " RMK " + "A" * 2_000, "", "are more than 2,000. Give one report at a time"),
    ],
)
def test_a_garbled_report_names_the_group_and_how_to_write_it(wrong, group, hint):
    with pytest.raises(MetarError, match=hint) as caught:
        decode(wrong)

    assert caught.value.group == group
    assert repr(group) in str(caught.value) or not group


# WMO-No. 306, code table 4678, and FMH-1 chapter 12 for the joined forms.
@pytest.mark.parametrize(
    ("group", "words"),
    [
        ("-SN", "light snow"),
        ("+SHRA", "heavy rain showers"),
        ("-TSRA", "thunderstorm with light rain"),
        ("TS", "thunderstorm"),
        ("VCSH", "showers nearby"),
        ("VCTS", "thunderstorm nearby"),
        ("-FZRA", "light freezing rain"),
        ("FZFG", "freezing fog"),
        ("BCFG", "patches of fog"),
        ("BLSN", "blowing snow"),
        ("RASN", "rain and snow"),
        ("+FC", "tornado or waterspout"),
        ("SHGR", "hail showers"),
    ],
)
def test_present_weather_in_words(group, words):
    assert decode(GOOD.replace("9999", f"4000 {group}")).present_weather == (words,)


def test_recent_weather_trend_and_wind_shear():
    weather = decode(GOOD + " RESHRA WS R27L BECMG 3000 -RA BKN010")

    assert weather.recent_weather == ("rain showers",)
    assert weather.wind_shear_runways == ("27L",)
    assert weather.trend == "BECMG 3000 -RA BKN010"
    assert weather.visibility == 10_000.0
    assert weather.ceiling is None


# Common practice, no source: a wet runway in rain, an icy one in snow or where rain freezes; a guess.
@pytest.mark.parametrize(
    ("groups", "temperature", "state"),
    [
        ("9999", "15/08", "dry"),
        ("4000 RA", "15/14", "wet"),
        ("4000 -SN", "M02/M03", "icy"),
        ("4000 -SN", "08/03", "wet"),
        ("4000 -RA", "M01/M02", "icy"),
        ("0400 FZFG", "M04/M04", "icy"),
        ("9999 VCSH", "15/08", "dry"),
        ("3000 BR", "02/01", "dry"),
    ],
)
def test_the_runway_state_is_guessed_from_weather_and_temperature(groups, temperature, state):
    report = GOOD.replace("9999", groups).replace("15/08", temperature)

    assert decode(report).runway_state_hint == state


def test_a_runway_that_was_rained_on_is_guessed_wet():
    assert decode(GOOD + " RERA").runway_state_hint == "wet"
    assert decode(GOOD + " RMK P0008").runway_state_hint == "wet"
    assert decode(GOOD + " RMK P0000").runway_state_hint == "dry"


def test_a_runway_condition_in_the_remarks():
    weather = decode(GOOD + " RMK AO2 LSR08P DRY")

    assert weather.runway_condition.rcr == 8.0
    assert "runway: loose snow, RCR 08 in patches, rest dry" in weather.report_remarks
    assert weather.remarks == ()


def test_metric_fractions_and_limits_of_visibility():
    assert decode(GOOD.replace("9999", "1 3/4SM")).visibility == pytest.approx(1.75 * STATUTE_MILE)
    assert decode(GOOD.replace("9999", "P6SM")).visibility_qualifier == "or more"
    assert decode(GOOD.replace("9999", "M1/4SM")).visibility_qualifier == "less than"
    assert decode(GOOD.replace("9999", "0800")).visibility == 800.0


def test_the_ceiling_is_the_lowest_broken_or_overcast_layer():
    weather = decode(GOOD.replace("SCT030", "FEW005 SCT008 OVC030 BKN020CB"))

    assert weather.ceiling == pytest.approx(2_000 * FOOT)
    assert weather.clouds[-1].kind == "CB"


# A report carries only its day of the month.
@pytest.mark.parametrize(
    ("reference", "group", "expected"),
    [
        (datetime(2026, 3, 1, 0, 30, tzinfo=UTC), "282350Z", datetime(2026, 2, 28, 23, 50, tzinfo=UTC)),
        (datetime(2026, 3, 5, 12, tzinfo=UTC), "312350Z", datetime(2026, 3, 31, 23, 50, tzinfo=UTC)),
        (datetime(2026, 2, 28, 23, tzinfo=UTC), "010020Z", datetime(2026, 3, 1, 0, 20, tzinfo=UTC)),
        (datetime(2026, 1, 1, 1, tzinfo=UTC), "312350Z", datetime(2025, 12, 31, 23, 50, tzinfo=UTC)),
        (datetime(2024, 3, 1, 1, tzinfo=UTC), "292350Z", datetime(2024, 2, 29, 23, 50, tzinfo=UTC)),
    ],
)
def test_a_report_is_put_where_it_comes_nearest_to_the_reference_time(reference, group, expected):
    weather = decode_metar(GOOD.replace("201150Z", group), reference_time=reference)

    assert weather.time == expected


def test_without_a_reference_the_report_lies_near_today():
    now = datetime.now(UTC)
    weather = decode_metar(GOOD.replace("201150Z", f"{now:%d%H%M}Z"))

    assert abs(weather.time - now) < timedelta(minutes=2)


def test_a_reference_without_zone_is_refused():
    with pytest.raises(ValueError, match="has no zone"):
        decode_metar(GOOD, reference_time=datetime(2026, 3, 20))


def survives(report):
    try:
        weather = decode(report)
    except MetarError:
        return
    assert isinstance(weather, Weather)


@given(st.text(max_size=300))
@example("METAR XQAA 201150Z 99099KT 9999 SCT030 15/08 Q1013")
def test_no_text_brings_another_error(report):
    survives(report)


ODD_GROUPS = """
NIL AUTO COR CCA CAVOK RMK NOSIG TEMPO BECMG $ = / // //// ////// Q//// A//// /////KT ///05KT VRB99G99KT
360V010 999V999 R27/CLRD70 R99/999999 SNOCLO WS RWY27 RE RERA REFZRA 0/0SM M/4SM 99999 P99KT -VCTSRA
PK WND 99999/9999 WSHFT 9999 T99999999 SLP SLP999 P9999 LTGICCG LTG TS OHD AND DSNT EW NE-SW 8/6// 4/999
"""
GROUPS = sorted({group for report in [*REPORTS, ODD_GROUPS] for group in report.split()})


@given(st.lists(st.sampled_from(GROUPS), max_size=25).map(" ".join))
def test_no_mixture_of_groups_brings_another_error(report):
    survives(report)


@given(st.sampled_from(REPORTS), st.data())
def test_no_mutated_report_brings_another_error(report, data):
    letters = list(report)
    for _ in range(data.draw(st.integers(1, 5))):
        at = data.draw(st.integers(0, len(letters) - 1))
        new = data.draw(st.sampled_from("0123456789/ABCDEFGKMNOPQRSTVWXYZ+-= "))
        match data.draw(st.sampled_from(["replace", "insert", "delete"])):
            case "replace":
                letters[at] = new
            case "insert":
                letters.insert(at, new)
            case _ if len(letters) > 1:
                del letters[at]
            case _:
                pass
    survives("".join(letters))


# Expressions for places of lightning and storms take exponential time on such text in the decoding library.
@pytest.mark.parametrize("place", ["EW" * 600, "EWEWEWEW AND " * 100, "NE-SW" * 300])
@pytest.mark.parametrize("start", [GOOD + " RMK LTG DSNT ", GOOD + " RMK TS ", GOOD + " TS ", GOOD + " LTG "])
def test_no_text_takes_long(start, place):
    began = time.perf_counter()
    survives((start + place)[:1_999])

    assert time.perf_counter() - began < 2.0
