"""Factors on thrust, drag, friction and rotation, and the overlay that carries them to a pack."""

import functools
import json
import os
from dataclasses import dataclass, replace
from math import radians, sqrt

import numpy as np
import pytest
from made_takeoffs import Scatter, Truth, lasting, observed, speed_history
from reference_takeoff import reference_takeoff

from sortiewright.air import standard_air
from sortiewright.commands.calibrate import calibrate
from sortiewright.commands.faults import UsageError
from sortiewright.pack import FACTOR_TITLES, InputError, load_overlay, load_pack, overlay_text, with_overlay
from sortiewright.performance import fly_takeoff, takeoff_setup
from sortiewright.recording import (
    CannotTell,
    HandbookPoint,
    Prior,
    calibrate_points,
    calibrate_runs,
    flights_of,
    flown_takeoff,
    read_points,
    read_recording,
    run_observation,
    takeoff_as_flown,
)
from sortiewright.recording.calibration_fit import KNOWN_ANYHOW
from sortiewright.recording.calibration_noise import straight_line
from sortiewright.sortie import compute, load_sortie, plan
from sortiewright.sortie.uncertainty import ERRORS

FULL = bool(os.environ.get("SORTIEWRIGHT_FULL"))
ROUNDS = 300
SHORT_ROUNDS = {"one takeoff, gusts": 30, "six weights": 12}
"""The campaigns that are flown without SORTIEWRIGHT_FULL."""
NAMES = ("nominal", "flawed_departure")


@pytest.fixture(scope="module")
def data(project_root):
    return project_root / "tests" / "data"


@pytest.fixture(scope="module")
def loaded(data):
    return load_pack(data / "packs" / "t38_sampled")


@pytest.fixture(scope="module")
def technique(loaded):
    return loaded.pack.technique.takeoff


@pytest.fixture(scope="module")
def arm(loaded):
    frame = loaded.pack.airframe
    return frame.mean_chord_leading_edge_arm + 0.25 * frame.mean_chord


@pytest.fixture(scope="module")
def sortie(data):
    return load_sortie(data / "sorties" / "t38_departure.yaml")


@pytest.fixture(scope="module")
def setup(sortie):
    return compute(sortie.sortie, sortie.pack.pack).takeoff.setup


@pytest.fixture(scope="module")
def flown(data, setup):
    found = {}
    for name in NAMES:
        recording = read_recording(data / "recordings" / f"{name}.csv.gz")
        found[name] = flown_takeoff(recording, flights_of(recording)[0], setup)
    return found


def made_runs(loaded, technique, arm, masses, truth, random, scatter):
    runs = []
    for mass in masses:
        time, speed = speed_history(loaded.pack, mass, truth)
        runs.append(observed(time, speed, mass, truth, technique.pitch_rate, random, scatter, arm=arm))
    return runs


def drawn(random, free):
    """Return a truth as far from the pack as packs are; what is held no farther than is reckoned with."""
    drag_off = 0.05 if "drag" in free else KNOWN_ANYHOW["drag"]
    thrust, drag, rate = 1.0 + np.array([0.03, drag_off, 0.2]) * random.standard_normal(3)
    return Truth(thrust, drag, 1.0 + KNOWN_ANYHOW["friction"] * random.standard_normal(), rate)


@dataclass(frozen=True)
class Design:
    """Takeoffs that are calibrated together: weights in kg or shares of the most, and what is asked."""

    masses: tuple[float, ...]
    scatter: Scatter
    free: tuple[str, ...]
    pack: str = ""
    seconds: float = 16.0
    start: float = 12.0


