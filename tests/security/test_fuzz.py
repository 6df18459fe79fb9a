"""Malformed requests at every address: an answer below 500, soon, and a server that goes on.

LAYBY_FUZZ sets the number of requests at each address (default 20), LAYBY_FUZZ_SEED where chance begins.
"""

import base64
import gzip
import json
import os
import random
import socket
import time

import httpx
import pytest

from server.store.limits import Attempts
from tests.security.table import SAMPLES, Call, calls

ROUNDS = int(os.environ.get("LAYBY_FUZZ", "20"))
SEED = os.environ.get("LAYBY_FUZZ_SEED", "1")
PATIENCE = 10  # seconds
TABLE = list(calls())

SCALARS = [
    None, True, 0, -1, 1.5, 2**53, 2**63, -(2**64), 10**400, 1e308, "", "a", "\0", "\ud800", "é" * 300,
    "0" * 64, "../../etc/passwd", "' or 1=1 --", "<script>", "x" * 100_000, [], {}, [[]], {"": ""},
]  # fmt: skip
VALID: dict[str, dict[str, object]] = {
    "/enrol": {"code": "AAAA-AAAA", "device": "one", "name": "One"},
    "/sync": {"protocol": 1, "device": "one", "epoch": "", "cursor": 0, "records": ["{}"]},
    "/sync/fork": {"device": "two", "token": "0" * 64},
}
RECORD = {
    "id": "r", "job": "j", "device": "one", "author": "a", "seq": 1, "prev": "",
    "clock": "000000000000001.0000000", "time": 1, "kind": "note", "replaces": [],
    "data": {"sha256": "0" * 64},
}  # fmt: skip
HEADERS = {
    "Content-Type": [
        "application/json", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x",
        "multipart/form-data", "multipart/form-data; boundary=", "application/offset+octet-stream", "",
        "\xff", "a/b; " + "c" * 3000,
    ],
    "Content-Encoding": ["gzip", "identity", "br", "gzip, gzip", ""],
    "Tus-Resumable": ["1.0.0", "0", ""],
    "Upload-Length": ["0", "1", "10", "-1", "9" * 15, "9" * 400, "1e3", "\xb2", ""],
    "Upload-Offset": ["0", "1", "-1", "9" * 15, "x", ""],
    "Upload-Metadata": [
        "sha256 " + base64.b64encode(b"0" * 64).decode(), "sha256", "sha256 !", ",,,", "\xff \xff",
        "a b," * 999,
    ],
    "Upload-Checksum": ["sha1 AAAA", "sha256 !", "md5 A", "", "\xff"],
    "X-HTTP-Method-Override": ["PATCH", "DELETE", "\xff", ""],
    "Range": ["bytes=0-", "bytes=5-1", "bytes=" + "0-1," * 500, "x"],
    "If-None-Match": ["*", '"', "\xff"],
    "If-Range": ["x", '"a"'],
    "Accept": ["text/html", "\xff", "*/*;q=x"],
    "Accept-Encoding": ["gzip", "gzip;q=x", "\xff"],
    "Cookie": ["layby=; layby", "=;=", "layby=\xff", "a=" * 500],
    "Origin": ["null", "http://[", "\xff"],
    "Host": ["", "a b", "[::1", "x" * 300],
    "X-Forwarded-Proto": ["https", "wss", "\xff", "x, y"],
    "X-Forwarded-For": ["", "not an address", "::1", "192.0.2.4," * 100, "\xff"],
}  # fmt: skip


def altered(chance: random.Random, value):
    """A JSON value with something else in one place."""
    if isinstance(value, dict) and value and chance.random() < 0.8:
        key = chance.choice(sorted(value))
        if chance.random() < 0.2:
            return {name: item for name, item in value.items() if name != key}
        return {**value, key: altered(chance, value[key])}
    if isinstance(value, list) and value and chance.random() < 0.5:
        return [altered(chance, value[0]), *value] * chance.choice([1, 1, 1, 500])
    return chance.choice(SCALARS)


