"""Packs sampled once in a run of the tests, and the flight models themselves."""

from collections.abc import Callable
from pathlib import Path

import pytest

from sortiewright.pack import LoadedPack, load_pack
from sortiewright.pack_sampling import FlightModel, pack_files, sample_model, write_pack_folder


@pytest.fixture
def t38() -> FlightModel:
    """Return a fresh T38, placed in the air."""
    model = FlightModel("T38")
    model.place(mach=0.3, altitude=0.0)
    return model


@pytest.fixture(scope="session")
def sampled(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], LoadedPack]:
    """Return a function that samples a model once and loads the pack."""
    done: dict[str, LoadedPack] = {}

    def load(model: str) -> LoadedPack:
        if model not in done:
            folder = tmp_path_factory.mktemp("packs") / model
            write_pack_folder(folder, pack_files(sample_model(model)))
            done[model] = load_pack(folder)
        return done[model]

    return load


@pytest.fixture(scope="session")
def t38_pack(project_root: Path) -> LoadedPack:
    """Return the committed pack that was sampled from the T38."""
    return load_pack(project_root / "tests" / "data" / "packs" / "t38_sampled")
