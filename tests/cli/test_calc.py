"""Hand computations, from the text a crew types to the JSON that comes back, against values from outside."""

import pytest


@pytest.fixture
def result(command):
    def of(*arguments):
        ran = command("calc", *arguments, "--json")
        assert ran.code == 0, ran.err
        return {
            name: one["value"] if isinstance(one, dict) else one for name, one in ran.json["result"].items()
        }

    return of


def value(check, name):
    return check["inputs"][name]["value"]


def approx(check, name):
    tolerance = check["tol"][name]
    expected = check["expected"][name]["value"]
    return pytest.approx(expected, abs=tolerance.get("abs", 0.0), rel=tolerance.get("rel", 0.0))


@pytest.mark.parametrize("name", ["X-A10", "X-A11", "X-A12"])
def test_density_altitude(result, checks, name):
    check = checks[name]
    found = result(
        "density-altitude",
        "--pressure-altitude",
        str(value(check, "pressure_altitude")),
        "--temperature",
        str(value(check, "OAT")),
    )

    assert found["density_altitude"] == approx(check, "density_altitude")
    assert found["density"] == approx(check, "density")
    assert found["density_ratio"] == approx(check, "sigma")
    assert found["rule_of_thumb"] == approx(check, "rule_of_thumb_120ft_per_degC")


@pytest.mark.parametrize("name", ["X-A13", "X-A14", "X-A15", "X-A16"])
def test_pressure_altitude_from_either_scale_of_altimeter_setting(result, checks, name):
    check = checks[name]
    found = result(
        "density-altitude",
        "--elevation",
        str(value(check, "elevation")),
        "--qnh",
        str(value(check, "QNH")),
        "--temperature",
        "15",
    )

    assert found["pressure_altitude"] == approx(check, "pressure_altitude")


def test_station_pressure_is_qfe(result, checks):
    found = result(
        "density-altitude", "--elevation", "1000 ft", "--qnh", "1013.25 hPa", "--temperature=59degF"
    )

    assert found["station_pressure"] == approx(checks["X-A18"], "QFE")


@pytest.mark.parametrize("name", [f"X-B0{number}" for number in range(1, 9)])
def test_airspeeds_from_mach(result, checks, name):
    check = checks[name]
    found = result(
        "airspeed", "--mach", str(value(check, "Mach")), "--altitude", str(value(check, "pressure_altitude"))
    )

    assert found["cas"] == approx(check, "CAS")
    assert found["eas"] == approx(check, "EAS")
    assert found["tas"] == approx(check, "TAS")


@pytest.mark.parametrize("name", ["X-B09", "X-B10", "X-B11"])
def test_airspeeds_from_calibrated(result, checks, name):
    check = checks[name]
    found = result(
        "airspeed",
        "--cas",
        str(value(check, "CAS")),
        "--altitude",
        str(value(check, "pressure_altitude")),
        "--isa-deviation",
        str(value(check, "ISA_deviation")),
    )

    assert found["mach"] == approx(check, "Mach")
    assert found["tas"] == approx(check, "TAS")
    assert found["total_temperature"] == approx(check, "total_temperature")


# Second road: each speed that comes back, put in again, gives the others back.
@pytest.mark.parametrize("kind", ["cas", "eas", "tas", "mach"])
def test_every_airspeed_leads_back_to_the_others(result, kind):
    air = ("--altitude", "31000", "--temperature", "-60")
    first = result("airspeed", "--mach", "0.87", *air)
    again = result("airspeed", f"--{kind}", repr(first[kind]), *air)

    assert again == pytest.approx(first, rel=1e-9)


@pytest.mark.parametrize("name", ["X-C01", "X-C02", "X-C03"])
def test_wind_on_a_runway(result, checks, name):
    check = checks[name]
    inputs = check["inputs"]
    gust = f"G{inputs['gust']['value']:02.0f}" if "gust" in inputs else ""
    heading, direction, speed = (value(check, key) for key in ("runway_heading", "wind_from", "wind_speed"))
    found = result("wind", f"{heading:03.0f}", f"{direction:03.0f}/{speed:02.0f}{gust}")
    tolerance = check["tol"]["headwind"]["abs"]

    assert found["headwind"] == pytest.approx(check["expected"]["headwind"]["value"], abs=tolerance)
    assert found["crosswind"] == approx(check, "crosswind_from_right")
    if gust:
        assert found["headwind_in_gust"] == approx(check, "gust_headwind")
        assert found["crosswind_in_gust"] == approx(check, "gust_crosswind_from_right")


# X-C09: half of the gust over the mean.
def test_gust_increment(result, checks):
    found = result("wind", "18", checks["X-C09"]["inputs"]["wind"])

    assert found["approach_increment"] == approx(checks["X-C09"], "increment")


# Common practice, no source: magnetic and east variation make true, so a wind of 100 true is down a runway
# whose magnetic heading is 097 where variation is 3 E.
def test_variation_brings_runway_and_report_together(result):
    found = result("wind", "097", "100/20", "--variation", "3E")

    assert found["headwind"] == pytest.approx(20.0, rel=1e-12)
    assert found["crosswind"] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("name", ["X-C04", "X-C05", "X-C06"])
