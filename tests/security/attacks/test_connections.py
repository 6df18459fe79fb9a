"""Connections that are held open: heads and bodies that never end, and answers before the body's end."""

import contextlib
import resource
import socket
import time

import httpx
import pytest

from server.wire import arrival, connections
from tests.security.attacks.watch import Watch, health
from tests.server.conftest import phone, server  # noqa: F401
from tests.server.sync.test_uploads import create, picture

HALF = b"GET /health HTTP/1.1\r\nHost: x\r\nX-More: "
SLOW = b"POST /enrol HTTP/1.1\r\nHost: x\r\nContent-Length: 4000\r\n\r\n{"
SAME = "Sec-Fetch-Site: same-origin\r\n"


def opened(port, said):
    connection = socket.create_connection(("127.0.0.1", port), timeout=60)
    connection.sendall(said)
    return connection


def is_closed(connection):
    connection.setblocking(False)
    try:
        return not connection.recv(1000)
    except BlockingIOError:
        return False
    except OSError:
        return True


@pytest.mark.parametrize("said", [b"", HALF, SLOW], ids=["nothing", "half a head", "half a body"])
def test_a_thousand_that_never_finish_do_not_hold_up_others(attacked, in_peace, said):
    resource.prlimit(attacked.process.pid, resource.RLIMIT_NOFILE, (1024, 1024))  # as systemd sets it
    with contextlib.ExitStack() as stack:
        held = [stack.enter_context(opened(attacked.port, said)) for _ in range(1100)]
        assert health(attacked.port) == 200
        with Watch(attacked.port, in_peace.port) as watch:
            time.sleep(1)
        closed = [is_closed(connection) for connection in held]
    watch.insist()
    assert closed.count(False) <= connections.MOST
    assert all(closed[:100])  # those that waited the longest gave way


def test_one_that_is_served_does_not_give_way(server, phone, monkeypatch):  # noqa: F811
    """An upload that goes on, between connections that only wait."""
    monkeypatch.setattr(connections, "MOST", 10)
    content = picture()
    place = create(phone, content).headers["Location"]
    head = (
        f"PATCH {place} HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer {phone.token}\r\n"
        "Tus-Resumable: 1.0.0\r\nContent-Type: application/offset+octet-stream\r\nUpload-Offset: 0\r\n"
        f"Content-Length: {len(content)}\r\n\r\n"
    )
    with contextlib.ExitStack() as stack:
        upload = stack.enter_context(opened(server.settings.port, head.encode() + content[:100]))
        for _ in range(30):
            stack.enter_context(opened(server.settings.port, HALF))
        upload.sendall(content[100:])
        assert upload.recv(1000).startswith(b"HTTP/1.1 204")


def dripped(connection, byte=b"x"):
    """Byte after byte, until the server has enough of it; what it said."""
    said = b""
    for _ in range(200):
        time.sleep(0.05)
        with contextlib.suppress(OSError):
            connection.send(byte)
        connection.setblocking(False)
        try:
            more = connection.recv(10_000)
        except BlockingIOError:
            continue
        except OSError:
            more = b""
        said += more
        if not more:
            return said
    pytest.fail(f"after {said!r} the connection is still open")


@pytest.mark.parametrize("begin", [HALF, b"GET /health HTTP/1.1\r\nHost: x\r\n\r\n" + HALF])
def test_a_head_that_drips_is_cut_off(server, monkeypatch, begin):  # noqa: F811
    monkeypatch.setattr(connections, "HEAD_SECONDS", 0.3)
    with opened(server.settings.port, begin) as connection:
        assert dripped(connection).count(b"HTTP/1.1 200") == begin.count(b"\r\n\r\n")


def test_a_body_that_drips_is_cut_off_when_nobody_knows_the_sender(server, monkeypatch):  # noqa: F811
    monkeypatch.setattr(arrival, "UNKNOWN_SECONDS", 0.3)
    with opened(server.settings.port, SLOW) as connection:
        said = dripped(connection)
    assert said.startswith(b"HTTP/1.1 408")
    assert b"send it again" in said


def test_a_phones_upload_may_take_its_time_but_not_stand_still(server, phone, monkeypatch):  # noqa: F811
    monkeypatch.setattr(arrival, "UNKNOWN_SECONDS", 0.2)
    monkeypatch.setattr(arrival, "PAUSE_SECONDS", 1.0)
    content = picture()
    place = create(phone, content).headers["Location"]

    def slowly():
        for at in range(0, 80, 10):
            yield content[at : at + 10]
            time.sleep(0.1)
        yield content[80:90]
        time.sleep(5)
        yield content[90:]

    tus = {"Tus-Resumable": "1.0.0"}
    headers = {**tus, "Content-Type": "application/offset+octet-stream", "Upload-Offset": "0"}
    headers |= {"Content-Length": str(len(content))}
    with contextlib.suppress(httpx.HTTPError):  # it was still sending when the answer came
        assert phone.http.patch(place, content=slowly(), headers=headers).status_code == 408
    assert phone.http.head(place, headers=tus).headers["Upload-Offset"] == "90"


def refused_early(server, length, sent, *headers):  # noqa: F811
    """What a form gets that needs somebody signed in; `sent` bytes of it are on their way all the while."""
    head = "".join(f"{header}\r\n" for header in (f"Content-Length: {length}", "Connection: close", *headers))
    said = f"POST /desk/job/1/photo HTTP/1.1\r\nHost: x\r\n{SAME}{head}\r\n"
    with opened(server.settings.port, said.encode()) as connection:
        for _ in range(sent // 2**20):
            connection.sendall(b"x" * 2**20)
            time.sleep(0.001)
        return connection.recv(10_000)


def test_an_answer_waits_until_the_body_was_sent(server):  # noqa: F811
    for _ in range(5):
        assert refused_early(server, 33 * 2**20, 33 * 2**20).startswith(b"HTTP/1.1 303")


def test_an_answer_does_not_wait_for_what_is_too_large_or_was_not_asked_for(server, monkeypatch):  # noqa: F811
    monkeypatch.setattr(arrival, "DROP_PAUSE_SECONDS", 1000.0)
    monkeypatch.setattr(arrival, "DROP_SECONDS", 1000.0)
    assert refused_early(server, 41 * 2**20, 0).startswith(b"HTTP/1.1 303")
    assert refused_early(server, 33 * 2**20, 0, "Expect: 100-continue").startswith(b"HTTP/1.1 303")


def test_an_answer_does_not_wait_for_ever(server, monkeypatch):  # noqa: F811
    monkeypatch.setattr(arrival, "DROP_PAUSE_SECONDS", 0.2)
    assert refused_early(server, 33 * 2**20, 2**20).startswith(b"HTTP/1.1 303")
