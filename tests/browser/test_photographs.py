"""The page of all components looks as it was last looked at and found right."""

from __future__ import annotations

import pytest
from PIL import Image, ImageDraw
from playwright.sync_api import Browser

from tests.browser.photographs import GOLDEN, SCHEMES, WIDTH, apart, shots
from tests.browser.server import Server

pytestmark = pytest.mark.browser
MOST_APART = 20.0
LENGTH_SHARE = 0.02


@pytest.mark.parametrize("scheme", SCHEMES)
def test_every_component_looks_as_it_was_found_right(server: Server, browser: Browser, scheme: str) -> None:
    changed = []
    for title, taken in shots(browser, server, scheme):
        with Image.open(GOLDEN / f"{title}.png") as kept:
            longer = abs(taken.height - kept.height) / kept.height
            if longer > LENGTH_SHARE or apart(taken, kept) > MOST_APART:
                changed.append(f"{title}: length differs by {longer:.0%}, worst square by {apart(taken, kept):.0f}")
    assert changed == [], "look at the page, then `python -m tests.browser.photographs`"


def test_a_changed_button_is_noticed_and_smoothed_letters_are_not() -> None:
    page = Image.new("L", (WIDTH, 200), 245)
    ImageDraw.Draw(page).rectangle((20, 20, 160, 45), fill=80)
    moved = Image.new("L", (WIDTH, 200), 245)
    ImageDraw.Draw(moved).rectangle((20, 44, 160, 69), fill=80)
    smoothed = page.point(lambda value: min(255, value + 6))
    assert apart(page, moved) > MOST_APART
    assert apart(page, smoothed) < MOST_APART
