"""What is odd about a recording's samples: found and said, never smoothed over silently.

Impossible values (an altitude that leaves and comes back within three samples faster than any aircraft) are
taken as missing, and reported. All else stays as the file has it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from sortiewright.recording.quality_clock import clock_defects
from sortiewright.recording.quality_samples import channel_defects, without_spikes
from sortiewright.recording.quality_units import unit_doubts
from sortiewright.recording.recording import Recording


def inspect(recording: Recording, read_as: Mapping[str, str]) -> Recording:
    """Return a recording with its defects told, its spikes taken as missing, and the breaks they make.

    ``read_as`` is the unit in which each channel was read, for what is said of a doubtful one.
    """
    cleaned, spikes = without_spikes(recording)
    clock = clock_defects(cleaned)
    breaks = np.unique(np.concatenate([recording.breaks, clock.breaks])).astype(np.intp)
    known = [one for one in recording.defects if not (one.kind == "gap" and one.begin in clock.explained)]
    defects = (*known, *clock.defects, *spikes, *channel_defects(cleaned))
    whole = replace(cleaned, columns={**cleaned.columns, **clock.columns}, breaks=breaks)
    derived = {**recording.derived, **dict.fromkeys(clock.columns, clock.basis)}
    return replace(whole, derived=derived, defects=(*defects, *unit_doubts(whole, read_as)))
