"""One workload, two ways to sync, Layby's and PouchDB's: `python -m tests.bench.sync_compared`.

Ten phones push 200 records each, then each fetches what the others wrote, then all sync with nothing new,
then each writes one more and syncs. The records are what the demo's technicians wrote, sealed anew for each.
Every byte that passes a TCP proxy before each server counts, headers and all. Layby's phones are bare (Python
over sockets that stay open, the phone's own messages); PouchDB's are its own, in one Node. Seconds depend on
the machine and on that difference; compare requests and bytes first. PouchDB comes with `npm ci` into
tests/bench/pouch the first time.
"""

import gzip
import http.client
import json
import os
import secrets
import subprocess
import tempfile
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

from demo import scenario
from pwa.app import contract
from pwa.app.protocol import Draft
from pwa.app.record import chain
from pwa.build import node
from pwa.build.build import build
from server.settings import DIST
from server.store.shop import Shop
from tests.bench.wire import Counted
from tests.helpers.processes import Process, free_port
from tests.helpers.servers import Server, whole

PHONES, EACH = 10, 200
BATCH = contract.SENT_RECORDS
POUCH = Path(__file__).parent / "pouch"
NPM = node.BIN.parent / "lib/node_modules/npm/bin/npm-cli.js"
PHASES = ("push", "pull", "nothing", "one")
ABOUT = {"push": "push all", "pull": "fetch all", "nothing": "nothing new", "one": "one new each"}


class Cost(NamedTuple):
    requests: int
    up: int
    down: int
    seconds: float

    @property
    def bytes(self) -> int:
        return self.up + self.down


class Phone:
    """A phone's messages as pwa/phone/sync.js sends them; of the headers, those that it sets itself."""

    def __init__(self, port: int, code: str, drafts: list[Draft]) -> None:
        self._http = http.client.HTTPConnection("127.0.0.1", port)
        self.state: Any = {"id": secrets.token_hex(16), "name": "A phone", "seq": 0, "head": "", "clock": ""}
        enrolled = self._call("/enrol", {"code": code, "device": self.state["id"], "name": "A phone"}, "")
        self._token, self._cursor, self._epoch = enrolled["token"], 0, ""
        self.held: list[str] = []
        self._unsent: list[str] = []
        self.write(drafts)

    def write(self, drafts: list[Draft]) -> None:
        now, random = time.time_ns() // 1_000_000, secrets.token_hex(10 * len(drafts))
        texts, self.state = chain.seal(drafts, self.state, now, random, "")
        self.held += texts
        self._unsent += texts

    def sync(self) -> None:
        while True:
            sent = self._unsent[:BATCH]
            message = {
                "protocol": 1, "device": self.state["id"], "epoch": self._epoch, "cursor": self._cursor,
                "records": sent, "seq": self.state["seq"], "short": True,
            }  # fmt: skip
            said = self._call("/sync", message, self._token)
            if said is None:
                return
            assert "refused" not in said, said["refused"]
            self._unsent = self._unsent[len(sent) :]
            self.held += whole(said.get("records", []))
            self._cursor, self._epoch = said["cursor"], said["epoch"]
            if not said.get("more") and not self._unsent:
                return

    def _call(self, path: str, message: object, token: str) -> Any:
        body = gzip.compress(json.dumps(message, ensure_ascii=False, separators=(",", ":")).encode(), 6)
        self._http.putrequest("POST", path, skip_accept_encoding=True)
        headers = {"Content-Type": "application/json", "Content-Encoding": "gzip", "Accept-Encoding": "gzip"}
        if token:
            headers["Authorization"] = f"Bearer {token}"
        for name, value in (headers | {"Content-Length": str(len(body))}).items():
            self._http.putheader(name, value)
        self._http.endheaders(body)
        answer = self._http.getresponse()
        content = answer.read()
        assert answer.status in (200, 204), content
        if answer.headers["Content-Encoding"] == "gzip":
            content = gzip.decompress(content)
        return json.loads(content) if content else None


def written() -> list[list[Draft]]:
    """For each phone its records, made of what the demo's technicians wrote."""
    if not (DIST / "phone/content.json").exists():
        build(DIST)
    with tempfile.TemporaryDirectory() as folder:
        server = Server(Path(folder))
        scenario.load(server.url, server.shop, lambda line: None)
        known = [json.loads(text) for text in server.shop.ledger.texts()]
        server.stop()
    drafts = []
    for phone in range(PHONES):
        jobs: dict[str, str] = {}
        mine = [known[(phone * 17 + n) % len(known)] for n in range(EACH)]
        drafts.append(
            [
                chain.draft(jobs.setdefault(item["job"], secrets.token_hex(16)), item["kind"], item["data"])
                for item in mine
            ]
        )
    return drafts


def layby(drafts: list[list[Draft]], folder: Path) -> dict[str, Cost]:
    process = Process(folder)
    proxy = Counted(process.port)
    shop = Shop(process.settings)  # the codes come from beside the server, as `layby` on its machine may
    phones = [Phone(proxy.port, shop.new_code("phone"), mine) for mine in drafts]
    pushed = [phone.held[:] for phone in phones]
    costs = {}

    def one(phone: Phone) -> None:
        phone.write(drafts[0][:1])
        phone.sync()

    # A phone fetches with the same request, so it gets what is there by then when it pushes.
    for phase, work in (("push", Phone.sync), ("pull", Phone.sync), ("nothing", Phone.sync), ("one", one)):
        costs[phase] = measured(proxy, lambda work=work: at_once(work, phones))  # type: ignore[misc]
        if phase == "nothing":
            everything = {text for texts in pushed for text in texts}
            assert all(set(phone.held) == everything for phone in phones)
    shop.close()
    process.end()
    return costs


