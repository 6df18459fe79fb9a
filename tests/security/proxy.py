"""A tiny reverse proxy that does what server/deploy/nginx.conf says, read from that file itself."""

import http.client
import re
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

CONFIGURATION = Path(__file__).parents[2] / "server" / "deploy" / "nginx.conf"
HOP = {"connection", "keep-alive", "transfer-encoding", "host", "te", "upgrade"}
UNITS = {"k": 2**10, "m": 2**20}


class Example:
    """The directives that decide what reaches the server."""

    def __init__(self) -> None:
        text = re.sub(r"#.*", "", CONFIGURATION.read_text())
        self.headers = dict(re.findall(r"proxy_set_header\s+(\S+)\s+(\S+);", text))
        size = re.search(r"client_max_body_size\s+(\d+)([km]);", text)
        assert size
        self.most = int(size[1]) * UNITS[size[2]]
        name = re.search(r"server_name\s+(\S+);", text)
        assert name
        self.name = name[1]
        self.target = re.search(r"proxy_pass\s+http://127\.0\.0\.1:8700;", text)


class Proxy(ThreadingHTTPServer):
    """Stands where TLS ends: `$scheme` is https. `client` is the address it says a request comes from."""

    daemon_threads = True

    def __init__(self, port: int) -> None:
        super().__init__(("127.0.0.1", 0), _Handler)
        self.example, self.target, self.client = Example(), port, "192.0.2.1"
        self.url = f"http://127.0.0.1:{self.server_address[1]}"
        threading.Thread(target=self.serve_forever, daemon=True).start()


class _Handler(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    server: Proxy

    def _pass_on(self) -> None:
        length = int(self.headers.get("Content-Length") or 0)
        if length > self.server.example.most:
            self.close_connection = True
            self.send_error(413)
            return
        variables = {
            "$http_host": self.headers["Host"],
            "$scheme": "https",
            "$remote_addr": self.server.client,
        }
        headers = {name: value for name, value in self.headers.items() if name.lower() not in HOP}
        for name, value in self.server.example.headers.items():
            headers = {key: own for key, own in headers.items() if key.lower() != name.lower()}
            headers[name] = variables[value]
        beyond = http.client.HTTPConnection("127.0.0.1", self.server.target, timeout=60)
        beyond.request(self.command, self.path, self.rfile.read(length), headers)
        answer = beyond.getresponse()
        body = answer.read()
        self.send_response(answer.status)
        for name, value in answer.getheaders():
            if name.lower() not in {*HOP, "content-length"}:
                self.send_header(name, value)
        if answer.status not in (204, 304):
            self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body if self.command != "HEAD" else b"")
        beyond.close()

    do_GET = do_POST = do_PATCH = do_HEAD = do_OPTIONS = _pass_on

    def log_message(self, format: str, *args: object) -> None:
        pass
