"""Every panel in every state on one page, for whoever restyles them and for the tests that photograph them.

The states come from a whole case played in memory and stopped at telling moments; nothing is stored.
"""

from __future__ import annotations

from functools import cache

from fastapi import Request
from fastapi.responses import HTMLResponse

from app.base.errors import Unknown
from app.base.time import utc_now
from app.case.fold import Record
from app.case.rules.judge import status
from app.drill.department import FILES
from app.drill.scenario import read_file
from app.drill.taps import posts
from app.journal.entry import Entry
from app.live.now import CaseNow
from app.live.panels import PAGES, PANELS
from app.web.deps import live_of
from app.web.pages.frame import show

ROOM, LEAVING, JOURNEY = "room-2.scenario", "room-1.scenario", "journey.scenario"
MOMENTS = (
    ("nothing said yet", ROOM, 0),
    ("dressing", ROOM, 26),
    ("before the airway step", ROOM, 40),
    ("attempt under way", ROOM, 48),
    ("in trouble", ROOM, 55),
    ("undressing", LEAVING, 64),
    ("on the way", JOURNEY, 10_000),
    ("everything over", ROOM, 10_000),
)
"""What a state shows, of which file, and how many of its entries have happened by then."""


@cache
def _samples() -> tuple[tuple[str, CaseNow], ...]:
    found = []
    for title, name, count in MOMENTS:
        scenario = read_file(FILES / name)
        made = [(one, post.received) for post in posts(scenario) for one in post.made][:count]
        entries = tuple(
            Entry(one.tap, one.facts, seq, received.isoformat().replace("+00:00", "Z"), "", "")
            for seq, (one, received) in enumerate(made, start=1)
        )
        record = Record.of("sample", entries)
        now = entries[-1].received if entries else scenario.end
        lives = status({"sample": entries}, now)
        found.append((title, CaseNow("sample", record.now, record.history, count, lives, entries)))
    return tuple(found)


async def style(request: Request, state: int = 3) -> HTMLResponse:
    """All panels in one state, with the others to choose from. Clocks stand still at the state's own moment."""
    samples = _samples()
    if not 0 <= state < len(samples):
        raise Unknown("There is no such state.", do="Choose one of the list.")
    title, case = samples[state]
    environment = live_of(request).drawing.environment("en")
    names = tuple(dict.fromkeys(name for page in PAGES.values() for name in page))
    drawn = [
        (name, environment.get_template(f"panels/{name}.html").render(view=PANELS[name].view((case,))))
        for name in names
    ]
    now = case.entries[-1].received if case.entries else utc_now()
    return show(request, "style.html", title=title, titles=[name for name, _ in samples], drawn=drawn, now=now)
