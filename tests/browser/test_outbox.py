"""Taps that survive: a killed server, a reload, a lost answer; each stored once, in order, or refused in words."""

from __future__ import annotations

import os
import shutil
import signal
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Error, Route, expect

from tests.browser.conftest import NOTHING_OUTSIDE, Screen
from tests.browser.server import Server, until

pytestmark = pytest.mark.browser
OpenScreen = Any
THREE = ["vitals", "req.new", "drug.given"]


def record_pulse(inside: Any) -> None:
    """One more than where the stepper stands, which is no reading."""
    inside.page.locator('#figures-vitals [data-name="hr"] .step[data-by="1"]').click()
    inside.page.locator("#figures-vitals button.take").click()


def tap_three(inside: Any) -> None:
    """Three taps of three kinds; each counts as waiting at once."""
    count = inside.page.locator(".link-count")
    record_pulse(inside)
    expect(count).to_have_text("1")
    inside.button("req.new", "#asks .choices").click()
    expect(count).to_have_text("2")
    inside.button("drug.given", "#next").click()
    expect(count).to_have_text("3")


def in_order(server: Server, case: str) -> list[Any]:
    """The kinds that the inside station has sent, in order of arrival, its counters looked at."""
    sent = [
        entry.tap for entry in server.entries(case) if entry.tap.station == server.cookies["inside"].partition(".")[0]
    ]
    counters = [tap.counter for tap in sent]
    assert counters == list(range(1, len(sent) + 1)), "one running number a station, without gap or repeat"
    return [tap.kind for tap in sent]


def test_taps_wait_while_the_server_is_dead_and_are_stored_once_in_order_when_it_is_back(
    server: Server, case: str, screen: OpenScreen
) -> None:
    inside, door = screen(server, "inside"), screen(server, "outside")
    page, outside = inside.open(f"/inside?case={case}"), door.open("/outside")
    server.kill()
    for one in (page, outside):
        expect(one.locator("#link")).not_to_have_attribute("data-state", "live")
    tap_three(inside)
    expect(page.locator(".link-waiting")).to_be_visible()
    expect(page.locator("#link")).to_have_attribute("data-state", "lost")
    assert in_order(server, case) == []
    server.start()
    expect(page.locator(".link-waiting")).to_be_hidden()
    assert in_order(server, case) == THREE
    for one in (page, outside):
        expect(one.locator("#link")).to_have_attribute("data-state", "live")
    expect(page.locator('#figures-vitals [data-name="hr"] output')).to_have_text("91")


def test_a_page_that_was_cut_off_shows_what_it_missed_without_a_reload(
    server: Server, case: str, screen: OpenScreen
) -> None:
    door = screen(server, "outside")
    page = door.open("/outside")
    server.kill()
    expect(page.locator("#link")).not_to_have_attribute("data-state", "live")
    page.evaluate("window.notReloaded = true")
    server.start()
    server.say(case, ("req.new", {"q": "q1", "item": "missed meanwhile"}))
    expect(page.locator("#requests")).to_contain_text("missed meanwhile")
    assert page.evaluate("window.notReloaded") is True
    fresh = screen(server, "outside").open("/outside")
    for panel in ("#requests", "#rooms", "#ready", "#likely"):
        shown = "(el) => el.outerHTML.replace(/>[0-9:]+<\\/time>/g, '></time>')"
        assert page.locator(panel).evaluate(shown) == fresh.locator(panel).evaluate(shown)


def test_taps_that_wait_survive_a_reload_and_two_tabs_send_each_of_them_once(
    server: Server, case: str, screen: OpenScreen
) -> None:
    inside = screen(server, "inside")
    page = inside.open(f"/inside?case={case}")
    sent: list[str] = []
    cut_off = True

    def note(route: Route) -> None:
        if cut_off:
            route.abort()
            return
        sent.extend(tap["id"] for tap in route.request.post_data_json["entries"])
        route.continue_()

    inside.context.route("**/api/entries", note)
    tap_three(inside)
    page.reload()
    expect(page.locator(".link-count")).to_have_text("3")
    expect(page.locator(".link-waiting")).to_be_visible()
    second = inside.context.new_page()
    second.goto(page.url)
    expect(second.locator("#link")).to_have_attribute("data-state", "live")
    second.locator("#next .tap-next").click()
    expect(second.locator(".link-count")).to_have_text("4")
    assert in_order(server, case) == []
    cut_off = False
    for one in (page, second):
        one.evaluate("dispatchEvent(new Event('online'))")  # both want to send in the same moment
    for one in (page, second):
        expect(one.locator(".link-waiting")).to_be_hidden()
    kinds = in_order(server, case)
    assert (kinds[:3], len(kinds)) == (THREE, 4)
    assert len(sent) == len(set(sent)) == 4, "one sender at a time"


