"""Bodies that cost little to send and much to read."""

import concurrent.futures
import gzip
import json

import httpx
import pytest

from tests.helpers.servers import Device
from tests.security.attacks.watch import Watch
from tests.security.table import calls
from tests.server.conftest import phone, server  # noqa: F401

BRACKETS = b"[" + b"[]," * (16 * 2**20 // 3 - 1) + b"[]]"
BOMB = gzip.compress(BRACKETS, 9)
SAME = {"Sec-Fetch-Site": "same-origin"}
JSON = {"Content-Type": "application/json", "Content-Encoding": "gzip"}
FORM = {"Content-Type": "application/x-www-form-urlencoded"}
PARTS = {"Content-Type": "multipart/form-data; boundary=x"}
PART = b'--x\r\nContent-Disposition: form-data; name="a"\r\n\r\n\r\n'
BODIES = [
    (JSON, BOMB),
    (FORM, b"a&" * 2**19),
    (PARTS, PART * 20_000),
    (PARTS, b"--x\r\n" + b"a:b\r\n" * 200_000),
    (PARTS, b"--x\r\n" + b"\r\n--" * 250_000),
]
CHANGES = sorted({call for call in calls() if call.method in ("POST", "PATCH")})


def post(url, headers=JSON, content=BOMB, method="POST"):
    with httpx.Client(timeout=100) as client:
        try:
            return client.request(method, url, content=content, headers={**SAME, **headers}).status_code
        except httpx.HTTPError:  # cut off: more was sent than is read
            return 413


@pytest.mark.parametrize("at_once", [1, 8])
def test_brackets_in_a_small_parcel_do_not_hold_up_others(attacked, in_peace, at_once):
    assert len(BOMB) < 17_000
    with Watch(attacked.port, in_peace.port) as watch, concurrent.futures.ThreadPoolExecutor(at_once) as pool:
        said = list(pool.map(lambda _: post(f"{attacked.url}/enrol"), range(at_once)))
    assert set(said) == {413}
    watch.insist()


def test_nobodys_bodies_do_not_hold_up_others_at_any_address(attacked, in_peace):
    with Watch(attacked.port, in_peace.port) as watch:
        for call in CHANGES:
            for headers, content in BODIES:
                status = post(attacked.url + call.path, headers, content, call.method)
                assert status == 303 or 400 <= status < 500, (call, headers)
    watch.insist()


def test_brackets_of_a_phone_do_not_hold_up_others(attacked, in_peace):
    headers = {**JSON, "Authorization": f"Bearer {attacked.phone().token}"}
    with Watch(attacked.port, in_peace.port) as watch, concurrent.futures.ThreadPoolExecutor(8) as pool:
        said = list(pool.map(lambda _: post(f"{attacked.url}/sync", headers), range(8)))
    assert set(said) == {400}
    watch.insist()


@pytest.mark.parametrize("path", ["/enrol", "/sync/fork"])
@pytest.mark.parametrize("packed", [True, False])
def test_what_is_short_by_nature_is_not_read_further(phone, path, packed):  # noqa: F811
    content = json.dumps({"code": "x" * 5000}).encode()
    headers = JSON if packed else {}
    answer = phone.http.post(path, content=gzip.compress(content) if packed else content, headers=headers)
    assert (answer.status_code, answer.json()["error"]) == (413, "too_large")


def test_attempts_are_counted_before_anything_is_read(server):  # noqa: F811
    for _ in range(20):
        assert httpx.post(f"{server.url}/enrol", content=b"no JSON").status_code == 400
    assert httpx.post(f"{server.url}/enrol", content=b"no JSON").status_code == 429


def test_a_phone_of_an_earlier_release_packs_its_code(server):  # noqa: F811
    asked = {"code": server.shop.new_code("phone"), "device": "one", "name": "Bay 2 phone"}
    body = gzip.compress(json.dumps(asked).encode())
    assert httpx.post(f"{server.url}/enrol", content=body, headers=JSON).status_code == 200


@pytest.mark.parametrize("path", ["/desk/enter", "/desk/setup"])
@pytest.mark.parametrize("headers", [FORM, PARTS])
def test_a_form_that_anybody_may_send_is_small(server, path, headers):  # noqa: F811
    answer = httpx.post(server.url + path, content=b"a&" * 5000, headers={**SAME, **headers})
    assert answer.status_code == 413


OUTSIDE = "The JSON has too many values."


@pytest.mark.parametrize(
    ("body", "says"),
    [
        (b'{"records": [' + b"0," * 40_000 + b"0]}", OUTSIDE),
        (b'{"records": [' + b'"",' * 9000 + b'""]}', OUTSIDE),
        (b'{"records": ["' + b'\\"' * 100_000, "This is not JSON: a string has no end."),
        ('{"protocol": 1}'.encode("utf-16"), "This is not JSON: it is not in UTF-8."),
    ],
)
def test_a_batch_is_looked_over_before_it_is_parsed(phone, monkeypatch, body, says):  # noqa: F811
    monkeypatch.setattr("json.loads", lambda *given, **named: pytest.fail("it was parsed"))
    answer = phone.http.post("/sync", content=body)
    monkeypatch.undo()
    assert (answer.status_code, answer.json()["message"]) == (400, says)


def test_the_largest_batch_of_an_honest_phone_is_taken(server):  # noqa: F811
    phone = Device(server)  # noqa: F811
    texts = phone.write(*['[{"x": "' * 100] * 1000)
    assert len(phone.sync(*texts, packed=True)["taken"]) == 1000