def test_wind_triangle(result, checks, name):
    check = checks[name]
    found = result(
        "wind-triangle",
        f"{value(check, 'true_course'):03.0f}",
        str(value(check, "TAS")),
        f"{value(check, 'wind_from'):03.0f}/{value(check, 'wind_speed'):02.0f}",
    )
    right = check["expected"]

    angle, speed = check["tol"]["true_heading"]["abs"], check["tol"]["groundspeed"]["abs"]
    assert found["true_heading"] == pytest.approx(right["true_heading"]["value"], abs=angle)
    assert found["wind_correction_angle"] == approx(check, "wind_correction_angle_right_positive")
    assert found["ground_speed"] == pytest.approx(right["groundspeed"]["value"], abs=speed)


def test_wind_too_strong_for_a_course_is_refused(command, checks):
    wind = f"{value(checks['X-C08'], 'wind_from'):03.0f}/{value(checks['X-C08'], 'wind_speed'):02.0f}"
    ran = command("calc", "wind-triangle", "000", str(value(checks["X-C08"], "TAS")), wind)

    assert ran.code == 2
    assert "no heading holds course 000: at a true airspeed of 60 kt the wind of 80 kt" in ran.err


@pytest.mark.parametrize("name", ["X-D01", "X-D02", "X-D03", "X-D04"])
def test_hydroplaning(result, checks, name):
    check = checks[name]
    found = result("hydroplaning", str(value(check, "tyre_pressure")))

    assert found["rolling"] == approx(check, "rotating_tyre_9")
    assert found["spin_up"] == approx(check, "non_rotating_spin_up_7.7")


def test_hydroplaning_says_which_factor(command, checks):
    found = command("calc", "hydroplaning", "24", "--json").json["result"]["handbook"]["value"]
    shown = command("calc", "hydroplaning", "24").out

    assert found == approx(checks["X-D05"], "onset")
    assert all(factor in shown for factor in ("7.7", "8.6", "9.0"))


@pytest.mark.parametrize("name", ["X-G01", "X-G02"])
def test_turn_at_a_load_factor(result, checks, name):
    check = checks[name]
    found = result("turn", str(value(check, "TAS")), "--load-factor", str(value(check, "n")))

    assert found["bank"] == approx(check, "bank")
    assert found["rate"] == approx(check, "rate")
    assert found["radius"] == approx(check, "radius")


def test_time_of_a_full_circle(result, checks):
    found = result("turn", "200 kt", "--bank", "45 deg")

    assert found["time_of_circle"] == approx(checks["X-G07"], "time")


def test_weight_to_shift(result, checks):
    check = checks["X-I04"]
    stations = ("--from-arm", str(value(check, "from_station")), "--to-arm", str(value(check, "to_station")))
    given = ("--weight", str(value(check, "total")), "--arm", str(value(check, "CG")), *stations)
    found = result("weight-shift", *given, "--wanted-arm", str(value(check, "aft_limit")))
    back = result("weight-shift", *given, "--moved", repr(found["moved"]))

    assert found["moved"] == approx(check, "weight")
    assert back["new_arm"] == pytest.approx(value(check, "aft_limit"), rel=1e-12)


def test_centre_of_gravity_after_a_shift(result, checks):
    check = checks["X-I05"]
    found = result(
        "weight-shift",
        *("--weight", str(value(check, "total")), "--arm", str(check["expected"]["initial_CG"]["value"])),
        *("--from-arm", str(value(check, "from_station")), "--to-arm", str(value(check, "to_station"))),
        *("--moved", str(value(check, "shifted"))),
    )

    assert found["new_arm"] == approx(check, "new_CG")


def test_distance_and_courses(result, checks):
    check = checks["X-J05"]
    (lat_1, lon_1), (lat_2, lon_2) = check["inputs"]["p1"], check["inputs"]["p2"]
    found = result("distance", f"{lat_1},{lon_1}", f"{lat_2},{lon_2}", "--on", "2026-05-14")

    assert found["distance"] == approx(check, "distance")
    assert found["initial_true_course"] == approx(check, "initial_course")
    assert found["final_true_course"] == approx(check, "final_course")


@pytest.mark.parametrize("name", ["X-J06", "X-J07"])
def test_position_from_course_and_distance(result, checks, name):
    check = checks[name]
    lat, lon = check["inputs"]["p1"]
    distance = f"{value(check, 'distance')} nmi"
    found = result("position", f"{lat},{lon}", str(value(check, "true_bearing")), distance)

    assert found["latitude"] == approx(check, "lat")
    assert found["longitude"] == approx(check, "lon")


