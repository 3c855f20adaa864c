"""A pack sampled from a flight model through check, plan, cards and the proof of its checklists."""

import os
from pathlib import Path

import pytest

MODELS = ("T38", "T37", "F80C", "A4", "f16", "737", "A320", "c172p", "c310", "t6texan2", "pc7")
"""Fast jets, jet trainers, airliners, light aircraft and propeller trainers."""
NEEDED = ("rotation_speed", "lift_off_speed", "ground_run", "decision_speed", "approach_cas", "touchdown_cas")


@pytest.mark.slow
@pytest.mark.skipif(
    not os.environ.get("SORTIEWRIGHT_FULL"), reason="half a minute a model; SORTIEWRIGHT_FULL=1 takes eleven"
)
@pytest.mark.parametrize("model", MODELS)
def test_a_sampled_pack_goes_through_the_whole_program(command, tmp_path, model):
    sampled = command("pack", "sample", model, "--out", "made", "--json")
    first = str(Path("made") / "sorties" / "first.yaml")
    checked = command("pack", "check", "made")
    proved = command("checklist", "prove", "made")
    shown = command("checklist", "show", first)
    planned = command("plan", first, "--json")
    printed = command("cards", first, "--checklists", "--out", "cards")
    figures = {name: one for section in planned.json["sections"].values() for name, one in section.items()}

    assert sampled.code == checked.code == proved.code == 0
    assert planned.code == printed.code == shown.code == (1 if sampled.json["verdict"] == "no-go" else 0)
    assert "Guidelines: no finding" in checked.out
    assert all(figures[name]["value"] is not None for name in NEEDED)
    assert list((tmp_path / "cards").glob("checklists-*.pdf"))


# The recordings were flown by a script in the same flight model: one as briefed; one with fast taxi, late and
# abrupt rotation, a late gear (tests/data/recordings/README.md).
@pytest.mark.slow
@pytest.mark.skipif(
    not os.environ.get("SORTIEWRIGHT_FULL"), reason="half a minute; SORTIEWRIGHT_FULL=1 debriefs two flights"
)
def test_generic_rules_find_the_flaws_that_were_flown_and_no_others(command, tmp_path, project_root):
    data = project_root / "tests" / "data"
    command("pack", "sample", "T38", "--out", "made", "--seats", "2", "--json")
    text = (data / "sorties" / "t38_departure.yaml").read_text("utf-8")
    (tmp_path / "day.yaml").write_text(text.replace("../packs/t38_sampled", "made"), "utf-8")

    def broken(recording: str) -> set[str]:
        file = str(data / "recordings" / recording)
        ran = command("debrief", file, "--sortie", "day.yaml", "--no-pdf", "--json")
        return {
            one["rule"]
            for flight in ran.json["flights"]
            for one in flight["rules"]
            if one["outcome"] == "broken"
        }

    assert broken("nominal.csv.gz") == set()
    assert {"taxi_fast", "late_rotation", "rotation_fast", "gear_late"} <= broken("flawed_departure.csv.gz")
