"""Behind the reverse proxy of server/deploy/nginx.conf: secure cookies, right links, addresses that count."""

import hashlib
import re
import secrets

import httpx
import pytest

from tests.helpers.servers import Device
from tests.security.proxy import Proxy
from tests.server.sync.test_uploads import create, patch, picture

PASSPHRASE = "correct horse battery staple"


@pytest.fixture
def proxy(shop):
    running = Proxy(shop.settings.port)
    yield running
    running.shutdown()
    running.server_close()


@pytest.fixture
def browser(proxy):
    """One that asked for https://layby.example."""
    name = proxy.example.name
    headers = {"Host": name, "Origin": f"https://{name}"}
    with httpx.Client(base_url=proxy.url, headers=headers) as client:
        yield client


def join(browser, shop):
    code, name = shop.shop.new_code("desk"), f"Anna {secrets.token_hex(4)}"
    form = {"code": code, "name": name, "passphrase": PASSPHRASE, "again": PASSPHRASE}
    return browser.post("/desk/join", data=form)


def sign_in(browser, shop):
    answer = join(browser, shop)
    assert answer.status_code == 303
    session = re.match(r"__Host-layby=([^;]+)", answer.headers["Set-Cookie"])[1]
    browser.headers["Cookie"] = (
        f"__Host-layby={session}"  # httpx itself knows that the test's proxy is no https
    )
    return answer, session


def test_the_example_passes_on_what_the_server_needs(proxy):
    assert proxy.example.headers == {
        "Host": "$http_host", "X-Forwarded-Proto": "$scheme", "X-Forwarded-For": "$remote_addr",
    }  # fmt: skip
    assert proxy.example.most > 33 * 2**20
    assert proxy.example.target


def test_cookies_are_for_https_only_and_of_this_host_only(browser, shop):
    answer, session = sign_in(browser, shop)
    parts = {part.strip().lower() for part in answer.headers["Set-Cookie"].split(";")[1:]}
    assert {"secure", "httponly", "samesite=strict", "path=/"} <= parts
    assert not any(part.startswith("domain") for part in parts)
    assert answer.headers["Strict-Transport-Security"] == "max-age=31536000"
    assert browser.get("/desk/devices").status_code == 200
    # The name that plain http uses is worth nothing here: a neighbour on http could have set it.
    browser.headers["Cookie"] = f"layby={session}"
    assert browser.get("/desk/devices").headers["Location"] == "/desk/enter?to=/desk/devices"


def test_another_sites_origin_is_refused_and_links_name_the_public_address(browser, shop, proxy):
    sign_in(browser, shop)
    answer = browser.post("/desk/devices", headers={"Origin": "https://elsewhere.example"})
    assert answer.json()["error"] == "other_site"
    page = browser.post("/desk/devices")
    assert page.status_code == 200
    assert f'data-qr="https://{proxy.example.name}/phone#code=' in page.text


def test_a_phone_joins_syncs_and_sends_a_photo_through_it(browser, shop, proxy):
    phone = Device(shop)
    phone.http.base_url = proxy.url
    assert phone.sync(*phone.write("through the proxy"), packed=True)["refused"] == []
    content = picture()
    place = create(phone, content).headers["Location"]
    assert patch(phone, place, content[:100], 0).status_code == 204
    assert patch(phone, place, content[100:], 100).status_code == 204
    kept = phone.http.get(f"/photos/{hashlib.sha256(content).hexdigest()}")
    assert kept.content == content


def test_attempts_count_for_the_address_that_the_proxy_saw(browser, shop, proxy):
    def wrong(**headers):
        return browser.post("/desk/enter", data={"passphrase": "wrong one"}, headers=headers).status_code

    assert [wrong() for _ in range(9)] == [403] * 8 + [429]
    assert wrong(**{"X-Forwarded-For": "192.0.2.77"}) == 429  # what the browser claims is not believed
    proxy.client = "192.0.2.2"
    assert wrong() == 403


def test_more_than_the_proxy_lets_through_does_not_reach_the_server(browser):
    answer = browser.post("/desk/job/1/photo", content=b"x" * (41 * 2**20))
    assert answer.status_code == 413


def test_only_this_machine_is_believed_to_be_a_proxy(shop):
    """127.0.0.2 stands for another machine: the server trusts 127.0.0.1 alone."""
    says = {"X-Forwarded-Proto": "https", "X-Forwarded-For": "192.0.2.9", "Sec-Fetch-Site": "same-origin"}
    transport = httpx.HTTPTransport(local_address="127.0.0.2")
    with httpx.Client(base_url=shop.url, headers=says, transport=transport) as other:
        answer = join(other, shop)
        assert answer.headers["Set-Cookie"].startswith("layby=")
        assert "Strict-Transport-Security" not in answer.headers
        asked = {"code": "x", "device": "one", "name": "One"}
        codes = [other.post("/enrol", json=asked, headers={"X-Forwarded-For": f"192.0.2.{n}"})
                 for n in range(21)]  # fmt: skip
    assert codes[-1].status_code == 429  # counted for the one address it really has
