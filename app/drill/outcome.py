"""What a played scenario came to: read back from the journal, folded, judged, measured, and compared.

The result is the JSON object of `vocabulary.md`. Handles of the file stand in it, never the ids of this run.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Engine

from app.base.moments import seconds_between, whole_second
from app.base.text import translations
from app.case.fold import fold
from app.case.intervals import intervals
from app.case.life import life, phase
from app.case.rules.judge import live, standing
from app.case.rules.notice import Notice
from app.case.state import State
from app.drill import differences
from app.drill.differences import Difference
from app.drill.player import LAST_MICROSECOND
from app.drill.taps import case_ids
from app.drill.values import Scenario
from app.journal import store
from app.journal.keys import PublicKey
from app.journal.verify import verify


@dataclass(frozen=True, slots=True)
class Outcome:
    """One playing of a file.

    chain      "ok", or what `verify` found
    live, final, intervals, state   in the JSON forms of `vocabulary.md`, seconds from the case's t0; a notice also has
               `late`, which only the text for people shows
    """

    scenario: str
    entries: int
    chain: str
    live: list[dict[str, Any]]
    final: list[dict[str, Any]]
    intervals: dict[str, dict[str, Any]]
    state: dict[str, dict[str, Any]]
    differences: tuple[Difference, ...]

    @property
    def ok(self) -> bool:
        return self.chain == "ok" and not self.differences

    def shape(self) -> dict[str, Any]:
        """The JSON object that `doorside replay --json` prints."""
        return {
            "scenario": self.scenario,
            "ok": self.ok,
            "entries": self.entries,
            "chain": self.chain,
            "live": [_public(one) for one in self.live],
            "final": [_public(one) for one in self.final],
            "intervals": self.intervals,
            "state": self.state,
            "differences": [one.shape() for one in self.differences],
        }


def _public(notice: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in notice.items() if name != "late"}


def outcome(
    scenario: Scenario, engine: Engine, trusted: PublicKey, *, in_order: bool = True, language: str = "en"
) -> Outcome:
    """Reads the scenario's cases back from a database and judges them.

    in_order  False after a shuffled playing: what was raised on the day then depends on that day, so the file's live
              list is not compared; the final record is
    """
    ids = case_ids(scenario)
    entries = {case_id: store.entries(engine, case_id) for case_id in ids.values()}
    now = scenario.end + LAST_MICROSECOND
    words = _Words(scenario, ids, language)
    raised = words.notices(live(entries, now))
    final = words.notices(standing(entries, now))
    states = {handle: fold(case_id, entries[case_id]) for handle, case_id in ids.items()}
    measured = {handle: intervals(state, scenario.cases[handle].t0) for handle, state in states.items()}
    report = verify(engine, trusted)
    expected = scenario.expected
    found = (
        *(differences.notices("live", expected.live, raised) if in_order else ()),
        *differences.notices("final", expected.final, final),
        *differences.intervals(expected.intervals, measured),
    )
    return Outcome(
        scenario=scenario.name,
        entries=sum(len(of_case) for of_case in entries.values()),
        chain="ok" if report.finding is None else report.finding.says,
        live=raised,
        final=final,
        intervals=measured,
        state={handle: state_shape(state) for handle, state in states.items()},
        differences=found,
    )


class _Words:
    """Notices in the file's own terms: handles for ids, seconds for moments, sentences for message ids."""

    def __init__(self, scenario: Scenario, ids: Mapping[str, str], language: str) -> None:
        self._handles = {case_id: handle for handle, case_id in ids.items()}
        self._t0 = {case_id: scenario.cases[handle].t0 for handle, case_id in ids.items()}
        self._language = language

    def notices(self, raised: Iterable[Notice]) -> list[dict[str, Any]]:
        """In order of time, then rule."""
        return [self._shape(notice) for notice in sorted(raised, key=lambda notice: notice.order)]

    def _shape(self, notice: Notice) -> dict[str, Any]:
        return {
            "case": self._handles[notice.case],
            "at_s": self._second(notice.case, notice.at),
            "rule": notice.rule,
            "severity": notice.severity,
            "subject": self._plain(notice.subject),
            "text": self._plain(sentence(notice, self._language)),
            "late": notice.late,
        }

    def _second(self, case: str, at: datetime) -> int:
        return int(seconds_between(self._t0[case], whole_second(at)))

    def _plain(self, text: str) -> str:
        for case_id, handle in self._handles.items():
            text = text.replace(case_id, handle)
        return text


def sentence(notice: Notice, language: str = "en") -> str:
    """The words of a notice; people, requests and cases by id."""
    message: str = translations(language).gettext(notice.message)
    return message.format(**{name: _said(value) for name, value in notice.params.items()})


def _said(value: Any) -> str:
    if isinstance(value, str):
        return value
    if isinstance(value, Sequence):
        return ", ".join(_said(part) for part in value)
    return f"{value:g}" if isinstance(value, float) else str(value)


def state_shape(state: State) -> dict[str, Any]:
    """A state as `replay --json` shows it: what two runs must agree on, people and requests by handle."""
    places = {place: {item: _whole(n) for item, n in items.items()} for place, items in state.places.items() if items}
    return {
        "id": state.case,
        "state": str(life(state)),
        "phase": phase(state),
        "inside": list(state.inside),
        "places": {"clean": {}, "soiled": {}, **places},
        "requests": {request.q: str(request.state) for request in state.open_requests},
        "attempts": len(state.attempts),
        "exposures": list(state.exposures),
    }


def _whole(figure: float) -> int | float:
    return int(figure) if figure == int(figure) else figure
