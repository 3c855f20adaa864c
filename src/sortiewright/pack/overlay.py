"""Factors found by calibration, kept beside a pack: a file of its own, which a pack is loaded with.

The pack's files stay as their author wrote them. An overlay names the pack by the digest of its files, so
that factors never meet numbers that they were not found with.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path as FilePath
from types import MappingProxyType
from typing import Annotated

from pydantic import Field

from sortiewright.pack.errors import InputError, Problem, choice_hint
from sortiewright.pack.factors import pack_factors, with_factors
from sortiewright.pack.quantities import Number
from sortiewright.pack.schema import Aero, Pack
from sortiewright.pack.schema_base import Model
from sortiewright.pack.table import Table
from sortiewright.pack.text import Document, parse_yaml, read_text_file
from sortiewright.pack.validation import read_record

FACTOR_TITLES: Mapping[str, str] = MappingProxyType(
    {
        "thrust": "Thrust",
        "drag": "Drag",
        "friction": "Rolling friction",
        "pitch_rate": "Pitch rate in the rotation",
    }
)
"""What a calibration may find, in the order it is shown."""


class OverlayFactor(Model):
    """One factor on the pack's own value, its 95 % interval, and one standard deviation."""

    factor: Annotated[Number, Field(gt=0.25, lt=4.0)]
    low: Number
    high: Number
    standard_deviation: Annotated[Number, Field(ge=0.0)]


class OverlayFactors(Model):
    """Factors by what they multiply; what is absent stays as the pack has it."""

    thrust: OverlayFactor | None = None
    """On the thrust of every setting."""
    drag: OverlayFactor | None = None
    """On the whole drag of the configuration flown: its table, the gear and the stores."""
    friction: OverlayFactor | None = None
    """On rolling friction alone: a takeoff says nothing of the brakes."""
    pitch_rate: OverlayFactor | None = None
    """On the pitch rate of the pack's takeoff technique."""

    def given(self) -> dict[str, OverlayFactor]:
        """Return the factors that are there, by name."""
        found = {name: getattr(self, name) for name in FACTOR_TITLES}
        return {name: factor for name, factor in found.items() if factor is not None}


class Overlay(Model):
    """What a calibration found for one pack, and from what."""

    pack: str
    pack_version: str
    pack_digest: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
    configuration: str
    """Of the aerodynamics flown: the only one whose drag is changed."""
    factors: OverlayFactors = OverlayFactors()
    fitted: dict[str, OverlayFactor] = Field(default_factory=dict[str, OverlayFactor])
    """Factors on single numbers of the pack, by the names of ``pack_factors``; found from handbook points."""
    held: dict[str, str] = Field(default_factory=dict[str, str])
    """Factors that could not be told, and why; they are 1."""
    correlations: dict[str, Number] = Field(default_factory=dict[str, float])
    """Between the errors of two factors, by ``thrust and drag``."""
    made_from: tuple[str, ...] = ()
    method: str = ""


@dataclass(frozen=True)
class LoadedOverlay:
    """An overlay and the file it came from."""

    overlay: Overlay
    document: Document


def load_overlay(path: str | FilePath) -> LoadedOverlay:
    """Return the overlay in a YAML file. Raises ``InputError`` with every fault."""
    file = FilePath(path)
    document = parse_yaml(read_text_file(file, name=file.name), file.name)
    overlay, _ = read_record(document, Overlay)
    given = {("factors", name): factor for name, factor in overlay.factors.given().items()}
    given |= {("fitted", name): factor for name, factor in overlay.fitted.items()}
    problems = [
        document.problem(
            path,
            f"{factor.factor:g}",
            f"is outside its own interval {factor.low:g} to {factor.high:g}",
        )
        for path, factor in given.items()
        if not factor.low <= factor.factor <= factor.high
    ]
    if not given:
        problems.append(document.problem(("factors",), "", "holds no factor", "Calibrate again"))
    if problems:
        raise InputError(problems)
    return LoadedOverlay(overlay, document)


def overlay_problem(loaded: LoadedOverlay, pack: Pack, digest: str) -> Problem | None:
    """Return why an overlay does not belong to a pack, or None where it does."""
    overlay, document = loaded.overlay, loaded.document
    if overlay.pack != pack.name:
        hint = f"Calibrate {pack.name}, or leave the overlay out"
        return document.problem(("pack",), f'"{overlay.pack}"', f'is not the pack used, "{pack.name}"', hint)
    if overlay.pack_digest != digest:
        expected = f"is not the digest of {pack.name} {pack.version} as it is now, {digest[:12]}"
        hint = "The pack was changed since: calibrate again, or take the pack as it was then"
        return document.problem(("pack_digest",), overlay.pack_digest[:12], expected, hint)
    if overlay.configuration not in pack.aero.configurations:
        read = f'"{overlay.configuration}"'
        return document.problem(("configuration",), read, f"is no configuration of {pack.name}")
    known = pack_factors(pack)
    for name in overlay.fitted:
        if name not in known:
            hint = choice_hint(name, known, "factors")
            return document.problem(("fitted", name), "", f"is no factor of {pack.name}", hint)
    return None


