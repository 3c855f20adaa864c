"""Rules judged while the flight goes on say what the debrief says, and nothing that it would take back."""

from pathlib import Path

import numpy as np
import pytest

from sortiewright.commands.link_judge import LiveJudge
from sortiewright.link import rows_of_columns
from sortiewright.recording import flights_of, judge, load_rules, phase_limits_of, read_recording
from sortiewright.sortie import demo_sortie_path, load_sortie, plan

FOLDER = Path(__file__).parents[1] / "data" / "recordings"


@pytest.fixture(scope="module")
def day():
    loaded = load_sortie(demo_sortie_path())
    return loaded.pack, plan(loaded.sortie, loaded.pack)


@pytest.mark.parametrize("name", ["nominal", "flawed_departure"])
def test_findings_told_live_are_those_of_the_debrief(day, name):
    pack, made = day
    flown = read_recording(FOLDER / f"{name}.csv.gz")
    (flight,) = flights_of(flown, phase_limits_of(pack.pack))
    wanted = {(one.rule, round(one.begins)) for one in judge(flown, flight, load_rules(pack), made)[0]}
    live, told, before_the_end = LiveJudge(pack, made), set(), 0
    rows = list(rows_of_columns({"time": flown.time, **flown.columns}))
    for part in np.array_split(np.arange(len(rows)), 12):
        live.history.add([rows[number] for number in part])
        told |= {(data["rule"], round(data["begins"])) for _, data in live.new_findings(0.0)}
    before_the_end = len(told)
    told |= {(data["rule"], round(data["begins"])) for _, data in live.new_findings(0.0, last=True)}

    assert told == wanted
    assert before_the_end > 0.5 * len(wanted)


def test_too_little_to_judge_is_not_judged(day):
    live = LiveJudge(*day)
    live.history.add(list(rows_of_columns({"time": np.arange(10.0), "pitch": np.zeros(10)})))

    assert not live.is_due(1e9)
    assert live.new_findings(0.0, last=True) == []
