"""The registers in a browser: by touch and keyboard, by day and on a dim ward, upright and on paper.

What they say to the rules of a case is in `test_register_rules.py`.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from app.base.time import utc_now
from app.drill.year import fill
from tests.browser.server import Server

pytestmark = pytest.mark.browser
PATH = "/desk/registers"
PAGES = (
    "", "/people", "/people/row/{person}", "/people/import", "/immunity", "/rooms/new", "/practice", "/ready/rooms",
    "/ready/kits", "/ready/stock", "/ready/new-model?who=all", "/protocols",
)  # fmt: skip
ON_PAPER = """() => [
  getComputedStyle(document.body).backgroundColor,
  [...document.querySelectorAll('.no-print, form button, nav')].filter((one) => one.checkVisibility()).length,
]"""


@pytest.fixture(scope="module")
def department(standing: Server) -> Server:
    """A server with a year of invented registers."""
    fill(standing.engine, 7, utc_now())
    return standing


def wider_than_its_screen(page: Page) -> bool:
    return bool(page.evaluate("document.documentElement.scrollWidth > document.documentElement.clientWidth"))


def test_every_page_of_the_registers_reads_well_upright_by_day_on_a_dim_ward_and_on_paper(
    department: Server, screen: Any
) -> None:
    """Each page is loaded once: no sideways scrolling, nothing that axe finds in either theme, paper without controls."""
    one, wrong = screen(department, "desk", viewport={"width": 800, "height": 1280}, reduced_motion="reduce"), []
    page = one.page
    page.goto(f"{department.address}{PATH}/people")
    person = str(page.locator("tbody a").first.get_attribute("href")).rpartition("/")[2]
    for path in PAGES:
        page.emulate_media(color_scheme="light", media="screen")
        page.goto(department.address + PATH + path.format(person=person))
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        if wider_than_its_screen(page):
            wrong.append(f"{path} scrolls sideways")
        found = Axe().run(page)
        page.emulate_media(color_scheme="dark")
        dark = Axe().run(page, options={"runOnly": ["color-contrast"]})
        wrong += [f"{path} {one.generate_report()}" for one in (found, dark) if one.violations_count]
        page.emulate_media(media="print", color_scheme="dark")
        ground, controls = page.evaluate(ON_PAPER)
        if (ground, controls) != ("rgb(255, 255, 255)", 0):
            wrong.append(f"{path} on paper: ground {ground}, {controls} controls")
    assert wrong == []
    assert one.wrong == []


def test_search_narrows_the_list_while_typing_and_enter_opens_a_row(department: Server, screen: Any) -> None:
    desk = screen(department, "desk")
    page = desk.page
    page.goto(f"{department.address}{PATH}/people")
    expect(page.locator("tbody tr")).to_have_count(50)
    page.get_by_label("Find").fill("kestrel")
    expect(page.locator("tbody tr").first).to_contain_text("Kestrel")
    expect(page.locator("tbody tr", has_not_text="Kestrel")).to_have_count(0)
    page.locator("tbody a").first.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Kestrel")
    assert desk.wrong == []


def test_nobody_can_be_chosen_for_the_crew_while_its_list_is_being_renewed(department: Server, screen: Any) -> None:
    """What was chosen meanwhile would be lost with the old list; what was chosen before stays."""
    page, held = screen(department, "desk").page, []
    page.goto(f"{department.address}/desk")
    page.locator("details.can-follow > summary").click()
    operator = page.locator("[name=role-AO]")
    chosen = str(operator.locator("option").nth(1).get_attribute("value"))
    operator.select_option(chosen)
    page.route("**/desk/crew", lambda route: held.append(route))
    with page.expect_request("**/desk/crew"):
        page.locator("label.pick", has_text="airborne").click()
    expect(operator).to_be_disabled()
    held[0].continue_()
    expect(operator).to_be_enabled()
    expect(operator).to_have_value(chosen)


def test_a_file_is_tried_taken_over_and_taken_back_by_its_buttons(
    department: Server, screen: Any, tmp_path: Path
) -> None:
    desk = screen(department, "desk")
    page = desk.page
    file = tmp_path / "staff.csv"
    file.write_text("name,initials,job\nCy Ott,CO,nurse\n", "utf-8")
    page.goto(f"{department.address}{PATH}/people/import")
    page.get_by_label("CSV file").set_input_files(file)
    page.get_by_role("button", name="Try it").click()
    expect(page.get_by_text("1 new, 0 changed, 0 as they are")).to_be_visible()
    page.get_by_role("button", name="Take it over").click()
    found = f"{department.address}{PATH}/people?q=Cy+Ott"
    page.goto(found)
    expect(page.get_by_role("link", name="Cy Ott")).to_be_visible()
    page.goto(f"{department.address}{PATH}/people/import")
    page.get_by_role("button", name="Take the whole file back").click()
    expect(page.get_by_text("taken back")).to_be_visible()
    page.goto(found)
    expect(page.get_by_role("link", name="Cy Ott")).to_have_count(0)
    assert desk.wrong == []
