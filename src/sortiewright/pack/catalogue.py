"""Which packs there are, and what one of them holds in a few lines."""

from __future__ import annotations

from pathlib import Path as FilePath
from typing import TYPE_CHECKING, NamedTuple

from sortiewright.pack.errors import FileError, InputError, choice_hint
from sortiewright.pack.text import as_mapping, parse_yaml, read_text_file

if TYPE_CHECKING:
    from sortiewright.pack.load import LoadedPack

SHIPPED = FilePath(__file__).parent.parent / "packs"


class PackEntry(NamedTuple):
    """One line of a list of packs."""

    name: str
    title: str
    version: str
    summary: str


class SummaryRow(NamedTuple):
    """One line of a summary: SI value with its unit, or text with an empty unit."""

    group: str
    label: str
    value: float | str
    unit: str = ""


def pack_names() -> list[str]:
    """Return the names of the packs shipped with the program."""
    if not SHIPPED.is_dir():
        return []
    return sorted(path.name for path in SHIPPED.iterdir() if (path / "pack.yaml").is_file())


def pack_folder(path_or_name: str | FilePath) -> FilePath:
    """Return the folder of a shipped pack's name, or of a path to a folder or to its ``pack.yaml``.

    Raises ``FileError`` if there is neither.
    """
    name = str(path_or_name) or "."
    if isinstance(path_or_name, str) and name in (names := pack_names()):
        return SHIPPED / names[names.index(name)]
    path = FilePath(path_or_name)
    try:
        if path.name == "pack.yaml" and path.is_file():
            return path.parent
        is_folder, found = path.is_dir(), path.exists()
        if is_folder and any(
            (path / file).exists() for file in ("pack.yaml", "airframe.yaml", "engine.yaml")
        ):
            return path
    except (OSError, ValueError):  # a name no file can have
        is_folder = found = False
    shown_name = name if len(name) <= 80 else name[:77] + "..."
    if is_folder:
        raise FileError(
            shown_name, "this folder holds no pack", "A pack has a pack.yaml and its parts beside it"
        )
    if found:
        raise FileError(shown_name, "a pack is a folder, this is a file")
    raise FileError(shown_name, "there is no such pack", choice_hint(name, pack_names(), "packs"))


def packs_available() -> list[PackEntry]:
    """Return name, title, version and summary of each shipped pack; a pack that cannot be read says so."""
    entries: list[PackEntry] = []
    for name in pack_names():
        try:
            head = parse_yaml(read_text_file(SHIPPED / name / "pack.yaml"), "pack.yaml", numbers=False).data
        except InputError as error:
            entries.append(PackEntry(name, "", "", f"cannot be read: {error.problems[0]}"))
            continue
        known = as_mapping(head) or {}
        entries.append(
            PackEntry(name, *(str(known.get(key) or "") for key in ("title", "version", "summary")))
        )
    return entries


def summarise_pack(loaded: LoadedPack) -> list[SummaryRow]:
    """Return what a pack holds, in rows of group, label, SI value and unit."""
    pack = loaded.pack
    mass, engine = pack.mass, pack.engine
    fuel = sum(tank.capacity - tank.unusable for tank in mass.tanks.values())
    external = max((store.fuel_capacity for store in pack.stores.values()), default=0.0)
    static_thrust = [
        SummaryRow("engine", f"static thrust of one, {setting.title or name}", _static(loaded, name), "N")
        for name, setting in engine.settings.items()
    ]
    limits = [name for name, limit in pack.limits if limit]
    return [
        SummaryRow("pack", "name", pack.name),
        SummaryRow("pack", "title", pack.title),
        SummaryRow("pack", "version", pack.version),
        SummaryRow("pack", "summary", pack.summary),
        SummaryRow("pack", "rights", pack.rights),
        SummaryRow("pack", "folder", str(loaded.folder)),
        SummaryRow("pack", "digest", loaded.digest[:12]),
        SummaryRow("airframe", "wing area", pack.airframe.wing_area, "m2"),
        SummaryRow("airframe", "span", pack.airframe.span, "m"),
        SummaryRow("airframe", "mean chord", pack.airframe.mean_chord, "m"),
        SummaryRow("airframe", "static ground attitude", pack.airframe.static_ground_attitude, "rad"),
        SummaryRow("airframe", "tail strike attitude", pack.airframe.tail_strike_attitude, "rad"),
        SummaryRow("aero", "configurations", ", ".join(pack.aero.configurations)),
        SummaryRow("engine", "engines", float(engine.count)),
        *static_thrust,
        SummaryRow("mass", "basic mass", mass.basic_mass, "kg"),
        SummaryRow("mass", "maximum takeoff mass", mass.maximum_takeoff_mass, "kg"),
        SummaryRow("mass", "maximum landing mass", mass.maximum_landing_mass, "kg"),
        SummaryRow("mass", "usable internal fuel", fuel, "kg"),
        *([SummaryRow("mass", "largest external tank", external, "kg")] if external else []),
        SummaryRow("mass", "seats", ", ".join(seat.title for seat in mass.seats.values())),
        SummaryRow("mass", "stations", float(len(mass.stations))),
        SummaryRow("stores", "stores", ", ".join(store.title for store in pack.stores.values())),
        SummaryRow("wheels", "tyre speed limit", pack.wheels.tyre_speed_limit, "m/s"),
        SummaryRow("limits", "limits given", ", ".join(limits)),
        SummaryRow("book", "check points", float(len(pack.book))),
        SummaryRow("pack", "values with a source", float(len(loaded.sources))),
    ]


def _static(loaded: LoadedPack, setting: str) -> float:
    return float(loaded.pack.engine.settings[setting].thrust(0.0, 0.0))
