"""Phases laid one over the other on the rows of a sortie, and read off as stretches."""

from __future__ import annotations

from typing import get_args

import numpy as np
from numpy.typing import NDArray

from sortiewright.recording.hysteresis import Floats
from sortiewright.recording.moments import Phase, PhaseName

_NAMES: tuple[PhaseName, ...] = get_args(PhaseName)
_CODES = {name: code for code, name in enumerate(_NAMES)}


class PhasePaint:
    """Rows ``begin`` to ``end`` of a recording, each with the phase laid last."""

    def __init__(self, time: Floats, begin: int, end: int) -> None:
        """Begin with all rows unknown."""
        self._time = time
        self._begin = begin
        self._codes = np.full(end - begin, _CODES["unknown"], dtype=np.int8)
        self._exact: dict[int, float] = {}

    def rows(self, name: PhaseName, begin: int, end: int) -> None:
        """Lay a phase over rows of the recording, ``end`` exclusive."""
        self._codes[max(begin - self._begin, 0) : max(end - self._begin, 0)] = _CODES[name]

    def mask(self, name: PhaseName, where: NDArray[np.bool_], begin: int) -> None:
        """Lay a phase over the true rows of a mask that starts at row ``begin``."""
        part = self._codes[begin - self._begin : begin - self._begin + len(where)]
        part[where] = _CODES[name]

    def times(self, name: PhaseName, begins: float, ends: float) -> None:
        """Lay a phase from one moment to another: its times are then exact, not those of samples."""
        first, last = (int(np.searchsorted(self._time, moment)) for moment in (begins, ends))
        self.rows(name, first, last)
        self._exact[first] = begins
        self._exact[last] = ends

    def has(self, name: PhaseName, begin: int, end: int) -> bool:
        """Return whether any of some rows has a phase."""
        part = self._codes[max(begin - self._begin, 0) : max(end - self._begin, 0)]
        return bool((part == _CODES[name]).any())

    def phases(self) -> tuple[tuple[Phase, ...], NDArray[np.intp]]:
        """Return the stretches in order, and the number of its stretch for each row."""
        codes = self._codes
        changes = np.flatnonzero(np.diff(codes)) + 1
        begins = np.concatenate(([0], changes)) if len(codes) else np.empty(0, dtype=np.intp)
        ends = np.append(changes, len(codes))
        return tuple(
            self._phase(_NAMES[int(codes[first])], self._begin + int(first), self._begin + int(last))
            for first, last in zip(begins, ends, strict=False)
        ), np.repeat(np.arange(len(begins), dtype=np.intp), ends[: len(begins)] - begins)

    def _phase(self, name: PhaseName, begin: int, end: int) -> Phase:
        return Phase(name, begin, end, self._moment(begin), self._moment(end))

    def _moment(self, row: int) -> float:
        time = self._time
        # An exact moment lies between the sample before the row and the row itself.
        exact = self._exact.get(row)
        if exact is not None and (row == 0 or exact > time[row - 1]):
            return exact
        return float(time[min(row, len(time) - 1)])
