"""A phone without a browser: the real notebook over records in memory, and real HTTP to the shop.

It stands for the service worker (pwa/phone) in the demo and in tests; what it sends and takes is the same.
"""

import base64
import gzip
import hashlib
import json
import secrets
import time
import urllib.request
import uuid
from collections.abc import Callable
from email.message import Message
from typing import Any, NamedTuple
from urllib.error import HTTPError
from urllib.parse import parse_qs

from pwa.app import contract
from pwa.app.notebook import Notebook
from pwa.app.protocol import Answer, Device, Needs, Request, Row, Status
from pwa.app.record import chain

Form = dict[str, list[str]]

BATCH = 200  # records a request
CHUNK = 256 * 1024  # bytes of a photo a request


class Refusal(Exception):
    """The server's no: its status, and its own sentence."""

    def __init__(self, status: int, message: str) -> None:
        super().__init__(message)
        self.status = status


class Photo(NamedTuple):
    content: bytes
    type: str


class Phone:
    """`now` gives milliseconds since 1970, so that a demo can be played in an hour of its own."""

    def __init__(self, url: str, notebook: Notebook, now: Callable[[], int] | None = None) -> None:
        self._url, self._notebook = url.rstrip("/"), notebook
        self._now = now or (lambda: time.time_ns() // 1_000_000)
        self.device: Device = {
            "id": str(uuid.uuid4()), "name": contract.NO_NAME, "seq": 0, "head": "", "clock": "",
        }  # fmt: skip
        self.records: dict[str, str] = {}  # id -> text, in the order they came
        self.photos: dict[str, Photo] = {}
        self.path = "/"  # of the page shown last
        self._unsent: list[str] = []  # ids
        self._unsent_photos: list[str] = []
        self._token, self._epoch, self._cursor = "", "", 0

    def enrol(self, code: str, name: str) -> None:
        """Trade a one-time code for this phone's token.

        Raises:
            Refusal: the server does not take the code.
        """
        self.device["name"] = name
        said = self._call("/enrol", {"code": code, "device": self.device["id"], "name": name})
        self._token = said["token"]
        self.post("/phone/name", {})

    def get(self, path: str) -> str:
        """The page at a path such as "/job/0190.../safe"."""
        return self._ask("GET", path, {})

    def post(self, path: str, form: dict[str, str | list[str]], photo: bytes | None = None) -> str:
        """Post a form, with a JPEG if there is one; the page that follows."""
        fields: Form = {name: [value] if isinstance(value, str) else value for name, value in form.items()}
        if photo is not None:
            sha256 = hashlib.sha256(photo).hexdigest()
            self.photos[sha256] = Photo(photo, "image/jpeg")
            self._unsent_photos.append(sha256)
            fields |= {
                "photo_sha256": [sha256], "photo_size": [str(len(photo))], "photo_type": ["image/jpeg"],
            }  # fmt: skip
        return self._ask("POST", path, fields)

    def sync(self) -> list[dict[str, Any]]:
        """Exchange records and send photos until both sides have all; what the server refused.

        Raises:
            Refusal: the server does not know this phone.
        """
        refused: list[dict[str, Any]] = []
        more = True
        while more:
            batch = self._unsent[:BATCH]
            said = self._call(
                "/sync",
                {
                    "protocol": 1, "device": self.device["id"], "epoch": self._epoch, "cursor": self._cursor,
                    "records": [self.records[id] for id in batch],
                },
            )  # fmt: skip
            self._unsent = [id for id in self._unsent if id not in said["taken"]]
            self._take(said["records"])
            self._epoch, self._cursor, refused = said["epoch"], said["cursor"], said["refused"]
            more = said["more"] or bool(self._unsent and said["taken"])
        while self._unsent_photos:
            self._send(self._unsent_photos[0])
            self._unsent_photos.pop(0)
        return refused

    def _ask(self, method: str, path: str, form: Form) -> str:
        self.path, _, query = path.partition("?")
        request: Request = {
            "method": method,
            "path": self.path,
            "query": parse_qs(query, keep_blank_values=True),
            "form": form,
            "now": self._now(),
            "zone": 0,
            "random": secrets.token_hex(4096),
            "host": "phone",
            "base": "",
            "device": self.device,
            "status": self._status(),
        }
        answer: Answer = self._notebook.answer(request, self._known(self._notebook.needs(request)))
        self.device = answer["device"]
        for text in answer["records"]:
            id = json.loads(text)["id"]
            self.records[id] = text
            self._unsent.append(id)
        return self.get(answer["location"]) if answer["location"] else answer["body"]

    def _known(self, needs: Needs) -> list[Row]:
        rows = [chain.row(text) for text in self.records.values()]
        return [row for row in rows if row["job"] == needs["job"] or row["kind"] in needs["kinds"]]

    def _status(self) -> Status:
        return {
            "unsent_notes": len(self._unsent),
            "unsent_photos": len(self._unsent_photos),
            "waiting": 0,
            "enrolled": bool(self._token),
            "sync": None,
        }

    def _take(self, texts: list[str]) -> None:
        for text in texts:
            record = json.loads(text)
            self.records.setdefault(record["id"], text)
            self.device["clock"] = max(self.device["clock"], record["clock"])

    def _send(self, sha256: str) -> None:
        """One photo by tus 1.0, going on from what the server has of it."""
        photo = self.photos[sha256]
        metadata = ",".join(f"{key} {_base64(value.encode())}" for key, value in
                            (("sha256", sha256), ("type", photo.type)))  # fmt: skip
        made, _ = self._tus(
            "/uploads", "POST", {"Upload-Length": str(len(photo.content)), "Upload-Metadata": metadata}
        )
        offset = int(made["Upload-Offset"])
        while offset < len(photo.content):
            chunk = photo.content[offset : offset + CHUNK]
            headers = {
                "Content-Type": "application/offset+octet-stream",
                "Upload-Offset": str(offset),
                "Upload-Checksum": f"sha256 {_base64(hashlib.sha256(chunk).digest())}",
            }
            sent, _ = self._tus(made["Location"], "PATCH", headers, chunk)
            offset = int(sent["Upload-Offset"])

    def _tus(
        self, path: str, method: str, headers: dict[str, str], body: bytes = b""
    ) -> tuple[Message, bytes]:
        return self._http(method, path, {"Tus-Resumable": "1.0.0", **headers}, body)

    def _call(self, path: str, message: dict[str, Any]) -> Any:
        headers = {"Content-Type": "application/json", "Content-Encoding": "gzip", "Accept-Encoding": "gzip"}
        said, body = self._http("POST", path, headers, gzip.compress(json.dumps(message).encode()))
        return json.loads(gzip.decompress(body) if said["Content-Encoding"] == "gzip" else body)

    def _http(self, method: str, path: str, headers: dict[str, str], body: bytes) -> tuple[Message, bytes]:
        if self._token:
            headers = {**headers, "Authorization": f"Bearer {self._token}"}
        request = urllib.request.Request(self._url + path, body, headers, method=method)
        try:
            with urllib.request.urlopen(request, timeout=30) as answer:
                return answer.headers, answer.read()
        except HTTPError as error:
            raise Refusal(error.code, str(json.loads(error.read())["message"])) from None


def _base64(content: bytes) -> str:
    return base64.b64encode(content).decode()