CAMPAIGNS = {
    "one takeoff, white noise": Design((5085.0,), Scatter(white=0.05), ("thrust", "drag", "pitch_rate")),
    "one takeoff, gusts": Design(
        (5085.0,), Scatter(white=0.02, lasting=0.03), ("thrust", "drag", "pitch_rate")
    ),
    "six weights": Design(
        (3600.0, 4000.0, 4400.0, 4800.0, 5200.0, 5600.0),
        Scatter(white=0.05, mass=0.0005, wind=0.1),
        ("thrust", "drag", "friction", "pitch_rate"),
    ),
    "three takeoffs at one weight, gusts": Design(
        (5085.0,) * 3, Scatter(white=0.05, lasting=0.03), ("thrust", "drag", "pitch_rate")
    ),
    "two weights of another pack, gusts": Design(
        (0.8, 0.95),
        Scatter(white=0.05, lasting=0.02, mass=0.001, wind=0.15),
        ("thrust", "drag", "pitch_rate"),
        pack="dotterel",
    ),
    "three weights of a slow pack, drag held": Design(
        (0.75, 0.85, 0.95),
        Scatter(white=0.05, mass=0.001, wind=0.1),
        ("thrust", "pitch_rate"),
        pack="whinchat",
        seconds=14.0,
        start=8.0,
    ),
}


@functools.cache
def flown_campaign(name, folder):
    """Return truth and estimates of each round that told its factors; ``folder`` is of the sampled pack."""
    design, rounds = CAMPAIGNS[name], ROUNDS if FULL else SHORT_ROUNDS[name]
    found = list(each_round(design, load_pack(design.pack or folder), rounds))
    # Of rounds that are only just told, those are kept that took their noise for smaller than it is.
    assert len(found) >= 0.9 * rounds
    return found


def each_round(design, loaded, rounds, seed=2026):
    pack = loaded.pack
    technique, frame = pack.technique.takeoff, pack.airframe
    arm = frame.mean_chord_leading_edge_arm + 0.25 * frame.mean_chord
    unit = pack.mass.maximum_takeoff_mass if design.pack else 1.0
    random = np.random.default_rng(seed)
    for _ in range(rounds):
        truth = drawn(random, design.free)
        runs = []
        for mass in unit * np.array(design.masses):
            length = {"seconds": design.seconds, "start": design.start, "power": technique.power}
            time, speed = speed_history(pack, mass, truth, **length)
            rate, scatter = technique.pitch_rate, design.scatter
            runs.append(observed(time, speed, mass, truth, rate, random, scatter, arm=arm))
        try:
            yield truth, calibrate_runs(runs, loaded, technique, free=design.free).factors
        except CannotTell:
            continue


def count_held(rounds, free):
    return {
        name: int(sum(found[name].low <= getattr(truth, name) <= found[name].high for truth, found in rounds))
        for name in free
    }


# The definition of a 95 % interval: it holds the truth in 95 of 100. Bounds of the count: a number so far
# off would come by chance in fewer than 1 of 1000 campaigns (binomial distribution, two-sided).
@pytest.mark.parametrize("campaign", CAMPAIGNS if FULL else SHORT_ROUNDS)
def test_intervals_hold_the_truth_in_95_of_100(campaign, loaded, record_property):
    from scipy.stats import binom

    rounds = flown_campaign(campaign, loaded.folder)
    held = {
        name: int(sum(found[name].low <= getattr(truth, name) <= found[name].high for truth, found in rounds))
        for name in CAMPAIGNS[campaign].free
    }
    record_property("held", held)
    print(f"{campaign}: {held} of {len(rounds)}")

    for name, count in held.items():
        assert binom.cdf(count, len(rounds), 0.95) > 0.0005, name
        assert binom.sf(count - 1, len(rounds), 0.95) > 0.0005 or not FULL, name


# The short campaigns see errors in units of the standard deviation that was stated: the sum of their squares
# is distributed as chi squared, so it fails where intervals are too narrow as where they are too wide. Once
# in 1000 by chance, two-sided.
@pytest.mark.parametrize("campaign", SHORT_ROUNDS)
def test_stated_errors_are_as_large_as_the_real_ones(campaign, loaded):
    from scipy.stats import chi2

    rounds = flown_campaign(campaign, loaded.folder)[: SHORT_ROUNDS[campaign]]

    for name in [one for one in CAMPAIGNS[campaign].free if one != "pitch_rate"]:
        off = [(found[name].value - getattr(truth, name)) / found[name].sigma for truth, found in rounds]
        assert 0.0005 < chi2.cdf(np.sum(np.square(off)), len(off)) < 0.9995, name


