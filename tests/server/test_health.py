"""What a monitor sees: health that is true, and metrics that an independent reader understands."""

import dataclasses

import httpx
import pytest
from prometheus_client.openmetrics.parser import text_string_to_metric_families

from tests.server.sync.test_uploads import picture, sha, upload


def metrics(server, **headers):
    server.shop.settings = dataclasses.replace(server.shop.settings, metrics_token="watching")
    return httpx.get(server.url + "/metrics", headers={"Authorization": "Bearer watching", **headers})


def samples(server):
    families = text_string_to_metric_families(metrics(server).text)
    return {(each.name, *each.labels.values()): each.value for family in families for each in family.samples}


def test_the_metrics_are_open_metrics_and_count_what_is_there(server, phone, another):
    phone.sync(*phone.write("one", "two"), *phone.write("", kind="photo", sha256="0" * 64))
    content = picture()
    upload(phone, content)
    another()
    found = samples(server)
    assert metrics(server).headers["Content-Type"].startswith("application/openmetrics-text; version=1.0.0")
    assert found["layby_records",] == 3
    assert (found["layby_photos",], found["layby_photo_bytes",]) == (1, len(content))
    assert (found["layby_photos_wanted",], found["layby_phones",]) == (1, 2)
    assert found["layby_requests_total", "/enrol", "POST", "200"] == 2
    assert found["layby_requests_total", "/uploads/{sha256}", "PATCH", "204"] == 1
    assert found["layby_request_seconds_bucket", "+Inf"] == found["layby_request_seconds_count",]


def test_metrics_grow_with_the_routes_and_not_with_what_is_asked(server):
    for number in range(50):
        httpx.get(f"{server.url}/job/{number}/x?{number}")
        httpx.request(f"M{number}", server.url + "/sync")
    names = [name for name in samples(server) if name[0] == "layby_requests_total"]
    assert len(names) < 10


def test_metrics_hold_nothing_of_people_or_secrets(server, phone, browser):
    phone.sync(*phone.write("typed by a person"))
    content = picture()
    upload(phone, content)
    text = metrics(server).text
    for hidden in (
        phone.state["id"],
        phone.state["name"],
        phone.token,
        sha(content),
        "typed",
        browser.cookies["layby"],
    ):
        assert hidden not in text


@pytest.mark.parametrize("token", ["watching", "x", "None"])
def test_without_a_token_set_only_people_may_look(server, browser, token):
    answer = httpx.get(server.url + "/metrics", headers={"Authorization": f"Bearer {token}"})
    assert (answer.status_code, answer.json()["error"]) == (401, "not_signed_in")
    assert browser.get("/metrics").status_code == 200


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


def test_a_defect_is_answered_counted_and_logged_without_its_words(
    server, phone, browser, monkeypatch, caplog
):
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
    assert samples(server)["layby_failures_total",] == 1
