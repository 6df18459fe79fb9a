"""Runs the server, and says on the terminal how to get in."""

import uvicorn

from server.app import create
from server.settings import Settings
from server.shop import Shop


def serve(settings: Settings) -> None:
    app = create(settings)
    here: Shop = app.state.shop
    print(_welcome(settings, here.new_code("phone"), here.new_code("desk")), flush=True)
    uvicorn.run(
        app,
        host=settings.host,
        port=settings.port,
        log_level="warning",
        access_log=False,  # addresses carry job ids
        timeout_graceful_shutdown=5,
        server_header=False,
    )


def _welcome(settings: Settings, phone: str, desk: str) -> str:
    address = f"http://{settings.host}:{settings.port}"
    lines = [
        f"Layby serves {settings.data}",
        f"  phone  {address}/       code {phone}",
        f"  desk   {address}/desk/  code {desk}",
        f"Each code works once, for {settings.code_minutes} minutes. `layby code` makes new ones.",
    ]
    return "\n".join(lines)
