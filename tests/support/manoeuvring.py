"""Aeroplanes whose turns have a closed form, as packs, and shipped ones at states to turn at."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from aeroplanes import make_pack, shipped
from hypothesis import strategies as st

from sortiewright.pack import Limit, Pack, make_table
from sortiewright.performance import FlightCases, FlightSetup, flight_setup, make_flight_cases

FOOT, POUND, KNOT, GRAVITY = 0.3048, 0.45359237, 1852.0 / 3600.0, 9.80665
POWERS = {"dotterel": ("military", "maximum"), "whinchat": ("takeoff_power",)}
MASSES = {"dotterel": (12_500.0, 23_000.0), "whinchat": (2_500.0, 3_500.0)}  # kg
STORES = {"dotterel": ("belly_tank", "triple_rack_pipit"), "whinchat": ("practice_carrier",)}


def thin_pack(*, wing_area, polar, maximum_lift, thrust, load_limit=None, engines=1, most_lift=2.0) -> Pack:
    """A pack whose lift needs next to no angle of attack, so that thrust stays along the path.

    ``polar`` gives the drag coefficient of a lift coefficient; ``thrust`` is of one engine, N, at any speed.
    """
    slope = 1000.0
    angles = np.linspace(-0.1, most_lift, 421) / slope
    pack = make_pack(
        wing_area=wing_area,
        lift=lambda alpha: slope * alpha,
        drag=lambda alpha: polar(slope * alpha),
        maximum_lift=maximum_lift,
        thrust=thrust,
        engines=engines,
        alphas=angles,
    )
    return with_limits(wide(pack), load_limit)


def wide(pack: Pack) -> Pack:
    """The same pack with tables to Mach 1.2: what they hold does not depend on Mach number."""

    def widened(table):
        axes = dict(zip(table.names, table.axes, strict=True))
        place = table.names.index("mach")
        axes["mach"] = [0.0, 1.2]
        return make_table(table.name, axes, table.values.take([0, -1], axis=place))

    only = pack.aero.configurations["only"]
    parts = {name: widened(getattr(only, name)) for name in ("lift", "drag", "maximum_lift")}
    settings = {
        name: one.model_copy(update={"thrust": widened(one.thrust), "fuel_flow": widened(one.fuel_flow)})
        for name, one in pack.engine.settings.items()
    }
    aero = pack.aero.model_copy(update={"configurations": {"only": only.model_copy(update=parts)}})
    engine = pack.engine.model_copy(update={"settings": settings})
    return pack.model_copy(update={"aero": aero, "engine": engine})


def with_limits(pack: Pack, load_limit=None, **limits) -> Pack:
    """The same pack with a load factor limit at every mass, and any other limits."""
    if load_limit is not None:
        limits["load_factor_positive"] = make_table(
            "load_factor_positive", {"mass": [0.0, 1e6]}, [load_limit] * 2
        )
    return pack.model_copy(update={"limits": pack.limits.model_copy(update=limits)})


def number(value: float) -> Limit:
    """A limit with no condition on it."""
    return Limit(value=value)


@dataclass(frozen=True)
class Scene:
    """A shipped pack in the air: one case and where it is."""

    name: str
    power: str
    mass: float
    drag_index: float
    isa_deviation: float
    altitude: float
    mach: float
    failed_engines: int

    @property
    def pack(self) -> Pack:
        return shipped(self.name)

    @property
    def setup(self) -> FlightSetup:
        return flight_setup(self.pack, failed_engines=self.failed_engines)

    @property
    def cases(self) -> FlightCases:
        return make_flight_cases(self.mass, drag_index=self.drag_index, isa_deviation=self.isa_deviation)

    @property
    def parts(self) -> tuple[Pack, FlightSetup, FlightCases]:
        return self.pack, self.setup, self.cases


@st.composite
def scenes(draw, *, engines_fail: bool = True) -> Scene:
    """Draw a state inside the tables of a shipped pack, whether or not it can be flown."""
    name = draw(st.sampled_from(("dotterel", "whinchat")))
    top, fast = (14_000.0, 1.6) if name == "dotterel" else (11_000.0, 0.75)
    return Scene(
        name,
        draw(st.sampled_from(POWERS[name])),
        mass=draw(st.floats(*MASSES[name])),
        drag_index=draw(st.floats(0.0, 90.0)),
        isa_deviation=draw(st.floats(-20.0, 15.0)),
        altitude=draw(st.floats(0.0, top)),
        mach=draw(st.floats(0.15, fast)),
        failed_engines=draw(st.integers(0, 1)) if engines_fail and name == "dotterel" else 0,
    )
