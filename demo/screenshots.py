"""Takes the README's pictures from a running demo: `python -m demo.screenshots`.

Needs what the tests need (Playwright, and the system's Chromium).
"""

import shutil
import tempfile
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

from demo import play, scenario
from demo.ways import NAME, owner
from server.settings import Settings
from server.store.shop import Shop

SCREENS = Path(__file__).parent / "screens"
PORT = 8799
PHONE = {"width": 360, "height": 740}
DESK = {"width": 1280, "height": 987}  # as high as the phone's beside it, at the README's widths
FLAGS = ["--no-sandbox", "--disable-gpu"]
TRUCK = "text=Otter 12"


def main() -> None:
    """Serve the invented shop from a folder of its own and look at one of its jobs."""
    SCREENS.mkdir(exist_ok=True)
    play.build_if_changed()
    with tempfile.TemporaryDirectory() as data, play.running(Settings(Path(data), port=PORT)) as (shop, url):
        scenario.load(url, shop, print)
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
            _phone(browser, shop, url)
            _desk(browser, shop, url)
            browser.close()


def _phone(browser: Browser, shop: Shop, url: str) -> None:
    page = browser.new_page(viewport=PHONE)  # type: ignore[arg-type]
    _join(page, url, shop.new_code("phone"))
    page.goto(url)
    page.click(TRUCK)
    page.wait_for_selector("ol.steps")
    job = page.url
    _keep(page, "phone")
    page.goto(f"{job}/joint/compressor-housing")
    page.locator("a:has-text('Mark again')").first.click()
    page.wait_for_selector("h1:has-text('Tap the marks')")
    _keep(page, "marks")


def _desk(browser: Browser, shop: Shop, url: str) -> None:
    page = browser.new_page(viewport=DESK)  # type: ignore[arg-type]
    page.goto(f"{url}/desk/enter")
    page.fill("[name=name]", NAME)
    page.fill("[name=passphrase]", owner(shop))
    page.click("button:has-text('Enter')")
    page.click(TRUCK)
    page.wait_for_selector("ol.steps")
    page.goto(f"{page.url}/joint/compressor-housing/compare")
    _keep(page, "desk")


def _join(page: Page, url: str, code: str) -> None:
    page.goto(url)
    page.click("#open:not([hidden])")
    page.wait_for_selector("h1:has-text('Jobs')")
    page.goto(f"{url}/phone")
    page.fill("[name=name]", "Demo phone")
    page.fill("[name=code]", code)
    page.click("button:has-text('Join')")
    page.wait_for_selector("text=Send and fetch now")
    page.wait_for_function("!document.body.innerText.includes('Sending')")


def _keep(page: Page, name: str) -> None:
    page.wait_for_load_state("networkidle")
    page.screenshot(path=SCREENS / f"{name}.png")
    print(f"demo/screens/{name}.png")


if __name__ == "__main__":
    main()
