"""Whether a pack's invariants hold whatever happens, with a story for each that does not."""

from __future__ import annotations

from contextlib import ExitStack
from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import Parameter, validators

from sortiewright.commands.output import Steps, print_json, print_text, remark, wrapped

if TYPE_CHECKING:
    from rich.text import Text

    from sortiewright.procedures import ProofFinding, ProofResult, Story

NOT_PROVED = 1
"""Exit code where something was found, or a bound was met before all was seen."""
MOST_STATES = 2_000_000
_STYLES = {"PROVED": "bold green", "NOT PROVED": "bold red", "NOT DECIDED": "bold yellow"}
_RULES = {
    "never": "invariants",
    "first": "invariants",
    "start": "invariants",
    "end": "invariants",
    "needs": "needs of items",
    "after": "conditions of holds",
    "order": "free orders",
}


def prove(
    pack: Annotated[str, Parameter(metavar="pack")],
    /,
    *,
    json: Annotated[bool, Parameter(negative="")] = False,
    most_states: Annotated[int, Parameter(validator=validators.Number(gte=1))] = MOST_STATES,
    depth: Annotated[int, Parameter(validator=validators.Number(gte=0, lte=4))] = 1,
    unknowns: Annotated[bool, Parameter(negative="")] = False,
) -> int:
    """Whether a pack's invariants hold on every sortie, or the shortest way to break each.

    Example: sortiewright checklist prove dotterel

    Every combination of conditions, branches, calls to other procedures and order of the seats is looked at.
    Exit code 0: proved. 1: not proved. 2: bad input.

    Parameters
    ----------
    pack
        A shipped pack's name, or a folder.
    json
        Print JSON.
    most_states
        Stop after so many states and say what is not decided.
    depth
        How many calls to abnormal and emergency procedures may be inside one another.
    unknowns
        Also sorties whose weather or load is not fully known.
    """
    from sortiewright.pack import load_pack
    from sortiewright.procedures import load_procedures
    from sortiewright.procedures import prove as proof_of

    loaded = load_pack(pack)
    procedures = load_procedures(loaded)
    with ExitStack() as stack:
        bars: list[Steps] = []

        def progress(done: int, total: int, text: str) -> None:
            if not bars:
                bars.append(stack.enter_context(Steps(total)))
            bars[0](text)

        result = proof_of(
            procedures, most_states=most_states, depth=depth, unknowns=unknowns, progress=progress
        )
    if json:
        print_json(proof_data(result, loaded.pack.name))
    else:
        print_text(proof_text(result, loaded.pack.title or loaded.pack.name))
        for text in result.remarks:
            remark(f"Remark: {text}")
    return 0 if result.proved else NOT_PROVED


def proof_data(result: ProofResult, pack: str) -> dict[str, Any]:
    """Return a proof as JSON holds it."""
    return {"pack": pack, "proved": result.proved, "complete": result.complete, **asdict(result)}


def proof_text(result: ProofResult, title: str) -> list[Text]:
    """Return a proof as lines: verdict, how much was looked at, then every finding with its story."""
    from rich.text import Text

    verdict = _verdict(result)
    lines = [Text.assemble((verdict, _STYLES[verdict]), f"  {title}: {_summary(result)}")]
    lines += wrapped(_extent(result), style="dim")
    if not result.complete:
        undecided = [rule.id for rule in result.rules if rule.verdict == "undecided"]
        from sortiewright.pack import listed

        said = (
            f"The bound of {_thousands(result.most_states)} states was met. Not decided: {listed(undecided)}"
        )
        lines += wrapped(f"{said}. Give more with --most-states", hanging=2)
    for number, finding in enumerate(result.findings, start=1):
        lines += [Text(), *finding_lines(number, finding)]
    lines.append(Text())
    return [*lines, *wrapped(f"Taken for granted: {_joined(result.assumptions)}", hanging=2, style="dim")]


def finding_lines(number: int, finding: ProofFinding) -> list[Text]:
    """Return one finding: what does not hold, where it is written, and how it comes to be broken."""
    lines = wrapped(f"{number}. {finding.text}", indent=0, hanging=3, style="bold")
    lines += wrapped(finding.where, indent=3, style="dim")
    if finding.why:
        lines += wrapped(f"Why: {finding.why}", indent=3, hanging=2)
    if finding.given:
        lines += wrapped(f"For example where {_joined(finding.given)}", indent=3, hanging=2)
    return [*lines, *(story_lines(finding.story) if finding.story else [])]


def story_lines(story: Story) -> list[Text]:
    """Return a story: what is given, its steps numbered, its end."""
    lines = wrapped(f"Given: {_joined(story.given)}", indent=3, hanging=2) if story.given else []
    if not story.steps:
        lines += wrapped("Without any step that matters:", indent=3)
    for number, step in enumerate(story.steps, start=1):
        lines += wrapped(f"{number:2}. {step.text}", indent=3, hanging=4)
    return [*lines, *wrapped(f"Then: {story.end}", indent=3, hanging=2)]


def _verdict(result: ProofResult) -> str:
    if result.proved:
        return "PROVED"
    return "NOT PROVED" if result.findings else "NOT DECIDED"


def _summary(result: ProofResult) -> str:
    broken = sum(rule.verdict == "broken" for rule in result.rules)
    others = len(result.findings) - broken
    if result.proved:
        return f"all {len(result.rules)} rules hold on every sortie"
    parts = [f"{broken} of {len(result.rules)} rules can be broken"] if broken else []
    parts += [f"{others} other {'finding' if others == 1 else 'findings'}"] if others else []
    undecided = sum(rule.verdict == "undecided" for rule in result.rules)
    parts += [f"{undecided} not decided"] if undecided else []
    return ", ".join(parts)


def _extent(result: ProofResult) -> str:
    counts: dict[str, int] = {}
    for rule in result.rules:
        counts[_RULES[rule.kind]] = counts.get(_RULES[rule.kind], 0) + 1
    rules = ", ".join(f"{count} {what}" for what, count in counts.items()) or "no rules"
    return (
        f"{rules}. {result.items} items, {result.conditions} conditions in up to "
        f"{_thousands(result.combinations)} combinations, {_thousands(result.states)} states, "
        f"{result.depth} steps deep, {result.seconds:.1f} s"
    )


def _thousands(number: int) -> str:
    return f"{number:,}".replace(",", " ")


def _joined(parts: tuple[str, ...]) -> str:
    return "; ".join(parts)
