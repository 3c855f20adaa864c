"""Set the project up and check it, with nothing but Python: `python3 dev.py`.

python3 dev.py                        install into .venv and show the demonstration sortie
python3 dev.py desk [...]             open the desk on the demonstration sortie; the rest goes to it
python3 dev.py check                  format, lint, types, import contracts
python3 dev.py test [--fast] [...]    the same and the tests, without the slow ones; the rest goes to pytest
"""

import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Generator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import IO

# Must come before anything that an older Python cannot run.
if not (3, 11) <= sys.version_info[:2] <= (3, 13):
    sys.exit(
        "dev.py: this is Python {}.{}; sortiewright needs 3.11, 3.12 or 3.13. Try: python3.13 dev.py".format(
            *sys.version_info
        )
    )

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
SCRIPTS = VENV / ("Scripts" if sys.platform == "win32" else "bin")
SUFFIX = ".exe" if sys.platform == "win32" else ""
PYTHON = SCRIPTS / f"python{SUFFIX}"
STAMP = VENV / "sortiewright-installed.txt"
INSTALLED_FROM = ("pyproject.toml", "hatch_build.py", "package-lock.json", "src/sortiewright/__init__.py")

CHECKS = {
    "format": [PYTHON, "-m", "ruff", "format", "--check", "--output-format=concise", "."],
    "lint": [PYTHON, "-m", "ruff", "check", "--output-format=concise", "."],
    "imports": [SCRIPTS / f"lint-imports{SUFFIX}", "--no-logo"],
    "types": [PYTHON, "-m", "pyright"],
}
BESIDE_THE_TESTS = "types"
"""The one check that takes long: of two cores it needs one, and no test waits for it."""


def main(arguments: list[str]) -> int:
    """Carry out one command and return its exit code."""
    command, rest = (arguments[0], arguments[1:]) if arguments else ("demo", [])
    if command == "demo" and not rest:
        install(extras="")
        return demo()
    if command == "desk":
        install(extras="")
        return desk(rest)
    if command == "check" and not rest:
        install(extras="test")
        return report(run_checks())
    if command == "test":
        install(extras="test")
        install_browser()
        return test(rest)
    print(__doc__, file=sys.stderr)
    return 0 if command in ("-h", "--help", "help") else 2


def demo() -> int:
    """Print the demonstration sortie and name the next step."""
    sortiewright = SCRIPTS / f"sortiewright{SUFFIX}"
    code = run([sortiewright, "demo"])
    shown = sortiewright.relative_to(ROOT)
    print(
        "\nNext: python3 dev.py desk opens the same sortie in a browser. "
        f"{shown} --help names every command; python3 dev.py test runs every check."
    )
    return code


def desk(arguments: list[str]) -> int:
    """Serve the desk until Ctrl-C, which is for the desk: it needs a moment to end cleanly."""
    command = [str(SCRIPTS / f"sortiewright{SUFFIX}"), "desk", *arguments]
    with subprocess.Popen(command, cwd=ROOT) as served:
        while True:
            try:
                return served.wait()
            except KeyboardInterrupt:
                continue


def test(arguments: list[str]) -> int:
    """Run the checks, and the tests beside the slow one; pytest's closing line ends a good run."""
    failed = run_checks(but=BESIDE_THE_TESTS)
    chosen = [argument for argument in arguments if argument != "--fast"]
    if "--fast" in arguments:
        chosen = ["-m", "not slow", *chosen]
    # Each worker takes one half of the tests, in their order: what is made once for a module is made once.
    shared = ["-n", "auto", "--dist", "worksteal"]
    workers = [] if any(argument.startswith("-n") for argument in chosen) else shared
    command = [PYTHON, "-m", "pytest", *workers, *chosen]
    with beside(BESIDE_THE_TESTS) as also_failed:
        announce("tests", command)
        if run(command) != 0:
            failed.append("tests")
    failed += also_failed
    return report(failed) if failed else 0