# White noise of 0.05 m/s in means of four samples is 0.025. Weights stated a third of a percent wrong bend
# each run by ten times that: taken for noise, it would be larger, and last.
def test_error_of_a_weight_is_not_taken_for_noise(loaded, technique, arm):
    masses, scatter = CAMPAIGNS["six weights"].masses, Scatter(white=0.05, mass=0.003, wind=0.25)
    runs = made_runs(loaded, technique, arm, masses, Truth(), np.random.default_rng(8), scatter)
    found = calibrate_runs(runs, loaded, technique, free=("thrust", "drag"))

    assert found.left_over == pytest.approx(0.025, rel=0.15)
    assert found.noise_lasts < 0.1


def test_factors_are_found_without_noise(loaded, technique, arm):
    truth = Truth(0.96, 1.07, 1.0, 1.3)
    quiet = Scatter(white=1e-4, mass=1e-6, wind=1e-6, pitch=1e-6)
    runs = made_runs(loaded, technique, arm, [5085.0], truth, np.random.default_rng(1), quiet)
    found = calibrate_runs(runs, loaded, technique, free=("thrust", "drag", "pitch_rate"))

    # The reference integrates tables bilinearly, as the program does; its run is sampled to 0.05 s.
    assert found.factors["thrust"].value == pytest.approx(0.96, abs=5e-4)
    assert found.factors["drag"].value == pytest.approx(1.07, abs=3e-3)
    assert found.factors["pitch_rate"].value == pytest.approx(1.3, abs=1e-3)
    assert abs(found.compared[0].after) < 0.05
    assert abs(found.compared[0].before) > 10.0


def test_friction_that_is_not_known_widens_the_interval_of_thrust(loaded, technique, arm):
    runs = made_runs(
        loaded, technique, arm, [5085.0], Truth(), np.random.default_rng(1), Scatter(white=0.01, mass=1e-6)
    )
    open_ = calibrate_runs(runs, loaded, technique, free=("thrust",))
    told = calibrate_runs(
        runs,
        loaded,
        technique,
        free=("thrust",),
        priors={"friction": Prior(1.0, 1e-6), "drag": Prior(1.0, 1e-6)},
    )

    assert open_.factors["thrust"].sigma > 2.0 * told.factors["thrust"].sigma


def test_prior_of_a_held_factor_is_where_it_is_held(loaded, technique, arm):
    quiet = Scatter(white=1e-3, mass=1e-6, wind=1e-6)
    runs = made_runs(loaded, technique, arm, [5085.0], Truth(1.0, 1.0, 1.5), np.random.default_rng(1), quiet)
    found = calibrate_runs(
        runs, loaded, technique, free=("thrust", "drag"), priors={"friction": Prior(1.5, 0.01)}
    )

    assert found.factors["thrust"].value == pytest.approx(1.0, abs=1e-3)


def test_tight_prior_of_a_fitted_factor_wins_over_noisy_data(loaded, technique, arm):
    runs = made_runs(loaded, technique, arm, [5085.0], Truth(1.05), np.random.default_rng(1), Scatter())
    found = calibrate_runs(runs, loaded, technique, free=("thrust",), priors={"thrust": Prior(1.0, 1e-6)})

    assert found.factors["thrust"].value == pytest.approx(1.0, abs=1e-4)


# A refusal names the factor and why: friction and thrust act alike on one takeoff.
def test_one_takeoff_cannot_tell_friction_from_thrust(loaded, technique, arm):
    runs = made_runs(
        loaded, technique, arm, [5085.0], Truth(), np.random.default_rng(4), Scatter(white=0.005)
    )
    with pytest.raises(CannotTell) as error:
        calibrate_runs(runs, loaded, technique, free=("thrust", "drag", "friction"))

    assert "friction" in error.value.reasons
    assert "cannot be told from" in str(error.value)
    assert "correlation" in str(error.value)

    found = calibrate_runs(runs, loaded, technique)
    assert set(found.factors) == {"thrust", "drag", "pitch_rate"}
    assert list(found.held) == ["friction"]


