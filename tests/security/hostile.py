"""Another website, that tries to have a form answered or an address opened by the phone's worker.

Each page of it is one attempt; what it shall do stands behind the `#`.
"""

import contextlib
import json
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, quote, urlsplit

PAGE = Path(__file__).with_name("hostile.html").read_text("utf-8")

# A document of the hostile origin itself, in a frame.
SEND = """<!doctype html><body><script>
document.body.innerHTML = decodeURIComponent(location.hash.slice(1));
document.forms[0].submit();
</script>"""


class _Handler(BaseHTTPRequestHandler):
    def do_GET(self) -> None:
        self._answer(200, PAGE if urlsplit(self.path).path == "/" else SEND)

    def do_POST(self) -> None:
        self.rfile.read(int(self.headers.get("Content-Length", 0)))
        [to] = parse_qs(urlsplit(self.path).query)["to"]
        self._answer(307, "", Location=to)

    def _answer(self, status: int, body: str, **headers: str) -> None:
        content = body.encode()
        self.send_response(status)
        fixed = {"Content-Type": "text/html; charset=utf-8", "Content-Length": str(len(content))}
        for name, value in {**fixed, **headers}.items():
            self.send_header(name, value)
        self.end_headers()
        with contextlib.suppress(ConnectionError):  # the window has gone on already
            self.wfile.write(content)

    def log_message(self, *_: Any) -> None:
        pass


class Hostile:
    """Under two names: 127.0.0.1 is of the app's site, but of another origin; localhost is not even that."""

    def __init__(self) -> None:
        self._server = ThreadingHTTPServer(("127.0.0.1", 0), _Handler)
        threading.Thread(target=self._server.serve_forever, daemon=True).start()
        port = self._server.server_address[1]
        self.origins = [f"http://127.0.0.1:{port}", f"http://localhost:{port}"]

    def page(self, origin: str, app: str, way: str, paths: list[str], fields: dict[str, str]) -> str:
        """The address of one attempt."""
        asked = {"app": app, "way": way, "paths": paths, "fields": fields}
        # Two addresses that differ behind the `#` only are one page to a browser.
        return f"{origin}/?{quote(way + paths[0])}#{quote(json.dumps(asked))}"

    def stop(self) -> None:
        self._server.shutdown()
        self._server.server_close()
