"""In which unit a column is: what the file says, else what the values and the other channels allow."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from sortiewright.pack import CHANNELS, Channel
from sortiewright.recording.channel_map_checks import channel_scale
from sortiewright.recording.consistency import Relation, Samples
from sortiewright.recording.consistency_relations import relations_of
from sortiewright.recording.recording import Floats

# The trade's unit first: of two that fit alike it is the likelier.
USUAL_UNITS: dict[str, tuple[str, ...]] = {
    "m": ("ft", "m"),
    "m/s": ("kt", "m/s", "km/h", "ft/s"),
    "rad": ("deg", "rad"),
    "rad/s": ("deg/s", "rad/s"),
    "kg": ("lb", "kg"),
    "kg/s": ("lb/h", "kg/h", "kg/s", "lb/s", "lb/min", "kg/min"),
    "K": ("degC", "K", "degF", "degR"),
    "Pa": ("psi", "kPa", "bar", "Pa"),
    "deg": ("deg", "rad"),
    "s": ("s",),
}
_AIRSPEED_UNITS = ("kt", "m/s", "km/h")
_CONTROLS = ("stick", "pedals", "pitch_trim", "tailplane", "aileron", "rudder")
_CLIMB_UNITS = ("ft/min", "m/s", "ft/s", "kt")


_ALSO_USED = ("outside_air_temperature", "pressure_altitude", "bank", "true_airspeed",
              "weight_on_wheels_nose", "weight_on_wheels_left", "weight_on_wheels_right")  # fmt: skip
"""What relations look at where it is there, though they do without."""
Score = Callable[[frozenset[str], Mapping[str, int]], float]
"""How badly some channels fit, given the option taken of each."""


@dataclass(frozen=True, slots=True)
class Option:
    """One way to read a column: its unit and direction, the values it gives, and what speaks against it."""

    unit: str
    invert: bool
    full: float | None
    values: Floats
    penalty: float
    reason: str


def options_for(channel: Channel, raw: Floats, stated: str | None) -> list[Option]:
    """Return the ways to read a column as a channel, likeliest first; one where the file states the unit."""
    if channel.kind == "truth":
        return [
            Option("", False, None, raw, 0.0, ""),
            Option("", True, None, 1.0 - raw, 0.4, "0 and 1 the other way round"),
        ]
    units = (stated,) if stated is not None else _candidates(channel, raw)
    found: list[Option] = []
    for rank, unit in enumerate(units):
        scale, offset = channel_scale(unit, channel)
        values = raw * scale + offset
        outside = _share_outside(values, channel)
        # A unit that puts the values where none ever are is out, unless the file says so itself.
        if stated is None and outside > 0.5 and len(units) > 1:
            continue
        why = "the file says so" if stated is not None else ""
        found.append(Option(unit, False, None, values, 0.05 * rank + outside, why))
    full = _full_option(channel, raw, found)
    found = [full] if full else found
    # Controls are counted either way; what the aircraft does hardly ever is.
    cost = 0.4 if channel.name.startswith(_CONTROLS) else 0.8
    return [*found, *(_turned(one, cost) for one in found[:2] if _may_turn(channel))]


def _candidates(channel: Channel, raw: Floats) -> tuple[str, ...]:
    if channel.name == "vertical_speed":
        return _CLIMB_UNITS
    if channel.name.startswith("load_factor"):
        return ("g", "m/s2")
    if channel.name.endswith("airspeed"):
        return _AIRSPEED_UNITS
    if channel.unit == "":
        # Shares end near 1, percent near 100; what ends elsewhere is neither.
        is_share = channel.usual is not None and channel.usual[1] <= 1.2
        most = float(np.nanmax(np.abs(raw)))
        return ("%",) if is_share and 2.0 < most <= 130.0 else ("",)
    return USUAL_UNITS.get(channel.unit, (channel.unit,))


def _share_outside(values: Floats, channel: Channel) -> float:
    finite = values[np.isfinite(values)]
    if channel.usual is None or not len(finite):
        return 0.0
    low, high = channel.usual
    margin = 0.05 * (high - low)
    if channel.unit == "deg":  # headings may be counted from -180, longitudes to 360
        low, margin = low - 180.0, 5.0
    return float(np.mean((finite < low - margin) | (finite > high + margin)))


def _full_option(channel: Channel, raw: Floats, found: Sequence[Option]) -> Option | None:
    """Return a position as a share of the largest value seen, where it is neither a share nor percent."""
    if channel.kind != "number" or channel.unit != "" or channel.usual is None or channel.usual[1] > 1.2:
        return None
    if "load" in channel.name or channel.name == "centre_of_gravity":
        return None
    finite = raw[np.isfinite(raw)]
    most = float(finite.max()) if len(finite) else 0.0
    is_share = most <= 1.3 or (60.0 < most <= 130.0)
    if is_share or (found and found[0].unit == "%" and most <= 130.0 and found[0].reason):
        return None
    return Option(
        "", False, most, raw / most, 0.5, f"its full travel is not known: the largest seen, {most:g}"
    )


def _may_turn(channel: Channel) -> bool:
    return (
        channel.kind == "number"
        and channel.usual is not None
        and channel.usual[0] < 0.0
        and not channel.name.startswith(("altitude", "height", "pressure", "latitude", "longitude"))
    )


def _turned(option: Option, cost: float) -> Option:
    why = "counted the other way round"
    return Option(option.unit, True, option.full, -option.values, option.penalty + cost, why)


@dataclass(frozen=True)
class Solution:
    """The option chosen for each channel, and what the others say of it."""

    chosen: Mapping[str, int]
    confirmed: Mapping[str, tuple[str, ...]]
    contradicted: Mapping[str, tuple[str, ...]]
    lead: Mapping[str, float]
    """By how much worse the next best unit of each channel would fit; 0 where nothing tells."""


def solve(options: Mapping[str, Sequence[Option]], samples: Samples) -> Solution:
    """Return the options that make the channels agree best with each other.

    A wrong unit of one channel can hide behind that of another, so the search begins twice, with the trade's
    units and with SI, and the better end is taken.
    """
    relations = relations_of(options)
    known: dict[tuple[int, tuple[int, ...]], float] = {}

    def misfit(index: int, trial: Mapping[str, int]) -> float:
        # The same few channels come again in nearly every trial.
        names = [*relations[index].names, *(name for name in _ALSO_USED if name in options)]
        key = index, tuple(trial[name] for name in names)
        if key not in known:
            values = {name: options[name][trial[name]].values for name in names}
            known[key] = _misfit(relations[index], Samples(samples.time, samples.joined, values))
        return known[key]

    def score(names: frozenset[str], trial: Mapping[str, int]) -> float:
        fit = sum(misfit(index, trial) for index, one in enumerate(relations) if names & set(one.names))
        return fit + sum(options[name][trial[name]].penalty for name in names)

    everything = frozenset(options)
    starts = [dict.fromkeys(options, 0), {name: _si(name, one) for name, one in options.items()}]
    ends = [_settled(start, options, relations, score) for start in starts[: 1 + (starts[0] != starts[1])]]
    chosen = min(ends, key=lambda one: score(everything, one))
    final = {name: options[name][index].values for name, index in chosen.items()}
    said = Samples(samples.time, samples.joined, final)
    lead = {name: _lead(name, options, chosen, score) for name, one in options.items() if len(one) > 1}
    return Solution(chosen, *_verdicts(relations, said), lead)


def _misfit(relation: Relation, samples: Samples) -> float:
    agreement = relation.evaluate(samples)
    # Units that hide a likeness are no better than units that half contradict it.
    return 0.5 if agreement is None else relation.misfit(agreement)


def _si(name: str, options: Sequence[Option]) -> int:
    """Return the option in SI; compass directions, latitudes and longitudes stay in degrees."""
    wanted = CHANNELS[name].unit
    return next((index for index, one in enumerate(options) if one.unit == wanted and not one.invert), 0)


def _settled(
    start: Mapping[str, int],
    options: Mapping[str, Sequence[Option]],
    relations: Sequence[Relation],
    score: Score,
) -> dict[str, int]:
    """Return where the search ends: each channel, then each pair that a relation ties, takes what fits."""
    chosen = dict(start)
    open_names = [name for name, one in options.items() if len(one) > 1]
    groups: list[tuple[str, ...]] = [(name,) for name in open_names]
    pairs = {
        (a, b)
        for one in relations
        for a in one.names
        for b in one.names
        if a < b and len(options[a]) > 1 and len(options[b]) > 1
    }
    groups += sorted(pairs)
    for _ in range(4):
        before = dict(chosen)
        for names in groups:
            both = frozenset(names)
            trials = _trials(names, options, chosen)
            chosen = min(trials, key=lambda trial: (round(score(both, trial), 9), trial != chosen))
        if chosen == before:
            break
    return chosen


def _trials(
    names: tuple[str, ...], options: Mapping[str, Sequence[Option]], chosen: Mapping[str, int]
) -> list[dict[str, int]]:
    trials: list[dict[str, int]] = [dict(chosen)]
    for name in names:
        trials = [{**trial, name: index} for trial in trials for index in range(len(options[name]))]
    return trials


def _lead(
    name: str, options: Mapping[str, Sequence[Option]], chosen: Mapping[str, int], score: Score
) -> float:
    mine = frozenset((name,))
    best = score(mine, chosen)
    others = [
        score(mine, {**chosen, name: index})
        for index, option in enumerate(options[name])
        if index != chosen[name] and option.unit != options[name][chosen[name]].unit
    ]
    return min(others, default=best) - best


def _verdicts(
    relations: Sequence[Relation], samples: Samples
) -> tuple[dict[str, tuple[str, ...]], dict[str, tuple[str, ...]]]:
    confirmed: dict[str, tuple[str, ...]] = {}
    contradicted: dict[str, tuple[str, ...]] = {}
    for one in relations:
        agreement = one.evaluate(samples)
        if agreement is None:
            continue
        into = confirmed if one.holds(agreement) else contradicted
        for name in one.names:
            into[name] = (*into.get(name, ()), one.text)
    return confirmed, contradicted
