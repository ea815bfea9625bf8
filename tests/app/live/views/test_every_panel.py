"""Every panel draws for every protocol in the library and in every state of a case; each has its own test file."""

import re
from pathlib import Path

import pytest

from app.live.panels import PAGES, PANELS
from app.protocol.library import protocols
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, Said, html, now

STATES: dict[str, tuple[Said, ...]] = {
    "empty": (),
    "named": (CREW,),
    "inside": (CREW, *GOES_IN),
    "airway": (CREW, *GOES_IN, ("drug.given", {"class": "induction"}), ("scope.start", {"n": 1})),
    "rescue": (CREW, *GOES_IN, ("rescue.declare", {"plan": "C"}), ("sga.in", {"n": 1, "size": "4"})),
    "proven": (CREW, *GOES_IN, ("tube.passed", {"size": 7.5}), ("vent.first", {}), ("co2.yes", {"breaths": 7})),
    "lost": (CREW, ("net.down", {"device": "X1"})),
    "closed": (CREW, *GOES_IN, ("case.close", {}), ("case.sign", {})),
    "aborted": (CREW, *GOES_IN, ("case.abort", {"why": "well again"})),
    "corrected": (CREW, ("tap.fix", {"ref": "e1", "at": "2026-11-03T13:00:00Z"}), ("tap.void", {"ref": "e2"})),
}


@pytest.mark.parametrize("panel", sorted(PANELS))
@pytest.mark.parametrize("protocol", protocols(), ids=lambda protocol: protocol.id)
def test_a_panel_draws_for_every_protocol_in_every_state(panel: str, protocol: object) -> None:
    opening = ("case.open", {"procedure": protocol.procedure, "age": protocol.ages[0]})  # type: ignore[attr-defined]
    for name, said in STATES.items():
        drawn = html(panel, now(opening, *said, judged_after_s=3600))
        assert f'id="{panel}"' in drawn.split(">", 1)[0], name


@pytest.mark.parametrize("panel", sorted(PANELS))
def test_a_panel_draws_for_a_case_that_has_no_entry(panel: str) -> None:
    assert html(panel, now())


@pytest.mark.parametrize("panel", sorted({*PAGES["outside"], *PAGES["board"]}))
def test_a_panel_of_several_cases_draws_for_none_and_for_many(panel: str) -> None:
    assert html(panel)
    assert html(panel, *(now(OPEN, CREW, case=f"case {n}", room=f"Room {n}") for n in range(30)))


@pytest.mark.parametrize("panel", sorted(PANELS))
def test_no_id_stands_twice_in_a_panel(panel: str) -> None:
    said = (OPEN, *STATES["airway"], ("req.new", {"q": "q1", "item": "tube"}), ("req.new", {"q": "q2", "item": "tube"}))
    found = re.findall(r'\sid="([^"]+)"', html(panel, now(*said, judged_after_s=600)))
    assert len(found) == len(set(found))


def test_every_panel_has_a_test_of_its_own() -> None:
    here = {path.stem.removeprefix("test_") for path in Path(__file__).parent.glob("test_*.py")}
    assert PANELS.keys() <= here