def with_overlay(pack: Pack, overlay: Overlay) -> Pack:
    """Return a pack whose own numbers have the factors in them.

    Factors on all thrust and on the drag of a takeoff give the same run as ``thrust_factor`` and
    ``drag_factor`` of ``performance.Cases``. Braking friction and other configurations stay, as a takeoff
    run says nothing of them; so do lift and the moments.
    """
    pack = with_factors(pack, {name: factor.factor for name, factor in overlay.fitted.items()})
    found = {name: factor.factor for name, factor in overlay.factors.given().items()}
    changes: dict[str, object] = {}
    if "thrust" in found:
        settings = {
            name: setting.model_copy(update={"thrust": _scaled(setting.thrust, found["thrust"])})
            for name, setting in pack.engine.settings.items()
        }
        changes["engine"] = pack.engine.model_copy(update={"settings": settings})
    if "drag" in found:
        changes["aero"] = _with_drag(pack.aero, overlay.configuration, found["drag"])
    if "friction" in found:
        friction = pack.wheels.rolling_friction * found["friction"]
        changes["wheels"] = pack.wheels.model_copy(update={"rolling_friction": friction})
    if "pitch_rate" in found:
        takeoff = pack.technique.takeoff
        slower = takeoff.model_copy(update={"pitch_rate": takeoff.pitch_rate * found["pitch_rate"]})
        changes["technique"] = pack.technique.model_copy(update={"takeoff": slower})
    return pack.model_copy(update=changes)


def _with_drag(aero: Aero, configuration: str, factor: float) -> Aero:
    flown = aero.configurations[configuration]
    scaled = flown.model_copy(update={"drag": _scaled(flown.drag, factor)})
    return aero.model_copy(
        update={
            "configurations": {**aero.configurations, configuration: scaled},
            "gear": aero.gear.model_copy(update={"drag": aero.gear.drag * factor}),
            "drag_per_index": aero.drag_per_index * factor,
        }
    )


def _scaled(table: Table, factor: float) -> Table:
    return replace(table, values=table.values * factor)


def overlay_summary(overlay: Overlay) -> str:
    """Return the factors in a sentence: ``thrust 0.997 (0.993 to 1.001), pitch rate ...``."""
    given = {FACTOR_TITLES[name].lower(): factor for name, factor in overlay.factors.given().items()}
    given |= {name.replace("_", " "): factor for name, factor in overlay.fitted.items()}
    return ", ".join(
        f"{title} {factor.factor:.3f} ({factor.low:.3f} to {factor.high:.3f})"
        for title, factor in given.items()
    )


def overlay_text(overlay: Overlay) -> str:
    """Return an overlay as the YAML that ``load_overlay`` reads."""
    lines = [
        "# Factors on a pack's own numbers, found by `sortiewright "
        f"{'pack fit' if overlay.fitted else 'calibrate'}`. Intervals are 95 %.",
        "# Used by a sortie that names this file: overlay: overlay.yaml",
        *(f"{key}: {_quoted(getattr(overlay, key))}" for key in ("pack", "pack_version", "pack_digest")),
        f"configuration: {_quoted(overlay.configuration)}",
    ]
    for key, given in (("factors", overlay.factors.given()), ("fitted", overlay.fitted)):
        lines += [f"{key}:"] if given else []
        for name, factor in given.items():
            values = ", ".join(f"{part}: {value:.6g}" for part, value in factor.model_dump().items())
            lines.append(f"  {name}: {{{values}}}")
    if overlay.held:
        lines += ["held:", *(f"  {name}: {_quoted(why)}" for name, why in overlay.held.items())]
    if overlay.correlations:
        lines.append("correlations:")
        lines += [f"  {pair}: {value:.3f}" for pair, value in overlay.correlations.items()]
    lines.append("made_from:" if overlay.made_from else "made_from: []")
    lines += [f"  - {_quoted(source)}" for source in overlay.made_from]
    return "\n".join([*lines, f"method: {_quoted(overlay.method)}", ""])


def _quoted(text: str) -> str:
    # A JSON string without escapes above ASCII is a double-quoted YAML scalar (YAML 1.2.2, section 1.2).
    return json.dumps(text, ensure_ascii=False)
