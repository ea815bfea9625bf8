"""Plays a scenario file through the pages, every entry by a touch, with all clocks at the scenario's own times.

Server and screens go by one clock that the player sets to the second of each line before it touches anything: what the
journal then holds is what a team would have tapped at those times, and every interval and notice can be compared.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from playwright.sync_api import Error, Page, expect

from app.drill import outcome as judged
from app.drill.values import Act, Scenario
from app.journal.entry import Entry
from tests.browser.e2e.finger import Finger, NoTap
from tests.browser.server import PATIENCE_S, Server, until

HALF = timedelta(milliseconds=500)
"""Taps are made in the middle of their second: the few milliseconds that clocks differ never change the second."""
DOUBLE_CONTACT_MS = 720
Play = Callable[[Act], bool]


@dataclass
class Screens:
    """The pages that are open, each with its finger."""

    inside: Finger
    outside: Finger
    desk: Finger

    def all(self) -> tuple[Finger, ...]:
        return (self.inside, self.outside, self.desk)


@dataclass
class Player:
    """One scenario with one case on real pages. words: what the file says -> what the department's protocol says."""

    scenario: Scenario
    server: Server
    clock: Path
    case: str
    screens: Screens
    words: Mapping[str, str] = field(default_factory=dict)
    left_out: list[str] = field(default_factory=list)
    scrolled: list[str] = field(default_factory=list)
    _requests: dict[str, str] = field(default_factory=dict)
    _place: Counter[datetime] = field(default_factory=Counter)

    def set_clock(self, at: datetime) -> None:
        """Moves server and screens to a moment."""
        moment = at + HALF + timedelta(milliseconds=self._place[at])
        self._place[at] += 1
        self.clock.write_text(moment.isoformat(), "utf-8")
        for finger in self.screens.all():
            finger.page.clock.set_fixed_time(moment)

    def play(self, acts: Sequence[Act]) -> None:
        """Plays acts in order; several of one line's people that one tap makes are made by one."""
        left = list(acts)
        while left:
            act = left.pop(0)
            same = [act]
            while left and _one_tap(act, left[0]):
                same.append(left.pop(0))
            self.set_clock(act.at)
            self._play(same)
            self._look()

    def _play(self, acts: list[Act]) -> None:
        act = acts[0]
        people = [one.body["p"] for one in acts if "p" in one.body]
        wanted = self._wanted(act)
        if len(people) > 1:
            together = {**wanted, "p": people}
            if (finger := self._best(act.kind, together)) is not None:
                self._tap(finger, act.kind, together, len(people))
                return
        for number, one in enumerate(acts):
            if number:
                self.set_clock(one.at)
            wanted = self._wanted(one)
            if self._said_already(one):
                self.left_out.append(f"{one.kind} {one.body.get('subject')}")
                continue
            finger = self._offered(one.kind, wanted)
            if finger is None:
                self.picture("no-tap")
                raise NoTap(f"no page makes {one.kind} {dict(wanted)} at {one.at:%H:%M:%S}")
            self._tap(finger, one.kind, wanted, 1)
            if one.kind == "req.new":
                self._requests[str(one.body["q"])] = str(self.server.entries(self.case, "req.new")[-1].tap.body["q"])

    def _said_already(self, act: Act) -> bool:
        """A page that knows the partner says so with `doff.start`: the file's own line has nothing left to say."""
        if (act.kind, act.body.get("phase")) != ("check.start", "doff"):
            return False
        begun = [entry.tap.body for entry in self.server.entries(self.case, "doff.start")]
        return any(body.get("p") == act.body["subject"] and body.get("checker") for body in begun)

    def _offered(self, kind: str, wanted: Mapping[str, Any]) -> Finger | None:
        """The page that offers a tap best, once one does: what made it possible may still be on its way there."""
        end = time.monotonic() + PATIENCE_S / 4
        while (found := self._best(kind, wanted)) is None and time.monotonic() < end:
            self.screens.inside.page.wait_for_timeout(50)
        return found

    def _wanted(self, act: Act) -> dict[str, Any]:
        body = dict(act.body)
        if "q" in body:
            body["q"] = self._requests.get(str(body["q"]), body["q"])
        return {name: self.words.get(str(value), value) for name, value in body.items() if value not in ((), [])}

    def _best(self, kind: str, wanted: Mapping[str, Any]) -> Finger | None:
        ranked = [
            (marks, place, finger)
            for place, finger in enumerate(self.screens.all())
            if (marks := finger.can(kind, wanted)) is not None
        ]
        return min(ranked, key=lambda row: row[:2])[2] if ranked else None

    def _tap(self, finger: Finger, kind: str, wanted: Mapping[str, Any], entries: int) -> None:
        # The same button touched again within 0.7 s is a wet glove, not a second tap: a hand is slower than that, and
        # so is the clock by which the page measures it.
        finger.page.clock.fast_forward(DOUBLE_CONTACT_MS)
        before = len(self.server.entries(self.case))
        body = self.screens.inside.page.locator("body")
        seen = body.get_attribute("data-seen") or ""
        finger.tap(kind, wanted, entries)
        until(
            lambda: len(self.server.entries(self.case)) >= before + entries,
            f"{kind} in the journal",
            lambda: self.server.log,
        )
        # Every entry changes something in the room: the clocks move on once its page shows it.
        watch_body(self.screens.inside.page, ["seen", seen, False])
        expect(body).not_to_have_attribute("data-seen", seen)
        watch_body(finger.page, ["waiting", "0", True])
        expect(finger.page.locator(".link-waiting")).to_be_hidden()

    def _look(self) -> None:
        """The room's page is never longer than its screen, and nothing has scrolled it."""
        page = self.screens.inside.page
        found = page.evaluate("[scrollY, document.documentElement.scrollHeight - innerHeight]")
        if found != [0, 0]:
            stage = page.locator(".stages .here").inner_text()
            self.scrolled.append(f"{stage}: scrolled by {found[0]}, longer by {found[1]}")

    @property
    def typed_inside(self) -> int:
        """Keys that were pressed on the room's page."""
        return int(self.screens.inside.page.evaluate("Number(sessionStorage.getItem('keys') ?? 0)"))

    def outcome(self, key: Any, patch: Callable[[str, Any], None]) -> Any:
        """What the journal comes to, in the form of `doorside replay --json`."""
        patch("app.drill.outcome.case_ids", lambda scenario: dict.fromkeys(scenario.cases, self.case))
        return judged.outcome(self.scenario, self.server.engine, key)

    def picture(self, name: str) -> None:
        """What the pages look like, beside the server's log: for whoever mends a failing test."""
        for page, finger in zip(("inside", "outside", "desk"), self.screens.all(), strict=True):
            finger.page.screenshot(path=self.server.folder / f"{name}-{page}.png", full_page=True)

    def entries(self) -> list[Entry]:
        return self.server.entries(self.case)