def test_noisy_takeoff_cannot_tell_drag_from_thrust(loaded, technique, arm):
    runs = made_runs(loaded, technique, arm, [5085.0], Truth(), np.random.default_rng(4), Scatter(white=0.5))
    with pytest.raises(CannotTell, match=r"drag cannot be told: the data leave it open by ± \d"):
        calibrate_runs(runs, loaded, technique, free=("thrust", "drag"))

    assert "drag" in calibrate_runs(runs, loaded, technique).held


def test_rotations_that_differ_tell_no_pitch_rate(loaded, technique, arm):
    random = np.random.default_rng(4)
    runs = [
        made_runs(loaded, technique, arm, [5085.0], Truth(pitch_rate=rate), random, Scatter(white=0.02))[0]
        for rate in (0.8, 2.0)
    ]
    found = calibrate_runs(runs, loaded, technique)

    assert "2 rotations differ so much" in found.held["pitch_rate"]
    with pytest.raises(CannotTell, match="2 rotations differ"):
        calibrate_runs(runs, loaded, technique, free=("pitch_rate",))


def test_what_is_known_anyhow_is_what_a_plan_reckons_with():
    shares = {error.name.removesuffix("_factor"): abs(error.share) for error in ERRORS}

    assert {name: KNOWN_ANYHOW[name] for name in ("thrust", "drag", "friction")} == {
        name: shares[name] for name in ("thrust", "drag", "friction")
    }


# Ordinary least squares: the slope's standard deviation is s / sqrt(sum (t - mean)^2) for white noise.
def test_slope_of_white_noise_is_as_certain_as_the_textbook_has_it():
    random, time = np.random.default_rng(5), np.arange(0.0, 3.0, 0.05)
    sigmas = [
        straight_line(time, 0.04 * time + 0.01 * random.standard_normal(time.size)).slope_sigma
        for _ in range(20)
    ]

    wanted = 0.01 / sqrt(np.sum((time - time.mean()) ** 2))
    assert np.median(sigmas) == pytest.approx(wanted, rel=0.25)


def test_noise_that_lasts_makes_a_slope_less_certain_than_white_noise_of_its_size():
    random, time = np.random.default_rng(5), np.arange(0.0, 10.0, 0.05)
    white = straight_line(time, random.standard_normal(time.size))
    slow = straight_line(time, lasting(time, 1.0, random))

    assert slow.slope_sigma > 2.0 * white.slope_sigma


# The requirement: calibrated on one recording, the other's ground run is predicted within 2 %. The rotation
# of the other (begun at 160 kt instead of 140) is taken as flown: no run on the wheels tells of it.
@pytest.mark.parametrize(("one", "other"), [NAMES, NAMES[::-1]])
def test_calibrated_on_one_recording_the_other_is_predicted(one, other, flown, sortie, setup, tmp_path):
    found = calibrate_runs([run_observation(flown[one], setup)], sortie.pack, setup.technique)
    file = tmp_path / "overlay.yaml"
    file.write_text(overlay_text(found.overlay(sortie.pack)), encoding="utf-8")
    calibrated = load_pack(sortie.pack.folder, overlay=file)
    predicted = takeoff_as_flown(compute(sortie.sortie, calibrated.pack).takeoff.setup, flown[other])

    actual = flown[other].distance_at(flown[other].lift_off)
    assert float(predicted.ground_run[0]) == pytest.approx(actual, rel=0.02)


