"""What whoever watches the server sees: health that is true, and a log without a person's words."""

import dataclasses

import httpx


def test_health_says_when_records_can_no_longer_be_stored(server, monkeypatch):
    assert httpx.get(server.url + "/health").json() == {"status": "ok"}
    server.shop.settings = dataclasses.replace(server.settings, spare_bytes=10**18)
    answer = httpx.get(server.url + "/health")
    assert (answer.status_code, answer.json()) == (503, {"status": "disk"})
    with server.shop.store.transaction() as db:
        db.execute("pragma query_only = 1")
    server.shop.store.close()
    answer = httpx.get(server.url + "/health")
    assert (answer.status_code, answer.json()) == (503, {"status": "database"})


def test_a_defect_is_answered_and_logged_without_its_words(server, phone, monkeypatch, caplog):
    def fail(*given):
        raise ValueError("what the technician typed")

    monkeypatch.setattr(server.shop.ledger, "take", fail)
    answer = phone.post(*phone.write("a note"))
    assert (answer.status_code, answer.json()["error"]) == (500, "failed")
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    (line,) = [record.fields for record in caplog.records if record.msg == "failed"]
    assert (line["route"], line["error"]) == ("/sync", "ValueError")
    assert "test_health.py" in line["at"][-1]
    assert "typed" not in str(line)
