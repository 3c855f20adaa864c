"""Load factor limits of aircraft and stores, and lift downwards: read as written, refused where wrong."""

import pytest

from sortiewright.pack import InputError, load_pack

ROLLING = "load_factor_rolling: {mass: {unit: kg, values: [2000, 3600]}, values: [5.6, HEAVY]}\n"


def with_rolling(folder, heavy):
    """The pack with a rolling limit; straight it has 7.0 g at 2,000 kg and 5.0 g at 3,600 kg."""
    place = folder / "limits.yaml"
    text = place.read_text(encoding="utf-8")
    place.write_text(text + ROLLING.replace("HEAVY", heavy), encoding="utf-8")
    return folder


def problem(folder):
    with pytest.raises(InputError) as caught:
        load_pack(folder)
    return str(caught.value)


def test_rolling_limit_is_a_table_over_mass(pack_folder):
    limits = load_pack(with_rolling(pack_folder, "4.0")).pack.limits

    assert float(limits.load_factor_rolling(2_800.0)) == pytest.approx(4.8)


def test_rolling_limit_above_the_straight_one_is_refused(pack_folder):
    said = problem(with_rolling(pack_folder, "5.5"))

    assert "limits.yaml" in said
    assert "5.5 at 3600 kg" in said
    assert "must not be above load_factor_positive, 5" in said


def test_a_store_whose_negative_limit_lacks_its_sign_is_refused(pack_folder):
    place = pack_folder / "stores.yaml"
    text = place.read_text(encoding="utf-8")
    place.write_text(text.replace("kind: tank", "kind: tank, minimum_load_factor: 1.5"), encoding="utf-8")
    said = problem(pack_folder)

    assert "stores.yaml" in said
    assert "must not be above 0: write its minus sign" in said


def test_lift_downwards_has_its_minus_sign(pack_folder):
    place = pack_folder / "aero.yaml"
    text = place.read_text(encoding="utf-8")
    old = "    maximum_lift: {mach: [0.0, 0.5], values: [1.3, 1.35]}\n"
    assert old in text
    right = old + "    minimum_lift: {mach: [0.0, 0.5], values: [-0.8, -0.7]}\n"
    place.write_text(text.replace(old, right), encoding="utf-8")
    clean = load_pack(pack_folder).pack.aero.configurations["clean"]
    assert float(clean.minimum_lift(0.25)) == pytest.approx(-0.75)

    place.write_text(text.replace(old, right.replace("-0.8", "0.8")), encoding="utf-8")
    assert "minimum_lift" in problem(pack_folder)