# The pack was sampled from the flight model that flew the recordings: its factors are 1.
@pytest.mark.parametrize("name", NAMES)
def test_pack_sampled_from_the_flight_model_needs_no_factor(name, flown, sortie, setup):
    found = calibrate_runs([run_observation(flown[name], setup)], sortie.pack, setup.technique)

    for factor in ("thrust", "drag"):
        estimate = found.factors[factor]
        assert estimate.low <= 1.0 <= estimate.high
        assert estimate.value == pytest.approx(1.0, abs=0.03)


def test_run_with_another_power_than_planned_is_refused(flown, setup):
    with pytest.raises(InputError, match="was flown without burner; the sortie plans maximum"):
        run_observation(replace(flown["nominal"], augmented=False), setup)


def test_run_without_enough_settled_thrust_is_refused(flown, setup):
    with pytest.raises(InputError, match="12 are needed"):
        run_observation(replace(flown["nominal"], settled=17.9), setup)


@pytest.fixture
def overlay(loaded, technique, arm):
    runs = made_runs(
        loaded, technique, arm, [5085.0], Truth(0.95, 1.1, 1.0, 0.7), np.random.default_rng(1), Scatter(0.02)
    )
    return calibrate_runs(runs, loaded, technique).overlay(loaded)


def test_overlay_comes_back_from_its_file_as_it_was_written(overlay, tmp_path):
    file = tmp_path / "overlay.yaml"
    file.write_text(overlay_text(overlay), encoding="utf-8")
    read = load_overlay(file).overlay

    assert (
        read.model_copy(update={"factors": overlay.factors, "correlations": overlay.correlations}) == overlay
    )
    assert list(read.factors.given()) == [name for name in FACTOR_TITLES if name in overlay.factors.given()]
    for name, factor in overlay.factors.given().items():
        assert read.factors.given()[name].factor == pytest.approx(factor.factor, rel=1e-5)


# A second road to the same factors: those that every case of the physics carries.
def test_pack_with_an_overlay_flies_as_cases_with_its_factors(overlay, setup, loaded):
    found = {name: factor.factor for name, factor in overlay.factors.given().items()}
    ones = np.ones(1)
    cases = replace(setup.cases, thrust_factor=found["thrust"] * ones, drag_factor=found["drag"] * ones)
    attitude = replace(setup.attitude, pitch_rate=setup.attitude.pitch_rate * found["pitch_rate"])
    wanted = fly_takeoff(replace(setup, cases=cases, attitude=attitude))

    pack = with_overlay(loaded.pack, overlay)
    own = takeoff_setup(pack, setup.cases, pack.technique.takeoff)
    ours = fly_takeoff(replace(own, rotation_speed=setup.rotation_speed))
    assert float(ours.ground_run[0]) == pytest.approx(float(wanted.ground_run[0]), rel=1e-9)
    assert float(ours.distance_to_screen[0]) == pytest.approx(float(wanted.distance_to_screen[0]), rel=1e-9)
    assert pack.wheels.braking_friction is loaded.pack.wheels.braking_friction
    assert pack.aero.configurations["landing"] is loaded.pack.aero.configurations["landing"]


@pytest.fixture
def sortie_text(data):
    text = (data / "sorties" / "t38_departure.yaml").read_text("utf-8")
    pack = (data / "packs" / "t38_sampled").as_posix()
    return text.replace("pack: ../packs/t38_sampled", f'pack: "{pack}"\noverlay: overlay.yaml')


