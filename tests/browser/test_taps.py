"""A tap inside the room is seen outside and on the board; requests pass through the door; mistakes are undone."""

from __future__ import annotations

import re
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.browser.server import CHARGE, Server, until

pytestmark = pytest.mark.browser
OpenScreen = Any
DOUBLE_CONTACT_MS = 800
"""A second touch of one button within 0.7 s is no tap of its own (static/js/tap.js): whoever means one waits longer."""


def test_a_tap_inside_appears_outside_and_on_the_board(server: Server, case: str, screen: OpenScreen) -> None:
    server.say(case, ("drug.given", {"class": "induction"}), ("drug.given", {"class": "relaxant"}))
    inside, door = screen(server, "inside"), screen(server, "outside", "board")
    inside.open(f"/inside?case={case}")
    outside = door.open("/outside")
    board = door.context.new_page()
    board.goto(server.address + "/board")
    expect(board.locator("#link")).to_have_attribute("data-state", "live")
    for page in (outside.locator("#rooms"), board.locator("#board")):
        expect(page).not_to_contain_text(re.compile(r"attempt 1", re.IGNORECASE))
    inside.button("scope.start", "#next").click()
    for page in (outside.locator("#rooms"), board.locator("#board")):
        expect(page).to_contain_text(re.compile(r"attempt 1", re.IGNORECASE))
    (stored,) = server.entries(case, "scope.start")
    assert stored.tap.body == {"n": 1, "op": "Bea"}  # the operator is the case's own: it stands chosen, in sight
    assert stored.tap.station == server.cookies["inside"].partition(".")[0]
    assert stored.tap.offset_ms is not None
    assert (stored.tap.error_ms or 0) > 0
    assert inside.wrong == door.wrong == []


def test_a_request_passes_through_the_door_from_asked_to_received(
    server: Server, case: str, screen: OpenScreen
) -> None:
    inside, door = screen(server, "inside"), screen(server, "outside")
    inside.open(f"/inside?case={case}")
    door.open("/outside")
    ask = inside.button("req.new", "#asks")
    item = str(ask.locator(".tap-label").inner_text())
    ask.click()
    expect(door.page.locator("#requests")).to_contain_text(item, ignore_case=True)
    expect(inside.page.locator("#asks")).to_contain_text("asked")
    door.button("req.ack", "#requests").click()
    expect(inside.page.locator("#asks")).to_contain_text(re.compile("in hand|acknowledged"))
    door.page.wait_for_timeout(DOUBLE_CONTACT_MS)  # the same button has become the next step
    door.button("req.in", "#requests").click()
    expect(inside.page.locator("#asks")).to_contain_text("handed in")
    inside.button("req.got", "#asks").click()
    expect(door.page.locator("#requests article")).to_have_count(0)
    expect(inside.button("req.got", "#asks")).to_have_count(0)
    taps = [entry.tap for entry in server.entries(case) if entry.tap.kind.startswith("req.")]
    assert [tap.kind for tap in taps] == ["req.new", "req.ack", "req.in", "req.got"]
    assert len({tap.body["q"] for tap in taps}) == 1


def test_a_figure_is_recorded_by_its_stepper_without_a_keyboard(server: Server, case: str, screen: OpenScreen) -> None:
    inside = screen(server, "inside")
    page = inside.open(f"/inside?case={case}")
    stepper = page.locator("#stepper-spo2")
    for _ in range(3):
        stepper.locator('[data-by="-1"]').click()
    expect(stepper.locator("output")).to_have_text("95")
    server.say(case, ("vitals", {"hr": 88}))  # a push meanwhile
    expect(page.locator("#stepper-hr output")).to_have_text("88")
    expect(stepper.locator("output")).to_have_text("95")
    server.say(case, ("vitals", {"hr": 86}))  # and another: what is shown is what will be recorded
    expect(page.locator("#stepper-hr output")).to_have_text("86")
    expect(stepper.locator("output")).to_have_text("95")
    page.locator("#figures-vitals button.take").click()
    expect(page.locator("#clock")).to_contain_text("95")
    assert [entry.tap.body for entry in server.entries(case, "vitals")] == [{"hr": 88}, {"hr": 86}, {"spo2": 95}]


