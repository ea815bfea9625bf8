"""One case, one happening after another: its state, its watches and the notices that follow.

Frozen, so that the judgement after any happening can be kept. Time is whole seconds. A watch is due at a second and
looks at the state when that second is over, so an entry of the same second may still end it; the next happening of a
later second, or `until`, makes it due. What several cases show together is judged in `judgement`.
"""

from __future__ import annotations

from bisect import insort
from collections.abc import Container, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from app.base.moments import whole_second
from app.case.fold import apply
from app.case.happening import Happening
from app.case.rules import record
from app.case.rules.catalogue import WORDS
from app.case.rules.families import RULES_BY_KIND
from app.case.rules.notice import Finding, Holds, Identity, Notice, Settings, Sight, Watch
from app.case.rules.settings import SettingsOf
from app.case.state import EMPTY, State, with_item

SECOND = timedelta(seconds=1)


@dataclass(frozen=True, slots=True)
class Raised:
    """A notice with what ends it. resolved: since when what it says is no longer so."""

    notice: Notice
    over: Holds | None = None
    resolved: datetime | None = None


@dataclass(frozen=True, slots=True, order=True)
class Pending:
    """A watch that waits: in order of its second, then of how it came."""

    due: datetime
    place: int
    watch: Watch = field(compare=False)


@dataclass(frozen=True, slots=True)
class Engine:
    """The judgement of a case after some of its happenings.

    pending   watches not due yet, by second; made counts all that ever were
    raised    identity to notice, in the order in which they were raised
    unsolved  identities of notices that can still be resolved
    """

    state: State
    pending: tuple[Pending, ...] = ()
    made: int = 0
    raised: Mapping[Identity, Raised] = EMPTY
    unsolved: frozenset[Identity] = frozenset()


def notice_of(case: str, found: Finding, at: datetime, settings: Settings) -> Notice | None:
    """A finding with severity and words; None when its rule is switched off."""
    setting = settings[found.rule]
    if not setting.on:
        return None
    return Notice(
        case, found.rule, setting.levels[found.situation], found.subject, at,
        WORDS[found.rule].says[found.say], found.params, found.entry, found.cause,
    )  # fmt: skip


def until(engine: Engine, second: datetime, settings_of: SettingsOf) -> Engine:
    """Every watch due up to and including a second is looked at. Limits stop when the case is closed."""
    while engine.pending and engine.pending[0].due <= second:
        first = engine.pending[0]
        engine = Engine(engine.state, engine.pending[1:], engine.made, engine.raised, engine.unsolved)
        if not _stopped(engine.state, first.due) and first.watch.still(engine.state):
            engine = _raise(engine, first.watch.finding, first.due, settings_of(engine.state))
    return engine


def _stopped(state: State, second: datetime) -> bool:
    return state.closed_at is not None and second > whole_second(state.closed_at)


def next_due(engine: Engine, settings_of: SettingsOf, known: Container[Identity] = ()) -> datetime | None:
    """The next second at which a watch would speak, as the state is now, and a notice stand that is not among those
    known. What a watch raises changes no state, so the others need not be looked at anew.
    """
    unknown = any(identity not in known for identity in engine.raised)
    for pending in engine.pending:
        if not _stopped(engine.state, pending.due) and pending.watch.still(engine.state):
            found = notice_of(engine.state.case, pending.watch.finding, pending.due, settings_of(engine.state))
            if unknown or (found is not None and found.identity not in known):
                return pending.due
    return None


def step(engine: Engine, h: Happening, settings_of: SettingsOf, after: State | None = None) -> Engine:
    """The judgement after one more happening, which must not lie before the ones already taken.

    after  the state after it, from whoever has applied it already
    """
    engine = until(engine, whole_second(h.at) - SECOND, settings_of)
    if not h.stands or h.body is None:
        return engine
    before = engine.state
    after = after or apply(before, h)
    engine = Engine(after, engine.pending, engine.made, engine.raised, engine.unsolved)
    settings = settings_of(after)
    sight = Sight(after.case, before, after, h, settings)
    for rule in (record.order,) if _linked(after, h) else RULES_BY_KIND.get(h.kind, ()):
        for found in rule(sight):
            engine = _keep(engine, found) if isinstance(found, Watch) else _raise(engine, found, sight.second, settings)
    return _resolve(engine, h)


def _linked(after: State, h: Happening) -> bool:
    """Whether another station had recorded the same moment already: only that it did is remarked on."""
    also = after.linked.get(h.kind)
    return also is not None and also[-1].id == h.id


def _keep(engine: Engine, watch: Watch) -> Engine:
    pending = list(engine.pending)
    insort(pending, Pending(watch.due, engine.made, watch))
    return Engine(engine.state, tuple(pending), engine.made + 1, engine.raised, engine.unsolved)


def _raise(engine: Engine, found: Finding, at: datetime, settings: Settings) -> Engine:
    """The notice of a finding, unless its rule is off or it was raised before."""
    notice = notice_of(engine.state.case, found, at, settings)
    if notice is None or notice.identity in engine.raised:
        return engine
    unsolved = engine.unsolved if found.over is None else engine.unsolved | {notice.identity}
    raised = with_item(engine.raised, notice.identity, Raised(notice, found.over))
    return Engine(engine.state, engine.pending, engine.made, raised, unsolved)


def _resolve(engine: Engine, h: Happening) -> Engine:
    """Marks what is no longer so since this happening."""
    over = [identity for identity in engine.unsolved if _is_over(engine, identity)]
    if not over:
        return engine
    raised = dict(engine.raised)
    for identity in over:
        raised[identity] = replace(raised[identity], resolved=h.at)
    return replace(engine, raised=raised, unsolved=engine.unsolved.difference(over))


def _is_over(engine: Engine, identity: Identity) -> bool:
    over = engine.raised[identity].over
    return over is not None and over(engine.state)
