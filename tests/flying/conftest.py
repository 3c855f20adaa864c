"""One circuit of a sampled aircraft, flown once for all tests that look at it."""

from collections.abc import Callable
from pathlib import Path

import pytest

from sortiewright.flying import FlightOrder, FlownFlight, flaws_of, fly_plan
from sortiewright.sortie import LoadedSortie, load_sortie


@pytest.fixture(scope="session")
def t38_circuits(project_root: Path, tmp_path_factory: pytest.TempPathFactory) -> LoadedSortie:
    """Return the sortie of the sampled T38, with the fuel of a circuit at its landing."""
    data = project_root / "tests" / "data"
    text = (data / "sorties" / "t38_departure.yaml").read_text(encoding="utf-8")
    pack = (data / "packs" / "t38_sampled").as_posix()
    text = text.replace("../packs/t38_sampled", f'"{pack}"').replace("1000 lb", "3310 lb")
    file = tmp_path_factory.mktemp("circuit") / "sortie.yaml"
    file.write_text(text, encoding="utf-8")
    return load_sortie(str(file))


@pytest.fixture(scope="session")
def fly_t38(t38_circuits: LoadedSortie) -> Callable[..., FlownFlight]:
    """Return a function that flies the sortie with flaws, each set of them once."""
    done: dict[tuple[object, ...], FlownFlight] = {}

    def fly(*flaws: str, circuit: bool = True, taxies: bool = False) -> FlownFlight:
        key = (*flaws, circuit, taxies)
        if key not in done:
            order = FlightOrder(
                "T38",
                flaws_of(flaws),
                taxies=taxies,
                circuit=circuit,
                circuit_height=1000 * 0.3048,
                rate=10.0,
            )
            done[key] = fly_plan(t38_circuits, order)
        return done[key]

    return fly


@pytest.fixture(scope="session")
def clean_circuit(fly_t38: Callable[..., FlownFlight]) -> FlownFlight:
    """Return a circuit without flaws, from the runway to the stop."""
    return fly_t38()
