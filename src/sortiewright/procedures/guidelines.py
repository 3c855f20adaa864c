"""Human-factors guidelines for checklists, and what a pack's lists make of them.

A guideline is no law: a finding that an author means stands in ``order.yaml`` under ``lint`` with the reason.

Sources. NASA CR-177549: Degani and Wiener, Human Factors of Flight-Deck Checklists, 1990, appendix A, and
the same list in Human Factors 35(2), 1993. NASA CR-177605: Degani, On the Typography of Flight-Deck
Documentation, 1992. NASA TM-2016-219421: Barshi, Mauro, Degani and Loukopoulou, Designing Flightdeck
Procedures. AC 120-71B: FAA, Standard Operating Procedures and Pilot Monitoring Duties, 2017. CAP 676: UK CAA,
Guidance on the Design, Presentation and Use of Emergency and Abnormal Checklists, issue 3, 2006.
MIL-DTL-5096G, MIL-DTL-23618H, MIL-DTL-87268D and MIL-DTL-7700G: US specifications for checklists, manuals and
flight manuals. The paragraphs that are numbered here, and guidelines 1 and 3 of NASA CR-177549, were read in
public copies; of the rest the contents are told from memory. Where a guideline counts, the number itself is
common practice and has no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sortiewright.pack import choice_hint
from sortiewright.procedures import (
    guidelines_cockpit,
    guidelines_emergencies,
    guidelines_numbers,
    guidelines_structure,
    guidelines_wording,
)
from sortiewright.procedures.guidelines_marks import Finder, Mark, quoted

if TYPE_CHECKING:
    from sortiewright.procedures.loading import Procedures

EXCUSES = "excuse"
"""The guideline that watches over the excuses themselves."""


@dataclass(frozen=True, slots=True)
class Guideline:
    """One rule: its name in ``lint``, what it asks, where it comes from, and what finds its breaches."""

    id: str
    rule: str
    source: str
    finder: Finder


@dataclass(frozen=True, slots=True)
class Finding:
    """One place at which a guideline is not kept. ``accepted`` is the author's reason; empty: it stands."""

    guideline: str
    source: str
    procedure: str
    item: str
    """Empty where the list as a whole is meant."""
    text: str
    place: str
    """File and line, ``procedures/ground.yaml:41``."""
    accepted: str = ""

    @property
    def key(self) -> str:
        """What ``lint`` in ``order.yaml`` calls it: ``bare-response before_start.battery``."""
        return " ".join(part for part in (self.guideline, self.about) if part)

    @property
    def about(self) -> str:
        """The list and the item, by their names."""
        return f"{self.procedure}.{self.item}" if self.item else self.procedure

    def __str__(self) -> str:
        said = f"{self.place}  {self.key}: {self.text}."
        return f"{said} Accepted: {self.accepted}" if self.accepted else said


