"""Takes the README's pictures from the running demo: `python -m demo.screenshots` after `demo/run`.

Needs what the tests need (Playwright, and the system's Chromium).
"""

import shutil
import sys
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

URL = "http://127.0.0.1:8700"
SCREENS = Path(__file__).parent / "screens"
PHONE = {"width": 360, "height": 740}
FLAGS = ["--no-sandbox", "--disable-gpu"]
# name -> where it is, from the job's page on
VIEWS = {
    "sheet": "",
    "isolate": "/isolate",
    "joint": "/joint/compressor-housing",
    "compare": "/joint/compressor-housing/compare",
    "torque": "/fasteners/turbine-housing-bolts",
    "summary": "/summary",
}


def main(code: str) -> None:
    """`code` is a phone's code as `demo/run` prints it."""
    SCREENS.mkdir(exist_ok=True)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        page = browser.new_page(viewport=PHONE)  # type: ignore[arg-type]
        _join(page, code)
        page.goto(URL)
        _keep(page, "jobs")
        page.click("text=Otter 12")
        page.wait_for_selector("ol.steps")
        job = page.url
        for name, path in VIEWS.items():
            page.goto(job + path)
            _keep(page, name)
        page.goto(f"{job}/joint/compressor-housing")
        page.locator("a:has-text('Mark again')").first.click()
        page.wait_for_selector("h1:has-text('Tap the marks')")
        _keep(page, "marks")
        browser.close()


def _join(page: Page, code: str) -> None:
    page.goto(URL)
    page.click("#open:not([hidden])")
    page.wait_for_selector("h1:has-text('Jobs')")
    page.goto(f"{URL}/phone")
    page.fill("[name=name]", "Demo phone")
    page.fill("[name=code]", code)
    page.click("button:has-text('Join')")
    page.wait_for_selector("text=Send and fetch now")


def _keep(page: Page, name: str) -> None:
    page.wait_for_load_state("networkidle")
    page.screenshot(path=SCREENS / f"{name}.png")
    print(f"demo/screens/{name}.png")


if __name__ == "__main__":
    main(sys.argv[1])