def body(chance: random.Random, route: str) -> bytes:
    if route == "/sync" and chance.random() < 0.5:
        valid = {**VALID["/sync"], "records": [json.dumps(altered(chance, RECORD))]}
    else:
        valid = VALID.get(route, {"text": "note"})
    kind = chance.randrange(8)
    if kind < 3:
        content = json.dumps(altered(chance, valid)).encode()
    elif kind == 3:
        content = chance.choice(
            [b"", b"{", b"[" * 100_000, b'{"a":' * 50_000, b"\xff\xfe", b"NaN", b"1" * 5000, b'"\\ud800"']
        )
    elif kind == 4:
        content = chance.randbytes(chance.choice([1, 100, 70_000]))
    elif kind == 5:
        content = form(chance)
    elif kind == 6:
        content = multipart(chance)
    else:
        content = json.dumps(valid).encode()
    if chance.random() < 0.2:
        content = gzip.compress(content)
        cut = chance.choice([None, -4, len(content) // 2])
        content = content[:cut] + chance.choice([b"", b"more"])
    return content


def form(chance: random.Random) -> bytes:
    names = [b"code", b"passphrase", b"again", b"current", b"do", b"text", b"%00", b"%ff", b""]
    values = [b"", b"%", b"%zz", b"%00", b"%ff%fe", b"x" * 5000, b"desk", b"viewer", "é".encode()]
    pairs = [chance.choice(names) + b"=" + chance.choice(values) for _ in range(chance.choice([1, 3, 3000]))]
    return b"&".join(pairs)


def multipart(chance: random.Random) -> bytes:
    heads = [
        b'form-data; name="photo"; filename="a.jpg"', b'form-data; name="photo"', b"form-data", b"",
        b"x" * 5000,
        b'form-data; name="photo"; filename="../../x"', b'form-data; name="\xff"; filename="\x00"',
    ]  # fmt: skip
    parts = b"".join(
        b"--x\r\nContent-Disposition: " + chance.choice(heads) + b"\r\n\r\n" + chance.randbytes(50) + b"\r\n"
        for _ in range(chance.choice([0, 1, 3, 50]))
    )
    return parts + chance.choice([b"", b"--x--", b"--x--\r\n", b"--x"])


def path(chance: random.Random, call: Call) -> str:
    """The address itself, or one with something else in its place for a part, and a query."""
    parts = [
        "0" * 64,
        "%00",
        "%ff",
        "..%2f..",
        "%2e%2e/x",
        "x" * 3000,
        "é",
        "job/new",
        "job/x/photo",
        "%252f",
        "~",
        "a;b",
        "'",
    ]
    found = call.route
    for name in ("{sha256}", "{device}", "{key}", "{job}", "{path:path}"):
        found = found.replace(name, chance.choice([SAMPLES[name]] * 10 + parts))
    query = ["", "", "?", "?a=%ff&a", "?" + "a=b&" * 3000, "?%00=%00", "?page=" + "9" * 500]
    return found + chance.choice(query)


def usual(route: str) -> str:
    return "desk" if route.startswith("/desk") else "phone"


def headers(chance: random.Random) -> dict[str, bytes]:
    names = chance.sample(sorted(HEADERS), chance.choice([0, 1, 2, 4]))
    return {name: chance.choice(HEADERS[name]).encode("latin-1") for name in names}


def begin_upload(phone: httpx.Client) -> None:
    """So that there is one at the address that is all zeros."""
    name = base64.b64encode(b"0" * 64).decode()
    given = {"Tus-Resumable": "1.0.0", "Upload-Length": "1000", "Upload-Metadata": f"sha256 {name}"}
    assert phone.post("/uploads", headers=given).status_code == 201


@pytest.mark.parametrize("call", TABLE, ids=lambda call: f"{call.method} {call.route}")
def test_whatever_comes_the_answer_is_no_accident(shop, clients, call):
    chance = random.Random(f"{SEED} {call}")
    shop.shop.tried_codes = shop.shop.tried_passphrases = Attempts(10**6, 10**6, 1)  # look behind the limit
    for valid in (VALID["/sync"], RECORD):
        valid["device"] = clients.phone.state["id"]
    begin_upload(clients.all["phone"])
    for number in range(ROUNDS):
        role = chance.choice([usual(call.route)] * 5 + ["nobody", "viewer", "desk", "phone"])
        given, content = headers(chance), body(chance, call.route)
        place = path(chance, call)
        # As a browser or phone would send it; a good part should get past the door and the first header.
        if call.route.startswith("/uploads"):
            given.setdefault("Tus-Resumable", b"1.0.0")
            given.setdefault("Content-Type", b"application/offset+octet-stream")
            given.setdefault("Upload-Offset", b"0")
        begun = time.monotonic()
        try:
            answer = clients.all[role].request(
                call.method, place, content=content, headers=given, timeout=PATIENCE
            )
        except httpx.InvalidURL:
            continue
        except (httpx.RemoteProtocolError, httpx.ReadError, httpx.WriteError):
            continue  # the server may close on what is not HTTP
        what = (number, role, place[:80], given, content[:80], answer.text[:200])
        assert answer.status_code < 500, what
        assert time.monotonic() - begun < PATIENCE, what
    assert httpx.get(shop.url + "/health").json() == {"status": "ok"}
    clients.sign_in()  # the desk may have left


RAW = [
    b"\r\n\r\n",
    b"GET\r\n\r\n",
    b"GET / HTTP/9.9\r\n\r\n",
    b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" + bytes(200),  # a browser that tries TLS
    b"GET /" + b"x" * 100_000 + b" HTTP/1.1\r\n\r\n",
    b"GET / HTTP/1.1\r\n" + b"a: b\r\n" * 10_000 + b"\r\n",
    b"GET / HTTP/1.1\r\nHost: x\r\nA\x00B: c\r\n\r\n",
    b"POST /sync HTTP/1.1\r\nHost: x\r\nContent-Length: -5\r\n\r\n",
    b"POST /sync HTTP/1.1\r\nHost: x\r\nContent-Length: 5\r\nContent-Length: 6\r\n\r\nabcdef",
    b"POST /sync HTTP/1.1\r\nHost: x\r\nContent-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n"
    b"GET /desk/ HTTP/1.1\r\n\r\n",
    b"POST /sync HTTP/1.1\r\nHost: x\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\n",
    b"POST /sync HTTP/1.1\r\nHost: x\r\nTransfer-Encoding: chunked\r\n\r\nffffffffffffffff\r\n",
    b"POST /enrol HTTP/1.1\r\nHost: x\r\nContent-Length: 1000\r\n\r\n{",
    b"PATCH /uploads/x HTTP/1.1\r\nHost: x\r\nExpect: 100-continue\r\nContent-Length: 10\r\n\r\n",
    b"GET http://elsewhere.example/desk/ HTTP/1.1\r\nHost: x\r\n\r\n",
    b"CONNECT elsewhere.example:443 HTTP/1.1\r\nHost: elsewhere.example\r\n\r\n",
    b"OPTIONS * HTTP/1.1\r\nHost: x\r\n\r\n",
    b"GET /sync HTTP/1.1\r\nHost: x\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n"
    b"Sec-WebSocket-Version: 13\r\nSec-WebSocket-Key: eA==\r\n\r\n",
]  # fmt: skip


@pytest.mark.parametrize("raw", RAW, ids=range(len(RAW)))
def test_what_is_hardly_http_is_answered_or_closed_and_nobody_waits(shop, raw):
    with socket.create_connection(("127.0.0.1", shop.settings.port), timeout=PATIENCE) as connection:
        try:
            connection.sendall(raw)
            connection.shutdown(socket.SHUT_WR)  # nothing more comes
            said = b"".join(iter(lambda: connection.recv(65536), b""))
        except (ConnectionError, BrokenPipeError):
            said = b""
    for line in said.split(b"\r\n"):
        assert not line.startswith(b"HTTP/1.1 5"), said[:300]
    assert b"root:" not in said
    assert httpx.get(shop.url + "/health").json() == {"status": "ok"}


def test_half_open_connections_do_not_keep_others_out(shop):
    waiting = [socket.create_connection(("127.0.0.1", shop.settings.port)) for _ in range(200)]
    for number, connection in enumerate(waiting):
        connection.sendall(
            b"POST /sync HTTP/1.1\r\nHost: x\r\nContent-Length: 100\r\n\r\n"[: 10 + number % 50]
        )
    begun = time.monotonic()
    assert httpx.get(shop.url + "/health").status_code == 200
    assert time.monotonic() - begun < PATIENCE
    for connection in waiting:
        connection.close()


@pytest.mark.parametrize(
    "bomb",
    [lambda: gzip.compress(bytes(200 * 1024 * 1024), 9), lambda: b'{"records":[' + b"[" * 2_000_000],
    ids=["gzip of 200 MB", "two million brackets"],
)
def test_a_bomb_costs_little(clients, bomb):
    bomb = bomb()
    begun = time.process_time()
    packed = {"Content-Encoding": "gzip"} if bomb[:2] == b"\x1f\x8b" else {}
    answer = clients.all["phone"].post("/sync", content=bomb, headers=packed, timeout=PATIENCE)
    assert answer.status_code in (400, 413)
    assert time.process_time() - begun < 5