def test_what_a_reader_has_unfolded_stays_unfolded_when_panels_change(
    server: Server, case: str, screen: OpenScreen
) -> None:
    page = screen(server, "inside").open(f"/inside?case={case}")
    server.say(case, ("drug.given", {"class": "induction"}), ("vitals", {"spo2": 70}))
    fold = page.locator("#room_notices details").first
    fold.locator("summary").click()
    for figure in ("88", "86", "84"):
        server.say(case, ("vitals", {"hr": float(figure)}), ("hold", {}))
        expect(page.locator("#stepper-hr output")).to_have_text(figure)
    expect(fold).to_have_attribute("open", "")


def test_a_tap_can_be_undone_at_once_and_the_first_stays_in_the_journal(
    server: Server, case: str, screen: OpenScreen
) -> None:
    inside = screen(server, "inside")
    page = inside.open(f"/inside?case={case}")
    step = inside.button("drug.given", "#next")
    label = step.locator(".tap-label").inner_text()
    step.click()
    expect(page.locator("#undo")).to_be_visible()
    expect(page.locator("#undo .undo-what")).to_have_text(label)
    page.locator(".undo-button").click()
    expect(page.locator("#undo")).to_be_hidden()
    until(lambda: server.entries(case, "tap.void"), "the undoing", lambda: server.log)
    (given,), (void,) = server.entries(case, "drug.given"), server.entries(case, "tap.void")
    assert void.tap.body["ref"] == given.tap.id
    expect(inside.button("drug.given", "#next").locator(".tap-label")).to_have_text(label)


def test_a_double_contact_of_a_wet_glove_is_one_entry(server: Server, case: str, screen: OpenScreen) -> None:
    inside = screen(server, "inside", has_touch=True)
    page = inside.open(f"/inside?case={case}")
    inside.button("drug.given", "#next").dblclick()
    inside.button("req.new", "#asks").dblclick()
    until(lambda: server.entries(case, "req.new"), "the request", lambda: server.log)
    expect(page.locator(".link-waiting")).to_be_hidden()
    assert len(server.entries(case, "drug.given")) == 1
    assert len(server.entries(case, "req.new")) == 1


def test_a_case_is_opened_at_the_desk_and_appears_on_the_board(server: Server, screen: OpenScreen) -> None:
    board, desk = screen(server, "board"), screen(server, "desk")
    board.open("/board")
    page = desk.open("/desk")
    page.locator("#new-case [name=ref]").fill("HX 7")
    for choice in ("intubation", "urgent", "airborne", "adult"):
        page.locator("#new-case .pick", has_text=choice).click()
    page.locator("#new-case button[type=submit]").click()
    page.wait_for_url(re.compile("/case/"))
    case = page.url.rpartition("/")[2]
    expect(board.page.locator("#board")).to_contain_text("HX 7")
    until(lambda: server.entries(case, "case.open"), "the opening", lambda: server.log)
    (opened,) = server.entries(case, "case.open")
    assert opened.tap.body["procedure"]
    assert opened.tap.person == CHARGE
    assert opened.tap.station == server.cookies["desk"].partition(".")[0]
    assert desk.wrong == board.wrong == []


def test_what_was_said_in_words_is_never_run_as_code(server: Server, case: str, screen: OpenScreen) -> None:
    server.say(case, ("req.new", {"q": "q1", "item": "<img src=x onerror=alert(1)> 0.9 % <b>bold</b>"}))
    door = screen(server, "outside")
    page = door.open("/outside")
    expect(page.locator("#requests")).to_contain_text("<img src=x onerror=alert(1)> 0.9 % <b>bold</b>")
    assert page.locator("#requests img").count() == 0
    assert door.wrong == []
