"""What only a model's file says: contacts, tanks, engines, flap settings, and where its tables end."""

from __future__ import annotations

import xml.etree.ElementTree as ElementTree
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from sortiewright.pack_sampling.flight_model import FlightModel, library, model_fault

Element = ElementTree.Element

_INCHES = {"IN": 1.0, "FT": 12.0, "M": 1.0 / 0.0254}
_POUNDS = {"LBS": 1.0, "KG": 1.0 / 0.45359237}
_DEGREES = {"DEG": 1.0, "RAD": 57.29577951308232}
_KINDS = {
    "turbine_engine": "turbine",
    "turboprop_engine": "turboprop",
    "piston_engine": "piston",
    "electric_engine": "electric",
    "brushless_dc_motor": "electric",
    "rocket_engine": "rocket",
}


@dataclass(frozen=True)
class Contact:
    """A point that can touch the ground, inches aft, right and up in the model's own axes."""

    name: str
    is_wheel: bool
    x: float
    y: float
    z: float
    braked: bool
    steer_deg: float = 0.0
    """Greatest steering angle; 0 where the wheel is fixed or casters."""


@dataclass(frozen=True)
class FuelTank:
    """A fuel tank. ``capacity`` lb, position inches."""

    capacity: float
    x: float
    y: float


@dataclass(frozen=True)
class PointMass:
    """A mass declared beside the empty weight, lb and inches."""

    name: str
    weight: float
    x: float
    y: float


@dataclass(frozen=True)
class EngineMount:
    """An engine and where it is. ``kind`` is turbine, piston, turboprop, electric or rocket."""

    name: str
    kind: str
    has_propeller: bool
    burner_method: int | None
    """0: by its own switch, 1: at full throttle, 2: above throttle position 1; None: no burner."""
    x: float
    y: float
    z: float
    pitch_deg: float


@dataclass(frozen=True)
class ModelDescription:
    """What the file says."""

    contacts: tuple[Contact, ...]
    tanks: tuple[FuelTank, ...]
    point_masses: tuple[PointMass, ...]
    engines: tuple[EngineMount, ...]
    flap_settings: tuple[float, ...]
    """Flap lever positions with a name of their own, as shares of full travel, without 0."""
    alpha_range_deg: tuple[float, float]
    alpha_nodes_deg: tuple[float, ...]
    """Angles at which the model's lift and drag tables bend."""
    mach_nodes: tuple[float, ...]
    """Mach numbers at which its tables of air forces bend."""
    thrust_mach_nodes: dict[str, tuple[float, ...]]
    """Mach numbers at which the library's thrust functions ``IdleThrust``, ``MilThrust`` and ``AugThrust``
    bend; a function that has no such table is left out."""
    thrust_altitudes: tuple[float, ...]
    """Heights, ft, at which thrust tables bend."""


def describe(model: FlightModel) -> ModelDescription:
    """Return what a model's file, and the files that it names, say."""
    root = _parsed(model.file, model.name)
    air = list(_sections(root, model, "aerodynamics"))
    propulsion = list(_sections(root, model, "propulsion"))
    alphas = _nodes(air, "aero/alpha-", ("LIFT", "DRAG", "X", "Z", "NORMAL", "AXIAL"))
    lift_alphas = _nodes(air, "aero/alpha-", ("LIFT", "Z", "NORMAL")) or alphas
    engines = tuple(_engine(node, model) for part in propulsion for node in part.iter("engine"))
    return ModelDescription(
        contacts=tuple(
            _contact(node)
            for part in _sections(root, model, "ground_reactions")
            for node in part.iter("contact")
        ),
        tanks=tuple(_tank(node) for part in propulsion for node in part.findall("tank") if _is_fuel(node)),
        point_masses=tuple(
            _point_mass(node)
            for part in _sections(root, model, "mass_balance")
            for node in part.iter("pointmass")
        ),
        engines=tuple(mount for mount, _ in engines),
        flap_settings=_flap_settings(root, model),
        alpha_range_deg=(min(lift_alphas), max(lift_alphas)) if lift_alphas else (-10.0, 20.0),
        alpha_nodes_deg=alphas,
        mach_nodes=_nodes(air, "velocities/mach", ("LIFT", "DRAG", "PITCH", "X", "Z", "NORMAL", "AXIAL")),
        thrust_mach_nodes=_thrust_nodes([root for _, root in engines]),
        thrust_altitudes=_nodes([root for _, root in engines], "atmosphere/density-altitude", None),
    )


def _parsed(file: Path, model: str) -> Element:
    try:
        return ElementTree.parse(file).getroot()
    except (OSError, ElementTree.ParseError) as error:
        raise model_fault(model, f"cannot be read: {error}", read=file.name) from None


def _sections(root: Element, model: FlightModel, tag: str) -> Iterator[Element]:
    """Yield a model's sections of this name, from the file that the section names if it names one."""
    for section in root.findall(tag):
        named = section.get("file")
        yield _parsed(_beside(model, named), model.name) if named else section


def _beside(model: FlightModel, name: str) -> Path:
    """Return the file that a model names, which may lie beside it or in one of its folders."""
    file = name if name.endswith(".xml") else f"{name}.xml"
    folder, root = model.file.parent, Path(library().get_default_root_dir())
    places = [folder, folder / "Systems", folder / "Engines", folder / "engines"]
    places += [folder.parent.parent / part for part in ("engine", "systems")]
    places += [root / part for part in ("engine", "systems")]
    for place in places:
        if (place / file).is_file():
            return place / file
    raise model_fault(model.name, "is a file that the model names and that is nowhere near it", read=file)