WATCH = """([name, value, same, patience]) => new Promise((done) => {
  const holds = () => (document.body.dataset[name] === value) === same && done();
  new MutationObserver(holds).observe(document.body, { attributes: true });
  setTimeout(done, patience);
  holds();
})"""


def watch_body(page: Page, until_holds: list[Any]) -> None:
    """Until an attribute of the page's body is or is no longer so, without asking again and again.

    A page that goes elsewhere meanwhile ends it; whoever waited looks for themselves.
    """
    with suppress(Error):
        page.evaluate(WATCH, [*until_holds, PATIENCE_S * 1000])


def _one_tap(first: Act, then: Act) -> bool:
    """Whether two acts are people of one line."""
    return first.line == then.line and first.kind == then.kind and first.at == then.at and "p" in first.body


def told(kind: str, body: Mapping[str, Any], requests: dict[str, str]) -> tuple[str, frozenset[tuple[str, str]]]:
    """An entry as two records can be compared: requests by their order, words without capitals, figures as numbers."""
    said = {}
    for name, value in body.items():
        if name == "q":
            value = requests.setdefault(str(value), f"request {1 + len(requests)}")
        if value in ((), []):
            continue
        said[name] = f"{float(value):g}" if isinstance(value, int | float) else str(value).casefold()
    return kind, frozenset(said.items())


def open_page(page: Page, address: str) -> Page:
    """Opens a page and waits until its line to the server stands."""
    page.goto(address)
    if page.locator("#link").count():
        expect(page.locator("#link")).to_have_attribute("data-state", "live")
    return page
