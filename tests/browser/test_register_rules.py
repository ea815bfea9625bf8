"""R01 to R18, R40 and R56 from the registers to the people who must know: a department in pages, cases by touch.

One department is entered through its own pages: files taken in, a form. Four cases are opened by the desk's form and
played by taps on real pages. In Room 1 and Room 3 everything is wrong that the rules look for, in Room 2 and Room 4
the same is right. Each rule is then read where its audience looks: at the door, in the room, on the board.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from app.web.sessions import COOKIE
from tests.browser.conftest import Screen
from tests.browser.department import BOOKS, NOW
from tests.browser.e2e.finger import Finger
from tests.browser.server import Server, until

pytestmark = pytest.mark.browser
PATH = "/desk/registers"
DOUBLE_CONTACT_MS = 720
"""The same button touched again sooner is a wet glove, not a second tap: a hand is slower than that."""


class OneCase(Finger):
    """A finger that touches what is of one case, on a page that shows several."""

    case = ""

    def _ranked(self, kind: str, wanted: Mapping[str, Any]) -> list[tuple[int, dict[str, Any]]]:
        return [pair for pair in super()._ranked(kind, wanted) if pair[1]["case"] == self.case]


@dataclass
class House:
    """The department's pages: the desk, the door, the room; and the cases by their rooms' names."""

    server: Server
    desk: Page
    door: Page
    room: Page
    folder: Path
    cases: dict[str, str] = field(default_factory=dict)
    tapped_at: float = 0.0

    def go(self, page: Page, path: str) -> None:
        """Opens a page in front: one that lies behind another is drawn so seldom that each touch waits for it."""
        page.bring_to_front()
        page.goto(self.server.address + path)
        if page.locator("#link").count():
            expect(page.locator("#link")).to_have_attribute("data-state", "live")

    def take_in(self, register: str, lines: tuple[str, ...]) -> None:
        """Takes a register's file in, as somebody at the desk would: tried, then confirmed."""
        file = self.folder / f"{register}.csv"
        file.write_text("\n".join(lines) + "\n", "utf-8")
        self.go(self.desk, f"{PATH}/{register}/import")
        self.desk.get_by_label("CSV file").set_input_files(file)
        self.desk.get_by_role("button", name="Try it").click()
        self.desk.get_by_role("button", name="Take it over").click()
        expect(self.desk).to_have_url(f"{self.server.address}{PATH}/{register}")

    def open_case(self, room: str, procedure: str, pathogen: str, crew: Mapping[str, str]) -> None:
        """A call: the short form, with the difficulty and the crew that may follow."""
        self.go(self.desk, "/desk")
        form = self.desk.locator("#new-case")
        form.locator("[name=pathogen]").fill(pathogen)
        for choice in (room, procedure, "urgent", "adult"):
            form.locator("label.pick", has_text=choice).first.click()
        form.locator("details.can-follow > summary").click()
        form.locator("[name=difficult]").select_option("yes")
        for role, person in crew.items():
            form.locator(f"[name=role-{role}]").select_option(person)
        form.get_by_role("button", name="Open the case").click()
        self.desk.wait_for_url("**/case/*")
        case = self.desk.url.rpartition("/")[2]
        until(lambda: self.server.entries(case, "role.assign"), "the crew in the journal", lambda: self.server.log)
        self.cases[room] = case

    def from_register(self, room: str, page: str, kind: str, name: str) -> None:
        """What a register offers a case, tapped on its page."""
        before = len(self.server.entries(self.cases[room], kind))
        self.go(self.desk, f"{PATH}/ready/{page}")
        row = self.desk.locator(".ready-row", has_text=name)
        if (fold := row.locator("details > summary")).count():
            fold.click()
        row.locator(f'button[data-kind="{kind}"][data-case="{self.cases[room]}"]').click()
        self._stored(room, kind, before + 1)

    def tap(self, room: str, page: Page, kind: str, **wanted: Any) -> None:
        """A tap on a live page, stored."""
        page.bring_to_front()
        finger, case = OneCase(page), self.cases[room]
        finger.case = case
        before = len(self.server.entries(case, kind))
        if (left_ms := DOUBLE_CONTACT_MS - 1000 * (time.monotonic() - self.tapped_at)) > 0:
            page.wait_for_timeout(left_ms)
        until(lambda: finger.can(kind, wanted) is not None, f"a tap of {kind} {wanted} for {room}")
        finger.tap(kind, wanted)
        self.tapped_at = time.monotonic()
        self._stored(room, kind, before + 1)

    def looked_at_by(self, room: str, subject: str, checker: str) -> None:
        """At the door: somebody else than planned looks somebody over."""
        one, page = f"{self.cases[room]}-{subject}", self.door
        page.bring_to_front()
        for fold in ("coach", "other"):
            page.locator(f'[id="{fold}-{one}"] > summary').click()
        form = page.locator(f'[id="other-{one}"] form')
        form.locator("select").select_option(checker)
        form.locator("button").click()
        self._stored(room, "check.start", 1)

    def _stored(self, room: str, kind: str, count: int) -> None:
        what = f"{kind} of {room} in the journal"
        until(lambda: len(self.server.entries(self.cases[room], kind)) >= count, what, lambda: self.server.log)

    def go_in(self, room: str) -> None:
        """Opens the room's own page."""
        self.go(self.room, f"/inside?case={self.cases[room]}")

    def notices(self, where: str, room: str) -> Locator:
        """What the door, the room or the charge anaesthetist's board says of a room."""
        if where == "door":
            return self.door.locator("#door_notices .notice", has=self.door.locator(".room", has_text=room))
        if where == "room":
            if self.cases[room] not in self.room.url:
                self.go_in(room)
            return self.room.locator("#room_notices .notice")
        if not self.desk.url.endswith("/board"):
            self.go(self.desk, "/board")
        return self.desk.locator(".band", has=self.desk.locator("h2", has_text=room)).locator(".band-notices li")


