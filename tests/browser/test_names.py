"""What a screen reader says of each live page, phase by phase, and that no control lacks a name or shares one.

The trees are kept in `tests/golden/names`; `DOORSIDE_NAMES=renew .venv/bin/python -m pytest tests/browser/test_names.py`
writes them anew after a meant change. Times and ids are masked.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from app.base import words
from app.base.text import translations
from app.base.time import utc_now
from app.stations import store as stations
from tests.browser.conftest import OpenScreen
from tests.browser.server import Server

pytestmark = pytest.mark.browser
GOLDEN = Path(__file__).parents[1] / "golden" / "names"
RENEW = os.environ.get("DOORSIDE_NAMES") == "renew"
Said = tuple[str, dict[str, Any]]

OPENED: tuple[Said, ...] = (
    ("case.open", {"ref": "C1", "procedure": "intubation", "precaution": "airborne", "age": "adult"}),
    ("role.assign", {"TL": "Ada", "AO": "Bea", "AA": "Cy", "DOC": "Dot", "DR": "Eli"}),
)
DRESSING: tuple[Said, ...] = (
    *OPENED,
    ("don.start", {"p": "Bea", "ens": "airborne"}),
    ("don.start", {"p": "Cy", "ens": "airborne"}),
)
TROUBLED: tuple[Said, ...] = (
    *DRESSING,
    ("room.in", {"p": "Bea"}),
    ("room.in", {"p": "Cy"}),
    ("monitor.on", {"capno": "waveform"}),
    ("preox.start", {}),
    ("drug.given", {"class": "induction"}),
    ("drug.given", {"class": "relaxant"}),
    ("req.new", {"q": "q1", "item": "Bougie", "urg": "now"}),
    ("req.new", {"q": "q2", "item": "Suction", "urg": "now"}),
    ("vitals", {"spo2": 76, "sbp": 82, "hr": 130}),
    ("scope.start", {"n": 1}),
    ("scope.end", {"n": 1, "result": "no view"}),
    ("rescue.declare", {"plan": "B"}),
)
SETTLED: tuple[Said, ...] = (
    *TROUBLED,
    ("sga.in", {"n": 1}),
    ("co2.yes", {"breaths": 7}),
    ("vent.set", {"vt": 420, "plat": 24, "peep": 8, "fio2": 0.8}),
    *((kind, {"q": "q1"}) for kind in ("req.ack", "req.in", "req.got")),
    ("req.cancel", {"q": "q2"}),
    ("agp.end", {}),
    ("count.done", {"expected": 9, "found": 9}),
    ("room.out", {"p": "Cy"}),
    ("doff.start", {"p": "Cy"}),
)
PHASES: dict[str, tuple[tuple[Said, ...], tuple[str, ...]]] = {
    "opened": (OPENED, ("inside",)),
    "dressing": (DRESSING, ()),
    "troubled": (TROUBLED, ("inside", "wall")),
    "settled": (SETTLED, ("inside", "case")),
    "all": ((), ("outside", "board")),
}
"""Phase -> what was said by then, and the pages that are read; the door and the board read all cases on one page."""
PATHS = {
    "inside": "/inside?case={case}", "outside": "/outside", "board": "/board",
    "wall": "/wall/{case}", "case": "/case/{case}",
}  # fmt: skip

UNFOLD = "() => document.querySelectorAll('main details').forEach((one) => { one.open = true; })"
WITHOUT_NOTICES = """() => document.querySelectorAll('[role="log"], .band-notices, .wall-critical, #record > * > ol:not(.record-line *), #record > ol').forEach((one) => { one.hidden = true; })"""
"""More of them come while the test looks: their names are looked at, what stands there is not kept."""
CONTROLS = """() => {
  const said = (el) => (el?.innerText ?? '').replace(/\\s+/g, ' ').trim();
  const name = (el) => el.ariaLabel || el.getAttribute('aria-labelledby')?.split(' ').map((id) => said(document.getElementById(id))).join(' ')
    || (el.matches('input, select, textarea') ? [...el.labels ?? []].map(said).join(' ') || el.title : said(el));
  const seen = [...document.querySelectorAll('button, a[href], input, select, textarea, summary, [role="button"]')]
    .filter((el) => el.type !== 'hidden' && el.checkVisibility({ visibilityProperty: true }));
  const nameless = seen.filter((el) => !name(el)).map((el) => el.outerHTML.slice(0, 160));
  const same = new Map();
  for (const el of seen) {
    // What stands around it tells it apart: a list, a fold or a form that has a name. Several doors to one thing share one.
    const around = [];
    for (let up = el.parentElement; up; up = up.parentElement) {
      if (up.matches('details') && !el.matches('summary') || up.matches('details') && up !== el.parentElement) around.push(said(up.querySelector('summary')));
      else if (up.matches('[aria-label], [aria-labelledby]')) around.push(name(up));
      else if (up.matches('fieldset')) around.push(said(up.querySelector('legend')));
    }
    const group = around.reverse().join(' > ');
    const does = el.matches('a') ? el.href : el.dataset.kind ? el.dataset.kind + el.dataset.body + el.dataset.case
      : el.matches('summary') ? el.parentElement.id : el.outerHTML;
    const key = `${group}: ${el.tagName.toLowerCase()} “${name(el)}”`;
    same.set(key, (same.get(key) ?? new Set()).add(does));
  }
  return { nameless, shared: [...same].filter(([, does]) => does.size > 1).map(([key, does]) => `${key} ×${does.size}`), count: seen.length, names: seen.map(name) };
}"""


@pytest.fixture(scope="module")
def cases(standing: Server) -> dict[str, str]:
    """A case in each phase."""
    made = {}
    for phase, (said, _pages) in PHASES.items():
        if said:
            made[phase] = standing.new_case()
            (kind, opening), *others = said
            standing.say(made[phase], (kind, {**opening, "ref": f"Bay {phase}"}), *others)
    return made


def trees(page: Page) -> Iterator[str]:
    """The page as a screen reader goes through it, and every sheet that can be laid over it."""
    page.evaluate(WITHOUT_NOTICES)
    yield page.locator("main").aria_snapshot()
    for sheet in page.locator("main [popover]").all():
        key = sheet.get_attribute("id")
        opener = page.locator(f'[popovertarget="{key}"]:not([popovertargetaction])')
        opener.click()
        expect(sheet).to_be_visible()
        yield f"# {key}\n{sheet.aria_snapshot()}"
        page.keyboard.press("Escape")


def masked(text: str) -> str:
    text = re.sub(r"\b\d{1,2} [A-Z][a-z]+ \d{4}\b|\b\d{4}-\d\d-\d\dT?", "<day>", text)
    text = re.sub(r"\b\d\d?:\d\d(:\d\d)?\b", "<time>", text)
    return re.sub(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}|\b01[0-9a-f]{6}\b", "<id>", text)


@pytest.mark.parametrize("phase", [phase for phase, (_said, pages) in PHASES.items() if pages])
def test_every_control_has_a_name_of_its_own_and_the_page_reads_as_it_did(
    standing: Server, screen: OpenScreen, cases: dict[str, str], phase: str
) -> None:
    one, wrong, count = screen(standing, "inside", "outside", "board", "desk"), [], 0
    read: dict[Path, str] = {}
    for name in PHASES[phase][1]:
        page = one.open(PATHS[name].format(case=cases.get(phase)))
        page.evaluate(UNFOLD)
        found = page.evaluate(CONTROLS)
        count += found["count"]
        wrong += [f"{name}: no name: {each}" for each in found["nameless"]]
        wrong += [f"{name}: one name for several: {each}" for each in found["shared"]]
        read[GOLDEN / f"{phase}-{name}.txt"] = masked("\n".join(trees(page))) + "\n"
    assert wrong == []
    assert count > 20
    for kept, tree in read.items():
        if RENEW:
            kept.parent.mkdir(exist_ok=True)
            kept.write_text(tree, "utf-8")
        assert tree == kept.read_text("utf-8"), f"{kept.name} reads otherwise"


def test_controls_have_german_names_on_a_station_that_speaks_german(
    standing: Server, browser: Any, cases: dict[str, str]
) -> None:
    english = {text for text in (message.id for message in words.read("de")) if isinstance(text, str) and text}
    german = translations("de").gettext
    context, wrong, count = browser.new_context(viewport={"width": 1280, "height": 800}), [], 0
    for kind in ("inside", "outside"):
        case = cases["troubled"]
        secret = stations.pair(standing.engine, kind=kind, label=kind, now=utc_now(), cases=(case,), language="de")
        context.add_cookies(
            [{"name": f"doorside_{kind}", "value": secret, "url": standing.address, "sameSite": "Strict"}]
        )
        page = context.new_page()
        page.goto(standing.address + PATHS[kind].format(case=case))
        expect(page.locator("html")).to_have_attribute("lang", "de")
        page.evaluate(UNFOLD)
        found = page.evaluate(CONTROLS)
        count += found["count"]
        wrong += [f"{kind}: {each}" for each in (*found["nameless"], *found["shared"])]
        wrong += [f"{kind}: {name}" for name in found["names"] if name in english and german(name) != name]
    context.close()
    assert wrong == []
    assert count > 60
