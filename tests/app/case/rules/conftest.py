"""A case written as lines of a scenario file, judged live and final."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from app.base.moments import moment_text, seconds_between
from app.case.rules import judge
from app.case.rules.day import Day, Life
from app.case.rules.judgement import Judgement
from app.case.rules.notice import Notice
from app.case.rules.settings import SettingsOf, built_in
from app.drill.differences import clock
from app.drill.scenario import read
from app.drill.taps import case_ids, posts
from app.drill.values import Scenario
from app.journal.entry import Entry

SCENARIOS = Path(__file__).parents[3] / "scenarios"
HEADER = """
case  | A | date=2026-11-03; t0=10:00; pathogen=tuberculosis; precaution=airborne; procedure=intubation; age=adult; \
urgency=urgent; difficult=no; ach=12; clear=99.9; shift_end=20:00; pbw=70
staff | P1 | job=doctor; resp=tight:K2; fit=K2:2026-05-01; drill=2026-05-01; immune=yes
staff | P2 | job=assistant; resp=tight:K2; fit=K2:2026-05-01; drill=2026-05-01; immune=yes
staff | P3 | job=leader; resp=hood; drill=2026-05-01; immune=yes
staff | P4 | job=nurse; resp=tight:K2; fit=K2:2026-05-01; drill=2026-05-01; immune=yes
staff | P5 | job=runner; resp=none; drill=2026-05-01; immune=yes
staff | P6 | job=runner; resp=none; drill=2026-05-01; immune=yes
"""
PLANNED = """
00:00 | CA | case.open | ref=A
00:10 | CA | role.assign | AO=P1; AA=P2; TL=P3; DOC=P4; DR=P5
00:20 | DR | kit.staged | tray=clean; missing=none
00:21 | DR | kit.staged | tray=door; has=fona,sga,bougie; missing=none
00:22 | DR | room.ready | pressure=-8; ach=12
00:23 | TL | plan.set | steps=ABCD; A=video; B=SGA; C=mask; D=scalpel-bougie
00:24 | TL | brief.done | secs=60
00:25 | DOC | comms.test | result=ok
"""
DRESSED = """
00:30 | DR | don.start | p=P1,P2,P3,P4; ens=airborne
00:50 | DR | check.done | phase=don; checker=P5; subject=P1; start=00:40; seal=pass; result=pass
01:10 | DR | check.done | phase=don; checker=P5; subject=P2; start=01:00; seal=pass; result=pass
01:30 | DR | check.done | phase=don; checker=P5; subject=P3; start=01:20; result=pass
01:50 | DR | check.done | phase=don; checker=P5; subject=P4; start=01:40; seal=pass; result=pass
"""
INSIDE = PLANNED + DRESSED + "02:00 | DOC | room.in | p=P1,P2,P3,P4\n"
INDUCED = (
    INSIDE
    + """
02:10 | DOC | monitor.on | capno=waveform
02:20 | DOC | preox.start | device=mask
02:30 | DOC | vitals | spo2=98; sbp=120
06:00 | DOC | drug.given | class=induction
"""
)
INTUBATED = (
    INDUCED
    + """
07:00 | DOC | scope.start | n=1
07:30 | DOC | tube.passed | size=8.0
07:31 | DOC | scope.end | n=1; result=tube
07:40 | DOC | cuff.up | cuff=25
07:50 | DOC | vent.first | via=ventilator
08:10 | DOC | co2.yes | breaths=7
"""
)


@dataclass(frozen=True)
class Judged:
    """What came of a case: notices as `mm:ss RULE SEVERITY subject`, by time, then rule.

    raised  each notice of the day with its params as text writes them (`told`), in the order of `live`
    """

    live: list[str]
    final: list[str]
    lives: tuple[Life, ...]
    notices: tuple[Notice, ...]
    day: Day
    raised: tuple[tuple[Notice, dict[str, Any]], ...] = ()

    def of(self, rule: str) -> list[str]:
        """What stands of one rule."""
        return [line for line in self.final if f" {rule} " in line]

    def life(self, rule: str) -> Life:
        """The life of the one notice of a rule."""
        (found,) = [life for life in self.lives if life.notice.rule == rule]
        return found


def entries_of(scenario: Scenario) -> dict[str, list[Entry]]:
    """The scenario's entries by case id, in order of arrival. Their chain is of no interest here."""
    found: dict[str, list[Entry]] = {case: [] for case in case_ids(scenario).values()}
    for post in posts(scenario):
        for made in post.made:
            kept = found[made.tap.case]
            kept.append(Entry(made.tap, made.facts, len(kept) + 1, moment_text(post.received), "", ""))
    return found


