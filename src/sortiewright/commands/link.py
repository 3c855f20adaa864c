"""The live feed: listened to, recorded, and a recording sent as one."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import App, Parameter

from sortiewright.commands.arguments import argument, sortie_file
from sortiewright.commands.faults import UsageError
from sortiewright.commands.output import print_json, remark

if TYPE_CHECKING:
    from cyclopts import Token

    from sortiewright.commands.link_session import Session

app = App(name="link", group_parameters="Options")

LOOPBACK = "127.0.0.1"
PORT = 4710


Entity = tuple[int, int, int]
"""Site, application and entity, as DIS numbers them."""


def entity(text: str) -> Entity:
    """Return a DIS entity from site:application:entity."""
    parts = text.split(":")
    if len(parts) != 3 or not all(part.isdecimal() and int(part) < 2**16 for part in parts):
        raise UsageError(f'"{text}" is no entity. Write site, application and entity: 1:1:7')
    site, application, number = map(int, parts)
    return site, application, number


def _one_entity(_: Any, tokens: Sequence[Token]) -> Entity:
    return entity(tokens[0].value)


Seconds = Annotated[float | None, Parameter(name="--for", metavar="seconds")]
Bind = Annotated[str, Parameter(metavar="address")]
Port = Annotated[int, Parameter(metavar="number")]
Json = Annotated[bool, Parameter(negative="")]
Followed = Annotated[
    Entity | None,
    # A plain tuple would ask for three words and offer --empty-entity.
    Parameter(
        converter=_one_entity,
        metavar="site:application:entity",
        n_tokens=1,
        accepts_keys=False,
        negative="",
    ),
]
Flown = Annotated[str | None, argument(sortie_file, "file")]
Names = Annotated[tuple[str, ...], Parameter(negative="", metavar="name")]


@app.command(sort_key=1)
def listen(
    *,
    sortie: Flown = None,
    procedure: Names = (),
    rules: Annotated[bool, Parameter(negative="")] = False,
    channel: Names = (),
    entity: Followed = None,
    bind: Bind = LOOPBACK,
    port: Port = PORT,
    seconds: Seconds = None,
    json: Json = False,
) -> None:
    """Show what arrives, call planned speeds and limits, and count every datagram. Ctrl-C ends it.

    Example: sortiewright link listen --for 1

    Parameters
    ----------
    sortie
        The sortie being flown: its line, decision and rotation speeds are called, and its pack's limits.
    procedure
        A checklist of the sortie whose items are to be told when the feed shows them done; may be given
        several times.
    rules
        Judge the rules of the sortie's pack while it is flown; each finding is told when its phase is over.
    channel
        A channel to show; may be given several times. A few common ones where absent.
    entity
        The DIS entity to follow. The first that comes where absent.
    bind
        The address to listen at. Another than 127.0.0.1 lets other machines feed this one.
    port
        UDP port.
    seconds
        Stop after so long.
    json
        Print JSON, one object a line.
    """
    from sortiewright.commands.link_session import Session, aids_of

    if sortie is None and (procedure or rules):
        raise UsageError("--procedure and --rules need the sortie that is flown: --sortie demo")
    aids = None if sortie is None else aids_of(sortie, procedure, rules=rules)
    _run(Session(json=json, channels=_known(channel), entity=entity, aids=aids), bind, port, seconds)


@app.command(sort_key=2)
def record(
    file: Annotated[Path, Parameter(metavar="file")],
    /,
    *,
    entity: Followed = None,
    bind: Bind = LOOPBACK,
    port: Port = PORT,
    seconds: Seconds = None,
    json: Json = False,
) -> None:
    """Write what arrives to a Parquet file, to be debriefed like any recording. Ctrl-C ends it.

    Example: sortiewright link record flight.parquet --for 1 --port 4711

    Parameters
    ----------
    file
        The file to be made. If this is killed, link recover makes it from what was on the disk.
    entity
        The DIS entity to follow. The first that comes where absent.
    bind
        The address to listen at. Another than 127.0.0.1 lets other machines feed this one.
    port
        UDP port.
    seconds
        Stop after so long.
    json
        Print JSON, one object a line.
    """
    from sortiewright.commands.link_session import Session
    from sortiewright.link import check_is_free

    check_is_free(file)
    _run(Session(json=json, channels=(), entity=entity, file=file), bind, port, seconds)


@app.command(sort_key=3)
def recover(file: Annotated[Path, Parameter(metavar="file")], /, *, json: Json = False) -> None:
    """Make the Parquet file of a recording that was not closed, from the parts on the disk.

    Example: sortiewright link recover flight.parquet

    Parameters
    ----------
    file
        The file that was being recorded.
    json
        Print JSON.
    """
    from sortiewright.link import recover as put_together

    found = put_together(file)
    if json:
        print_json({"file": str(file), "rows": found.rows, "unreadable": list(found.unreadable)})
    else:
        print(f"{file}: {found.rows} rows")
    for name in found.unreadable:
        remark(f"Not readable, left where it is: {name}")


@app.command(sort_key=4)
def replay(
    recording: Annotated[Path, Parameter(metavar="file")],
    /,
    *,
    map: Annotated[Path | None, Parameter(name="--map", metavar="file")] = None,
    rate: Annotated[float, Parameter(metavar="number")] = 1.0,
    to: Annotated[str, Parameter(metavar="address")] = LOOPBACK,
    port: Port = PORT,
    seconds: Seconds = None,
    json: Json = False,
) -> None:
    """Send a recording as a live feed.

    Example: sortiewright link replay flight.csv --rate 4

    Parameters
    ----------
    recording
        A CSV file, plain or gzip, or a Parquet file.
    map
        Its channel map; without one, the map that is proposed for it.
    rate
        How many times as fast as it was flown.
    to
        Where to send it.
    port
        UDP port.
    seconds
        Stop after so much of the recording.
    json
        Print JSON.
    """
    import asyncio
    from dataclasses import asdict

    from sortiewright import link
    from sortiewright.recording import read_recording

    if not 0.0 < rate <= 1000.0:
        raise UsageError(f"--rate must be above 0 and at most 1000, got {rate:g}")
    found = read_recording(recording, map)
    rows = link.rows_of_columns({"time": found.time, **found.columns})
    sender = f"replay of {found.name}"
    sent = asyncio.run(link.replay(rows, host=to, port=port, rate=rate, seconds=seconds, sender=sender))
    if json:
        print_json(asdict(sent))
    else:
        print(f"{found.name}: {sent.rows} samples sent in {sent.datagrams} datagrams")
    if sent.socket_errors:
        remark(f"Nobody listened at {to} port {port} for some of them.")
    if sent.behind > 1.0:
        remark(f"It fell {sent.behind:.1f} s behind: this machine cannot send so fast.")


def _known(channels: tuple[str, ...]) -> tuple[str, ...]:
    from sortiewright.pack import CHANNELS, suggestion

    for name in channels:
        if name not in CHANNELS:
            raise UsageError(f'"{name}" is no channel. {suggestion(name, CHANNELS)}'.strip())
    return channels


def _run(session: Session, bind: str, port: int, seconds: float | None) -> None:
    """Run a session to its end, or until Ctrl-C, which is how a crew ends it: no fault."""
    import asyncio

    if not 0 <= port < 2**16:
        raise UsageError(f"--port must be 0 to 65535, got {port}")
    if seconds is not None and not 0.0 < seconds < 1e6:
        raise UsageError(f"--for must be above 0, got {seconds:g}")
    try:
        asyncio.run(session.run(bind, port, seconds))
    except KeyboardInterrupt:
        pass
    finally:
        session.close()
