"""What must hold for the project as a whole, whatever it computes."""

import re
import subprocess
import sys
import sysconfig
import tomllib
from importlib import metadata, resources
from pathlib import Path

import grimp
import pytest
from fontTools.ttLib import TTFont

import sortiewright

FONTS = ["B612-Regular.ttf", "B612-Bold.ttf", "B612-Italic.ttf", "B612-BoldItalic.ttf"]
SIGNS_ON_CARDS = "°×±−–—·…←↑→↓✓≤≥²½µμ′″“”\u00a0\u2009\u2011\u202f"


def script(name: str) -> Path:
    """Return where the environment that runs the tests keeps a command."""
    return Path(sysconfig.get_path("scripts")) / f"{name}{'.exe' if sys.platform == 'win32' else ''}"


def run(*command: str | Path, cwd: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [str(part) for part in command],
        cwd=cwd,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )


@pytest.fixture(scope="session")
def own_files(project_root: Path) -> list[Path]:
    """Return every file that git keeps or would keep; outside git, all but what .gitignore leaves out."""
    listed = run("git", "ls-files", "-z", "-co", "--exclude-standard", cwd=project_root)
    if listed.returncode == 0:
        files = [project_root / name for name in listed.stdout.split("\0") if name]
    else:
        lines = (project_root / ".gitignore").read_text("utf-8").splitlines()
        ignored = [f"/{line.strip('/')}/" for line in lines if line.endswith("/")]
        files = [
            path
            for path in project_root.rglob("*")
            if not any(folder in f"/{path.relative_to(project_root).as_posix()}" for folder in ignored)
        ]
    return [path for path in files if path.is_file()]


@pytest.fixture(scope="session")
def own_text(own_files: list[Path]) -> dict[Path, str]:
    """Return the text of every own file that is text."""
    text = {}
    for path in own_files:
        content = path.read_bytes()
        if b"\0" not in content[:8192]:
            text[path] = content.decode("utf-8", errors="replace")
    return text


def lines_with(pattern: str, own_text: dict[Path, str], root: Path) -> list[str]:
    """Return each line that matches, as file:line text."""
    return [
        f"{path.relative_to(root)}:{number} {line.strip()[:120]}"
        for path, text in own_text.items()
        for number, line in enumerate(text.splitlines(), start=1)
        if re.search(pattern, line)
    ]


def test_installed_version_is_the_one_in_the_source(project_root):
    project = tomllib.loads((project_root / "pyproject.toml").read_text("utf-8"))["project"]

    assert project["dynamic"] == ["version"]
    assert metadata.version(project["name"]) == sortiewright.__version__


def test_caution_stands_where_anyone_can_print_it():
    assert sortiewright.CAUTION.startswith("For simulation and study only: ")


@pytest.mark.parametrize("name", FONTS)
def test_font_is_an_asset_with_every_sign_cards_use(name):
    with resources.as_file(resources.files("sortiewright") / "assets" / "fonts" / name) as path:
        font = TTFont(path)
    cmap = font.getBestCmap()

    assert font["name"].getBestFamilyName() == "B612"
    assert [sign for sign in SIGNS_ON_CARDS if ord(sign) not in cmap] == []


@pytest.mark.parametrize("name", FONTS)
def test_digits_of_a_font_are_of_one_width(name):
    with resources.as_file(resources.files("sortiewright") / "assets" / "fonts" / name) as path:
        font = TTFont(path)
    widths = {font["hmtx"][font.getBestCmap()[ord(digit)]][0] for digit in "0123456789"}

    assert len(widths) == 1


def test_fonts_come_with_their_licence():
    licence = (resources.files("sortiewright") / "assets" / "fonts" / "OFL.txt").read_text("utf-8")

    assert "SIL OPEN FONT LICENSE Version 1.1" in licence
    assert "The B612 Project Authors" in licence


def test_no_fetched_file_is_kept(own_files):
    fetched = {".ttf", ".otf", ".woff", ".woff2", ".whl", ".min.js"}

    assert [path for path in own_files if fetched & set(path.suffixes)] == []


def test_no_file_names_the_host_of_a_package_registry(own_text, project_root):
    host = r"(?i)\b[\w.-]*(?:registry|pypi|npm|hosted)[\w-]*\.(?:org|com|io|dev|net)\b"

    assert lines_with(host, own_text, project_root) == []


def test_lock_file_names_no_address(own_text, project_root):
    lock = {path: text for path, text in own_text.items() if path.name == "package-lock.json"}

    assert lock
    assert lines_with("://", lock, project_root) == []


def test_no_file_names_a_path_of_one_machine(own_text, project_root):
    posix = r"(?<![\w.~/-])/(?:home|opt|private|root|tmp|Users|work)/\w"
    windows = r"\b[A-Za-z]:[\\/]+(?:Users|Temp)\b"

    assert lines_with(f"{posix}|{windows}", own_text, project_root) == []


def test_import_contracts_hold(project_root):
    done = run(script("lint-imports"), "--no-logo", cwd=project_root)

    assert done.returncode == 0, done.stdout + done.stderr


def test_rooms_import_each_other_only_through_their_face():
    graph = grimp.build_graph("sortiewright", cache_dir=None)
    past_the_face = [
        f"{importer} imports {imported}"
        for importer in graph.modules
        for imported in graph.find_modules_directly_imported_by(importer)
        if imported.count(".") > 1 and importer.split(".")[:2] != imported.split(".")[:2]
    ]

    assert not past_the_face, "\n".join(sorted(past_the_face))


def test_command_line_starts(tmp_path):
    done = run(script("sortiewright"), "--help", cwd=tmp_path)

    assert done.returncode == 0, done.stderr
    assert "sortiewright" in done.stdout
