"""Runs the server, and says on the terminal how to get in."""

import socket

import uvicorn
from starlette.applications import Starlette

from server.app import create
from server.settings import Settings
from server.shop import Shop


class Announced(uvicorn.Server):
    """Says how to get in once the port is open, and not before."""

    def __init__(self, app: Starlette, settings: Settings) -> None:
        super().__init__(
            uvicorn.Config(
                app,
                host=settings.host,
                port=settings.port,
                log_level="warning",
                access_log=False,  # addresses carry job ids
                server_header=False,
                timeout_graceful_shutdown=5,
            )
        )
        self._app, self._settings = app, settings

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets)
        if self.started:
            here: Shop = self._app.state.shop
            print(_welcome(self._settings, here.new_code("phone"), here.new_code("desk")), flush=True)


def serve(settings: Settings) -> None:
    """Runs until it is interrupted.

    Raises:
        ValueError: there is no build yet.
    """
    Announced(create(settings), settings).run()


def _welcome(settings: Settings, phone: str, desk: str) -> str:
    address = f"http://{settings.host}:{settings.port}"
    lines = [
        f"Layby serves {settings.data}",
        f"  phone  {address}/       code {phone}",
        f"  desk   {address}/desk/  code {desk}",
        f"Each code works once, for {settings.code_minutes} minutes. `layby code` makes new ones.",
    ]
    return "\n".join(lines)
