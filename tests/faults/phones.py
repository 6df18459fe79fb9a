"""A bare phone that remembers what the server said it has, and goes on after any cut as the real one does."""

import base64
import hashlib
import io
import json
import random
import secrets
import threading
import time
from typing import Any

import httpx
from PIL import Image

from pwa.app.record import chain
from tests.helpers.servers import Device

TUS = {"Tus-Resumable": "1.0.0"}
LOST = httpx.TransportError  # any way a request can go without an answer


def picture(width: int = 70, height: int = 50) -> bytes:
    """A JPEG that no other call makes."""
    file = io.BytesIO()
    Image.effect_noise((width, height), 80).save(file, "JPEG")
    return file.getvalue()


def sha(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


class Phone:
    """Around a `Device`: what it wrote, what waits, what was acknowledged, what it got from others."""

    def __init__(self, device: Device) -> None:
        self.device, self.id = device, device.state["id"]
        self.written: dict[str, str] = {}  # id -> text, as for all of these
        self.waiting: list[str] = []
        self.acknowledged: dict[str, str] = {}
        self.received: dict[str, str] = {}
        self.photos: dict[str, bytes] = {}
        self.photos_waiting: list[str] = []
        self.photos_acknowledged: set[str] = set()
        self.offsets: dict[str, int] = {}  # acknowledged, of photos on their way
        self.asked, self.asking = 0, False  # requests so far, and whether the newest has no answer yet
        self.answered = threading.Event()  # an answer has just begun to come
        self.goes_by(str(device.http.base_url))
        self.now = 0  # ms; 0 is the real clock

    def goes_by(self, url: str) -> None:
        """The way to the server from now on, with a connection for each request."""
        self.device.http = httpx.Client(
            base_url=url,
            headers=self.device.http.headers,
            verify=False,
            timeout=60,
            limits=httpx.Limits(max_keepalive_connections=0),
            event_hooks={"request": [self._ask], "response": [self._answer]},
        )

    def _ask(self, request: httpx.Request) -> None:
        self.asked, self.asking = self.asked + 1, True

    def _answer(self, response: httpx.Response) -> None:
        self.asking = False
        self.answered.set()

    def write(
        self, *notes: str, kind: str = "note", replaces: list[str] | None = None, **data: Any
    ) -> list[str]:
        """Texts of new records; each is kept and waits."""
        drafts = [chain.draft("job", kind, {"text": note, **data}, replaces) for note in notes]
        now = self.now or time.time_ns() // 1_000_000
        newest = max((json.loads(text)["clock"] for text in self.received.values()), default="")
        texts, self.device.state = chain.seal(
            drafts, self.device.state, now, secrets.token_hex(10 * len(notes)), newest
        )
        self.written.update((json.loads(text)["id"], text) for text in texts)
        self.waiting += texts
        return texts

    def photograph(self, content: bytes) -> None:
        self.photos[sha(content)] = content
        self.photos_waiting.append(sha(content))
        self.write("", kind="photo", sha256=sha(content), size=len(content))

    def send(self, most: int = 200) -> dict[str, Any]:
        """One exchange of records; raises LOST when no answer comes."""
        said = self.device.sync(*self.waiting[:most])
        self.note(said)
        return said

    def note(self, said: dict[str, Any]) -> None:
        assert said["refused"] == [], said["refused"]
        self.acknowledged.update((id, self.written[id]) for id in said["taken"])
        taken = set(said["taken"])
        self.waiting = [text for text in self.waiting if json.loads(text)["id"] not in taken]
        for text in said["records"]:
            record = json.loads(text)
            assert record["device"] != self.id, "a phone's own record came back"
            assert self.received.setdefault(record["id"], text) == text, "one id, two texts"

    def send_all(self) -> None:
        while self.send()["more"] or self.waiting:
            pass
        for photo in list(self.photos_waiting):
            self.send_photo(photo)

    def begin_photo(self, photo: str) -> int:
        """Announce it; how many bytes of it are there."""
        metadata = f"sha256 {base64.b64encode(photo.encode()).decode()}"
        length = {"Upload-Length": str(len(self.photos[photo])), "Upload-Metadata": metadata}
        made = self.device.http.post("/uploads", headers={**TUS, **length})
        assert made.status_code == 201, made.text
        offset = int(made.headers["Upload-Offset"])
        assert offset >= self.offsets.get(photo, 0), "bytes that were acknowledged are gone"
        return offset

    def send_photo(self, photo: str, chunk: int = 4000) -> None:
        content, offset = self.photos[photo], self.begin_photo(photo)
        while offset < len(content):
            sent = self.device.http.patch(
                f"/uploads/{photo}",
                content=content[offset : offset + chunk],
                headers={
                    **TUS,
                    "Upload-Offset": str(offset),
                    "Content-Type": "application/offset+octet-stream",
                },
            )
            if sent.status_code == 409:  # the same bytes came before, by a way of their own
                offset = self.begin_photo(photo)
                continue
            assert sent.status_code == 204, sent.text
            offset = self.offsets[photo] = int(sent.headers["Upload-Offset"])
        self.photos_acknowledged.add(photo)
        self.photos_waiting.remove(photo)

    @property
    def holds(self) -> list[str]:
        """Ids of all it knows, in the one order."""
        texts = [*self.written.values(), *self.received.values()]
        return [record["id"] for record in chain.in_order([json.loads(text) for text in texts])]


def work(phone: Phone, chance: random.Random) -> None:
    """Write and send until the server is gone."""
    try:
        while True:
            phone.write(*[f"note {chance.random()}" for _ in range(chance.randint(1, 4))])
            if chance.random() < 0.4:
                phone.photograph(picture(chance.randint(20, 120), 60))
            phone.send()
            for photo in list(phone.photos_waiting):
                phone.send_photo(photo, chance.choice([1000, 4000, 20_000]))
    except LOST:
        return
