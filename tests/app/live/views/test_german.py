"""A station that speaks German shows no English text of the product: whole scenarios, every panel."""

from __future__ import annotations

from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from app.base import words
from app.base.database import migrate, open_engine
from app.base.moments import parse_moment
from app.case.fold import Record
from app.case.rules.judge import status
from app.cli.replay import played
from app.drill.outcome import case_ids
from app.drill.scenario import read_file
from app.journal import store as journal
from app.journal.entry import Entry
from app.journal.keys import ServerKey
from app.live.cases import LiveCase
from app.live.drawing import Drawing
from app.live.now import CaseNow
from app.live.panels import PANELS

SCENARIOS = Path(__file__).parents[3] / "scenarios"
EVERY = 9
"""Panels are looked at after so many entries each, and at the end."""


class Seen(HTMLParser):
    """Texts that a reader sees or hears."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.texts.update(value for name, value in attrs if name in ("aria-label", "title", "placeholder") and value)

    def handle_data(self, data: str) -> None:
        self.texts.add(" ".join(data.split()))


def german() -> dict[str, str]:
    """English text to German text, where they differ."""
    catalogue = ((message.id, message.string) for message in words.read("de"))
    return {text: said for text, said in catalogue if isinstance(text, str) and text and text != said}


def seen(kept: tuple[Entry, ...], drawing: Drawing) -> set[str]:
    case = kept[0].tap.case
    judged = status({case: kept}, parse_moment(kept[-1].received_at))
    now = replace(CaseNow.of(case, LiveCase(Record.of(case, kept), revision=len(kept))), notices=judged)
    reader = Seen()
    for panel in PANELS:
        reader.feed(drawing.panel(panel, [now], "de"))
    return reader.texts


@pytest.mark.parametrize("name", ["s2-", "s4-", "s6-"])
def test_no_text_of_the_product_stays_english(name: str, sqlite_url: str) -> None:
    scenario = read_file(next(SCENARIOS.glob(f"{name}*.scenario")))
    migrate(sqlite_url)
    engine = open_engine(sqlite_url)
    try:
        played(scenario, engine, ServerKey.generate())
        entries = tuple(journal.entries(engine, case_ids(scenario)["A"]))
    finally:
        engine.dispose()
    drawing, other = Drawing(ZoneInfo("Europe/Berlin")), german()
    found = set[str]()
    for count in {*range(1, len(entries), EVERY), len(entries)}:
        found |= seen(entries[:count], drawing)
    assert len(found) > 200
    assert {text: other[text] for text in found if text in other} == {}
    assert not [text for text in found if "Project-Id-Version" in text], "nothing said is nothing, not a file's head"
