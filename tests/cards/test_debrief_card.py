"""The one-page debrief: one page whatever there is to say, and nothing said that is not there."""

import io
from dataclasses import replace

import pypdf
import pytest
from debrief_samples import FINDINGS, HOSTILE, finding, hostile_debrief, sample_debrief, sample_landing

from sortiewright import CAUTION
from sortiewright.cards import render_debrief
from sortiewright.recording import Debrief, Judged, Measured

LONG = "Look further ahead, name the next gate aloud, and let the other seat confirm the number. " * 6


def pages(made: Debrief, **options):
    return pypdf.PdfReader(io.BytesIO(render_debrief(made, **options))).pages


def text_of(made, **options):
    return " ".join(" ".join(page.extract_text() for page in pages(made, **options)).split())


def crowded():
    """Return a debrief with more of everything than a page holds."""
    findings = tuple(
        finding(f"rule_{number}", ("high", "medium", "low")[number % 3], title=LONG[:200], advice=LONG)
        for number in range(60)
    )
    judged = tuple(Judged(f"r{n}", LONG, "held", praise=f"{n} {LONG}") for n in range(40))
    measured = tuple(Measured(f"m{n}", f"{n} {LONG}", 80.0, "cas", 5.0, planned=81.0) for n in range(80))
    made = sample_debrief(findings=findings, judged=judged, measured=measured, not_compared=(LONG,) * 9)
    return replace(made, notes=(LONG,) * 9)


@pytest.mark.parametrize(("paper", "scheme"), [("a4", "print"), ("letter", "night")])
@pytest.mark.parametrize("made", [sample_debrief, hostile_debrief, crowded], ids=lambda one: one.__name__)
def test_it_is_one_page(made, paper, scheme):
    (page,) = pages(made(), paper=paper, scheme=scheme)

    # ISO 216: A4 is 210 mm wide. ANSI/ASME Y14.1: letter is 8.5 in.
    width = {"a4": 210 / 25.4 * 72, "letter": 8.5 * 72}[paper]
    assert float(page.mediabox.width) == pytest.approx(width, abs=0.5)


def test_the_worst_findings_stand_on_it_with_what_to_do():
    text = text_of(sample_debrief())

    assert text.index("Mind the late_rotation.") < text.index("Mind the gear_overspeed.")
    assert "175 kt limit 136 kt at 1:02.0" in text
    assert "The run was straight." in text


@pytest.mark.parametrize(("units", "sign"), [("trade", "ft"), ("si", "m")])
def test_a_landing_has_its_picture_with_its_moments(units, sign):
    text = text_of(replace(sample_debrief(landings=(sample_landing(),)), units=units))

    assert "The landing" in text
    assert f"From the threshold, {sign}" in text
    # 400 m and 320 m after the threshold; NIST SP 811 (2008), appendix B.8: 1 ft = 0.3048 m.
    flown, planned = ("1 310", "1 050") if units == "trade" else ("400", "320")
    assert f"flown: touchdown {flown}" in text
    assert f"planned: touchdown {planned}" in text


def test_what_has_no_room_is_counted():
    text = text_of(crowded())
    # Each finding on the page says how much it matters.
    there = sum(text.count(word) for word in ("Look at this first", "Worth practice", "Minor"))

    assert there > 0
    assert f"{60 - there} more are on the page that goes with this one." in text


def test_the_caution_stands_on_it_once():
    assert text_of(sample_debrief()).count(CAUTION) == 1


def test_nothing_of_a_name_is_carried_out():
    assert "#panic[x]" in HOSTILE
    assert "#panic[x]" in text_of(hostile_debrief())


def test_the_same_debrief_gives_the_same_file():
    assert render_debrief(sample_debrief()) == render_debrief(sample_debrief())


def test_findings_of_every_severity_have_their_own_word():
    text = text_of(sample_debrief(findings=FINDINGS))

    assert [text.count(word) for word in ("Look at this first", "Worth practice", "Minor")] == [2, 1, 1]
