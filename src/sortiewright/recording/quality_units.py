"""Whether a channel's unit was mistaken: what the others say of it, and which unit would make it fit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from sortiewright.pack import CHANNELS, COMMON_UNITS
from sortiewright.recording.consistency import Agreement, Relation, Samples, sampled
from sortiewright.recording.consistency_relations import relations_of
from sortiewright.recording.recording import Defect, Recording

_UNITS: dict[str, tuple[str, ...]] = {
    "m": ("m", "ft"),
    "m/s": ("m/s", "kt", "km/h", "ft/s", "ft/min", "mph"),
    "rad": ("rad", "deg"),
    "rad/s": ("rad/s", "deg/s"),
    "kg": ("kg", "lb"),
    "kg/s": ("kg/s", "kg/h", "kg/min", "lb/s", "lb/h", "lb/min"),
}
"""Units between which mistakes are made, by SI unit."""


@dataclass(frozen=True, slots=True)
class Culprit:
    """A channel whose unit was mistaken: by what to multiply it, how to say so, and what that mends."""

    name: str
    factor: float
    words: str
    fixed: frozenset[int]
    gain: float


def unit_doubts(recording: Recording, read_as: Mapping[str, str]) -> list[Defect]:
    """Return a doubt for each channel that others contradict; ``read_as`` is the unit each was read in."""
    numbers = {
        name: values
        for name, values in recording.columns.items()
        if CHANNELS[name].kind != "choice" and name not in recording.derived
    }
    relations = relations_of(numbers)
    used = {name for relation in relations for name in relation.names} | {
        name for name in numbers if name.startswith("weight_on_wheels") or name == "outside_air_temperature"
    }
    samples = sampled(recording.time, recording.breaks, {name: numbers[name] for name in used})
    broken = _broken(relations, samples)
    if not broken:
        return []
    found: list[Defect] = []
    explained: set[int] = set()
    while culprit := _culprit(relations, samples, explained, read_as):
        explained |= culprit.fixed
        samples = samples.replaced(culprit.name, samples.columns[culprit.name] * culprit.factor)
        said = "; ".join(relations[index].text for index in sorted(culprit.fixed))
        times = float(recording.time[0]), float(recording.time[-1])
        text = f"{culprit.words}. Not so as read: {said}"
        found.append(Defect("unit_doubt", culprit.name, *times, text, recording.rows))
    times = float(recording.time[0]), float(recording.time[-1])
    for relation in relations:
        agreement = relation.evaluate(samples)
        if agreement is None or relation.holds(agreement) or 0.8 < agreement.ratio < 1.25:
            continue
        others = ", ".join(relation.names[1:]) or "1"
        text = f"it is {agreement.ratio:.3g} times what {others} give. Not so as read: {relation.text}"
        found.append(Defect("unit_doubt", relation.names[0], *times, text, recording.rows))
    return found


def _broken(relations: list[Relation], samples: Samples) -> list[int]:
    agreements = [relation.evaluate(samples) for relation in relations]
    return [
        index
        for index, (relation, agreement) in enumerate(zip(relations, agreements, strict=True))
        if agreement is not None and not relation.holds(agreement)
    ]


def _culprit(
    relations: list[Relation], samples: Samples, explained: set[int], read_as: Mapping[str, str]
) -> Culprit | None:
    """Return the one change of a unit that mends most relations and breaks none; None where there is none."""
    before = [relation.evaluate(samples) for relation in relations]
    misfits = [relation.misfit(one) for relation, one in zip(relations, before, strict=True)]
    broken = {index for index, one in enumerate(misfits) if one >= 0.5 and index not in explained}
    suspects = {name for index in broken for name in relations[index].names}
    found: list[Culprit] = []
    for name in CHANNELS.keys() & suspects:
        touched = [index for index, relation in enumerate(relations) if name in relation.names]
        for factor, words in _changes(name, read_as.get(name)):
            other = samples.replaced(name, samples.columns[name] * factor)
            after = {index: _misfit(relations[index], before[index], other) for index in touched}
            if any(after[index] >= 0.5 > misfits[index] for index in touched):
                continue
            fixed = frozenset(index for index in touched if index in broken and after[index] < 0.5)
            # What could not be compared and now agrees speaks for the change as well.
            shown = [
                one for one in touched if before[one] is None and relations[one].evaluate(other) is not None
            ]
            gain = sum(misfits[index] - misfit for index, misfit in after.items()) + 0.1 * len(shown)
            if fixed and gain > 0.2:
                found.append(Culprit(name, factor, words, fixed, gain))
    if not found:
        return None
    best = max(found, key=lambda one: (one.gain, -list(CHANNELS).index(one.name)))
    rivals = [
        f"{one.name} {one.words}"
        for one in found
        if one.name != best.name and one.fixed == best.fixed and one.gain > best.gain - 0.05
    ]
    return replace(best, words=", or ".join([best.words, *rivals]))


def _misfit(relation: Relation, before: Agreement | None, samples: Samples) -> float:
    after = relation.evaluate(samples)
    # A change after which nothing can be compared any more has mended nothing.
    return 1.0 if after is None and before is not None else relation.misfit(after)


def _changes(name: str, read_as: str | None) -> Iterator[tuple[float, str]]:
    """Yield by what a channel would have to be multiplied had its unit been mistaken, and how to say so."""
    channel = CHANNELS[name]
    if channel.kind != "number" or channel.unit == "deg":
        return
    yield -1.0, "is counted the other way round: turn it with invert"
    if name.startswith("load_factor"):
        yield 1.0 / 9.80665, "looks like m/s2 read as g"
    sizes = COMMON_UNITS.get(channel.unit, {})
    read = read_as if read_as in sizes else channel.unit
    for true in _UNITS.get(channel.unit, ()):
        if sizes[true] != sizes[read]:
            yield sizes[true] / sizes[read], f"looks like {true} read as {read}"