def test_taps_that_wait_survive_a_reload_while_the_server_is_dead(
    server: Server, case: str, screen: OpenScreen
) -> None:
    inside = screen(server, "inside")
    page = inside.open(f"/inside?case={case}")
    server.kill()
    tap_three(inside)
    with suppress(Error):  # too soon for a kept picture, perhaps
        page.reload()
    server.start()
    inside.open(f"/inside?case={case}")
    until(lambda: in_order(server, case) == THREE, "the three taps", lambda: server.log)
    expect(page.locator(".link-waiting")).to_be_hidden()


def test_a_tap_whose_answer_was_lost_is_sent_again_and_stored_once(
    server: Server, case: str, screen: OpenScreen
) -> None:
    inside = screen(server, "inside")
    page = inside.open(f"/inside?case={case}")
    lost: list[int] = []

    def lose_the_first(route: Route) -> None:
        answer = route.fetch()
        lost.append(answer.status)
        if len(lost) == 1:
            route.abort()
        else:
            route.fulfill(response=answer)

    inside.context.route("**/api/entries", lose_the_first)
    record_pulse(inside)
    until(lambda: (page.wait_for_timeout(50), len(lost) > 1)[1], "the second sending", lambda: server.log)
    expect(page.locator(".link-waiting")).to_be_hidden()
    assert lost[:2] == [200, 200]
    assert in_order(server, case) == ["vitals"]


MANY = """async (caseId) => {
  const [{ keep }, { entry }, { flush }] = await Promise.all(["store", "entry", "send"].map((one) => import(`/static/js/outbox/${one}.js`)));
  await keep(entry("req.new", caseId, { q: "q1", item: "pump", urg: "now" }));
  for (let n = 0; n < 200; n += 1) await keep(entry("vitals", caseId, { hr: 60 + n % 60 }));
  for (const kind of ["req.ack", "req.got"]) await keep(entry(kind, caseId, { q: "q1" }));
  flush();
}"""
"""More taps than one list holds: in the first list something is asked for that only the second answers."""


def test_more_taps_than_fit_one_list_are_sent_in_two_and_the_first_says_so(
    server: Server, case: str, screen: OpenScreen
) -> None:
    inside = screen(server, "inside")
    page = inside.open(f"/inside?case={case}")
    lists: list[tuple[int, bool]] = []
    cut_off = True

    def note(route: Route) -> None:
        if cut_off:
            route.abort()
            return
        given = route.request.post_data_json
        lists.append((len(given["entries"]), given["more"]))
        route.continue_()

    inside.context.route("**/api/entries", note)
    page.evaluate(MANY, case)
    expect(page.locator(".link-count")).to_have_text("203")
    cut_off = False
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.locator(".link-waiting")).to_be_hidden()
    assert lists == [(200, True), (3, False)]
    assert in_order(server, case) == ["req.new", *["vitals"] * 200, "req.ack", "req.got"]
    station = server.cookies["inside"].partition(".")[0]
    marks = [entry.facts.get("more", False) for entry in server.entries(case) if entry.tap.station == station]
    assert marks == [True] * 200 + [False] * 3, "the journal knows which list was not all"


