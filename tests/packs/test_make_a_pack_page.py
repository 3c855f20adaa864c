"""The guide from a flight manual to a pack: its commands run, and print what stands below them."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from guide_page import blocks, printed

from sortiewright.pack_fitting.fit_points import COLUMNS, FIT_QUANTITIES

PAGE = (Path(__file__).resolve().parents[2] / "docs" / "make-a-pack.md").read_text(encoding="utf-8")


@pytest.mark.slow
def test_every_command_prints_what_the_page_shows(monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("FORCE_COLOR", raising=False)
    shown = list(blocks(PAGE, printed))

    assert len(shown) == 6
    for page, real in shown:
        assert page == real, "run python tests/support/guide_page.py docs/make-a-pack.md"


def test_page_names_every_column_and_every_quantity():
    named = set(re.findall(r"`(\w+)`", PAGE))

    assert set(COLUMNS) <= named
    assert set(FIT_QUANTITIES) <= named
