"""Strip charts of an hour at sixty samples a second, zoomed and moved in a browser without graphics card."""

import shutil
from collections.abc import Callable

import numpy as np
import polars as pl
import pytest
from desk_in_browser import BROWSER, PATIENCE, Served, page_of
from sampled_flight import flight

from sortiewright.desk import Shelf

FRAMES = 180
CHOOSE_EIGHT = """async () => {
    const { charts, flight } = window.deskDebrief;
    const names = flight.strips.map(one => one.channel).filter(one => !one.endsWith("_deg")).slice(0, 8);
    await charts.choose(names);
    return charts.plots.length;
}"""
# In and out by turns about one moment, or along by a fiftieth of the window: one step a frame.
DRAWING = """async ([zooms, frames]) => {
    const { charts, flight } = window.deskDebrief;
    charts.show(flight.start, zooms ? flight.end : flight.start + 300);
    await new Promise(done => setTimeout(done, 500));
    const times = [];
    let before = performance.now();
    for (let frame = 0; frame < frames; frame += 1) {
        if (zooms) charts.zoom(frame % 60 < 30 ? 0.85 : 1 / 0.85, flight.start + 1800);
        else charts.show(charts.begin + 0.02 * charts.span, charts.end + 0.02 * charts.span);
        await new Promise(requestAnimationFrame);
        times.push(performance.now() - before);
        before = performance.now();
    }
    return times;
}"""


@pytest.mark.skipif(BROWSER is None, reason="no Chromium on this machine")
def test_eight_strip_charts_of_an_hour_zoom_and_move(
    benchmark, report_ratio: Callable[[str], None], tmp_path
):
    if benchmark.disabled:
        pytest.skip("a benchmark")
    playwright = pytest.importorskip("playwright.sync_api")
    shutil.copy(Shelf().demo().file, tmp_path / "range.yaml")
    pl.DataFrame(flight(3600.0, 60.0)).write_parquet(tmp_path / "hour.parquet")
    desk = Served(tmp_path)
    try:
        with playwright.sync_playwright() as started:
            browser = started.chromium.launch(executable_path=BROWSER, args=["--no-sandbox"])
            zooming, moving = benchmark.pedantic(_frames, (browser, desk, tmp_path), rounds=1)
            browser.close()
    finally:
        desk.kill()
    for what, times in (("zooming", zooming), ("moving", moving)):
        report_ratio(
            f"eight strip charts of an hour at 60 Hz, {what}: {1000 / np.mean(times):.0f} frames a second, "
            f"95th percentile {np.percentile(times, 95):.0f} ms a frame (wanted 30 frames a second)"
        )


def _frames(browser, desk, folder) -> tuple[list[float], list[float]]:
    context = browser.new_context()
    context.set_default_timeout(6 * PATIENCE)
    with page_of(context, desk.link) as page:
        page.wait_for_selector(".stamp-go")
        page.goto(f"{desk.address}/debrief")
        page.set_input_files("#recording", folder / "hour.parquet")
        page.get_by_role("button", name="Take it").click()
        page.wait_for_selector("table.map")
        page.get_by_role("button", name="Debrief", exact=True).click()
        page.wait_for_selector(".strip canvas")
        assert page.evaluate(CHOOSE_EIGHT) == 8
        return page.evaluate(DRAWING, [True, FRAMES]), page.evaluate(DRAWING, [False, FRAMES])
