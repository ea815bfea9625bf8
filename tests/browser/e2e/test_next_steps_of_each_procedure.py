"""Procedures that no scenario plays: their own next steps, one touch after another, from the door to the end."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pytest
from playwright.sync_api import Page

from app.live.views.next import PERSONAL
from app.protocol.library import protocol_for
from tests.browser.conftest import OpenScreen
from tests.browser.e2e.conftest import Compared
from tests.browser.e2e.player import DOUBLE_CONTACT_MS
from tests.browser.server import PATIENCE_S, Server

pytestmark = pytest.mark.browser
CREW = {"TL": "Ada", "AO": "Bea", "AA": "Cy", "DOC": "Dot", "FN": "Eli", "DR": "Flo"}
WEAR = ("Ada", "Bea", "Cy", "Dot", "Eli")
MOST = 60
LOOK = """() => {
  const next = document.querySelector('#next .tap-next');
  return { step: next && [next.dataset.kind, next.querySelector('.tap-label').textContent],
           scrolled: [scrollY, document.documentElement.scrollHeight - innerHeight] };
}"""
GONE = """([before, patience]) => new Promise((done) => {
  const step = () => document.querySelector('#next .tap-next')?.dataset.kind + document.querySelector('#next .tap-label')?.textContent;
  const look = () => { if (step() !== before) { watcher.disconnect(); done(true); } };
  const watcher = new MutationObserver(look);
  watcher.observe(document.body, { subtree: true, childList: true, characterData: true, attributes: true });
  setTimeout(done, patience, false);
  look();
})"""
"""Until another next step stands there, without asking again and again."""


def dressed(server: Server, procedure: str, age: str) -> str:
    """A case whose crew has been dressed and checked and stands at the door."""
    case = server.new_case(f"{procedure[:6]} {age}")
    opening = {"ref": "W1", "procedure": procedure, "age": age, "precaution": "airborne", "urgency": "urgent"}
    checks = (("check.done", {"phase": "don", "checker": "Flo", "subject": p, "result": "pass"}) for p in WEAR)
    starts = (("don.start", {"p": p, "ens": "airborne"}) for p in WEAR)
    server.say(case, ("case.open", opening), ("role.assign", CREW), *starts, *checks)
    return case


def walk(page: Page, stored: Callable[[], int]) -> tuple[list[tuple[str, str]], list[str]]:
    """The next steps in the order in which they were tapped, and where the page did not fit its screen."""
    taken, scrolled = [], []
    for _ in range(MOST):
        found: dict[str, Any] = page.evaluate(LOOK)
        if found["scrolled"] != [0, 0]:
            scrolled.append(f"{found['step']}: {found['scrolled']}")
        if found["step"] is None:
            return taken, scrolled
        taken.append((found["step"][0], found["step"][1].strip()))
        # The page's clock goes on like any other; only the wait between two touches of one button is passed over.
        # It is compared no more: while it stands a question would find it off by as long as the answer took.
        page.clock.set_fixed_time(datetime.now(UTC))
        page.clock.fast_forward(DOUBLE_CONTACT_MS)
        before, step = stored(), "".join(found["step"])
        page.locator("#next .tap-next").click()
        if not page.evaluate(GONE, [step, PATIENCE_S * 250]):
            # A push drew the button anew under the finger: who sees that nothing came of it touches again.
            assert stored() == before, f"still {found['step']}"
            page.locator("#next .tap-next").click()
            assert page.evaluate(GONE, [step, PATIENCE_S * 1000]), f"still {found['step']}"
    raise AssertionError(f"no end after {taken}")


@pytest.mark.parametrize(
    ("procedure", "age"),
    [
        ("tracheostomy", "adult"),
        ("bronchoscopy", "adult"),
        ("intubation", "child"),
        ("transport", "adult"),
    ],
)
def test_a_procedure_is_walked_to_its_end_by_its_dominant_next_step(
    standing: Server, screen: OpenScreen, procedure: str, age: str
) -> None:
    case = dressed(standing, procedure, age)
    one, compared = screen(standing, "inside"), Compared(in_silence=True)
    compared.watch(one.page)
    page = one.open(f"/inside?case={case}")
    compared.end()
    taken, scrolled = walk(page, lambda: len(standing.entries(case)))
    stages = protocol_for(procedure, age).phases
    wanted = [
        (m.kind, m.label)
        for stage in stages
        for m in stage.milestones
        if m.side == "inside" and m.spine and m.kind not in PERSONAL
    ]
    assert [step for step in taken if step[0] != "room.in"] == wanted
    assert [step[0] for step in taken].count("room.in") == 1
    assert scrolled == []
    assert one.wrong == []
