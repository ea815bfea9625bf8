"""The tablet as a screen: it makes itself heard for a critical notice and for nothing else, and knows what works on it."""

from __future__ import annotations

import re
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import OPENED
from tests.browser.server import Server

pytestmark = pytest.mark.browser
OpenScreen = Any
COUNTED = """
  window.cues = { tones: 0, flashes: 0 };
  const start = OscillatorNode.prototype.start;
  OscillatorNode.prototype.start = function (...at) { window.cues.tones += 1; return start.apply(this, at); };
  new MutationObserver(() => { if (document.body?.classList.contains('flash')) window.cues.flashes += 1; })
    .observe(document, { attributes: true, subtree: true, attributeFilter: ['class'] });
"""
QUIET, CRITICAL = OPENED[:2], OPENED[2:]
"""A case that is planned; and somebody goes in whom nobody has checked, which is critical."""


def cues(page: Page) -> dict[str, int]:
    return dict(page.evaluate("window.cues"))


def say_and_see(server: Server, page: Page, case: str, *said: tuple[str, dict[str, Any]]) -> None:
    """Says something and waits until the page shows what came of it."""
    seen = str(page.locator("body").get_attribute("data-seen"))
    server.say(case, *said)
    expect(page.locator("body")).not_to_have_attribute("data-seen", seen)


def switch_sound(page: Page) -> None:
    page.locator('[popovertarget="over-screen"]:not(#over-screen *)').first.click()
    page.locator("#sound-switch").click()
    page.locator('#over-screen [popovertargetaction="hide"]').click()


def test_a_critical_notice_flashes_and_with_the_sound_on_is_heard_and_a_quiet_case_is_silent(
    server: Server, screen: OpenScreen
) -> None:
    case = server.new_case()
    server.say(case, *QUIET)
    inside = screen(server, "inside")
    inside.context.add_init_script(COUNTED)
    page = inside.open(f"/inside?case={case}")
    button = page.locator(".screen-way")
    expect(button).to_contain_text("sound off")
    switch_sound(page)
    expect(button).to_contain_text("sound on")
    before = cues(page)
    assert before["tones"] == 3, "it lets itself be heard once when it is switched on"
    say_and_see(server, page, case, ("vitals", {"spo2": 97}))
    assert cues(page) == before, "a quiet case makes no sound"
    server.say(case, *CRITICAL)
    expect(page.locator(".notice.critical").first).to_be_visible()
    expect(page.locator("body")).to_have_class(re.compile("flash"))
    assert cues(page)["tones"] == 6
    expect(page.locator("body")).not_to_have_class(re.compile("flash"))
    say_and_see(server, page, case, ("vitals", {"spo2": 96}))
    assert cues(page)["tones"] == 6, "the same notice is no new one within a minute"
    switch_sound(page)
    expect(button).to_contain_text("sound off")


def test_a_critical_notice_is_repeated_each_minute_until_it_is_seen(server: Server, screen: OpenScreen) -> None:
    case = server.new_case()
    server.say(case, *QUIET)
    inside = screen(server, "inside")
    inside.context.add_init_script(COUNTED)
    inside.page.clock.install()
    page = inside.open(f"/inside?case={case}")
    server.say(case, *CRITICAL)
    expect(page.locator(".notice.critical").first).to_be_visible()
    page.clock.run_for(2000)
    first = cues(page)["flashes"]
    assert first >= 1
    page.clock.run_for(30_000)
    assert cues(page)["flashes"] == first
    page.clock.run_for(31_000)
    assert cues(page)["flashes"] > first


def test_the_page_of_what_works_says_it_in_words_and_what_to_do(server: Server, case: str, screen: OpenScreen) -> None:
    inside = screen(server, "inside")
    page = inside.open("/diagnostics")
    for check in page.locator("[data-check]").all():
        expect(check).to_have_attribute("data-holds", re.compile("true|false"))
        expect(check.locator("p:visible")).to_have_count(1)
    for works in ("link", "secure", "store", "clock", "waiting", "refused", "size"):
        expect(page.locator(f'[data-check="{works}"]')).to_have_attribute("data-holds", "true")
    server.kill()
    page.get_by_role("button", name="Look again").click()
    expect(page.locator('[data-check="link"]')).to_have_attribute("data-holds", "false")
    expect(page.locator('[data-check="link"] .do')).to_contain_text("Use voice")


def test_what_waits_on_a_tablet_is_listed_with_its_kind(server: Server, case: str, screen: OpenScreen) -> None:
    inside = screen(server, "inside")
    page = inside.open(f"/inside?case={case}")
    inside.context.route("**/api/entries", lambda route: route.abort())
    page.locator('#asks button.tap[data-kind="req.new"]:visible').first.click()
    expect(page.locator(".link-count")).to_have_text("1")
    page.goto(server.address + "/diagnostics")
    expect(page.locator('[data-check="waiting"]')).to_have_attribute("data-holds", "false")
    expect(page.locator("#taps li")).to_contain_text("req.new")
