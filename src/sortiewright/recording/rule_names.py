"""The names and functions that a pack's rules may use, and what to say of one that it does not give."""

from __future__ import annotations

from sortiewright.expressions import NumberType, Type, Vocabulary, channel_vocabulary
from sortiewright.pack import Pack
from sortiewright.recording.rule_columns import PLANNED
from sortiewright.recording.rule_derived import DERIVED
from sortiewright.recording.rule_limits import keys_of_numbers, pack_numbers
from sortiewright.recording.time_functions import TIME_FUNCTIONS
from sortiewright.sortie import WORDS_ONLY, figure_kinds, figure_unit


def rule_vocabulary(pack: Pack) -> Vocabulary:
    """Return everything that a pack's rules may speak of.

    Channels, derived values, ``limit_`` and ``technique_`` numbers of the pack, ``planned_`` figures that its
    plans can have, and the functions of time.
    """
    names: dict[str, Type] = {name: derived.type for name, derived in DERIVED.items()}
    names |= {name: NumberType(number.unit) for name, number in pack_numbers(pack).items()}
    names |= {
        PLANNED + name: NumberType(figure_unit(name, kind))
        for name, kind in figure_kinds(pack).items()
        if name not in WORDS_ONLY
    }
    return channel_vocabulary(pack.mass.tanks) | Vocabulary(names, TIME_FUNCTIONS)


def hint_for_name(pack: Pack, name: str, hint: str) -> str:
    """Return a better hint than the nearest name for one that another pack could give."""
    key = keys_of_numbers().get(name)
    if key is not None:
        return f"{pack.name} does not give {key}"
    if name.startswith(PLANNED) and name.removeprefix(PLANNED) in WORDS_ONLY:
        return "This figure is words, there is no value to compare"
    return hint
