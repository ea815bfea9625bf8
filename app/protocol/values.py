"""What a protocol is: frozen plain values, read from YAML by `read.py` and rebuilt from stored text the same way.

Times are in seconds where the name ends in `_s`; every other unit stands in the field's description or, for rule
thresholds, at the end of its name. Lists are in the order in which things are done.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Annotated, Any

from pydantic import Field

from app.protocol.equipment import STRICT, Ensemble, Tray
from app.protocol.words import (
    Age,
    Audience,
    Kind,
    Label,
    Level,
    MatchText,
    Procedure,
    RoleCode,
    RuleNumber,
    Sentence,
    Side,
    Slug,
    Source,
    Urgency,
)

Day = Annotated[date, Field(description="YYYY-MM-DD")]
Seconds = Annotated[int, Field(ge=0, le=86_400)]
Preset = str | Annotated[int, Field(ge=-(10**9), le=10**9)] | float | bool
Texts = tuple[Sentence, ...]


@dataclass(frozen=True, slots=True)
class Target:
    """What is aimed at for a milestone, in words, and in seconds where it is a time.

    counted_from  the milestone from which the seconds run; without it, from the milestone itself until it ends
    rule          the rule that watches it, if any: its threshold is the limit in force, this text the aim
    """

    __pydantic_config__ = STRICT
    text: Sentence
    source: Source
    at_least_s: Seconds | None = None
    at_most_s: Seconds | None = None
    counted_from: MatchText | None = None
    rule: RuleNumber | None = None


@dataclass(frozen=True, slots=True)
class Milestone:
    """A moment that gets a time, and the button that gives it one.

    body    sent with the tap as it stands; ask: fields that the page offers to fill in, none of them required
    by      the role that says it; side: the station that taps it
    spine   on the line of next steps; otherwise it is offered beside it
    repeat  once, repeat, or each (once for every person concerned)
    after   what should have happened before. Offered as the order, never enforced.
    """

    __pydantic_config__ = STRICT
    kind: Kind
    label: Label
    by: RoleCode
    side: Side
    body: Mapping[str, Preset] = field(default_factory=dict)
    ask: tuple[str, ...] = ()
    spine: bool = True
    repeat: Annotated[str, Field(pattern="^(once|repeat|each)$")] = "once"
    after: tuple[MatchText, ...] = ()
    target: Target | None = None
    if_missed: Sentence | None = None

    @property
    def name(self) -> str:
        """Names this milestone within its protocol: its kind and its preset body, as a `Match` is written."""
        return " ".join((self.kind, "; ".join(f"{key}={value}" for key, value in self.body.items()))).rstrip()

    def fits(self, kind: str, body: Mapping[str, Any]) -> bool:
        """Whether an entry is this milestone: same kind, and every preset field has the preset value."""
        return kind == self.kind and all(body.get(key) == value for key, value in self.body.items())


@dataclass(frozen=True, slots=True)
class RequestChoice:
    """One thing the room can ask for in one tap. kept: where it is found; tray_code: the kit item, if it is one."""

    __pydantic_config__ = STRICT
    item: Label
    kept: Sentence
    urgency: Urgency = "soon"
    kit_code: Slug | None = None


@dataclass(frozen=True, slots=True)
class Phase:
    """A stage of the procedure. The case is in the last phase of which any `begins` has happened."""

    __pydantic_config__ = STRICT
    id: Slug
    title: Label
    begins: tuple[MatchText, ...]
    milestones: tuple[Milestone, ...]
    requests: tuple[RequestChoice, ...] = ()


@dataclass(frozen=True, slots=True)
class RoleSlot:
    """A role of the crew. required: a gap is a warning at the first entry (R01). sign_offs: what its holder has."""

    __pydantic_config__ = STRICT
    role: RoleCode
    side: Side
    required: bool
    does: Sentence
    sign_offs: Texts
    source: Source
    standby: bool = False


@dataclass(frozen=True, slots=True)
class RescueStep:
    """What the department does when it does not go to plan, and what the door does one step ahead.

    answers  the rules whose critical notice opens this step; records: kinds to tap
    """

    __pydantic_config__ = STRICT
    step: Annotated[str, Field(pattern=r"^(A1|A2|B|C|D|[a-z]+(-[a-z]+)*)$")]
    title: Label
    trigger: Sentence
    limit: Sentence
    in_room: Texts
    runner_does: Sentence
    who_comes: Sentence
    source: Source
    ask_for: Texts = ()
    records: tuple[MatchText, ...] = ()
    answers: tuple[RuleNumber, ...] = ()
    limit_s: Seconds | None = None


@dataclass(frozen=True, slots=True)
class Likely:
    """One thing that is probably wanted next, and where it is kept."""

    __pydantic_config__ = STRICT
    item: Sentence
    kept: Sentence


@dataclass(frozen=True, slots=True)
class LookAhead:
    """After this milestone, what is likely next. Shown at the door; never sent by itself.

    offer  an item that room and door may ask for in one tap because of it
    """

    __pydantic_config__ = STRICT
    when: MatchText
    likely: tuple[Likely, ...]
    source: Source
    comes: Sentence | None = None
    offer: Label | None = None


@dataclass(frozen=True, slots=True)
class RuleSetting:
    """How one rule is set in this protocol.

    levels      situation -> severity: N note, W warning, C critical. Names: `known_rules.py`
    thresholds  name with unit last -> number
    next_step   the department's own next step, opened from a critical notice
    why_off     a rule that is switched off says why; it stands in the record
    """

    __pydantic_config__ = STRICT
    levels: Mapping[str, Level]
    audience: tuple[Audience, ...]
    source: Source
    thresholds: Mapping[str, float] = field(default_factory=dict)
    next_step: Sentence | None = None
    on: bool = True
    why_off: Sentence | None = None


@dataclass(frozen=True, slots=True)
class Protocol:
    """One version of one department procedure, whole: nothing else is needed to run or to judge a case.

    anytime  milestones that belong to no phase; they are never on the line of next steps
    rules    every rule R01 to R60, as set for this procedure; sources: code -> full reference
    """

    __pydantic_config__ = STRICT
    id: Slug
    title: Label
    version: Annotated[int, Field(ge=1, le=9999)]
    effective: Day
    review_due: Day
    owner: Sentence
    source: Source
    procedure: Procedure
    ages: Annotated[tuple[Age, ...], Field(min_length=1)]
    phases: Annotated[tuple[Phase, ...], Field(min_length=1)]
    roles: tuple[RoleSlot, ...]
    kit: tuple[Tray, ...]
    ensembles: tuple[Ensemble, ...]
    rescue: tuple[RescueStep, ...]
    rules: Mapping[RuleNumber, RuleSetting]
    sources: Mapping[str, str]
    anytime: tuple[Milestone, ...] = ()
    look_ahead: tuple[LookAhead, ...] = ()
    notes: Texts = ()

    def milestones(self) -> Iterator[tuple[Phase | None, Milestone]]:
        """Every milestone in order with its phase; those that may come at any time last, with None."""
        yield from ((phase, milestone) for phase in self.phases for milestone in phase.milestones)
        yield from ((None, milestone) for milestone in self.anytime)

    def phase_of(self, happened: Iterable[tuple[str, Mapping[str, Any]]]) -> Phase:
        """The stage that a case has reached by these entries (kind, body), in any order: the furthest one begun."""
        entries = tuple(happened)
        begun = [p for p in self.phases if any(begin.fits(*entry) for begin in p.begins for entry in entries)]
        return begun[-1] if begun else self.phases[0]

    def tray(self, code: str) -> Tray | None:
        """The tray of that code, or None."""
        return next((tray for tray in self.kit if tray.code == code), None)

    def ensemble(self, code: str) -> Ensemble | None:
        """The ensemble of that code, or None."""
        return next((ensemble for ensemble in self.ensembles if ensemble.code == code), None)

    def next_after(self, kind: str, body: Mapping[str, Any]) -> tuple[LookAhead, ...]:
        """What is likely next after this entry, most specific first."""
        found = [ahead for ahead in self.look_ahead if ahead.when.fits(kind, body)]
        return tuple(sorted(found, key=lambda ahead: -len(ahead.when.tests)))

    def answer_to(self, rule: str) -> RescueStep | None:
        """The department's own step for a rule's critical notice, if it has one."""
        return next((step for step in self.rescue if rule in step.answers), None)
