"""The door's page in a browser: read aloud, marked lists, names of the register, minutes that run down."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from app.people import store as people
from app.people.tables import Person
from tests.browser.server import Server, until

pytestmark = pytest.mark.browser
OpenScreen = Callable[..., Any]
READY = (
    ("case.open", {"ref": "C1", "procedure": "intubation", "precaution": "airborne", "age": "adult"}),
    ("role.assign", {"TL": "Ada", "AO": "Bea", "DR": "Cy"}),
)
DRESS = ("don.start", {"p": "Bea", "ens": "airborne"})
LOOK = ("check.start", {"phase": "don", "checker": "Cy", "subject": "Bea"})
OUT = (("room.in", {"p": "Bea"}), ("room.out", {"p": "Bea"}), ("doff.start", {"p": "Bea"}))


@pytest.fixture
def ready(server: Server) -> str:
    """A case whose crew is named."""
    case = server.new_case()
    server.say(case, *READY)
    return case


def body(server: Server, case: str, kind: str) -> dict[str, Any]:
    """What the newest entry of a kind says, once there is one."""
    until(lambda: server.entries(case, kind), f"an entry {kind}", lambda: server.log)
    return dict(server.entries(case, kind)[-1].tap.body)


def door(screen: OpenScreen, server: Server, path: str = "/outside") -> tuple[Page, list[str]]:
    one = screen(server, "outside")
    return one.open(path), one.wrong


def test_one_persons_steps_are_the_whole_screen_and_go_on_tap_by_tap(
    server: Server, ready: str, screen: OpenScreen
) -> None:
    server.say(ready, DRESS, LOOK)
    page, wrong = door(screen, server, "/outside?coach=Bea")
    coach = page.locator("#coach .coaching")
    expect(coach.locator(".step-now")).to_have_text("Clean the hands")
    expect(page.locator("#likely")).to_be_hidden()
    coach.get_by_role("button", name="Right", exact=True).click()
    expect(coach.locator(".step-now")).to_have_text("Gown on, tied at neck and waist")
    assert body(server, ready, "local.done")["value"] == "Bea"
    coach.locator(".answers").get_by_role("button", name="Fault").click()
    assert body(server, ready, "check.done") == {
        "phase": "don", "checker": "Cy", "subject": "Bea", "result": "fail", "fault": "gown",
    }  # fmt: skip
    expect(coach).to_contain_text("Fault found: gown")
    assert wrong == []


def test_a_coach_that_was_folded_by_hand_stays_folded(server: Server, ready: str, screen: OpenScreen) -> None:
    server.say(ready, DRESS, LOOK)
    page, _ = door(screen, server, "/outside?coach=Bea")
    page.locator("#coach .aloud > summary").click()
    expect(page.locator("#coach .step-now")).to_be_hidden()
    server.say(ready, ("seal.check", {"p": "Bea", "result": "fail"}), ("message", {"text": "a push"}))
    expect(page.locator("#rooms")).to_contain_text("a push")
    expect(page.locator("#coach .step-now")).to_be_hidden()
    expect(page.locator("#likely")).to_be_visible()


def test_a_tray_is_laid_out_in_one_tap_and_what_is_missing_by_one_more(
    server: Server, ready: str, screen: OpenScreen
) -> None:
    page, wrong = door(screen, server)
    page.locator("#trays summary", has_text="Clean tray").click()
    form = page.locator('#trays form.pieces[data-body*="clean"]')
    form.locator('.piece[data-code="bougie"]').click()
    for _ in range(2):
        form.locator('.piece[data-code="filter"]').click()
    expect(form.locator('.piece[data-code="bougie"]')).to_contain_text("missing")
    server.say(ready, ("message", {"text": "a push"}))
    expect(page.locator("#rooms")).to_contain_text("a push")
    expect(form.locator('.piece[data-code="filter"]')).to_contain_text("out of date")
    form.get_by_role("button", name="Laid out as marked").click()
    said = body(server, ready, "kit.staged")
    assert (said["tray"], said["missing"], said["expired"]) == ("clean", ["bougie"], ["filter"])
    assert "capnography" in said["has"]
    assert not {"bougie", "filter"} & set(said["has"])
    expect(page.locator("#trays")).to_contain_text("lacks Bougie")
    assert wrong == []


def test_a_count_names_what_was_not_found(server: Server, ready: str, screen: OpenScreen) -> None:
    server.say(ready, ("kit.staged", {"tray": "door", "has": ["fona"]}), ("item.move", {"item": "fona", "to": "room"}))
    page, _ = door(screen, server)
    page.locator("#trays summary", has_text="Count before anyone leaves").click()
    form = page.locator('#trays form.pieces[data-kind="count.done"]')
    expected = form.locator(".piece").count() + 3
    form.locator(".piece.sharp").click()
    form.locator('input[name="more"]').fill("3")
    form.get_by_role("button", name="Count as marked").click()
    said = body(server, ready, "count.done")
    assert (said["expected"], said["found"]) == (expected, expected - 1)
    assert "scalpel" in said["lost"][0]
    expect(page.locator("#door_notices, #trays")).to_contain_text(["", "not found"])


def test_anybody_of_the_register_can_help_and_the_choice_outlives_a_push(
    server: Server, ready: str, screen: OpenScreen
) -> None:
    people.add(server.engine, Person(id="P9", name="Ida Lorn", initials="IL", job="nurse"))
    server.say(ready, DRESS, *OUT)
    page, wrong = door(screen, server)
    page.locator("#coach .aloud > summary").click()
    page.locator("#coach summary", has_text="Somebody else helps").click()
    choice = page.locator('#coach select[name="checker"]')
    choice.select_option("P9")
    server.say(ready, ("message", {"text": "a push"}), ("breach", {"p": "Bea"}))
    expect(page.locator("#rooms")).to_contain_text("a push")
    expect(choice).to_have_value("P9")
    page.locator('#coach form[data-kind="check.start"]').get_by_role("button").click()
    assert body(server, ready, "check.start") == {"phase": "doff", "subject": "Bea", "checker": "P9"}
    assert wrong == []


def test_the_door_passes_to_anybody_of_the_register(server: Server, ready: str, screen: OpenScreen) -> None:
    people.add(server.engine, Person(id="P9", name="Ida Lorn", initials="IL", job="nurse"))
    page, _ = door(screen, server)
    page.locator("#rooms summary", has_text="Runner").click()
    form = page.locator("#room-door-1 form")
    form.locator("select").select_option(label="Ida Lorn, nurse")
    form.get_by_role("button").click()
    assert body(server, ready, "role.handover") == {"role": "DR", "from": "Cy", "to": "P9"}


def test_minutes_of_oxygen_and_of_the_way_stand_side_by_side(server: Server, screen: OpenScreen) -> None:
    case = server.new_case("T1")
    opened = {"ref": "T1", "procedure": "transport", "precaution": "airborne", "age": "adult", "tx_min": 25}
    server.say(
        case, ("case.open", {**opened, "o2_lpm": 12}), ("o2.check", {"litres": 605, "flow": 12}), ("tx.depart", {})
    )
    page, wrong = door(screen, server)
    expect(page.locator("#transport .until").first).to_have_text(re.compile(r"^4[89]$"))
    expect(page.locator("#transport .until").last).to_have_text(re.compile(r"^2[45]$"))
    page.get_by_role("button", name="5 min", exact=True).click()
    expect(page.locator("#transport .until").last).to_have_text(re.compile(r"^[45]$"))
    assert body(server, case, "tx.waypoint") == {"togo": 5}
    assert wrong == []


def test_a_hand_over_is_sent_as_the_points_that_were_read_back(server: Server, screen: OpenScreen) -> None:
    case = server.new_case("T1")
    opened = ("case.open", {"ref": "T1", "procedure": "transport", "precaution": "airborne", "age": "adult"})
    server.say(case, opened, ("tx.depart", {}), ("tx.arrive", {}), ("handover.start", {}))
    page, _ = door(screen, server)
    form = page.locator('#transport form[data-kind="handover.done"]')
    for words in ("Ventilator settings", "Lines"):
        form.get_by_role("button", name=words).click()
    form.get_by_role("button", name="Read back").click()
    assert body(server, case, "handover.done") == {"items": ["Ventilator settings", "Lines"]}
