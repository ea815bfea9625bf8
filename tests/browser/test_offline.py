"""Inside, cut off: the page goes on by its own taps, through a reload and a new tab, and says so; afterwards it is right."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Any

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import text

from tests.browser.conftest import INDUCED, OPENED
from tests.browser.server import Server, until
from tests.browser.shown import SHOWN

pytestmark = pytest.mark.browser
OpenScreen = Any
WAITS = re.compile(r"^\d\d:\d\d waits$")
"""When it was tapped, and that it is not sent yet; the style sheet shows it after what it belongs to."""
CHANGEOVER = tuple(
    (kind, {}) for kind in ("vent.hold", "clamp.on", "circuit.off", "circuit.on", "clamp.off", "vent.resume")
)
PANELS = ("heading", "clock", "next", "steps", "vitals", "asks")


@pytest.fixture
def inside(server: Server, screen: OpenScreen) -> Any:
    """The inside page of a case whose patient is asleep, its shell and picture kept, its server dead."""
    case = server.new_case()
    server.say(case, *INDUCED)
    one = screen(server, "inside")
    one.case = case
    one.open(f"/inside?case={case}")
    kept(one.page)
    server.kill()
    expect(one.page.locator("#link")).to_have_attribute("data-state", "lost")
    return one


def kept(page: Page) -> None:
    """Waits until the worker stands and the picture of the page is kept."""
    script = """async () => { await navigator.serviceWorker.ready;
        return (await (await caches.open('pictures')).match(location.href)) !== undefined; }"""
    until(lambda: (page.wait_for_timeout(50), page.evaluate(script))[1], "the picture")


def next_step(page: Page) -> Any:
    return page.locator("#next .tap-next")


def step(page: Page, words: str, then: str) -> None:
    """Taps the next step, which reads so, and waits for the one that follows."""
    expect(next_step(page)).to_contain_text(words)
    next_step(page).click()
    expect(next_step(page)).to_contain_text(then)


def attempt(page: Page) -> None:
    step(page, "Laryngoscopy begins", "Tube through the cords")
    step(page, "Tube through the cords", "Attempt over: tube in")


def test_own_taps_go_on_on_the_page_each_marked_as_waiting(inside: Any) -> None:
    page = inside.page
    attempt(page)
    expect(page.locator("#clock .clock-main")).to_contain_text("Since induction")
    tried = page.locator('#clock [data-of="attempt"]')
    expect(tried.locator(".figure-large")).to_have_text("1")
    expect(tried.locator(".age")).to_have_attribute("data-waits", WAITS)
    expect(page.locator('#clock [data-of="airway"] .figure-words')).to_have_text("–")
    begun = page.locator('#steps button[data-kind="scope.start"]')
    expect(begun).to_have_class(re.compile("done"))
    expect(begun).to_have_attribute("data-waits", WAITS)
    assert page.evaluate(
        "getComputedStyle(document.querySelector('#steps .done[data-waits]'), '::after').content"
    ).endswith('waits"')
    expect(page.locator("#link")).to_contain_text("The door cannot see this since")
    expect(page.locator("#link")).to_contain_text("use voice")
    expect(page.locator(".link-count")).to_have_text("2")
    expect(page.locator("body")).not_to_have_class(re.compile("stale"))


def test_a_step_that_stands_twice_on_the_line_leads_on_from_where_the_case_is(
    server: Server, screen: OpenScreen
) -> None:
    case = server.new_case()
    moved = ("case.open", {**OPENED[0][1], "procedure": "transport"})
    server.say(case, moved, *OPENED[1:5], *CHANGEOVER, ("tx.depart", {}), ("tx.arrive", {}))
    page = screen(server, "inside").open(f"/inside?case={case}")
    server.kill()
    expect(page.locator("#link")).to_have_attribute("data-state", "lost")
    for words, then in pairwise(
        ("held", "clamped", "Circuit open", "other ventilator", "Clamp off", "goes on", "accepted")
    ):
        step(page, words, then)


def test_a_clock_that_an_own_tap_starts_runs(inside: Any) -> None:
    page = inside.page
    step(page, "Laryngoscopy begins", "Tube through the cords")
    expect(page.locator("#clock .clock-main .caption")).to_have_text("This attempt")
    page.locator("#next .instead button", has_text="no view").click()
    expect(page.locator("#clock .clock-main .caption")).to_have_text("Since induction")


def test_after_an_attempt_without_a_tube_the_next_one_has_the_next_number(server: Server, inside: Any) -> None:
    page = inside.page
    step(page, "Laryngoscopy begins", "Tube through the cords")
    page.locator("#next .instead button", has_text="no view").click()
    expect(next_step(page)).to_contain_text("Laryngoscopy begins")
    expect(page.locator("#next .instead")).to_contain_text("Plan B declared")
    step(page, "Laryngoscopy begins", "Tube through the cords")
    server.start()
    expect(page.locator(".link-waiting")).to_be_hidden()
    assert [(e.tap.kind, e.tap.body["n"]) for e in server.entries(inside.case) if e.tap.kind.startswith("scope.")] == [
        ("scope.start", 1), ("scope.end", 1), ("scope.start", 2),
    ]  # fmt: skip


def test_a_request_made_while_cut_off_is_listed_and_can_be_received(server: Server, inside: Any) -> None:
    page = inside.page
    ask = page.locator('#asks .choices button[data-kind="req.new"]').first
    item = ask.locator(".tap-label").inner_text()
    ask.click()
    asked = page.locator("#asks .asked", has_text=item)
    expect(asked.locator(".state")).to_have_text("asked")
    expect(asked.locator("p")).to_have_attribute("data-waits", WAITS)
    expect(page.locator("#asks .choices button:visible", has_text=item)).to_have_count(0)
    asked.locator('button[data-kind="req.got"]').click()
    expect(asked).to_contain_text("Got it")
    server.start()
    expect(page.locator(".link-waiting")).to_be_hidden()
    new, got = (server.entries(inside.case, kind)[0].tap.body["q"] for kind in ("req.new", "req.got"))
    assert new == got


def test_a_figure_read_while_cut_off_is_shown_with_its_unit_and_age(inside: Any) -> None:
    page = inside.page
    page.locator('#figures-vitals [data-name="spo2"] .step[data-by="-5"]').click()
    page.locator("#figures-vitals button.take").click()
    cell = page.locator('#clock [data-of="spo2"]')
    expect(cell.locator(".figure-large")).to_have_text("93 %")
    expect(cell.locator(".age")).to_have_text(re.compile(r"\d:\d\d"))
    expect(cell.locator(".age")).to_have_attribute("data-waits", WAITS)


def test_a_rescue_step_stays_the_next_one_while_only_figures_wait(server: Server, screen: OpenScreen) -> None:
    case = server.new_case()
    server.say(case, *INDUCED, ("rescue.declare", {"plan": "B"}))
    page = screen(server, "inside").open(f"/inside?case={case}")
    before = next_step(page).inner_text()
    server.kill()
    page.locator('#figures-vitals [data-name="spo2"] .step[data-by="-5"]').click()
    page.locator("#figures-vitals button.take").click()
    expect(page.locator('#clock [data-of="spo2"] .figure-large')).to_have_text("93 %")
    expect(next_step(page)).to_have_text(before)


def test_what_is_undone_while_cut_off_is_as_if_it_had_not_been(inside: Any) -> None:
    page = inside.page
    step(page, "Laryngoscopy begins", "Tube through the cords")
    page.locator(".undo-button").click()
    expect(next_step(page)).to_contain_text("Laryngoscopy begins")
    expect(page.locator('#steps button[data-kind="scope.start"]')).not_to_have_class(re.compile("done"))


def test_a_stored_tap_that_is_taken_back_while_cut_off_says_so_in_the_list_of_corrections(inside: Any) -> None:
    page = inside.page
    stored = page.locator("#mend .mend-one").first
    stored.locator('button[data-kind="tap.void"]').evaluate("(button) => button.click()")
    expect(stored.locator("p").first).to_have_attribute("data-waits", WAITS)
    expect(page.locator("#mend .mend-one p[data-waits]")).to_have_count(1)


def test_a_reload_and_a_new_tab_without_the_server_show_the_same(inside: Any) -> None:
    page = inside.page
    attempt(page)
    before = {name: page.locator(f"#{name}").evaluate(SHOWN) for name in ("next", "clock", "steps")}
    page.reload()
    expect(next_step(page)).to_contain_text("Attempt over: tube in")
    expect(page.locator("#link")).to_have_attribute("data-state", "lost")
    assert {name: page.locator(f"#{name}").evaluate(SHOWN) for name in before} == before
    since = page.locator(".link-since").inner_text()
    assert since not in ("", "0:00"), "the age goes on from when the server was last heard"
    address = page.url
    page.close()
    inside.page = again = inside.context.new_page()
    again.goto(address)
    expect(next_step(again)).to_contain_text("Attempt over: tube in")
    expect(again.locator(".link-count")).to_have_text("2")
    step(again, "Attempt over: tube in", "Cuff inflated")


def test_when_the_server_is_back_its_own_panels_stand_and_each_tap_is_stored_once_in_order_at_its_time(
    server: Server, inside: Any, screen: OpenScreen
) -> None:
    page = inside.page
    attempt(page)
    page.reload()
    step(page, "Attempt over: tube in", "Cuff inflated")
    page.evaluate("window.gap = true")
    server.start()
    expect(page.locator("#link")).to_have_attribute("data-state", "live")
    expect(page.locator(".link-waiting")).to_be_hidden()
    expect(page.locator("main [data-waits]")).to_have_count(0)
    assert page.evaluate("window.gap") is True, "nothing was loaded anew"
    fresh = screen(server, "inside").open(f"/inside?case={inside.case}")
    for name in PANELS:
        expect(page.locator(f"#{name}")).to_have_count(1)
        until(
            lambda name=name: page.locator(f"#{name}").evaluate(SHOWN) == fresh.locator(f"#{name}").evaluate(SHOWN),
            f"{name} as a fresh page shows it",
        )
    station = server.cookies["inside"].partition(".")[0]
    sent = [entry for entry in server.entries(inside.case) if entry.tap.station == station]
    assert [entry.tap.kind for entry in sent] == ["scope.start", "tube.passed", "scope.end"]
    assert [entry.tap.counter for entry in sent] == [1, 2, 3]
    moments = [entry.tap.device_at for entry in sent]
    assert moments == sorted(moments)
    assert all(entry.tap.offset_ms is not None for entry in sent[:2]), "the clock was known before the gap"


def test_the_worker_never_keeps_what_is_no_live_page(server: Server, screen: OpenScreen) -> None:
    case = server.new_case()
    server.say(case, *INDUCED)
    one = screen(server, "inside", "desk")
    one.open(f"/inside?case={case}")
    kept(one.page)
    one.open(f"/case/{case}")
    one.page.goto(server.address + "/desk")
    names = one.page.evaluate(
        "async () => (await (await caches.open('pictures')).keys()).map((one) => new URL(one.url).pathname)"
    )
    assert names == ["/inside"]
    shell = one.page.evaluate(
        """async () => { const name = (await caches.keys()).find((one) => one.startsWith('shell-'));
        return (await (await caches.open(name)).keys()).map((one) => new URL(one.url).pathname); }"""
    )
    assert all(path.startswith("/static/") for path in shell)
    assert "/static/js/page.js" in shell


def test_the_picture_is_wiped_when_the_case_is_closed(server: Server, screen: OpenScreen) -> None:
    case = server.new_case()
    server.say(case, *INDUCED)
    one = screen(server, "inside")
    page = one.open(f"/inside?case={case}")
    kept(page)
    server.say(case, ("case.close", {"ref": "C1"}))
    gone = "async () => (await (await caches.open('pictures')).keys()).length === 0"
    until(lambda: (page.wait_for_timeout(50), page.evaluate(gone))[1], "an empty cache")


def test_a_screen_whose_pairing_has_ended_keeps_its_taps_and_no_picture_and_goes_on_when_it_is_paired_again(
    server: Server, case: str, screen: OpenScreen
) -> None:
    one = screen(server, "inside")
    page = one.open(f"/inside?case={case}")
    kept(page)
    with server.engine.begin() as database:
        database.execute(
            text("UPDATE station SET secret_hash = 'x' || secret_hash, revision = revision + 1 WHERE kind = 'inside'")
        )
    server.kill()  # what it has proven a moment ago is believed for some seconds
    server.start()
    next_step(page).click()
    expect(page.locator("#unpaired")).to_be_visible()
    expect(page.locator("#unpaired")).to_contain_text("at the desk")
    expect(page.locator(".link-count")).to_have_text("1")
    gone = "async () => (await (await caches.open('pictures')).keys()).length === 0"
    until(lambda: (page.wait_for_timeout(50), page.evaluate(gone))[1], "an empty cache")
    assert server.entries(case, "drug.given") == []
    with server.engine.begin() as database:
        database.execute(text("UPDATE station SET secret_hash = substr(secret_hash, 2) WHERE kind = 'inside'"))
    until(lambda: server.entries(case, "drug.given"), "the kept tap", lambda: server.log)
    expect(page.locator(".link-waiting")).to_be_hidden()
    expect(page.locator("#unpaired")).to_be_hidden()
    assert len(server.entries(case, "drug.given")) == 1


def test_a_refused_tap_stays_readable_after_it_was_seen(server: Server, case: str, screen: OpenScreen) -> None:
    one = screen(server, "inside")
    page = one.open(f"/inside?case={case}")
    next_step(page).evaluate("(button) => { button.dataset.body = '{\"bp\": 1}'; }")
    next_step(page).click()
    expect(page.locator("#refused li")).to_contain_text("has no field 'bp'")
    page.locator("#refused button").click()
    expect(page.locator("#refused")).to_be_hidden()
    page.reload()
    expect(page.locator("#refused")).to_be_hidden()
    rows = page.evaluate("async () => (await import('/static/js/outbox/store.js')).rows()")
    assert [(row["tap"]["body"], row["seen"], bool(row["refused"]["error"])) for row in rows] == [
        ({"bp": 1}, True, True)
    ]


def test_what_works_on_a_screen_is_told_without_the_server_and_that_it_is_not_reached(
    server: Server, case: str, screen: OpenScreen
) -> None:
    one = screen(server, "inside")
    page = one.open("/diagnostics")
    link = page.locator('[data-check="link"]')
    expect(link).to_contain_text("The server answers.")
    kept(page)
    server.kill()
    one.page = page = one.context.new_page()  # as somebody opens it who wonders why nothing comes
    page.goto(server.address + "/diagnostics")
    link = page.locator('[data-check="link"]')
    expect(link).to_have_attribute("data-holds", "false")
    expect(link.locator(".no")).to_be_visible()
    expect(link.locator(".yes")).to_be_hidden()
    expect(link.locator(".no")).to_contain_text(
        "The server does not answer. Taps are kept here. Use voice until it is back"
    )
    expect(page.locator('[data-check="store"]')).to_have_attribute("data-holds", "true")
    server.start()
    page.locator("#again").click()
    expect(link).to_have_attribute("data-holds", "true")
    expect(link).to_contain_text("The server answers.")


def test_two_tabs_share_one_line_and_the_one_that_stays_goes_on_without_a_gap(
    server: Server, case: str, screen: OpenScreen
) -> None:
    door = screen(server, "outside")
    lines: list[str] = []
    door.context.on("request", lambda request: lines.append(request.url) if "/api/live" in request.url else None)
    first = door.open("/outside")
    assert len(lines) == 1
    server.say(case, ("req.new", {"q": "q1", "item": "before the second"}))
    expect(first.locator("#requests")).to_contain_text("before the second")
    second = door.context.new_page()
    second.goto(server.address + "/outside")
    expect(second.locator("#link")).to_have_attribute("data-state", "live")
    server.say(case, ("req.new", {"q": "q2", "item": "seen by both"}))
    for page in (first, second):
        expect(page.locator("#requests")).to_contain_text("seen by both")
    assert len(lines) == 1, "one line for both"
    first.close()
    server.say(case, ("req.new", {"q": "q3", "item": "after the first"}))
    expect(second.locator("#requests")).to_contain_text("after the first")
    assert len(lines) == 2
    assert "seen=" in lines[1]
    expect(second.locator("#link")).to_have_attribute("data-state", "live")


def test_a_tab_that_slept_while_another_listened_is_whole_when_it_wakes(
    server: Server, case: str, screen: OpenScreen
) -> None:
    door = screen(server, "outside")
    first = door.open("/outside")
    second = door.context.new_page()
    second.goto(server.address + "/outside")
    expect(second.locator("#link")).to_have_attribute("data-state", "live")
    second.evaluate(
        "document.body.dataset.seen = document.body.dataset.seen.replace(/[.].*/, '.0')"
    )  # as if it had missed some
    server.say(case, ("req.new", {"q": "q1", "item": "what it missed"}))
    server.say(case, ("req.new", {"q": "q2", "item": "what came next"}))
    for page in (first, second):
        expect(page.locator("#requests")).to_contain_text("what came next")
        expect(page.locator("#requests")).to_contain_text("what it missed")
    assert second.evaluate("document.body.dataset.seen") == first.evaluate("document.body.dataset.seen")


def test_outside_goes_pale_after_thirty_seconds_without_the_server_and_says_how_old_it_is(
    server: Server, case: str, screen: OpenScreen
) -> None:
    door = screen(server, "outside")
    door.page.clock.install()
    page = door.open("/outside")
    server.kill()
    expect(page.locator("#link")).not_to_have_attribute("data-state", "live")
    expect(page.locator("body")).not_to_have_class(re.compile("stale"))
    page.clock.fast_forward(31_000)
    expect(page.locator("body")).to_have_class(re.compile("stale"))
    expect(page.locator("#link .link-lost")).to_contain_text(re.compile(r"No news since 0:3\d"))
    server.start()
    page.clock.fast_forward(2_000)
    expect(page.locator("body")).not_to_have_class(re.compile("stale"))


def test_what_was_handed_in_by_voice_is_proposed_as_the_request_that_comes_later_and_confirmed_in_one_tap(
    server: Server, screen: OpenScreen
) -> None:
    case = server.new_case()
    server.say(case, *INDUCED)
    room, door = screen(server, "inside"), screen(server, "outside")
    inside, outside = room.open(f"/inside?case={case}"), door.open("/outside")
    room.context.route("**/api/entries", lambda route: route.abort())
    ask = inside.locator('#asks .choices button[data-kind="req.new"]').first
    item = ask.locator(".tap-label").inner_text()
    ask.click()
    expect(inside.locator(".link-count")).to_have_text("1")
    outside.locator("#unlisted summary").first.click()
    outside.locator('#unlisted button[data-kind="req.in"]', has_text=item).first.click()
    expect(outside.locator("#requests")).to_contain_text("handed in")
    room.context.unroute("**/api/entries")
    for page in (inside, outside):
        expect(page.locator("#maybe")).to_contain_text("maybe already in")
        expect(page.locator("#maybe")).to_contain_text(item)
    expect(outside.locator('#requests button[data-kind="req.ack"]')).to_have_count(0)
    outside.locator("#maybe button", has_text="It is the same").click()
    for page in (inside, outside):
        expect(page.locator("#maybe article")).to_have_count(0)
    expect(inside.locator("#asks .asked", has_text=item)).to_contain_text("handed in")
    (new,), (given,), (fix,) = (server.entries(case, kind) for kind in ("req.new", "req.in", "tap.fix"))
    assert given.tap.body["q"] != new.tap.body["q"], "a name of its own"
    assert (fix.tap.body["ref"], fix.tap.body["set_q"]) == (given.tap.id, new.tap.body["q"])
