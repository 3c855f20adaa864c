"""Each reason against a flight: a day that brings it, and one beside it that does not."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sortiewright.pack import load_pack, make_table
from sortiewright.sortie import load_sortie, plan, read_sortie
from sortiewright.sortie.load import SORTIES

FOOT, POUND, KNOT, GRAVITY = 0.3048, 0.45359237, 1852 / 3600, 9.80665
FOOT_POUND = FOOT * POUND * GRAVITY


@pytest.fixture(scope="module")
def pack():
    return load_pack("dotterel").pack


def severities(made, figure, words=""):
    """Return how grave the reasons about a figure are."""
    return [str(one.severity) for one in made.reasons if one.figure == figure and words in one.text]


def runway(feet):
    return ("length: 9000 ft\n      slope", f"length: {feet} ft\n      slope")


def crosswind(knots):
    """Return a wind straight across runway 26 (258 true), from the right."""
    return ("28014G22KT", f"348{knots:02d}KT")


def without_chute_limit(pack):
    return {
        "limits.crosswind_chute": None,
        "wheels.chute": pack.wheels.chute.model_copy(update={"maximum_crosswind": None}),
    }


def test_a_day_without_reasons_is_a_go(planned):
    made = planned()

    assert made.reasons == ()
    assert made.verdict == "go"


# A limit is broken above it, not at it: the same value as limit, and a hair less.
@pytest.mark.parametrize("figure", ["ramp_mass", "takeoff_mass", "landing_mass"])
def test_mass_limits(planned, figure):
    mass = planned().figure("loading", figure).value
    limit = f"mass.maximum_{figure}"

    assert severities(planned(pack={limit: mass}), figure) == []
    assert severities(planned(pack={limit: mass * (1 - 1e-6)}), figure) == ["no-go"]


@pytest.mark.parametrize("side", ["forward", "aft"])
def test_the_envelope(planned, pack, side):
    share = planned().figure("loading", "centre_of_gravity_takeoff").value
    room = 0.001
    move = -(share - 0.255) - room if side == "forward" else (0.34 - share) + room

    def moved(by):
        basic = pack.mass.basic_arm + by * pack.airframe.mean_chord * (
            planned().figure("loading", "takeoff_mass").value / pack.mass.basic_mass
        )
        return planned(pack={"mass.basic_arm": basic})

    out = moved(move)
    assert severities(out, "centre_of_gravity_takeoff", side) == ["no-go"]
    assert any(not point.inside for point in out.balance)


def test_the_worst_step_of_the_burn_is_named(planned, pack):
    arm = pack.mass.basic_arm + 0.05 * pack.airframe.mean_chord
    made = planned(pack={"mass.basic_arm": arm})
    reason = next(one for one in made.reasons if one.figure == "centre_of_gravity_takeoff")
    worst = min(made.balance, key=lambda point: min(point.aft_limit - point.centre_of_gravity, 1))

    assert reason.value == pytest.approx(worst.centre_of_gravity)
    assert (
        "released" in reason.text
        or "empty" in reason.text
        or "on the way" in reason.text
        or "takeoff" in reason.text
    )


def test_trim_out_of_range(planned, pack):
    trim = planned().figure("loading", "trim").value

    def ranged(low, high):
        return planned(pack={"aero.pitch_control.trim_units_range": (low, high)})

    assert severities(ranged(trim - 0.01, trim + 0.01), "trim") == []
    assert severities(ranged(trim + 0.01, trim + 1), "trim") == ["no-go"]
    assert severities(ranged(trim - 1, trim - 0.01), "trim") == ["no-go"]
    assert ranged(trim + 0.01, trim + 1).figure("loading", "trim").cautions


def test_tyre_speed_at_lift_off(planned, pack):
    margin = planned().figure("takeoff", "tyre_speed_margin").value
    limit = pack.wheels.tyre_speed_limit

    def rated(by):
        return severities(
            planned(pack={"wheels.tyre_speed_limit": limit - margin + by}), "tyre_speed_margin", "lift-off"
        )

    assert rated(0.1) == []
    assert rated(-0.1) == ["no-go"]


def test_tyre_speed_at_touchdown(planned, pack):
    made = planned()
    limit = pack.wheels.tyre_speed_limit - made.figure("landing", "tyre_speed_margin").value

    def rated(by):
        changed = planned(pack={"wheels.tyre_speed_limit": limit + by})
        return severities(changed, "tyre_speed_margin", "Touchdown")

    assert rated(0.1) == []
    assert rated(-0.1) == ["no-go"]


# The pack's limit over RCR is interpolated; dry (23) is a row of the table.
@pytest.mark.parametrize("where", ["takeoff", "landing"])
def test_crosswind_limits(planned, pack, where):
    table = getattr(pack.limits, f"crosswind_{where}").value
    limit = round(float(table(23.0)) / KNOT)
    words = f"for {where}"

    assert severities(planned(crosswind(limit)), "crosswind", words) == []
    assert severities(planned(crosswind(limit + 1)), "crosswind", words) == ["no-go"]
    # The gust counts, and a wet runway bears less.
    gusty = ("28014G22KT", f"34805G{limit + 1}KT")
    assert severities(planned(gusty), "crosswind", words) == ["no-go"]
    wet = ("overrun: 900 ft", "condition: wet")
    assert severities(planned(crosswind(limit), wet), "crosswind", words) == ["no-go"]


def test_a_reading_outside_the_crosswind_table_is_not_evaluated(planned, pack):
    low = pack.limits.crosswind_takeoff.value.range_of("runway_condition_reading")[0]
    made = planned(("overrun: 900 ft", f"runway_condition_reading: {low - 1:g}"))

    assert severities(made, "crosswind", "not evaluated") == ["caution", "caution"]
    assert made.verdict == "no-go"  # the brakes have no table there either
    assert made.figure("takeoff", "ground_run").value is None
    assert "runway_condition_reading" in made.figure("takeoff", "ground_run").problem


def test_tailwind_limit(planned, pack):
    limit = round(pack.limits.tailwind.value / KNOT)
    tail = [("28014G22KT", f"078{knots:02d}KT") for knots in (limit, limit + 1)]

    assert severities(planned(tail[0]), "tailwind") == []
    assert severities(planned(tail[1]), "tailwind") == ["no-go", "no-go"]  # takeoff and landing


# The chute weathercocks: over its crosswind the day is planned without it, and says so.
def test_chute_crosswind(planned, pack):
    limit = round(pack.limits.crosswind_chute.value / KNOT)
    with_chute, without = planned(crosswind(limit)), planned(crosswind(limit + 1))

    assert severities(with_chute, "crosswind", "chute") == []
    assert severities(without, "crosswind", "stop and landing are planned without it") == ["caution"]
    cases = {case.name: case for case in without.landings}
    assert without.figure("landing", "landing_distance").value == pytest.approx(cases["today"].total)
    assert not cases["immediate_return"].chute
    cases = {case.name: case for case in with_chute.landings}
    assert with_chute.figure("landing", "landing_distance").value == pytest.approx(cases["today_chute"].total)
    stop = "accelerate_stop_at_decision"
    longer = without.figure("engine_failure", stop).value - with_chute.figure("engine_failure", stop).value
    assert longer > 10
    assert ("chute out", pack.technique.takeoff.rejected.chute_commanded) in with_chute.extra[
        "reject_timeline"
    ]
    assert len(without.extra["reject_timeline"]) == 2


def test_a_chute_that_is_not_used_is_no_reason(planned, pack):
    over = round(pack.limits.crosswind_chute.value / KNOT) + 2
    unused = (
        "Q1009",
        "Q1009\ntakeoff: {rejected_with_chute: false}\nlanding: {with_chute: false}",
    )
    one = ("Q1009", "Q1009\ntakeoff: {rejected_with_chute: false}")

    assert severities(planned(crosswind(over), unused), "crosswind", "chute") == []
    assert severities(planned(crosswind(over), one), "crosswind", "landing is planned without it") == [
        "caution"
    ]


def test_the_chutes_own_limit_counts_where_the_limits_name_none(planned, pack):
    over = round(pack.wheels.chute.maximum_crosswind / KNOT) + 1

    assert severities(
        planned(crosswind(over), pack={"limits.crosswind_chute": None}), "crosswind", "chute"
    ) == ["caution"]
    assert severities(planned(crosswind(over), pack=without_chute_limit(pack)), "crosswind", "chute") == []


# One bomb of the left side alone: weight times side arm, against the pack's limit at takeoff.
def test_uneven_load_at_takeoff(planned, pack):
    change = (
        ("    right_inboard: [triple_rack, plover_bomb]\n", ""),
        ("[left_inboard, right_inboard]", "[left_inboard]"),
    )
    made = planned(*change)
    station = pack.mass.stations["left_inboard"]
    moment = (
        sum(pack.stores[name].mass for name in ("triple_rack", "plover_bomb")) * station.side_arm * GRAVITY
    )

    assert made.figure("loading", "side_moment_takeoff").value == pytest.approx(moment)
    limit = pack.limits.asymmetric_moment_takeoff
    for share, expected in ((1.001, []), (0.999, ["no-go"])):
        changed = limit.model_copy(update={"value": abs(moment) * share})
        with_limit = planned(*change, pack={"limits.asymmetric_moment_takeoff": changed})
        assert severities(with_limit, "side_moment_takeoff") == expected


def test_uneven_load_while_stores_are_released(planned, pack):
    limit = pack.limits.asymmetric_moment_landing
    step = next(point for point in planned().balance if "released" in point.title)
    for share, expected in ((1.001, []), (0.999, ["caution"])):
        changed = limit.model_copy(update={"value": abs(step.side_moment) * share})
        made = planned(pack={"limits.asymmetric_moment_landing": changed})
        assert severities(made, "side_moment_landing", "released") == expected


@pytest.mark.parametrize(("severity", "expected"), [("caution", "caution"), ("no-go", "caution")])
def test_brake_zone_of_the_stop(planned, pack, severity, expected):
    energy = planned().figure("engine_failure", "brake_energy_at_decision").value
    zone = pack.wheels.energy_zones[1].model_copy(update={"severity": severity})

    def zoned(share):
        above = zone.model_copy(update={"above": energy * share})
        return planned(pack={"wheels.energy_zones": (pack.wheels.energy_zones[0], above)})

    assert severities(zoned(1.001), "brake_energy_at_decision") == []
    found = zoned(0.9)
    if severity == "caution":
        assert severities(found, "brake_energy_at_decision") == [expected]
    else:
        # A no-go zone bounds the decision speed instead, so that the stop stays below it.
        assert "maximum braking speed" in found.figure("engine_failure", "decision_speed_basis").text
        assert found.figure("engine_failure", "brake_energy_at_decision").value < energy * 0.9
        speed = found.figure("engine_failure", "decision_speed").value
        assert speed < planned().figure("engine_failure", "decision_speed").value


def test_brake_zone_of_the_landing(planned, pack):
    energy = planned().figure("landing", "brake_energy").value
    for severity in ("caution", "no-go"):
        for share, expected in ((1.001, []), (0.999, [severity])):
            zone = pack.wheels.energy_zones[1].model_copy(
                update={"severity": severity, "above": energy * share}
            )
            # The stop's own zone is not at stake here.
            made = planned(pack={"wheels.energy_zones": (pack.wheels.energy_zones[0], zone)})
            assert severities(made, "brake_energy") == expected


@pytest.mark.parametrize("source", ["pack", "departure"])
def test_climb_gradient_on_one_engine(planned, pack, source):
    have = planned().figure("engine_failure", "single_engine_gradient_gear_up").value

    def asked(share):
        if source == "departure":
            return planned(sortie={"requirements.single_engine_climb_gradient": have * share})
        limit = pack.limits.single_engine_climb_gradient.model_copy(update={"value": have * share})
        return planned(pack={"limits.single_engine_climb_gradient": limit})

    assert severities(asked(0.999), "single_engine_gradient_gear_up") == []
    assert severities(asked(1.001), "single_engine_gradient_gear_up") == ["no-go"]
    words = "this departure's" if source == "departure" else "the pack's"
    assert words in asked(1.001).reasons[0].text


def test_tail_strike(planned, pack):
    strike = pack.airframe.tail_strike_attitude_struts_compressed

    def held(by):
        return planned(sortie={"takeoff.takeoff_attitude": strike + by})

    assert severities(held(math.radians(-0.1)), "tail_strike_margin") == []
    assert severities(held(math.radians(0.1)), "tail_strike_margin") == ["caution"]
    margin = held(math.radians(0.1)).figure("takeoff", "tail_strike_margin").value
    assert margin == pytest.approx(math.radians(-0.1))


def test_ground_run_against_the_runway(planned):
    run = planned().figure("takeoff", "ground_run").value / FOOT
    fits, short = planned(runway(run + 152)), planned(runway(run + 148))  # 150 ft of start offset

    assert severities(fits, "ground_run") == []
    assert severities(short, "ground_run") == ["no-go"]
    assert short.verdict == "no-go"


def test_a_stopway_helps_the_stop_and_not_the_run(planned):
    run = planned().figure("takeoff", "ground_run").value / FOOT
    stopway = ("overrun: 900 ft", "stopway: 3000 ft")

    assert severities(planned(runway(run + 148), stopway), "ground_run") == ["no-go"]
    bare, longer = planned(runway(run + 1500)), planned(runway(run + 1500), stopway)
    refusal = [made.figure("engine_failure", "refusal_speed") for made in (bare, longer)]
    assert refusal[0].value is not None
    assert refusal[1].text == "above lift-off" or refusal[1].value > refusal[0].value


# Going on counts to the screen where the technique says so: then the clearway helps, and the run does not
# shrink.
def test_continuing_to_the_screen(planned):
    over = planned().figure("takeoff", "distance_to_screen").value / FOOT
    screen = ("Q1009", "Q1009\ntakeoff: {continue_to: screen}")
    clearway = ("overrun: 900 ft", "clearway: 1000 ft")

    assert severities(planned(runway(over + 148), screen), "distance_to_screen") == ["no-go"]
    assert severities(planned(runway(over + 152), screen), "distance_to_screen") == []
    assert severities(planned(runway(over + 148), screen, clearway), "distance_to_screen") == []
    assert severities(planned(runway(over + 148)), "distance_to_screen") == []
    run = planned().figure("takeoff", "ground_run").value / FOOT
    both = planned(runway(run + 148), screen, clearway)
    assert severities(both, "ground_run") == ["no-go"]
    assert both.figure("takeoff", "runway_for_takeoff").value / FOOT == pytest.approx(run - 2)


# The critical field length is the runway that is just enough: on a runway a little longer no failure speed is
# left without a way out, on one a little shorter some are (CNATRA P-862, appendix A; MIL-STD-3013A).
def test_critical_field_length_parts_covered_from_uncovered(planned):
    length = planned().figure("engine_failure", "critical_field_length").value / FOOT
    above, below = planned(runway(length + 155)), planned(runway(length + 145))

    assert severities(above, "critical_field_length") == []
    assert severities(above, "uncovered_band") == []
    assert severities(below, "critical_field_length") == ["no-go"]
    assert severities(below, "uncovered_band") == ["no-go"]
    band = below.figure("engine_failure", "uncovered_band").text
    assert " kt to " in band
    assert band.endswith(" s")
    refusal = below.figure("engine_failure", "refusal_speed").value
    minimum_go = below.figure("engine_failure", "minimum_go_speed").value
    assert refusal < minimum_go
    assert below.figure("engine_failure", "decision_speed").value == pytest.approx(refusal)
    # The same numbers in the reason, the figure and the basis, whatever the rounding.
    reason = next(one for one in below.reasons if one.figure == "uncovered_band")
    low, _, high = band.partition(",")[0].partition(" to ")
    said = reason.text.replace("\u202f", " ")
    assert f"From {low} (refusal speed) to {high} (minimum go speed)" in said
    assert f"at most {low} (refusal speed)" in below.figure("engine_failure", "decision_speed_basis").text


def test_a_stopway_may_cover_what_the_runway_alone_does_not(planned):
    length = planned().figure("engine_failure", "critical_field_length").value / FOOT
    short = runway(length - 50)
    bare, covered = planned(short), planned(short, ("overrun: 900 ft", "stopway: 3000 ft"))

    assert severities(bare, "uncovered_band") == ["no-go"]
    # The stop has room enough from any speed; going on is decided by its own distance.
    assert severities(covered, "critical_field_length") == []


def test_landing_distance_against_the_runway(planned):
    made = planned()
    need = made.figure("landing", "landing_distance").value / FOOT

    def displaced(left):
        return planned(("overrun: 900 ft", f"displaced_threshold: {9000 - left} ft"))

    assert severities(displaced(need + 1), "landing_distance", "today") == []
    assert severities(displaced(need - 1), "landing_distance", "today") == ["no-go"]
    assert severities(displaced(need + 1), "landing_distance", "chute fails") == ["caution"]
    failing = next(case for case in made.landings if case.name == "today").total / FOOT
    assert severities(displaced(failing + 1), "landing_distance", "chute fails") == []


def test_return_at_takeoff_weight(planned):
    need = next(case for case in planned().landings if case.name == "immediate_return").total / FOOT

    def displaced(left):
        made = planned(("overrun: 900 ft", f"displaced_threshold: {9000 - left} ft"))
        return severities(made, "landing_distance", "return at takeoff weight")

    assert displaced(need + 1) == []
    assert displaced(need - 1) == ["caution"]


def test_sink_at_touchdown(planned, pack):
    sink = planned().figure("landing", "sink_rate").value
    limit = pack.limits.sink_rate_touchdown
    for share, expected in ((1.001, []), (0.999, [limit.severity])):
        changed = limit.model_copy(update={"value": sink * share})
        assert severities(planned(pack={"limits.sink_rate_touchdown": changed}), "sink_rate") == expected


def test_standing_water(planned):
    water = ("overrun: 900 ft", "condition: wet\n      standing_water: true")
    wet = ("overrun: 900 ft", "condition: wet")

    # Soft tyres, so that they lose the runway below the speed at which the brakes are on: 9 sqrt(60) = 70 kt.
    soft = {"wheels.main_tyre_pressure": 60 * 6894.757}
    dry_road, flooded = planned(wet, pack=soft), planned(water, pack=soft)

    assert severities(planned(wet), "hydroplaning_speed") == []
    assert severities(planned(water), "hydroplaning_speed", "141") == ["caution"]
    assert flooded.figure("field", "hydroplaning_speed").value / KNOT == pytest.approx(
        9 * math.sqrt(60), abs=0.1
    )
    for section, name in (("landing", "landing_distance"), ("engine_failure", "accelerate_stop_at_decision")):
        assert flooded.figure(section, name).value > dry_road.figure(section, name).value + 20


def test_standing_water_where_only_the_landing_is(planned):
    place = (
        "Q1009",
        "Q1009\nlanding_place:\n  aerodrome:\n    icao: EGPK\n    runways:\n"
        '      - {designator: "12", true_heading: 123 deg, length: 9800 ft, condition: wet, standing_water: '
        "true}\n"
        '  runway: "12"',
    )

    assert severities(planned(place), "hydroplaning_speed") == ["caution"]


# The moments about the main wheels: with no tail power the nose stays down at every speed.
def test_the_nose_that_will_not_rise(planned, pack):
    weak = pack.aero.pitch_control.moment_per_angle * 0.05
    made = planned(pack={"aero.pitch_control.moment_per_angle": weak})

    assert severities(made, "nosewheel_lift_off_speed", "will not rise") == ["no-go"]
    assert made.figure("takeoff", "ground_run").text == "never"
    assert planned().figure("takeoff", "nosewheel_lift_off_speed").value > 0


def test_a_late_nose(planned):
    nose = planned().figure("takeoff", "nosewheel_lift_off_speed").value

    early, late = (planned(sortie={"takeoff.rotation_speed": nose + by}) for by in (1.0, -1.0))

    assert severities(early, "nosewheel_lift_off_speed") == []
    assert severities(late, "nosewheel_lift_off_speed") == ["caution"]
    assert late.figure("takeoff", "rotation_speed").value == pytest.approx(nose)
    assert late.figure("takeoff", "rotation_speed").cautions


def test_gear_limit_close_after_lift_off(planned, pack):
    made = planned()
    lift_off = made.figure("takeoff", "lift_off_speed").value
    for speed, expected in ((lift_off + 2 * KNOT, ["caution"]), (pack.limits.gear_speed.value * 2, [])):
        limit = pack.limits.gear_speed.model_copy(update={"value": speed})
        assert severities(planned(pack={"limits.gear_speed": limit}), "gear_limit_time") == expected


def test_a_line_speed_that_cannot_be_read(planned):
    length = planned().figure("engine_failure", "critical_field_length").value / FOOT
    tight = planned(runway(length + 151))

    assert severities(tight, "line_speed_minimum") == ["caution"]
    # Where nothing is covered, the smaller fault is not worth a line beside the no-go.
    assert severities(planned(runway(length - 100)), "line_speed_minimum") == []
    assert severities(planned(), "line_speed_minimum") == []


# One engine: there is no going on, only a stop or a run off the end.
def test_single_engine_uncovered():
    text = (SORTIES / "trainer_circuits.yaml").read_text("utf-8")
    length = "length: 8200 ft"
    assert text.count(length) == 1
    loaded = load_sortie(SORTIES / "trainer_circuits.yaml")
    whole = plan(loaded.sortie, loaded.pack)
    stop = whole.figure("engine_failure", "accelerate_stop_at_decision").value / FOOT
    short = read_sortie(text.replace(length, f"length: {stop:.0f} ft"), "short.yaml", SORTIES)
    made = plan(short.sortie, short.pack)

    assert severities(whole, "refusal_speed") == []
    assert severities(made, "refusal_speed", "engine fails between") == ["caution"]
    names = {figure.name for figure in made.section("engine_failure").figures}
    assert not names & {"critical_field_length", "minimum_go_speed", "single_engine_climb_cas"}


def test_no_air_at_all_is_a_no_go_with_each_cause(planned):
    made = planned(("metar: METAR ZZCH 140920Z 28014G22KT 9999 SCT028 BKN045 16/09 Q1009", "{}"))
    texts = " ".join(reason.text for reason in made.reasons)

    assert made.verdict == "no-go"
    for cause in ("no altimeter setting", "no temperature", "no wind"):
        assert cause in texts


def test_a_table_that_ends_below_the_field_spoils_only_what_needs_it(planned, pack):
    setting = pack.engine.settings["maximum"]
    old = setting.thrust
    # The table begins at 3,000 m: the field lies below it.
    heights = np.array([3000.0, 9000.0])
    short = make_table(old.name, {"mach": old.axes[0], "pressure_altitude": heights}, old.values[:, :2])
    made = planned(pack={"engine.settings.maximum": setting.model_copy(update={"thrust": short})})

    run = made.figure("takeoff", "ground_run")
    assert run.value is None
    assert "pressure_altitude" in run.problem
    assert made.verdict == "no-go"
    assert made.figure("landing", "landing_distance").value > 0  # the landing is flown with idle thrust
    assert made.figure("loading", "takeoff_mass").value > 0


# What the verdict says must not depend on chance: heavier is never better on the same day, longer never
# worse.
RANK = {"go": 0, "caution": 1, "no-go": 2}
POUNDS = st.integers(2000, 11050)


@settings(max_examples=12, deadline=None)
@given(data=st.data())
def test_more_fuel_never_turns_a_no_go_into_a_go(data, planned):
    feet = data.draw(st.sampled_from([3500, 5000, 6500]))
    light = data.draw(POUNDS)
    heavy = data.draw(st.integers(light, 11050))
    fuels = [("fuel: {}", f"fuel: {{total: {pounds} lb}}") for pounds in (light, heavy)]

    lighter, heavier = (
        planned(fuel, runway(feet), ("landing_fuel: 2600 lb", "landing_fuel: 1500 lb")) for fuel in fuels
    )

    if lighter.verdict == "no-go":
        kinds = {one.figure for one in lighter.reasons if one.severity == "no-go"}
        # The centre of gravity moves both ways as fuel is added; everything else only worsens with weight.
        if kinds - {"centre_of_gravity_takeoff", "trim", "landing_mass"}:
            assert heavier.verdict != "go"
    run = [made.figure("takeoff", "ground_run").value for made in (lighter, heavier)]
    assert run[0] <= run[1] + 0.01


@settings(max_examples=12, deadline=None)
@given(
    short=st.integers(2500, 9000),
    more=st.integers(0, 4000),
    wind=st.sampled_from(["28014G22KT", "00000KT", "07805KT", "34821KT"]),
    surface=st.sampled_from(["dry", "wet", "icy"]),
)
def test_a_longer_runway_is_never_worse(planned, short, more, wind, surface):
    shorter, longer = (
        planned(runway(feet), ("28014G22KT", wind), ("overrun: 900 ft", f"condition: {surface}"))
        for feet in (short, short + more)
    )

    # A line speed that could not be asked for at all on the short runway may be unreadable on the longer one.
    ranks = []
    for made in (shorter, longer):
        reasons = [
            one
            for one in made.reasons
            if one.figure not in ("line_speed_minimum", "brake_energy_at_decision")
        ]
        ranks.append(max((RANK[one.severity] for one in reasons), default=0))
    assert ranks[1] <= ranks[0]
    decisions = [made.figure("engine_failure", "decision_speed").value or 0.0 for made in (shorter, longer)]
    assert decisions[0] <= decisions[1] + 0.01
