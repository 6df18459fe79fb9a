"""How long a phone takes to read 100,000 rows on its page: `python -m tests.bench.phone_log`.

Prints and judges nothing: timings depend on the machine. Chromium slows a page down to a quarter, but not its
workers; so the processor's time of the worker's own thread is counted and taken four times. Other work on
this machine makes the taps late, which are measured by the clock, but does not count for the worker.
"""

import os
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import sync_playwright

from pwa.build.build import build
from tests.bench.log_speed import ROWS
from tests.helpers.recordings import bus, drive
from tests.helpers.servers import Server
from tests.phone.browser import Browser

SLOWER = 4
TAPS = 100  # ms between two looks whether the page would answer a tap
WORKER = "DedicatedWorker"
WATCH = """every => {
    window.late = [];
    let due = performance.now() + every;
    window.watch = setInterval(() => {
        window.late.push(performance.now() - due);
        due = performance.now() + every;
    }, every);
}"""


def main() -> None:
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        folder = Path(name)
        build(folder / "dist")
        server = Server(folder, folder / "dist")
        browser = Browser(playwright, folder / "profile")
        try:
            browser.install(server.url)
            browser.devtools().send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
            print(f"{ROWS} rows; seconds of the worker's processor at 1/{SLOWER} of its speed")
            for form, text in {"table, decimal comma": drive(ROWS), "candump": bus(ROWS)}.items():
                path = folder / "recording.txt"
                path.write_text(text)
                measure(browser, server.url, form, path)
        finally:
            browser.kill()
            server.stop()


def measure(browser: Browser, url: str, form: str, path: Path) -> None:
    page = browser.page

    def drawn() -> str:
        return page.get_attribute("figure polyline.fine", "points") or ""

    def move(how: str) -> None:
        before = drawn()
        page.click(f"[data-move={how}]")
        page.wait_for_function(
            "old => document.querySelector('figure polyline.fine').getAttribute('points') !== old", arg=before
        )

    def read() -> None:
        page.set_input_files("[data-do=file]", path)
        page.evaluate(WATCH, TAPS)  # only now: handing the file over keeps the page busy here, on no phone
        page.wait_for_selector("[data-part=look]:not([hidden])", timeout=300_000)

    def judge() -> None:
        page.click("[data-do=judge]")
        page.wait_for_selector("[data-fill=verdict] .verdict", timeout=300_000)

    page.goto(f"{url}/worksheets/recording")
    page.wait_for_selector("[data-part=choose]:not([hidden])")
    start = time.perf_counter()
    reading = used(browser, read)
    clock = time.perf_counter() - start
    late = sorted(page.evaluate("clearInterval(window.watch), window.late"))
    zooms = [used(browser, lambda how=how: move(how)) for how in ("in", "in", "on", "whole")]
    zoom, verdict = statistics.median(zooms), used(browser, judge)
    print(f"{form:<22} read {reading:6.2f}, a zoom {zoom:5.2f}, verdict {verdict:5.2f}")
    print(
        f"{'':<22} by the clock {clock:.1f} s unslowed; a tap waited {statistics.median(late):.0f} ms, "
        f"{late[-1]:.0f} ms at most, load {os.getloadavg()[0]:.0f}"
    )


def used(browser: Browser, work: Callable[[], None]) -> float:
    """Seconds of the processor that the page's worker takes for it, as a slow phone would need them."""
    before = processor(browser)
    work()
    return SLOWER * (processor(browser) - before)


def processor(browser: Browser) -> float:
    """Of every worker's thread that lives; the one of a new file has just begun."""
    spent = 0
    for task in Path("/proc").glob("[0-9]*/task/*"):
        try:
            ours = os.getpgid(int(task.parts[2])) == browser.group
            if ours and (task / "comm").read_text().startswith(WORKER):
                spent += int((task / "schedstat").read_text().split()[0])
        except (OSError, ProcessLookupError):
            continue  # it has just ended
    return spent / 1e9


if __name__ == "__main__":
    main()
