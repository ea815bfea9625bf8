"""The worksheet in a real browser: figures follow what is typed, what was typed stays, paper shows it all."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.browser.server import Server

pytestmark = pytest.mark.browser


@pytest.fixture
def server(standing: Server) -> Server:
    """One for the whole file: each test has cases of its own."""
    return standing


OpenScreen = Any
SIZES = ({"width": 1280, "height": 800}, {"width": 800, "height": 1280})
ADULT = {"age_y": "50", "height_cm": "175", "weight_kg": "92,5", "preox_eto2": "0.88", "ett_id_mm": "8"}


def fill(page: Page, **figures: str) -> None:
    for name, value in figures.items():
        page.locator(f"[name={name}]").fill(value)


def value(page: Page, key: str) -> Any:
    return page.locator(f"#fig-{key} .fig-value")


def current(page: Page) -> None:
    """Waits until the figures belong to what is typed."""
    expect(page.locator("#worksheet.lagging")).to_have_count(0)


@pytest.fixture
def filled(server: Server, screen: OpenScreen) -> Any:
    """A screen with an adult's figures typed in and worked out."""
    one = screen(server, "desk")
    one.open("/worksheet")
    one.page.locator("[name=sex]").select_option("M")
    fill(one.page, **ADULT)
    expect(value(one.page, "apnoea")).to_contain_text("min:s")
    current(one.page)
    return one


def test_figures_follow_what_is_typed_and_what_was_typed_stays(filled: Any) -> None:
    page = filled.page
    expect(value(page, "pbw")).to_contain_text("70.5 kg")
    page.locator("[name=height_cm]").fill("")
    page.locator("[name=height_cm]").press_sequentially("152.4")
    expect(value(page, "pbw")).to_contain_text("50 kg")
    current(page)
    for name, typed in {**ADULT, "height_cm": "152.4"}.items():
        assert page.locator(f"[name={name}]").input_value() == typed
    expect(page.locator("[name=height_cm]")).to_be_focused()
    assert filled.wrong == []


def test_taking_a_figure_away_takes_its_numbers_away(filled: Any) -> None:
    page = filled.page
    page.locator("[name=height_cm]").fill("")
    expect(page.locator("#fig-pbw .fig-lacks")).to_contain_text("Height")
    expect(value(page, "pbw")).to_have_count(0)
    expect(value(page, "apnoea")).to_have_count(0)
    expect(page.locator(".curve")).to_have_count(0)


def test_what_was_unfolded_stays_unfolded_when_figures_change(filled: Any) -> None:
    page = filled.page
    page.locator("#how-pbw summary").click()
    expect(page.locator("#how-pbw dl")).to_contain_text("ARDS Network")
    page.locator("[name=height_cm]").fill("180")
    expect(value(page, "pbw")).to_contain_text("75.1")
    expect(page.locator("#how-pbw dl")).to_be_visible()


def test_figures_of_the_patient_never_stand_in_an_address(filled: Any) -> None:
    page, asked = filled.page, []
    page.on("request", lambda request: asked.append((request.method, request.url)))
    page.locator("[name=weight_kg]").fill("81.3")
    current(page)
    expect(page.locator("#fig-mask dl").first).to_contain_text("81.3")
    assert ("POST", f"{filled.address}/worksheet/figures") in asked
    assert not any("81" in url.removeprefix(filled.address) for _, url in asked)
    assert page.url.endswith("/worksheet")


def test_without_the_server_old_figures_are_not_passed_off_as_current(filled: Any) -> None:
    page = filled.page
    filled.context.set_offline(True)
    page.locator("[name=height_cm]").fill("160")
    expect(page.locator("#stale")).to_be_visible()
    expect(page.locator("#worksheet")).to_have_class("worksheet lagging")
    filled.context.set_offline(False)
    page.locator("[name=height_cm]").fill("152.4")
    expect(value(page, "pbw")).to_contain_text("50 kg")
    expect(page.locator("#stale")).to_be_hidden()
    current(page)


def test_groups_of_drugs_can_be_left_out(filled: Any) -> None:
    page = filled.page
    expect(page.locator(".drug h3", has_text="propofol")).to_be_visible()
    page.locator("[name=drugs][value=induction]").uncheck()
    expect(page.locator(".drug h3", has_text="propofol")).to_have_count(0)
    expect(page.locator(".drug h3", has_text="rocuronium")).to_be_visible()


def test_on_paper_every_working_is_open_and_nothing_to_tap_is_left(filled: Any, tmp_path: Path) -> None:
    page = filled.page
    page.emulate_media(media="print")
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    rows = page.locator(".fig:has(.fig-value), .drug")
    assert rows.count() > 20
    for row in rows.all():
        expect(row.get_by_text("Source", exact=True)).to_be_visible()
        expect(row.get_by_text("Caution", exact=True)).to_be_visible()
    assert page.locator("button:visible, summary:visible").count() == 0
    expect(page.locator(".ws-checked")).to_be_visible()
    page.pdf(path=tmp_path / "worksheet.pdf", format="A4")
    sheets = len(re.findall(rb"/Type\s*/Page\b", (tmp_path / "worksheet.pdf").read_bytes()))
    assert 1 <= sheets <= 7
    page.evaluate("dispatchEvent(new Event('afterprint'))")
    page.emulate_media(media="screen")
    assert page.locator("details[open]").count() == 0


@pytest.mark.parametrize("size", SIZES, ids=("wide", "tall"))
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_worksheet_is_readable_to_everyone_and_fits_its_screen(
    filled: Any, size: dict[str, int], scheme: Any
) -> None:
    page = filled.page
    page.set_viewport_size(size)
    page.emulate_media(color_scheme=scheme)
    page.locator("#how-pbw summary").click()
    found = Axe().run(page)
    serious = [one for one in found.response["violations"] if one["impact"] in ("serious", "critical")]
    assert serious == [], found.generate_report()
    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]


def test_the_ventilator_panel_of_a_case_changes_as_settings_are_recorded(server: Server, screen: OpenScreen) -> None:
    case = server.new_case()
    server.say(case, ("case.open", {"ref": "C1", "procedure": "intubation", "age": "adult", "pbw": 66}))
    one = screen(server, "desk")
    page = one.open(f"/case/{case}")
    expect(page.locator("#ventilator")).to_contain_text("No ventilator settings have been recorded.")
    server.say(case, ("vent.set", {"vt": 420, "rate": 18, "plat": 24, "peep": 8, "fio2": 0.8}))
    expect(value(page, "driving")).to_contain_text("16 cmH2O")
    page.locator("#ventilator a", has_text="Worksheet").click()
    expect(page.locator("[name=current_peep]")).to_have_value("8")
    expect(value(page, "tidal")).to_contain_text("528 mL")
    assert one.wrong == []
