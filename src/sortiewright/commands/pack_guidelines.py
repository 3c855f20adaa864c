"""What the guidelines for checklists say of a pack's procedures, as ``pack check`` prints it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sortiewright.commands.output import wrapped

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.text import Text

    from sortiewright.pack import LoadedPack
    from sortiewright.procedures import Finding, Procedures


def checked_procedures(loaded: LoadedPack) -> tuple[Procedures, tuple[Finding, ...]] | None:
    """Return a pack's procedures and what the guidelines find in them; None where the pack has none.

    Raises ``InputError`` with every fault of the procedures' files.
    """
    from sortiewright.procedures import has_procedures, lint, load_procedures

    if not has_procedures(loaded):
        return None
    procedures = load_procedures(loaded)
    return procedures, lint(procedures)


def checked_rules(loaded: LoadedPack) -> str:
    """Return how many debrief rules and measurements a pack has, in words; empty where it has none.

    Raises ``InputError`` with every fault of the rules' files.
    """
    from sortiewright.recording import has_rules, load_rules

    if not has_rules(loaded):
        return ""
    rules = load_rules(loaded)
    return f"Debrief: {len(rules.rules)} rules and {len(rules.measurements)} measurements"


def guideline_lines(procedures: Procedures, findings: Sequence[Finding]) -> list[Text]:
    """Return how many lists there are, each finding that stands, and how many are accepted."""
    from rich.text import Text

    lists = procedures.procedures.values()
    counts = {kind: sum(one.kind == kind for one in lists) for kind in ("normal", "abnormal", "emergency")}
    kinds = ", ".join(f"{count} {kind}" for kind, count in counts.items() if count)
    items = sum(len(one.items) for one in lists)
    open_findings = [one for one in findings if not one.accepted]
    accepted = len(findings) - len(open_findings)
    standing = {0: "no finding", 1: "1 finding"}.get(len(open_findings), f"{len(open_findings)} findings")
    reasons = f", {accepted} accepted with a reason" if accepted else ""
    lines = [Text.assemble(("Procedures: ", "bold"), f"{kinds} lists with {items} items")]
    lines.append(Text.assemble(("Guidelines: ", "bold"), f"{standing}{reasons}"))
    sources: dict[str, str] = {}
    for one in open_findings:
        lines += wrapped(str(one), indent=2, hanging=2)
        sources[one.guideline] = one.source
    for guideline, source in sources.items():
        lines += wrapped(f"{guideline}: {source}", indent=4, hanging=2, style="dim")
    if open_findings:
        how = 'One that is meant stands in order.yaml below lint: "guideline list.item: reason".'
        lines += wrapped(how, indent=2, style="dim")
    return lines


def guideline_data(findings: Sequence[Finding]) -> list[dict[str, Any]]:
    """Return the findings for programs."""
    return [
        {
            "guideline": one.guideline,
            "source": one.source,
            "procedure": one.procedure,
            "item": one.item,
            "text": one.text,
            "place": one.place,
            "accepted": one.accepted,
        }
        for one in findings
    ]