def at_once(work: Callable[[Phone], None], phones: list[Phone]) -> None:
    threads = [threading.Thread(target=work, args=(phone,)) for phone in phones]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


def measured(proxy: Counted, work: Callable[[], None]) -> Cost:
    proxy.reset()
    begun = time.perf_counter()
    work()
    return Cost(proxy.requests, proxy.up, proxy.down, time.perf_counter() - begun)


def pouch(drafts: list[list[Draft]], folder: Path) -> dict[str, Cost]:
    install()
    port = free_port()
    environment = {**os.environ, "PATH": f"{node.BIN}{os.pathsep}{os.environ.get('PATH', '')}"}
    server = subprocess.Popen(
        [str(node.NODE), str(POUCH / "node_modules/pouchdb-server/bin/pouchdb-server"), "--host", "127.0.0.1",
         "--port", str(port), "--dir", str(folder), "--config", str(folder / "config.json"),
         "--no-stdout-logs"],
        cwd=folder, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    answers(port)
    proxy = Counted(port)
    phones = subprocess.Popen(
        [str(node.NODE), "phones.js", proxy.url],
        cwd=POUCH, env=environment, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert phones.stdin and phones.stdout
    phones.stdin.write(json.dumps(sealed(drafts)) + "\n")
    phones.stdin.flush()
    assert json.loads(phones.stdout.readline())["phase"] == "ready"
    costs = {}
    for phase in PHASES:
        proxy.reset()
        phones.stdin.write("\n")
        phones.stdin.flush()
        said = json.loads(phones.stdout.readline())
        assert said["phase"] == phase
        if phase == "nothing":
            assert said["held"] == [PHONES * EACH] * PHONES, said
        costs[phase] = Cost(proxy.requests, proxy.up, proxy.down, said["seconds"])
    for process in (phones, server):
        process.kill()
        process.wait()
    return costs


def sealed(drafts: list[list[Draft]]) -> list[list[dict[str, Any]]]:
    """The same records as documents: all their fields but the chain's hash, which PouchDB has its own for."""
    made = []
    for phone in drafts:
        device: Any = {"id": secrets.token_hex(16), "name": "A phone", "seq": 0, "head": "", "clock": ""}
        random = secrets.token_hex(10 * len(phone))
        texts, _ = chain.seal(phone, device, time.time_ns() // 1_000_000, random, "")
        made.append(
            [{key: value for key, value in json.loads(text).items() if key != "prev"} for text in texts]
        )
    return made


def install() -> None:
    if (POUCH / "node_modules/pouchdb-server").exists():
        return
    print("Installing PouchDB for the comparison (half a minute)", flush=True)
    path = f"{node.BIN}{os.pathsep}{os.environ.get('PATH', '')}"
    command = [str(node.NODE), str(NPM), "ci", "--ignore-scripts", "--no-audit", "--no-fund"]
    subprocess.run(command, cwd=POUCH, env={**os.environ, "PATH": path}, check=True, capture_output=True)


def answers(port: int) -> None:
    """Wait until a server does."""
    deadline = time.monotonic() + 60
    while True:
        try:
            connection = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
            connection.request("GET", "/")
            connection.getresponse().read()
            return
        except OSError:
            assert time.monotonic() < deadline, "pouchdb-server does not start"
            time.sleep(0.1)


def main() -> None:
    drafts = written()
    size = sum(len(json.dumps(item)) for phone in sealed(drafts) for item in phone)
    print(f"{PHONES} phones, {EACH} records each, {size // (PHONES * EACH)} bytes a record on average")
    with tempfile.TemporaryDirectory() as here, tempfile.TemporaryDirectory() as there:
        ours, theirs = layby(drafts, Path(here)), pouch(drafts, Path(there))
    print(f"{'':14}{'':9}{'requests':>10}{'bytes up':>12}{'bytes down':>12}{'bytes':>12}{'seconds':>9}")
    groups = [(ABOUT[phase], ours[phase], theirs[phase]) for phase in PHASES]
    groups.insert(2, ("both of these", total(ours), total(theirs)))
    for about, mine, other in groups:
        row(about, "Layby", mine)
        row("", "PouchDB", other)
        ratios = (mine.requests / other.requests, mine.bytes / other.bytes, mine.seconds / other.seconds)
        print(f"{'':14}{'ratio':9}{ratios[0]:>10.3f}{'':>24}{ratios[1]:>12.3f}{ratios[2]:>9.3f}")
    print(
        f"A sync with nothing new: {ours['nothing'].bytes / PHONES:.0f} bytes a phone, both ways, all headers"
    )


def total(costs: dict[str, Cost]) -> Cost:
    push, pull = costs["push"], costs["pull"]
    return Cost(*(one + other for one, other in zip(push, pull, strict=True)))


def row(about: str, name: str, cost: Cost) -> None:
    print(
        f"{about:14}{name:9}{cost.requests:>10,}{cost.up:>12,}{cost.down:>12,}"
        f"{cost.bytes:>12,}{cost.seconds:>9.2f}"
    )


if __name__ == "__main__":
    main()
