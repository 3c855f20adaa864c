"""The text of a pack's files reads back as what was meant."""

import numpy as np
import pytest

from sortiewright.pack import parse_yaml
from sortiewright.pack_sampling.pack_text import Sourced, column_text, csv_text, quantity, yaml_text


def test_values_with_sources_and_awkward_words_survive_yaml():
    entries = {
        "wing_area": Sourced("15.794 m2", "sampled: a source, with a comma"),
        "title": "On: off",
        "flag": True,
        "empty": {},
        "tanks": {"left wing": {"arm": "1.0 m", "capacity": Sourced("3 lb", 'the "tank"')}},
        "feed_order": [["a", "b"], ["c"]],
        "corners": [{"mass": "10 lb", "share": "20.0 %MAC"}],
    }
    read = parse_yaml(yaml_text(entries), "made.yaml").data

    assert read["wing_area"] == {"value": "15.794 m2", "source": "sampled: a source, with a comma"}
    assert read["title"] == "On: off"
    assert read["flag"] is True
    assert read["empty"] == {}
    assert read["tanks"]["left wing"]["capacity"]["source"] == 'the "tank"'
    assert read["feed_order"] == [["a", "b"], ["c"]]
    assert read["corners"][0]["share"] == "20.0 %MAC"


@pytest.mark.parametrize(("value", "text"), [(-1e-9, "0.00 m"), (-1.234, "-1.23 m"), (12.0, "12.00 m")])
def test_quantities_are_rounded_without_a_negative_nought(value: float, text: str):
    assert quantity(value, "m", 2) == text


def test_tables_have_a_corner_and_one_row_a_step():
    table = csv_text(
        "a \\ b", np.array([0.0, 0.5]), np.array([-2.0, 4.0]), np.array([[1.0, 2.0], [3.0, -4.0]]), 1, "said"
    )
    column = column_text("x deg", "y", np.array([0.0, 1.0]), np.array([0.25, 0.5]), 2, "said")

    assert table.splitlines() == ["# said", "a \\ b,0,0.5", "-2,1.0,2.0", "4,3.0,-4.0"]
    assert column.splitlines() == ["# said", "x deg,y", "0,0.25", "1,0.50"]
