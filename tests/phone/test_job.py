"""The whole job in a real browser with the server stopped, then sync, the desk, and a second phone."""

import json
from pathlib import Path

import pytest
from playwright.sync_api import expect

from demo import photos
from tests.helpers.servers import Server
from tests.phone.browser import Browser, enter_desk


def accept_all(page, path: str) -> None:
    page.goto(page.url.split("/job/")[0] + path + "/safe")
    while page.locator("button:has-text('Done and understood')").count():
        title = page.inner_text(".caution h2")
        page.click("button:has-text('Done and understood')")
        page.wait_for_function("old => document.querySelector('.caution h2')?.innerText !== old", arg=title)


def tap(page, point) -> None:
    """Touch the photo where an image point is shown."""
    box = page.locator(".stage img").bounding_box()
    assert box
    scale = box["width"] / 1200
    page.mouse.click(box["x"] + point[0] * scale, box["y"] + point[1] * scale)


def photograph_and_mark(page, root: str, path: str, moment: str, scene: photos.Scene, folder: Path) -> None:
    picture, truth = photos.render(scene)
    file = folder / f"{moment}.jpg"
    file.write_bytes(picture)
    page.goto(f"{root}{path}/joint/turbine-housing")
    form = page.locator(f"form.photo:has(input[value={moment}])")
    form.locator("input[type=file]").set_input_files(file)
    page.wait_for_selector("h1:has-text('Tap the marks')")
    page.locator(".viewport").scroll_into_view_if_needed()
    for point in truth.rim:
        tap(page, point)
    for name, point in (("fixed", truth.fixed), ("moving", truth.moving), ("centre", truth.centre)):
        page.check(f"[name=tool][value={name}]")
        page.locator(".viewport").scroll_into_view_if_needed()
        tap(page, point)
    page.wait_for_selector(".said:has-text('±')")
    page.click("button:has-text('Save marks')")
    page.wait_for_selector("h2:has-text('Before opening')")


@pytest.fixture
def installed(browser: Browser, server: Server) -> Browser:
    browser.install(server.url)
    return browser


def enrol(browser: Browser, server: Server, name: str) -> None:
    browser.page.goto(f"{server.url}/phone")
    browser.page.fill("[name=name]", name)
    browser.page.fill("[name=code]", server.shop.new_code("phone"))
    browser.page.click("button:has-text('Join')")
    browser.page.wait_for_selector("text=Send and fetch now")