@contextmanager
def beside(name: str) -> Generator[list[str], None, None]:
    """Run a check beside what is done meanwhile; at the end the list holds its name if it failed.

    What it says is printed then, and only if it failed: it shall not stand between other lines.
    """
    failed: list[str] = []
    announce(f"{name}, beside the tests", CHECKS[name])
    with tempfile.TemporaryFile("w+", encoding="utf-8", errors="replace") as said:
        with started(CHECKS[name], said) as running:
            yield failed
        if running.returncode != 0:
            said.seek(0)
            print(f"\n== {name} FAILED\n{said.read()}", flush=True)
            failed.append(name)


def run_checks(but: str = "") -> list[str]:
    """Run all checks, also after a failed one, and return the names of those that failed."""
    return [name for name, command in CHECKS.items() if name != but and not step(name, command)]


def step(name: str, command: Sequence[Path | str]) -> bool:
    """Run one named command, print how long it took, and return whether it went well."""
    announce(name, command)
    start = time.monotonic()
    passed = run(command) == 0
    print(f"== {name} {'passed' if passed else 'FAILED'} in {time.monotonic() - start:.1f} s\n", flush=True)
    return passed


def announce(name: str, command: Sequence[Path | str]) -> None:
    """Print the name of a step and what it runs, as one would type it inside .venv."""
    print(f"== {name}: {' '.join([Path(command[0]).stem, *map(str, command[1:])])}", flush=True)


def report(failed: list[str]) -> int:
    """Print what failed, if anything did, and return the exit code for it."""
    print(f"== failed: {', '.join(failed)}" if failed else "== all checks passed", flush=True)
    return 1 if failed else 0


def install(extras: str) -> None:
    """Make .venv and install the project into it, unless that was done from these very files."""
    done = STAMP.read_text("utf-8") if STAMP.is_file() else ""
    enough = {stamp(extras), stamp("test")}  # the extra for tests adds to what a user needs
    if PYTHON.exists() and done in enough:
        return
    if not PYTHON.exists():
        make_venv()
    target = f"{ROOT}[{extras}]" if extras else str(ROOT)
    print("== install: the first time takes a minute or two", flush=True)
    if run([PYTHON, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "-e", target]):
        sys.exit("dev.py: the installation failed; what pip says is above.")
    STAMP.write_text(stamp(extras), "utf-8")


def install_browser() -> None:
    """Install Debian's Chromium where it is missing and we may; without one the browser tests are skipped."""
    if shutil.which("chromium") or not shutil.which("apt-get") or getattr(os, "geteuid", lambda: 1)() != 0:
        return
    print("== install: chromium, for the tests of pages", flush=True)
    quiet = ["apt-get", "-qq", "-o=Dpkg::Use-Pty=0"]
    if run([*quiet, "update"]) or run([*quiet, "install", "--yes", "--no-install-recommends", "chromium"]):
        print("dev.py: no browser could be installed; the tests of pages are skipped", file=sys.stderr)


def make_venv() -> None:
    """Make .venv with this Python."""
    if not all(importlib.util.find_spec(module) for module in ("venv", "ensurepip")):
        sys.exit(
            "dev.py: this Python comes without the venv module. "
            "On Debian and Ubuntu: apt install python3-venv. Elsewhere install Python from python.org."
        )
    if run([sys.executable, "-m", "venv", VENV]):
        sys.exit(
            f"dev.py: could not make {VENV}; what Python says is above. Remove that folder and try again."
        )


def stamp(extras: str) -> str:
    """Return a digest of what decides an installation: its extras, a few files and where the project lies."""
    parts = [extras, str(ROOT), *((ROOT / name).read_text("utf-8") for name in INSTALLED_FROM)]
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()


def run(command: Sequence[Path | str]) -> int:
    """Run a command in the project's folder and return its exit code."""
    with started(command) as running:
        return running.wait()


def started(command: Sequence[Path | str], said: IO[str] | None = None) -> subprocess.Popen[bytes]:
    """Return a command started in the project's folder; what it says goes where ours does, or into a file."""
    # Bytecode is kept wherever Python may write it: some sixty processes start in the tests, and each would
    # translate the project anew.
    surroundings = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    stderr = None if said is None else subprocess.STDOUT
    return subprocess.Popen(
        [str(part) for part in command], cwd=ROOT, env=surroundings, stdout=said, stderr=stderr
    )


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit("dev.py: stopped")
