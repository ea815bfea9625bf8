"""Of its people a screen outside the desk shows a working name and a role: no immunity, no illness, no date of a test.

The journal keeps facts about people for its rules (design: may enter / may not). Here these facts are spoiled with
words and dates that stand nowhere else, every state of a case is played with every notice raised, and each panel of the
four kinds of screen is searched for them. So is the record at the desk.
"""

from __future__ import annotations

from typing import Any

import pytest

from app.live.panels import PAGES
from tests.app.live.views import scene
from tests.app.live.views.scene import CREW, Said, html, now

SPOILED: dict[str, Any] = {
    "job": "doctor",
    "resp": "tight:K2",
    "fit": {"K2": "1987-05-06", "Z9": "1988-07-08"},
    "drill": "1989-09-10",
    "immune": "no",
    "no_entry": "pregnancy-1990",
    "illness": "psittacosis",
    "born": "1969-01-02",
}
NEVER = ("1987", "1988", "1989", "1990", "1969", "pregnancy", "psittacosis", "immun", "Z9")
OPENED = ("case.open", {"ref": "C1", "procedure": "intubation", "precaution": "airborne", "immune_needed": "measles"})
STATES: dict[str, tuple[Said, ...]] = {
    "crew named": (OPENED, CREW),
    "dressing": (OPENED, CREW, ("don.start", {"p": "P2", "ens": "airborne", "resp": "tight:K2"})),
    "inside": (OPENED, CREW, ("don.start", {"p": "P2", "ens": "airborne", "resp": "tight:K2"}), ("room.in", {"p": "P2"})),
    "undressing": (
        OPENED, CREW, ("don.start", {"p": "P2", "resp": "tight:K2"}), ("room.in", {"p": "P2"}),
        ("breach", {"p": "P2", "type": "tear", "grade": "major"}), ("room.out", {"p": "P2"}), ("doff.start", {"p": "P2"}),
        ("exposure.open", {"p": "P2", "minutes": 12}),
    ),
    "closed": (OPENED, CREW, ("don.start", {"p": "P2"}), ("room.in", {"p": "P2"}), ("case.close", {})),
}  # fmt: skip
SCREENS = sorted({panel for page, panels in PAGES.items() for panel in panels})


@pytest.fixture
def _spoiled(monkeypatch: pytest.MonkeyPatch) -> None:
    for p, known in scene.PEOPLE.items():
        monkeypatch.setitem(scene.PEOPLE, p, {**SPOILED, "name": known["name"]})


@pytest.mark.usefixtures("_spoiled")
@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("panel", SCREENS)
def test_a_panel_shows_no_health_fact_of_a_member_of_staff(panel: str, state: str) -> None:
    drawn = html(panel, now(*STATES[state], judged_after_s=7200))
    told = [word for word in NEVER if word in drawn]
    assert told == [], f"{panel} tells {told}"


@pytest.mark.usefixtures("_spoiled")
def test_whoever_may_not_enter_is_told_so_without_a_reason() -> None:
    case = now(*STATES["inside"], judged_after_s=7200)
    raised = {one.notice.rule for one in case.notices}
    assert "R07" in raised, "the spoiled facts must reach the rules, or nothing is tested here"
    assert "entry condition not met" in html("door_notices", case)
