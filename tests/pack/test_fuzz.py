"""Whatever a file holds, the answer is a pack or lines a person can act on, never a traceback.

``FUZZ_EXAMPLES=20000 pytest tests/pack/test_fuzz.py`` searches longer.
"""

import os
import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sortiewright.pack import InputError, load_pack, parse_yaml

EXAMPLES = int(os.environ.get("FUZZ_EXAMPLES", "60"))
LONGER = settings(
    max_examples=EXAMPLES,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)

# What people and programs put where something else belongs.
STRANGE = [
    "", "~", "null", "true", "0", "-1", "1e308", "1e999", ".nan", "-.inf", "99999999999999999999", "0x10",
    "{}", "[]", "[[]]", "{a: b}", "[1, 2]", "[0, 0]", "[1, [2]]", "5 kg", "-5 kg", "0 kg", "5 kt", "5 deg",
    "5,5 kg", "%", "*a", "&a", "!t", "!!float", "<<", "|", ">", "'", '"', "#", ": ", "- ", "? ", "\t", "\n",
    "\n\n  ", "---\n", "...", "\ufeff", "\u2028", "\xe9", "\U0001f6e9", "\x00", "\x7f", "value", "values",
    "unit", "source", "note", "file", "mach", "{value: 3}", "{value: {value: 1 kg}}",
    "{file: tables/rpm.csv}", "{file: ..}", "{file: 3}", "{unit: 3}", "tables/rpm.csv", "external", "clean",
    "military", "maximum", "x" * 3000,
]  # fmt: skip
TOKEN = re.compile(r"[^\s,:{}\[\]]+|[,:{}\[\]]")


@st.composite
def mutated(draw, text):
    """Return a text with a few tokens exchanged, dropped or doubled, or lines moved."""
    for _ in range(draw(st.integers(1, 4))):
        tokens = list(TOKEN.finditer(text)) or [re.match("", text)]
        match draw(st.integers(0, 5)):
            case 0 | 1:
                token = draw(st.sampled_from(tokens))
                text = text[: token.start()] + draw(st.sampled_from(STRANGE)) + text[token.end() :]
            case 2:
                token, other = draw(st.sampled_from(tokens)), draw(st.sampled_from(tokens))
                text = text[: token.start()] + other[0] + text[token.end() :]
            case 3:
                token = draw(st.sampled_from(tokens))
                text = text[: token.start()] + text[token.end() :]
            case 4:
                lines = text.split("\n")
                line = lines.pop(draw(st.integers(0, len(lines) - 1)))
                for _ in range(draw(st.integers(0, 2))):
                    lines.insert(
                        draw(st.integers(0, len(lines))), draw(st.sampled_from(["", " ", "  "])) + line
                    )
                text = "\n".join(lines)
            case _:
                at = draw(st.integers(0, len(text)))
                text = text[:at] + draw(st.text(max_size=6)) + text[at:]
    return text


def answer(load):
    """Check that the answer is a result or an ``InputError`` of one-line faults."""
    problems = None
    try:
        load()
    except InputError as error:
        problems = error.problems
    if problems is not None:
        assert problems
        assert all(problem.file and "\n" not in str(problem) for problem in problems)
        assert all(problem.line is None or problem.line >= 1 for problem in problems)


def restore(folder, files):
    """Write the valid files."""
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8")


@pytest.fixture(scope="module")
def workbench(tmp_path_factory):
    return tmp_path_factory.mktemp("fuzz")


@LONGER
@given(data=st.data())
def test_a_pack_with_a_broken_file(data, workbench, pack_files):
    folder = workbench / "wren"
    name = data.draw(st.sampled_from([name for name in pack_files if name != "notes.md"]))
    text = data.draw(mutated(pack_files[name]))
    restore(folder, pack_files)
    (folder / name).write_bytes(text.encode("utf-8", "surrogatepass"))

    answer(lambda: load_pack(folder))


@LONGER
@given(raw=st.binary(max_size=300), data=st.data())
def test_a_pack_with_a_file_of_any_bytes(raw, data, workbench, pack_files):
    folder = workbench / "bytes"
    name = data.draw(st.sampled_from(sorted(pack_files)))
    restore(folder, pack_files)
    (folder / name).write_bytes(raw)

    answer(lambda: load_pack(folder))


@LONGER
@given(data=st.data())
def test_a_mutated_yaml_text(data, pack_files):
    name = data.draw(st.sampled_from([name for name in pack_files if name.endswith(".yaml")]))
    text = data.draw(mutated(pack_files[name]))

    answer(lambda: parse_yaml(text, name))


@LONGER
@given(name=st.text(max_size=60))
def test_any_name_of_a_pack(name, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)

    answer(lambda: load_pack(name))
