"""Every page in every phase, in both languages, by day and on a dim ward, on three screens: readable, whole, touchable.

Each phase is one case with screens of its own. Its pages are loaded once a language; sizes and colours change without.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from app.base.time import utc_now
from app.stations import store as stations
from app.stations.values import KINDS
from tests.browser.looks import SIZES, faults, scheme, unfold, violations
from tests.browser.server import Server

pytestmark = pytest.mark.browser
Said = tuple[str, dict[str, Any]]

AO, AA, TL, DOC, DR = "Hale Mistry", "Luca Brandt", "Yun Castell", "Tomasz Wierzbicki", "Adaeze Nolan"


def opened(procedure: str, **more: Any) -> tuple[Said, ...]:
    case = {"ref": "C 4711", "procedure": procedure, "precaution": "airborne", "age": "adult", **more}
    return (("case.open", case), ("role.assign", {"AO": AO, "AA": AA, "TL": TL, "DOC": DOC, "DR": DR}))


def room(procedure: str, **more: Any) -> tuple[Said, ...]:
    return (
        *opened(procedure, **more),
        ("kit.staged", {"tray": "door", "has": ["fona", "sga"]}),
        *(("don.start", {"p": p, "ens": "airborne"}) for p in (AO, AA, TL, DOC)),
        *(("room.in", {"p": p}) for p in (AO, AA, TL, DOC)),
        ("monitor.on", {"capno": "waveform"}),
    )


def asked(q: str, item: str, urgency: str = "now") -> Said:
    return ("req.new", {"q": q, "item": item, "urg": urgency})


OXYGEN = (*room("intubation"), ("preox.start", {}), ("vitals", {"spo2": 97, "hr": 90}))
INDUCED = (*OXYGEN, ("drug.given", {"class": "induction"}), ("drug.given", {"class": "relaxant"}))
FAILED = (
    *INDUCED, ("scope.start", {"n": 1}), ("scope.end", {"n": 1, "result": "no view"}), ("vitals", {"spo2": 78}),
    ("scope.start", {"n": 2}), ("scope.end", {"n": 2, "result": "tube not passed"}), ("help.call", {"who": "SO"}),
    asked("q1", "Hyperangulated blade and stylet"), ("req.ack", {"q": "q1"}), asked("q2", "Front-of-neck set"),
)  # fmt: skip
SETTLED = (
    *INDUCED, ("tube.passed", {"size": 7.5}), ("cuff.up", {"cuff": 26}), ("vent.first", {}), ("co2.yes", {}),
    ("tube.secured", {"depth": 22}), ("vent.set", {"vt": 420, "plat": 28, "peep": 8, "fio2": 0.8}),
)  # fmt: skip
LEAVING = (*SETTLED, ("agp.end", {}), ("count.done", {"expected": 9, "found": 8, "lost": ["wire"]}))
PHASES: dict[str, tuple[Said, ...]] = {
    "planned": opened("intubation"),
    "dressing": (
        *opened("intubation"),
        ("comms.test", {"result": "ok"}),
        *(("don.start", {"p": p, "ens": "airborne"}) for p in (AO, AA)),
        ("check.start", {"phase": "don", "checker": DR, "subject": AO}),
        ("check.done", {"phase": "don", "checker": DR, "subject": AO, "result": "pass"}),
    ),
    "oxygen": OXYGEN,
    "attempt": (*INDUCED, ("scope.start", {"n": 1}), asked("q1", "Flexible bronchoscope"), ("vitals", {"spo2": 76})),
    "failed twice": FAILED,
    "plan B": (*FAILED, ("rescue.declare", {"plan": "B"}), ("sga.in", {"n": 1}), ("co2.no", {"device": "sga"})),
    "plan D": (*FAILED, ("rescue.declare", {"plan": "D"}), ("fona.start", {})),
    "settled": (*SETTLED, ("breach", {"p": AA, "grade": "major"}), asked("q1", "X-ray with its plate covered", "soon")),
    "leaving": (*LEAVING, ("room.out", {"p": AA}), ("doff.start", {"p": AA, "checker": DR}), ("room.out", {"p": AO})),
    "closed": (*LEAVING, *(("room.out", {"p": p}) for p in (AO, AA, TL, DOC)), ("case.close", {})),
    "extubation": (*room("extubation"), ("ext.out", {"cuff": "deflated"}), ("vitals", {"spo2": 88})),
    "tracheostomy": (*room("tracheostomy"), ("tr.trial", {"result": "pass"}), ("tr.incise", {"p": AO}), ("tr.open", {})),
    "bronchoscopy": (*room("bronchoscopy"), ("br.in", {"scope": "single-use"}), asked("q1", "Sample set", "soon")),
    "transport": (
        *room("transport", tx_min=20, o2_lpm=15), ("clamp.on", {}), ("circuit.off", {}), ("circuit.on", {}),
        ("o2.check", {"litres": 280}), ("tx.depart", {}),
    ),
    "child": (*room("intubation", age=4), ("drug.given", {"class": "induction"}), ("scope.start", {"n": 1})),
}  # fmt: skip
PAGES = {
    "inside": "/inside?case={case}",
    "outside": "/outside",
    "board": "/board",
    "wall": "/wall/{case}",
    "case": "/case/{case}",
}
FAR = {
    "inside": (".time-huge", ".figure-large", ".tap-next", ".heading .room", ".notice-words", ".asked p"),
    "outside": (".wanted-what", ".wanted .tap-next", ".notice-words", ".room-line .room"),
    "board": (".band .room", ".band .figure-words", ".time-large", ".band-notices li", ".band-people p"),
    "wall": (".wall-room", ".wall-time", ".wall-figure", ".wall-next", ".wall-asks", ".wall-critical", ".caption"),
    "case": (),
}
"""Page to what somebody reads on it from a distance."""
SHOWS_ALL = "attempt"
"""The phase in which all of it is there."""


@pytest.fixture
def case(standing: Server, request: pytest.FixtureRequest) -> Iterator[str]:
    """A case in the phase of the test; closed afterwards, so that other boards are free of it."""
    made = standing.new_case()
    standing.say(made, *PHASES[request.getfixturevalue("phase")])
    yield made
    standing.say(made, ("case.close", {}))


EACH_RUN = ("planned", "attempt", "plan D", "leaving", "extubation")
"""The phases that every run of the tests looks at; the others are looked at with DOORSIDE_LONG=yes."""
assert set(EACH_RUN) < set(PHASES)
SHORT = () if os.environ.get("DOORSIDE_LONG") == "yes" else ("en",)
"""Languages that a short run looks at on the two pages at the door alone, as they are loaded: German words are longer."""


@pytest.mark.parametrize(
    "phase", [pytest.param(name, marks=() if name in EACH_RUN else pytest.mark.long) for name in PHASES]
)
def test_every_page_is_readable_whole_and_touchable(standing: Server, case: str, screen: Any, phase: str) -> None:
    wrong: list[str] = []
    one = screen(standing)
    for language in ("en", "de"):
        one.page.goto("about:blank")  # what an open page still asks for would be asked as another screen
        now = utc_now()
        for kind in KINDS:
            secret = stations.pair(standing.engine, kind=kind, label=kind, now=now, cases=(case,), language=language)
            cookie = {"name": f"doorside_{kind}", "value": secret, "url": standing.address, "sameSite": "Strict"}
            one.context.add_cookies([cookie])
        for name in ("inside", "outside") if language in SHORT else PAGES:
            page = one.open(PAGES[name].format(case=case))
            expect(page.locator("html")).to_have_attribute("lang", language)
            found = faults(page)[0] if language in SHORT else looked_at(page, name, phase)
            wrong += [f"{name} {language} {each}" for each in found]
    assert wrong == []
    assert one.wrong == []


def looked_at(page: Page, name: str, phase: str) -> list[str]:
    """On each screen, by day and by night, folded and unfolded."""
    wrong = []
    for size in SIZES:
        page.set_viewport_size(size)
        at = f"{size['width']}x{size['height']}"
        wrong += [f"{at} {each}" for each in faults(page)[0]]
        if name == "inside":
            below = page.evaluate("document.documentElement.scrollHeight - innerHeight")
            wrong += [f"{at} goes on below by {below}"] if below > 0 else []
    page.set_viewport_size(SIZES[0])
    unfold(page)
    scheme(page, "dark")
    wrong += [f"dark {each}" for each in faults(page)[0]]
    scheme(page, "light")
    found, seen = faults(page, far=FAR[name])
    if phase == SHOWS_ALL:
        wrong += [f"nothing to read: {each}" for each in FAR[name] if each not in seen]
    return wrong + found + violations(page)


CLEAR = """() => {
  const bar = document.querySelector('#undo'), seen = (el) => el.checkVisibility() && !el.closest('.screen-button');
  const all = [...document.querySelectorAll('main :is(button, a[href], input, select, summary)')].filter(seen);
  const low = (el) => el.getBoundingClientRect().bottom, last = all.reduce((one, two) => (low(two) > low(one) ? two : one));
  document.querySelector('.undo-what').textContent = 'Spatel mit starker Krümmung und Führungsstab bereitgelegt';
  bar.hidden = false;
  const top = bar.getBoundingClientRect().top, over = () => Math.max(0, low(last) - top);
  document.documentElement.style.scrollBehavior = 'auto';
  scrollTo(0, document.documentElement.scrollHeight);
  const scrolled = over();
  scrollBy(0, low(last) - innerHeight);  // just behind the bar
  last.blur();
  last.focus();
  return [document.documentElement.scrollHeight > innerHeight, scrolled, over()];
}"""
"""How much of a page's last control the bar of the last tap covers: scrolled to the end, and reached by keyboard."""


