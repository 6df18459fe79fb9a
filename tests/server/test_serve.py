"""The server as a process: its first start, what it logs, and how it ends."""

import base64
import hashlib
import signal
import socket
import sqlite3
import time

import httpx

PASSPHRASE = "correct horse battery staple"
SAME = {"Sec-Fetch-Site": "same-origin"}


def set_up(client, code, passphrase=PASSPHRASE):
    form = {"code": code, "name": "Anna", "passphrase": passphrase, "again": passphrase}
    return client.post("/desk/setup", data=form, headers=SAME)


def enrolled(client, server):
    with httpx.Client(base_url=server.url) as desk:
        set_up(desk, server.code)
        code = desk.post("/desk/devices", headers=SAME).text.split('id="code">')[1].split("<")[0]
    asked = {"code": code, "device": "one", "name": "A technician's name"}
    return client.post("/enrol", json=asked).json()["token"]


def test_the_first_start_prints_a_link_that_sets_the_passphrase_once(served):
    assert f"{served.url}/desk/setup#code=" in served.said
    with httpx.Client(base_url=served.url) as client:
        assert "New passphrase" in client.get("/desk/setup").text
        assert set_up(client, served.code).headers["Location"] == "/desk/start"
        assert client.get("/desk/devices").status_code == 200
        assert set_up(client, served.code, "another one entirely").status_code == 403
    served.stop()
    served.has_passphrase = True
    served.start()
    assert "code" not in served.said
    with httpx.Client(base_url=served.url, headers=SAME) as client:
        form = {"name": "anna ", "passphrase": PASSPHRASE}
        assert client.post("/desk/enter", data=form).headers["Location"] == "/desk/"


def test_a_second_first_start_prints_another_link_and_both_work_until_one_is_used(served):
    before = served.code
    served.stop()
    served.start()
    assert served.code != before
    with httpx.Client(base_url=served.url) as client:
        assert set_up(client, served.code).status_code == 303
        assert set_up(client, before).status_code == 403


def test_logs_are_lines_of_json_without_people_ids_or_secrets(served):
    with httpx.Client(base_url=served.url) as client:
        token = enrolled(client, served)
        client.get("/job/0190-a-job/safe?complaint=private", headers={"Authorization": f"Bearer {token}"})
        client.post("/sync", json={"records": ["typed by a person"]})
        client.post("/desk/enter", data={"passphrase": "a wrong passphrase"}, headers=SAME)
        client.request("BREW", "/sync")
    served.stop()
    events = [line["event"] for line in served.lines if "route" not in line]
    assert events == ["started", "stopping", "stopped"]
    requests = [line for line in served.lines if line["event"] == "request"]
    assert {"route": "/enrol", "method": "POST", "status": 200, "role": "nobody"}.items() <= requests[
        -5
    ].items()
    assert (requests[-2]["route"], requests[-2]["status"]) == ("/desk/enter", 403)
    assert (requests[-1]["method"], requests[-1]["status"]) == ("other", 405)
    secrets = [
        PASSPHRASE,
        "a wrong passphrase",
        served.code,
        token,
        hashlib.sha256(token.encode()).hexdigest(),
    ]
    for hidden in [*secrets, "127.0.0.1", "technician", "0190-a-job", "private", "typed by"]:
        assert hidden not in served.log, hidden


def slow_patch(served, token, place, content):
    """A connection on which half of a PATCH is sent; the socket."""
    connection = socket.create_connection(("127.0.0.1", served.port))
    head = (
        f"PATCH {place} HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer {token}\r\nTus-Resumable: 1.0.0\r\n"
        "Content-Type: application/offset+octet-stream\r\nUpload-Offset: 0\r\n"
        f"Content-Length: {len(content)}\r\n\r\n"
    )
    connection.sendall(head.encode() + content[: len(content) // 2])
    time.sleep(0.3)
    return connection


def begun(client, token, content):
    sha256 = hashlib.sha256(content).hexdigest()
    headers = {
        "Authorization": f"Bearer {token}", "Tus-Resumable": "1.0.0", "Upload-Length": str(len(content)),
        "Upload-Metadata": "sha256 " + base64.b64encode(sha256.encode()).decode(),
    }  # fmt: skip
    return client.post("/uploads", headers=headers).headers["Location"]


def test_asked_to_stop_the_server_finishes_what_is_under_way(served):
    content = b"x" * 100_000
    with httpx.Client(base_url=served.url) as client:
        token = enrolled(client, served)
        place = begun(client, token, content)
    with slow_patch(served, token, place, content) as connection:
        served.process.send_signal(signal.SIGTERM)
        time.sleep(0.5)
        connection.sendall(content[len(content) // 2 :])
        assert connection.recv(1000).startswith(b"HTTP/1.1 204")
    served.process.wait(60)
    database = sqlite3.connect(served.data / "layby.db")
    assert database.execute("select size from photos").fetchall() == [(len(content),)]
    assert not (served.data / "layby.db-wal").exists() or not (served.data / "layby.db-wal").stat().st_size


def test_killed_in_the_middle_it_goes_on_where_it_was(served):
    content = b"y" * 100_000
    with httpx.Client(base_url=served.url) as client:
        token = enrolled(client, served)
        place = begun(client, token, content)
    with slow_patch(served, token, place, content):
        served.end()
    served.has_passphrase = True
    served.start()
    headers = {"Authorization": f"Bearer {token}", "Tus-Resumable": "1.0.0"}
    assert httpx.head(served.url + place, headers=headers).headers["Upload-Offset"] == "50000"
