"""A pack fitted on the command line: what is printed, written and drawn, and what is refused."""

import shutil

import pytest

from sortiewright.pack import load_pack

FREE = ["--free", "thrust.takeoff_power", "--free", "drag.clean", "--free", "fuel_flow"]


@pytest.fixture(autouse=True)
def points(tmp_path, project_root):
    """Put the rows of the invented handbook into the folder in which commands run."""
    data = project_root / "tests" / "data" / "handbook_points" / "whinchat.csv"
    return shutil.copy(data, tmp_path / "points.csv")


# The rows are of an aircraft with 4 % more thrust and 6 % less clean drag, by
# tests/support/make_handbook_points.py.
def test_factors_are_found_and_the_misread_row_is_named(command):
    ran = command("pack", "fit", "whinchat", "--points", "points.csv", *FREE, "--json")
    thrust, drag = (ran.json["factors"][name] for name in ("thrust.takeoff_power", "drag.clean"))

    assert ran.code == 0
    assert thrust["low"] < 1.04 < thrust["high"]
    assert drag["low"] < 0.94 < drag["high"]
    assert [row["row"] for row in ran.json["rows"] if row["disagrees"]] == ["P18"]
    assert ran.json["disagreeing_left_out"]


@pytest.mark.parametrize("ending", ["svg", "png"])
def test_residuals_are_drawn(command, tmp_path, ending):
    ran = command("pack", "fit", "whinchat", "--points", "points.csv", *FREE, "--draw", f"chart.{ending}")
    drawn = (tmp_path / f"chart.{ending}").read_bytes()

    assert ran.code == 0
    assert f"Drawn: chart.{ending}" in ran.err
    assert drawn.startswith(b"\x89PNG" if ending == "png" else b"<?xml")
    assert len(drawn) > 20_000


@pytest.mark.parametrize("out", ["corrected", "overlay.yaml"])
def test_corrected_pack_and_overlay_load(command, tmp_path, out):
    ran = command("pack", "fit", "whinchat", "--points", "points.csv", *FREE, "--out", out, "--json")
    again = command("pack", "fit", "whinchat", "--points", "points.csv", *FREE, "--out", out)
    if out == "corrected":
        fitted = load_pack(tmp_path / out).pack
    else:
        fitted = load_pack("whinchat", overlay=tmp_path / out).pack
    plain = load_pack("whinchat").pack
    name = "takeoff_power"
    ratio = fitted.engine.settings[name].thrust.values / plain.engine.settings[name].thrust.values

    assert ratio == pytest.approx(ran.json["factors"]["thrust.takeoff_power"]["factor"], rel=1e-4)
    assert again.code == 2
    assert "Write over it with --replace" in again.err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--points", "none.csv"], "none.csv  there is no such file"),
        (["--points", "points.csv", "--free", "lift"], '"lift" is no factor of whinchat'),
        (["--points", "points.csv", "--prior", "fuel_flow"], '"fuel_flow" is no prior'),
        (["--points", "points.csv", "--prior", "fuel_flow=1,0"], "standard deviation more than 0"),
        (["--points", "points.csv", "--draw", "chart.gif"], "chart.gif is none of .svg, .png, .pdf"),
        (["--points", "few.csv"], "1 row is too few"),
        (["--points", "far.csv"], "axis mach: 0.9 is outside 0 to 0.8"),
    ],
)
def test_bad_input_is_refused_in_a_sentence(command, tmp_path, arguments, said):
    head = "quantity,value,unit,mass,pressure_altitude,mach\n,,,lb,ft,\n"
    (tmp_path / "few.csv").write_text(head + "fuel_flow,900,lb/h,6800,15000,0.4\n", "utf-8")
    (tmp_path / "far.csv").write_text(head + "fuel_flow,900,lb/h,6800,15000,0.9\n" * 2, "utf-8")
    ran = command("pack", "fit", "whinchat", *arguments)

    assert ran.code == 2
    assert said in ran.err
    assert "Traceback" not in ran.err