GUIDELINES: tuple[Guideline, ...] = (
    Guideline(
        "bare-response",
        "A response names the state or the value wanted, not that something was done.",
        "NASA CR-177549, guideline 1",
        guidelines_wording.bare_responses,
    ),
    Guideline(
        "contrary-response",
        "A response names the position that the item sets.",
        "NASA CR-177549, guideline 1",
        guidelines_wording.contrary_responses,
    ),
    Guideline(
        "list-length",
        "A long list is divided into pieces that belong together.",
        "NASA CR-177549, guideline 3; the number is common practice, no source",
        guidelines_structure.long_lists,
    ),
    Guideline(
        "panel-returns",
        "Items follow the cockpit's geography: the hand does not go back and forth.",
        "NASA CR-177549, appendix A; the number is common practice, no source",
        guidelines_cockpit.panel_returns,
    ),
    Guideline(
        "killer-late",
        "Critical items stand early in a list.",
        "NASA CR-177549, appendix A; the third is common practice, no source",
        guidelines_structure.late_killers,
    ),
    Guideline(
        "killer-why",
        "What is critical is explained in the amplified procedure.",
        "MIL-DTL-7700G",
        guidelines_structure.unexplained_killers,
    ),
    Guideline(
        "completion",
        "A list ends with a call that names it.",
        "NASA CR-177549, appendix A",
        guidelines_structure.unclear_endings,
    ),
    Guideline(
        "repeated",
        "What is asked twice is asked for a reason.",
        "NASA CR-177549, appendix A",
        guidelines_cockpit.repeated_items,
    ),
    Guideline(
        "last-list",
        "The last lists before takeoff are short, and hold what can change late.",
        "NASA CR-177549, appendix A; NASA TM-2016-219421; the number is common practice, no source",
        guidelines_structure.long_last_lists,
    ),
    Guideline(
        "style",
        "A normal list confirms what was done; an abnormal one is read and done.",
        "NASA CR-177549; AC 120-71B",
        guidelines_structure.style_by_kind,
    ),
    Guideline(
        "one-seat",
        "Both seats take part in every list.",
        "AC 120-71B",
        guidelines_structure.one_seat,
    ),
    Guideline(
        "hidden-hold",
        "Waiting for somebody else is a hold, not an item that is ticked.",
        "AC 120-71B; NASA TM-2016-219421",
        guidelines_structure.hidden_holds,
    ),
    Guideline(
        "item-length",
        "The list says what and when; how is for the amplified procedure.",
        "MIL-DTL-5096G; the number is common practice, no source",
        guidelines_wording.long_items,
    ),
    Guideline(
        "capitals",
        "Capitals are for placards; long text is in lower case.",
        "NASA CR-177605; the number is common practice, no source",
        guidelines_wording.long_capitals,
    ),
    Guideline(
        "order-in-note",
        "Notes, cautions and warnings hold no steps.",
        "MIL-DTL-23618H, 3.1.5.4; MIL-DTL-87268D, 3.2.2.2 and 3.2.2.3",
        guidelines_wording.orders_in_notes,
    ),
    Guideline(
        "number-in-note",
        "Tolerances stand in the steps, not in notes.",
        "MIL-DTL-87268D, 3.2.2.3",
        guidelines_numbers.numbers_in_notes,
    ),
    Guideline(
        "warning-form",
        "A warning names the hazard and how to avoid it, and is short.",
        "MIL-DTL-87268D, 3.2.2.2; the numbers are common practice, no source",
        guidelines_wording.unfinished_warnings,
    ),
    Guideline(
        "number-twice",
        "A number stands in one place.",
        "common practice, no source",
        guidelines_numbers.numbers_written_twice,
    ),
    Guideline(
        "entry",
        "An abnormal list says how the crew knows that it is the one.",
        "CAP 676",
        guidelines_emergencies.without_entry,
    ),
    Guideline(
        "status",
        "An abnormal list ends with what no longer works.",
        "CAP 676",
        guidelines_emergencies.without_status,
    ),
    Guideline(
        "way-on",
        "An abnormal list says where the crew goes from its end.",
        "CAP 676",
        guidelines_emergencies.without_way_on,
    ),
    Guideline(
        "branch-case",
        "A branch says in words when it is taken.",
        "CAP 676",
        guidelines_emergencies.bare_branches,
    ),
    Guideline(
        "part-order",
        "Immediate actions come first, deferred ones last.",
        "CAP 676",
        guidelines_emergencies.parts_out_of_order,
    ),
    Guideline(
        "memory-first",
        "Memory items stand first.",
        "CAP 676",
        guidelines_emergencies.late_memory_items,
    ),
    Guideline(
        "memory-many",
        "Memory items are few.",
        "CAP 676; the number is common practice, no source",
        guidelines_emergencies.many_memory_items,
    ),
)
"""In the order in which findings are told."""


def lint(procedures: Procedures) -> tuple[Finding, ...]:
    """Return every finding, guideline by guideline, those with a reason in ``order.lint`` as accepted.

    A reason that excuses nothing is a finding too.
    """
    reasons = procedures.order.lint
    found = [
        finding_of(procedures, guideline, mark, reasons)
        for guideline in GUIDELINES
        for mark in guideline.finder(procedures)
    ]
    return (*found, *idle_excuses(procedures, found))


def finding_of(procedures: Procedures, guideline: Guideline, mark: Mark, reasons: dict[str, str]) -> Finding:
    """Return the finding of a mark, with the reason that accepts it if there is one."""
    path = ("procedures", mark.procedure, *(() if mark.item is None else ("items", mark.item)))
    item = "" if mark.item is None else procedures.procedures[mark.procedure].items[mark.item].id
    about = f"{mark.procedure}.{item}" if item else mark.procedure
    return Finding(
        guideline=guideline.id,
        source=guideline.source,
        procedure=mark.procedure,
        item=item,
        text=mark.text,
        place=procedures.where(*path),
        accepted=reasons.get(f"{guideline.id} {about}", ""),
    )


def idle_excuses(procedures: Procedures, found: list[Finding]) -> Iterator[Finding]:
    """Yield a finding for each reason under ``lint`` that no finding needs, or that is empty."""
    keys = {one.key for one in found}
    for key, reason in procedures.order.lint.items():
        text = "" if key in keys else f"{quoted(key)} excuses nothing. {excuse_hint(key, keys)}".strip(" .")
        if not text and not reason.strip():
            text = f"{quoted(key)} is excused without a reason"
        if text:
            source = "common practice, no source"
            yield Finding(EXCUSES, source, "", "", text, procedures.where("order", "lint", key))


def excuse_hint(key: str, keys: set[str]) -> str:
    """Return what may have been meant by an excuse."""
    guideline, _, about = key.partition(" ")
    known = [one.id for one in GUIDELINES]
    if guideline not in known:
        return choice_hint(guideline, known, "guidelines")
    near = [one.partition(" ")[2] for one in keys if one.startswith(f"{guideline} ")]
    return choice_hint(about, near, f"findings of {guideline}") if near else "Nothing is found there any more"
