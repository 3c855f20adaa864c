"""What can be done with the load: hang stores, take them off, put fuel into tanks; as edits of the text."""

from __future__ import annotations

from sortiewright.desk.editing import Edit, EditError
from sortiewright.desk.prepare_fields import Form, quantity_text
from sortiewright.pack import Pack, unit_factor
from sortiewright.sortie import Sortie, internal_fuel, stays

SLIDER_STEPS = {"lb": 50, "kg": 20}
"""By the units in which fuel is put into tanks."""
MOST_ON_A_STATION = 12


def names_at(form: Form, station: str) -> list[str]:
    """Return the stores that the text hangs on a station."""
    return [one for one in form.items("load", "stores", station) if isinstance(one, str)]


def opposite_of(pack: Pack, name: str) -> str:
    """Return the station that lies as far on the other side, empty if there is none."""
    here = pack.mass.stations[name]
    for other, there in pack.mass.stations.items():
        if (
            other != name
            and abs(there.arm - here.arm) < 0.01
            and abs(there.side_arm + here.side_arm) < 0.01
            and set(there.carries) == set(here.carries)
        ):
            return other
    return ""


def station_edits(
    form: Form, pack: Pack, station: str, action: str, store: str, index: int
) -> tuple[list[Edit], str]:
    """Return the edits of one act at a station, and what it is in words. Raises ``EditError``."""
    if station not in pack.mass.stations:
        raise EditError("There is no such station.")
    title = pack.mass.stations[station].title or station
    carried = names_at(form, station)
    match action:
        case "hang":
            if store not in pack.stores:
                raise EditError("There is no such store.")
            if len(carried) >= MOST_ON_A_STATION:
                raise EditError("Nothing more can be hung there.")
            said = f"{pack.stores[store].title} on {title}"
            return _hung(form, pack, station, [*carried, store]), said
        case "take":
            if not 0 <= index < len(carried):
                raise EditError("That does not hang there any more.")
            left = [one for at, one in enumerate(carried) if at != index]
            return _hung(form, pack, station, left), f"one store less on {title}"
        case "empty":
            return _hung(form, pack, station, []), f"nothing on {title}"
        case "mirror":
            other = opposite_of(pack, station)
            if not other:
                raise EditError("No station lies opposite.")
            there = pack.mass.stations[other].title or other
            return _hung(form, pack, other, carried), f"{there} as {title}"
        case _:
            raise EditError("That cannot be done at a station.")


def _hung(form: Form, pack: Pack, station: str, carried: list[str]) -> list[Edit]:
    """Return the edits that hang these stores on a station, and let go what no longer fits them."""
    key = ("load", "stores", station)
    edits = [
        Edit("put", key, carried if len(carried) > 1 else carried[0]) if carried else Edit("remove", key)
    ]
    if not any(pack.stores[one].fuel_capacity for one in carried if one in pack.stores):
        edits.append(Edit("remove", ("load", "fuel", "external", station)))
    order = form.items("load", "release_order")
    if (not carried or stays(pack, carried)) and station in order:
        edits.append(Edit("remove", ("load", "release_order", list(order).index(station))))
    return edits


def fuel_edits(
    form: Form, pack: Pack, sortie: Sortie | None, what: str, name: str, value: str, unit: str
) -> tuple[list[Edit], str]:
    """Return the edits that put fuel into a tank, or all of them. Raises ``EditError``."""
    fuel = ("load", "fuel")
    if what == "full":
        return [Edit("remove", (*fuel, part)) for part in ("total", "tanks", "external")], "all tanks full"
    amount = quantity_text(value[:40], unit if unit in SLIDER_STEPS else "lb")
    if what == "total":
        if not amount:
            return [Edit("remove", (*fuel, "total")), Edit("remove", (*fuel, "tanks"))], "internal tanks full"
        return [Edit("remove", (*fuel, "tanks")), Edit("put", (*fuel, "total"), amount)], f"{amount} internal"
    if what == "external" and name in pack.mass.stations:
        key, title = (*fuel, "external", name), pack.mass.stations[name].title or name
        return [Edit("put", key, amount) if amount else Edit("remove", key)], f"fuel on {title}"
    if what == "tank" and name in pack.mass.tanks:
        return _tank_edits(
            form, pack, sortie, name, amount, unit
        ), f"fuel in {pack.mass.tanks[name].title or name}"
    raise EditError("There is no such tank.")


def _tank_edits(
    form: Form, pack: Pack, sortie: Sortie | None, name: str, amount: str, unit: str
) -> list[Edit]:
    fuel = ("load", "fuel")
    if not amount:
        return [Edit("remove", (*fuel, "tanks", name))]
    edits: list[Edit] = []
    if form.value(*fuel, "total") is not None and sortie is not None:
        # A total is what all hold together: each tank is written as it then stands.
        size = unit_factor(unit, "kg")[0] if unit in SLIDER_STEPS else 1.0
        said = unit if unit in SLIDER_STEPS else "kg"
        edits.append(Edit("remove", (*fuel, "total")))
        edits += [
            Edit("put", (*fuel, "tanks", other), f"{round(kg / size)} {said}")
            for other, kg in internal_fuel(sortie, pack).items()
        ]
    return [*edits, Edit("put", (*fuel, "tanks", name), amount)]
