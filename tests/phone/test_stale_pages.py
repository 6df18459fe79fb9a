"""Pages that stood open while somebody else wrote, in real browsers with a real sync."""

import pytest
from playwright.sync_api import Page, expect

from tests.helpers.servers import Server
from tests.phone.browser import Browser, enter_desk
from tests.phone.test_job import enrol

CHECK = "idle-share"
MEANWHILE = "While this page was open, {} wrote something else"


@pytest.fixture
def phone(new_browser, server: Server) -> Browser:
    made: Browser = new_browser()
    made.install(server.url)
    enrol(made, server, "Road phone")
    return made


def send(phone: Browser, server: Server) -> None:
    phone.page.goto(f"{server.url}/phone")
    phone.page.click("button:has-text('Send and fetch now')")
    phone.page.wait_for_selector("text=All sent")


def start(phone: Browser, server: Server) -> str:
    path = phone.new_job()
    send(phone, server)
    return path


def ask(page: Page, job: str) -> None:
    page.goto(f"{job}/isolate?check={CHECK}")
    page.wait_for_selector("#check button[name=outcome]")


def answer(page: Page, outcome: str) -> None:
    page.click(f"#check button[name=outcome][value={outcome}]")
    page.wait_for_url("**moved=**")


def settle(page: Page, words: str) -> None:
    page.click("text=See both and choose")
    page.wait_for_selector("h1:has-text('Two answers')")
    page.locator("form", has_text=words).locator("button").click()
    page.wait_for_selector("ol.steps")
    expect(page.locator("main")).not_to_contain_text("to settle")


def test_a_desks_open_page_does_not_overturn_what_a_phone_sent(phone: Browser, server: Server) -> None:
    desk = phone.stranger()
    job = start(phone, server)
    enter_desk(desk, server)
    ask(desk, f"{server.url}/desk{job}")
    ask(phone.page, f"{server.url}{job}")
    answer(phone.page, "yes")
    send(phone, server)
    answer(desk, "no")
    expect(desk.locator("main")).to_contain_text(MEANWHILE.format("Road phone"))
    send(phone, server)
    phone.page.goto(f"{server.url}{job}")
    expect(phone.page.locator("main")).to_contain_text("1 to settle")
    settle(phone.page, "Share of idling: Yes")
    send(phone, server)
    desk.goto(f"{server.url}/desk{job}")
    expect(desk.locator("main")).not_to_contain_text("to settle")


def test_of_two_desks_the_second_sees_what_the_first_has_answered(phone: Browser, server: Server) -> None:
    job = start(phone, server)
    desks = [phone.stranger(), phone.stranger()]
    for desk in desks:
        enter_desk(desk, server)
        ask(desk, f"{server.url}/desk{job}")
    answer(desks[0], "yes")
    answer(desks[1], "no")
    told = desks[1].locator("section[role=status]")
    expect(told).to_contain_text("wrote something else")
    expect(told).to_contain_text("Yes")
    desks[0].goto(f"{server.url}/desk{job}")
    expect(desks[0].locator("main")).to_contain_text("1 to settle")
    settle(desks[0], "Share of idling: No")


def test_two_phones_on_the_prices_settle_what_both_have_changed(
    phone: Browser, new_browser, server: Server
) -> None:
    other: Browser = new_browser()
    other.install(server.url)
    enrol(other, server, "Bay phone")
    both = ((phone, "95"), (other, "110"))
    for each, _ in both:
        each.page.goto(f"{server.url}/prices")
        each.page.wait_for_selector("#f-rate")
    for each, rate in both:  # the second page has not seen the first one's sheet
        each.page.fill("#f-rate", rate)
        stamp = each.page.locator("form.stack [name=layby-seen]")
        before = stamp.input_value()
        each.page.click("form.stack button:has-text('Save')")
        expect(stamp).not_to_have_value(before)  # the page after it
        expect(each.page.locator("#f-rate")).to_have_value(rate)
        send(each, server)
    send(phone, server)
    for each, _ in both:
        each.page.goto(f"{server.url}/prices")
        expect(each.page.locator("#f-rate")).to_have_value("")
        expect(each.page.locator("main")).to_contain_text("Labour rate: 95")
        expect(each.page.locator("main")).to_contain_text("Labour rate: 110")
    other.page.locator("section.card", has_text="Labour rate: 95").locator("button").click()
    expect(other.page.locator("#f-rate")).to_have_value("95")
    send(other, server)
    send(phone, server)
    phone.page.goto(f"{server.url}/prices")
    expect(phone.page.locator("#f-rate")).to_have_value("95")
    expect(phone.page.locator("main")).not_to_contain_text("These count")
