"""How fast the phone is at a quarter of this machine's speed: `python -m tests.bench.phone_speed`.

Prints and judges nothing: timings depend on the machine.
"""

import gzip
import statistics
import tempfile
import time
from pathlib import Path

from playwright.sync_api import sync_playwright

from pwa.build.build import build
from tests.helpers.servers import Server
from tests.phone.browser import Browser

ROUNDS = 7
SLOWER = 4
PATHS = ("", "/isolate", "/codes")


def main() -> None:
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        folder = Path(name)
        start = time.perf_counter()
        build(folder / "dist")
        print(f"build                         {time.perf_counter() - start:6.2f} s")
        files = [path for path in (folder / "dist").rglob("*") if path.is_file()]
        sent = sum(min(len(gzip.compress(data := path.read_bytes(), 9)), len(data)) for path in files)
        print(f"first install, compressed     {sent / 1000:6.0f} kB in {len(files)} files")
        server = Server(folder, folder / "dist")
        browser = Browser(playwright, folder / "profile")
        try:
            browser.install(server.url)
            root = server.url + browser.start_job()
            session = browser.devtools()
            session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
            for path in PATHS:
                awake = [visit(browser, root + path) for _ in range(ROUNDS)]
                cold = []
                for _ in range(ROUNDS):
                    browser.kill_worker()
                    cold.append(visit(browser, root + path))
                killed, alive = statistics.median(cold), statistics.median(awake)
                name = path or "/job"
                print(f"{name:<12} worker killed {killed:5.0f} ms, awake {alive:5.0f} ms (1/{SLOWER} speed)")
            print(f"tap to answer on /isolate     {tap(browser, root):6.0f} ms")
        finally:
            browser.kill()
            server.stop()


def visit(browser: Browser, url: str) -> float:
    """Milliseconds from navigation to the finished document, by the browser's own clock."""
    browser.page.goto(url)
    return float(browser.page.evaluate("performance.getEntriesByType('navigation')[0].domComplete"))


def tap(browser: Browser, root: str) -> float:
    """Median milliseconds from pressing an answer to the new page in the document."""
    taken = []
    for _ in range(ROUNDS):
        browser.page.goto(f"{root}/isolate")
        browser.page.wait_for_load_state("networkidle")
        taken.append(
            browser.page.evaluate(
                """() => new Promise(done => {
                    const start = performance.now();
                    const answered = () => done(performance.now() - start);
                    document.addEventListener("htmx:after:swap", answered, {once: true});
                    document.querySelector("#check button[name=outcome]").click();
                })"""
            )
        )
    return statistics.median(taken)


if __name__ == "__main__":
    main()
