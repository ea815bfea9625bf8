"""Drawing: what looks as before is not set out again."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from app.live.drawing import Drawing
from app.live.now import CaseNow
from tests.app.live.room import UTC_ZONE
from tests.app.live.views.scene import CREW, OPEN, now


@pytest.fixture
def drawing() -> Drawing:
    return Drawing(UTC_ZONE)


@pytest.fixture
def set_out(drawing: Drawing, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Names of the templates that are set out."""
    names: list[str] = []
    environment = drawing.environment("en")
    real = environment.get_template

    def get_template(name: Any, *args: Any, **others: Any) -> Any:
        names.append(str(name))
        return real(name, *args, **others)

    monkeypatch.setattr(environment, "get_template", get_template)
    return names


def twenty() -> list[CaseNow]:
    return [now(OPEN, CREW, case=f"C{n}", room=f"Room {n}") for n in range(10, 30)]


def test_a_change_in_one_of_twenty_cases_sets_out_one_band_of_the_board(drawing: Drawing, set_out: list[str]) -> None:
    cases = twenty()
    first = drawing.panel("board", cases, "en")
    assert set_out.count("parts/_band.html") == 20
    set_out.clear()
    changed = now(OPEN, CREW, ("vitals", {"spo2": 95}), case="C15", room="Room 15")
    cases[5] = replace(changed, revision=cases[5].revision + 1)
    second = drawing.panel("board", cases, "en")
    assert set_out.count("parts/_band.html") == 1
    assert second != first
    assert second == Drawing(UTC_ZONE).panel("board", cases, "en"), "as one who draws everything anew sees it"


def test_a_revision_that_shows_nothing_new_sets_out_nothing(drawing: Drawing, set_out: list[str]) -> None:
    case = now(OPEN, CREW)
    before = drawing.panel("board", [case], "en")
    set_out.clear()
    assert drawing.panel("board", [replace(case, revision=case.revision + 1)], "en") == before
    assert set_out == []


def test_a_panel_in_another_language_is_another_drawing(drawing: Drawing) -> None:
    case = now(OPEN, CREW)
    assert drawing.panel("board", [case], "de") != drawing.panel("board", [case], "en")