@pytest.mark.parametrize("phase", ["leaving"])
def test_the_bar_of_the_last_tap_leaves_the_last_control_free(
    standing: Server, case: str, screen: Any, phase: str
) -> None:
    one = screen(standing, "outside", "board", "desk")
    for name in ("outside", "board", "case"):
        page = one.open(PAGES[name].format(case=case))
        for size in SIZES[:2]:
            page.set_viewport_size(size)
            long, *covered = page.evaluate(CLEAR)
            assert covered == [0, 0], (name, size)
            assert long or name == "board", (name, size)


WRONG = {
    "scrolls sideways": '<p style="width: 1400px">wide</p>',
    "cut": '<h2 style="width: 60px; overflow: hidden; white-space: nowrap">longer than its box</h2>',
    "torn": '<p class="caption" style="width: 60px; overflow-wrap: anywhere">Hochfrequenzbeatmung</p>',
    "sticks out": '<li style="width: 60px">Hochfrequenzbeatmung</li>',
    "small": '<button style="width: 50px; height: 57px"></button>',
    "close": "<button></button><button></button>",
    "tiny": '<p style="font-size: 16px">small</p>',
    "pale": '<p class="caption" style="color: #999">pale</p>',
}
PLAIN = "<style>* { margin: 0; padding: 0; font-size: 17px } button { width: 57px; height: 57px; border: 0; vertical-align: top }</style>"


@pytest.mark.parametrize("fault", WRONG)
def test_each_fault_of_a_page_is_found_and_a_sound_one_has_none(browser: Browser, fault: str) -> None:
    page = browser.new_page(viewport=SIZES[0])
    page.set_content(f'{PLAIN}<body data-page="inside"><button></button><p class="caption">Hochfrequenz</p></body>')
    assert faults(page) == ([], set())
    page.set_content(f'{PLAIN}<body data-page="inside">{WRONG[fault]}</body>')
    assert any(one.startswith(fault) for one in faults(page)[0]), faults(page)
    page.close()
