"""The way in: what stands on a record, what was raised on the day, and when to look again.

`now` is a moment; limits are judged by whole seconds, those of now's own second included: a running server asks when a
second is over (see `Day.tick`), a file ends with its last line's second.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from itertools import groupby

from app.base.moments import whole_second
from app.case.rules.day import Day, Life
from app.case.rules.judgement import Judgement
from app.case.rules.notice import Notice
from app.case.rules.settings import SettingsOf, pinned
from app.journal.entry import Entry

ByCase = Mapping[str, Sequence[Entry]]


def standing(entries_by_case: ByCase, now: datetime, settings_of: SettingsOf = pinned) -> tuple[Notice, ...]:
    """The judgement on the corrected record, in order of happening, up to a moment: by time, then rule.

    Given everything it is the final list. Notices that were resolved stay in it; corrected ones do not.
    """
    return Judgement(settings_of).with_entries(_all(entries_by_case)).notices(whole_second(now))


def live(entries_by_case: ByCase, now: datetime, settings_of: SettingsOf = pinned) -> tuple[Notice, ...]:
    """Every notice as raised on the day up to a moment, also those that were disproved later: by time, then rule."""
    return day(entries_by_case, now, settings_of).notices()


def status(entries_by_case: ByCase, now: datetime, settings_of: SettingsOf = pinned) -> tuple[Life, ...]:
    """Every notice raised on the day with its life: acknowledged, resolved, corrected, stood."""
    return day(entries_by_case, now, settings_of).lives()


def next_due(entries_by_case: ByCase, settings_of: SettingsOf = pinned) -> datetime | None:
    """The first second at which time alone raises something after the last entry; None when nothing is due any more."""
    return Judgement(settings_of).with_entries(_all(entries_by_case)).next_due()


def day(entries_by_case: ByCase, now: datetime, settings_of: SettingsOf = pinned) -> Day:
    """The day replayed batch by batch, as the server lived it, up to a moment."""
    the_day = Day(Judgement(settings_of))
    for batch in batches(_all(entries_by_case)):
        the_day = the_day.arrive(batch)
    return the_day.end(now)


def batches(entries: Iterable[Entry]) -> Iterator[tuple[Entry, ...]]:
    """Entries in order of arrival, those that were received together in one batch."""
    arrived = sorted(entries, key=lambda entry: (entry.received, entry.tap.case, entry.seq))
    for _, together in groupby(arrived, key=lambda entry: entry.received_at):
        yield tuple(together)


def _all(entries_by_case: ByCase) -> Iterator[Entry]:
    return (entry for entries in entries_by_case.values() for entry in entries)
