"""Crew and time; the choices for takeoff and landing; the files a sortie names: as fields by card."""

from __future__ import annotations

from sortiewright.desk.prepare_fields import Choice, Field, Form
from sortiewright.desk.prepare_words import MASS_UNITS, SPEED_UNITS
from sortiewright.pack import Pack
from sortiewright.sortie import Kind, System, show


def day_fields(
    form: Form, pack: Pack | None, packs: tuple[str, ...], overlays: tuple[str, ...], units: System
) -> dict[str, tuple[Field, ...]]:
    """Return the fields of who flies, when and what: by card."""
    flight = tuple(
        form.field((key,), title)
        for key, title in (("callsign", "Callsign"), ("title", "Sortie"), ("squadron", "Squadron"))
    )
    when = (
        form.field(("date",), "Date, UTC", hint="2026-05-14"),
        form.field(("time",), "Brake release, UTC", hint="09:40Z"),
    )
    aircraft = (
        form.field(("pack",), "Aircraft", choices=tuple(Choice(name, name) for name in packs)),
        form.field(
            ("overlay",),
            "Its calibration",
            choices=tuple(Choice(name, name) for name in overlays),
            control="choice",
            placeholder="none: as the pack says" if overlays else "none lies beside the sortie",
        ),
    )
    return {"flight": (*flight, *aircraft), "when": when} | ({} if pack is None else _crew(form, pack, units))


def _crew(form: Form, pack: Pack, units: System) -> dict[str, tuple[Field, ...]]:
    found: dict[str, tuple[Field, ...]] = {}
    for name, seat in pack.mass.seats.items():
        usual = show(seat.standard_mass, Kind.MASS, units, step=1.0).text
        found[seat.title or name] = (
            form.field(("crew", name, "name"), "Name"),
            form.field(
                ("crew", name, "mass"),
                "Weight with kit",
                unit=MASS_UNITS[units],
                placeholder=f"usual {usual}",
            ),
        )
    return found


def choice_fields(form: Form, pack: Pack, units: System) -> dict[str, tuple[Field, ...]]:
    """Return the fields of the choices for takeoff and landing: by card."""
    settings = tuple(Choice(name, one.title or name) for name, one in pack.engine.settings.items())
    flaps = tuple(Choice(name, one.title or name) for name, one in pack.aero.configurations.items())
    usual, landing = pack.technique.takeoff, pack.technique.landing
    speed = SPEED_UNITS[units]

    def titled(choices: tuple[Choice, ...], name: str) -> str:
        return "usual: " + next((one.title for one in choices if one.value == name), name)

    return {
        "Takeoff": (
            form.field(
                ("takeoff", "power"), "Power", choices=settings, placeholder=titled(settings, usual.power)
            ),
            form.field(
                ("takeoff", "release_power"),
                "Power at brake release",
                choices=settings,
                placeholder=titled(settings, usual.release_power or usual.power),
            ),
            form.field(
                ("takeoff", "configuration"),
                "Flaps",
                choices=flaps,
                placeholder=titled(flaps, usual.configuration),
            ),
            form.field(("takeoff", "rotation_speed"), "Rotation speed", unit=speed, placeholder="usual"),
            form.field(("takeoff", "pitch_rate"), "Pitch rate", unit="deg/s", placeholder="usual"),
            form.field(("takeoff", "takeoff_attitude"), "Attitude held", unit="deg", placeholder="usual"),
            form.field(("takeoff", "continue_to"), "A continued takeoff is counted to", placeholder="usual"),
            form.field(("takeoff", "rejected_with_chute"), "Stop with the chute", placeholder="usual: yes"),
        ),
        "Landing": (
            form.field(
                ("landing", "configuration"),
                "Flaps",
                choices=flaps,
                placeholder=titled(flaps, landing.configuration),
            ),
            form.field(
                ("landing", "on_speed_angle_of_attack"),
                "On-speed angle of attack",
                unit="deg",
                placeholder="usual",
            ),
            form.field(("landing", "stores"), "Stores at landing", placeholder="kept"),
            form.field(("landing", "with_chute"), "With the chute", placeholder="usual: yes"),
        ),
        "Departure": (
            form.field(
                ("requirements", "single_engine_climb_gradient"),
                "Climb gradient on one engine",
                unit="ft/nmi",
                placeholder="none asked",
            ),
            form.field(("notes",), "Notes", control="area"),
        ),
    }