def test_sortie_that_names_an_overlay_is_planned_with_it(overlay, sortie_text, sortie, tmp_path):
    (tmp_path / "overlay.yaml").write_text(overlay_text(overlay), encoding="utf-8")
    (tmp_path / "sortie.yaml").write_text(sortie_text, encoding="utf-8")
    calibrated = load_sortie(tmp_path / "sortie.yaml")
    before, after = plan(sortie.sortie, sortie.pack), plan(calibrated.sortie, calibrated.pack)

    # 5 % less thrust lengthens a run by more than 5 %: drag and friction take their share of what is left.
    ratio = after.figure("takeoff", "ground_run").value / before.figure("takeoff", "ground_run").value
    assert 1.05 < ratio < 1.25
    assert after.pack_digest == before.pack_digest
    assert any(
        "The pack is calibrated: thrust 0.9" in remark or "The pack is calibrated: thrust 1" in remark
        for remark in after.remarks
    )
    assert not any("calibrated" in remark for remark in before.remarks)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('pack_digest: "', 'pack_digest: "0', "overlay.yaml:"),
        ('pack: "t38_sampled"', 'pack: "dotterel"', 'overlay.yaml:3  pack: "dotterel" is not the pack used'),
        ('configuration: "takeoff"', 'configuration: "tkof"', "is no configuration of t38_sampled"),
        ("factors:\n  thrust:", "factors:\n  trust:", "thrust"),
        ("factor: 0.9", "factor: 1.9", "is outside its own interval"),
        ("factor: 0.9", "factor: 9.9", "must be less than 4"),
    ],
)
def test_overlay_with_a_fault_is_refused_at_its_line(old, new, said, overlay, loaded, tmp_path):
    text = overlay_text(overlay)
    assert old in text
    (tmp_path / "overlay.yaml").write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(InputError) as error:
        load_pack(loaded.folder, overlay=tmp_path / "overlay.yaml")

    assert said in str(error.value)
    assert str(error.value).startswith("overlay.yaml:")


def test_overlay_of_a_pack_that_was_changed_since_is_refused(overlay, loaded, tmp_path):
    stale = overlay.model_copy(update={"pack_digest": "0" * 64})
    (tmp_path / "overlay.yaml").write_text(overlay_text(stale), encoding="utf-8")
    with pytest.raises(InputError, match=r"overlay\.yaml:5  pack_digest: .*calibrate again"):
        load_pack(loaded.folder, overlay=tmp_path / "overlay.yaml")


def test_calibrated_pack_is_not_calibrated_again(overlay, loaded, technique, arm, tmp_path):
    (tmp_path / "overlay.yaml").write_text(overlay_text(overlay), encoding="utf-8")
    calibrated = load_pack(loaded.folder, overlay=tmp_path / "overlay.yaml")
    runs = made_runs(loaded, technique, arm, [5085.0], Truth(), np.random.default_rng(1), Scatter(0.02))
    with pytest.raises(ValueError, match="has an overlay already"):
        calibrate_runs(runs, calibrated, technique)


# A second road: takeoffs of the reference aeroplane, another integrator, with 4 % less thrust.
def test_handbook_points_tell_the_thrust_they_were_computed_with(loaded, technique, arm):
    weaker = with_factor(loaded.pack, 0.96)
    points = []
    air = standard_air(0.0, 5.0)
    for mass in (4200.0, 5000.0):
        flown = reference_takeoff(weaker, mass, arm, air)
        conditions = {"mass": mass, "temperature": float(air.temperature)}
        points.append(HandbookPoint("ground_run", flown.ground_run, 0.004 * flown.ground_run, conditions))
        points.append(
            HandbookPoint(
                "distance_to_screen", flown.distance_to_screen, 0.004 * flown.distance_to_screen, conditions
            )
        )
    found = calibrate_points(points, loaded, technique, free=("thrust",))

    factor = found.factors["thrust"]
    assert factor.low <= 0.96 <= factor.high
    assert factor.value == pytest.approx(0.96, abs=0.005)
    assert max(abs(one.after) for one in found.compared) < 0.3 * max(
        abs(one.before) for one in found.compared
    )


def with_factor(pack, thrust):
    settings = {
        name: one.model_copy(update={"thrust": replace(one.thrust, values=thrust * one.thrust.values)})
        for name, one in pack.engine.settings.items()
    }
    return pack.model_copy(update={"engine": pack.engine.model_copy(update={"settings": settings})})


