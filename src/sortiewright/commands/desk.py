"""The desk, served to a browser on this machine."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from sortiewright.commands.arguments import argument, sortie_file
from sortiewright.commands.faults import UsageError
from sortiewright.commands.output import remark

if TYPE_CHECKING:
    from sortiewright.desk import Serving

DEFAULT_PORT = 4711
FOLDER_IN_HOME = "sortiewright"

Port = Annotated[int | None, Parameter(metavar="number")]
Flag = Annotated[bool, Parameter(negative="")]


def desk(
    sortie: Annotated[str | None, argument(sortie_file, "sortie|folder")] = None,
    /,
    *,
    port: Port = None,
    lan: Flag = False,
    no_browser: Flag = False,
    seconds: Annotated[float | None, Parameter(name="--for", metavar="seconds")] = None,
) -> None:
    """The whole sortie in a browser, from planning to debrief, for two seats. Ctrl-C ends it.

    Example: sortiewright desk . --no-browser --for 1

    Only this machine is served, and only a browser with the link that is printed or a code is let in.

    Parameters
    ----------
    sortie
        A sortie file, the name of a shipped sortie, or a folder with sorties of your own. Without it the
        demonstration sortie, and the folder sortiewright in your home folder.
    port
        TCP port. 4711 where absent, or the next that is free.
    lan
        Let other devices in this network join with a code: a tablet, a phone. What they send can be read by
        others in the same network.
    no_browser
        Only print the link.
    seconds
        Stop after so long.
    """
    if port is not None and not 1 <= port <= 65535:
        raise UsageError(f"--port must be 1 to 65535, got {port}")
    from sortiewright.desk import DeskOptions, Shelf, free_port, make_app, own_names, serve_desk

    folder, file = _places(sortie)
    options = DeskOptions(
        folder=folder,
        port=free_port(port or DEFAULT_PORT, lan=lan, only=port is not None),
        lan=lan,
        names=own_names() if lan else frozenset(),
    )
    shelf = Shelf(folder, () if file is None else (file,))
    app = make_app(shelf, options, opened=file, early=True)

    def ready(serving: Serving) -> None:
        print(f"The desk is open: {serving.link}", flush=True)
        remark(f"The link works once. Your sorties: {folder}. Ctrl-C ends the desk.")
        if not no_browser:
            _open_browser(serving.link)

    with suppress(KeyboardInterrupt):  # how it is meant to be ended
        serve_desk(app, options, ready, seconds=seconds)


def _places(named: str | None) -> tuple[Path, Path | None]:
    """Return the folder of the user's sorties, and the sortie file to be opened if one was named."""
    home = Path.home() / FOLDER_IN_HOME
    if named is None:
        return home, None
    path = Path(named)
    if path.is_dir():
        return path, None
    if not path.is_file():
        raise UsageError(f"{named}: there is no such sortie or folder")
    return home, path


def _open_browser(link: str) -> None:
    """Open the link; in a thread, as some systems wait for the browser."""
    import threading
    import webbrowser

    threading.Thread(target=webbrowser.open, args=(link,), daemon=True).start()
