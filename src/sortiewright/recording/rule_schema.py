"""What a pack's ``rules/`` folder may say: what a debrief looks for and measures on every flight.

Conditions and values are texts in the language of ``expressions``. Names: channels (``ground_speed``),
derived values (``height_lost``), limits and technique of the pack (``limit_gear_speed``,
``technique_climb_cas``), figures of today's plan (``planned_rotation_speed``), and functions of time: see
``time_functions``.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from sortiewright.pack import Model, Time

Severity = Literal["low", "medium", "high"]


def _as_list(raw: Any) -> Any:
    return (raw,) if isinstance(raw, str) else raw


Texts = Annotated[tuple[str, ...], BeforeValidator(_as_list)]


class Levels(Model):
    """Limits by severity, each an expression; a level that is absent is not used."""

    low: str = ""
    medium: str = ""
    high: str = ""


class Rule(Model):
    """What should not be: either ``wrong_if`` with ``severity``, or ``value`` with ``above`` or ``below``."""

    title: str
    during: Texts = ()
    """Phases; empty: the whole flight."""
    at: str = ""
    """An event: judged at that moment only."""
    after: str = ""
    """An event: judged from it on, for ``window``."""
    window: Time | None = None
    when: str = ""
    """Judged only where this is true; unknown counts as not."""
    wrong_if: str = ""
    severity: Severity = "medium"
    value: str = ""
    above: Levels | None = None
    below: Levels | None = None
    lasts: Time = 0.0
    """Shorter than this is no finding."""
    merge: Time = 2.0
    """Findings closer than this are one."""
    advice: str
    """What to do better, to the crew, in a sentence."""
    praise: str = ""
    """What is said where the rule was held and mattered."""


class Measurement(Model):
    """A value noted on every flight, whether or not anything was wrong."""

    title: str
    value: str
    at: str = ""
    """An event; empty: over ``during``, by ``take``."""
    during: Texts = ()
    when: str = ""
    """Measured only where this is true: ``take: first`` is then the moment it comes true."""
    take: Literal["maximum", "minimum", "mean", "first", "last", "duration"] = "maximum"
    kind: str
    """The kind of quantity by which it is shown: cas, angle, runway_distance ... (``sortie`` kinds)."""
    planned: str = ""
    """A figure of the plan to compare it with."""


class RuleFile(Model):
    """One file of ``rules/``."""

    rules: dict[Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$")], Rule] = Field(
        default_factory=dict[str, Rule]
    )
    measurements: dict[Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$")], Measurement] = Field(
        default_factory=dict[str, Measurement]
    )