def _number(node: Element | None, units: dict[str, float], default: float = 0.0) -> float:
    if node is None or node.text is None:
        return default
    return float(node.text) * units.get((node.get("unit") or "").upper(), 1.0)


def _location(node: Element) -> tuple[float, float, float]:
    place = node.find("location")
    if place is None:
        return 0.0, 0.0, 0.0
    scale = _INCHES.get((place.get("unit") or "IN").upper(), 1.0)
    x, y, z = (scale * float(place.findtext(axis, "0")) for axis in "xyz")
    return x, y, z


def _contact(node: Element) -> Contact:
    group = node.findtext("brake_group", "NONE").strip().upper()
    braked = group not in ("NONE", "")
    steer = abs(_number(node.find("max_steer"), _DEGREES))
    return Contact(
        node.get("name") or "",
        node.get("type") == "BOGEY",
        *_location(node),
        braked,
        steer if steer < CASTERING else 0.0,
    )


CASTERING = 90.0  # deg: the library takes a wheel that may turn all round for one that nothing steers


def _is_fuel(node: Element) -> bool:
    return (node.get("type") or "FUEL").upper() == "FUEL"


def _tank(node: Element) -> FuelTank:
    x, y, _ = _location(node)
    return FuelTank(_number(node.find("capacity"), _POUNDS), x, y)


def _point_mass(node: Element) -> PointMass:
    x, y, _ = _location(node)
    return PointMass(node.get("name") or "", _number(node.find("weight"), _POUNDS), x, y)


def _engine(node: Element, model: FlightModel) -> tuple[EngineMount, Element]:
    name = node.get("file") or ""
    root = _parsed(_beside(model, name), model.name)
    thruster = node.find("thruster")
    turns = False
    where = node
    if thruster is not None:
        turns = _parsed(_beside(model, thruster.get("file") or ""), model.name).tag == "propeller"
        where = thruster
    method = None
    if root.findtext("augmented", "0").strip() not in ("", "0"):
        method = int(float(root.findtext("augmethod", "0")))
    orient = where.find("orient")
    pitch = 0.0
    if orient is not None:
        scale = _DEGREES.get((orient.get("unit") or "RAD").upper(), 1.0)
        pitch = scale * float(orient.findtext("pitch", "0"))
    kind = _KINDS.get(root.tag, root.tag)
    return EngineMount(name, kind, turns, method, *_location(where), pitch), root


def _flap_settings(root: Element, model: FlightModel) -> tuple[float, ...]:
    """Return the positions of the flap lever between up and down, and down, as shares of full travel."""
    for section in _control_sections(root, model):
        for part in section.iter("kinematic"):
            if part.findtext("input", "").strip() == "fcs/flap-cmd-norm":
                positions = [float(node.text or 0) for node in part.iter("position")]
                full = max(positions, default=0.0)
                if full > 0:
                    return tuple(sorted({position / full for position in positions if position > 0}))
    return ()


def _control_sections(root: Element, model: FlightModel) -> Iterator[Element]:
    for tag in ("flight_control", "autopilot", "system"):
        yield from _sections(root, model, tag)


def _nodes(roots: list[Element], variable: str, axes: tuple[str, ...] | None) -> tuple[float, ...]:
    """Return where the tables over a variable bend, below these axes or anywhere; angles in degrees."""
    found: set[float] = set()
    for root in roots:
        parents = [root] if axes is None else _axes(root, axes)
        for parent in parents:
            for table in parent.iter("table"):  # the parent itself too
                found |= _table_nodes(table, variable)
    return tuple(sorted(round(value, 6) for value in found))


def _thrust_nodes(engines: list[Element]) -> dict[str, tuple[float, ...]]:
    found: dict[str, tuple[float, ...]] = {}
    for engine in engines[:1]:
        for part in (*engine.iter("function"), *engine.iter("table")):
            nodes = _nodes([part], "velocities/mach", None)
            if nodes and (name := part.get("name")):
                found[name] = nodes
    return found


def _axes(root: Element, names: tuple[str, ...]) -> list[Element]:
    """Return the axes of these names, and what stands above all axes, as functions there serve them."""
    axes = [axis for axis in root.findall("axis") if (axis.get("name") or "").upper() in names]
    return [*axes, *root.findall("function")]


def _table_nodes(table: Element, variable: str) -> set[float]:
    scale = 1.0
    found: set[float] = set()
    for axis in table.findall("independentVar"):
        name = (axis.text or "").strip()
        if not name.startswith(variable):
            continue
        scale = _DEGREES["RAD"] if name.endswith("-rad") else 1.0
        lookup = axis.get("lookup", "row")
        for data in table.findall("tableData"):
            lines = [line.split() for line in (data.text or "").splitlines() if line.split()]
            if not lines:
                continue
            several = len(table.findall("independentVar")) > 1
            if lookup == "column":
                found |= {float(word) * scale for word in lines[0]}
            elif lookup == "row":
                found |= {float(line[0]) * scale for line in lines[several:]}
    return found
