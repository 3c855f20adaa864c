"""Messages as JSON: what is read, what is refused and why, and that nothing else can happen."""

import contextlib
import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sortiewright.link.channel_values import UnknownUnit, checked, unit_of
from sortiewright.link.counts import Refused
from sortiewright.link.messages import (
    FITS,
    LONGEST,
    Hello,
    Sample,
    hello_text,
    read_message,
    sample_texts,
)
from sortiewright.pack import CHANNELS

GOOD = {"t": 12.5, "seq": 7, "v": {"pitch": 0.1, "canopy_locked": True, "master_arm": "safe"}}
NUMBERS = [name for name, one in CHANNELS.items() if one.kind == "number" and name != "time"]


def text(**changes):
    return json.dumps(GOOD | changes).encode()


def test_sample_is_read_as_it_was_written():
    assert read_message(text()) == Sample(12.5, 7, GOOD["v"], None)
    assert read_message(text(u=1)).units == 1
    assert read_message(text() + b"\r\n") == read_message(text())


def test_hello_is_read_with_its_units():
    said = read_message(hello_text(1, {"calibrated_airspeed": "kt", "outside_air_temperature": "degC"}, "me"))

    assert isinstance(said, Hello)
    assert said.sender == "me"
    # 1 kt is 1852 m an hour exactly, and 0 degC 273.15 K (NIST SP 811, B.8 and B.6).
    assert said.units["calibrated_airspeed"] == (1852 / 3600, 0.0)
    assert said.units["outside_air_temperature"] == (1.0, 273.15)


DEEP = b"[" * 4000
HUGE = b'{"t": 1, "seq": 1, "v": {"pitch": ' + b"9" * 5000 + b"}}"


WRONG = [
    (b" \n", "empty"),
    (b"x" * (LONGEST + 1), "oversize"),
    (DEEP, "nesting"),
    (b'{"v":' * 1000, "nesting"),
    (b'{"t": "\xff\xfe", "seq": 1, "v": {}}', "not_utf8"),
    (b"\x00\x01garbage", "not_json"),
    (text()[:-2], "not_json"),
    (text() + text(), "not_json"),
    (b"\xef\xbb\xbf" + text(), "not_json"),
    (HUGE, "not_json"),
    (b"[1, 2]", "not_a_message"),
    (b"null", "not_a_message"),
    (b"{}", "not_a_message"),
    (text(v=[1]), "not_a_message"),
    (text(w=1), "not_a_message"),
    (text(u=[1]), "not_a_message"),
    (text(u="x" * 100), "not_a_message"),
    (b'{"t": 1, "t": 2, "seq": 1, "v": {}}', "duplicate_key"),
    (b'{"t": 1, "seq": 1, "v": {"pitch": 1, "pitch": 2}}', "duplicate_key"),
    (b'{"t": NaN, "seq": 1, "v": {}}', "bad_time"),
    (b'{"t": 1e999, "seq": 1, "v": {}}', "bad_time"),
    (b'{"t": ' + b"9" * 300 + b', "seq": 1, "v": {}}', "bad_time"),
    (text(t=True), "bad_time"),
    (text(t="1"), "bad_time"),
    (text(t=None), "bad_time"),
    (text(seq=-1), "bad_sequence"),
    (text(seq=1.0), "bad_sequence"),
    (text(seq=True), "bad_sequence"),
    (text(seq=2**60), "bad_sequence"),
    (b'{"hello": 1, "units": {"pitch": "kt"}}', "bad_unit"),
    (b'{"hello": 1, "units": {"pich": "deg"}}', "bad_unit"),
    (b'{"hello": 1, "units": {"pitch": 3}}', "bad_unit"),
    (b'{"hello": 1, "units": {"canopy_locked": "deg"}}', "bad_unit"),
    (b'{"hello": 1, "units": []}', "not_a_message"),
    (b'{"hello": [1]}', "not_a_message"),
]


@pytest.mark.parametrize(
    ("datagram", "cause"), WRONG, ids=[f"{cause}-{at}" for at, (_, cause) in enumerate(WRONG)]
)
def test_what_is_wrong_has_its_cause(datagram, cause):
    with pytest.raises(Refused) as refused:
        read_message(datagram)

    assert refused.value.cause == cause


def test_unit_that_a_channel_does_not_have_is_said_with_those_it_has():
    with pytest.raises(UnknownUnit, match=r'"furlong" is no unit of altitude. Write one of: m, ft'):
        unit_of("altitude", "furlong")


@pytest.mark.parametrize(
    ("channel", "raw", "value", "cause"),
    [
        ("pitch", 1, 1.0, None),
        ("pitch", None, None, None),
        ("pitch", True, None, "wrong_type"),
        ("pitch", "1", None, "wrong_type"),
        ("pitch", [1], None, "wrong_type"),
        ("pitch", math.nan, None, "not_finite"),
        ("pitch", -math.inf, None, "not_finite"),
        ("pitch", 1e10, None, "out_of_range"),
        ("pitch", 10**400, None, "out_of_range"),
        ("canopy_locked", True, True, None),
        ("canopy_locked", 0, False, None),
        ("canopy_locked", 2, None, "wrong_type"),
        ("canopy_locked", "yes", None, "wrong_type"),
        ("canopy_locked", [], None, "wrong_type"),
        ("master_arm", "armed", "armed", None),
        ("master_arm", "ARMED", None, "unknown_word"),
        ("master_arm", 1, None, "wrong_type"),
    ],
)
def test_value_is_of_its_channel_or_refused_for_a_cause(channel, raw, value, cause):
    assert checked(CHANNELS[channel], raw) == (value, cause)


@given(
    st.floats(0, 1e6),
    st.dictionaries(st.sampled_from(NUMBERS), st.floats(-1e9, 1e9), max_size=len(NUMBERS)),
)
def test_what_is_sent_comes_back_bit_for_bit_in_datagrams_that_fit(time, values):
    sent = list(sample_texts(time, 100, values))
    read = [read_message(one) for one in sent]

    assert all(len(one) <= FITS for one in sent)
    assert [one.sequence for one in read] == list(range(100, 100 + len(sent)))
    assert {one.time for one in read} == {time}
    assert {name: value for one in read for name, value in one.values.items()} == values


def test_number_that_is_not_finite_is_sent_as_not_known():
    (one,) = sample_texts(1.0, 1, {"pitch": math.nan, "bank": math.inf})

    assert read_message(one).values == {"pitch": None, "bank": None}


@given(st.binary(max_size=400))
def test_no_bytes_do_anything_but_read_or_be_refused(noise):
    whole = text()
    for data in (noise, b"{" + noise, whole[:20] + noise + whole[20:]):
        with contextlib.suppress(Refused):
            assert isinstance(read_message(data), Hello | Sample)
