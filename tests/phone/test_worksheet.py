"""Worksheets in a real browser without a server: judged while typed, longer tables, drafts with units."""

from playwright.sync_api import expect

from tests.phone.browser import Browser


def test_a_worksheet_works_without_a_network_and_a_left_page_keeps_what_was_typed(
    alone: Browser,
) -> None:
    page, root = alone.page, alone.root
    page.goto(f"{root}/handbook/")
    page.click("text=Worksheets")
    page.click("summary:has-text('Heat')")
    page.click("text=When it can be touched")

    for row, (minutes, temperature) in enumerate(((0, 180), (10, 127), (20, 92), (30, 70))):
        page.fill(f"[name='readings.{row}.time']", str(minutes))
        page.fill(f"[name='readings.{row}.temperature']", str(temperature))
    page.check("[value=dull]")
    page.click("text=One more row")
    expect(page.locator("[name='readings.4.time']")).to_have_value("")
    expect(page.locator("[name='readings.3.temperature']")).to_have_value("70")
    expect(page.locator("[value=dull]")).to_be_checked()
    page.check("[value=hold]")
    page.wait_for_selector("#verdict:has-text('Measure again in')")

    page.goto(f"{root}/worksheets/station-pressure")
    page.fill("[name=altitude]", "5280")
    page.select_option("[name='unit.altitude']", "ft")
    page.wait_for_selector("#verdict:has-text('83.4 kPa')")
    page.goto(f"{root}/worksheets")
    page.goto(f"{root}/worksheets/station-pressure")
    expect(page.locator("[name=altitude]")).to_have_value("5280")
    expect(page.locator("[name='unit.altitude']")).to_have_value("ft")
    page.click("button:has-text('Work it out')")
    page.wait_for_selector(".verdict:has-text('83.4 kPa')")
