"""What rules see and what they say. Plain frozen values."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Literal

from app.base.moments import whole_second
from app.case.happening import Happening
from app.case.state import EMPTY, Person, State
from app.protocol.values import RuleSetting

Severity = Literal["N", "W", "C"]
Settings = Mapping[str, RuleSetting]
"""Rule number to how it is set; complete, all sixty."""
Holds = Callable[[State], bool]
Identity = tuple[str, str, str, str, str]


@dataclass(frozen=True, slots=True)
class Notice:
    """What a rule says of a case.

    at       the whole second in which its cause happened or its limit was passed
    subject  person, request or case by the case's own handles, several joined by ", "; "" = the case itself
    message  message id (English) with named places, filled from params when words are made
    cause    what makes it this notice and not the next of its kind; entry: the entry that caused it
    late     its limit had passed before its entries arrived
    """

    case: str
    rule: str
    severity: Severity
    subject: str
    at: datetime
    message: str
    params: Mapping[str, Any]
    entry: str
    cause: str
    late: bool = False

    @property
    def identity(self) -> Identity:
        """Two notices with the same identity are one: a repeat of a critical is no new notice."""
        return (self.case, self.rule, self.severity, self.subject, self.cause)

    @property
    def order(self) -> tuple[datetime, str, str, str, str]:
        """By time, then rule: the order of every list."""
        return (self.at, self.rule, self.case, self.subject, self.severity)


@dataclass(frozen=True, slots=True)
class Finding:
    """Something a rule found. The engine adds severity and words from settings and catalogue.

    situation  one of the rule's levels; say: which of its sentences
    over       when what it says is no longer so; None = it happened and stays
    once       raised only once under this key, whatever its cause
    """

    rule: str
    situation: str
    entry: str
    cause: str
    subject: str
    say: str
    params: Mapping[str, Any] = EMPTY
    over: Holds | None = None
    once: str | None = None


@dataclass(frozen=True, slots=True)
class Watch:
    """A finding that is due at a whole second, if the state at the end of that second says it is still so."""

    due: datetime
    finding: Finding
    still: Holds


Found = Iterable[Finding | Watch]


@dataclass(frozen=True, slots=True)
class Sight:
    """One happening with the state of its case before and after it, and the settings of the case's protocol."""

    case: str
    before: State
    after: State
    h: Happening
    settings: Settings

    @property
    def body(self) -> Any:
        """The happening's body: a rule is only called for kinds that it names."""
        return self.h.body

    @property
    def second(self) -> datetime:
        return whole_second(self.h.at)

    def limit(self, rule: str, name: str) -> float:
        """A threshold of a rule; its unit is the end of its name."""
        return self.settings[rule].thresholds[name]

    def person(self, p: str) -> Person:
        """Somebody as they are after this happening."""
        return self.after.people.get(p) or Person(p)

    def find(
        self,
        rule: str,
        situation: str,
        subject: str = "",
        *,
        say: str = "",
        over: Holds | None = None,
        cause: str = "",
        **params: Any,
    ) -> Finding:
        """A finding caused by this happening."""
        return Finding(rule, situation, self.h.id, cause or self.h.id, subject, say or situation, params, over)

    def watch(self, seconds: float, finding: Finding, still: Holds) -> Watch:
        """The finding, due so many seconds from this happening [s], if still so then."""
        return Watch(self.second + timedelta(seconds=seconds), finding, still)


Rule = Callable[[Sight], Found]
Table = tuple[tuple[Rule, tuple[str, ...]], ...]
"""Rules with the kinds of happening at which each is asked."""
