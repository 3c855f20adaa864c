"""The CSV tables of a sampled pack."""

from __future__ import annotations

import numpy as np

from sortiewright.pack_sampling.english_units import FOOT, POUND, POUND_FORCE
from sortiewright.pack_sampling.pack_text import column_text, csv_text
from sortiewright.pack_sampling.sampling import SampledAircraft, SampledConfiguration, SampledPower


def table_files(aircraft: SampledAircraft) -> dict[str, str]:
    """Return the tables' text by file name."""
    said = f"sampled from {aircraft.model} of JSBSim {aircraft.version}"
    files: dict[str, str] = {}
    for name, one in aircraft.configurations.items():
        files |= {f"tables/{name}_{key}.csv": text for key, text in _air(one, said).items()}
    for name, power in aircraft.power.items():
        files |= {f"tables/{name}_{key}.csv": text for key, text in _power(power, said).items()}
    effect = aircraft.effect
    files["tables/ground_effect.csv"] = column_text(
        "height_over_span", "factor", effect.height_over_span, effect.factor, 4, said
    )
    if effect.lift_matters:
        files["tables/ground_effect_lift.csv"] = column_text(
            "height_over_span", "factor", effect.height_over_span, effect.lift, 4, said
        )
    return files


def _air(one: SampledConfiguration, said: str) -> dict[str, str]:
    forces = one.forces
    corner = "angle_of_attack deg \\ mach"
    greatest = np.maximum(forces.lift.max(axis=0), LEAST_MAXIMUM)
    return {
        "lift": csv_text(corner, forces.mach, forces.alpha_deg, forces.lift, 4, said),
        "drag": csv_text(corner, forces.mach, forces.alpha_deg, np.maximum(forces.drag, LEAST_DRAG), 5, said),
        "maximum_lift": column_text("mach", "maximum_lift", forces.mach, greatest, 4, said),
    }


LEAST_DRAG = 1e-4  # some models have none at a few points of large angles; a pack's drag is positive
LEAST_MAXIMUM = 0.05


def _power(power: SampledPower, said: str) -> dict[str, str]:
    grid = power.grid
    corner = "mach \\ pressure_altitude ft"
    altitudes = grid.pressure_altitude / FOOT
    flow = np.maximum(grid.fuel_flow, 0.0) / POUND * 3600
    places = 1 if np.max(np.abs(grid.thrust)) > 500 * POUND_FORCE else 2
    factors = {"thrust": power.thrust_factor, "fuel_flow": power.fuel_flow_factor}
    return {
        "thrust": csv_text(corner, altitudes, grid.mach, grid.thrust / POUND_FORCE, places, said),
        "fuel_flow": csv_text(corner, altitudes, grid.mach, flow, places, said),
        **{
            f"{key}_temperature_factor": column_text(
                "isa_deviation delta_degC", "factor", power.deviations, factor, 4, said
            )
            for key, factor in factors.items()
        },
    }
