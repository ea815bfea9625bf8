"""Every page: nothing from outside, no error, no refusal of its policy; readable to everyone; touched with gloves."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from tests.browser.conftest import INDUCED
from tests.browser.server import Server, until

pytestmark = pytest.mark.browser
OpenScreen = Any
PAGES = (
    "/",
    "/inside?case={case}",
    "/outside",
    "/board",
    "/wall/{case}",
    "/desk",
    "/case/{case}",
    "/style",
    "/sign-in",
    "/sign-in/pin",
    "/desk/people-rights",
    "/desk/stations",
    "/pair",
    "/trust",
    "/diagnostics",
    "/worksheet",
    "/worksheet?case={case}",
    "/inside",
    "/nowhere",
)
KINDS = ("inside", "outside", "board", "desk")
SIZES = ({"width": 1280, "height": 800}, {"width": 800, "height": 1280})
BUSY = (
    *INDUCED, ("req.new", {"q": "q1", "item": "bougie", "urg": "now"}), ("vitals", {"spo2": 86, "hr": 120}),
    ("scope.start", {"n": 1}),
)  # fmt: skip


@pytest.fixture
def busy(standing: Server) -> Iterator[str]:
    """A case in its airway phase with a request, a low figure and an attempt; closed afterwards."""
    case = standing.new_case()
    standing.say(case, *BUSY)
    yield case
    standing.say(case, ("case.close", {}))


@pytest.mark.parametrize("page", PAGES)
def test_a_page_asks_for_nothing_from_outside_and_says_no_error(
    standing: Server, busy: str, screen: OpenScreen, page: str
) -> None:
    one = screen(standing, *KINDS)
    one.page.goto(standing.address + page.format(case=busy), wait_until="load")
    if one.page.locator("#link").count():
        expect(one.page.locator("#link")).to_have_attribute("data-state", "live")
    assert one.wrong == ([] if page != "/nowhere" else [wrong for wrong in one.wrong if "404" in wrong])


@pytest.mark.parametrize(
    "page", ["/", "/demo/open/board", "/demo/open/outside", "/demo/open/inside", "/demo/open/desk"]
)
def test_a_page_of_the_demo_is_marked_and_asks_for_nothing_from_outside(
    demo: Server, screen: OpenScreen, page: str
) -> None:
    one = screen(demo)
    opened = one.open(page)
    expect(opened.get_by_text("DRILL", exact=True).first).to_be_visible()
    if page.startswith("/demo"):
        expect(opened.locator("#main button, #main a").first).to_be_visible()
    assert one.wrong == []


def test_the_demo_shows_a_tap_of_the_room_left_to_the_user_on_the_board(demo: Server, screen: OpenScreen) -> None:
    inside, board = screen(demo), screen(demo)
    inside.open("/demo/open/inside")
    board.open("/demo/open/board")
    expect(board.page.locator("#board")).to_contain_text("Room 4")
    expect(board.page.locator("#board")).not_to_contain_text("a thing for room 4")
    case = inside.page.locator("body").get_attribute("data-cases")
    before = len(demo.entries(str(case)))
    inside.button("drug.given", "#next").click()
    expect(inside.page.locator(".link-waiting")).to_be_hidden()
    expect(inside.page.locator("#clock")).to_contain_text("Since induction")
    expect(board.page.locator("#board")).to_contain_text("Since induction")
    assert len(demo.entries(str(case))) == before + 1


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("page", PAGES)
def test_axe_finds_no_violation(standing: Server, busy: str, screen: OpenScreen, page: str, scheme: str) -> None:
    one = screen(standing, *KINDS, color_scheme=scheme)
    one.page.goto(standing.address + page.format(case=busy), wait_until="load")
    one.page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    found = Axe().run(one.page)
    assert found.violations_count == 0, found.generate_report()


MEASURE = """() => {
  const seen = [...document.querySelectorAll('button, a[href], input, select, textarea, summary')].filter((el) => {
    const box = el.getBoundingClientRect();
    return el.checkVisibility({ visibilityProperty: true }) && box.width > 1 && box.bottom > 0 && !el.matches('.skip');
  });
  const name = (el) => `${el.tagName.toLowerCase()}.${el.className} ${el.textContent.trim().slice(0, 30)}`;
  const small = [], close = [];
  const boxes = seen.map((el) => [el, el.getBoundingClientRect()]);
  for (const [el, box] of boxes) {
    if (box.width < 56.5 || box.height < 56.5) small.push(`${name(el)} ${Math.round(box.width)}x${Math.round(box.height)}`);
  }
  boxes.forEach(([a, one], i) => boxes.slice(i + 1).forEach(([b, two]) => {
    if (a.contains(b) || b.contains(a) || a.closest('#undo') || b.closest('#undo')) return;
    const apart = Math.max(one.left - two.right, two.left - one.right, one.top - two.bottom, two.top - one.bottom);
    if (apart < 7.5) close.push(`${name(a)} / ${name(b)} ${apart.toFixed(1)}`);
  }));
  return { count: seen.length, small, close };
}"""


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size['width']}x{size['height']}")
@pytest.mark.parametrize("unfolded", [False, True], ids=["folded", "unfolded"])
def test_targets_inside_are_fifteen_millimetres_and_eight_pixels_apart(
    standing: Server, busy: str, screen: OpenScreen, size: dict[str, int], unfolded: bool
) -> None:
    one = screen(standing, "inside", viewport=size, has_touch=True)
    page = one.open(f"/inside?case={busy}")
    if unfolded:
        page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    found = page.evaluate(MEASURE)
    assert found["count"] > 15
    assert found["small"] == []
    assert found["close"] == []


def test_inside_needs_no_scrolling_in_the_airway_phase(standing: Server, busy: str, screen: OpenScreen) -> None:
    page = screen(standing, "inside").open(f"/inside?case={busy}")
    assert page.evaluate("document.documentElement.scrollWidth") <= 1280
    assert page.evaluate("document.documentElement.scrollHeight") <= 800


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size['width']}x{size['height']}")
def test_no_page_scrolls_sideways(
    standing: Server, busy: str, screen: OpenScreen, page: str, size: dict[str, int]
) -> None:
    one = screen(standing, *KINDS, viewport=size)
    one.page.goto(standing.address + page.format(case=busy), wait_until="load")
    assert one.page.evaluate("document.documentElement.scrollWidth") <= size["width"]


def test_the_next_step_is_tapped_by_keyboard_alone(standing: Server, busy: str, screen: OpenScreen) -> None:
    one = screen(standing, "inside")
    page = one.open(f"/inside?case={busy}")
    for _ in range(40):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.closest('#next') !== null"):
            break
    kind = page.evaluate("document.activeElement.dataset.kind")
    before = len(standing.entries(busy, kind))
    page.keyboard.press("Enter")
    expect(page.locator("#undo")).to_be_visible()
    until(lambda: len(standing.entries(busy, kind)) == before + 1, "one entry more")
    expect(page.locator(".link-waiting")).to_be_hidden()
