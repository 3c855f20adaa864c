"""The command line starts light, and shells can complete it."""

import shutil
import subprocess
import sys

import pytest

# What no command needs that only reads its arguments or prints its help.
HEAVY = (
    "numpy",
    "scipy",
    "pydantic",
    "pint",
    "matplotlib",
    "typst",
    "ruamel",
    "airportsdata",
    "astral",
    "metar",
)


def loaded_after(*arguments):
    code = (
        "import sys; from sortiewright.cli import run; run(sys.argv[1:]); "
        f"print(*(name for name in {HEAVY!r} if name in sys.modules), file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, *arguments], capture_output=True, text=True, encoding="utf-8", check=True
    )
    return done.stderr.split()


@pytest.mark.parametrize(
    "arguments",
    [("--help",), ("calc", "turn", "--help"), ("--version",), ("completion", "bash")],
    ids=" ".join,
)
def test_help_and_completion_load_no_heavy_library(arguments):
    assert loaded_after(*arguments) == []


def test_computation_by_hand_loads_no_drawing_and_no_typesetter():
    assert not {"matplotlib", "typst", "airportsdata"} & set(
        loaded_after("calc", "turn", "450", "--bank", "30")
    )


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_script_knows_commands_and_options(command, shell):
    script = command("completion", shell).out

    for word in ("density-altitude", "load-factor", "scheme", "half-letter"):
        assert word in script


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_shell_accepts_its_completion_script(command, tmp_path, shell):
    program = shutil.which(shell)
    if program is None:
        pytest.skip(f"{shell} is not here")
    script = tmp_path / "script"
    script.write_text(command("completion", shell).out, encoding="utf-8")

    subprocess.run([program, "-n", str(script)], check=True)
