"""The room's page under a gloved finger: figures, back-dating, people, putting right, a pedal; nothing scrolls."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from app.base.moments import parse_moment
from tests.browser.conftest import INDUCED, OPENED
from tests.browser.looks import SIZES, faults, violations
from tests.browser.server import Server, until

pytestmark = pytest.mark.browser


@pytest.fixture
def server(standing: Server) -> Server:
    """One for the whole file: each test has cases of its own."""
    return standing


OpenScreen = Any
SHEETS = ("over-steps", "over-people", "over-mend")
PEDAL_APART_MS = 350
"""Two presses nearer to each other are one that bounced (static/js/foot.js)."""

FAILED = (
    *INDUCED, ("scope.start", {"n": 1}), ("scope.end", {"n": 1, "result": "no view"}), ("vitals", {"spo2": 78}),
    ("scope.start", {"n": 2}), ("scope.end", {"n": 2, "result": "stopped"}), ("help.call", {"who": "SO"}),
)  # fmt: skip
SETTLED = (*INDUCED, ("tube.passed", {}), ("cuff.up", {"cuff": 26}), ("vent.first", {}), ("co2.yes", {}))
VENTILATED = (*SETTLED, ("vent.set", {"vt": 420, "plat": 28, "peep": 8, "fio2": 0.8}))
"""What is put right has its figures beside it: the most that stands in a line."""


def opened(server: Server, screen: OpenScreen, said: Any, **options: Any) -> tuple[Any, Page, str]:
    case = server.new_case()
    server.say(case, *said)
    one = screen(server, "inside", **options)
    return one, one.open(f"/inside?case={case}"), case


def show(page: Page, sheet: str) -> None:
    page.locator(f'[popovertarget="{sheet}"]:not([popovertargetaction])').click()
    expect(page.locator(f"#{sheet}")).to_be_visible()


@pytest.mark.parametrize(("sheet", "said"), [*zip(SHEETS, (FAILED, FAILED, VENTILATED), strict=True)])
def test_a_sheet_lies_over_the_page_whole_with_targets_that_fit_a_glove(
    server: Server, screen: OpenScreen, sheet: str, said: Any
) -> None:
    for size in SIZES:
        one, page, _ = opened(server, screen, said, viewport=size, has_touch=True)
        show(page, sheet)
        box = page.locator(f"#{sheet}").evaluate("(one) => one.scrollHeight - one.clientHeight")
        assert box <= 0, size
        assert faults(page, within=f"#{sheet}")[0] == [], size
        assert violations(page) == []
        page.locator(f"#{sheet} [popovertargetaction]").click()
        expect(page.locator(f"#{sheet}")).to_be_hidden()
        assert one.wrong == []


def test_figures_go_into_one_entry_and_only_those_that_were_touched(server: Server, screen: OpenScreen) -> None:
    one, page, case = opened(server, screen, INDUCED)
    take = page.locator("#figures-vitals button.take")
    take.click()  # nothing was touched: nothing is recorded
    page.locator('#stepper-spo2 [data-by="-5"]').click()
    page.locator('#stepper-spo2 [data-by="1"]').click()
    page.locator("#stepper-hr .step-value").click()  # as it stands
    take.click()
    until(lambda: server.entries(case, "vitals"), "the figures")
    assert [entry.tap.body for entry in server.entries(case, "vitals")] == [{"spo2": 94, "hr": 90}]
    expect(page.locator("#stepper-hr[data-touched]")).to_have_count(0)
    assert one.wrong == []


def test_what_goes_along_with_the_next_step_is_in_its_tap(server: Server, screen: OpenScreen) -> None:
    _, page, case = opened(server, screen, (*INDUCED, ("scope.start", {"n": 1})))
    page.locator('#with-tube-passed-depth [data-by="1"]').click()
    server.say(case, ("vitals", {"spo2": 92}))  # a push meanwhile
    expect(page.locator("#clock")).to_contain_text("92")
    page.locator("#next .tap-next").click()
    until(lambda: server.entries(case, "tube.passed"), "the tube")
    assert server.entries(case, "tube.passed")[0].tap.body == {"depth": 23}


def test_a_word_that_stands_chosen_can_be_changed_by_one_touch(server: Server, screen: OpenScreen) -> None:
    _, page, case = opened(server, screen, (*INDUCED, ("room.in", {"p": "Ada"})))
    expect(page.locator('#next [data-value="Bea"]')).to_have_class(re.compile("given"))
    page.locator('#next [data-value="Ada"]').click()
    page.locator('#next [data-value="video"]').click()
    page.locator("#next .tap-next").click()
    until(lambda: server.entries(case, "scope.start"), "the attempt")
    assert server.entries(case, "scope.start")[0].tap.body == {"n": 1, "op": "Ada", "device": "video"}


def test_a_tap_can_be_set_back_by_minutes_and_its_device_time_stays(server: Server, screen: OpenScreen) -> None:
    _, page, case = opened(server, screen, OPENED)
    page.locator("#next .tap-next").click()
    expect(page.locator("#undo")).to_be_visible()
    page.locator('.ago[data-min="2"]').click()
    until(lambda: server.entries(case, "tap.fix"), "the correction")
    (fix,) = server.entries(case, "tap.fix")
    (first,) = server.entries(case, "drug.given")
    assert fix.tap.body["ref"] == first.tap.id
    happened = parse_moment(first.tap.device_at) + timedelta(milliseconds=first.tap.offset_ms or 0)
    assert abs(happened - timedelta(minutes=2) - parse_moment(fix.tap.body["at"])) < timedelta(seconds=1)
    expect(page.locator("#clock .time-huge")).to_contain_text(re.compile(r"^\s*2:\d\d"))


def test_several_people_go_in_with_one_tap_and_are_undone_with_one(server: Server, screen: OpenScreen) -> None:
    checked = [
        said
        for p in ("Bea", "Ada")
        for said in (
            ("don.start", {"p": p, "ens": "airborne"}),
            ("check.done", {"phase": "don", "subject": p, "checker": "Cy", "result": "pass"}),
        )
    ]
    _, page, case = opened(server, screen, (*OPENED[:2], ("comms.test", {"result": "ok"}), *checked))
    page.locator("#next .tap-next").click()
    until(lambda: len(server.entries(case, "room.in")) == 2, "two entries")
    assert {entry.tap.body["p"] for entry in server.entries(case, "room.in")} == {"Ada", "Bea"}
    page.locator(".undo-button").click()
    until(lambda: len(server.entries(case, "tap.void")) == 2, "two taken back")


def test_a_breach_is_one_tap_behind_the_people_and_asks_nothing(server: Server, screen: OpenScreen) -> None:
    _, page, case = opened(server, screen, OPENED)
    show(page, "over-people")
    page.locator('#people [data-kind="breach"]').click()
    until(lambda: server.entries(case, "breach"), "the breach")
    assert server.entries(case, "breach")[0].tap.body == {"p": "Bea"}
    expect(page.locator("#over-people")).to_be_hidden()


def test_a_late_tap_is_put_right_without_typing(server: Server, screen: OpenScreen) -> None:
    _, page, case = opened(server, screen, INDUCED)
    show(page, "over-mend")
    page.locator("#mend article").first.get_by_text("1 min earlier").click()
    until(lambda: server.entries(case, "tap.fix"), "the correction")
    expect(page.locator("#mend .mark").first).to_be_visible()
    expect(page.locator("#over-mend")).to_be_visible()  # more may have to be put right
    page.locator("#mend article").first.get_by_text("Did not happen").click()
    until(lambda: server.entries(case, "tap.void"), "the void")


@pytest.mark.parametrize("key", ["Enter", "Space", "PageDown"])
def test_a_pedal_pressed_twice_taps_the_next_step_and_once_does_nothing(
    server: Server, screen: OpenScreen, key: str
) -> None:
    one, page, case = opened(server, screen, OPENED)
    before = len(server.entries(case))
    page.keyboard.press(key)
    expect(page.locator("#armed")).to_contain_text("Induction given")
    page.keyboard.press(key)  # bounced
    expect(page.locator("#armed")).to_be_hidden()  # the 3 seconds are over
    assert len(server.entries(case)) == before

    def pressed() -> bool:
        page.keyboard.press(key)
        page.wait_for_timeout(PEDAL_APART_MS)
        return bool(server.entries(case, "drug.given"))

    until(pressed, "the next step")
    expect(page.locator("#armed")).to_be_hidden()
    assert one.wrong == []


def test_a_pedal_does_not_press_again_what_a_finger_has_touched(server: Server, screen: OpenScreen) -> None:
    _, page, case = opened(server, screen, OPENED)
    page.locator('#asks [data-kind="req.new"]').first.click()
    until(lambda: server.entries(case, "req.new"), "the request")
    page.keyboard.press("Enter")
    expect(page.locator("#armed")).to_be_visible()
    assert len(server.entries(case, "req.new")) == 1


def test_what_has_no_button_is_asked_for_by_voice_and_the_door_is_told_to_listen(
    server: Server, screen: OpenScreen
) -> None:
    _, page, case = opened(server, screen, OPENED)
    page.get_by_text("Other, said by voice").click()
    until(lambda: server.entries(case, "req.new"), "the request")
    door = screen(server, "outside").open("/outside")
    expect(door.locator("#requests")).to_contain_text("Other, said by voice")


def test_a_plan_is_declared_with_one_tap_and_both_sides_read_the_same_words(server: Server, screen: OpenScreen) -> None:
    _, page, _case = opened(server, screen, FAILED)
    door = screen(server, "outside").open("/outside")
    page.locator("#plans").get_by_text("Plan B").click()
    expect(page.locator("#rescue")).to_contain_text("Plan B: Supraglottic airway")
    expect(door.locator("#rescue")).to_contain_text("Plan B: Supraglottic airway")
    expect(page.locator("#next .tap-next")).to_contain_text("Supraglottic airway in")


def test_a_wire_that_is_missing_is_said_with_the_count(server: Server, screen: OpenScreen) -> None:
    _, page, case = opened(server, screen, (*SETTLED, ("agp.end", {})))
    page.locator('#next [data-name="lost"][data-value="wire"]').click()
    page.locator('#with-count-done-found [data-by="-1"]').click()
    page.locator("#next .tap-next").click()
    until(lambda: server.entries(case, "count.done"), "the count")
    assert server.entries(case, "count.done")[0].tap.body == {"lost": ["wire"], "found": 4}
