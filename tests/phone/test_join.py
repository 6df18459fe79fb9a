"""Joining the shop by a link with the code behind its hash, and being shut out and let in again."""

import dataclasses

from playwright.sync_api import expect

from tests.helpers.qr import read_qr
from tests.helpers.servers import Server
from tests.phone.browser import Browser, enter_desk


def test_a_link_fills_in_its_code_and_leaves_the_address(browser: Browser, server: Server) -> None:
    code = server.shop.new_code("phone")
    browser.page.goto(f"{server.url}/phone#code={code}")  # the app keeps itself first, then goes on here
    browser.page.wait_for_selector("[name=code]")
    expect(browser.page.locator("[name=code]")).to_have_value(code)
    assert browser.page.url == f"{server.url}/phone"
    browser.page.fill("[name=name]", "Joined by link")
    browser.page.click("button:has-text('Join')")
    browser.page.wait_for_selector("text=Send and fetch now")

    (phone,) = server.shop.access.phones()
    assert phone["name"] == "Joined by link"
    server.shop.access.revoke(phone["id"], 1)
    browser.page.click("button:has-text('Send and fetch now')")
    browser.page.wait_for_selector("button:has-text('Join')")
    browser.page.goto(f"{server.url}/phone#code={server.shop.new_code('phone', phone['id'])}")
    browser.page.reload()
    browser.page.click("button:has-text('Join')")
    browser.page.wait_for_selector("text=Send and fetch now")


def test_the_link_of_the_first_start_fills_in_its_code(browser: Browser, server: Server) -> None:
    code = server.shop.new_code("setup")
    browser.page.goto(f"{server.url}/desk/setup#code={code}")
    expect(browser.page.locator("[name=code]")).to_have_value(code)
    browser.page.fill("[name=name]", "Anna")
    for name in ("passphrase", "again"):
        browser.page.fill(f"[name={name}]", "correct horse battery staple")
    browser.page.click("button:has-text('Save and enter')")
    browser.page.wait_for_selector("h1:has-text('First steps')")
    kept = browser.page.evaluate("JSON.stringify([localStorage, sessionStorage])")
    assert "correct horse" not in kept


def test_the_desk_draws_the_link_for_a_phones_camera(browser: Browser, server: Server) -> None:
    page = browser.page
    server.shop.settings = dataclasses.replace(server.shop.settings, url="https://layby.example")
    enter_desk(page, server)
    page.goto(f"{server.url}/desk/devices")
    page.click("button:has-text('New code for a phone')")
    page.wait_for_selector(".qr svg")
    code = page.inner_text("#code")
    assert read_qr(page.locator(".qr").screenshot()) == f"https://layby.example/phone#code={code}"
