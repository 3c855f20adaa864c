"""The mistakes a scripted flight can make: what each is called, what it takes, and what it does."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from sortiewright.pack import InputError, Problem, choice_hint, shown
from sortiewright.pack_sampling import FOOT, KNOT

FEET_PER_MINUTE = FOOT / 60.0  # m/s
DEGREE = math.pi / 180.0  # rad
_UNITS = {"kt": KNOT, "ft/min": FEET_PER_MINUTE, "ft": FOOT, "deg": DEGREE, "s": 1.0}


@dataclass(frozen=True, slots=True)
class FlawKind:
    """A mistake that can be asked for."""

    name: str
    says: str
    """What the pilot does, with {amount} where it goes."""
    unit: str
    usual: float | None
    """Amount where none is given, in ``unit``; None: it must be given."""
    low: float
    high: float


def _kind(name: str, says: str, unit: str, usual: float | None, low: float, high: float) -> FlawKind:
    return FlawKind(name, says, unit, usual, low, high)


FLAWS: Mapping[str, FlawKind] = MappingProxyType(
    {
        one.name: one
        for one in (
            _kind("fast_taxi", "taxies straight at {amount}", "kt", 35.0, 5.0, 60.0),
            _kind("early_rotation", "pulls {amount} before the rotation speed", "kt", 15.0, 1.0, 60.0),
            _kind("late_rotation", "pulls {amount} after the rotation speed", "kt", 15.0, 1.0, 60.0),
            _kind("over_rotation", "raises the nose {amount} over the attitude", "deg", 6.0, 1.0, 15.0),
            _kind("gear_late", "selects the gear up {amount} late", "s", 15.0, 1.0, 120.0),
            _kind("engine_failure", "loses an engine at {amount}: stops below decision speed, else goes",
                  "kt", None, 5.0, 400.0),
            _kind("engine_failure_stop", "loses an engine at {amount} and stops", "kt", None, 5.0, 400.0),
            _kind("engine_failure_go", "loses an engine at {amount} and goes on", "kt", None, 5.0, 400.0),
            _kind("levers_late", "closes the levers {amount} late when stopping", "s", 2.0, 0.5, 10.0),
            _kind("gear_down_late", "selects the gear down at {amount}", "ft", 600.0, 50.0, 5000.0),
            _kind("unstable_approach", "comes in {amount} too fast, and steep", "kt", 25.0, 5.0, 80.0),
            _kind("hard_landing", "touches down at {amount}", "ft/min", 600.0, 200.0, 900.0),
            _kind("long_landing", "aims {amount} too far down the runway", "ft", 2000.0, 300.0, 10_000.0),
        )
    }
)  # fmt: skip
"""Every mistake by its name. The usual amounts are plain to see; they are ours, without source."""

CLASHES = (
    ("early_rotation", "late_rotation"),
    ("engine_failure", "engine_failure_stop"),
    ("engine_failure", "engine_failure_go"),
    ("engine_failure_stop", "engine_failure_go"),
)


@dataclass(frozen=True, slots=True)
class Flaw:
    """One mistake asked for. ``amount`` is SI."""

    name: str
    amount: float

    @property
    def kind(self) -> FlawKind:
        """Return what it is."""
        return FLAWS[self.name]

    @property
    def shown_amount(self) -> str:
        """Return the amount in the unit in which it is asked for: ``15 kt``."""
        return f"{self.amount / _UNITS[self.kind.unit]:.4g} {self.kind.unit}"

    @property
    def text(self) -> str:
        """Return what the pilot does."""
        return self.kind.says.format(amount=self.shown_amount)


def flaw_of(text: str) -> Flaw:
    """Return the mistake that a text asks for: ``late_rotation``, ``engine_failure=135``.

    ``InputError`` for an unknown name, a number missing, not readable or out of range.
    """
    name, equals, number = text.partition("=")
    name = name.strip()
    if name not in FLAWS:
        raise _fault(shown(name), "is no flaw", choice_hint(name, FLAWS, "flaws"))
    kind = FLAWS[name]
    if not equals:
        if kind.usual is None:
            raise _fault(name, f"needs a number of {kind.unit}", f"Write {name}=120")
        return Flaw(name, kind.usual * _UNITS[kind.unit])
    try:
        amount = float(number)
    except ValueError:
        hint = f"Write it without its unit, which is {kind.unit}: {name}={kind.usual or 120:g}"
        raise _fault(shown(text), "has no number", hint) from None
    if not kind.low <= amount <= kind.high:
        limits = f"Write {kind.low:g} to {kind.high:g} {kind.unit}"
        raise _fault(text, f"is not a number of {kind.unit} that can be flown", limits)
    return Flaw(name, amount * _UNITS[kind.unit])


def flaws_of(texts: Iterable[str]) -> tuple[Flaw, ...]:
    """Return the mistakes that texts ask for; ``InputError`` names every fault of them."""
    found: list[Flaw] = []
    problems: list[Problem] = []
    for text in texts:
        try:
            found.append(flaw_of(text))
        except InputError as error:
            problems += error.problems
    names = [one.name for one in found]
    problems += [_problem(name, "is asked for twice") for name in sorted(set(names)) if names.count(name) > 1]
    problems += [
        _problem(f"{one} and {other}", "cannot both be flown")
        for one, other in CLASHES
        if one in names and other in names
    ]
    if problems:
        raise InputError(problems)
    return tuple(found)


def _problem(read: str, expected: str, hint: str = "") -> Problem:
    return Problem("--flaw", None, "", read, expected, hint)


def _fault(read: str, expected: str, hint: str = "") -> InputError:
    return InputError([_problem(read, expected, hint)])
