"""Help: no command without its sentence, its options in words, and an example that runs."""

import gzip
import importlib.util
import inspect
import io
import json
import re
import shlex
import sys
from importlib import resources
from typing import Literal, get_args, get_origin

import pytest
from rich.console import Console

from sortiewright import CAUTION, __version__
from sortiewright.cards import render_cards
from sortiewright.cli import app
from sortiewright.link import PartsWriter, Row

SHIPPED = resources.files("sortiewright") / "packs"


def load_maker(root):
    spec = importlib.util.spec_from_file_location("make_cli_page", root / "tools" / "make_cli_page.py")
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def walk(parent, path=()):
    yield path, parent
    for name, one in parent.resolved_commands().items():
        if not name.startswith("-"):
            yield from walk(one, (*path, name))


COMMANDS = dict(walk(app))
LEAVES = {path: one for path, one in COMMANDS.items() if one.default_command and path}


def examples(text):
    return re.findall(r"^\s*Example: (sortiewright .+)$", text, re.MULTILINE)


EXAMPLES = {path: examples(one.help)[0] for path, one in COMMANDS.items() if examples(one.help)}


@pytest.mark.parametrize("path", COMMANDS, ids=" ".join)
def test_command_has_one_sentence_and_one_example(path):
    text = COMMANDS[path].help
    sentence = text.strip().split("\n\n")[0]

    assert sentence.endswith(".")
    assert sentence[0].isupper()
    assert len(sentence) <= 110
    assert len(examples(text)) == 1
    assert examples(text)[0].startswith(" ".join(("sortiewright", *path)))


@pytest.mark.parametrize("path", LEAVES, ids=" ".join)
def test_every_argument_and_option_is_explained(path):
    arguments = LEAVES[path].assemble_argument_collection(parse_docstring=True)
    silent = [one.name for one in arguments if one.show and not one.parameter.help]

    assert silent == []


@pytest.mark.parametrize("path", COMMANDS, ids=" ".join)
@pytest.mark.parametrize("columns", [60, 80, 120])
def test_help_fits_the_terminal(path, columns):
    console = Console(file=io.StringIO(), width=columns, color_system=None)
    app.help_print(list(path), console=console)
    # What is to be copied stays whole: the example, and how the command is typed.
    lines = [line for line in console.file.getvalue().splitlines() if "sortiewright " not in line]

    assert [line for line in lines if len(line) > columns] == []
    assert [line for line in lines if line != line.rstrip()] == []


@pytest.mark.parametrize("path", [("plan",), ("calc", "turn")], ids=" ".join)
def test_help_goes_to_stdout_without_colour(command, path):
    ran = command(*path, "--help")

    assert ran.code == 0
    assert ran.out.startswith(f"Usage: sortiewright {' '.join(path)} ")
    assert ran.err == ""
    assert "\x1b" not in ran.out


@pytest.fixture
def flight_files(tmp_path, project_root, path):
    """Put the files that examples name into the folder in which they run: a flight, its sortie, a broken
    log."""
    data = project_root / "tests" / "data"
    packed = (data / "recordings" / "nominal.csv.gz").read_bytes()
    (tmp_path / "flight.csv.gz").write_bytes(packed)
    rows = gzip.decompress(packed).splitlines(keepends=True)
    (tmp_path / "flight.csv").write_bytes(b"".join(rows[:40] if path == ("link", "replay") else rows))
    if path == ("link", "recover"):
        PartsWriter(tmp_path / "flight.parquet").write([Row(0.0, {"pitch": 0.1})])
    (tmp_path / "points.csv").write_bytes((data / "handbook_points" / "whinchat.csv").read_bytes())
    sortie = (data / "sorties" / "t38_departure.yaml").read_text(encoding="utf-8")
    pack = json.dumps(str(data / "packs" / "t38_sampled"))
    (tmp_path / "sortie.yaml").write_text(sortie.replace("../packs/t38_sampled", pack), encoding="utf-8")


DRAWN = {(), ("demo",), ("cards",), ("pack", "check")}


@pytest.mark.parametrize(
    "path",
    [pytest.param(one, marks=[pytest.mark.slow] if one in DRAWN else []) for one in EXAMPLES],
    ids=" ".join,
)
def test_example_runs(command, path, flight_files):
    program, *arguments = shlex.split(EXAMPLES[path])
    ran = command(*arguments)

    assert program == "sortiewright"
    assert ran.code == 0, ran.err
    assert ran.out


def test_caution_stands_once_in_the_top_help_and_nowhere_else(command):
    words = " ".join(command("--help").out.split())

    assert words.count(CAUTION) == 1
    assert CAUTION not in " ".join(command("plan", "--help").out.split())


def test_version(command):
    assert command("--version").out == f"sortiewright {__version__}\n"


def test_no_arguments_show_the_help(command):
    assert command().out == command("--help").out


def test_page_of_commands_is_not_stale(project_root):
    maker = load_maker(project_root)

    assert maker.PAGE.read_text(encoding="utf-8") == maker.page(), "run python tools/make_cli_page.py"


@pytest.mark.parametrize(
    ("option", "parameter"),
    [("Paper", "paper"), ("Scheme", "scheme"), ("Card", "cards"), ("Seat", "seats"), ("Format", "formats")],
)
def test_choices_of_cards_are_those_of_the_card_room(option, parameter):
    ours = getattr(sys.modules["sortiewright.commands.cards"], option)
    hint = inspect.signature(render_cards, eval_str=True).parameters[parameter].annotation

    assert set(get_args(ours)) == literals(hint)


def literals(hint):
    """Return the texts of every Literal in a type."""
    if get_origin(hint) is Literal:
        return set(get_args(hint))
    return set().union(*(literals(one) for one in get_args(hint)), set())


def test_every_part_of_a_pack_has_its_schema(command):
    parts = get_args(sys.modules["sortiewright.commands.pack"].Part)
    files = {path.stem for path in (SHIPPED / "dotterel").glob("*.yaml")}

    assert set(parts) == files
    for part in parts:
        assert command("pack", "schema", part).json["title"].startswith(f"{part}.yaml")
