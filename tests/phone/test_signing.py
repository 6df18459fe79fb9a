"""The phone's signing key in three engines: made when it joins, never given out, and used at each sync."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.helpers.servers import Server
from tests.helpers.signing import is_signed
from tests.phone.browser import Browser
from tests.phone.firefox import Firefox
from tests.phone.test_restored import exchange, join, note
from tests.phone.test_webkit import new_webkit  # noqa: F401
from tests.phone.webkit import WebKit

KEY = Path(__file__).with_name("key.js").read_text("utf-8")


def insist_on_a_key_that_stays(found: Any) -> None:
    assert found["extractable"] is False
    assert (found["algorithm"]["name"], found["algorithm"]["namedCurve"]) == ("ECDSA", "P-256")
    assert found["usages"] == ["sign"]
    assert found["given"] == []
    assert found["written"] == "{}"


def signed(server: Server) -> dict[str, Any]:
    """The newest signed head of the one phone, checked without the server's own code."""
    head: dict[str, Any] = server.shop.store.rows(
        "select heads.*, spki from heads join keys using (device, key) order by seq desc limit 1"
    )[0]
    text = f"layby head 1\n{head['device']}\n{head['seq']}\n{head['head']}\n{head['time']}"
    assert is_signed(head["spki"], text, head["signature"])
    return head


def stored(server: Server) -> int:
    """How many entries the one phone has sent; its name is one of them."""
    return len(list(server.shop.ledger.texts()))


def fact(phone: Browser, name: str) -> Any:
    return phone.page.evaluate(
        """name => new Promise((done) => {
            indexedDB.open("layby").onsuccess = ({target}) => {
                const asked = target.result.transaction("facts").objectStore("facts").get(name);
                asked.onsuccess = () => { target.result.close(); done(asked.result ?? null); };
            };
        })""",
        name,
    )


def test_chromium_makes_a_key_that_nobody_gets_and_signs_what_it_sends(
    browser: Browser, server: Server
) -> None:
    browser.install(server.url)
    address = server.url + browser.new_job()
    join(browser, server, "Bay 2 phone")
    insist_on_a_key_that_stays(json.loads(browser.page.evaluate(KEY)))
    assert signed(server)["seq"] == stored(server)
    note(browser, address, "one", "two")
    said, head = exchange(browser, server), signed(server)
    assert head["seq"] == stored(server) > 2
    assert f"signed up to its entry {head['seq']}." in said
    kept = fact(browser, "signed")
    assert (kept["seq"], kept["countersignature"]) == (head["seq"], head["countersignature"])
    browser.kill_worker()
    note(browser, address, "three")
    exchange(browser, server)
    assert signed(server)["key"] == head["key"]
    assert signed(server)["seq"] == head["seq"] + 1 == stored(server)


def test_a_phone_that_joined_before_there_were_keys_signs_with_its_next_sync(
    browser: Browser, server: Server
) -> None:
    browser.install(server.url)
    browser.new_job()
    join(browser, server, "Bay 2 phone")
    with server.shop.store.transaction() as db:
        db.execute("delete from keys")
        db.execute("delete from heads")
    forget(browser, "key", "signed")
    exchange(browser, server)
    assert signed(server)["seq"] == stored(server)


def forget(phone: Browser, *names: str) -> None:
    """As the browser's storage loses something; the worker must not remember it either."""
    phone.page.evaluate(
        """names => new Promise((done) => {
            indexedDB.open("layby").onsuccess = ({target}) => {
                const facts = target.result.transaction("facts", "readwrite");
                for (const name of names) facts.objectStore("facts").delete(name);
                facts.oncomplete = () => { target.result.close(); done(); };
            };
        })""",
        list(names),
    )
    phone.kill_worker()


def test_a_phone_with_another_key_waits_for_the_desk_and_sends_all_the_same(
    browser: Browser, server: Server
) -> None:
    browser.install(server.url)
    address = server.url + browser.new_job()
    join(browser, server, "Bay 2 phone")
    forget(browser, "key")
    note(browser, address, "with another key")
    said = exchange(browser, server)
    assert "knows this phone by another key" in said
    assert "with another key" in "".join(server.shop.ledger.texts())
    (phone,) = server.shop.access.phones()
    server.shop.heads.accept(phone["id"], server.shop.heads.waiting(phone["id"]))
    said = exchange(browser, server)
    assert "another key" not in said
    assert f"signed up to its entry {stored(server)}." in said


def test_a_shop_whose_word_is_not_its_own_is_named(
    browser: Browser, server: Server, monkeypatch: Any
) -> None:
    browser.install(server.url)
    browser.new_job()
    monkeypatch.setattr(server.shop.key, "sign", lambda text: "A" * 86)
    join(browser, server, "Bay 2 phone")
    assert "own signature does not fit" in exchange(browser, server)
    assert fact(browser, "signed") is None


def test_firefox_makes_a_key_that_nobody_gets_and_signs_what_it_sends(
    new_firefox: Callable[[], Firefox], server: Server
) -> None:
    phone = new_firefox()
    phone.do("work", server.url)
    said = phone.do("join", server.url, server.shop.new_code("phone"))
    insist_on_a_key_that_stays(json.loads(said["key"]))
    assert f"signed up to its entry {stored(server)}." in said["main"]
    assert signed(server)["seq"] == stored(server)


def webkit_joins(phone: WebKit, server: Server) -> str:
    phone.install(server.url)
    phone.start_job("Truck 7")
    phone.open(f"{server.url}/phone")
    phone.fill("[name=name]", "An iPhone")
    phone.fill("[name=code]", server.shop.new_code("phone"))
    phone.press("button", "Join")
    phone.see("Nothing left to send")
    return phone.text


def test_webkit_makes_a_key_that_nobody_gets_and_signs_what_it_sends(
    new_webkit: Callable[..., WebKit],  # noqa: F811
    server: Server,
) -> None:
    phone = new_webkit()
    said = webkit_joins(phone, server)
    assert f"signed up to its entry {stored(server)}." in said
    insist_on_a_key_that_stays(json.loads(phone.run(f"({KEY})()")))
    assert signed(server)["seq"] == stored(server)


def test_a_private_window_of_webkit_sends_whether_it_can_sign_or_not(
    new_webkit: Callable[..., WebKit],  # noqa: F811
    server: Server,
) -> None:
    phone = new_webkit("--private")
    said = webkit_joins(phone, server)
    assert ("signed up to its entry" in said) != ("cannot keep a signing key" in said)
    assert stored(server)
