"""What the server says while the shop's data is damaged: it takes nothing, changes nothing, and says so.

A phone that is refused keeps everything and offers it again, so nothing is lost by waiting for a restore.
"""

from pathlib import Path

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import Route

from pwa.app import contract
from server import observe
from server.backup import last
from server.errors import reply
from server.headers import SecurityHeaders

NO_STORE = {"Cache-Control": "no-store"}
SAID = (
    "The shop's data is damaged, so nothing is taken until it is restored. Everything stays on this phone and"
    " is sent after that. Tell the desk."
)
PAGE = """<!doctype html><html lang="en"><meta charset="utf-8">
<meta name="viewport" content="width=device-width"><title>Layby</title>
<h1>The shop's data is damaged</h1>
<p>Nothing is taken or changed until it is restored or repaired.
Phones keep everything and send it after that.</p>
<p>Whoever runs the server finds what is wrong, and what to do, where it was started and with
<code>layby doctor</code>.</p></html>"""


def create() -> Starlette:
    """Answers every address with 503: programs with a word and a sentence, people with a page."""
    return Starlette(
        routes=[Route("/{path:path}", _say, methods=[*observe.METHODS])],
        middleware=[Middleware(SecurityHeaders), Middleware(observe.Observed)],
    )


async def _say(request: Request) -> Response:
    if request.url.path == contract.HEALTH:
        return JSONResponse({"status": "database"}, 503, NO_STORE)
    if "text/html" in request.headers.get("Accept", ""):
        return HTMLResponse(PAGE, 503, NO_STORE)
    return reply(503, "damaged", SAID, NO_STORE)


def how_to_go_on(data: Path, wrong: str) -> str:
    """For the terminal: what is wrong, and the two ways on."""
    noted = last.read(data)
    source = noted.where if noted else "BACKUP"
    return "\n".join(
        (
            f"{wrong} Nothing was changed, and phones keep everything. Stop this server, then either",
            f"  restore the last backup: move {data} away and run `layby restore {source}`,",
            "  or save what can still be read: `layby check --repair`.",
            "Phones send again what is lacking after that.",
        )
    )