@pytest.fixture(scope="module")
def house(standing: Server, browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """The department, entered and played."""
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    cookies = {f"doorside_{kind}": cookie for kind, cookie in standing.cookies.items()} | {COOKIE: standing.session}
    context.add_cookies(
        [{"name": n, "value": v, "url": standing.address, "sameSite": "Strict"} for n, v in cookies.items()]
    )
    screen = Screen(context, standing.address)
    made = House(standing, screen.page, context.new_page(), context.new_page(), tmp_path_factory.mktemp("files"))
    for register, lines in BOOKS.items():
        made.take_in(register, lines)
    wrong(made)
    shift_moved(made)
    right(made)
    yield made
    assert screen.wrong == []
    context.close()


def wrong(house: House) -> None:
    """Room 1 and Room 3: whatever can be wrong is wrong."""
    house.open_case(
        "Room 1", "intubation", "Measles", {"DOC": "eva", "AO": "bea", "AA": "bea", "DM": "dan", "DR": "cy"}
    )
    crew = {"TL": "tess", "AO": "finn", "AA": "hana", "DR": "gil"}
    house.open_case("Room 3", "extubation", "Viral haemorrhagic fever", crew)
    house.from_register("Room 1", "rooms", "room.ready", "Room 1")
    house.from_register("Room 1", "kits", "kit.staged", "Trolley B")
    door, room = house.door, house.room
    house.go(door, "/outside")
    house.tap("Room 1", door, "don.start", p="bea")
    house.looked_at_by("Room 1", "bea", "bea")
    for p in ("tess", "finn"):
        house.tap("Room 3", door, "don.start", p=p)
    for p in ("tess", "finn"):
        house.tap("Room 3", door, "check.start", subject=p, checker="gil", phase="don")
    house.go_in("Room 1")
    for p in ("bea", "dan", "eva"):
        house.tap("Room 1", room, "room.in", p=p)
    house.tap("Room 1", room, "drug.given", **{"class": "induction"})
    house.go_in("Room 3")
    house.tap("Room 3", room, "room.in", p="hana")
    house.tap("Room 3", room, "ext.out")


def shift_moved(house: House) -> None:
    """The shift lasts longer than its row said: changed in its form."""
    page = house.desk
    house.go(page, f"{PATH}/shifts")
    page.get_by_role("link", name="Late").click()
    later: datetime = NOW + timedelta(hours=5)
    page.locator("[name=ends_at]").fill(f"{later:%Y-%m-%dT%H:%M}")
    page.get_by_role("button", name="Keep").click()
    expect(page.locator(".reg-table")).to_contain_text(f"{later:%Y-%m-%d %H:%M}")


def right(house: House) -> None:
    """Room 2 and Room 4: the same, as it should be."""
    crew = {"TL": "tess", "AO": "finn", "AA": "hana", "DOC": "jon", "DR": "gil", "SO": "ivo"}
    house.open_case("Room 2", "intubation", "Measles", crew)
    vhf = "Viral haemorrhagic fever"
    house.open_case("Room 4", "extubation", vhf, {"TL": "tess", "AO": "finn", "DR": "gil", "PO": "ivo"})
    house.from_register("Room 2", "rooms", "room.ready", "Room 2")
    for kit in ("Trolley A", "Door box"):
        house.from_register("Room 2", "kits", "kit.staged", kit)
    house.from_register("Room 4", "kits", "kit.staged", "Door box")
    door, room = house.door, house.room
    house.tap("Room 2", door, "plan.set", A="video", B="mask airway", C="two hands", D="scalpel")
    house.tap("Room 2", door, "brief.done", secs=70)
    house.tap("Room 2", door, "don.start", p="finn")
    house.tap("Room 2", door, "check.start", subject="finn", checker="gil", phase="don")
    house.tap("Room 2", door, "seal.check", p="finn", result="pass")
    house.tap("Room 2", door, "check.done", subject="finn", checker="gil", phase="don", result="pass")
    house.tap("Room 4", door, "don.start", p="finn")
    house.go_in("Room 2")
    house.tap("Room 2", room, "comms.test", result="ok")
    house.tap("Room 2", room, "room.in", p="finn")
    house.tap("Room 2", room, "drug.given", **{"class": "induction"})
    house.go_in("Room 4")
    house.tap("Room 4", room, "room.in", p="finn")
    house.tap("Room 4", room, "ext.out")


SAID: tuple[tuple[str, str, tuple[tuple[str, str], ...]], ...] = (
    ("R01 roles unfilled", "Room 1", (("door", "Role unfilled: TL"), ("board", "Role unfilled: TL"))),
    ("R02 no observer", "Room 3", (("door", "No trained observer"), ("board", "No trained observer"))),
    (
        "R03 no second operator", "Room 1",
        (("room", "Difficult airway predicted, no second operator"), ("board", "no second operator")),
    ),
    ("R04 roles that clash", "Room 1", (("board", "Bea Lund holds roles that clash: AA, AO"),)),
    (
        "R05 fit test", "Room 1",
        (
            ("door", "Bea Lund: no fit test in date for K2"), ("board", "Bea Lund: no fit test in date for K2"),
            ("door", "Bea Lund: not fit-tested for K2"), ("board", "Bea Lund: not fit-tested for K2"),
        ),
    ),
    ("R06 drill", "Room 1", (("board", "Cy Ott: last drill 400 days ago"),)),
    (
        "R07 entry condition", "Room 1",
        tuple((where, f"{name}: entry condition not met") for where in ("door", "board") for name in ("Dan Reed", "Eva Noor")),
    ),
    ("R08 brief", "Room 1", (("door", "No brief before entry"), ("board", "No brief before entry"))),
    ("R09 plan", "Room 1", (("room", "Plan not stated: A, B, C, D"),)),
    ("R10 clean tray", "Room 1", (("door", "Missing: oxygen"),)),
    ("R11 room", "Room 1", (("door", "Room not proven negative"), ("board", "Room not proven negative"))),
    ("R12 door link", "Room 1", (("door", "Door link not tested"),)),
    ("R13 shift change", "Room 1", (("board", "Shift change in"),)),
    ("R14 partner check", "Room 1", (("door", "Dan Reed inside without partner check"), ("room", "Dan Reed inside without"))),
    ("R15 own check", "Room 1", (("door", "Bea Lund: self-check does not count"),)),
    ("R16 one check", "Room 3", (("door", "Gil Vale: two checks at once"),)),
    ("R17 seal check", "Room 1", (("door", "Bea Lund: no passed seal check"),)),
    ("R18 protection", "Room 1", (("door", "Dan Reed: none, case is airborne"), ("room", "Dan Reed: none, case is airborne"))),
    ("R40 rescue set", "Room 1", (("door", "No front-of-neck set at the door"), ("room", "No front-of-neck set"))),
    ("R56 re-intubation kit", "Room 3", (("door", "Re-intubation kit not staged"), ("room", "Re-intubation kit not staged"))),
)  # fmt: skip
TWIN = {"Room 1": "Room 2", "Room 3": "Room 4"}


@pytest.mark.parametrize(("rule", "room", "said"), SAID, ids=[rule for rule, _, _ in SAID])
def test_what_a_register_says_is_read_where_the_rules_audience_looks(
    house: House, rule: str, room: str, said: tuple[tuple[str, str], ...]
) -> None:
    for where, words in said:
        found = house.notices(where, room).filter(has_text=words)
        expect(found.first).to_be_attached()
        if where != "board":
            expect(found.first).to_contain_text(rule[:3])


def test_where_the_registers_are_in_order_none_of_these_rules_says_anything(house: House) -> None:
    for room, last in (("Room 2", "drug.given"), ("Room 4", "ext.out")):
        house.go(house.desk, f"/case/{house.cases[room]}")
        (entry,) = house.server.entries(house.cases[room], last)
        expect(house.desk.locator(f"#e-{entry.tap.id}")).to_be_visible()
        asked = {rule[:3] for rule, of, _ in SAID if TWIN[of] == room}
        told = set(house.desk.locator("#record .timeline .roles").all_inner_texts())
        assert not [words for words in told if words[:3] in asked], room