# X-J12: official test value of the magnetic model for 2026.0.
def test_magnetic_variation(result, checks):
    check = checks["X-J12"]
    place = f"{value(check, 'lat')},{value(check, 'lon')}"
    found = result("variation", place, "--on", "2026-01-01", "--altitude", f"{value(check, 'height')} km")

    assert found["variation"] == approx(check, "declination")
    assert found["dip"] == approx(check, "inclination")
    assert found["horizontal"] == approx(check, "H")


# X-J15: magnetic is true less east variation.
def test_magnetic_course_is_true_less_east_variation(command):
    place = ("33N 145W", "34N 144W", "--on", "2026-07-02", "--json")
    found = command("calc", "distance", *place).json["result"]
    true, magnetic, east = (
        found[name]["value"] for name in ("initial_true_course", "initial_magnetic_course", "variation")
    )

    assert magnetic == pytest.approx(true - east, abs=1e-9)


@pytest.mark.parametrize("name", ["X-J16", "X-J17", "X-J18", "X-J19"])
def test_sun(result, checks, name):
    check = checks[name]
    inputs = check["inputs"]
    place = f"{value(check, 'lat')},{value(check, 'lon')}"
    found = result("sun", place, "--on", inputs["local_date"])

    for event, expected in check["expected"].items():
        if expected.startswith("none"):
            assert found[event] is None
        else:  # the source is good to a minute
            assert abs(seconds(found[event]) - seconds(expected)) <= 60


def seconds(text):
    from datetime import datetime

    return datetime.fromisoformat(text.replace("Z", "+00:00")).timestamp()


# The western day's sunset falls on the next UTC day (X-J16).
def test_sun_on_the_next_day_says_so(command):
    shown = command("calc", "sun", "36.236,-115.034", "--on", "2026-06-21").out

    assert "Sunset      03:01Z on the next day" in shown


# WMO-No. 306, FM 15: the groups of a report in their plain meaning.
def test_report_in_plain_words(command):
    report = "METAR XQBF 141200Z 24015G25KT 210V270 3000 -RA BKN008 OVC020CB 09/08 Q0998"
    shown = command("calc", "metar", report).out

    for line in (
        "Wind               from 240° true at 15 kt, gusting 25 kt, direction between",
        "Visibility         3 000 m",
        "Weather            light rain",
        "Sky                broken at 800 ft; overcast at 2 000 ft (cumulonimbus)",
        "Ceiling            800 ft",
        "Altimeter setting  998 hPa (29.47 inHg)",
        "Runway             probably wet (a guess from the weather, not a report)",
    ):
        assert line in shown


def test_report_says_what_is_missing(command):
    ran = command("calc", "metar", "METAR XQBF 141200Z 24015KT //// BKN030 Q1009")

    assert ran.code == 0
    assert "Missing: no temperature group in the report" in ran.out
    assert "Missing: the station reports its visibility as missing" in ran.out


def test_report_from_standard_input_and_from_bare_words(command, monkeypatch):
    import io

    words = "METAR XQBF 141200Z 24015KT 9999 -RA BKN030 22/12 Q1009"
    monkeypatch.setattr("sys.stdin", io.StringIO(words + "\n"))
    piped = command("calc", "metar", "-", "--json").json
    typed = command("calc", "metar", *words.split(), "--json").json

    assert piped == typed
    assert typed["present_weather"] == ["light rain"]


def test_units_of_the_answer_follow_the_choice(command):
    arguments = ("calc", "turn", "450", "--load-factor", "5")
    trade = command(*arguments, "--json").json["result"]["radius"]
    si = command(*arguments, "--json", "--units", "si").json["result"]["radius"]

    assert (trade["unit"], si["unit"]) == ("ft", "m")
    assert si["value"] == pytest.approx(trade["value"] * 0.3048, rel=1e-12)
    assert " m" in command(*arguments, "--units", "si").out


def test_best_climb_and_the_steps_to_fly_it(command):
    ran = command(
        *("calc", "climb", "dotterel", "--weight", "38000", "--start", "1500", "--start-cas", "290"),
        *("--to", "36000", "--mach", "0.86", "--best", "time", "--json"),
    )
    found = ran.json["result"]
    steps = [words for name, words in found.items() if name.startswith("step_")]

    assert ran.code == 0, ran.err
    assert found["best_time"]["value"] < found["flyable_time"]["value"]
    assert found["flyable_time"]["value"] <= 1.03 * found["best_time"]["value"]
    assert steps[0].startswith("level to ")
    assert steps[1].startswith("climb at ")
    assert steps[2].startswith("pull up at 2.5 g to ")
    assert steps[3].startswith("hold that path to ")
    assert steps[4] == "push over at 0.0 g to level"


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--to", "40000"), "--best needs --mach"),
        (("--to", "40000", "--mach", "0.9", "--cas", "350"), "give no --cas"),
        (("--to", "40000", "--mach", "1.6"), "does not climb there"),
    ],
)
def test_best_climb_that_cannot_be_is_refused_in_words(command, options, words):
    ran = command("calc", "climb", "dotterel", "--weight", "38000", "--best", "time", *options)

    assert ran.code == 2
    assert words in ran.err
    assert "Traceback" not in ran.err
