"""Files and YAML."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML

from sortiewright.pack import FileError, InputError, parse_yaml, read_text_file


def parsed(text, **options):
    return parse_yaml(text, "f.yaml", **options).data


def refusal(text):
    with pytest.raises(InputError) as caught:
        parse_yaml(text, "f.yaml")
    return str(caught.value)


# YAML 1.2.2, 10.3.2 (core schema), the table of tag resolution and example 10.9.
@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("ON", "ON"),
        ("NO", "NO"),
        ("yes", "yes"),
        ("true", True),
        ("False", False),
        ("null", None),
        ("~", None),
        ("", None),
        ("0o7", 7),
        ("0x3A", 58),
        ("-19", -19),
        ("010", 10),
        ("0.", 0.0),
        ("-0.0", -0.0),
        (".5", 0.5),
        ("+12e03", 12000.0),
        ("-2E+05", -200000.0),
        (".inf", float("inf")),
        ("-.Inf", float("-inf")),
        ("12:30", "12:30"),
        ("1_000", "1_000"),
        ("2024-01-01", "2024-01-01"),
        ('"10"', "10"),
        ("'true'", "true"),
    ],
)
def test_scalars_are_those_of_yaml_1_2(text, value):
    found = parsed(f"key: {text}")["key"]

    assert found == value
    assert type(found) is type(value)


def test_numbers_stay_text_where_words_are_wanted():
    assert parsed("a: 1.10\nb: [1, 2.50]\nc: true\nd:", numbers=False) == {
        "a": "1.10",
        "b": ["1", "2.50"],
        "c": "true",
        "d": None,
    }


def test_every_key_and_item_knows_its_place():
    document = parse_yaml("a: 1\nb:\n  c:\n    - x\n    - [1, 2]\n    - {d: 5}\n", "f.yaml")

    assert document.position(("a",)) == (1, 1)
    assert document.position(("b", "c")) == (3, 3)
    assert document.position(("b", "c", 1)) == (5, 7)
    assert document.line(("b", "c", 1, 1)) == 5
    assert document.position(("b", "c", 2, "d")) == (6, 8)
    assert document.line(("b", "unknown")) == 2


# A row of numbers is read by a way of our own; ruamel.yaml's is the independent one.
ROWS = st.lists(
    st.one_of(st.integers(-999, 999), st.floats(-1e6, 1e6).map(lambda x: round(x, 4))), max_size=6
)
DATA = st.recursive(
    st.one_of(ROWS, st.integers(-99, 99), st.sampled_from(["ON", "kt", "5 kg", "a b"])),
    lambda inner: st.one_of(
        st.lists(inner, max_size=4),
        st.dictionaries(st.sampled_from(["a", "b", "c d", "e-f"]), inner, max_size=4),
    ),
    max_leaves=12,
)


def written(data, *, flow):
    from io import StringIO

    yaml = YAML(typ="safe", pure=True)
    yaml.default_flow_style = flow
    stream = StringIO()
    yaml.dump(data, stream)
    return stream.getvalue()


@given(DATA, st.sampled_from([True, False, None]))
def test_data_reads_as_ruamel_reads_it(data, flow):
    text = written(data, flow=flow)

    assert parsed(text) == YAML(typ="safe", pure=True).load(text) == data


@pytest.mark.parametrize(
    "text",
    [
        "[1, 2]: a",
        "{[1, 2]: a}",
        "a: [1, 2] b",
        "- [1, 2]\n  : 3",
        "[1, 2]\nb: 3",
        "a: [1, 2\n",
        "a: [1, 2]]",
    ],
)
def test_a_row_of_numbers_out_of_place_is_refused(text):
    refusal(text)


@pytest.mark.parametrize("text", ["[1, 2,]", "[ 1 , 2 ]", "[1,\n 2]", "[1, # a\n 2]", "{a: [1, 2], b: [3]}"])
def test_a_row_of_numbers_may_be_spaced_freely(text):
    assert parsed(text) == YAML(typ="safe", pure=True).load(text)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a: 1\nb: 2\na: 3", 'f.yaml:3  "a" stands here twice. The first is in line 1'),
        ("a: &x 1", 'f.yaml:1  the anchor "&x" is not allowed. Write the value where it is needed'),
        ("a: 1\nb: *x", 'f.yaml:2  the alias "*x" is not allowed. Write the value again'),
        ("a:\n  <<: {b: 1}", "f.yaml:2  a: the merge key << is not allowed. Write the values again"),
        ("a: !!python/object:os.system {}", 'tag "tag:yaml.org,2002:python/object:os.system" is not allowed'),
        ("a: 1\n\tb: 2", "f.yaml:2  a tab stands here. Indent with spaces"),
        ("a: b: c", 'f.yaml:1  a ":" is not expected here. Text that has ": " in it needs quotes'),
        ("a: 'b", "f.yaml:1  the text ends inside quotes. Close them"),
        ("a: [1, x", 'f.yaml:1  a "," or the closing "]" is missing'),
        ("unit: %", 'f.yaml:1  a value cannot begin with %. Put it in quotes: "%"'),
        (
            "a:\n  b: 1\n c: 2",
            "f.yaml:3  this does not fit the lines above. Check indentation, quotes and brackets",
        ),
        ("a: 1\n---\nb: 2", 'f.yaml:2  a second document begins here ("---"). Keep one in each file'),
        (
            "%YAML 1.1\n---\na: ON",
            "f.yaml:2  only plain YAML 1.2 is read here. Delete the lines that begin with %",
        ),
        ("? [1]\n: 2", "f.yaml:1  a key must be a single word or text. Is a quote missing around it?"),
        ("a: 1\nb: \x07", "f.yaml:2  the control character U+0007 is not text. Delete it"),
        ("[" * 100, "more than 40 levels inside each other are not read"),
    ],
)
def test_what_is_not_plain_yaml_is_refused_in_one_line(text, said):
    message = refusal(text)

    assert said in message
    assert "\n" not in message


# The "billion laughs": ten levels of ten aliases each. Nothing is built, and each anchor is named.
def test_a_yaml_bomb_is_refused():
    lines = ["a0: &a0 [lol, lol]"]
    lines += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 10)}]" for i in range(1, 10)]

    message = refusal("\n".join(lines))

    assert message.startswith('f.yaml:1  the anchor "&a0" is not allowed')
    assert message.endswith("and 50 more faults")


def test_all_faults_of_a_file_come_at_once():
    message = refusal("a: 1\na: 2\nb: !x 3\nc: [1\n")

    assert [line.split("  ")[0] for line in message.split("\n")] == ["f.yaml:2", "f.yaml:3", "f.yaml:5"]


def test_absurdly_long_numbers_are_numbers_still():
    assert parsed("a: " + "9" * 300) == {"a": float("9" * 300)}
    assert parsed("a: " + "9" * 5000) == {"a": float("inf")}


@given(st.text(max_size=200))
def test_any_text_is_data_or_refused(text):
    with suppress(InputError):
        parse_yaml(text, "f.yaml")


@given(st.text(alphabet="ab:-[]{}#&*!|>'\"%@`, \n\t?0.1", max_size=60))
def test_any_yaml_signs_are_data_or_refused(text):
    with suppress(InputError):
        parse_yaml(text, "f.yaml")


def file_of(tmp_path, raw):
    path = tmp_path / "f.yaml"
    path.write_bytes(raw)
    return path


def read_refusal(path):
    with pytest.raises(FileError) as caught:
        read_text_file(path, name=path.name)
    return str(caught.value)


def test_line_ends_and_byte_order_mark_are_taken_off(tmp_path):
    path = file_of(tmp_path, b"\xef\xbb\xbfa: 1\r\nb: 2\rc: 3\n")

    assert read_text_file(path) == "a: 1\nb: 2\nc: 3\n"


def test_files_that_are_not_text_are_refused(tmp_path):
    assert read_refusal(tmp_path / "none.yaml") == "none.yaml  there is no such file"
    assert read_refusal(tmp_path).endswith("  this is a folder, a file is wanted")
    assert (
        read_refusal(file_of(tmp_path, b"a: 1\nb: \0\1")) == "f.yaml:2  this is a binary file, text is wanted"
    )
    said = "f.yaml:2  byte 8 is not UTF-8 text. Save it as UTF-8"
    assert read_refusal(file_of(tmp_path, b"a: 1\nb: \xe9t\xe9")) == said
    utf16 = file_of(tmp_path, "a: 1".encode("utf-16"))
    assert read_refusal(utf16) == "f.yaml  this is UTF-16 text, UTF-8 is wanted. Save it as UTF-8"


def test_a_file_of_a_hundred_megabytes_is_not_read_whole(tmp_path):
    path = tmp_path / "f.yaml"
    with path.open("wb") as file:
        file.truncate(100_000_000)

    assert read_refusal(path) == "f.yaml  this file is larger than 2 MB. Is it the right file?"
