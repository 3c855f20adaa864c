"""Days on which the shipped packs can be asked: everything inside their tables, for searches by
hypothesis."""

from __future__ import annotations

from dataclasses import dataclass, replace

from aeroplanes import balance_arm, shipped
from hypothesis import strategies as st

from sortiewright.air import standard_air
from sortiewright.performance import TakeoffSetup, make_cases, takeoff_setup

FOOT, POUND, KNOT = 0.3048, 0.45359237, 1852.0 / 3600.0
MASSES = {"dotterel": (27_000.0, 48_000.0), "whinchat": (5_600.0, 7_200.0)}  # lb
SHARES = {"dotterel": (0.26, 0.33), "whinchat": (0.23, 0.29)}


@dataclass(frozen=True)
class Day:
    """One loading on one day, SI."""

    name: str
    mass: float
    share: float
    altitude: float
    warmer: float
    headwind: float
    slope: float
    drag_index: float
    reading: float

    @property
    def pack(self):
        return shipped(self.name)

    def but(self, **changes) -> Day:
        """Return the same day with these changes."""
        return replace(self, **changes)

    def cases(self):
        return make_cases(
            self.mass,
            balance_arm(self.pack, self.share),
            standard_air(self.altitude, self.warmer),
            headwind=self.headwind,
            slope=self.slope,
            drag_index=self.drag_index,
            runway_condition_reading=self.reading,
        )

    def setup(self, **changes) -> TakeoffSetup:
        return takeoff_setup(self.pack, self.cases(), **changes)


@st.composite
def days(draw, names=("dotterel", "whinchat")) -> Day:
    """Draw a day on which each pack gets off the ground: room is left for a change for the worse."""
    name = draw(st.sampled_from(names))
    return Day(
        name,
        mass=draw(st.floats(*MASSES[name])) * POUND,
        share=draw(st.floats(*SHARES[name])),
        altitude=draw(st.floats(-500.0, 3_000.0)) * FOOT,
        warmer=draw(st.floats(-30.0, 12.0)),
        headwind=draw(st.floats(-8.0, 20.0)) * KNOT,
        slope=draw(st.floats(-0.015, 0.01)),
        drag_index=draw(st.floats(0.0, 80.0)),
        reading=draw(st.floats(5.0, 23.0)),
    )
