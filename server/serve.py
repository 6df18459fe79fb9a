"""Runs the server, and says on the terminal how to get in."""

import asyncio
import socket
from typing import cast

import uvicorn
from starlette.applications import Starlette

from server import observe
from server.app import create
from server.desk.entrance import link
from server.settings import Settings
from server.store.shop import Shop
from server.wire import connections

GRACE = 10  # seconds that requests under way have when the server is asked to stop


def config(app: Starlette, settings: Settings) -> uvicorn.Config:
    """How the web server below is run."""
    return uvicorn.Config(
        app,
        host=settings.host,
        port=settings.port,
        http=cast("type[asyncio.Protocol]", connections.Open()),
        ws="none",
        backlog=connections.AT_ONCE,
        log_config=None,  # ours, see observe.py
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=GRACE,
    )


class Announced(uvicorn.Server):
    """Says how to get in once the port is open, and not before."""

    def __init__(self, app: Starlette, settings: Settings) -> None:
        super().__init__(config(app, settings))
        self._app, self._settings = app, settings

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets)
        if self.started:
            connections.queue(self.servers)
            observe.LOG.info("started")
            print(welcome(self._settings, self._app.state.shop), flush=True)

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        observe.LOG.info("stopping")
        await super().shutdown(sockets)
        observe.LOG.info("stopped")


def serve(settings: Settings) -> None:
    """Runs until it is interrupted.

    Raises:
        ValueError: there is no build yet.
    """
    observe.to_stderr()
    Announced(create(settings), settings).run()


def welcome(settings: Settings, here: Shop) -> str:
    """Where the server is, and at the first start the link by which the owner comes in."""
    lines = [
        f"Layby serves {settings.data}",
        f"  phone  {settings.address}/",
        f"  desk   {settings.address}/desk/",
    ]
    if not here.people.has_owner() and not here.people.has_shared():
        lines += [
            f"Nobody can sign in yet. Open this link once, within {settings.code_minutes} minutes, and"
            " choose your name and passphrase:",
            f"  {link(settings.address, 'setup', here.new_code('setup'))}",
        ]
    return "\n".join(lines)
