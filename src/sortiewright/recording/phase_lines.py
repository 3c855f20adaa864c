"""The phases and events of a flight as lines of text."""

from __future__ import annotations

from collections.abc import Sequence

from sortiewright.recording.moments import Flight


def flight_lines(flights: Sequence[Flight]) -> tuple[str, ...]:
    """Return each sortie's phases with their times, the events inside each, and what could not be told.

    Times are s on the recording's clock.
    """
    lines: list[str] = []
    for number, flight in enumerate(flights, start=1):
        if len(flights) > 1:
            lines += ["", f"Sortie {number}"] if lines else [f"Sortie {number}"]
        events = list(flight.events)
        for phase in flight.phases:
            name = phase.name.replace("_", " ")
            lines.append(f"{phase.begins:10.2f} s  {name:<18} {phase.ends - phase.begins:8.1f} s")
            while events and events[0].time < phase.ends:
                event = events.pop(0)
                told = f", by {event.basis}" if event.basis else ""
                lines.append(f"{event.time:10.2f} s    {event.name.replace('_', ' ')}{told}")
        lines += [f"{event.time:10.2f} s    {event.name.replace('_', ' ')}" for event in events]
        lines += flight.notes
    return tuple(lines)