def line(scenario: Scenario, notice: Notice) -> str:
    subject = notice.subject
    for handle, case in case_ids(scenario).items():
        subject = subject.replace(case, handle)
    start = next(iter(scenario.cases.values())).t0
    return f"{clock(seconds_between(start, notice.at))} {notice.rule} {notice.severity} {subject}".strip()


def told(scenario: Scenario, notice: Notice) -> dict[str, Any]:
    """A notice's params as text writes them: moments as mm:ss, cases by their handles, entries by their kind."""
    start = next(iter(scenario.cases.values())).t0
    handles = {case: handle for handle, case in case_ids(scenario).items()}
    handles |= {made.tap.id: made.tap.kind for post in posts(scenario) for made in post.made}

    def plain(value: Any) -> Any:
        if isinstance(value, datetime):
            return clock(seconds_between(start, value))
        if isinstance(value, list | tuple):
            return [plain(one) for one in value]
        return handles.get(value, value) if isinstance(value, str) else value

    return {name: plain(value) for name, value in notice.params.items()}


def judged(scenario: Scenario, settings_of: SettingsOf = built_in, until: datetime | None = None) -> Judged:
    entries = entries_of(scenario)
    day = judge.day(entries, until or scenario.end, settings_of)
    final = judge.standing(entries, until or scenario.end, settings_of)
    return Judged(
        [line(scenario, notice) for notice in day.notices()],
        [line(scenario, notice) for notice in final],
        day.lives(),
        final,
        day,
        tuple((notice, told(scenario, notice)) for notice in day.notices()),
    )


@pytest.fixture(scope="session")
def judge_case() -> Callable[..., Judged]:
    """Judges a case from lines; `start` is how far it has come before them, `extra` adds to its set-up."""

    def judge_it(lines: str, *, start: str = "planned", extra: str = "", staff: str = "", **kw: SettingsOf) -> Judged:
        starts = {"": "00:00 | CA | case.open | ref=A\n", "planned": PLANNED, "dressed": PLANNED + DRESSED,
                  "inside": INSIDE, "induced": INDUCED, "intubated": INTUBATED}  # fmt: skip
        line, _, others = HEADER.strip().partition("\n")
        before, _, setup = line.rpartition("| ")
        values = dict(part.split("=", 1) for part in [*setup.split("; "), *filter(None, extra.split("; "))])
        header = f"{before}| {'; '.join(f'{name}={value}' for name, value in values.items())}\n{others}\n"
        return judged(read(f"{header}{staff}\n{starts[start]}{lines}\n"), **kw)

    return judge_it


@pytest.fixture(scope="session")
def scenario_files() -> Mapping[str, Scenario]:
    """The seven worked scenarios by file name."""
    return {path.stem: read(path.read_text("utf-8"), path.stem) for path in sorted(SCENARIOS.glob("s[1-7]-*.scenario"))}


@pytest.fixture(scope="session")
def tools() -> type[Tools]:
    return Tools


class Tools:
    """What tests of whole scenarios need of this file."""

    entries_of = staticmethod(entries_of)
    judged = staticmethod(judged)
    line = staticmethod(line)

    @staticmethod
    def judgement(entries: Sequence[Entry]) -> Judgement:
        return Judgement().with_entries(entries)
