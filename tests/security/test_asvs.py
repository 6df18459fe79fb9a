"""The table of the verification standard in README.md, and its items that no other test proves."""

import re
from pathlib import Path

import httpx
import pytest

from tests.helpers.servers import somebody
from tests.security.table import SAME, calls

PASSPHRASE = "correct horse battery staple"
ROOT = Path(__file__).parent.parent.parent


def test_each_test_that_the_table_names_exists():
    table = (ROOT / "tests/security/README.md").read_text().split("## OWASP ASVS")[1].split("Not met")[0]
    named = set(re.findall(r"`(test_\w+)`", table))
    found = set()
    for path in (ROOT / "tests").rglob("test_*.py"):
        found |= set(re.findall(r"^def (test_\w+)", path.read_text(), re.MULTILINE))
    assert len(named) > 25
    assert named <= found, named - found


def enter(shop, client, **form):
    form = form or {"name": "Anna", "passphrase": PASSPHRASE}
    return client.post("/desk/enter", data=form, headers=SAME)


@pytest.fixture(scope="module")
def anna(shop):
    return somebody(shop.shop, "desk", "Anna", PASSPHRASE)


def test_a_long_passphrase_is_taken_whole_up_to_128_characters(shop):
    long = "p€ß wort " * 14 + "ab"
    assert len(long) == 128
    somebody(shop.shop, "desk", "Bea", PASSPHRASE)
    with httpx.Client(base_url=shop.url, headers=SAME, timeout=60) as client:
        enter(shop, client, name="Bea", passphrase=PASSPHRASE)
        given = {"do": "passphrase", "current": PASSPHRASE}
        too_long = {**given, "passphrase": long + "c", "again": long + "c"}
        assert client.post("/desk/access", data=too_long).status_code == 422
        fits = {**given, "passphrase": long, "again": long}
        assert client.post("/desk/access", data=fits).status_code == 303
        assert enter(shop, client, name="Bea", passphrase=long[:-1]).status_code == 403
        assert enter(shop, client, name="Bea", passphrase=long).status_code == 303


def test_password_managers_know_the_fields(clients):
    page = clients.all["nobody"].get("/desk/enter").text
    assert 'type="password" autocomplete="current-password"' in page
    assert 'autocomplete="new-password"' in clients.all["nobody"].get("/desk/setup").text
    assert "onpaste" not in page


def test_no_link_or_log_carries_a_session(clients, caplog):
    session = clients.all["desk"].cookies["layby"]
    with caplog.at_level("DEBUG"):
        for path in ("/desk/", "/desk/devices", "/desk/access", "/desk"):
            answer = clients.all["desk"].get(path)
            assert session not in answer.text
            assert session not in answer.headers.get("Location", "")
    assert session not in caplog.text
    assert session not in str([getattr(record, "fields", "") for record in caplog.records])


def test_each_sign_in_begins_a_session_of_its_own(shop, anna):
    with httpx.Client(base_url=shop.url, timeout=60) as client:
        client.cookies["layby"] = "chosen-by-somebody-else"
        sessions = [enter(shop, client).headers["Set-Cookie"].split(";")[0] for _ in range(3)]
    assert len(set(sessions)) == 3
    assert all(len(session) > len("layby=") + 40 for session in sessions)


def test_pages_with_data_are_not_kept_by_the_browser(clients):
    for path in ("/desk/", "/desk/devices", "/desk/access", "/desk/enter", "/desk/setup"):
        assert clients.all["desk"].get(path).headers["Cache-Control"] == "no-store", path


def test_no_header_names_a_program_or_version(clients):
    for call in calls():
        headers = clients.all["nobody"].request(call.method, call.path).headers
        assert "X-Powered-By" not in headers
        assert not re.search(r"\d+\.\d+", headers.get("Server", "")), call


def test_no_answer_lets_another_origin_read_it(clients):
    for call in calls():
        for role in ("nobody", "desk", "phone"):
            headers = {"Origin": "https://elsewhere.example", "Sec-Fetch-Site": "cross-site"}
            answer = clients.all[role].request(call.method, call.path, headers=headers)
            assert not [name for name in answer.headers if name.startswith("access-control-")], call
