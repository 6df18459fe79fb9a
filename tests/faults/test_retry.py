"""When the phone tries again: by itself, ever more rarely, and not at all once everything is sent."""

from tests.helpers.servers import Server
from tests.phone.browser import Browser

COUNT = """
  window.asked = []; window.answered = 0;
  const post = ServiceWorker.prototype.postMessage;
  ServiceWorker.prototype.postMessage = function (message) {
    if (message === "sync") window.asked.push(Date.now());
    return post.call(this, message);
  };
  document.addEventListener("layby:synced", () => { window.answered += 1; }, true);
"""
FIRST, LONGEST, STEP = 5_000, 300_000, 500  # ms; the first two as in static/page.js


def test_what_is_unsent_is_tried_again_ever_more_rarely_until_it_is_sent(
    browser: Browser, server: Server
) -> None:
    page = browser.page
    browser.install(server.url)
    page.goto(f"{server.url}/phone")
    page.fill("[name=code]", server.shop.new_code("phone"))
    page.click("button:has-text('Join')")
    page.wait_for_selector("button:has-text('Send and fetch now')")
    server.stop()
    path = browser.new_job()
    page.add_init_script(COUNT)
    page.clock.install()
    page.goto(f"{server.url}{path}")

    def settled() -> list[int]:
        page.wait_for_function("() => window.answered >= window.asked.length")
        return page.evaluate("() => window.asked")

    for number in range(8):
        before = settled()
        longest = min(FIRST * 2**number, LONGEST)
        page.clock.run_for(longest / 2 - STEP)
        assert settled() == before, "again too soon"
        page.clock.run_for(longest / 2 + 2 * STEP)
        assert len(settled()) == len(before) + 1, "not again"
    server.start()
    page.clock.run_for(LONGEST + STEP)
    before = settled()
    assert server.shop.store.rows("select count(*) as n from records")[0]["n"] >= 1
    page.clock.run_for(3 * LONGEST)
    assert settled() == before, "again, and nothing is left to send"
    page.evaluate("() => dispatchEvent(new Event('online'))")
    assert len(settled()) == len(before) + 1
