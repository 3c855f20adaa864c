"""A process that feeds itself at 60 Hz and records as ``link record`` does, until it is killed.

Prints ``begun``, then the feed's time every few messages, so that whoever kills it knows how far it was.
"""

from __future__ import annotations

import asyncio
import sys
from pathlib import Path

from sortiewright import link
from sortiewright.commands.link_session import Session


async def main(path: Path) -> None:
    """Feed and record for a minute."""
    session = Session(json=True, channels=("pitch",), file=path)
    session._line = lambda data: None
    bound = asyncio.get_running_loop().create_future()
    listen = link.listen

    async def on_a_free_port(*arguments, ready, **options):
        def had(port):
            ready(port)
            bound.set_result(port)

        await listen(*arguments, **options, ready=had)

    link.listen = on_a_free_port
    recording = asyncio.create_task(session.run("127.0.0.1", 0, 60.0))
    rows = (link.Row(n / 60, {"pitch": n * 1e-3, "canopy_locked": True}) for n in range(3600))
    port = await bound
    print("begun", flush=True)

    def told(row, sent):
        if sent.rows % 6 == 0:
            print(row.time, flush=True)

    await link.replay(rows, port=port, progress=told)
    await recording


asyncio.run(main(Path(sys.argv[1])))
