"""A sortie to open with a sampled pack: a calm day at an invented field with a long runway."""

from __future__ import annotations

from sortiewright.pack_sampling.sampling import SampledAircraft

FIRST_SORTIE = "sorties/first.yaml"
NAMES = ("I. Marrow", "P. Quill")
FULL = 0.999  # share of the tanks


def first_sortie_text(aircraft: SampledAircraft, *, fuel: float = 1.0, power: str | None = None) -> str:
    """Return the text of a sortie: ``fuel`` is the share of the tanks, ``power`` the takeoff's setting, the
    pack's technique where absent. Seats beyond the second stay empty."""
    load = aircraft.load
    crew = [f"  {seat.name}: {{name: {who}}}" for seat, who in zip(load.seats, NAMES, strict=False)]
    crew += [f"  {seat.name}: {{name: nobody, mass: 0 lb}}" for seat in load.seats[len(NAMES) :]]
    aboard = sum(tank.capacity for tank in load.tanks)
    some = "{}" if fuel >= FULL else f"{{total: {fuel * aboard:.0f} lb}}"
    lines = [
        f"# A first flight of the sampled {aircraft.model}: a calm standard day at an invented field.",
        f"title: First flight, {aircraft.model}",
        "callsign: Thistle 01",
        "date: 2026-05-14",
        "time: 10:00Z",
        "pack: ..",
        "",
        "crew:",
        *crew,
        "",
        "load:",
        f"  fuel: {some}",
        "  taxi_time: 5 min",
        *(["", "takeoff:", f"  power: {power}"] if power is not None else []),
        "",
        "aerodrome:",
        "  icao: ZZCH",
        "  name: Corran Head",
        "  latitude: 56.214",
        "  longitude: -5.083",
        "  elevation: 212 ft",
        "  runways:",
        '    - {designator: "26", true_heading: 258 deg, length: 10000 ft, width: 150 ft, slope: 0 %}',
        'runway: "26"',
        "",
        "weather:",
        "  metar: METAR ZZCH 140950Z 00000KT 9999 SKC 15/05 Q1013",
        "",
    ]
    return "\n".join(lines)