def test_hundreds_of_taps_that_wait_for_a_lead_hold_up_no_later_one(
    server: Server, case: str, screen: OpenScreen
) -> None:
    inside = screen(server, "inside")
    page = inside.open(f"/inside?case={case}")
    inside.context.route("**/api/entries", lambda route: route.abort())
    page.evaluate(MANY, case)
    page.evaluate(
        """async () => { const { mark, rows } = await import('/static/js/outbox/store.js');
        await mark((await rows()).map((row) => ({ ...row, held: { status: 'held' } }))); }"""
    )
    first: list[str] = []

    def note(route: Route) -> None:
        given = route.request.post_data_json["entries"]
        first.append(given[0]["kind"])
        results = [{"id": one["id"], "status": "held" if i else "stored", "code": 202} for i, one in enumerate(given)]
        route.fulfill(json={"results": results})

    inside.context.unroute("**/api/entries")
    inside.context.route("**/api/entries", note)
    inside.button("drug.given", "#next").click()
    until(lambda: (page.wait_for_timeout(50), first)[1], "a list")
    assert first[0] == "drug.given"


def test_a_tap_that_is_refused_is_shown_with_its_reason_and_holds_up_no_other(
    server: Server, case: str, screen: OpenScreen
) -> None:
    inside = screen(server, "inside")
    page = inside.open(f"/inside?case={case}")
    inside.button("drug.given", "#next").evaluate("(button) => { button.dataset.body = '{\"bp\": 1}'; }")
    inside.button("drug.given", "#next").click()
    expect(page.locator("#refused")).to_be_visible()
    expect(page.locator("#refused li")).to_contain_text("drug.given has no field 'bp'")
    record_pulse(inside)
    until(lambda: server.entries(case, "vitals"), "the good tap", lambda: server.log)
    assert [entry.tap.body for entry in server.entries(case, "vitals")] == [{"hr": 91}]
    page.reload()
    expect(page.locator("#refused li")).to_contain_text("drug.given has no field 'bp'")
    page.locator("#refused button").click()
    expect(page.locator("#refused")).to_be_hidden()


def test_a_server_stops_while_screens_are_connected(server: Server, case: str, screen: OpenScreen) -> None:
    page = screen(server, "outside").open("/outside")
    server.stop()
    assert server.process is not None
    assert server.process.returncode in (0, -15)
    expect(page.locator("#link")).not_to_have_attribute("data-state", "live")


def test_taps_survive_a_killed_server_that_had_stored_them_without_saying_so(
    server: Server, case: str, screen: OpenScreen
) -> None:
    inside = screen(server, "inside")
    page = inside.open(f"/inside?case={case}")
    stored: list[int] = []

    def kill_before_the_answer(route: Route) -> None:
        stored.append(route.fetch().status)
        server.kill()
        route.abort()

    inside.context.route("**/api/entries", kill_before_the_answer, times=1)
    record_pulse(inside)
    until(lambda: (page.wait_for_timeout(50), stored)[1], "the first sending", lambda: server.log)
    expect(page.locator(".link-count")).to_have_text("1")
    server.start()
    expect(page.locator(".link-waiting")).to_be_hidden()
    assert stored == [200]
    assert in_order(server, case) == ["vitals"]


def kill_browser(profile: Path) -> None:
    """SIGKILL of the one browser that runs on this profile; what it has started dies with it."""
    for process in Path("/proc").glob("[0-9]*"):
        with suppress(OSError):
            words = (process / "cmdline").read_bytes().split(b"\0")
            if f"--user-data-dir={profile}".encode() in words and not any(w.startswith(b"--type=") for w in words):
                os.kill(int(process.name), signal.SIGKILL)


def test_taps_survive_a_browser_that_is_killed(server: Server, case: str, browser: Browser, tmp_path: Path) -> None:
    cookie: Any = {
        "name": "doorside_inside", "value": server.cookies["inside"], "url": server.address, "sameSite": "Strict",
    }  # fmt: skip

    def start() -> BrowserContext:
        context = browser.browser_type.launch_persistent_context(
            tmp_path / "profile", executable_path=shutil.which("chromium"), args=["--no-sandbox", NOTHING_OUTSIDE]
        )
        context.add_cookies([cookie])
        return context

    context = start()
    inside = Screen(context, server.address)
    inside.open(f"/inside?case={case}")
    server.kill()
    tap_three(inside)
    kill_browser(tmp_path / "profile")
    with suppress(Error):
        context.close()
    server.start()
    context = start()
    again = Screen(context, server.address)
    page = again.open(f"/inside?case={case}")
    until(lambda: in_order(server, case) == THREE, "the three taps", lambda: server.log)
    expect(page.locator(".link-waiting")).to_be_hidden()
    context.close()
