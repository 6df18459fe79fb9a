"""A recording read in a real browser without a server: pages open meanwhile, the verdict is saved."""

import json
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.helpers.recordings import bus, drive
from tests.helpers.servers import Server
from tests.phone.browser import Browser, enter_desk

ROWS = 20_000


@pytest.fixture
def page(alone: Browser) -> Page:
    """On the page that reads recordings, in a new job, without a server."""
    path = alone.new_job()
    alone.accept_all(path)
    alone.page.goto(f"{alone.root}{path}/measure")
    alone.page.click("text=Read a recording")
    alone.page.wait_for_selector("h1:has-text('Read a recording')")
    return alone.page


def written(phone: Browser, kind: str) -> list[dict]:
    """In the open page's job."""
    records = [json.loads(row["text"]) for row in phone.stored("records") if row["kind"] == kind]
    return [record["data"] for record in records if f"/job/{record['job']}/" in f"{phone.page.url}/"]


def file(folder: Path, name: str, text: str) -> Path:
    path = folder / name
    path.write_text(text)
    return path


def drawn(page: Page) -> str:
    return page.locator("figure polyline.fine").first.get_attribute("points") or ""


def test_a_table_is_read_looked_at_judged_and_saved_without_a_network(
    alone: Browser, page: Page, tmp_path: Path
) -> None:
    photos = len(alone.stored("photos"))
    page.set_input_files("[data-do=file]", file(tmp_path, "drive.csv", drive(ROWS, stick=60.0)))
    expect(page.locator("[data-part=found]")).to_contain_text(f"{ROWS} rows, 200 s")
    expect(page.locator("[data-part=found]")).to_contain_text("drive.csv")
    whole = drawn(page)

    page.click("[data-move=in]")
    expect(page.locator("[data-at=from]")).to_have_value("50.0")
    assert drawn(page) != whole
    chart = page.locator(".drag").first
    chart.scroll_into_view_if_needed()
    box = chart.bounding_box()
    assert box
    middle = box["y"] + box["height"] / 2
    page.mouse.move(box["x"] + 250, middle)
    page.mouse.down()
    page.mouse.move(box["x"] + 150, middle, steps=4)
    page.mouse.up()
    expect(page.locator("[data-at=from]")).not_to_have_value("50.0")
    assert 70 < float(page.input_value("[data-at=from]")) < 95  # 100 px to the left is later
    page.fill("[data-at=from]", "forty")
    page.press("[data-at=from]", "Tab")
    page.wait_for_selector("[data-part=answer].bad:has-text('no number')")
    page.fill("[data-at=from]", "40")
    page.fill("[data-at=to]", "80")
    page.press("[data-at=to]", "Enter")
    page.wait_for_selector(".verdict.bad:has-text('stands still at 60 %')")
    page.click("text=Save in the job")
    page.wait_for_selector("h1:has-text('Command and position, recorded')")
    expect(page.locator("main")).to_contain_text("drive.csv, 40 to 80 s")

    reading = written(alone, "reading")[-1]
    assert (reading["measure"], reading["verdict"]["outcome"]) == ("command-trace", "sticks")
    assert (reading["log"]["rows"], reading["log"]["start"]) == (ROWS, 40)
    assert [finding["outcome"] for finding in written(alone, "finding")] == ["sticks"]
    assert len(alone.stored("photos")) == photos  # the file itself is not kept
    assert not [line for line in alone.console if "Content Security Policy" in line]


def test_frames_are_read_while_other_pages_open_and_a_code_goes_into_the_job(
    alone: Browser, page: Page, tmp_path: Path
) -> None:
    path, other = page.url, alone.context.new_page()
    page.set_input_files("[data-do=file]", file(tmp_path, "bus.log", bus(10 * ROWS)))
    page.wait_for_selector("[data-part=reading]:not([hidden])")
    other.goto(path.replace("/recording", "/codes"))  # answered by the service worker
    other.wait_for_selector("h1:has-text('Codes')")
    assert page.is_visible("[data-part=reading]"), "the page came only when all was read"
    other.close()
    page.click("text=Handbook")  # on this page too; the reading goes on
    page.wait_for_selector("h1:has-text('Handbook')")
    page.go_back()
    page.wait_for_selector("h1:has-text('Read a recording')")
    expect(page.locator("[data-part=found]")).to_contain_text("rows")

    page.click("summary:has-text('Trouble codes')")
    page.click("[aria-label='Add SPN 641 FMI 7 to the job']")
    page.wait_for_selector("#taken:has-text('SPN 641 FMI 7')")
    assert [code["key"] for code in written(alone, "code")] == ["641/7"]
    page.click("[data-do=judge]")
    page.wait_for_selector("[data-fill=verdict] .verdict.good")


def test_a_column_chosen_by_hand_is_known_for_the_next_file(page: Page, tmp_path: Path) -> None:
    text = drive(2000).replace("VGT actual", "Lever")
    for name in ("first.csv", "second.csv"):
        page.set_input_files("[data-do=file]", file(tmp_path, name, text))
        page.wait_for_selector(f"[data-part=found]:has-text('{name}')")
        if name == "first.csv":
            page.select_option("label:has-text('Lever') ~ select", "vgt-position")
        expect(page.locator("label:has-text('Lever') ~ select")).to_have_value("vgt-position")
        expect(page.locator("figcaption").first).to_contain_text("VGT position")


def test_what_is_no_recording_is_refused_and_the_next_file_is_read(page: Page, tmp_path: Path) -> None:
    page.set_input_files("[data-do=file]", file(tmp_path, "letter.txt", "Dear reader,\nno numbers here.\n"))
    page.wait_for_selector("[data-part=state].bad:has-text('No rows of numbers')")
    page.set_input_files("[data-do=file]", file(tmp_path, "drive.csv", drive(500)))
    page.wait_for_selector("[data-part=found]:has-text('500 rows')")
    assert not page.is_visible("[data-part=state].bad")


def test_the_desk_reads_recordings_too_and_sends_nothing(
    browser: Browser, server: Server, tmp_path: Path
) -> None:
    page = browser.page
    enter_desk(page, server)
    page.wait_for_selector("h1:has-text('Jobs')")
    page.goto(f"{server.url}/desk/worksheets/recording")
    sent: list[str] = []
    page.on("request", lambda request: sent.append(request.method))
    page.set_input_files("[data-do=file]", file(tmp_path, "drive.csv", drive(2000)))
    page.wait_for_selector("[data-part=found]:has-text('2000 rows')")
    page.click("[data-do=judge]")
    page.wait_for_selector("[data-fill=verdict] .verdict")
    assert set(sent) <= {"GET"}


def test_without_workers_the_page_says_so(page: Page) -> None:
    page.add_init_script("delete window.Worker")
    page.reload()
    page.wait_for_selector("[data-part=cannot]:has-text('no workers')")
    assert not page.is_visible("[data-part=choose]")
