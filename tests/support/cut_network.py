"""A network between a browser and the desk that can be cut: packets vanish and nobody is told."""

import asyncio
import threading


class CutNetwork:
    """Passes bytes between its own port and the desk's, unless it is cut."""

    def __init__(self, port):
        self._target = port
        self._started = threading.Event()
        self._thread = threading.Thread(target=lambda: asyncio.run(self._serve()), daemon=True)
        self._thread.start()
        self._started.wait(5)
        self.address = f"http://127.0.0.1:{self.port}"

    def cut(self):
        self._loop.call_soon_threadsafe(self._passes.clear)

    def mend(self):
        self._loop.call_soon_threadsafe(self._passes.set)

    def close(self):
        self._loop.call_soon_threadsafe(self._over.set)
        self._thread.join(5)

    async def _serve(self):
        self._loop, self._passes, self._over = asyncio.get_running_loop(), asyncio.Event(), asyncio.Event()
        self._passes.set()
        server = await asyncio.start_server(self._connected, "127.0.0.1", 0)
        self.port = server.sockets[0].getsockname()[1]
        self._started.set()
        await self._over.wait()
        server.close()

    async def _connected(self, reader, writer):
        await self._passes.wait()
        try:
            far_reader, far_writer = await asyncio.open_connection("127.0.0.1", self._target)
        except OSError:
            writer.close()
            return
        await asyncio.gather(self._pass(reader, far_writer), self._pass(far_reader, writer))

    async def _pass(self, reader, writer):
        try:
            while data := await reader.read(65536):
                await self._passes.wait()
                writer.write(data)
                await writer.drain()
        except OSError:
            pass
        finally:
            writer.close()
