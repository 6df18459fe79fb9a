"""A forged file reaches a phone by way of the shop: it gives way there, too, and is shown as what it is."""

import json
import secrets
from typing import Any

from pwa.app.record import chain
from tests.helpers.servers import Server
from tests.helpers.signing import Signer
from tests.phone.browser import Browser
from tests.phone.test_restored import exchange, join


def sealed(phone: Signer, job: str, words: str, state: dict[str, Any] | None = None) -> list[str]:
    """The phone's next note, or what somebody else writes as that."""
    draft: Any = chain.draft(job, "note", {"text": words})
    texts, after = chain.seal([draft], state or phone.state, 1_764_065_263_000, secrets.token_hex(20), "")
    if state is None:
        phone.state = after
    return texts


def test_a_forged_entry_is_shown_as_contradicted_and_the_true_one_counts(
    browser: Browser, server: Server
) -> None:
    browser.install(server.url)
    path = browser.new_job()
    join(browser, server, "Reader")
    job, writer = path.split("/")[-1], Signer(server)
    writer.send(*sealed(writer, job, "first"))
    server.shop.ledger.carry(sealed(writer, job, "forged", dict(writer.state)), 1)
    exchange(browser, server)
    browser.page.goto(f"{server.url}{path}/timeline")
    assert "forged" in browser.page.inner_text("ol.timeline")

    writer.send(*sealed(writer, job, "true"))
    exchange(browser, server)
    browser.page.goto(f"{server.url}{path}/timeline")
    listed = browser.page.inner_text("ol.timeline")
    assert ("true" in listed, "forged" in listed) == (True, False)
    assert "forged" in browser.page.inner_text("#contradicted")
    assert "damaged" not in browser.page.inner_text("main")
    [row] = [row for row in browser.stored("records") if row.get("contradicted")]
    assert json.loads(row["text"])["data"]["text"] == "forged"
