"""Label placement: no two labels overlap, whatever is asked for."""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sortiewright.cards.axes import ticks
from sortiewright.cards.labels import Box, Label, crossings, place_around, raise_flags

WIDTH, HEIGHT = 370.0, 200.0
BOUNDS = Box(0.0, 0.0, WIDTH, HEIGHT)


def labels(most):
    sizes = st.tuples(
        st.floats(5, 160), st.floats(8, 30), st.floats(0, WIDTH, width=32), st.floats(0, HEIGHT, width=32)
    )
    return st.lists(sizes, max_size=most).map(
        lambda many: [Label(str(n), w, h, (x, y)) for n, (w, h, x, y) in enumerate(many)]
    )


@given(labels(12))
def test_flags_on_one_tier_never_overlap_and_stay_on_the_picture(many):
    flags = raise_flags(many, left=0.0, right=WIDTH)

    assert sorted(flag.label.name for flag in flags) == sorted(label.name for label in many)
    for one, other in combinations(flags, 2):
        assert one.tier != other.tier or one.right <= other.left or other.right <= one.left
    assert all(flag.left >= -1e-9 and flag.right <= WIDTH + 1e-9 for flag in flags)


@given(st.lists(st.floats(0, 190), min_size=1, max_size=9))
def test_no_leader_crosses_a_flag_where_all_can_stand_to_the_right(places):
    flags = raise_flags(
        [Label(str(n), 150.0, 20.0, (x, 0.0)) for n, x in enumerate(places)], left=0.0, right=370.0
    )

    assert crossings(flags) == 0


def test_a_flag_wider_than_the_picture_is_named():
    with pytest.raises(ValueError, match="board"):
        raise_flags([Label("board", 400.0, 10.0, (1.0, 0.0))], left=0.0, right=WIDTH)


@given(labels(14), st.lists(st.tuples(st.floats(0, WIDTH), st.floats(0, HEIGHT)), max_size=6))
def test_placed_labels_never_overlap_each_other_or_what_is_taken(many, points):
    taken = [Box(100.0, 50.0, 40.0, 20.0), Box(200.0, 150.0, 60.0, 12.0)]
    boxes, homeless = place_around(many, bounds=BOUNDS, taken=taken, curves=[points])

    assert set(boxes) | {label.name for label in homeless} == {label.name for label in many}
    for one, other in combinations([*boxes.values(), *taken], 2):
        assert not one.overlaps(other)
    assert all(box.within(BOUNDS) for box in boxes.values())


def test_a_label_with_room_stands_beside_its_point_and_off_the_curve():
    curve = [(0.0, 100.0), (370.0, 100.0)]
    boxes, homeless = place_around([Label("a", 50.0, 12.0, (180.0, 100.0))], bounds=BOUNDS, curves=[curve])

    assert homeless == []
    assert not any(boxes["a"].contains((x, 100.0)) for x in range(0, 371, 2))
    assert abs(boxes["a"].top - 100.0) < 30.0


@given(st.floats(-1e4, 1e4), st.floats(1e-2, 1e4), st.integers(2, 9))
def test_ticks_are_few_round_and_inside(low, extent, most):
    found = ticks(low, low + extent, most)

    assert len(found) <= most
    assert all(low - 1e-6 * extent <= tick <= low + extent * (1 + 1e-6) for tick in found)
