"""Runs the server, and says on the terminal how to get in."""

import asyncio
import socket
import sqlite3
from typing import cast

import uvicorn
from starlette.applications import Starlette

from server import observe, out_of_order
from server.app import create
from server.desk.entrance import link
from server.settings import Settings
from server.store import lock
from server.store.database import Damaged
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

    def __init__(self, app: Starlette, settings: Settings, said: str) -> None:
        super().__init__(config(app, settings))
        self._said = said

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets)
        if self.started:
            connections.queue(self.servers)
            observe.LOG.info("started")
            print(self._said, flush=True)

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        observe.LOG.info("stopping")
        await super().shutdown(sockets)
        observe.LOG.info("stopped")


def serve(settings: Settings) -> None:
    """Runs until it is interrupted. Over damaged data it runs as well, and says only that.

    Raises:
        ValueError: there is no build yet, another server is using this shop, or its folder cannot be used.
    """
    observe.to_stderr()
    with lock.held(settings.data):
        app, said = _opened(settings)
        Announced(app, settings, said).run()


def _opened(settings: Settings) -> tuple[Starlette, str]:
    """The server, and what it says once its port is open."""
    try:
        app = create(settings)
        return app, welcome(settings, app.state.shop)
    except Damaged as error:
        observe.LOG.error("damaged")
        return out_of_order.create(), out_of_order.how_to_go_on(settings.data, str(error))
    except (OSError, sqlite3.OperationalError) as error:
        raise lock.cannot_use(settings.data, getattr(error, "strerror", None) or str(error)) from None


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