def test_too_few_points_for_the_factors_are_counted(loaded, technique):
    points = [HandbookPoint("ground_run", 1000.0, 10.0, {"mass": 5000.0})]
    with pytest.raises(CannotTell, match="1 observations are too few for 2 factors"):
        calibrate_points(points, loaded, technique, free=("thrust", "drag"))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "this file is empty"),
        ("quantity,value,mass\n", "points.csv:1  tolerance: this column is missing"),
        ("quantity,value,tolerance,mas\n", 'Did you mean "mass"'),
        ("quantity,value,tolerance,mass\n", "holds no point"),
        ("quantity,value,tolerance,mass\nground_rn,1 ft,2 %,1 lb\n", 'Did you mean "ground_run"'),
        ("quantity,value,tolerance,mass\nground_run,2450,2 %,9500 lb\n", "points.csv:2  value: "),
        ("quantity,value,tolerance,mass\nground_run,2450 ft,2 %,\n", "points.csv:2  mass: "),
        ("quantity,value,tolerance,mass\nground_run,-2450 ft,2 %,9500 lb\n", "more than nought"),
    ],
)
def test_faulty_points_are_refused_at_their_line(text, said, tmp_path):
    (tmp_path / "points.csv").write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as error:
        read_points(tmp_path / "points.csv")

    assert said in str(error.value)


def test_points_are_read_in_si(tmp_path):
    text = "quantity,value,tolerance,mass,temperature\nground_run,1000 ft,2 %,1000 lb,15 degC\n"
    (tmp_path / "points.csv").write_text(text, encoding="utf-8")
    (point,) = read_points(tmp_path / "points.csv")

    assert point.value == pytest.approx(304.8)
    assert point.sigma == pytest.approx(0.01 * 304.8)
    assert point.conditions == pytest.approx({"mass": 453.59237, "temperature": 288.15})


def test_command_writes_an_overlay_that_the_pack_takes(data, loaded, tmp_path, capsys):
    out = tmp_path / "overlay.yaml"
    calibrate(
        data / "recordings" / "nominal.csv.gz", sortie=str(data / "sorties" / "t38_departure.yaml"), out=out
    )
    said = capsys.readouterr()

    assert "Thrust" in said.out
    assert "Rolling friction: it cannot be told from" in " ".join(said.out.split())
    assert "Written" in said.err
    assert load_pack(loaded.folder, overlay=out).overlay is not None
    with pytest.raises(UsageError, match="there already"):
        calibrate(data / "recordings" / "nominal.csv.gz", sortie="demo", out=out)


def test_command_prints_json(data, capsys):
    from sortiewright.commands.output import Output

    sortie = str(data / "sorties" / "t38_departure.yaml")
    calibrate(data / "recordings" / "nominal.csv.gz", sortie=sortie, output=Output(json=True))
    printed = json.loads(capsys.readouterr().out)

    assert printed["factors"]["thrust"]["factor"] == pytest.approx(1.0, abs=0.02)
    assert set(printed["held"]) == {"friction"}


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ({"prior": ["thrst=1,0.02"]}, 'Did you mean "thrust"'),
        ({"prior": ["thrust=1"]}, "Write it like this"),
        ({"prior": ["thrust=1,-1"]}, "standard deviation"),
    ],
)
def test_command_refuses_a_prior_it_cannot_read(arguments, said, data):
    with pytest.raises(UsageError, match=said):
        calibrate(data / "recordings" / "nominal.csv.gz", sortie="demo", **arguments)


def test_command_wants_recordings_or_points():
    with pytest.raises(UsageError, match="one of the two"):
        calibrate(sortie="demo")


def test_recording_of_another_aircraft_is_refused(data):
    from sortiewright.sortie import demo_sortie_path

    with pytest.raises(InputError, match="weight") as error:
        calibrate(data / "recordings" / "nominal.csv.gz", sortie=str(demo_sortie_path()))

    assert "runway" in {problem.key for problem in error.value.problems}


def test_angle_of_attack_tells_rising_air_in_the_rotation(flown):
    # Light turbulence: some feet a second over 280, as the recordings' README says of their wind.
    for name in NAMES:
        assert 0.0 < abs(flown[name].ramp.upwash) < radians(1.5)
