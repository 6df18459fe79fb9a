"""A real server on a loopback port, over a folder of its own, for any test that needs one."""

import contextlib
import gzip
import json
import random
import secrets
import socket
import threading
import time
import uuid
from dataclasses import replace
from pathlib import Path
from typing import Any, cast

import httpx
import uvicorn

from pwa.app.record import chain
from server import serve
from server.app import create
from server.settings import Settings
from server.store.people import Person, Role
from server.store.shop import Shop, now

_draft = cast("Any", chain.draft)  # any data, also what no screen would write


class PlainBook:
    """Stands for the notebook where a test is about the server alone: a POST writes one note."""

    def needs(self, request: Any) -> Any:
        return {"job": "", "kinds": ["note"]}

    def answer(self, request: Any, rows: list[Any]) -> Any:
        known = [json.loads(row["text"]) for row in rows]
        texts: list[str] = []
        location, device = "", request["device"]
        if request["method"] == "POST":
            data = {name: values[0] for name, values in request["form"].items()}
            texts, device = chain.seal(
                [_draft("job", "note", data)], device, request["now"], request["random"], ""
            )
            location = request["base"] + request["path"]
        body = "<h1>Notes</h1>" + "".join(f"<p>{json.dumps(record['data'])}</p>" for record in known)
        return {
            "status": 303 if location else 200,
            "location": location,
            "type": "text/html; charset=utf-8",
            "body": body,
            "records": texts,
            "device": device,
        }


def free_port() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port: int = free.getsockname()[1]
    return port


def quiet_port() -> int:
    """A free one that no system gives to a connection of its own, so it stays free while nobody listens."""
    while True:
        port = random.randrange(20_000, 30_000)
        with socket.socket() as free, contextlib.suppress(OSError):
            free.bind(("127.0.0.1", port))
            return port


class Server:
    """Runs in a thread. `stop` and `start` again work on the same data and the same port."""

    def __init__(self, folder: Path, dist: Path | None = None, book: Any = None, port: int = 0) -> None:
        port = port or free_port()
        self.settings = Settings(data=folder / "data", port=port)
        if dist:
            self.settings = replace(self.settings, dist=dist)
        self.url = f"http://127.0.0.1:{port}"
        self._book = book
        self.start()

    def start(self) -> None:
        app = create(self.settings, self._book)
        self.app, self.shop = app, cast(Shop, app.state.shop)
        self._uvicorn = uvicorn.Server(serve.config(app, self.settings))
        self._thread = threading.Thread(target=self._uvicorn.run)
        self._thread.start()
        deadline = time.monotonic() + 60
        while not self._uvicorn.started:
            assert time.monotonic() < deadline, "the server does not start"
            time.sleep(0.01)

    def stop(self) -> None:
        self._uvicorn.should_exit = True
        self._thread.join(60)


def somebody(shop: Shop, role: Role = "owner", name: str = "", passphrase: str = "") -> Person:
    """A person of a shop; without a passphrase nobody can sign in as one, and no time goes into hashing."""
    hashed = shop.passphrases.hashed(passphrase) if passphrase else ""
    with shop.store.transaction() as db:
        return shop.people.add(db, name or f"{role} {secrets.token_hex(3)}", hashed, role, now())


def session(shop: Shop, role: Role = "owner", name: str = "") -> str:
    """Of somebody new."""
    return shop.access.begin(somebody(shop, role, name).id, now(), 30)


def sign_in(shop: Shop, client: httpx.Client, role: Role = "owner", name: str = "") -> None:
    """Let a browser in as somebody new."""
    client.cookies["layby"] = session(shop, role, name)


def say_yes(shop: Shop) -> None:
    """What somebody at the desk does once the shop was put back from a backup."""
    shop.access.confirm([phone["id"] for phone in shop.access.waiting()])


def whole(short: list[Any]) -> list[str]:
    """Records with the hashes that a short answer leaves out."""
    texts: list[str] = []
    for item in short:
        is_text = isinstance(item, str)
        texts.append(item if is_text else item[0] + chain.digest(texts[-item[2]]) + item[1])
    return texts


class Device:
    """A phone's side of the wire, bare: it seals notes and calls the server."""

    def __init__(self, server: Server, name: str = "Bay 2 phone") -> None:
        self.http = httpx.Client(base_url=server.url, timeout=60)
        self.state: Any = {"id": str(uuid.uuid4()), "name": name, "seq": 0, "head": "", "clock": ""}
        code = server.shop.new_code("phone")
        answer = self.http.post("/enrol", json={"code": code, "device": self.state["id"], "name": name})
        self.token = answer.json()["token"]
        self.http.headers["Authorization"] = f"Bearer {self.token}"
        self.cursor, self.epoch = 0, ""

    def write(self, *notes: str, kind: str = "note", **data: Any) -> list[str]:
        """Texts of new records; they are not sent."""
        drafts = [_draft("job", kind, {"text": note, **data}) for note in notes]
        random = secrets.token_hex(10 * len(notes))
        texts, self.state = chain.seal(drafts, self.state, time.time_ns() // 1_000_000, random, "")
        return texts

    def sync(self, *texts: str, packed: bool = False, **changes: Any) -> dict[str, Any]:
        answer = self.post(*texts, packed=packed, **changes)
        assert answer.status_code == 200, answer.text
        said: dict[str, Any] = answer.json()
        self.cursor, self.epoch = said["cursor"], said["epoch"]
        return said

    def post(self, *texts: str, packed: bool = False, **changes: Any) -> httpx.Response:
        message = {
            "protocol": 1, "device": self.state["id"], "epoch": self.epoch, "cursor": self.cursor,
            "records": list(texts), **changes,
        }  # fmt: skip
        content, headers = json.dumps(message).encode(), {}
        if packed:
            content, headers = gzip.compress(content), {"Content-Encoding": "gzip"}
        return self.http.post("/sync", content=content, headers=headers)