def test_the_whole_job_without_a_network_then_the_shop_has_it_all(
    installed: Browser, server: Server, tmp_path: Path
) -> None:
    page, root = installed.page, server.url
    server.stop()
    path = installed.start_job("Truck 7")
    accept_all(page, path)

    page.goto(f"{root}{path}/codes")
    page.fill("[name=typed]", "641/7")
    page.click("button:has-text('Add code')")
    page.wait_for_selector("text=SPN 641 FMI 7")

    page.goto(f"{root}{path}/measure/supply-drop")
    page.fill("[name=battery]", "25.6")
    page.fill("[name=pin]", "25.3")
    page.wait_for_selector("#verdict .verdict.good")  # judged while typing
    page.click("button:has-text('Save reading')")
    page.wait_for_function("() => !document.querySelector('[role=alert]')")

    page.goto(f"{root}{path}/isolate")
    before = page.get_attribute(".standing svg", "aria-label")
    page.locator("#check button[name=outcome]").first.click()
    page.wait_for_function(
        "old => document.querySelector('.standing svg').getAttribute('aria-label') !== old", arg=before
    )

    page.goto(f"{root}{path}/joint/turbine-housing")
    page.fill("[name=degrees]", "2")
    page.fill("[name=source]", "test rule")
    page.click("button:has-text('Save tolerance')")
    scenes = photos.scenes()
    for moment in ("before", "after"):
        scene = scenes[f"electrical/turbine-housing/{moment}"]
        photograph_and_mark(page, root, path, moment, scene, tmp_path)
    readings = {
        entry["moment"]: entry["reading"]
        for entry in (
            json.loads(row["text"])["data"] for row in installed.stored("records") if row["kind"] == "marks"
        )
    }
    for moment in ("before", "after"):
        truth = photos.truth(scenes[f"electrical/turbine-housing/{moment}"])
        reading = readings[moment]
        assert abs(reading["angle"] - truth.angle) < max(3 * reading["u"], 1.5)

    page.goto(f"{root}{path}/fasteners/turbine-housing-bolts")
    for name, value in (("count", "4"), ("torque", "30"), ("source", "test manual")):
        page.fill(f"[name={name}]", value)
    page.check("[name=unit][value='N·m']")
    page.check("[name=kind][value=cross]")
    page.click("button:has-text('Save value')")
    for turn in range(1, 5):
        page.wait_for_selector(f"button:has-text('Tick number {turn}')")
        page.fill("[name=actual]", "30")
        page.click(f"button:has-text('Tick number {turn}')")
    page.wait_for_selector("text=All 4 torqued")

    page.goto(f"{root}{path}/repair")
    page.click("button:has-text('It was open when I came')")  # of the other joints nothing was photographed
    page.check("[value=clean]")
    page.click("button:has-text('Save')")
    page.goto(f"{root}{path}/cause")
    page.fill("#rest-reason", "to be seen")
    page.click("button:has-text('Leave the rest open')")
    page.wait_for_selector("text=Decided")
    page.goto(f"{root}{path}/note")
    page.fill("textarea", "killed right after this")
    page.click("button:has-text('Save note')")
    page.wait_for_selector("ol.timeline")
    written = installed.stored("records")
    installed.kill()  # the battery dies
    installed.start()
    assert installed.stored_at(root, "records") == written

    server.start()
    enrol(installed, server, "First phone")
    expect(installed.page.locator("main")).to_contain_text("Nothing left to send")
    assert len(server.shop.ledger.of_job(path.split("/")[-1])) == len(written)

    desk = installed.stranger()
    enter_desk(desk, server)
    desk.click("text=Truck 7")
    desk.click("text=Summary and close")
    expect(desk.locator("main")).to_contain_text("killed right after this")
    widths = "all => Promise.all(all.map(image => image.decode().then(() => image.naturalWidth)))"
    for image in desk.locator("main img").all():
        image.scroll_into_view_if_needed()
    assert desk.locator("main img").evaluate_all(widths) == [1200, 1200]


def test_two_phones_on_one_job_merge_and_a_double_correction_shows_on_both(
    installed: Browser, server: Server, new_browser
) -> None:
    first, second = installed, new_browser()
    path = first.start_job("Truck 8")
    first.page.goto(f"{server.url}{path}/note")
    first.page.fill("textarea", "seen by both")
    first.page.click("button:has-text('Save note')")
    first.page.wait_for_selector("ol.timeline")
    enrol(first, server, "First phone")
    second.install(server.url)
    enrol(second, server, "Second phone")
    address = f"{server.url}{path}/timeline"
    for phone in (first, second):
        phone.page.goto(address)
        phone.page.wait_for_selector("text=seen by both")
        phone.context.set_offline(True)  # both write before either hears of the other
    for phone, words in ((first, "mine"), (second, "theirs")):
        phone.page.click("li:has-text('seen by both') >> text=Correct this")
        phone.page.fill("textarea", words)
        phone.page.click("button:has-text('Save correction')")
        phone.page.wait_for_selector(f"ol.timeline:has-text('{words}')")
    for phone in (first, second):
        phone.context.set_offline(False)
    for phone in (first, second, first):
        phone.page.goto(f"{server.url}/phone")
        phone.page.click("button:has-text('Send and fetch now')")
        phone.page.wait_for_selector("text=Nothing left to send")
    for phone in (first, second):
        phone.page.goto(server.url + path)
        expect(phone.page.locator("main")).to_contain_text("1 to settle")
        phone.page.goto(f"{server.url}{path}/settle")
        expect(phone.page.locator("main")).to_contain_text("mine")
        expect(phone.page.locator("main")).to_contain_text("theirs")
